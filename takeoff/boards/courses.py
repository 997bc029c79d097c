"""Courses of board over the height to be boarded: where each lies, and which of its long edges are
the sheet's own.

Everything here is in course coordinates: x along the courses, y square to them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from takeoff.boards.joints import Box
from takeoff.boards.reach import Reach, laid
from takeoff.reference import figures
from takeoff.units import Nm

__all__ = [
    "CourseExtent",
    "Row",
    "core",
    "courses_down",
    "courses_from_eave",
    "courses_on_members",
    "courses_sharing_rip",
    "courses_up",
    "height_of",
    "is_hair",
    "mixed_rows",
    "takes_row",
]


@dataclass(frozen=True, slots=True)
class CourseExtent:
    """One course's extent in y. A factory edge is one of the sheet's own long edges; the other was
    cut."""

    low: Nm
    high: Nm
    factory_low: bool = True
    factory_high: bool = True

    @property
    def height(self) -> Nm:
        return Nm(self.high - self.low)

    def turned(self, low: Nm, high: Nm) -> CourseExtent:
        """The same course where `low` to `high` is read from the other side."""
        return CourseExtent(
            Nm(low + high - self.high),
            Nm(low + high - self.low),
            self.factory_high,
            self.factory_low,
        )


Row = tuple[CourseExtent, Nm]
"""A course, and the width of the sheets it is cut from."""


def core() -> Nm:
    """What a row, a strip or a piece is at least wide, and a rip takes off at least."""
    return figures.length("HL-core")


def is_hair(height: int, width: Nm) -> bool:
    """Whether a row so high is ripped off a sheet by so little that nobody can snap it."""
    return width - core() < height < width


def height_of(first: Reach, last: Reach, width: Nm) -> tuple[Nm, Nm]:
    """From where to where rows of sheets `width` wide lie between two edges.

    They are whole sheets where the reach lets them be, else as usual where the last row and what is
    ripped off its sheet are wide enough, else the nearest to that; where none lies within reach,
    as near to it as the reach goes.
    """
    usual = last.usual - first.usual
    full = (last.high - first.low) // width
    whole = laid(first, last, full * width) if full else None
    if whole is not None:
        return whole

    def clean(height: int) -> bool:
        return core() <= height % width <= width - core()

    if not clean(usual):
        edge = usual // width * width
        wanted = (edge + core(), edge - core(), edge + width - core())
        for height in sorted(wanted, key=lambda height: abs(height - usual)):
            lies = laid(first, last, height) if height > 0 and clean(height) else None
            if lies is not None:
                return lies
        if is_hair(usual % width, width):
            # A strip of an inch or so can be scored on both faces, one of a sixteenth cannot.
            return first.high, last.low
    return first.usual, last.usual


def mixed_rows(first: Reach, last: Reach, width: Nm, widths: Sequence[Nm]) -> list[tuple[Row, ...]]:
    """Rows of sheets of two widths, from low to high, those of `width` first: whole sheets
    together, or with a last row ripped off a narrower one. Of those whose rips can be snapped the
    ones that take the least board, side by side, and so of the others where they take less still.
    """
    found: list[tuple[Row, ...]] = []
    for other in widths:
        for count in range(1, (last.high - first.low) // width + 1) if other != width else ():
            rows = _of_two_widths(first, last, [width] * count, other, strip=other < width)
            if rows:
                found.append(rows)
    clean = [rows for rows in found if not any(is_hair(row.height, sheet) for row, sheet in rows)]
    least = min(map(_breadth, clean), default=None)
    hair = [rows for rows in found if rows not in clean]
    finest = min(map(_breadth, hair), default=None)
    return [rows for rows in clean if _breadth(rows) == least] + [
        rows
        for rows in hair
        if _breadth(rows) == finest and (least is None or _breadth(rows) < least)
    ]


def _breadth(rows: Sequence[Row]) -> int:
    return sum(width for _, width in rows)


def _of_two_widths(
    first: Reach, last: Reach, whole: Sequence[Nm], other: Nm, *, strip: bool
) -> tuple[Row, ...]:
    """Rows of `whole` sheets, and after them of sheets `other` wide, of which the last may be
    ripped where a `strip` is asked for; none where no rows of the latter fit."""
    most = (last.high - first.low - sum(whole)) // other
    lies = laid(first, last, sum(whole) + most * other) if most else None
    if lies is not None:
        return _stacked(lies[0], [*whole, *[other] * most])
    height = last.usual - first.usual
    sheets, rest = divmod(height - sum(whole), other)
    if not strip or sheets < 0 or rest < core():
        return ()
    before = [*whole, *[other] * sheets]
    alone, over = divmod(height, other)
    if core() <= over <= other - core() and (alone + 1) * other <= sum(before) + other:
        # Rows of the narrower sheets alone take no more board, and leave a wider last row.
        return ()
    lies = _ending_in(first, last, sum(before), rest, other)
    if lies is None:
        return ()
    low, high = lies
    extent = CourseExtent(Nm(low + sum(before)), high, factory_high=False)
    return (*_stacked(low, before), (extent, other))


def _ending_in(first: Reach, last: Reach, full: int, rest: int, other: Nm) -> tuple[Nm, Nm] | None:
    """From where to where rows lie of which the last, `rest` high over `full` ones, is ripped off
    a sheet of `other` width: the edges give way to a rip that can be snapped, else as far as they
    reach."""
    for strip in (rest, other - core()):
        if core() <= strip <= rest and not is_hair(strip, other):
            lies = laid(first, last, full + strip)
            if lies is not None:
                return lies
    low, high = first.high, last.low
    return (low, high) if core() <= high - low - full < other else None


def _stacked(low: Nm, widths: Sequence[Nm]) -> tuple[Row, ...]:
    rows: list[Row] = []
    for width in widths:
        rows.append((CourseExtent(low, Nm(low + width)), width))
        low = Nm(low + width)
    return tuple(rows)


def takes_row(box: Box, low: Nm, high: Nm) -> bool:
    """Whether an opening parts the row from `low` to `high`: it takes its whole height, or leaves
    too little above and below to be board."""
    return box.meets(low, high) and box.low - low < core() and high - box.high < core()


def courses_up(low: Nm, high: Nm, width: Nm) -> tuple[CourseExtent, ...]:
    """Courses from `low` up; a last one narrower than `width` is ripped, its factory edge down
    against its neighbour.

    >>> courses = courses_up(Nm(0), Nm(100), Nm(48))
    >>> [(course.low, course.high, course.factory_high) for course in courses]
    [(0, 48, True), (48, 96, True), (96, 100, False)]
    """
    # Whole sheets first, so that only the last course is ripped.
    full, rest = divmod(high - low, width)
    courses = [CourseExtent(Nm(low + k * width), Nm(low + (k + 1) * width)) for k in range(full)]
    if rest:
        courses.append(CourseExtent(Nm(high - rest), high, factory_high=False))
    return tuple(courses)


def courses_down(
    low: Nm, high: Nm, width: Nm, *, largest_rest: Nm = Nm(0)
) -> tuple[CourseExtent, ...]:
    """Courses from `high` down, the top one first; a rest no higher than `largest_rest` under a
    full course is left open."""
    courses = tuple(course.turned(low, high) for course in courses_up(low, high, width))
    if len(courses) > 1 and courses[-1].height < width and courses[-1].height <= largest_rest:
        # The gap this leaves is no higher than the rules let it be.
        return courses[:-1]
    return courses


def courses_from_eave(
    low: Nm, eave: Nm, high: Nm, width: Nm, *, largest_rest: Nm = Nm(0)
) -> tuple[CourseExtent, ...]:
    """Courses of a wall with a sloping top, the top one first: from `eave` down, and from it up to
    the peak `high`."""
    below = courses_down(low, eave, width, largest_rest=largest_rest) if eave > low else ()
    return (*reversed(courses_up(eave, high, width)), *below)


def courses_sharing_rip(low: Nm, high: Nm, width: Nm) -> tuple[CourseExtent, ...]:
    """Courses from `low` up whose two edge courses are ripped alike, each factory edge turned in;
    empty where nothing is ripped or there is no more than one course. Where the rip is an odd
    nanometre the far course takes it."""
    full, rest = divmod(high - low, width)
    if not rest or not full:
        return ()
    # One full course and the rest, shared by the two edge courses: neither becomes a narrow strip.
    edge = (width + rest) // 2
    inner = courses_up(Nm(low + edge), Nm(low + edge + (full - 1) * width), width)
    first = CourseExtent(low, Nm(low + edge), factory_low=False)
    last = CourseExtent(Nm(low + edge + (full - 1) * width), high, factory_high=False)
    return (first, *inner, last)


def courses_on_members(
    first: Reach, last: Reach, width: Nm, centres: Sequence[Nm], *, trims: bool = False
) -> tuple[CourseExtent, ...]:
    """Courses along the members between two edges, each as wide as a sheet allows with its far edge
    on a member's centre.

    The first and last go into the corners; what is narrower than a sheet is ripped, with a factory
    edge kept against the neighbour course before it (after it for the first). No column is narrower
    than two inches, nor ripped by less, where fewest columns can be laid so; then the seam before
    lies on a member further back. Of as few columns as few as can be are ripped, and then as few as
    can be are narrow strips. Empty where some stretch wider than a sheet has no member.
    """
    inside = [centre for centre in centres if first.high < centre < last.low]
    places = [first.usual, *inside, last.usual]
    end = len(places) - 1
    # For each place the best way to it: columns too narrow or ripped by too little, how many
    # columns, how many of them are ripped, how many are narrow strips, and the place before, as far
    # on as can be.
    best: list[tuple[tuple[int, int, int, int, int], int, tuple[Nm, Nm]] | None]
    best = [None] * (end + 1)
    best[0] = ((0, 0, 0, 0, 0), -1, (first.usual, first.usual))
    strip = figures.length("HL-strip")
    for index in range(1, end + 1):
        for before in range(index - 1, -1, -1):
            reached = best[before]
            starts = first if before == 0 else Reach(places[before], places[before], places[before])
            ends = last if index == end else Reach(places[index], places[index], places[index])
            if ends.low - starts.high > width:
                break
            if reached is None:
                continue
            lies = _column(starts, ends, width)
            wide = lies[1] - lies[0]
            bad = int(wide < core() or (is_hair(wide, width) and not trims))
            # Where two ways are as good the first columns are the wider ones.
            rank = (
                reached[0][0] + bad,
                reached[0][1] + 1,
                reached[0][2] + int(wide < width),
                reached[0][3] + int(wide < strip),
                -places[before],
            )
            now = best[index]
            if now is None or rank < now[0]:
                best[index] = (rank, before, lies)
    if best[end] is None:
        return ()
    spans: list[tuple[Nm, Nm]] = []
    at = end
    while at > 0:
        step = best[at]
        assert step is not None
        spans.append(step[2])
        at = step[1]
    spans.reverse()
    return tuple(
        CourseExtent(
            low,
            high,
            # The first keeps its edge to the column after it, any other to the one before.
            factory_low=number > 0 or len(spans) == 1 or high - low == width,
            factory_high=(number == 0 and len(spans) > 1) or high - low == width,
        )
        for number, (low, high) in enumerate(spans)
    )


def _column(starts: Reach, ends: Reach, width: Nm) -> tuple[Nm, Nm]:
    """From where to where a column lies between two edges, a whole sheet wide where it can be."""
    whole = laid(starts, ends, width)
    if whole is not None:
        return whole
    wide_enough = laid(starts, ends, core()) if ends.usual - starts.usual < core() else None
    return wide_enough or (starts.usual, ends.usual)
