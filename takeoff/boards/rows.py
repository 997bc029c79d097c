"""The ways to count the courses of a surface: from which side, of which widths, and where they end
at its edges."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from takeoff.boards.courses import (
    CourseExtent,
    Row,
    core,
    courses_down,
    courses_from_eave,
    courses_on_members,
    courses_sharing_rip,
    courses_up,
    height_of,
    is_hair,
    mixed_rows,
)
from takeoff.boards.joints import Bearing, box_of, is_covered, seam_spans
from takeoff.boards.reach import Reach, Sides
from takeoff.boards.region import eave, in_course_axes, is_rectangle, section
from takeoff.choices import CeilingRows, Runs, SurfaceKind
from takeoff.framing.members import FramedSurface
from takeoff.geometry.polygon import bounds
from takeoff.geometry.surface import Point
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = ["backed_lines", "is_wide", "row_choices"]


def row_choices(
    framed: FramedSurface,
    rules: Rules,
    area: tuple[Point, ...],
    sides: Sides,
    width: Nm,
    widths: Sequence[Nm],
    rows_run: Runs,
    *,
    across: bool,
) -> list[tuple[Row, ...]]:
    """The courses of each way to count them in sheets of `width` (and of other `widths` after
    those), the first course first; equal ways once."""
    surface = framed.surface
    first, last = sides.bottom, sides.top
    if not across:
        centres = backed_lines(framed, area, rows_run)
        # Counted from the other side: the same function on the mirrored members, and its courses
        # turned back.
        whole = Nm(first.usual + last.usual)
        ends = _mirrored(last, whole), _mirrored(first, whole)
        turned = [Nm(whole - centre) for centre in reversed(centres)]
        counted = [
            columns
            for trims in (False, True)
            for columns in (
                courses_on_members(first, last, width, centres, trims=trims),
                _turned(courses_on_members(*ends, width, turned, trims=trims), whole),
            )
        ]
        return _once([tuple((extent, width) for extent in extents) for extents in counted])

    on_wall = surface.kind is SurfaceKind.WALL and rows_run is Runs.ALONG
    if on_wall and not is_rectangle(area):
        return _once(_under_a_slope(area, rules, first, last, width))
    low, high = height_of(first, last, width)
    ways = CeilingRows.EITHER
    if on_wall:
        # Rows of a wall count from the ceiling down.
        ways = CeilingRows.SIDE_B
    elif surface.kind is SurfaceKind.CEILING:
        ways = rules.ceiling_rows
    up, down = courses_up(low, high, width), courses_down(low, high, width)
    counted = [up] if ways is not CeilingRows.SIDE_B else []
    counted += [down] if ways is not CeilingRows.SIDE_A else []
    shared = courses_sharing_rip(low, high, width)
    if rules.shared_edge_rip or not _is_clean(up, width):
        counted.append(shared)
    choices = [tuple((extent, width) for extent in extents) for extents in counted]
    whole = Nm(first.usual + last.usual)
    if ways is not CeilingRows.SIDE_B:
        choices += mixed_rows(first, last, width, widths)
    if ways is not CeilingRows.SIDE_A:
        choices += [
            tuple((extent.turned(Nm(0), whole), other) for extent, other in rows)
            for rows in mixed_rows(_mirrored(last, whole), _mirrored(first, whole), width, widths)
        ]
    return _once(choices)


def _under_a_slope(
    area: Sequence[Point], rules: Rules, first: Reach, last: Reach, width: Nm
) -> list[tuple[Row, ...]]:
    """Rows of a wall with a sloping or stepped top: from the eave both ways, or from the floor up,
    the top row cut to the slope."""
    counted = [_from_an_eave(eave(area), first, last, width)]
    left, _, right, _ = bounds(area)
    other = max(max(y for x, y in area if x == end) for end in (left, right))
    from_other = _from_an_eave(other, first, last, width)
    if any(a[0] != b[0] and a[1] != b[1] for a, b in pairwise((*area, area[0]))):
        counted.append(tuple(reversed(courses_up(first.usual, last.usual, width))))
        # A top that hardly slopes leaves a strip over its lower end. The gap at the floor may take
        # it where rows hang from the higher one, else the edge rows share it.
        clean = any(_is_clean(rows, width) for rows in counted)
        if rules.shared_edge_rip or not clean:
            shared = courses_sharing_rip(first.usual, last.usual, width)
            counted += [from_other, tuple(reversed(shared))]
    else:
        # A stepped top has its other end to count from.
        counted.append(from_other)
    return [tuple((extent, width) for extent in extents) for extents in counted]


def _from_an_eave(at: Nm, first: Reach, last: Reach, width: Nm) -> tuple[CourseExtent, ...]:
    below = height_of(first, Reach(at, at, at), width)[0] if at > first.high else first.usual
    return courses_from_eave(below, at, last.usual, width)


def is_wide(heights: Iterable[int]) -> bool:
    """Whether every row is high enough to be screwed."""
    return all(height >= core() for height in heights)


def _is_clean(rows: Sequence[CourseExtent], width: Nm) -> bool:
    """Whether every row is wide enough, and every rip takes enough off its sheet."""
    return is_wide(row.height for row in rows) and not any(
        is_hair(row.height, width) for row in rows
    )


def _mirrored(reach: Reach, whole: Nm) -> Reach:
    return Reach(Nm(whole - reach.high), Nm(whole - reach.usual), Nm(whole - reach.low))


def _turned(extents: Sequence[CourseExtent], whole: Nm) -> tuple[CourseExtent, ...]:
    return tuple(extent.turned(Nm(0), whole) for extent in extents)


def _once(choices: Sequence[tuple[Row, ...]]) -> list[tuple[Row, ...]]:
    """Each way once: two ways to count may give the same courses, as where the height is whole
    sheets."""
    kept: dict[tuple[tuple[Nm, Nm, Nm], ...], tuple[Row, ...]] = {}
    for rows in choices:
        if rows:
            key = tuple(sorted((extent.low, extent.high, width) for extent, width in rows))
            kept.setdefault(key, rows)
    return list(kept.values())


def backed_lines(framed: FramedSurface, area: tuple[Point, ...], rows_run: Runs) -> list[Nm]:
    """Where a long edge may lie along the framing: the centres of members that run behind all of
    it, in order."""
    _, low, _, high = bounds(area)
    across = Runs.ACROSS if rows_run is Runs.ALONG else Runs.ALONG
    turned = in_course_axes(framed.surface.board_area, across)
    left_edge, _, right_edge, _ = bounds(area)
    openings = [box_of(opening, across) for opening in framed.surface.openings]
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
