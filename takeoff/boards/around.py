"""Courses around boards that hang already: their rows stay where they are, and the rest of the
surface is counted from there.

Everything here is in course coordinates. A board that hangs takes its stretch out of its row, so
that what is left are segments like any other.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from takeoff.boards.courses import CourseExtent, courses_down, courses_on_members, courses_up
from takeoff.boards.plan import JointKind, PlacedBoard
from takeoff.boards.reach import Reach
from takeoff.reference import figures
from takeoff.units import Nm

__all__ = [
    "HeldRow",
    "blocks",
    "course_of_row",
    "courses_around",
    "held_rows",
    "joint_kinds",
    "sliver",
]


@dataclass(frozen=True, slots=True)
class HeldRow:
    """A row that boards hang in, within the surface; `is_open` where some of it is still to be
    boarded."""

    low: Nm
    high: Nm
    sheet_width: Nm
    factory_low: bool
    factory_high: bool
    is_open: bool = True


def sliver() -> Nm:
    """The widest gap beside a hung board that is filled and gets no board."""
    return figures.length("HL-sliver")


def blocks(board: PlacedBoard, low: Nm, high: Nm) -> bool:
    """Whether a board takes its stretch out of the course from `low` to `high`: not where it
    reaches into it by a sliver only, and by less than half of what is no higher than two."""
    reach = min(board.high, high) - max(board.low, low)
    return reach > min(sliver(), (high - low) // 2, (board.high - board.low) // 2)


def held_rows(boards: Sequence[PlacedBoard], low: Nm, high: Nm) -> list[HeldRow]:
    """The rows that boards hang in, from low to high, as far as they lie between `low` and `high`.

    Where measures put rows over each other, the one with the most boards counts; the others' boards
    hang in it.
    """
    counted = Counter((board.row_low, board.row_high) for board in boards)
    rows: list[HeldRow] = []
    for (bottom, top), _ in sorted(counted.items(), key=lambda row: (-row[1], row[0])):
        first = next(board for board in boards if (board.row_low, board.row_high) == (bottom, top))
        bottom, top = max(bottom, low), min(top, high)
        if bottom < top and all(top <= row.low or bottom >= row.high for row in rows):
            rows.append(
                HeldRow(bottom, top, first.sheet_width, first.factory_low, first.factory_high)
            )
    return sorted(rows, key=lambda row: row.low)


def courses_around(
    rows: Sequence[HeldRow],
    low: Nm,
    high: Nm,
    width: Nm,
    widths: Sequence[Nm],
    *,
    members: Sequence[Nm] | None = None,
    largest_rest: Nm = Nm(0),
) -> tuple[tuple[CourseExtent, Nm], ...]:
    """Courses over `low` to `high` with the width of the sheets each is cut from, lowest first.

    The held `rows` stay, and courses of `width` are counted away from them; between two of them
    they are counted from the upper one down. `widths` are those on sale. A rest no higher than
    `largest_rest` at the low side, or than a sliver anywhere, is left open. With `members` long
    edges lie on those. Empty where that is not possible.
    """
    courses: list[tuple[CourseExtent, Nm]] = []
    for row in rows:
        courses += _of_row(row, width, widths)

    edges = [low, *(edge for row in rows for edge in (row.low, row.high)), high]
    for number in range(0, len(edges), 2):
        bottom, top = edges[number], edges[number + 1]
        rest = largest_rest if number == 0 else Nm(0)
        if top - bottom <= max(rest, sliver()):
            continue
        upward = number == len(edges) - 2
        between = 0 < number < len(edges) - 2
        if between and top - bottom in widths and members is None:
            # A whole sheet fits, and has its factory edges on both sides.
            courses.append((CourseExtent(bottom, top), Nm(top - bottom)))
            continue
        if members is not None:
            free = _on_members(bottom, top, width, members, upward=upward)
            if not free:
                return ()
        elif upward:
            free = courses_up(bottom, top, width)
            # No strip of a sliver: the gap is filled.
            free = free[:-1] if free[-1].height <= sliver() else free
        else:
            free = courses_down(bottom, top, width, largest_rest=max(rest, sliver()))
        courses += [(extent, width) for extent in free]
    return tuple(sorted(courses, key=lambda course: course[0].low))


def _of_row(row: HeldRow, width: Nm, widths: Sequence[Nm]) -> list[tuple[CourseExtent, Nm]]:
    """The courses that the rest of a held row is boarded in: itself, else several of `width` where
    no sheet is as wide as the row is high."""
    if row.is_open and row.high - row.low > max(widths, default=Nm(0)):
        return [(extent, width) for extent in courses_down(row.low, row.high, width)]
    return [course_of_row(row, width, widths)]


def course_of_row(row: HeldRow, width: Nm, widths: Sequence[Nm]) -> tuple[CourseExtent, Nm]:
    """The course that the rest of a held row is boarded in, with the width of its sheets: as wide
    as the row is high where such are on sale, else `width`, else the narrowest wide enough.

    It is the row's own width where all of it hangs, or no sheet is wide enough.
    """
    height = Nm(row.high - row.low)
    wide_enough = [other for other in widths if other > height]
    if row.is_open and height in widths:
        return CourseExtent(row.low, row.high), height
    if not row.is_open or not wide_enough:
        extent = CourseExtent(row.low, row.high, row.factory_low, row.factory_high)
        return extent, row.sheet_width
    # A ripped board keeps one factory edge, on the side where those that hang have theirs.
    keeps_low = row.factory_low or not row.factory_high
    extent = CourseExtent(row.low, row.high, keeps_low, not keeps_low)
    return extent, width if width in wide_enough else min(wide_enough)


def _on_members(
    low: Nm, high: Nm, width: Nm, members: Sequence[Nm], *, upward: bool
) -> tuple[CourseExtent, ...]:
    first, last = Reach(low, low, low), Reach(high, high, high)
    if upward:
        return courses_on_members(first, last, width, members)
    mirrored = [Nm(low + high - centre) for centre in reversed(members)]
    return tuple(
        extent.turned(low, high) for extent in courses_on_members(first, last, width, mirrored)
    )


def joint_kinds(
    boards: Sequence[PlacedBoard], segments: Sequence[tuple[Nm, Nm]]
) -> dict[Nm, JointKind]:
    """The butt joints of a course that are fixed, by place: wherever the end of a board that hangs
    meets another, or a segment still to be boarded."""
    ends = {end for _, end in segments} | {board.end for board in boards}
    starts = {start for start, _ in segments} | {board.start for board in boards}
    kinds = {board.start: board.start_joint for board in boards}
    kinds |= {board.end: board.end_joint for board in boards}
    return {at: kinds[at] for at in sorted(ends & starts & kinds.keys())}
