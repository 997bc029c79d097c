"""How far the edges of a surface's boards may lie from a corner, and at the floor, in course
coordinates: x along the courses, y square to them.

At a square inside corner a board may end anywhere between the face it meets and its farthest
setback (see `geometry.deductions`). So a run of boards need not be cut to the sixteenth: it takes
whole sheets wherever these end within the reach.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from takeoff.boards.region import in_course_axes
from takeoff.choices import Runs
from takeoff.geometry.polygon import bounds
from takeoff.geometry.surface import Point, Surface
from takeoff.units import Nm

__all__ = ["Reach", "Side", "Sides", "laid", "sides_of", "with_steps_at"]

Span = tuple[Nm, Nm]


@dataclass(frozen=True, slots=True)
class Reach:
    """Where an edge may lie, from `low` to `high`, and where it `usual`ly does."""

    low: Nm
    usual: Nm
    high: Nm

    @property
    def room(self) -> int:
        return self.high - self.low


@dataclass(frozen=True, slots=True)
class Side:
    """An upright side of the area, from `low` to `high`. Boards that meet it begin there where it
    is at the `start` of what they cover, else they end there."""

    start: bool
    low: Nm
    high: Nm
    reach: Reach


@dataclass(frozen=True, slots=True)
class Sides:
    """The sides of a surface that its boards may end at: the upright ones, and its lowest and
    highest edge."""

    upright: tuple[Side, ...]
    bottom: Reach
    top: Reach

    def at(self, x: Nm, low: Nm, high: Nm, *, start: bool) -> Span | None:
        """Where a course from `low` to `high` may begin (or end) that usually does at `x`; None
        where it must do so exactly."""
        for side in self.upright:
            # The course itself may reach as much farther as its own edges may.
            over = max(self.bottom.room, self.top.room)
            if (
                side.start is start
                and side.reach.usual == x
                and side.low <= low + over
                and side.high >= high - over
            ):
                return side.reach.low, side.reach.high
        return None


def laid(first: Reach, last: Reach, length: int) -> Span | None:
    """Where a run of boards so long lies between two edges; None where it fits nowhere.

    What is left of the reach is shared evenly, and what one edge cannot take goes to the other. An
    edge that usually lies as near as it can, as at the top of a wall, stays there as long as the
    other one can give way.
    """
    over = last.high - first.low - length
    if not 0 <= over <= first.room + last.room:
        return None
    tight_first, tight_last = first.usual == first.low, last.usual == last.high
    if tight_last and not tight_first:
        share = min(first.room, over)
    elif tight_first and not tight_last:
        share = max(0, over - last.room)
    else:
        share = min(max(over // 2, over - last.room), first.room)
    return Nm(first.low + share), Nm(first.low + share + length)


def sides_of(surface: Surface, rows_run: Runs) -> Sides:
    """The sides of a surface whose boards run so."""
    area = in_course_axes(surface.board_area, rows_run)
    outer = in_course_axes(surface.outer, rows_run)
    inner = in_course_axes(surface.inner, rows_run)
    upright = []
    for index, (here, there) in enumerate(zip(area, (*area[1:], area[0]), strict=True)):
        if here[0] != there[0]:
            continue
        # Counter-clockwise, so the area is to the right of a side that goes down.
        ends = sorted((outer[index][0], inner[index][0]))
        upright.append(
            Side(
                start=there[1] < here[1],
                low=min(here[1], there[1]),
                high=max(here[1], there[1]),
                reach=Reach(ends[0], here[0], ends[1]),
            )
        )
    _, low, _, high = bounds(area)
    return Sides(
        upright=tuple(upright),
        bottom=_level(area, outer, inner, low),
        top=_level(area, outer, inner, high),
    )


def with_steps_at(
    area: tuple[Point, ...], surface: Surface, rows_run: Runs, seams: Sequence[Nm]
) -> tuple[Point, ...]:
    """`area` with the level edges of its steps at the nearest seam between rows that their reach
    holds, so that no hair of a row goes on past a step. Its lowest and highest edge stay.
    """
    outer = in_course_axes(surface.outer, rows_run)
    inner = in_course_axes(surface.inner, rows_run)
    if len(area) == 4 or not len(area) == len(outer) == len(inner):
        return area
    _, low, _, high = bounds(area)
    corners = list(area)
    for index, (here, there) in enumerate(zip(area, (*area[1:], area[0]), strict=True)):
        if here[1] != there[1] or here[1] in (low, high):
            continue
        first, last = sorted((outer[index][1], inner[index][1]))
        within = [seam for seam in seams if first <= seam <= last]
        if within:
            at = min(within, key=lambda seam: abs(seam - here[1]))
            after = (index + 1) % len(corners)
            corners[index] = (corners[index][0], at)
            corners[after] = (corners[after][0], at)
    return tuple(corners)


def _level(
    area: tuple[Point, ...], outer: tuple[Point, ...], inner: tuple[Point, ...], at: Nm
) -> Reach:
    """The reach of the lowest or highest edge; none where a slanted side meets it, which would be
    another with it."""
    low: list[Nm] = []
    high: list[Nm] = []
    for index, (here, there) in enumerate(zip(area, (*area[1:], area[0]), strict=True)):
        if at not in (here[1], there[1]):
            continue
        if here[1] == there[1]:
            one, other = sorted((outer[index][1], inner[index][1]))
            low.append(one)
            high.append(other)
        elif here[0] != there[0]:
            return Reach(at, at, at)
    # Several edges at one height move together, as far as the shortest reach goes.
    return Reach(max(low, default=at), at, min(high, default=at))
