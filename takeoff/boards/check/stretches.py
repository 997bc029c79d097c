"""Which stretches of a course are to be boarded: where the surface lies in it, less what openings
take."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from takeoff.boards.check.facts import Facts, Rect
from takeoff.boards.check.shape import Exact, Ring, box, reach
from takeoff.boards.plan import Course
from takeoff.choices import Runs, SurfaceKind

__all__ = ["Stretches", "floor_gap_top", "stretches"]

Span = tuple[Exact, Exact]


@dataclass(frozen=True, slots=True)
class Stretches:
    """What of a course may be boarded, and what of that must be, from its start on."""

    allowed: tuple[Span, ...]
    needed: tuple[Span, ...]

    def matches(self, segments: Sequence[tuple[int, int]], slack: int) -> bool:
        """Whether each of `segments` lies in one stretch that is allowed, holds whole ones that are
        needed, and none of these is left out."""
        held: list[Span] = []
        for start, end in segments:
            inside = any(low - slack <= start and end <= high + slack for low, high in self.allowed)
            here = [
                (low, high)
                for low, high in self.needed
                if start <= low + slack and high - slack <= end
            ]
            if not inside or not here:
                return False
            held += here
        apart = all(one[1] <= other[0] for one, other in pairwise(segments))
        return apart and sorted(held) == list(self.needed)


def floor_gap_top(facts: Facts) -> int | None:
    """How high above the floor (a v) a wall's board may start at most; None on a ceiling."""
    if facts.surface.kind is not SurfaceKind.WALL:
        return None
    return min(v for _, v in facts.surface.outline) + facts.rules.largest_floor_gap


def stretches(facts: Facts, course: Course) -> Stretches:
    """The stretches of a course, parted by the openings that take its whole height."""
    through = [
        opening
        for opening in facts.openings
        if opening.low <= course.low and opening.high >= course.high
    ]
    allowed = _in_course(facts.outer, course, through)
    needed = _in_course(facts.inner, course, through)
    # A standing board may stop short of the floor, so its stretch may begin as late as the gap
    # allows.
    gap = floor_gap_top(facts) if facts.plan.rows_run is Runs.ACROSS else None
    if gap is not None:
        floor = min(x for x, _ in facts.inner)
        needed = [
            (max(start, gap) if start == floor else start, end)
            for start, end in needed
            if start != floor or end > gap
        ]
    return Stretches(tuple(allowed), tuple(needed))


def _in_course(ring: Ring, course: Course, through: Sequence[Rect]) -> list[Span]:
    """Where a shape lies in the course beside the openings that part it."""
    left_edge, right_edge = min(x for x, _ in ring), max(x for x, _ in ring)
    # Bit 0 is the shape, bit 1 the course, all higher bits are openings.
    rings = [ring, box(left_edge, right_edge, course.low, course.high)]
    rings += [box(opening.left, opening.right, course.low, course.high) for opening in through]
    return reach(rings, lambda inside: inside == 3)
