"""The ways to lay courses on a surface: which direction, which sheet width, from which side, with
their joints."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

from takeoff.boards.allowed import floating_forbidden, refused
from takeoff.boards.around import blocks, courses_around, held_rows, joint_kinds, sliver
from takeoff.boards.cores import core_spans
from takeoff.boards.courses import CourseExtent, core, is_hair, takes_row
from takeoff.boards.hours import NO_WORK, SurfaceWork
from takeoff.boards.joints import (
    Bearing,
    Box,
    CourseSurroundings,
    JointPoint,
    Segment,
    Span,
    blocked_points,
    box_of,
    joint_at,
    joint_points,
    seam_spans,
)
from takeoff.boards.paths import apart_throughout, can_cover, keeps_apart
from takeoff.boards.plan import PlacedBoard, PlanNote
from takeoff.boards.reach import Reach, Sides, laid, sides_of, with_steps_at
from takeoff.boards.region import Part, extent_within, in_course_axes, parts, section
from takeoff.boards.rows import backed_lines, is_wide, row_choices
from takeoff.boards.stock import owned_for
from takeoff.catalogue import BoardEdges, BoardKind, SheetOnSale
from takeoff.choices import JointMode, Orientation, Runs, SurfaceKind
from takeoff.errors import CannotBoard
from takeoff.framing.members import FramedSurface, runs_of
from takeoff.geometry.polygon import bounds, clip_band
from takeoff.geometry.surface import Point, Surface
from takeoff.quantities import Cents
from takeoff.reference import figures
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = ["CourseProblem", "Layout", "NoLayout", "lay_out"]

_PATHS = 60  # choices of joints that each course is tried with


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseProblem:
    """One course of a layout. `full` courses take the whole sheet width; others are ripped and keep
    one factory edge.

    A ripped course's piece is bought at its bounding width, see `Layout.lies`; so is a piece of a
    full course that a slope makes narrower than the sheet.

    `segments` are what is still to be boarded of it, and `longest` is the longest piece it may
    have; `lengths` are those on sale of sheets of its width, shortest first. Where boards hang in
    it already those are its `boards`, `stretches` is all of it, hung or not, and `joints` are the
    butt joints that nobody can choose.
    """

    index: int
    low: Nm
    high: Nm
    sheet_width: Nm
    full: bool
    factory_low: bool
    factory_high: bool
    segments: tuple[Segment, ...]
    longest: Nm
    lengths: tuple[Nm, ...] = ()
    boards: tuple[PlacedBoard, ...] = ()
    stretches: tuple[Span, ...] = ()
    joints: tuple[JointPoint, ...] = ()

    @property
    def extents(self) -> tuple[Span, ...]:
        """Its stretches along it, hung or not."""
        return self.stretches or tuple((segment.start, segment.end) for segment in self.segments)


class Lies(NamedTuple):
    """Where a piece lies, in course coordinates: what it is bought as."""

    start: Nm
    end: Nm
    low: Nm
    high: Nm


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """One way to lay the courses of a surface. `area` is the region to board in course coordinates
    (x along the courses, y square to them), counter-clockwise; consecutive courses touch, so their
    joints must keep the stagger apart.

    `sheet_width` is the width of every sheet it takes, but for rows that boards hang in already,
    and `longest` the longest piece it may have. `work` says what the hours of its pieces are worth,
    and `hours` those that it takes whatever joints are chosen, in cents.
    """

    surface: str
    rows_run: Runs
    along_framing: bool
    area: tuple[Point, ...]
    courses: tuple[CourseProblem, ...]
    sheet_width: Nm
    longest: Nm
    notes: tuple[PlanNote, ...] = ()
    work: SurfaceWork = NO_WORK
    hours: Cents = Cents(0)

    def lies(self, course: CourseProblem, segment: Segment, start: Nm, end: Nm) -> Lies:
        """Where the board of `segment` from the joint (or end) at `start` to that at `end` lies.

        At an end of the segment that may lie elsewhere it is as long as the longest sheet on sale
        whose uncut end stays within the reach; else it is cut to end as usual.
        """
        first = _reach(segment.starts if start == segment.start else None, start)
        last = _reach(segment.ends if end == segment.end else None, end)
        if first.room or last.room:
            spans = (laid(first, last, length) for length in reversed(course.lengths))
            start, end = next((span for span in spans if span is not None), (start, end))
        if not segment.area:
            return Lies(start, end, course.low, course.high)
        return Lies(start, end, *extent_within(segment.area, start, end))


def _reach(span: Span | None, usual: Nm) -> Reach:
    return Reach(span[0], usual, span[1]) if span is not None else Reach(usual, usual, usual)


@dataclass(frozen=True, slots=True)
class NoLayout:
    """Where a layout cannot be boarded: in the segment from `start` to `end` of a course; `apart`
    where its joints cannot keep the stagger from the course before, `coreless` where pieces of
    allowed lengths cover it but one has no core, else no choice of joints covers it."""

    row: int
    start: Nm
    end: Nm
    apart: bool = False
    coreless: bool = False


def lay_out(
    framed: FramedSurface,
    kind: BoardKind,
    rules: Rules,
    sheets: Sequence[SheetOnSale],
    *,
    boards: Sequence[PlacedBoard] = (),
) -> list[tuple[Layout, NoLayout | None]]:
    """Every way to lay the courses of a surface, each with where it is stuck, if it is.

    `sheets` are those it may be cut from, none where nothing is left to cut. Around `boards` that
    hang already the rest lies the way they do.

    Raises `CannotBoard` where the framing table forbids every direction the surface asks for, or
    where no member lies under the edges of boards along the framing.
    """
    surface = framed.surface
    # A direction that was chosen is the only one tried; where any will do both are.
    asked = {
        Orientation.ACROSS: (True,),
        Orientation.ALONG: (False,),
        Orientation.BEST: (True, False),
    }[surface.orientation]
    if boards:
        level = boards[0].rows_run is Runs.ALONG
        asked = ((runs_of(surface) is Runs.ACROSS) == level,)

    layouts: list[tuple[Layout, NoLayout | None]] = []
    reasons = []
    for across in asked:
        reason = refused(surface, kind, rules, across=across)
        # Where boards hang, only what is still to be hung can be refused.
        if reason is not None and not boards:
            reasons.append(reason)
            continue
        widths = sorted({sheet.width for sheet in sheets})
        for width in widths or [board.sheet_width for board in boards[:1]]:
            for layout in _with_width(framed, kind, rules, sheets, width, boards, across=across):
                if not widths and any(course.segments for course in layout.courses):
                    continue
                if reason is not None and any(course.segments for course in layout.courses):
                    reasons.append(reason)
                    continue
                layouts.append((layout, _no_layout(layout, rules)))

    if boards:
        layouts = _once(layouts)
        if not layouts and not sheets:
            return []
    elif (
        not rules.shared_edge_rip
        and all(blocked for _, blocked in layouts)
        and any(blocked.coreless for _, blocked in layouts if blocked)
    ):
        # The last row is too low to make pieces of: it is shared with the first, whatever the rule.
        shared = replace(rules, shared_edge_rip=True)
        return lay_out(framed, kind, shared, sheets)
    else:
        layouts = _sensible(layouts)
    if not layouts and reasons:
        raise CannotBoard(surface=surface.id, rule=reasons[0].rule, message=reasons[0].message)
    if not layouts:
        raise CannotBoard(
            surface=surface.id,
            rule="orientation",
            message=f"{surface.name}: boards along the framing need a stud or joist under each "
            "long edge, and some stretch wider than a sheet has none. Lay the boards across the "
            "framing, "
            "or add one",
        )
    return layouts


def _sensible(
    layouts: Sequence[tuple[Layout, NoLayout | None]],
) -> list[tuple[Layout, NoLayout | None]]:
    """The layouts without rows too narrow to screw, and without rips too fine to snap where rows
    that run the same way and take no more board lie without; all that are as good in this.

    Rows of wider boards, or one row more, are no reason to drop a rip: whether they are worth it is
    for money and hours to say. A hanger trims a board of 48 in rather than carry one of 54 for half
    an inch of wall.
    """
    best = max((_is_wide(layout) for layout, blocked in layouts if blocked is None), default=None)
    kept = [way for way in layouts if best is None or _is_wide(way[0]) == best]
    least: dict[Runs, int] = {}
    for layout, blocked in kept:
        if blocked is None and not _has_hair(layout):
            known = least.get(layout.rows_run, _breadth(layout))
            least[layout.rows_run] = min(known, _breadth(layout))
    return _without_thin_rows(
        [
            (layout, blocked)
            for layout, blocked in kept
            if not _has_hair(layout)
            or layout.rows_run not in least
            or _breadth(layout) < least[layout.rows_run]
        ]
    )


def _is_wide(layout: Layout) -> bool:
    return is_wide(course.high - course.low for course in layout.courses)


def _has_hair(layout: Layout) -> bool:
    return any(is_hair(course.high - course.low, course.sheet_width) for course in layout.courses)


def _breadth(layout: Layout) -> int:
    """The sheets of all its rows side by side."""
    return sum(course.sheet_width for course in layout.courses)


def _without_thin_rows(
    layouts: Sequence[tuple[Layout, NoLayout | None]],
) -> list[tuple[Layout, NoLayout | None]]:
    """The layouts without a row that is hard to rip and hang for being so narrow, where one lies
    the same way in as few rows that are all wider."""
    thin = figures.length("HL-thin-row")

    def is_thin(layout: Layout) -> bool:
        return any(course.high - course.low < thin for course in layout.courses)

    fewest: dict[bool, int] = {}
    for layout, blocked in layouts:
        if blocked is None and not is_thin(layout):
            rows = fewest.get(layout.along_framing, len(layout.courses))
            fewest[layout.along_framing] = min(rows, len(layout.courses))
    return [
        (layout, blocked)
        for layout, blocked in layouts
        if not is_thin(layout)
        or layout.along_framing not in fewest
        or len(layout.courses) < fewest[layout.along_framing]
    ]


def _once(
    layouts: Sequence[tuple[Layout, NoLayout | None]],
) -> list[tuple[Layout, NoLayout | None]]:
    """Each layout once: where boards hang in every row, all widths of sheets give the same."""
    first: dict[tuple[CourseProblem, ...], tuple[Layout, NoLayout | None]] = {}
    for layout, blocked in layouts:
        first.setdefault(layout.courses, (layout, blocked))
    return list(first.values())


def _with_width(
    framed: FramedSurface,
    kind: BoardKind,
    rules: Rules,
    sheets: Sequence[SheetOnSale],
    width: Nm,
    boards: Sequence[PlacedBoard],
    *,
    across: bool,
) -> list[Layout]:
    surface = framed.surface
    members_across = runs_of(surface) is Runs.ACROSS
    rows_run = Runs.ALONG if members_across == across else Runs.ACROSS
    area = in_course_axes(surface.board_area, rows_run)
    sides = sides_of(surface, rows_run)
    owned = owned_for(surface, kind, rules)
    ripped_keeps_edge = kind.edges is BoardEdges.TAPERED
    if boards:
        # Rows that hang reach as far as they do.
        rows = held_rows(boards, sides.bottom.low, sides.top.high)
        area = _moved(
            area,
            min(bounds(area)[1], *(row.low for row in rows)),
            max(bounds(area)[3], *(row.high for row in rows)),
        )
        choices = _choices_around(framed, rules, area, width, rows_run, sheets, boards)
    else:
        widths = sorted({sheet.width for sheet in sheets})
        choices = row_choices(framed, rules, area, sides, width, widths, rows_run, across=across)

    layouts = []
    for extents in choices:
        low, high = min(one.low for one, _ in extents), max(one.high for one, _ in extents)
        # Around boards that hang a rest may be left at any side, and to cut it off would round a
        # slope once more.
        seams = [one.high for one, _ in extents if one.high < high]
        covered = with_steps_at(area, surface, rows_run, seams)
        covered = covered if boards else _moved(covered, low, high)
        courses = []
        for index, (extent, sheet_width) in enumerate(extents):
            lengths = [sheet.length for sheet in sheets if sheet.width == sheet_width]
            whole = [one.length for one in owned if one.width == sheet_width]
            here = [board for board in boards if blocks(board, extent.low, extent.high)]
            full = extent.height == sheet_width
            segments = tuple(
                _with_reach(segment, sides, extent)
                for segment in _segments(
                    framed, kind, rules, covered, extent, rows_run, lengths, here
                )
            )
            # What boards that hang leave of a row, or beside one, cannot be more.
            if not here and not (boards and extent.height < core()):
                segments = tuple(
                    _with_cores(segment, surface, extent, rows_run, rules) for segment in segments
                )
            stretches = (
                tuple(
                    _as_hung(part, sides, extent, here, segments)
                    for part in _stretches(surface, covered, extent, rows_run)
                )
                if boards
                else ()
            )
            courses.append(
                CourseProblem(
                    index=index,
                    low=extent.low,
                    high=extent.high,
                    sheet_width=sheet_width,
                    full=full,
                    factory_low=extent.factory_low and (ripped_keeps_edge or full),
                    factory_high=extent.factory_high and (ripped_keeps_edge or full),
                    segments=segments,
                    longest=max(lengths + whole, default=Nm(0)),
                    lengths=tuple(sorted(set(lengths))),
                    stretches=stretches,
                    joints=_given_joints(surface, rules, covered, extent, rows_run, segments, here),
                )
            )
        layouts.append(
            Layout(
                surface=surface.id,
                rows_run=rows_run,
                along_framing=not across,
                area=covered,
                courses=_around_boards(courses, boards, rules) if boards else tuple(courses),
                sheet_width=max(width for _, width in extents),
                longest=max(
                    (course.longest for course in courses if course.segments), default=width
                ),
            )
        )
    return layouts


def _choices_around(
    framed: FramedSurface,
    rules: Rules,
    area: tuple[Point, ...],
    width: Nm,
    rows_run: Runs,
    sheets: Sequence[SheetOnSale],
    boards: Sequence[PlacedBoard],
) -> list[tuple[tuple[CourseExtent, Nm], ...]]:
    """The courses around boards that hang, each with the width of its sheets, the first course
    first; none where no member lies where a long edge must."""
    surface = framed.surface
    _, low, _, high = bounds(area)
    rows = []
    for row in held_rows(boards, low, high):
        extent = CourseExtent(row.low, row.high)
        here = [board for board in boards if blocks(board, row.low, row.high)]
        free = _stretches(surface, area, extent, rows_run, here)
        rows.append(replace(row, is_open=bool(free)))

    on_wall = surface.kind is SurfaceKind.WALL and rows_run is Runs.ALONG
    along_members = (runs_of(surface) is Runs.ACROSS) != (rows_run is Runs.ALONG)
    extents = courses_around(
        rows,
        low,
        high,
        width,
        sorted({sheet.width for sheet in sheets}),
        members=backed_lines(framed, area, rows_run) if along_members else None,
        largest_rest=Nm(rules.largest_floor_gap - rules.floor_gap) if on_wall else Nm(0),
    )
    # Rows of a wall are counted from the ceiling.
    return [extents[::-1] if on_wall else extents] if extents else []


def _around_boards(
    courses: Sequence[CourseProblem], boards: Sequence[PlacedBoard], rules: Rules
) -> tuple[CourseProblem, ...]:
    """The courses without the joints that would come too close to one that is given: at the end of
    a board in a course it touches. Each board is a piece of the one course that has most of it."""
    held: list[list[PlacedBoard]] = [[] for _ in courses]
    for board in sorted(boards, key=lambda board: (board.start, board.mark)):
        # A board that the surface has no longer any place for lies at the course nearest to it.
        shares = [min(board.high, course.high) - max(board.low, course.low) for course in courses]
        held[shares.index(max(shares))].append(board)

    around = []
    for index, course in enumerate(courses):
        beside = [*courses[max(0, index - 1) : index], *courses[index + 1 : index + 2]]
        given = sorted(point.at for other in beside for point in other.joints)
        segments = tuple(
            replace(
                segment,
                points=tuple(
                    point
                    for point in segment.points
                    if keeps_apart((point.at,), given, rules.stagger)
                ),
            )
            for segment in course.segments
        )
        around.append(replace(course, segments=segments, boards=tuple(held[index])))
    return tuple(around)


def _given_joints(
    surface: Surface,
    rules: Rules,
    area: tuple[Point, ...],
    extent: CourseExtent,
    rows_run: Runs,
    segments: Sequence[Segment],
    boards: Sequence[PlacedBoard],
) -> tuple[JointPoint, ...]:
    """The butt joints at the ends of boards that hang, each with its seam and what it costs."""
    if not boards:
        return ()
    openings = [box_of(opening, rows_run) for opening in surface.openings]
    kinds = joint_kinds(boards, [(segment.start, segment.end) for segment in segments])

    def seam_at(at: Nm) -> tuple[Span, ...]:
        # A board that hangs may be lower than its row is now, and the seam ends where it does.
        here = [board for board in boards if at in (board.start, board.end)]
        low = max(extent.low, *(board.low for board in here))
        high = min(extent.high, *(board.high for board in here))
        return seam_spans(at, section(area, at, Nm(low), Nm(high)), openings)

    return tuple(
        joint_at(at, kind, Nm(sum(high - low for low, high in seam_at(at))), rules)
        for at, kind in kinds.items()
    )


def _moved(area: tuple[Point, ...], low: Nm, high: Nm) -> tuple[Point, ...]:
    """`area` with its lowest and highest edge where the courses have them: a rest left as gap is
    not boarded."""
    _, bottom, _, top = bounds(area)
    if (bottom, top) == (low, high):
        return area
    # Where only upright sides meet the edge it is moved, else what lies beyond is cut off.
    for y, to in ((bottom, low), (top, high)):
        if all(
            a[0] == b[0] or a[1] == b[1] for a, b in pairwise((*area, area[0])) if y in (a[1], b[1])
        ):
            area = tuple((x, to if at == y else at) for x, at in area)
    _, bottom, _, top = bounds(area)
    low, high = max(low, bottom), min(high, top)
    if (bottom, top) == (low, high):
        return area
    return max(
        clip_band(area, 1, low, high),
        key=lambda part: max(x for x, _ in part) - min(x for x, _ in part),
    )


def _with_reach(segment: Segment, sides: Sides, extent: CourseExtent) -> Segment:
    """The segment with how far its first and last piece may reach, where that is not given."""
    if segment.area:
        return segment
    return replace(
        segment,
        starts=sides.at(segment.start, extent.low, extent.high, start=True),
        ends=sides.at(segment.end, extent.low, extent.high, start=False),
    )


def _with_cores(
    segment: Segment, surface: Surface, extent: CourseExtent, rows_run: Runs, rules: Rules
) -> Segment:
    """The segment with where a core fits in it, where that has to be asked."""
    openings = [
        box
        for box in (box_of(opening, rows_run) for opening in surface.openings)
        if box.meets(extent.low, extent.high)
        and box.left < segment.end
        and box.right > segment.start
    ]
    plain = not segment.area and not openings
    large = extent.height >= core() and segment.end - segment.start >= core()
    if plain and large and rules.shortest_piece >= core():
        return segment
    outline = segment.area or (
        (segment.start, extent.low),
        (segment.end, extent.low),
        (segment.end, extent.high),
        (segment.start, extent.high),
    )
    cores = core_spans(outline, openings)
    # A surface that has no core itself is one piece.
    return replace(segment, cores=cores) if cores or core_spans(surface.board_area, ()) else segment


def _as_hung(
    part: Part,
    sides: Sides,
    extent: CourseExtent,
    boards: Sequence[PlacedBoard],
    segments: Sequence[Segment],
) -> Span:
    """From where to where a stretch is boarded: where a board hangs at its end, as that does, as
    far as edges may."""
    here = [board for board in boards if board.start < part.end and board.end > part.start]
    start, end = part.start, part.end
    first = sides.at(start, extent.low, extent.high, start=True)
    last = sides.at(end, extent.low, extent.high, start=False)
    if here and first is not None and all(segment.start != start for segment in segments):
        start = min(max(min(board.start for board in here), first[0]), first[1])
    if here and last is not None and all(segment.end != end for segment in segments):
        end = min(max(max(board.end for board in here), last[0]), last[1])
    return start, end


def _segments(
    framed: FramedSurface,
    kind: BoardKind,
    rules: Rules,
    area: tuple[Point, ...],
    extent: CourseExtent,
    rows_run: Runs,
    lengths: Sequence[Nm],
    boards: Sequence[PlacedBoard] = (),
) -> tuple[Segment, ...]:
    """The stretches of a course to board, from the left, split where an opening takes the course's
    whole height and where boards hang already."""
    surface = framed.surface
    openings = [box_of(opening, rows_run) for opening in surface.openings]
    obstacles = [box_of(cutout, rows_run) for cutout in surface.cutouts]
    obstacles += [box_of(item, rows_run) for item in surface.hidden]
    members = [
        Bearing(member.centre, member.width, member.low, member.high) for member in framed.members
    ]
    across = (runs_of(surface) is Runs.ACROSS) == (rows_run is Runs.ALONG)
    # Where no seam may float the choice made for the surface gives way to the rule.
    mode = JointMode.FRAMING if floating_forbidden(surface, kind) else surface.joint_mode
    segments = []
    for part in _stretches(surface, area, extent, rows_run, boards):
        course = CourseSurroundings(
            low=extent.low,
            high=extent.high,
            section=_section_of(part, extent),
            members=members,
            openings=openings,
            obstacles=obstacles,
        )
        if across:
            points = joint_points(course, part.start, part.end, mode, rules)
        else:
            points = blocked_points(course, part.start, part.end, lengths, rules)
        segments.append(Segment(start=part.start, end=part.end, points=points, area=part.area))
    return tuple(segments)


def _stretches(
    surface: Surface,
    area: tuple[Point, ...],
    extent: CourseExtent,
    rows_run: Runs,
    boards: Sequence[PlacedBoard] = (),
) -> list[Part]:
    """The parts of a course that no opening takes the whole height of and no board hangs in, but
    for slivers beside boards."""
    openings = [box_of(opening, rows_run) for opening in surface.openings]
    # Such an opening leaves no board above or below it in this course, so pieces end at its sides
    # without a joint.
    # Where it leaves less than two inches of the row above and below, what is left is filled.
    through = [box for box in openings if takes_row(box, extent.low, extent.high)]
    whole = [
        piece
        for part in parts(area, extent.low, extent.high)
        for piece in _split(part, through)
        # So is a stretch that narrow beside one.
        if piece == part or piece.end - piece.start >= core()
    ]
    if not boards:
        return whole
    hung = [Box(board.start, extent.low, board.end, extent.high) for board in boards]
    return [
        piece
        for part in whole
        for piece in _split(part, hung)
        if piece == part or piece.end - piece.start > sliver()
    ]


def _section_of(part: Part, extent: CourseExtent) -> Callable[[Nm], Sequence[Span]]:
    if part.area:
        return lambda x: section(part.area, x, extent.low, extent.high)
    whole = ((extent.low, extent.high),)
    return lambda _: whole


def _split(part: Part, openings: Sequence[Box]) -> list[Part]:
    rest = [part]
    for opening in openings:
        split: list[Part] = []
        for stretch in rest:
            before, after = min(stretch.end, opening.left), max(stretch.start, opening.right)
            split += _cut(stretch, stretch.start, before) + _cut(stretch, after, stretch.end)
        rest = split
    return sorted(rest, key=lambda stretch: (stretch.start, stretch.end))


def _cut(part: Part, start: Nm, end: Nm) -> list[Part]:
    """What of `part` lies from `start` to `end`."""
    if start >= end:
        return []
    if (start, end) == (part.start, part.end):
        return [part]
    if not part.area:
        return [Part(start, end)]
    stretches = []
    for area in clip_band(part.area, 0, start, end):
        left_edge, _, right_edge, _ = bounds(area)
        stretches.append(Part(left_edge, right_edge, area))
    return stretches


def _no_layout(layout: Layout, rules: Rules) -> NoLayout | None:
    for course in layout.courses:
        for segment in course.segments:
            # First each segment by itself: that tells more precisely where a layout fails than the
            # stagger does.
            shortest, longest = rules.shortest_piece, course.longest
            if not can_cover(segment, shortest, longest):
                any_piece = replace(segment, cores=None)
                return NoLayout(
                    course.index,
                    segment.start,
                    segment.end,
                    coreless=can_cover(any_piece, shortest, longest),
                )
    blocked = apart_throughout(
        [course.segments for course in layout.courses],
        rules.shortest_piece,
        [course.longest for course in layout.courses],
        rules.stagger,
        limit=_PATHS,
    )
    if blocked is None:
        return None
    course = layout.courses[blocked]
    return NoLayout(blocked, course.segments[0].start, course.segments[-1].end, apart=True)
