"""The ways to lay rows on a surface: which direction, which sheet width, from which side, with
their joints."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from takeoff.boards.allowed import floating_forbidden, refused
from takeoff.boards.joints import (
    Bearing,
    Box,
    Row,
    Segment,
    Span,
    blocked_points,
    is_covered,
    joint_points,
    seam_spans,
)
from takeoff.boards.paths import apart_throughout, can_cover
from takeoff.boards.plan import PlanNote
from takeoff.boards.region import Part, eave, extent_within, in_rows, is_rectangle, parts, section
from takeoff.boards.rows import (
    Band,
    on_members,
    rows_down,
    rows_from_eave,
    rows_sharing_rip,
    rows_up,
)
from takeoff.boards.stock import owned_for
from takeoff.boards.words import shown
from takeoff.catalogue import BoardEdges, BoardKind, SheetOnSale
from takeoff.choices import CeilingRows, JointMode, Orientation, Runs, SurfaceKind
from takeoff.errors import CannotBoard
from takeoff.framing.members import FramedSurface, runs_of
from takeoff.geometry.polygon import bounds, clip_band
from takeoff.geometry.surface import PlacedCutout, PlacedHidden, PlacedOpening, Point, Surface
from takeoff.quantities import money
from takeoff.reference import figures
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = ["Layout", "NoLayout", "RowProblem", "lay_out"]

Placed = PlacedOpening | PlacedCutout | PlacedHidden

_PATHS = 60  # choices of joints that each row is tried with


@dataclass(frozen=True, slots=True, kw_only=True)
class RowProblem:
    """One row of a layout. `full` rows take the whole sheet width; others are ripped and keep one
    factory edge.

    A ripped row's piece is bought at its bounding width, see `Layout.piece_width`; so is a piece of
    a full row that a slope makes narrower than the sheet.
    """

    index: int
    low: Nm
    high: Nm
    sheet_width: Nm
    full: bool
    factory_low: bool
    factory_high: bool
    segments: tuple[Segment, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """One way to lay the rows of a surface. `area` is the region to board in row coordinates (x
    along the rows, y square to them), counter-clockwise; consecutive rows touch, so their joints
    must keep the stagger apart.

    `sheet_width` is the width of every sheet it takes, `longest` the longest piece it may have.
    """

    surface: str
    rows_run: Runs
    along_framing: bool
    area: tuple[Point, ...]
    rows: tuple[RowProblem, ...]
    sheet_width: Nm
    longest: Nm
    notes: tuple[PlanNote, ...] = ()

    def piece_extent(self, row: RowProblem, segment: Segment, start: Nm, end: Nm) -> Span:
        """The lowest and highest y of the board of `segment` from `start` to `end`."""
        if not segment.area:
            return row.low, row.high
        return extent_within(segment.area, start, end)

    def piece_width(self, row: RowProblem, segment: Segment, start: Nm, end: Nm) -> Nm:
        """The width a piece is bought at: its bounding height square to the row. The sheet's width
        means whole."""
        low, high = self.piece_extent(row, segment, start, end)
        return Nm(high - low)


@dataclass(frozen=True, slots=True)
class NoLayout:
    """Where a layout cannot be boarded: in the segment from `start` to `end` of a row; `apart`
    where its joints cannot keep the stagger from the row before, else no choice of joints covers
    it."""

    row: int
    start: Nm
    end: Nm
    apart: bool


def lay_out(
    framed: FramedSurface,
    kind: BoardKind,
    rules: Rules,
    sheets: Sequence[SheetOnSale],
    *,
    shown_beside: Sequence[SheetOnSale] = (),
    currency: str = "USD",
) -> list[tuple[Layout, NoLayout | None]]:
    """Every way to lay the rows of a surface, each with where it is stuck, if it is.

    `sheets` are those it may be cut from; `shown_beside` others on sale, for the price of a wider
    one in `currency`.

    Raises `CannotBoard` where the framing table forbids every direction the surface asks for, or
    where no member lies under the edges of boards along the framing.
    """
    surface = framed.surface
    asked = {
        Orientation.ACROSS: (True,),
        Orientation.ALONG: (False,),
        Orientation.BEST: (True, False),
    }[surface.orientation]
    found: list[tuple[Layout, NoLayout | None]] = []
    reasons = []
    for across in asked:
        reason = refused(surface, kind, rules, across=across)
        if reason is not None:
            reasons.append(reason)
            continue
        for width in sorted({sheet.width for sheet in sheets}):
            for layout in _with_width(framed, kind, rules, sheets, width, across=across):
                notes = _row_notes(surface, rules, layout, [*sheets, *shown_beside], currency)
                found.append((replace(layout, notes=notes), _no_layout(layout, rules)))
    if not found and reasons:
        raise CannotBoard(surface=surface.id, rule=reasons[0].rule, message=reasons[0].message)
    if not found:
        raise CannotBoard(
            surface=surface.id,
            rule="orientation",
            message=f"{surface.name}: boards along the framing need a member under each long edge, "
            "and some stretch "
            "wider than a sheet has none. Lay the boards across the framing, or add a member",
        )
    return found


def _with_width(
    framed: FramedSurface,
    kind: BoardKind,
    rules: Rules,
    sheets: Sequence[SheetOnSale],
    width: Nm,
    *,
    across: bool,
) -> list[Layout]:
    surface = framed.surface
    members_across = runs_of(surface) is Runs.ACROSS
    rows_run = Runs.ALONG if members_across == across else Runs.ACROSS
    area = in_rows(surface.board_area, rows_run)
    lengths = [sheet.length for sheet in sheets if sheet.width == width]
    whole = [owned.length for owned in owned_for(surface, kind, rules) if owned.width == width]
    longest = max(lengths + whole)
    ripped_keeps_edge = kind.edges is BoardEdges.TAPERED
    found = []
    for bands in _row_choices(framed, rules, area, width, rows_run, across=across):
        covered = _between(area, min(band.low for band in bands), max(band.high for band in bands))
        rows = tuple(
            RowProblem(
                index=index,
                low=band.low,
                high=band.high,
                sheet_width=width,
                full=band.height == width,
                factory_low=band.factory_low and (ripped_keeps_edge or band.height == width),
                factory_high=band.factory_high and (ripped_keeps_edge or band.height == width),
                segments=_segments(framed, kind, rules, covered, band, rows_run, lengths),
            )
            for index, band in enumerate(bands)
        )
        layout = Layout(
            surface=surface.id,
            rows_run=rows_run,
            along_framing=not across,
            area=covered,
            rows=rows,
            sheet_width=width,
            longest=longest,
        )
        found.append(layout)
    return found


def _row_choices(
    framed: FramedSurface,
    rules: Rules,
    area: tuple[Point, ...],
    width: Nm,
    rows_run: Runs,
    *,
    across: bool,
) -> list[tuple[Band, ...]]:
    """The rows of each way to count them, the first row first; equal ways once."""
    surface = framed.surface
    _, low, _, high = bounds(area)
    choices: list[tuple[Band, ...]] = []
    if not across:
        centres = _backed_lines(framed, area, rows_run)
        mirrored = [Nm(low + high - centre) for centre in reversed(centres)]
        choices = [
            on_members(low, high, width, centres),
            tuple(band.turned(low, high) for band in on_members(low, high, width, mirrored)),
        ]
    elif surface.kind is SurfaceKind.WALL and rows_run is Runs.ALONG:
        rest = Nm(rules.largest_floor_gap - rules.floor_gap)
        if is_rectangle(area):
            choices = [rows_down(low, high, width, largest_rest=rest)]
        else:
            choices = [rows_from_eave(low, eave(area), high, width, largest_rest=rest)]
    else:
        sides = rules.ceiling_rows if surface.kind is SurfaceKind.CEILING else CeilingRows.EITHER
        if sides is not CeilingRows.SIDE_B:
            choices.append(rows_up(low, high, width))
        if sides is not CeilingRows.SIDE_A:
            choices.append(rows_down(low, high, width))
        if rules.shared_edge_rip:
            choices.append(rows_sharing_rip(low, high, width))
    kept: dict[tuple[tuple[Nm, Nm], ...], tuple[Band, ...]] = {}
    for bands in choices:
        if bands:
            kept.setdefault(tuple(sorted((band.low, band.high) for band in bands)), bands)
    return list(kept.values())


def _backed_lines(framed: FramedSurface, area: tuple[Point, ...], rows_run: Runs) -> list[Nm]:
    """Where a long edge may lie along the framing: the centres of members that run behind all of
    it, in order."""
    _, low, _, high = bounds(area)
    across = Runs.ACROSS if rows_run is Runs.ALONG else Runs.ALONG
    turned = in_rows(framed.surface.board_area, across)
    left, _, right, _ = bounds(area)
    openings = [_box(opening, across) for opening in framed.surface.openings]
    lines: dict[Nm, list[Bearing]] = {}
    for member in framed.members:
        lines.setdefault(member.centre, []).append(
            Bearing(member.centre, member.width, member.low, member.high)
        )
    return sorted(
        at
        for at, members in lines.items()
        if low < at < high
        and is_covered(seam_spans(at, section(turned, at, left, right), openings), members)
    )


def _between(area: tuple[Point, ...], low: Nm, high: Nm) -> tuple[Point, ...]:
    """`area` down to the lowest row's edge: a rest left as gap is not boarded."""
    _, bottom, _, top = bounds(area)
    if (bottom, top) == (low, high):
        return area
    return max(
        clip_band(area, 1, low, high),
        key=lambda part: max(x for x, _ in part) - min(x for x, _ in part),
    )


