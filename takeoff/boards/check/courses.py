"""Whether the courses of a surface lie as the rules say: how they count, how high they are, which
edges meet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from takeoff.boards.check.facts import ROUNDING, Breach, Facts
from takeoff.boards.check.shape import Exact, box, covered, reach, section
from takeoff.boards.plan import Course
from takeoff.choices import CeilingRows, Runs, SurfaceKind
from takeoff.reference import figures

__all__ = ["check_courses", "floor_gap_top"]


def check_courses(facts: Facts, *, stands: bool = False) -> Iterator[Breach]:
    """Breaches of `rows`, `row_height`, `widths`, `largest_floor_gap`, `factory_edges` and
    `segments`. Where the plan `stands`, rows that fill the surface may count as they did: the board
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


def floor_gap_top(facts: Facts) -> int | None:
    """How high above the floor (a v) a wall's board may start at most; None on a ceiling."""
    if facts.surface.kind is not SurfaceKind.WALL:
        return None
    return min(v for _, v in facts.surface.outline) + facts.rules.largest_floor_gap


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
    # The gap at the floor is the one edge that boards may stop short of.
    bottom, top = min(y for _, y in facts.area), max(y for _, y in facts.area)
    gap = floor_gap_top(facts)
    if courses[0].low > bottom:
        if facts.plan.rows_run is not Runs.ALONG or gap is None:
            yield facts.breach(
                "rows",
                f"{facts.course_name(courses[0])} does not reach the edge at {facts.say(bottom)}",
                amiss=_is_sliver(facts, courses[0].low - bottom),
            )
        elif courses[0].low > gap:
            yield facts.breach(
                "largest_floor_gap",
                f"{facts.course_name(courses[0])} leaves {facts.say(courses[0].low)} open at "
                "the floor; "
                f"the largest floor gap is {facts.say(facts.rules.largest_floor_gap)}",
                amiss=_is_sliver(facts, courses[0].low - bottom),
            )
    if courses[0].low < bottom and not facts.sloped:
        yield facts.breach(
            "rows",
            f"{facts.course_name(courses[0])} starts before the edge at {facts.say(bottom)}",
            amiss=_all_hung(facts, courses[0]),
        )
    if courses[-1].high < top:
        yield facts.breach(
            "rows",
            f"{facts.course_name(courses[-1])} does not reach the edge at {facts.say(top)}",
            amiss=_is_sliver(facts, top - courses[-1].high),
        )
    if courses[-1].high > top and not facts.sloped:
        yield facts.breach(
            "rows",
            f"{facts.course_name(courses[-1])} goes past the edge at {facts.say(top)}",
            amiss=_all_hung(facts, courses[-1]),
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
        if not any(_counts_from(courses, eave) for eave in _eaves(facts)):
            yield facts.breach(
                "rows",
                f"The rows of {facts.surface.name} do not count in full sheets from "
                f"{facts.say(_eaves(facts)[0])} down; "
                "only the lowest is ripped, and the highest where the top slopes",
            )
    else:
        yield from _from_a_side(facts, courses)


def _eaves(facts: Facts) -> list[int]:
    """The heights at which a wall's top meets its two sides, the lower first; the same twice under
    a level top."""
    left_edge, right_edge = min(x for x, _ in facts.area), max(x for x, _ in facts.area)
    return sorted(max(y for x, y in facts.area if x == side) for side in (left_edge, right_edge))


def _full(course: Course) -> bool:
    return course.high - course.low == course.sheet_width


def _counts_from(courses: Sequence[Course], eave: int) -> bool:
    # Courses count down from the eave and up from it: the first of each is whole, and one that lies
    # across the eave fits neither.
    below = [course for course in courses if course.high <= eave]
    above = [course for course in courses if course.low >= eave]
    return len(below) + len(above) == len(courses) and all(map(_full, (*below[1:], *above[:-1])))


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
    first, last = courses[0], courses[-1]
    origin = (
        facts.rules.ceiling_rows
        if facts.surface.kind is SurfaceKind.CEILING
        else CeilingRows.EITHER
    )
    # Full courses from side A leave the last one ripped, from side B the first.
    from_a = all(map(_full, courses[:-1])) and origin is not CeilingRows.SIDE_B
    from_b = all(map(_full, courses[1:])) and origin is not CeilingRows.SIDE_A
    shared = (
        facts.rules.shared_edge_rip
        and all(map(_full, courses[1:-1]))
        and abs((first.high - first.low) - (last.high - last.low)) <= ROUNDING
    )
    if not (from_a or from_b or shared):
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
    turned = tuple((y, x) for x, y in facts.area)
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
                "orientation",
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
    """The course's segments are where the surface lies in it, split where an opening takes its
    whole height."""
    left_edge, right_edge = min(x for x, _ in facts.area), max(x for x, _ in facts.area)
    # Bit 0 is the surface, bit 1 the course, all higher bits are openings through its whole height.
    rings = [facts.area, box(left_edge, right_edge, course.low, course.high)]
    rings += [
        box(opening.left, opening.right, course.low, course.high)
        for opening in facts.openings
        if opening.low <= course.low and opening.high >= course.high
    ]
    wanted = reach(rings, lambda inside: inside & 3 == 3 and inside < 4)
    given = list(course.segments)
    standing = facts.plan.rows_run is Runs.ACROSS
    # A standing board may stop short of the floor, so its segment may begin as late as the gap
    # allows.
    gap = floor_gap_top(facts) if standing else None
    matches = len(given) == len(wanted)
    for (start, end), (must_start, must_end) in zip(given, wanted, strict=False):
        late: Exact = (
            max(must_start, gap) if gap is not None and must_start == left_edge else must_start
        )
        matches &= must_start - facts.slack <= start <= late + facts.slack
        matches &= must_end - facts.slack <= end <= must_end + facts.slack
    if not matches:
        stretches = ", ".join(f"{facts.say(start)} to {facts.say(end)}" for start, end in wanted)
        yield facts.breach(
            "segments",
            f"{facts.course_name(course)} must be boarded from {stretches or 'nowhere'}, and only "
            "there",
        )
