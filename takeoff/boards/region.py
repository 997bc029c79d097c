"""The part of a surface to board, in course coordinates: x along the courses, y square to them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from takeoff.boards.joints import Span
from takeoff.choices import Runs
from takeoff.geometry.polygon import bounds, clip_band
from takeoff.geometry.surface import Point
from takeoff.units import Nm

__all__ = ["Part", "eave", "extent_within", "in_course_axes", "is_rectangle", "parts", "section"]


@dataclass(frozen=True, slots=True)
class Part:
    """A connected part of the region within one course: its extent along it, and its outline where
    not a rectangle."""

    start: Nm
    end: Nm
    area: tuple[Point, ...] = ()


def in_course_axes(points: Sequence[Point], rows_run: Runs) -> tuple[Point, ...]:
    """Surface points as course points, or course points as surface points; counter-clockwise stays
    so."""
    if rows_run is Runs.ALONG:
        return tuple(points)
    # Swapping the axes turns the hand of the outline; reading it backwards turns it back.
    return tuple((y, x) for x, y in reversed(points))


def is_rectangle(area: Sequence[Point]) -> bool:
    """Whether the outline is one rectangle with level and upright sides."""
    return len(area) == 4 and len({x for x, _ in area}) == 2 and len({y for _, y in area}) == 2


def section(area: Sequence[Point], x: Nm, low: Nm, high: Nm) -> tuple[Span, ...]:
    """Where the upright line at `x` runs inside `area` between `low` and `high`, from below,
    rounded half to even.

    At an upright side it is where there is area on both its hands, so that a joint at a step is as
    long as the edge two boards share.
    """
    before = _crossed(area, x, low, high, right=False)
    # No corner stands at `x`, so both hands see the same.
    if all(corner != x for corner, _ in area):
        return before
    after = _crossed(area, x, low, high, right=True)
    both = ((Nm(max(a, c)), Nm(min(b, d))) for a, b in before for c, d in after)
    return tuple((a, b) for a, b in both if a < b)


def _crossed(area: Sequence[Point], x: Nm, low: Nm, high: Nm, *, right: bool) -> tuple[Span, ...]:
    """The spans of `area` just left, or just right, of `x`."""
    crossings = sorted(
        Fraction(y0) + Fraction((y1 - y0) * (x - x0), x1 - x0)
        for (x0, y0), (x1, y1) in zip(area, (*area[1:], area[0]), strict=True)
        # A side counts at one of its ends only, so a corner is crossed once and crossings come in
        # pairs.
        if (min(x0, x1) <= x < max(x0, x1) if right else min(x0, x1) < x <= max(x0, x1))
    )
    spans = (
        (Nm(max(low, round(a))), Nm(min(high, round(b))))
        for a, b in zip(crossings[::2], crossings[1::2], strict=True)
    )
    return tuple((a, b) for a, b in spans if a < b)


def eave(area: Sequence[Point]) -> Nm:
    """The height at which the upper side of `area` meets its left and right ends, the lower of the
    two."""
    ends = (min(x for x, _ in area), max(x for x, _ in area))
    return min(max(y for x, y in area if x == end) for end in ends)


def parts(area: Sequence[Point], low: Nm, high: Nm) -> tuple[Part, ...]:
    """The connected parts of `area` between `low` and `high`, from the left."""
    if is_rectangle(area):
        left_edge, bottom, right_edge, top = bounds(area)
        return (Part(left_edge, right_edge),) if max(low, bottom) < min(high, top) else ()
    connected = []
    for part in clip_band(area, 1, low, high):
        left_edge, bottom, right_edge, top = bounds(part)
        # Whole rectangles keep no outline: the courses' own lines say all, and are quicker to work
        # with.
        plain = is_rectangle(part) and (bottom, top) == (low, high)
        connected.append(Part(left_edge, right_edge, () if plain else part))
    return tuple(sorted(connected, key=lambda stretch: (stretch.start, stretch.end, stretch.area)))


def extent_within(area: Sequence[Point], start: Nm, end: Nm) -> Span:
    """The lowest and highest y of `area` between the upright lines at `start` and `end`, rounded
    half to even.

    An upright side that lies on one of the lines does not count by itself: its far part bounds what
    is beyond.
    """
    ys: list[Fraction] = []
    for (x0, y0), (x1, y1) in zip(area, (*area[1:], area[0]), strict=True):
        left_edge, right_edge = max(min(x0, x1), start), min(max(x0, x1), end)
        # An upright side, or one that only touches the stretch, has no extent along it.
        if left_edge < right_edge:
            ys += [
                Fraction(y0) + Fraction((y1 - y0) * (x - x0), x1 - x0)
                for x in (left_edge, right_edge)
            ]
    return Nm(round(min(ys))), Nm(round(max(ys)))
