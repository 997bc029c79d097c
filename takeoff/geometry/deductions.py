"""From the framing face to the size to board, and to the lengths of finished corners.

The ceiling is hung first, then the walls in their order. What is hung first loses only the old
lining that stays on its neighbour; what is hung later loses the neighbour's whole finished
thickness. Moving a side is measured square to it in the plane of the surface, so corners at any
angle and walls under a slope come out of one rule.

At a square inside corner the edge of the board may lie anywhere between the face it meets and its
farthest setback from there: far where the neighbor's board covers the gap afterwards, the fitting
where nothing does. `BoardArea` has all three places of each side.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from takeoff.choices import Runs, SurfaceKind
from takeoff.geometry.polygon import Exact, bounds, length_of, move_sides, root, rounded
from takeoff.geometry.surface import Edge, EdgeKind, Point, Surface
from takeoff.geometry.treatment import Treatment
from takeoff.reference import figures
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = ["BoardArea", "board_area", "finished_sides", "hang_order"]


@dataclass(frozen=True, slots=True)
class BoardArea:
    """The shape that new board covers: as `cut` to the usual allowances, and the `outer` and the
    `inner` shape between which its edges may lie. All are empty where there is no room for board.
    """

    cut: tuple[Point, ...] = ()
    outer: tuple[Point, ...] = ()
    inner: tuple[Point, ...] = ()


def hang_order(surfaces: Sequence[Surface], first: Sequence[str]) -> tuple[str, ...]:
    """Return the ids of all surfaces in the order they are hung: ceilings, then the walls that
    `first` names, then the other walls from long to short.

    `first` holds ids of walls without their room. Walls of equal length keep the order of the
    outline.
    """
    named = {wall: place for place, wall in enumerate(first)}

    def rank(surface: Surface) -> tuple[int, int, int]:
        if surface.kind is SurfaceKind.CEILING:
            return 0, 0, 0
        place = named.get(surface.id.split("/", 1)[1])
        if place is not None:
            return 1, place, 0
        left_edge, _, right_edge, _ = bounds(surface.outline)
        return 2, left_edge - right_edge, 0

    return tuple(surface.id for surface in sorted(surfaces, key=rank))


def board_area(
    surface: Surface,
    cosines: Sequence[Fraction],
    treatments: Mapping[str, Treatment],
    order: Sequence[str],
    rules: Rules,
) -> BoardArea:
    """Return the shape that new board must cover on `surface`, before openings are cut out, with
    how far its edges may lie from there.

    `cosines` are of the angle through the room at each side. A neighbour that is not in `order` is
    in place already. Corners that are not whole are rounded once, half to even.
    """
    own = treatments[surface.id].finished if rules.thickness_deduction else Nm(0)
    place = {id_: index for index, id_ in enumerate(order)}
    cut: list[Exact] = []
    outer: list[Exact] = []
    inner: list[Exact] = []
    ends = (*surface.outline[1:], surface.outline[0])
    for edge, cosine, start, end in zip(surface.edges, cosines, surface.outline, ends, strict=True):
        thickness = Nm(0)
        neighbour = treatments[edge.neighbour] if edge.neighbour is not None else None
        hung_before = place.get(edge.neighbour or "", -1) < place[surface.id]
        if neighbour is not None and rules.thickness_deduction:
            thickness = neighbour.finished if hung_before else neighbour.staying
        upright = start[0] == end[0]
        usual = _allowance(edge, surface.kind, rules, upright=upright)
        least, most = usual, usual
        if edge.kind is EdgeKind.FLOOR:
            least = min(usual, figures.length("HL-20-least"))
            most = max(usual, rules.largest_floor_gap)
        elif (
            neighbour is not None
            and cosine == 0
            and edge.kind in _SQUARE_CORNERS
            and (upright or start[1] == end[1])
        ):
            covers = (
                neighbour.board.thickness
                if neighbour.action.gets_board and not hung_before and rules.thickness_deduction
                else None
            )
            least, most = Nm(0), _farthest(surface, covers, rules, start, end)
        face = _setback(edge, thickness, own, cosine)
        cut.append(face + usual)
        outer.append(face + least)
        inner.append(face + max(usual, most))

    def moved(inward: Sequence[Exact]) -> tuple[Point, ...]:
        return rounded(corner for _, corner in move_sides(surface.outline, inward))

    area = moved(cut)
    # Where a side vanishes one way and not the other, the shapes cannot be compared.
    around = [moved(outer), moved(inner)]
    if any(len(shape) != len(area) for shape in around):
        around = [area, area]
    return BoardArea(area, *around)


# What a board may meet at a square inside corner of a room.
_SQUARE_CORNERS = (EdgeKind.WALL, EdgeKind.CEILING, EdgeKind.INSIDE_CORNER)


def _farthest(surface: Surface, covers: Nm | None, rules: Rules, start: Point, end: Point) -> Nm:
    """The farthest setback of a board's edge at a square inside corner. `covers` is the thickness
    of the neighbor's board where it is hung afterwards, over the gap."""
    if covers is None or surface.rated is not None:
        return rules.fitting
    most = Nm(max(0, covers - figures.length("HL-setback-covered")))
    if rules.floating_corners:
        # The edge is not screwed, and only has to be held by the neighbor's board.
        most = figures.length("HL-setback-floating")
    if _backed_only(surface, start, end):
        most = min(most, figures.length("HL-setback-backed"))
    return max(most, rules.fitting)