def _segments(
    framed: FramedSurface,
    kind: BoardKind,
    rules: Rules,
    area: tuple[Point, ...],
    band: Band,
    rows_run: Runs,
    lengths: Sequence[Nm],
) -> tuple[Segment, ...]:
    """The stretches of a row to board, from the left, split where an opening takes the row's whole
    height."""
    surface = framed.surface
    openings = [_box(opening, rows_run) for opening in surface.openings]
    obstacles = [_box(cutout, rows_run) for cutout in surface.cutouts]
    obstacles += [_box(item, rows_run) for item in surface.hidden]
    members = [
        Bearing(member.centre, member.width, member.low, member.high) for member in framed.members
    ]
    across = (runs_of(surface) is Runs.ACROSS) == (rows_run is Runs.ALONG)
    mode = JointMode.FRAMING if floating_forbidden(surface, kind) else surface.joint_mode
    through = [box for box in openings if box.low <= band.low and box.high >= band.high]
    segments = []
    for part in (
        piece for whole in parts(area, band.low, band.high) for piece in _split(whole, through)
    ):
        row = Row(
            low=band.low,
            high=band.high,
            section=_section_of(part, band),
            members=members,
            openings=openings,
            obstacles=obstacles,
        )
        if across:
            points = joint_points(row, part.start, part.end, mode, rules)
        else:
            points = blocked_points(row, part.start, part.end, lengths, rules)
        segments.append(Segment(start=part.start, end=part.end, points=points, area=part.area))
    return tuple(segments)


