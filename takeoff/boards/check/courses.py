"""Whether the courses of a surface lie as the rules say: how they count, how high they are, which
edges meet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from takeoff.boards.check.facts import Breach, Facts
from takeoff.boards.check.shape import Ring, covered, section
from takeoff.boards.check.stretches import floor_gap_top, stretches
from takeoff.boards.plan import Course
from takeoff.choices import CeilingRows, Runs, SurfaceKind
from takeoff.reference import figures
from takeoff.units import INCH

__all__ = ["check_courses"]

# How far the two edge rows that share a rip may differ: they are marked with one tape.
_ALIKE = INCH // 16


def check_courses(facts: Facts, *, stands: bool = False) -> Iterator[Breach]:
    """Breaches of `rows`, `ceiling_rows`, `row_height`, `widths`, `narrow`, `hair_rip`,
    `least_floor_gap`, `largest_floor_gap`, `factory_edges`, `long_edges`, `segments` and
    `filler`. Where the plan `stands`, rows that fill the surface may count as they did: the board
    they were counted from may have been taken down since."""
    courses = facts.courses
    if len({course.index for course in courses}) != len(courses):
        yield facts.breach("rows", f"{facts.surface.name} has two rows of the same number")
        return
    if not courses:
        yield facts.breach("rows", f"{facts.surface.name} is to be boarded but has no rows")
        return
    yield from _heights(facts, courses)
    yield from _stack(facts, courses)
    for breach in _count(facts, courses):
        yield replace(breach, amiss=breach.amiss or (stands and breach.rule == "rows"))
    if facts.tapered:
        yield from _edges(facts, courses)
    for course in courses:
        yield from _segments(facts, course)
        yield from _narrow(facts, course)
        yield from _hair(facts, course)


def _heights(facts: Facts, courses: Sequence[Course]) -> Iterator[Breach]:
    """Courses are no higher than their sheets are wide, and those as wide as was chosen for the
    surface, or ruled."""
    chosen = facts.surface.board.width
    widths = facts.rules.widths if chosen is None else (chosen,)
    for course in courses:
        if widths and course.sheet_width not in widths:
            yield facts.breach(
                "widths",
                f"{facts.course_name(course)} is in sheets {facts.say(course.sheet_width)} "
                "wide, a width "
                "not to "
                "be used",
                amiss=_all_hung(facts, course),
            )
        if not 0 < course.high - course.low <= course.sheet_width:
            yield facts.breach(
                "row_height",
                f"{facts.course_name(course)} is {facts.say(course.high - course.low)} high; "
                "its sheets "
                "are "
                f"{facts.say(course.sheet_width)} wide",
                amiss=_all_hung(facts, course),
            )


def _all_hung(facts: Facts, course: Course) -> bool:
    """Whether boards hang in a course and nothing of it is left to board."""
    return facts.held(course) and not facts.open_stretches(course)


def _stack(facts: Facts, courses: Sequence[Course]) -> Iterator[Breach]:
    """Courses touch one another and reach from one edge of the surface to the other, floor gap
    aside."""
    for lower, upper in pairwise(courses):
        if lower.high != upper.low:
            word = "overlaps" if lower.high > upper.low else "leaves a gap to"
            yield facts.breach(
                "rows",
                f"{facts.course_name(lower)} {word} {facts.course_name(upper)}",
                amiss=_is_sliver(facts, upper.low - lower.high),
            )
    first, last = courses[0], courses[-1]
    farthest = (min(y for _, y in facts.outer), max(y for _, y in facts.outer))
    nearest = (min(y for _, y in facts.inner), max(y for _, y in facts.inner))
    # The gap at the floor may be a larger one than the gaps at other edges.
    gap = floor_gap_top(facts) if facts.plan.rows_run is Runs.ALONG else None
    if first.low > max(nearest[0], nearest[0] if gap is None else gap):
        if gap is None:
            yield facts.breach(
                "rows",
                f"{facts.course_name(first)} does not reach the edge, at "
                f"{facts.say(nearest[0])} at most",
                amiss=_is_sliver(facts, first.low - nearest[0]),
            )
        else:
            yield facts.breach(
                "largest_floor_gap",
                f"{facts.course_name(first)} leaves {facts.say(first.low)} open at the floor; "
                f"the largest floor gap is {facts.say(facts.rules.largest_floor_gap)}",
                amiss=_is_sliver(facts, first.low - nearest[0]),
            )
    if first.low < farthest[0] - facts.slack:
        yield facts.breach(
            "rows" if gap is None else "least_floor_gap",
            f"{facts.course_name(first)} starts before the edge at {facts.say(farthest[0])}"
            + ("" if gap is None else ", the least floor gap"),
            amiss=_all_hung(facts, first),
        )
    if last.high < nearest[1]:
        yield facts.breach(
            "rows",
            f"{facts.course_name(last)} does not reach the edge, at {facts.say(nearest[1])} at "
            "least",
            amiss=_is_sliver(facts, nearest[1] - last.high),
        )
    if last.high > farthest[1] + facts.slack:
        yield facts.breach(
            "rows",
            f"{facts.course_name(last)} goes past the edge at {facts.say(farthest[1])}",
            amiss=_all_hung(facts, last),
        )


def _is_sliver(facts: Facts, gap: int) -> bool:
    """Whether what is open at the long edge of a course is no more than a sliver, which rows that
    boards hang in may leave."""
    return bool(facts.hung) and 0 < gap <= figures.length("HL-sliver")


def _count(facts: Facts, courses: Sequence[Course]) -> Iterator[Breach]:
    """Full courses from where they are counted, so that only the last is ripped."""
    if facts.plan.along_framing:
        yield from _standing_on_members(facts, courses)
    elif facts.hung:
        yield from _from_hung_rows(facts, courses)
    elif facts.surface.kind is SurfaceKind.WALL and facts.plan.rows_run is Runs.ALONG:
        # From the floor up only where the top row is cut to a slope.
        from_floor = facts.sloped and all(map(_full, courses[:-1]))
        if not (from_floor or _counts_from_an_eave(facts, courses) or _share_a_rip(courses)):
            yield facts.breach(
                "rows",
                f"The rows of {facts.surface.name} do not count in full sheets from "
                f"{facts.say(_eaves(facts.outer)[0])} down; "
                "only the lowest is ripped, and the highest where the top slopes",
            )
    else:
        yield from _from_a_side(facts, courses)


def _eaves(ring: Ring) -> tuple[int, int]:
    """The heights at which a wall's top meets its left and its right side; the same twice under a
    level top."""
    left_edge, right_edge = min(x for x, _ in ring), max(x for x, _ in ring)
    left, right = (max(y for x, y in ring if x == side) for side in (left_edge, right_edge))
    return left, right


def _full(course: Course) -> bool:
    return course.high - course.low == course.sheet_width


def _counts_from_an_eave(facts: Facts, courses: Sequence[Course]) -> bool:
    """Whether courses count down from where the eave of either side may be, and up from it."""
    edges = {edge for course in courses for edge in (course.low, course.high)}
    for outer, inner in zip(_eaves(facts.outer), _eaves(facts.inner), strict=True):
        lowest, highest = min(outer, inner) - facts.slack, max(outer, inner) + facts.slack
        if any(lowest <= edge <= highest and _counts_from(courses, edge) for edge in edges):
            return True
    return False


def _counts_from(courses: Sequence[Course], eave: int) -> bool:
    # Courses count down from the eave and up from it: the first of each is whole, and one that lies
    # across the eave fits neither.
    below = [course for course in courses if course.high <= eave]
    above = [course for course in courses if course.low >= eave]
    return len(below) + len(above) == len(courses) and all(map(_full, (*below[1:], *above[:-1])))


def _share_a_rip(courses: Sequence[Course]) -> bool:
    """Whether the two edge courses are ripped alike, and all between are full. Which edges they
    turn to one another is a matter of `factory_edges`."""
    first, last = courses[0], courses[-1]
    apart = abs((first.high - first.low) - (last.high - last.low))
    return len(courses) > 1 and all(map(_full, courses[1:-1])) and apart <= _ALIKE


def _from_hung_rows(facts: Facts, courses: Sequence[Course]) -> Iterator[Breach]:
    """Around rows that boards hang in, courses are full from there on: only the one farthest off is
    ripped, and between two such rows one."""
    # The courses between rows that hold boards, each run from low to high.
    runs: list[list[Course]] = [[]]
    for course in courses:
        if facts.held(course):
            runs.append([])
        else:
            runs[-1].append(course)
    for number, run in enumerate(runs):
        # Those below the lowest such row count down from it, and those above the highest up.
        whole = run[:-1] if number and number == len(runs) - 1 else run[1:]
        if number == 0 and len(runs) == 1:
            whole = []
        if not all(map(_full, whole)):
            yield facts.breach(
                "rows",
                f"The rows of {facts.surface.name} do not count in full sheets from the rows that "
                "boards hang in",
            )


def _from_a_side(facts: Facts, courses: Sequence[Course]) -> Iterator[Breach]:
    origin = (
        facts.rules.ceiling_rows
        if facts.surface.kind is SurfaceKind.CEILING
        else CeilingRows.EITHER
    )
    # Full courses from side A leave the last one ripped, from side B the first.
    from_a = all(map(_full, courses[:-1])) and origin is not CeilingRows.SIDE_B
    from_b = all(map(_full, courses[1:])) and origin is not CeilingRows.SIDE_A
    if not (from_a or from_b or _share_a_rip(courses)):
        yield facts.breach(
            "ceiling_rows" if facts.surface.kind is SurfaceKind.CEILING else "rows",
            f"The rows of {facts.surface.name} do not count in full sheets from the side the rules "
            "allow "
            f"({origin.value}), with only the last row ripped",
        )


def _standing_on_members(facts: Facts, courses: Sequence[Course]) -> Iterator[Breach]:
    """Boards along the framing: each long edge between two columns lies on the middle of a member,
    all its length."""
    # The long edge runs along the courses, so the section is taken with the axes swapped.
    turned = tuple((y, x) for x, y in facts.inner)
    for lower, upper in pairwise(courses):
        at = upper.low
        seam = section(turned, at, hand=1)
        openings = [
            (opening.left, opening.right)
            for opening in facts.openings
            if opening.low < at < opening.high
        ]
        # Openings need no support, and a member may begin behind one.
        behind = [(member.low, member.high) for member in facts.along if member.at == at]
        length = sum(high - low for low, high in seam)
        if covered(seam, [*behind, *openings]) < length - facts.slack:
            yield facts.breach(
                "long_edges",
                f"The long edge between {facts.course_name(lower)} and the next has no member "
                "along "
                "all of it; "
                "boards along the framing meet on a member",
                amiss=facts.held(lower) or facts.held(upper),
            )


def _edges(facts: Facts, courses: Sequence[Course]) -> Iterator[Breach]:
    """A ripped course keeps one factory edge; across the framing, factory edges meet factory
    edges."""
    for course in courses:
        if not _full(course) and course.factory_low and course.factory_high:
            yield facts.breach(
                "factory_edges",
                f"{facts.course_name(course)} is ripped, so both edges cannot be the sheet's own",
                amiss=_all_hung(facts, course),
            )
    if facts.plan.along_framing:
        return
    for lower, upper in pairwise(courses):
        if not (lower.factory_high and upper.factory_low):
            yield facts.breach(
                "factory_edges",
                f"{facts.course_name(lower)} meets {facts.course_name(upper)} with a cut edge; "
                "cut edges belong at floor or corner",
                # A row beside one that hangs has no other edge to turn to it.
                amiss=facts.held(lower) or facts.held(upper),
            )


def _segments(facts: Facts, course: Course) -> Iterator[Breach]:
    """The course's segments are where the surface lies in it, parted by an opening that takes its
    whole height, or leaves too little above and below; no segment is too short for board."""
    wanted = stretches(facts, course)
    if wanted.matches(course.segments, facts.slack_along):
        return
    if stretches(facts, course, core=0).matches(course.segments, facts.slack):
        yield facts.breach(
            "filler",
            f"{facts.course_name(course)} has board in a strip under "
            f"{facts.say(figures.length('HL-core'))} beside an opening; it is to be filled",
            # Around boards that hang the rest of their row is what it is.
            amiss=facts.held(course),
        )
        return
    said = ", ".join(f"{facts.say(start)} to {facts.say(end)}" for start, end in wanted.needed)
    yield facts.breach(
        "segments",
        f"{facts.course_name(course)} must be boarded from {said or 'nowhere'}, and only "
        "there, within the gaps that corners may have",
    )


def _narrow(facts: Facts, course: Course) -> Iterator[Breach]:
    """No course is lower and no segment shorter than a core, unless the surface is."""
    core = figures.length("HL-core")
    along, square = facts.small
    height = course.high - course.low
    if 0 < height < core and not square:
        yield facts.breach(
            "narrow",
            f"{facts.course_name(course)} is only {facts.say(height)} high; the least is "
            f"{facts.say(core)}",
            # What is left beside rows that boards hang in cannot be more.
            amiss=bool(facts.hung),
        )
    for start, end in course.segments:
        if end - start < core and not along:
            yield facts.breach(
                "narrow",
                f"{facts.course_name(course)} has a stretch of only {facts.say(end - start)}; the "
                f"least is {facts.say(core)}",
                amiss=facts.held(course),
            )


def _hair(facts: Facts, course: Course) -> Iterator[Breach]:
    """A rip of a hair off a sheet is planned only where the plan says so to whoever cuts it."""
    core = figures.length("HL-core")
    off = course.sheet_width - (course.high - course.low)
    noted = any(note.rule == "hair_rip" for note in facts.plan.notes)
    if 0 < off < core and not noted:
        yield facts.breach(
            "hair_rip",
            f"{facts.course_name(course)} is ripped by only {facts.say(off)} off its sheets (score "
            "both faces, or saw), and the plan does not say so",
            # The height of a row that boards hang in is given.
            amiss=facts.held(course),
        )
