"""Screws under a board: the lines of framing behind each piece, and how many go along each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from takeoff.boards.plan import JointKind, Piece, SurfacePlan
from takeoff.catalogue import BoardKind
from takeoff.choices import Runs, SurfaceKind
from takeoff.errors import BadValue
from takeoff.framing.members import FramedSurface, Member
from takeoff.geometry.surface import EdgeKind, Point, Surface
from takeoff.reference import BoardRow, Place, figures, row_for, screw_lengths
from takeoff.rules import Rules
from takeoff.units import INCH, Nm, UnitSystem, tape_reading

__all__ = ["FastenerLine", "Fastening", "fasteners_along", "fastening", "lines", "screw_length"]

Span = tuple[Nm, Nm]

_ANGLES = {
    SurfaceKind.WALL: (EdgeKind.CEILING,),
    SurfaceKind.CEILING: (EdgeKind.WALL, EdgeKind.INSIDE_CORNER),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Fastening:
    """The screws of a surface: how far apart they are, why, the figures that rests on, and whether
    adhesive goes with them."""

    spacing: Nm
    adhesive: bool
    text: str
    figures: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FastenerLine:
    """One line of screws: along a member under a piece, or along a backer at a floating seam.

    `screws` is their count, and `field` how many of them no tape covers. `backer` is true of a line
    beside a floating seam. The line is at `at` on its surface (u where `runs` is ACROSS, v where it
    is ALONG) and starts at `low`. `face` is the part of the members' faces that the piece covers.
    """

    piece: str
    length: Nm
    screws: int
    field: int
    backer: bool = False
    runs: Runs = Runs.ACROSS
    at: Nm = Nm(0)
    low: Nm = Nm(0)
    face: Span = (Nm(0), Nm(0))


def fasteners_along(
    run: Nm, spacing: Nm, *, first: Nm | None = None, last: Nm | None = None
) -> int:
    """Return how many fasteners go along a line of `run`: at most `spacing` apart, the first and
    the last one `first` and `last` from its ends.

    `first` and `last` are HL-01-layout where None. A line too short for two fasteners takes one; a
    line shorter than two edge distances (HL-01) takes none.

    >>> [fasteners_along(Nm(48 * INCH), Nm(s * INCH)) for s in (7, 8, 12, 16)]
    [8, 7, 5, 4]
    """
    edge = figures.length("HL-01-layout")
    between = run - (edge if first is None else first) - (edge if last is None else last)
    if between > 0:
        return -(-between // spacing) + 1
    return 1 if run >= 2 * figures.length("HL-01") else 0


def screw_length(
    kind: str, thickness: Nm, *, penetration: Nm, units: UnitSystem = UnitSystem.INCH
) -> Nm:
    """Return the shortest screw of `kind` on sale that goes through `thickness` of board and
    `penetration` into what holds it.

    Raises `BadValue`, in `units`, where no screw is long enough.
    """
    wanted = thickness + penetration
    shortest = min(
        (on_sale for on_sale in screw_lengths(kind) if on_sale >= wanted),
        default=None,
    )
    if shortest is None:
        longest = tape_reading(Nm(wanted), units, feet=False)
        raise BadValue(
            f"No screw on sale is as long as the {longest} this board takes; strip a layer first"
        )
    return shortest


def fastening(
    framed: FramedSurface, plan: SurfacePlan, board: BoardKind, rules: Rules
) -> Fastening:
    """Return how the boards of `plan` are screwed: by the row of the board table for their
    thickness, place, direction and framing.

    Glued board takes fewer screws only where the rules say how far apart. Tile backer goes by the
    spacing of its maker, and a ceiling that braces the house by the diaphragm table. Board that the
    table has no row for, such as a thin one over an old lining, takes the closest spacing of its
    place.
    """
    surface = framed.surface
    wall = surface.kind is SurfaceKind.WALL
    if board.tile_backer:
        id_ = "GB-45-wall" if wall else "GB-45-ceiling"
        return Fastening(
            spacing=figures.length(id_), adhesive=False, text="tile backer", figures=(id_, "GB-43")
        )
    if surface.braces and not wall:
        return Fastening(
            spacing=figures.length("GB-31"),
            adhesive=False,
            text="board braces the house",
            figures=("GB-31",),
        )
    spacing = surface.framing.spacing or (
        rules.assumed_wall_spacing if wall else rules.assumed_ceiling_spacing
    )
    glued = rules.adhesive and wall and not surface.action.keeps_lining
    rated = "; rated: follow its tested assembly" if surface.rated else ""
    way = "along" if plan.along_framing else "across"
    row = row_for(
        thickness=plan.thickness,
        place=surface.place,
        across=not plan.along_framing,
        spacing=spacing,
    )
    if row is not None:
        told = f"board {way} framing"
        apart, rests_on = row.screws, row.id
        if glued and rules.adhesive_screws is not None:
            # Fewer screws are the adhesive maker's word, which people read off its label.
            apart, rests_on = rules.adhesive_screws, "AD-screws"
        return Fastening(
            spacing=apart,
            adhesive=glued,
            text=f"{told}{', with adhesive' if glued else ''}{rated}"
            + (", under a room to live in" if surface.under_living else ""),
            figures=(rests_on, *(("FR-garage",) if surface.under_living else ())),
        )
    closest = _closest_row(Place.WALL if wall else Place.CEILING)
    return Fastening(
        spacing=closest.screws,
        adhesive=False,
        text=f"board {way} framing, no row of its own in the table, so the closest spacing{rated}",
        figures=(closest.id,),
    )


def _closest_row(place: Place) -> BoardRow:
    row = row_for(thickness=Nm(INCH // 2), place=place, across=True, spacing=Nm(24 * INCH))
    assert row is not None
    return row


# Taping, and what a tick uses up, ask for the lines that hanging was counted by.
@lru_cache(maxsize=256)
def lines(
    framed: FramedSurface, plan: SurfacePlan, spacing: Nm, rules: Rules
) -> tuple[FastenerLine, ...]:
    """Return every line of screws on a surface, piece by piece, then the lines beside floating
    seams.

    A member counts for a piece where at least an edge distance (HL-01) of the member is under it,
    so that at a butt seam on framing each piece has a line of its own. Members that touch count as
    one. With floating corners, the line in a wall-to-ceiling corner is left out, and the other
    lines start 12 in from it (HL-14, HL-15).
    """
    gathered: list[FastenerLine] = []
    for piece in plan.pieces:
        for run in _runs_under(piece, framed.members):
            gathered += _lines_of(piece, run, framed.surface, spacing, rules)
    for joint in plan.joints:
        if joint.kind is JointKind.FLOATING:
            screws = fasteners_along(joint.length, spacing)
            beside = [p for p in plan.pieces if p.row == joint.row and joint.at in (p.start, p.end)]
            gathered += [
                FastenerLine(
                    piece=piece.code, length=joint.length, screws=screws, field=0, backer=True
                )
                for piece in beside
            ]
    return tuple(gathered)


@dataclass(frozen=True, slots=True)
class _MemberRun:
    """Members under a piece that touch: the part of their faces under it, where they lie, and how
    they run."""

    runs: Runs
    low: Nm
    high: Nm
    spans: tuple[Span, ...]
    at_side: bool


def _runs_under(piece: Piece, members: Iterable[Member]) -> Iterator[_MemberRun]:
    """The members under a piece, those that touch taken together, in order of their centres."""
    edge = figures.length("HL-01")
    for runs in (Runs.ACROSS, Runs.ALONG):
        side = _extent(piece.outline, 0 if runs is Runs.ACROSS else 1)
        under = [
            (
                max(side[0], Nm(m.centre - m.width // 2)),
                min(side[1], Nm(m.centre + (m.width + 1) // 2)),
                m,
            )
            for m in members
            if m.runs is runs
        ]
        under = [strip for strip in under if strip[1] - strip[0] >= edge]
        groups: list[list[tuple[Nm, Nm, Member]]] = []
        for strip in sorted(under, key=lambda item: (item[0], item[1])):
            if groups and strip[0] <= max(high for _, high, _ in groups[-1]):
                groups[-1].append(strip)
            else:
                groups.append([strip])
        for group in groups:
            low, high = min(item[0] for item in group), max(item[1] for item in group)
            yield _MemberRun(
                runs=runs,
                low=low,
                high=high,
                spans=_joined((m.low, m.high) for _, _, m in group),
                at_side=low == side[0] or high == side[1],
            )


def _lines_of(
    piece: Piece, run: _MemberRun, surface: Surface, spacing: Nm, rules: Rules
) -> Iterator[FastenerLine]:
    middle = Nm((run.low + run.high) // 2)
    near = figures.length("HL-corner-reach")
    across = run.runs is Runs.ACROSS
    angles = _ANGLES[surface.kind] if rules.floating_corners else ()
    if run.at_side and any(
        abs(at - middle) <= near for at in _parallel_sides(surface, run.runs, angles)
    ):
        return
    ends = (
        [at for kind, at in _crossings(surface, middle, across) if kind in angles] if angles else []
    )
    for low, high in _overlaps(_spans_at(piece.outline, middle, across), run.spans):
        floats = [any(abs(at - end) <= near for at in ends) for end in (low, high)]
        first, last = (
            figures.length("HL-14" if surface.kind is SurfaceKind.CEILING else "HL-15")
            if free
            else None
            for free in floats
        )
        screws = fasteners_along(Nm(high - low), spacing, first=first, last=last)
        field = 0 if run.at_side else max(0, screws - 2 + sum(floats))
        if screws:
            yield FastenerLine(
                piece=piece.code,
                length=Nm(high - low),
                screws=screws,
                field=min(field, screws),
                runs=run.runs,
                at=middle,
                low=low,
                face=(run.low, run.high),
            )


def _extent(outline: tuple[Point, ...], axis: int) -> Span:
    places = [point[axis] for point in outline]
    return min(places), max(places)


def _sides(outline: tuple[Point, ...], across: bool) -> Iterator[tuple[int, Point, Point]]:
    """Sides of a shape with the run of the members first."""
    turned = [(u, v) if across else (v, u) for u, v in outline]
    for index, (here, there) in enumerate(zip(turned, turned[1:] + turned[:1], strict=True)):
        yield index, here, there


def _crossing(here: Point, there: Point, at: Nm) -> Nm | None:
    """Where the line at `at` meets a side; a side counts from its lower end up to, not with, its
    higher."""
    if not min(here[0], there[0]) <= at < max(here[0], there[0]):
        return None
    return Nm(here[1] + round(Fraction((there[1] - here[1]) * (at - here[0]), there[0] - here[0])))


def _spans_at(outline: tuple[Point, ...], at: Nm, across: bool) -> list[Span]:
    met = sorted(
        crossing
        for _, here, there in _sides(outline, across)
        if (crossing := _crossing(here, there, at)) is not None
    )
    return list(zip(met[::2], met[1::2], strict=True))


def _crossings(surface: Surface, at: Nm, across: bool) -> list[tuple[EdgeKind, Nm]]:
    return [
        (surface.edges[index].kind, crossing)
        for index, here, there in _sides(surface.outline, across)
        if (crossing := _crossing(here, there, at)) is not None
    ]


def _parallel_sides(surface: Surface, runs: Runs, kinds: tuple[EdgeKind, ...]) -> list[Nm]:
    return [
        here[0]
        for index, here, there in _sides(surface.outline, runs is Runs.ACROSS)
        if here[0] == there[0] and surface.edges[index].kind in kinds
    ]


def _joined(spans: Iterable[Span]) -> tuple[Span, ...]:
    joined: list[Span] = []
    for low, high in sorted(spans):
        if joined and low <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(high, joined[-1][1]))
        else:
            joined.append((low, high))
    return tuple(joined)


def _overlaps(first: Iterable[Span], second: Iterable[Span]) -> Iterator[Span]:
    others = list(second)
    for low, high in first:
        for other_low, other_high in others:
            start, end = max(low, other_low), min(high, other_high)
            if start < end:
                yield start, end
