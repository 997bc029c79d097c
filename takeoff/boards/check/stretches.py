"""Which stretches of a course are to be boarded: where the surface lies in it, less what openings
take, and less the strips beside openings that are too narrow for board."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from takeoff.boards.check.facts import Facts, Rect
from takeoff.boards.check.shape import Exact, Ring, box, reach
from takeoff.boards.plan import Course
from takeoff.choices import Runs, SurfaceKind
from takeoff.reference import figures

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
            # None is needed in a strip that may be left without board as well as have it.
            if not inside or start >= end:
                return False
            held += here
        apart = all(one[1] <= other[0] for one, other in pairwise(segments))
        return apart and sorted(held) == list(self.needed)


def floor_gap_top(facts: Facts) -> int | None:
    """How high above the floor (a v) a wall's board may start at most; None on a ceiling."""
    if facts.surface.kind is not SurfaceKind.WALL:
        return None
    return min(v for _, v in facts.surface.outline) + facts.rules.largest_floor_gap


def stretches(facts: Facts, course: Course, *, core: int | None = None) -> Stretches:
    """The stretches of a course. `core` is how high or wide a strip beside an opening must be to be
    boarded, by default what the figures say; 0 means that only openings as high as the whole
    course part it.

    A strip that is wide enough out to the outer edge, and not out to the inner one, is allowed and
    not needed.
    """
    if core is None:
        core = figures.length("HL-core")
    along, square = (0 if is_small else core for is_small in facts.small)
    through = list(_through(facts, course, square))

    allowed = [
        (start, end)
        for start, end in _in_course(facts.outer, course, through)
        if end - start >= along or not _beside(start, end, through)
    ]
    needed = [
        (start, end)
        for start, end in _in_course(facts.inner, course, through)
        if end - start >= along or not _beside(start, end, through)
    ]
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


def _through(facts: Facts, course: Course, core: int) -> Iterator[Rect]:
    """The openings that part a course: they leave less than `core` of it above, and below."""
    for opening in facts.openings:
        below, above = opening.low - course.low, course.high - opening.high
        meets = opening.low < course.high and opening.high > course.low
        if meets and (below <= 0 or below < core) and (above <= 0 or above < core):
            yield opening


def _in_course(ring: Ring, course: Course, through: Sequence[Rect]) -> list[Span]:
    """Where a shape lies in the course beside the openings that part it."""
    left_edge, right_edge = min(x for x, _ in ring), max(x for x, _ in ring)
    # Bit 0 is the shape, bit 1 the course, all higher bits are openings.
    rings = [ring, box(left_edge, right_edge, course.low, course.high)]
    rings += [box(opening.left, opening.right, course.low, course.high) for opening in through]
    return reach(rings, lambda inside: inside == 3)


def _beside(start: Exact, end: Exact, through: Sequence[Rect]) -> bool:
    return any(opening.right == start or opening.left == end for opening in through)
