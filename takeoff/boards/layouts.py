"""The ways to lay courses on a surface: which direction, which sheet width, from which side, with
their joints."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from takeoff.boards.allowed import floating_forbidden, refused
from takeoff.boards.around import blocks, courses_around, held_rows, joint_kinds, sliver
from takeoff.boards.courses import (
    CourseExtent,
    courses_down,
    courses_from_eave,
    courses_on_members,
    courses_sharing_rip,
    courses_up,
)
from takeoff.boards.hours import NO_WORK, SurfaceWork
from takeoff.boards.joints import (
    Bearing,
    Box,
    CourseSurroundings,
    JointPoint,
    Segment,
    Span,
    blocked_points,
    is_covered,
    joint_at,
    joint_points,
    seam_spans,
)
from takeoff.boards.paths import apart_throughout, can_cover, keeps_apart
from takeoff.boards.plan import PlacedBoard, PlanNote
from takeoff.boards.region import (
    Part,
    eave,
    extent_within,
    in_course_axes,
    is_rectangle,
    parts,
    section,
)
from takeoff.boards.stock import owned_for
from takeoff.boards.words import shown
from takeoff.catalogue import BoardEdges, BoardKind, SheetOnSale
from takeoff.choices import CeilingRows, JointMode, Orientation, Runs, SurfaceKind
from takeoff.errors import CannotBoard
from takeoff.framing.members import FramedSurface, runs_of
from takeoff.geometry.polygon import bounds, clip_band
from takeoff.geometry.surface import PlacedCutout, PlacedHidden, PlacedOpening, Point, Surface
from takeoff.quantities import Cents, money
from takeoff.reference import figures
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = ["CourseProblem", "Layout", "NoLayout", "course_notes", "lay_out"]

Placed = PlacedOpening | PlacedCutout | PlacedHidden

_PATHS = 60  # choices of joints that each course is tried with


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseProblem:
    """One course of a layout. `full` courses take the whole sheet width; others are ripped and keep
    one factory edge.

    A ripped course's piece is bought at its bounding width, see `Layout.piece_width`; so is a piece
    of a full course that a slope makes narrower than the sheet.

    `segments` are what is still to be boarded of it, and `longest` is the longest piece it may
    have. Where boards hang in it already those are its `boards`, `stretches` is all of it, hung or
    not, and `joints` are the butt joints that nobody can choose.
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
    boards: tuple[PlacedBoard, ...] = ()
    stretches: tuple[Span, ...] = ()
    joints: tuple[JointPoint, ...] = ()

    @property
    def extents(self) -> tuple[Span, ...]:
        """Its stretches along it, hung or not."""
        return self.stretches or tuple((segment.start, segment.end) for segment in self.segments)


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

    def piece_extent(self, course: CourseProblem, segment: Segment, start: Nm, end: Nm) -> Span:
        """The lowest and highest y of the board of `segment` from `start` to `end`."""
        if not segment.area:
            return course.low, course.high
        return extent_within(segment.area, start, end)

    def piece_width(self, course: CourseProblem, segment: Segment, start: Nm, end: Nm) -> Nm:
        """The width a piece is bought at: its bounding height square to the course. The sheet's
        width means whole."""
        low, high = self.piece_extent(course, segment, start, end)
        return Nm(high - low)