def _section_of(part: Part, band: Band) -> Callable[[Nm], Sequence[Span]]:
    if part.area:
        return lambda x: section(part.area, x, band.low, band.high)
    whole = ((band.low, band.high),)
    return lambda _: whole


def _split(part: Part, openings: Sequence[Box]) -> list[Part]:
    left = [part]
    for opening in openings:
        split: list[Part] = []
        for each in left:
            before, after = min(each.end, opening.left), max(each.start, opening.right)
            split += _cut(each, each.start, before) + _cut(each, after, each.end)
        left = split
    return sorted(left, key=lambda each: (each.start, each.end))


def _cut(part: Part, start: Nm, end: Nm) -> list[Part]:
    """What of `part` lies from `start` to `end`."""
    if start >= end:
        return []
    if (start, end) == (part.start, part.end):
        return [part]
    if not part.area:
        return [Part(start, end)]
    found = []
    for area in clip_band(part.area, 0, start, end):
        left, _, right, _ = bounds(area)
        found.append(Part(left, right, area))
    return found


def _box(thing: Placed, rows_run: Runs) -> Box:
    if rows_run is Runs.ALONG:
        return Box(thing.left, thing.bottom, thing.right, thing.top)
    return Box(thing.bottom, thing.left, thing.top, thing.right)


def _no_layout(layout: Layout, rules: Rules) -> NoLayout | None:
    for row in layout.rows:
        for segment in row.segments:
            if not can_cover(segment, rules.shortest_piece, layout.longest):
                return NoLayout(row.index, segment.start, segment.end, False)
    blocked = apart_throughout(
        [row.segments for row in layout.rows],
        rules.shortest_piece,
        layout.longest,
        rules.stagger,
        limit=_PATHS,
    )
    if blocked is None:
        return None
    row = layout.rows[blocked]
    return NoLayout(blocked, row.segments[0].start, row.segments[-1].end, True)


def _row_notes(
    surface: Surface, rules: Rules, layout: Layout, sheets: Sequence[SheetOnSale], currency: str
) -> tuple[PlanNote, ...]:
    """A rest left as gap, each row narrower than the narrow strip with what a wider sheet costs,
    and what is asked for but not done."""
    notes = []
    width = layout.sheet_width
    whole = in_rows(surface.board_area, layout.rows_run)
    rest = min(row.low for row in layout.rows) - bounds(whole)[1]
    if rest:
        notes.append(
            PlanNote(
                surface=surface.id,
                rule="largest_floor_gap",
                text=f"The rows end {shown(Nm(rest + rules.floor_gap), surface)} above the floor: "
                "the rest is gap, "
                "not a strip",
            )
        )
    for row in layout.rows:
        if row.high - row.low >= min(rules.narrow_strip, width):
            continue
        text = f"Row {row.index + 1} is a strip {shown(Nm(row.high - row.low), surface)} wide"
        wider = [sheet for sheet in sheets if sheet.width > width]
        if wider:
            other = min(wider, key=lambda sheet: (sheet.width, sheet.price, sheet.length))
            same = min(
                (sheet for sheet in sheets if sheet.width == width),
                key=lambda sheet: (abs(sheet.length - other.length), sheet.price),
            )
            text += (
                f"; {shown(other.width, surface, feet=False)} sheets are on sale at "
                f"{money(other.price, currency)} for "
                f"{shown(other.length, surface)}, against {money(same.price, currency)} for "
                f"{shown(same.length, surface)} of this width"
            )
        notes.append(PlanNote(surface=surface.id, rule="narrow_strip", text=text))
    large = figures.length("HL-large-opening")
    if rules.split_at_large_openings and any(
        opening.right - opening.left >= large for opening in surface.openings
    ):
        notes.append(
            PlanNote(
                surface=surface.id,
                rule="split_at_large_openings",
                text="Seams may fall beside a large opening, as the rules of this house let them: "
                "they are the "
                "first to crack, so bed them in setting compound",
            )
        )
    return tuple(notes)
