"""From the framing face to the size to board, and to the lengths of finished corners.

The ceiling is hung first, then the walls in their order. What is hung first loses only the old
lining that stays on its neighbour; what is hung later loses the neighbour's whole finished
thickness. Moving a side is measured square to it in the plane of the surface, so corners at any
angle and walls under a slope come out of one rule.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from takeoff.choices import SurfaceKind
from takeoff.geometry.polygon import Exact, bounds, length_of, move_sides, root, rounded
from takeoff.geometry.surface import Edge, EdgeKind, Point, Surface
from takeoff.geometry.treatment import Treatment
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = ["board_area", "finished_sides", "hang_order"]


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
) -> tuple[Point, ...]:
    """Return the shape that new board must cover on `surface`, before openings are cut out. It is
    empty where neighbours leave no room for board.

    `cosines` are of the angle through the room at each side. A neighbour that is not in `order` is
    in place already. Corners that are not whole are rounded once, half to even.
    """
    own = treatments[surface.id].finished if rules.thickness_deduction else Nm(0)
    place = {id_: index for index, id_ in enumerate(order)}
    inward = []
    ends = (*surface.outline[1:], surface.outline[0])
    for edge, cosine, start, end in zip(surface.edges, cosines, surface.outline, ends, strict=True):
        thickness = Nm(0)
        if edge.neighbour is not None and rules.thickness_deduction:
            neighbour = treatments[edge.neighbour]
            later = place.get(edge.neighbour, -1) < place[surface.id]
            thickness = neighbour.finished if later else neighbour.staying
        allowance = _allowance(edge, surface.kind, rules, upright=start[0] == end[0])
        inward.append(_setback(edge, thickness, own, cosine) + allowance)
    return rounded(corner for _, corner in move_sides(surface.outline, inward))


def _setback(edge: Edge, neighbour: Nm, own: Nm, cosine: Fraction) -> Exact:
    """How far a square-cut board end stays from the framing corner, so that neither its back nor
    its face is in the neighbour's way. At an outside corner it runs past instead, over the
    neighbour's edge."""
    sine = _sine(cosine)
    if edge.kind in (EdgeKind.FLOOR, EdgeKind.FREE) or sine == 0:
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
    and all round a ceiling. None at an outside corner, at a wall's top, or where a wall runs on in
    line."""
    if edge.kind is EdgeKind.FLOOR:
        return rules.floor_gap
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