@dataclass(frozen=True, slots=True)
class NoLayout:
    """Where a layout cannot be boarded: in the segment from `start` to `end` of a course; `apart`
    where its joints cannot keep the stagger from the course before, else no choice of joints covers
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
    boards: Sequence[PlacedBoard] = (),
    shown_beside: Sequence[SheetOnSale] = (),
    currency: str = "USD",
) -> list[tuple[Layout, NoLayout | None]]:
    """Every way to lay the courses of a surface, each with where it is stuck, if it is.

    `sheets` are those it may be cut from, none where nothing is left to cut; `shown_beside` others
    on sale, for the price of a wider one in `currency`. Around `boards` that hang already the rest
    lies the way they do.

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
                notes = course_notes(surface, rules, layout, [*sheets, *shown_beside], currency)
                layouts.append((replace(layout, notes=notes), _no_layout(layout, rules)))

    if boards:
        layouts = _once(layouts)
        if not layouts and not sheets:
            return []
    if not layouts and reasons:
        raise CannotBoard(surface=surface.id, rule=reasons[0].rule, message=reasons[0].message)
    if not layouts:
        raise CannotBoard(
            surface=surface.id,
            rule="orientation",
            message=f"{surface.name}: boards along the framing need a member under each long edge, "
            "and some stretch "
            "wider than a sheet has none. Lay the boards across the framing, or add a member",
        )
    return layouts


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
    owned = owned_for(surface, kind, rules)
    ripped_keeps_edge = kind.edges is BoardEdges.TAPERED
    if boards:
        choices = _choices_around(framed, rules, area, width, rows_run, sheets, boards)
    else:
        choices = [
            tuple((extent, width) for extent in extents)
            for extents in _course_choices(framed, rules, area, width, rows_run, across=across)
        ]

    layouts = []
    for extents in choices:
        low, high = min(one.low for one, _ in extents), max(one.high for one, _ in extents)
        # Around boards that hang a rest may be left at any side, and to cut it off would round a
        # slope once more.
        covered = area if boards else _between(area, low, high)
        courses = []
        for index, (extent, sheet_width) in enumerate(extents):
            lengths = [sheet.length for sheet in sheets if sheet.width == sheet_width]
            whole = [one.length for one in owned if one.width == sheet_width]
            here = [board for board in boards if blocks(board, extent.low, extent.high)]
            full = extent.height == sheet_width
            segments = _segments(framed, kind, rules, covered, extent, rows_run, lengths, here)
            stretches = (
                tuple(
                    (part.start, part.end)
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
                sheet_width=width,
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
        members=_backed_lines(framed, area, rows_run) if along_members else None,
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
    openings = [_box(opening, rows_run) for opening in surface.openings]
    kinds = joint_kinds(boards, [(segment.start, segment.end) for segment in segments])

    def seam_at(at: Nm) -> tuple[Span, ...]:
        return seam_spans(at, section(area, at, extent.low, extent.high), openings)

    return tuple(
        joint_at(at, kind, Nm(sum(high - low for low, high in seam_at(at))), rules)
        for at, kind in kinds.items()
    )


def _course_choices(
    framed: FramedSurface,
    rules: Rules,
    area: tuple[Point, ...],
    width: Nm,
    rows_run: Runs,
    *,
    across: bool,
) -> list[tuple[CourseExtent, ...]]:
    """The courses of each way to count them, the first course first; equal ways once."""
    surface = framed.surface
    _, low, _, high = bounds(area)
    choices: list[tuple[CourseExtent, ...]] = []
    if not across:
        centres = _backed_lines(framed, area, rows_run)
        # Counted from the other side: the same function on the mirrored members, and its courses
        # turned back.
        mirrored = [Nm(low + high - centre) for centre in reversed(centres)]
        choices = [
            courses_on_members(low, high, width, centres),
            tuple(
                extent.turned(low, high)
                for extent in courses_on_members(low, high, width, mirrored)
            ),
        ]
    elif surface.kind is SurfaceKind.WALL and rows_run is Runs.ALONG:
        # The board area begins a floor gap above the floor already.
        rest = Nm(rules.largest_floor_gap - rules.floor_gap)
        if is_rectangle(area):
            choices = [courses_down(low, high, width, largest_rest=rest)]
        else:
            choices = [courses_from_eave(low, eave(area), high, width, largest_rest=rest)]
    else:
        sides = rules.ceiling_rows if surface.kind is SurfaceKind.CEILING else CeilingRows.EITHER
        if sides is not CeilingRows.SIDE_B:
            choices.append(courses_up(low, high, width))
        if sides is not CeilingRows.SIDE_A:
            choices.append(courses_down(low, high, width))
        if rules.shared_edge_rip:
            choices.append(courses_sharing_rip(low, high, width))
    # Two ways to count may give the same courses, as where the height is whole sheets.
    kept: dict[tuple[tuple[Nm, Nm], ...], tuple[CourseExtent, ...]] = {}
    for extents in choices:
        if extents:
            kept.setdefault(tuple(sorted((extent.low, extent.high) for extent in extents)), extents)
    return list(kept.values())


def _backed_lines(framed: FramedSurface, area: tuple[Point, ...], rows_run: Runs) -> list[Nm]:
    """Where a long edge may lie along the framing: the centres of members that run behind all of
    it, in order."""
    _, low, _, high = bounds(area)
    across = Runs.ACROSS if rows_run is Runs.ALONG else Runs.ALONG
    turned = in_course_axes(framed.surface.board_area, across)
    left_edge, _, right_edge, _ = bounds(area)
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
        and is_covered(
            seam_spans(at, section(turned, at, left_edge, right_edge), openings), members
        )
    )


def _between(area: tuple[Point, ...], low: Nm, high: Nm) -> tuple[Point, ...]:
    """`area` down to the lowest course's edge: a rest left as gap is not boarded."""
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
    extent: CourseExtent,
    rows_run: Runs,
    lengths: Sequence[Nm],
    boards: Sequence[PlacedBoard] = (),
) -> tuple[Segment, ...]:
    """The stretches of a course to board, from the left, split where an opening takes the course's
    whole height and where boards hang already."""
    surface = framed.surface
    openings = [_box(opening, rows_run) for opening in surface.openings]
    obstacles = [_box(cutout, rows_run) for cutout in surface.cutouts]
    obstacles += [_box(item, rows_run) for item in surface.hidden]
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
    openings = [_box(opening, rows_run) for opening in surface.openings]
    # Such an opening leaves no board above or below it in this course, so pieces end at its sides
    # without a joint.
    through = [box for box in openings if box.low <= extent.low and box.high >= extent.high]
    whole = [
        piece for part in parts(area, extent.low, extent.high) for piece in _split(part, through)
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


def _box(thing: Placed, rows_run: Runs) -> Box:
    if rows_run is Runs.ALONG:
        return Box(thing.left, thing.bottom, thing.right, thing.top)
    return Box(thing.bottom, thing.left, thing.top, thing.right)


def _no_layout(layout: Layout, rules: Rules) -> NoLayout | None:
    for course in layout.courses:
        for segment in course.segments:
            # First each segment by itself: that tells more precisely where a layout fails than the
            # stagger does.
            if not can_cover(segment, rules.shortest_piece, course.longest):
                return NoLayout(course.index, segment.start, segment.end, False)
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
    return NoLayout(blocked, course.segments[0].start, course.segments[-1].end, True)


def course_notes(
    surface: Surface, rules: Rules, layout: Layout, sheets: Sequence[SheetOnSale], currency: str
) -> tuple[PlanNote, ...]:
    """A rest left as gap, each course narrower than the narrow strip with what a wider sheet costs,
    and what is asked for but not done."""
    notes = []
    width = layout.sheet_width
    whole = in_course_axes(surface.board_area, layout.rows_run)
    rest = min(course.low for course in layout.courses) - bounds(whole)[1]
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
    for course in layout.courses:
        if course.high - course.low >= min(rules.narrow_strip, width):
            continue
        text = (
            f"Row {course.index + 1} is a strip {shown(Nm(course.high - course.low), surface)} wide"
        )
        wider = [sheet for sheet in sheets if sheet.width > width]
        if wider and any(sheet.width == width for sheet in sheets):
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
