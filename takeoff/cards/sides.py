"""What each side of a piece meets in the room, and how that side of the board is made."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from takeoff.boards.plan import JointKind, Piece, SurfacePlan
from takeoff.choices import Runs
from takeoff.geometry.surface import EdgeKind, PlacedOpening, Point, Surface
from takeoff.units import INCH, Nm

__all__ = [
    "Finish",
    "Meeting",
    "PieceSide",
    "Side",
    "ahead",
    "beyond",
    "meets_of",
    "sides_of",
    "sides_on_page",
]

# Between a side of board and the side of the framing that it goes to there may be a neighbor's
# board, a gap and a lining; together they are never wider than this.
_REACH = Nm(6 * INCH)


class Side(StrEnum):
    """A side of a piece as it hangs."""

    BOTTOM = "bottom"
    RIGHT = "right"
    TOP = "top"
    LEFT = "left"


class Finish(StrEnum):
    """How a side of a board is made. `END` is the square, untapered end of a new sheet. `CUT` is a
    side that was scored or sawn."""

    TAPERED = "tapered edge"
    FACTORY = "factory edge"
    END = "factory end"
    CUT = "cut edge"


class Meeting(StrEnum):
    """What a side goes to, for what is done there."""

    PIECE = "piece"
    BUTT = "butt on framing"
    FLOATING = "floating butt"
    SURFACE = "surface"
    FLOOR = "floor"
    OPENING = "opening"
    FREE = "free"


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceSide:
    """One side of a piece's outline, from `start` to `end` on the surface; sides run
    counterclockwise as the piece hangs.

    `text` is what the side meets, in the words of a card (`meets C-04`, `toward Window wall`). A
    `sloped` side is neither level nor upright, and `side` is the side it is nearest to. `sides_of`
    gives every side as `CUT`; the card knows what the sheet gives it (`card.made_by_sheet`).
    """

    start: Point
    end: Point
    side: Side
    sloped: bool
    meeting: Meeting
    text: str
    codes: tuple[str, ...] = ()
    finish: Finish = Finish.CUT


def sides_of(
    piece: Piece, plan: SurfacePlan, surface: Surface, names: Mapping[str, str]
) -> tuple[PieceSide, ...]:
    """The sides of `piece`, in the order of its outline. `names` are the names of surfaces, by
    id."""
    return tuple(
        _side(piece, start, end, plan, surface, names)
        for start, end in zip(piece.outline, (*piece.outline[1:], piece.outline[0]), strict=True)
    )


def _side(
    piece: Piece,
    start: Point,
    end: Point,
    plan: SurfacePlan,
    surface: Surface,
    names: Mapping[str, str],
) -> PieceSide:
    meeting, text, codes = _met(piece, start, end, plan, surface, names)
    return PieceSide(
        start=start,
        end=end,
        side=_facing(start, end),
        sloped=start[0] != end[0] and start[1] != end[1],
        meeting=meeting,
        text=text,
        codes=codes,
    )


def _facing(start: Point, end: Point) -> Side:
    """The way the outside of a counter-clockwise outline's side looks."""
    du, dv = end[0] - start[0], end[1] - start[1]
    if abs(du) >= abs(dv):
        return Side.BOTTOM if du > 0 else Side.TOP
    return Side.RIGHT if dv > 0 else Side.LEFT


def _in_row(point: Point, runs: Runs) -> Point:
    """(along the row, square to it)."""
    return point if runs is Runs.ALONG else (point[1], point[0])


def _met(
    piece: Piece,
    start: Point,
    end: Point,
    plan: SurfacePlan,
    surface: Surface,
    names: Mapping[str, str],
) -> tuple[Meeting, str, tuple[str, ...]]:
    (a0, s0), (a1, s1) = _in_row(start, plan.rows_run), _in_row(end, plan.rows_run)
    low, high = min(a0, a1), max(a0, a1)
    meanings: list[str] = []
    codes: list[str] = []
    meeting: Meeting | None = None
    covered = 0
    if s0 == s1 and s0 in (piece.low, piece.high):
        for other in plan.pieces:
            touches = other.high == s0 if s0 == piece.low else other.low == s0
            shared = min(high, other.end) - max(low, other.start)
            if other.code != piece.code and touches and shared > 0:
                codes.append(other.code)
                covered += shared
        meeting = Meeting.PIECE if codes else None
    elif a0 == a1 and a0 in (piece.start, piece.end):
        for other in plan.pieces:
            if (
                other.row == piece.row
                and other.code != piece.code
                and a0 in (other.start, other.end)
            ):
                codes.append(other.code)
                covered = high - low + abs(s1 - s0)
                meeting = _butt(plan, piece.row, a0)
    if codes:
        meanings.append("meets " + _listed(codes))
    if not codes or covered < max(high - low, abs(s1 - s0)) - INCH:
        kind, text = meets_of(start, end, surface, names)
        meeting = meeting or kind
        if text and not (codes and kind is Meeting.FREE):
            meanings.append(text)
    return meeting or Meeting.FREE, "; ".join(meanings) or "free", tuple(codes)


def _butt(plan: SurfacePlan, row: int, at: int) -> Meeting:
    joint = next((joint for joint in plan.joints if joint.row == row and joint.at == at), None)
    if joint is None:
        return Meeting.PIECE
    return Meeting.FLOATING if joint.kind is JointKind.FLOATING else Meeting.BUTT


def _listed(codes: Sequence[str]) -> str:
    return codes[0] if len(codes) == 1 else ", ".join(codes[:-1]) + " and " + codes[-1]


