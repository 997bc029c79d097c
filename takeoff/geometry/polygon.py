"""Simple polygons in exact arithmetic: area, cutting by a line or a band, moving sides, whether one
lies in another.

A polygon is its corners in order, counter-clockwise with y up (so a room walked clockwise, read
with y down, is one too). Corners are whole nanometres, or fractions while work is under way;
`rounded` makes them whole, half to even, and is the only place here that rounds a point. Nothing
touches floats.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import isqrt
from typing import Literal

from takeoff.geometry.surface import Point
from takeoff.units import Nm

__all__ = [
    "Exact",
    "ExactPoint",
    "area2",
    "bounds",
    "clip_band",
    "clip_half_plane",
    "first_crossing",
    "holds_rectangle",
    "length_of",
    "move_sides",
    "root",
    "rounded",
]

Exact = int | Fraction
ExactPoint = tuple[Exact, Exact]
_Side = tuple[ExactPoint, ExactPoint]
_Line = tuple[int, ExactPoint, ExactPoint]  # which side, and its ends moved with it

# a root is taken to 2^-128, so that a length of 300 m is wrong by less than 10^-27 nm before
# rounding
_ROOT_BITS = 128


def area2(polygon: Sequence[ExactPoint]) -> Exact:
    """Twice the signed area: positive for counter-clockwise corners, whole for whole corners, 0 for
    none.

    >>> area2([(0, 0), (4, 0), (4, 3)])
    12
    """
    total: Exact = 0
    for start, end in _sides(polygon):
        total += start[0] * end[1] - end[0] * start[1]
    return total


def bounds(polygon: Sequence[tuple[Nm, Nm]]) -> tuple[Nm, Nm, Nm, Nm]:
    """The bounding rectangle as (left, bottom, right, top); raises `ValueError` for no corners."""
    xs = [x for x, _ in polygon]
    ys = [y for _, y in polygon]
    return min(xs), min(ys), max(xs), max(ys)


def root(value: Exact) -> Fraction:
    """The square root of `value` >= 0: exact where it is a ratio of whole numbers, else low by less
    than 2^-128."""
    value = Fraction(value)
    top, bottom = isqrt(value.numerator), isqrt(value.denominator)
    if top * top == value.numerator and bottom * bottom == value.denominator:
        return Fraction(top, bottom)
    inner = value.numerator * value.denominator << 2 * _ROOT_BITS
    return Fraction(isqrt(inner), value.denominator << _ROOT_BITS)


def length_of(start: ExactPoint, end: ExactPoint) -> Exact:
    """The distance between two points: exact along an axis, else by `root`."""
    across, up = end[0] - start[0], end[1] - start[1]
    if across == 0 or up == 0:
        return max(across + up, -across - up)
    return root(across * across + up * up)


def rounded(polygon: Iterable[ExactPoint]) -> tuple[Point, ...]:
    """Return the corners in whole nanometres, half to even. A corner is left out where it comes to
    lie on the one before, or between the two beside it."""
    corners = [(Nm(round(x)), Nm(round(y))) for x, y in polygon]
    return tuple(_without_idle_corners(corners))


def clip_band(
    polygon: Sequence[Point], axis: Literal[0, 1], low: Nm, high: Nm
) -> tuple[tuple[Point, ...], ...]:
    """The parts of `polygon` between `low` and `high` along `axis` (0 for x or u, 1 for y or v),
    each a simple polygon.

    Parts of no area are left out; corners are rounded once, after both cuts.
    """
    least = min(corner[axis] for corner in polygon)
    most = max(corner[axis] for corner in polygon)
    if low >= high or least >= high or most <= low:
        return ()
    parts: list[tuple[ExactPoint, ...]] = [tuple(polygon)]
    if low > least:
        a, b = (1, 0) if axis == 0 else (0, 1)
        parts = [piece for part in parts for piece in clip_half_plane(part, a, b, -low)]
    if high < most:
        a, b = (-1, 0) if axis == 0 else (0, -1)
        parts = [piece for part in parts for piece in clip_half_plane(part, a, b, high)]
    whole = [rounded(part) for part in parts]
    return tuple(part for part in whole if len(part) >= 3 and area2(part) > 0)


def clip_half_plane(
    polygon: Sequence[ExactPoint], a: Exact, b: Exact, c: Exact
) -> tuple[tuple[ExactPoint, ...], ...]:
    """The parts of a counter-clockwise simple `polygon` where a x + b y + c >= 0, exact, in order
    along the line.

    A line through a U cuts off two legs: each comes back by itself. Parts of no area are left out.
    """
    heights = [a * x + b * y + c for x, y in polygon]
    if all(height >= 0 for height in heights):
        return (tuple(polygon),)
    if all(height <= 0 for height in heights):
        return ()
    chains = _chains_above(polygon, heights)
    # Walking the line with the kept side on the left, each stretch of it inside the polygon runs
    # from the end of one chain to the start of the next.
    events: list[tuple[Exact, int, int]] = []
    for index, (chain, _) in enumerate(chains):
        before = chains[index - 1][0][-1] if chains[index - 1][1] else None
        events.append(
            (_along(chain[0], a, b), _start_rank(chain, before, chains[index - 1][0]), index)
        )
        events.append((_along(chain[-1], a, b), 1, ~index))
    events.sort()
    following: dict[int, int] = {}
    waiting: int | None = None
    for _, _, index in events:
        if index < 0:
            waiting = ~index
        elif waiting is not None:
            following[waiting] = index
            waiting = None
    return _linked(chains, following)


def _linked(
    chains: list[tuple[list[ExactPoint], bool]], following: dict[int, int]
) -> tuple[tuple[ExactPoint, ...], ...]:
    parts = []
    unlinked = set(following)
    for first in range(len(chains)):
        if first not in unlinked:
            continue
        corners: list[ExactPoint] = []
        at = first
        while at in unlinked:
            unlinked.discard(at)
            corners += chains[at][0]
            at = following[at]
        part = tuple(corner for k, corner in enumerate(corners) if corner != corners[k - 1])
        if len(part) >= 3:
            parts.append(part)
    return tuple(parts)


def _chains_above(
    polygon: Sequence[ExactPoint], heights: Sequence[Exact]
) -> list[tuple[list[ExactPoint], bool]]:
    """The runs of corners above the line, each from the line to the line, in walking order.

    The flag says whether the run ends where the next one starts: a corner that only touches the
    line.
    """
    count = len(polygon)
    # The walk starts where it comes up through the line, so that no run is cut in two by the end of
    # the list.
    start = next(k for k in range(count) if heights[k - 1] <= 0 < heights[k])
    chains: list[tuple[list[ExactPoint], bool]] = []
    chain: list[ExactPoint] = []
    for step in range(count):
        k = (start + step) % count
        here, height, before = polygon[k], heights[k], heights[k - 1]
        if height > 0:
            if before <= 0:
                chain = [_on_line(polygon[k - 1], here, before, height)]
            chain.append(here)
        elif before > 0:
            chain.append(_on_line(polygon[k - 1], here, before, height))
            chains.append((chain, height == 0 and heights[(k + 1) % count] > 0))
    return chains


def _on_line(start: ExactPoint, end: ExactPoint, low: Exact, high: Exact) -> ExactPoint:
    x, y = start
    across, up = end[0] - x, end[1] - y
    part = Fraction(low) / (low - high)
    return _plain(x + part * across) if across else x, _plain(y + part * up) if up else y


def _plain(value: Exact) -> Exact:
    return value.numerator if value.denominator == 1 else value


def _along(point: ExactPoint, a: Exact, b: Exact) -> Exact:
    return b * point[0] - a * point[1]


def _start_rank(
    chain: list[ExactPoint], touched: ExactPoint | None, before: list[ExactPoint]
) -> int:
    """Where a chain starts at a corner that touches the line, which comes first along it: 2 after
    the end of the chain before (the polygon's tip stands on the line), 0 before it (a notch reaches
    down to it)."""
    if touched != chain[0]:
        return 0
    (px, py), (qx, qy), (rx, ry) = before[-2], chain[0], chain[1]
    return 2 if (qx - px) * (ry - qy) - (qy - py) * (rx - qx) > 0 else 0


def move_sides(
    polygon: Sequence[ExactPoint], inward: Sequence[Exact]
) -> tuple[tuple[int | None, ExactPoint], ...]:
    """Move each side inward by its own distance (outward where negative), and return the corners
    where the sides meet again.

    Each corner comes with the index of the side that starts there. All is exact. A side that
    shrinks to nothing is left out, and its neighbours meet. Two sides in one line that move apart
    are joined by a step, whose index is None. The result is empty where nothing is left.
    """
    lines: list[_Line] = []
    for k, (side, distance) in enumerate(zip(_sides(polygon), inward, strict=True)):
        (x, y), (far_x, far_y) = side
        across, up = _square_to(far_x - x, far_y - y, distance)
        lines.append((k, (x + across, y + up), (far_x + across, far_y + up)))
    while len(lines) >= 3:
        # where the line before ends, where this one starts
        joints: list[tuple[ExactPoint, ExactPoint]] = []
        for before, here in zip(lines[-1:] + lines[:-1], lines, strict=True):
            joint = _meet(before, here)
            if joint is None:
                return ()
            joints.append(joint)
        # How far each side still runs in its own direction. A side that runs backwards has shrunk
        # away: its neighbours met before it. The one that went farthest goes first and alone,
        # because without it the others may be right again.
        runs: list[Exact] = []
        for (_, start, end), (_, first), (last, _) in zip(
            lines, joints, joints[1:] + joints[:1], strict=True
        ):
            runs.append(
                (last[0] - first[0]) * (end[0] - start[0])
                + (last[1] - first[1]) * (end[1] - start[1])
            )
        if all(run > 0 for run in runs):
            corners: list[tuple[int | None, ExactPoint]] = []
            for (index, _, _), (end, start) in zip(lines, joints, strict=True):
                corners += [(index, start)] if end == start else [(None, end), (index, start)]
            return _checked(corners)
        del lines[min(range(len(runs)), key=runs.__getitem__)]
    return ()


def _square_to(dx: Exact, dy: Exact, distance: Exact) -> ExactPoint:
    """A step of `distance` to the left of a direction; whole along the axes where the distance
    is."""
    if dx == 0:
        return (-distance if dy > 0 else distance), 0
    if dy == 0:
        return 0, (distance if dx > 0 else -distance)
    off = Fraction(distance) / length_of((0, 0), (dx, dy))
    return -off * dy, off * dx


def _checked(
    corners: list[tuple[int | None, ExactPoint]],
) -> tuple[tuple[int | None, ExactPoint], ...]:
    """The corners where they bound something, turned to start with a side; nothing where they
    cross."""
    outline = [corner for _, corner in corners]
    if area2(outline) <= 0 or (len(outline) > 4 and first_crossing(outline) is not None):
        return ()
    if corners[0][0] is None:
        corners = corners[1:] + corners[:1]
    return tuple((index, (_plain(x), _plain(y))) for index, (x, y) in corners)


def _meet(first: _Line, second: _Line) -> tuple[ExactPoint, ExactPoint] | None:
    """Where the first line ends and the second starts: where they cross; where each was moved to if
    they run on in one direction; None for opposite ones."""
    _, (px, py), (fx, fy) = first
    _, (qx, qy), (gx, gy) = second
    dx, dy, ex, ey = fx - px, fy - py, gx - qx, gy - qy
    across = dx * ey - dy * ex
    if across == 0:
        return ((fx, fy), (qx, qy)) if dx * ex + dy * ey > 0 else None
    if dx == ey == 0:
        corner = (px, qy)
    elif dy == ex == 0:
        corner = (qx, py)
    else:
        part = Fraction((qx - px) * ey - (qy - py) * ex) / across
        corner = (px + part * dx, py + part * dy)
    return corner, corner


def first_crossing(polygon: Sequence[ExactPoint]) -> tuple[int, int] | None:
    """The first two sides (by their first corners) that cross, touch or fold back; None for a
    simple polygon."""
    sides = _sides(polygon)
    count = len(sides)
    for i in range(count):
        for j in range(i + 1, count):
            beside = j == i + 1 or (i == 0 and j == count - 1)
            if (
                _folds(sides[i], sides[j], first=j == i + 1)
                if beside
                else _touch(sides[i], sides[j])
            ):
                return i, j
    return None


def _folds(one: _Side, other: _Side, *, first: bool) -> bool:
    """Whether two sides that share a corner lie on each other."""
    before, after = (one, other) if first else (other, one)
    (ax, ay), (bx, by), (cx, cy) = before[0], before[1], after[1]
    return (bx - ax) * (cy - by) == (by - ay) * (cx - bx) and (bx - ax) * (cx - bx) + (by - ay) * (
        cy - by
    ) < 0


def _touch(one: _Side, other: _Side) -> bool:
    for axis in (0, 1):
        if max(one[0][axis], one[1][axis]) < min(other[0][axis], other[1][axis]):
            return False
        if max(other[0][axis], other[1][axis]) < min(one[0][axis], one[1][axis]):
            return False
    hands = (_hand(one, other[0]), _hand(one, other[1]), _hand(other, one[0]), _hand(other, one[1]))
    return hands[0] * hands[1] <= 0 and hands[2] * hands[3] <= 0


def _hand(side: _Side, point: ExactPoint) -> int:
    (ax, ay), (bx, by) = side
    turn = (bx - ax) * (point[1] - ay) - (by - ay) * (point[0] - ax)
    return (turn > 0) - (turn < 0)


def holds_rectangle(
    polygon: Sequence[Point], left_edge: Nm, bottom: Nm, right_edge: Nm, top: Nm
) -> bool:
    """Whether the rectangle lies wholly in the polygon; touching its sides from inside counts as
    in."""
    least_x, least_y, most_x, most_y = bounds(polygon)
    if left_edge < least_x or bottom < least_y or right_edge > most_x or top > most_y:
        return False
    if area2(polygon) == 2 * (most_x - least_x) * (most_y - least_y):
        return True  # the polygon is its own bounding rectangle
    parts: list[tuple[ExactPoint, ...]] = [tuple(polygon)]
    for a, b, c in ((1, 0, -left_edge), (-1, 0, right_edge), (0, 1, -bottom), (0, -1, top)):
        parts = [piece for part in parts for piece in clip_half_plane(part, a, b, c)]
    return sum(area2(part) for part in parts) == 2 * (right_edge - left_edge) * (top - bottom)


def _sides(polygon: Sequence[ExactPoint]) -> list[_Side]:
    return [(polygon[k - 1], polygon[k]) for k in (*range(1, len(polygon)), 0) if polygon]


def _without_idle_corners(corners: list[Point]) -> list[Point]:
    kept = [corner for k, corner in enumerate(corners) if corner != corners[k - 1]]
    if len(kept) < 3:
        return kept
    return [
        (bx, by)
        for (ax, ay), (bx, by), (cx, cy) in zip(
            kept[-1:] + kept[:-1], kept, kept[1:] + kept[:1], strict=True
        )
        if (bx - ax) * (cy - by) != (by - ay) * (cx - bx)
    ]
