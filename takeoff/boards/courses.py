"""Courses of board over the height to be boarded: where each lies, and which of its long edges are
the sheet's own.

Everything here is in course coordinates: x along the courses, y square to them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from takeoff.units import Nm

__all__ = [
    "CourseExtent",
    "courses_down",
    "courses_from_eave",
    "courses_on_members",
    "courses_sharing_rip",
    "courses_up",
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
    low: Nm, high: Nm, width: Nm, centres: Sequence[Nm]
) -> tuple[CourseExtent, ...]:
    """Courses along the members from `low` up, each as wide as a sheet allows with its far edge on
    a member's centre.

    The first and last go into the corners; what is narrower than a sheet is ripped, with a factory
    edge kept against the neighbour course before it (after it for the first). Empty where some
    stretch wider than a sheet has no member.
    """
    courses: list[CourseExtent] = []
    at = low
    while high - at > width:
        within = [centre for centre in centres if at < centre <= at + width]
        if not within:
            return ()
        # The farthest member a sheet reaches: the fewest courses.
        edge = max(within)
        ripped = edge - at < width
        courses.append(
            CourseExtent(
                at,
                edge,
                factory_low=bool(courses) or not ripped,
                factory_high=not (courses and ripped),
            )
        )
        at = edge
    if high > at:
        courses.append(CourseExtent(at, high, factory_high=high - at == width))
    return tuple(courses)