def meets_of(
    start: Point, end: Point, surface: Surface, names: Mapping[str, str]
) -> tuple[Meeting, str]:
    """The part of the room, or the opening, that a side of board from `start` to `end` goes to, as
    a kind and in words."""
    opening = next((opening for opening in surface.openings if _lies_at(start, end, opening)), None)
    if opening is not None:
        return Meeting.OPENING, f"at {opening.name}"
    side_index = _nearest_side(start, end, surface)
    if side_index is None:
        taken_out = next((o for o in surface.openings if _lies_within(start, end, o)), None)
        if taken_out is not None:
            return Meeting.OPENING, f"cut out for {taken_out.name}"
        return Meeting.FREE, "free"
    edge = surface.edges[side_index]
    name = names.get(edge.neighbour or "", "the next surface")
    if edge.kind is EdgeKind.FLOOR:
        return Meeting.FLOOR, "toward the floor"
    if edge.kind is EdgeKind.CEILING:
        return Meeting.SURFACE, "against the ceiling" if name.startswith(
            "ceiling"
        ) else f"against {name}"
    if edge.kind is EdgeKind.RIDGE:
        return Meeting.SURFACE, f"at the ridge, meets {name}"
    if edge.kind is EdgeKind.OUTSIDE_CORNER:
        return Meeting.SURFACE, f"at the outside corner with {name}"
    if edge.kind in (EdgeKind.WALL, EdgeKind.INSIDE_CORNER):
        return Meeting.SURFACE, f"toward {name}"
    if edge.kind is EdgeKind.FRAME:
        return Meeting.FREE, "at the frame of the skylight"
    if edge.neighbour is not None:
        return Meeting.FREE, f"runs on into {name}"
    facing = _facing(start, end)
    return Meeting.FREE, {Side.TOP: "at the top", Side.BOTTOM: "at the bottom"}.get(
        facing, f"at the {facing} end"
    )


def sides_on_page(surface: Surface) -> tuple[str, str, str, str]:
    """The sides of a thing on the surface as they are on the page: the first and the last that a
    tape comes to along it, and the first and the last across it."""
    if surface.read_turned:
        return "right", "left", "upper", "lower"
    return "left", "right", "lower", "upper"


def _lies_at(start: Point, end: Point, opening: PlacedOpening) -> bool:
    if start[0] == end[0] and start[0] in (opening.left, opening.right):
        return min(start[1], end[1]) < opening.top and max(start[1], end[1]) > opening.bottom
    if start[1] == end[1] and start[1] in (opening.bottom, opening.top):
        return min(start[0], end[0]) < opening.right and max(start[0], end[0]) > opening.left
    return False


def _lies_within(start: Point, end: Point, opening: PlacedOpening) -> bool:
    """Whether the whole side lies in the opening, and is cut out with it."""
    return all(
        opening.left <= u <= opening.right and opening.bottom <= v <= opening.top
        for u, v in (start, end)
    )


def _nearest_side(start: Point, end: Point, surface: Surface) -> int | None:
    """The side of the framing face that runs the same way and lies nearest, its own length reaching
    this far."""
    du, dv = end[0] - start[0], end[1] - start[1]
    middle = (Fraction(start[0] + end[0], 2), Fraction(start[1] + end[1], 2))
    best: tuple[Fraction, int] | None = None
    for index, (a, b) in enumerate(_outline_sides(surface.outline)):
        eu, ev = b[0] - a[0], b[1] - a[1]
        # the dot and the cross product: within 1 in 100 of the same direction
        ahead, turn = du * eu + dv * ev, du * ev - dv * eu
        if ahead <= 0 or abs(turn) * 100 > ahead:
            continue
        # distances are compared squared, which keeps them exact; `along` is 0 at the start of the
        # framing's side and 1 at its end, and past these the way to its nearer end counts too
        square = eu * eu + ev * ev
        along = ((middle[0] - a[0]) * eu + (middle[1] - a[1]) * ev) / square
        off = abs((middle[0] - a[0]) * ev - (middle[1] - a[1]) * eu)
        beyond = max(-along, along - 1, Fraction(0)) ** 2 * square
        distance = off * off / square + beyond
        if best is None or distance < best[0]:
            best = (distance, index)
    return best[1] if best is not None and best[0] <= _REACH * _REACH else None


def _outline_sides(outline: Sequence[Point]) -> Iterator[tuple[Point, Point]]:
    return zip(outline, (*outline[1:], outline[0]), strict=True)


def beyond(point: Point, way: Side, surface: Surface, names: Mapping[str, str]) -> str:
    """What one comes to on `surface` going straight on from `point`: the name of a wall or of
    another ceiling, `the ridge`, or nothing where nobody knows."""
    found = ahead(point, way, surface)
    if found is None:
        return ""
    edge = surface.edges[found[1]]
    return "the ridge" if edge.kind is EdgeKind.RIDGE else names.get(edge.neighbour or "", "")


def ahead(point: Point, way: Side, surface: Surface) -> tuple[Nm, int] | None:
    """How far it is from `point` straight on to the outline of `surface`, and the index of the side
    that one comes to; None where there is none that way."""
    along, square = (0, 1) if way in (Side.LEFT, Side.RIGHT) else (1, 0)
    sign = 1 if way in (Side.RIGHT, Side.TOP) else -1
    best: tuple[Fraction, int] | None = None
    for index, (a, b) in enumerate(_outline_sides(surface.outline)):
        # half open, so that a corner belongs to one of its two sides
        if not min(a[square], b[square]) <= point[square] < max(a[square], b[square]):
            continue
        part = Fraction(point[square] - a[square], b[square] - a[square])
        away = sign * (a[along] + part * (b[along] - a[along]) - point[along])
        if away > 0 and (best is None or away < best[0]):
            best = (away, index)
    return None if best is None else (Nm(round(best[0])), best[1])
