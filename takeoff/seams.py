"""Every joint of a room by kind and length, whether it is taped, beaded or left open."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

from takeoff.boards.plan import Course, JointKind, SurfacePlan
from takeoff.catalogue import BoardEdges, BoardKind, Catalogue
from takeoff.choices import OpeningEdge, OpeningKind, Runs, SurfaceKind
from takeoff.framing.members import FramedSurface
from takeoff.geometry.rooms import Corner, RoomGeometry
from takeoff.geometry.surface import PlacedOpening, Point, Surface
from takeoff.units import Nm

__all__ = ["Seam", "SeamKind", "seams_of"]

Span = tuple[Fraction, Fraction]


class SeamKind(StrEnum):
    """`TAPERED`: two factory edges. `CUT_EDGE`: a long seam where one edge was cut, so no taper
    helps the tape. `PATCH_EDGE` and `TRIM` (board that ends against a frame) are in no plan: what
    tapes them adds them."""

    TAPERED = "tapered"
    CUT_EDGE = "cut edge"
    BUTT_ON_FRAMING = "butt on framing"
    FLOATING_BUTT = "floating butt"
    INSIDE_CORNER = "inside corner"
    OUTSIDE_CORNER = "outside corner"
    RIDGE = "ridge"
    OPENING_EDGE = "edge at opening"
    PATCH_EDGE = "edge of a patch"
    TRIM = "trim at a frame"


@dataclass(frozen=True, slots=True, kw_only=True)
class Seam:
    """One joint. `surfaces` is one id, or two where surfaces meet. `row` is the lower of the two
    rows it lies between, or the row that a butt seam is in. `level` is the finish level that
    governs it. A seam is in `mortar` where tile backer is on one of its sides. On an edge at an
    opening, `edge` says how the board ends and `opening` at which opening."""

    kind: SeamKind
    room: str
    surfaces: tuple[str, ...]
    length: Nm
    row: int | None = None
    level: int = 4
    mortar: bool = False
    edge: OpeningEdge | None = None
    opening: str | None = None


def seams_of(
    room: RoomGeometry,
    framed: Sequence[FramedSurface],
    plans: Sequence[SurfacePlan],
    catalogue: Catalogue,
) -> tuple[Seam, ...]:
    """Return every joint of `room` with new board on at least one side: surface by surface, then
    corner by corner.

    A surface gives its long seams from low to high, its butt seams as planned, and the edges of its
    openings from left to right. A long seam stops at an opening that reaches it, and where one of
    its rows is not boarded. A seam of no length is left out. A surface that is to get board and has
    no plan was refused, and counts as not boarded. `framed` and `plans` may hold surfaces of other
    rooms. Lengths are rounded once, half to even.
    """
    surfaces = {
        framed_surface.surface.id: framed_surface.surface
        for framed_surface in framed
        if framed_surface.surface.room == room.room
    }
    by_surface = {plan.surface: plan for plan in plans if plan.surface in surfaces}
    seams: list[Seam] = []
    for surface in room.surfaces:
        plan = by_surface.get(surface.id)
        if plan is not None:
            kind = catalogue.board(surface.board.kind)
            seams += _long_seams(surface, plan, kind)
            seams += _butt_seams(surface, plan, kind)
            seams += _opening_edges(surface, kind)
    for corner in room.corners:
        sides = [surfaces[name] for name in (corner.first, corner.second) if name in surfaces]
        boarded = [
            side
            for side in sides
            if side.action.gets_board and (side.id in by_surface or not side.board_area)
        ]
        if boarded:
            seams.append(_corner(corner, room, sides, boarded, catalogue))
    return tuple(seam for seam in seams if seam.length > 0)


def _long_seams(surface: Surface, plan: SurfacePlan, kind: BoardKind) -> Iterator[Seam]:
    rows = sorted(plan.rows, key=lambda row: row.low)
    for lower, upper in pairwise(rows):
        if lower.high != upper.low:
            continue
        factory = lower.factory_high and upper.factory_low and kind.edges is BoardEdges.TAPERED
        yield Seam(
            kind=SeamKind.TAPERED if factory else SeamKind.CUT_EDGE,
            room=surface.room,
            surfaces=(surface.id,),
            length=_overlap(surface, plan.rows_run, lower, upper),
            row=lower.index,
            level=surface.finish_level,
            mortar=kind.tile_backer,
        )


def _butt_seams(surface: Surface, plan: SurfacePlan, kind: BoardKind) -> Iterator[Seam]:
    for joint in plan.joints:
        yield Seam(
            kind=SeamKind.FLOATING_BUTT
            if joint.kind is JointKind.FLOATING
            else SeamKind.BUTT_ON_FRAMING,
            room=surface.room,
            surfaces=(surface.id,),
            length=joint.length,
            row=joint.row,
            level=surface.finish_level,
            mortar=kind.tile_backer,
        )


def _opening_edges(surface: Surface, kind: BoardKind) -> Iterator[Seam]:
    for opening in sorted(surface.openings, key=lambda opening: (opening.left, opening.bottom)):
        yield Seam(
            kind=SeamKind.OPENING_EDGE,
            room=surface.room,
            surfaces=(surface.id,),
            length=_edge_length(surface.board_area, opening),
            level=surface.finish_level,
            mortar=kind.tile_backer,
            edge=opening.edge,
            opening=opening.id,
        )


def _edge_length(area: Sequence[Point], opening: PlacedOpening) -> Nm:
    """The sides of an opening that have board beyond them; a door has none at the floor."""
    turned = _turned(area)
    height, width = (
        [(Fraction(opening.bottom), Fraction(opening.top))],
        [(Fraction(opening.left), Fraction(opening.right))],
    )
    sides = [
        _both(_section(turned, opening.left, hand=-1), height),
        _both(_section(turned, opening.right, hand=1), height),
        _both(_section(area, opening.top, hand=1), width),
    ]
    if opening.kind is not OpeningKind.DOOR:
        sides.append(_both(_section(area, opening.bottom, hand=-1), width))
    return Nm(round(sum(_length(side) for side in sides)))


def _overlap(surface: Surface, runs: Runs, lower: Course, upper: Course) -> Nm:
    """How long two rows have board against board at the line between them."""
    at = lower.high
    area = surface.board_area if runs is Runs.ALONG else _turned(surface.board_area)
    spans = _both(_section(area, at, hand=-1), _section(area, at, hand=1))
    for row in (lower, upper):
        spans = _both(spans, [(Fraction(start), Fraction(end)) for start, end in row.segments])
    for opening in surface.openings:
        start, end, low, high = opening.left, opening.right, opening.bottom, opening.top
        if runs is Runs.ACROSS:
            start, end, low, high = low, high, start, end
        if low <= at <= high:
            spans = _without(spans, start, end)
    return Nm(round(_length(spans)))


def _corner(
    corner: Corner,
    room: RoomGeometry,
    sides: Sequence[Surface],
    boarded: Sequence[Surface],
    catalogue: Catalogue,
) -> Seam:
    """The corner as a seam; two ceiling planes meet in a ridge."""
    if not corner.inside:
        kind = SeamKind.OUTSIDE_CORNER
    elif all(side.kind is SurfaceKind.CEILING for side in sides):
        kind = SeamKind.RIDGE
    else:
        kind = SeamKind.INSIDE_CORNER
    return Seam(
        kind=kind,
        room=room.room,
        surfaces=(corner.first, corner.second),
        length=corner.length,
        level=max(side.finish_level for side in sides),
        mortar=any(catalogue.board(side.board.kind).tile_backer for side in boarded),
    )


def _turned(area: Sequence[Point]) -> tuple[Point, ...]:
    return tuple((v, u) for u, v in area)


def _section(area: Sequence[Point], at: Nm, *, hand: int) -> list[Span]:
    """Where the level line just below (`hand` -1) or above (1) `at` lies inside `area`, left to
    right."""
    crossings = []
    for (u0, v0), (u1, v1) in zip(area, (*area[1:], area[0]), strict=True):
        low, high = min(v0, v1), max(v0, v1)
        if low < at <= high if hand < 0 else low <= at < high:
            crossings.append(u0 + Fraction((u1 - u0) * (at - v0), v1 - v0))
    crossings.sort()
    return [
        (start, end)
        for start, end in zip(crossings[::2], crossings[1::2], strict=True)
        if start < end
    ]


def _both(one: Sequence[Span], other: Sequence[Span]) -> list[Span]:
    return [
        (max(start, other_start), min(end, other_end))
        for start, end in one
        for other_start, other_end in other
        if max(start, other_start) < min(end, other_end)
    ]


def _without(spans: Sequence[Span], low: Nm, high: Nm) -> list[Span]:
    parts = [
        part
        for start, end in spans
        for part in ((start, min(end, Fraction(low))), (max(start, Fraction(high)), end))
    ]
    return [(start, end) for start, end in parts if start < end]


def _length(spans: Sequence[Span]) -> Fraction:
    return sum((end - start for start, end in spans), Fraction(0))