def _backed_only(surface: Surface, start: Point, end: Point) -> bool:
    """Whether all that is known behind a side is that something backs it, so that it may be as
    narrow as a nailer is seen beside the neighbor."""
    framing = surface.framing
    along = start[0] == end[0] if framing.runs is Runs.ACROSS else start[1] == end[1]
    if not along:
        return False
    at = [corner[0] if framing.runs is Runs.ACROSS else corner[1] for corner in surface.outline]
    here = start[0] if framing.runs is Runs.ACROSS else start[1]
    return bool(
        (here == min(at) and framing.start_backed) or (here == max(at) and framing.end_backed)
    )


def _setback(edge: Edge, neighbour: Nm, own: Nm, cosine: Fraction) -> Exact:
    """How far a square-cut board end stays from the framing corner, so that neither its back nor
    its face is in the neighbour's way. At an outside corner it runs past instead, over the
    neighbour's edge."""
    sine = _sine(cosine)
    if edge.kind in (EdgeKind.FLOOR, EdgeKind.FRAME, EdgeKind.FREE) or sine == 0:
        return 0
    if edge.kind is EdgeKind.OUTSIDE_CORNER:
        # The end covers the edge of the neighbour's board, as thick as that stands out.
        return -neighbour * sine
    # At an acute corner (cosine over zero) the face of this board meets the neighbour before its
    # back does, so its own thickness counts; at an obtuse one the back meets it first.
    return (neighbour + max(Fraction(0), own * cosine)) / sine if cosine else neighbour


def _sine(cosine: Fraction) -> Exact:
    return root(1 - cosine * cosine) if cosine else 1


def _allowance(edge: Edge, kind: SurfaceKind, rules: Rules, *, upright: bool) -> Nm:
    """The floor gap below a wall; the fitting at a wall's ends in inside corners and where free,
    and round a ceiling. None at an outside corner, at a wall's top, or where a wall runs on in
    line."""
    if edge.kind is EdgeKind.FLOOR:
        return rules.floor_gap
    if edge.kind is EdgeKind.OUTSIDE_CORNER:
        return Nm(0)
    if kind is SurfaceKind.CEILING:
        return rules.fitting
    free = edge.kind is EdgeKind.FREE and edge.neighbour is None
    return rules.fitting if upright and (free or edge.kind is EdgeKind.INSIDE_CORNER) else Nm(0)


def finished_sides(
    surface: Surface, cosines: Sequence[Fraction], treatments: Mapping[str, Treatment], rules: Rules
) -> dict[int, Nm]:
    """Return the length of each side of the finished face, by the index of the side in the outline.
    A side that vanishes has none.

    Where the rules do not deduct thickness, lengths are those of the framing face.
    """
    own = treatments[surface.id].finished if rules.thickness_deduction else Nm(0)
    inward: list[Exact] = []
    for edge, cosine in zip(surface.edges, cosines, strict=True):
        sine = _sine(cosine)
        if (
            edge.neighbour is None
            or edge.kind is EdgeKind.FREE
            or sine == 0
            or not rules.thickness_deduction
        ):
            inward.append(0)
            continue
        if edge.kind is EdgeKind.OUTSIDE_CORNER:
            sine = -sine
        thickness = treatments[edge.neighbour].finished
        # Where both finished faces meet: each lies its own thickness off its framing.
        inward.append((thickness + own * cosine) / sine if cosine else thickness * sine)
    moved = move_sides(surface.outline, inward)
    ends = [corner for _, corner in (*moved[1:], *moved[:1])]
    return {
        index: Nm(round(length_of(start, end)))
        for (index, start), end in zip(moved, ends, strict=True)
        if index is not None
    }
