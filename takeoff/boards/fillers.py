"""Fillers: the strips that rows leave beside openings and that are too narrow to be board.

Board is cut for none of them. Up to HL-filler wide, the casing of the opening covers what is left;
a wider one, and any beside a bead or a return, is filled with setting compound before taping.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Protocol

from takeoff.boards.courses import core, takes_row
from takeoff.boards.joints import box_of
from takeoff.boards.region import Part, extent_within, in_course_axes, parts
from takeoff.choices import OpeningEdge, Runs
from takeoff.geometry.surface import PlacedOpening, Surface
from takeoff.reference import figures
from takeoff.units import Nm

__all__ = ["Filler", "fillers"]

# Where a strip lies as one faces the surface, by the way courses run: before and after an opening
# along its course, then low and high of it.
_SIDES = {
    Runs.ALONG: ("to its left", "to its right", "below it", "above it"),
    Runs.ACROSS: ("below it", "above it", "to its left", "to its right"),
}


class _Course(Protocol):
    @property
    def low(self) -> Nm: ...

    @property
    def high(self) -> Nm: ...


class _Board(Protocol):
    """A rectangle of board in course coordinates."""

    @property
    def start(self) -> Nm: ...

    @property
    def end(self) -> Nm: ...

    @property
    def low(self) -> Nm: ...

    @property
    def high(self) -> Nm: ...


@dataclass(frozen=True, slots=True)
class Filler:
    """A strip to be filled beside an opening: `where` says on which side of it, `width` how wide
    the strip is there, and `run` how long it is along that side."""

    opening: PlacedOpening
    where: str
    width: Nm
    run: Nm

    @property
    def area(self) -> Fraction:
        """Its face in square nanometers."""
        return Fraction(self.width * self.run)


@dataclass(frozen=True, slots=True)
class _Strip:
    """A strip in course coordinates, between an opening and what it says it is beside."""

    beside: tuple[PlacedOpening, ...]
    where: int
    start: Nm
    end: Nm
    low: Nm
    high: Nm

    @property
    def width(self) -> Nm:
        return Nm(self.end - self.start if self.where < 2 else self.high - self.low)

    @property
    def run(self) -> Nm:
        return Nm(self.high - self.low if self.where < 2 else self.end - self.start)

    @property
    def is_filled(self) -> bool:
        """Whether it has to be filled: no board fits in it, and no casing covers it."""
        cased = all(opening.edge is OpeningEdge.CASED for opening in self.beside)
        least = figures.length("HL-filler") if cased else 0
        return least < self.width < core() and self.run > 0

    def meets(self, board: _Board) -> bool:
        return (
            board.start < self.end
            and board.end > self.start
            and board.low < self.high
            and board.high > self.low
        )


def fillers(
    surface: Surface, rows_run: Runs, courses: Sequence[_Course], boards: Sequence[_Board] = ()
) -> tuple[Filler, ...]:
    """Return the fillers of a surface whose courses lie so, in the order of courses and openings:
    one for each side of an opening and width of strip.

    Where one of the `boards` covers a strip there is none: such a board hung before this plan.
    """
    area = in_course_axes(surface.board_area, rows_run)
    strips = (
        strip
        for course in courses
        for part in parts(area, course.low, course.high)
        for strip in _strips(surface, rows_run, course, part)
    )
    # A strip that goes on in the next course is one.
    runs: dict[tuple[PlacedOpening, str, Nm], int] = {}
    for strip in strips:
        if strip.is_filled and not any(strip.meets(board) for board in boards):
            key = strip.beside[0], _SIDES[rows_run][strip.where], strip.width
            runs[key] = runs.get(key, 0) + strip.run
    return tuple(Filler(*key, Nm(run)) for key, run in runs.items())


def _strips(surface: Surface, rows_run: Runs, course: _Course, part: Part) -> Iterator[_Strip]:
    """Every strip that openings leave in one part of a course, of whatever width."""
    through = [
        (box, opening)
        for box, opening in ((box_of(one, rows_run), one) for one in surface.openings)
        if takes_row(box, course.low, course.high)
        and box.left < part.end
        and box.right > part.start
    ]

    def extent(start: Nm, end: Nm) -> tuple[Nm, Nm]:
        if not part.area or start >= end:
            return course.low, course.high
        return extent_within(part.area, start, end)

    at, before = part.start, None
    for box, opening in sorted(through, key=lambda one: one[0].left):
        beside = (opening,) if before is None else (opening, before)
        yield _Strip(beside, 0, at, box.left, *extent(at, box.left))
        start, end = Nm(max(box.left, part.start)), Nm(min(box.right, part.end))
        low, high = extent(start, end)
        yield _Strip((opening,), 2, start, end, low, box.low)
        yield _Strip((opening,), 3, start, end, box.high, high)
        at, before = Nm(max(at, box.right)), opening
    if before is not None:
        yield _Strip((before,), 1, at, part.end, *extent(at, part.end))
