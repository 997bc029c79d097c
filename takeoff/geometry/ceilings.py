"""The ceilings of a room as planes over its plan: their height, their true shape, and the true
shape of the walls under them.

At every point the ceiling is the lowest of its planes. A flat ceiling or a single slope has one
plane, a gable has two, a vault with a flat top has a plane more than it has slopes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from takeoff.choices import CeilingKind
from takeoff.errors import BadValue
from takeoff.geometry.polygon import Exact, ExactPoint, clip_half_plane, length_of, root
from takeoff.geometry.surface import Point
from takeoff.house import Ceiling, Room
from takeoff.units import Nm, UnitSystem, format_length

__all__ = ["CeilingPlane", "PlanePart", "WallShape", "plane_parts", "planes_of", "wall_shape"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CeilingPlane:
    """One plane of a ceiling: its height over (x, y) is `by_x` x + `by_y` y + `base`.

    On the plane, u runs along `along` (a direction in plan), v square to it, up the slope;
    `stretch` is the true length of one unit of plan in v. `part` is what its surface is called
    after the room: `ceiling`, `ceiling-near` (from the low wall to the ridge or the flat part),
    `ceiling-flat` or `ceiling-far`.
    """

    part: str
    name: str
    by_x: Fraction
    by_y: Fraction
    base: Fraction
    along: tuple[int, int]
    stretch: Fraction

    @property
    def is_level(self) -> bool:
        return not self.by_x and not self.by_y

    def height(self, point: ExactPoint) -> Fraction:
        return self.by_x * point[0] + self.by_y * point[1] + self.base

    def raised(self, thickness: Exact) -> CeilingPlane:
        """The plane moved up by a thickness measured square to it; down where negative."""
        return replace(self, base=self.base + thickness * self.stretch)

    def to_surface(self, point: ExactPoint) -> ExactPoint:
        """Plan (x, y) to (u, v) of the plane, from an origin of its own; exact but for a slanted
        `along`."""
        dx, dy = self.along
        length = length_of((0, 0), self.along)
        u = Fraction(point[0] * dx + point[1] * dy) / length
        v = Fraction(point[1] * dx - point[0] * dy) / length * self.stretch
        return u, v

    def cosine_to_wall(self, along: tuple[int, int]) -> Fraction:
        """Cosine of the angle, through the room, between this plane and a wall walked along
        `along`."""
        dx, dy = along
        slope = self.by_y * dx - self.by_x * dy
        return -slope / (length_of((0, 0), along) * self.stretch) if slope else Fraction(0)

    def cosine_to_plane(self, other: CeilingPlane) -> Fraction:
        """Cosine of the angle, through the room, between two planes that meet at a ridge."""
        return -(self.by_x * other.by_x + self.by_y * other.by_y + 1) / (
            self.stretch * other.stretch
        )


def planes_of(
    room: Room, corners: Sequence[Point], wall_ids: Sequence[str], *, units: UnitSystem
) -> tuple[CeilingPlane, ...]:
    """Return the planes of a room's ceiling over `corners`, at the faces the room was measured to.

    Raises `BadValue` where the low wall is not a wall of the room, or where the ridge or the flat
    part is not over the room.
    """
    ceiling = room.ceiling
    if ceiling.kind is CeilingKind.FLAT:
        return (_level_plane(ceiling.height),)
    if ceiling.low_wall not in wall_ids:
        raise BadValue(
            f"{room.name}: the ceiling's low_wall {ceiling.low_wall!r} is no wall of the room; "
            f"it has {', '.join(wall_ids)}"
        )
    index = wall_ids.index(ceiling.low_wall)
    start, end = corners[index], corners[(index + 1) % len(corners)]
    along = (end[0] - start[0], end[1] - start[1])
    depth = max(_inward(start, along, corner) for corner in corners)
    high = ceiling.high
    if high is None or depth <= 0:
        raise BadValue(
            f"{room.name}: no part of the room lies on the inner side of {ceiling.low_wall}"
        )
    if ceiling.kind is CeilingKind.SLOPE:
        return (_sloped("ceiling", "ceiling", start, along, 0, ceiling.height, depth, high),)
    if ceiling.kind is CeilingKind.VAULT:
        return _vault(room, ceiling, start, along, depth, units)
    ridge = _ridge(room, ceiling, along, depth, units)
    far_height = ceiling.far_height or ceiling.height
    return (
        _sloped(
            "ceiling-near", "ceiling, near slope", start, along, 0, ceiling.height, ridge, high
        ),
        _sloped("ceiling-far", "ceiling, far slope", start, along, depth, far_height, ridge, high),
    )


def _vault(
    room: Room,
    ceiling: Ceiling,
    start: Point,
    along: tuple[int, int],
    depth: Exact,
    units: UnitSystem,
) -> tuple[CeilingPlane, ...]:
    """The near slope, the flat part, and the far slope where the flat part ends before the far
    wall. `depth` is that of the room times the length of `along`."""
    assert ceiling.high is not None
    assert ceiling.flat_at is not None
    length = Fraction(length_of((0, 0), along))
    begins = ceiling.flat_at * length
    ends = depth if ceiling.flat_width is None else begins + ceiling.flat_width * length
    if begins >= depth or ends > depth:
        deep = format_length(Nm(round(Fraction(depth) / length)), units)
        raise BadValue(
            f"{room.name}: the flat part of the ceiling would reach past the far wall: the room is "
            f"only {deep} deep from {ceiling.low_wall}; flat_at and flat_width together must be "
            "no more"
        )
    near = _sloped(
        "ceiling-near", "ceiling, near slope", start, along, 0, ceiling.height, begins, ceiling.high
    )
    flat = replace(
        _level_plane(ceiling.high), part="ceiling-flat", name="ceiling, flat part", along=near.along
    )
    if ends == depth:
        return near, flat
    far_height = ceiling.far_height or ceiling.height
    far = _sloped(
        "ceiling-far", "ceiling, far slope", start, along, depth, far_height, ends, ceiling.high
    )
    return near, flat, far


def _ridge(
    room: Room, ceiling: Ceiling, along: tuple[int, int], depth: Exact, units: UnitSystem
) -> Fraction:
    if ceiling.ridge_at is None:
        return Fraction(depth) / 2
    length = length_of((0, 0), along)
    ridge = ceiling.ridge_at * Fraction(length)
    if ridge >= depth:
        raise BadValue(
            f"{room.name}: the ridge is {format_length(ceiling.ridge_at, units)} from "
            f"{ceiling.low_wall}, and the room "
            f"is only {format_length(Nm(round(Fraction(depth) / length)), units)} deep there; "
            "ridge_at must be less"
        )
    return ridge


def _level_plane(height: Nm) -> CeilingPlane:
    return CeilingPlane(
        part="ceiling",
        name="ceiling",
        by_x=Fraction(0),
        by_y=Fraction(0),
        base=Fraction(height),
        along=(1, 0),
        stretch=Fraction(1),
    )


def _inward(start: Point, along: tuple[int, int], point: ExactPoint) -> Exact:
    """How far `point` lies inside the line of a wall, times the length of `along`."""
    return (point[1] - start[1]) * along[0] - (point[0] - start[0]) * along[1]


def _sloped(
    part: str,
    name: str,
    start: Point,
    along: tuple[int, int],
    low_at: Exact,
    low: Nm,
    high_at: Exact,
    high: Nm,
) -> CeilingPlane:
    """The plane that is `low` and `high` up at two distances in from the line of the low wall (see
    `_inward`)."""
    rise = Fraction(high - low) / (high_at - low_at)
    by_x, by_y = -rise * along[1], rise * along[0]
    return CeilingPlane(
        part=part,
        name=name,
        by_x=by_x,
        by_y=by_y,
        base=low - rise * low_at - by_x * start[0] - by_y * start[1],
        along=along if rise > 0 else (-along[0], -along[1]),
        stretch=root(1 + by_x * by_x + by_y * by_y),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class WallShape:
    """A wall's true shape: `outline` from (0, 0), floor first, then its right side, its top and its
    left side.

    `tops` says which plane each side of the top lies under, by its place in the ceiling, right to
    left.
    """

    outline: tuple[Point, ...]
    tops: tuple[int, ...]


def wall_shape(start: ExactPoint, end: ExactPoint, planes: Sequence[CeilingPlane]) -> WallShape:
    """Return the shape of a wall that goes from `start` to `end` in plan, under `planes`. Its top
    has a corner wherever a ridge crosses the wall.

    Heights and places that are not whole are rounded once, half to even.
    """
    length = Fraction(length_of(start, end))
    ends = [(plane.height(start), plane.height(end)) for plane in planes]
    # Over the wall each plane is as high as a straight line says, so the lowest plane can only
    # change where two such lines cross.
    breaks = {Fraction(0), Fraction(1)}
    for i, (low_i, high_i) in enumerate(ends):
        for low_j, high_j in ends[:i]:
            closing = (low_i - low_j) - (high_i - high_j)
            if closing:
                part = (low_i - low_j) / closing
                if 0 < part < 1:
                    breaks.add(part)
    places = sorted(breaks)
    tops: list[int] = []
    top: list[Point] = []
    # The outline goes counter-clockwise, so its top runs from right to left. Between two crossings
    # one plane is the lowest throughout: the middle tells which.
    for left_edge, right_edge in reversed(list(pairwise(places))):
        middle = (left_edge + right_edge) / 2
        lowest = min(
            range(len(ends)), key=lambda k: ends[k][0] + middle * (ends[k][1] - ends[k][0])
        )
        if tops and tops[-1] == lowest:
            continue
        low, high = ends[lowest]
        tops.append(lowest)
        top.append((Nm(round(right_edge * length)), Nm(round(low + right_edge * (high - low)))))
    height = min(low for low, _ in ends)
    whole = Nm(round(length))
    outline = ((Nm(0), Nm(0)), (whole, Nm(0)), *top, (Nm(0), Nm(round(height))))
    return WallShape(outline=outline, tops=tuple(tops))


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanePart:
    """A part of a plane that lies over a plan. `corners` are in plan. For each side, `walls` holds
    the index of the wall under it, or None, and `ridges` the place in the ceiling of the plane that
    it meets at a ridge, or None."""

    plane: int
    corners: tuple[ExactPoint, ...]
    walls: tuple[int | None, ...]
    ridges: tuple[int | None, ...]


def plane_parts(corners: Sequence[Point], planes: Sequence[CeilingPlane]) -> tuple[PlanePart, ...]:
    """Return the parts of each plane over the plan, in the order of the planes. A plane over a plan
    that bends may have several parts."""
    of_planes: list[PlanePart] = []
    for index, plane in enumerate(planes):
        parts: list[tuple[ExactPoint, ...]] = [tuple(corners)]
        for other in planes:
            if other is not plane:
                # The plane is the ceiling only where it is not above the other one.
                a, b, c = other.by_x - plane.by_x, other.by_y - plane.by_y, other.base - plane.base
                parts = [piece for part in parts for piece in clip_half_plane(part, a, b, c)]
        for clipped in parts:
            part = _with_corners_between(clipped, corners)
            sides = list(zip(part, (*part[1:], part[0]), strict=True))
            walls = tuple(_wall_under(side, corners) for side in sides)
            ridges = tuple(
                None if wall is not None else _ridge_with(side, index, planes)
                for side, wall in zip(sides, walls, strict=True)
            )
            of_planes.append(PlanePart(plane=index, corners=part, walls=walls, ridges=ridges))
    return tuple(of_planes)


def _with_corners_between(
    part: Sequence[ExactPoint], corners: Sequence[Point]
) -> tuple[ExactPoint, ...]:
    """The part's outline with the plan's corners that lie on its sides, so that each side has one
    wall or none."""
    outline: list[ExactPoint] = []
    for start, end in zip(part, (*part[1:], part[0]), strict=True):
        on_side = [c for c in corners if c not in (start, end) and _between(start, end, c)]
        on_side.sort(
            key=lambda c: (
                (c[0] - start[0]) * (end[0] - start[0]) + (c[1] - start[1]) * (end[1] - start[1])
            )
        )
        outline += [start, *on_side]
    return tuple(outline)


def _wall_under(side: tuple[ExactPoint, ExactPoint], corners: Sequence[Point]) -> int | None:
    for k, start in enumerate(corners):
        end = corners[(k + 1) % len(corners)]
        if _between(start, end, side[0]) and _between(start, end, side[1]):
            return k
    return None


def _between(start: ExactPoint, end: ExactPoint, point: ExactPoint) -> bool:
    dx, dy = end[0] - start[0], end[1] - start[1]
    px, py = point[0] - start[0], point[1] - start[1]
    return dx * py == dy * px and 0 <= dx * px + dy * py <= dx * dx + dy * dy


def _ridge_with(
    side: tuple[ExactPoint, ExactPoint], plane: int, planes: Sequence[CeilingPlane]
) -> int | None:
    for other in range(len(planes)):
        if other != plane and all(
            planes[other].height(end) == planes[plane].height(end) for end in side
        ):
            return other
    return None
