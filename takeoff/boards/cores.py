"""Where along a course a piece can have its core: the square of two inches by which whoever cuts
and hangs it can hold it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise, product
from math import ceil, floor

from takeoff.boards.courses import core
from takeoff.boards.joints import Box, Span
from takeoff.geometry.surface import Point
from takeoff.units import Nm

__all__ = ["core_spans"]

# Two values that belong to the two ends of a stretch; between them everything changes evenly.
_Ends = tuple[Fraction, Fraction]


@dataclass(frozen=True, slots=True)
class _Patch:
    """Board between two upright lines: the heights of its lower and its upper side at either."""

    left: Fraction
    right: Fraction
    low: _Ends
    high: _Ends


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A stretch of a course in which no side begins, ends or crosses another, and its patches of
    board, from below."""

    left: Fraction
    right: Fraction
    patches: tuple[_Patch, ...]


def core_spans(area: Sequence[Point], openings: Sequence[Box]) -> tuple[Span, ...]:
    """The stretches along a course in which a core fits wherever it is put, from the left: a piece
    has a core where it has as much as a core's size of one of them.

    `area` is the part of the course to board, in course coordinates, any straight-sided outline;
    `openings` are taken out of it. Empty where no core fits anywhere.
    """
    size = core()
    stretches = _stretches(area, openings)

    # A core is told by its left side. While that moves from one of `events` to the next, the core
    # reaches into the same stretches.
    ends = {end for stretch in stretches for end in (stretch.left, stretch.right)}
    first, last = min(ends), max(ends) - size
    events = sorted({x for end in ends for x in (end, end - size) if first <= x <= last})
    lefts: list[_Ends] = []
    # A core that just fits between two openings fits at one place only: each event by itself, too.
    for low, high in [*pairwise(events), *((event, event) for event in events)]:
        met = [
            stretch for stretch in stretches if stretch.left < high + size and stretch.right > low
        ]
        lefts += _fitting(met, low, high, size)

    spans: list[_Ends] = []
    for low, high in sorted(lefts):
        if spans and low <= spans[-1][1]:
            spans[-1] = (spans[-1][0], max(spans[-1][1], high))
        else:
            spans.append((low, high))
    return tuple(
        (Nm(ceil(low)), Nm(floor(high) + size)) for low, high in spans if ceil(low) <= floor(high)
    )


def _fitting(met: Sequence[_Stretch], low: Fraction, high: Fraction, size: Nm) -> Iterator[_Ends]:
    """From where to where, between `low` and `high`, the left side of a core may lie that reaches
    into the stretches `met` and no others."""
    for patches in product(*(stretch.patches for stretch in met)):
        start, end = low, high
        for lower in _heights([(patch, patch.low) for patch in patches], low, high, size):
            for upper in _heights([(patch, patch.high) for patch in patches], low, high, size):
                # How much higher than the core it is there, as the core goes from `low` to `high`.
                at_low, at_high = upper[0] - lower[0] - size, upper[1] - lower[1] - size
                if at_low < 0 and at_high < 0:
                    start, end = high + 1, low
                elif at_low < 0:
                    start = max(start, high - (high - low) * at_high / (at_high - at_low))
                elif at_high < 0:
                    end = min(end, low + (high - low) * at_low / (at_low - at_high))
        if start <= end:
            yield start, end


def _heights(
    sides: Sequence[tuple[_Patch, _Ends]], low: Fraction, high: Fraction, size: Nm
) -> list[_Ends]:
    """The heights of sides where a core meets them, with its left side at `low` and at `high`. A
    straight side is lowest and highest at the ends of what the core meets of it."""
    heights = []
    for patch, (at_left, at_right) in sides:
        rise = (at_right - at_left) / (patch.right - patch.left)
        for places in (
            (max(patch.left, low), max(patch.left, high)),
            (min(patch.right, low + size), min(patch.right, high + size)),
        ):
            before, after = (at_left + rise * (place - patch.left) for place in places)
            heights.append((before, after))
    return heights


def _stretches(area: Sequence[Point], openings: Sequence[Box]) -> list[_Stretch]:
    sides = [(min(a, b), max(a, b)) for a, b in pairwise((*area, area[0])) if a[0] != b[0]]
    left, right = min(x for x, _ in area), max(x for x, _ in area)
    cuts = {Fraction(x) for x, _ in area}
    cuts |= {Fraction(x) for box in openings for x in (box.left, box.right) if left < x < right}
    # Where a sloping side crosses the edge of an opening.
    for (x0, y0), (x1, y1) in sides:
        for height in {height for box in openings for height in (box.low, box.high)}:
            if min(y0, y1) < height < max(y0, y1):
                cuts.add(x0 + Fraction((height - y0) * (x1 - x0), y1 - y0))

    stretches = []
    for start, end in pairwise(sorted(cuts)):
        # Twice the height midway orders sides that meet at an end.
        lines = sorted(
            (
                (_height(side, start), _height(side, end))
                for side in sides
                if side[0][0] <= start and side[1][0] >= end
            ),
            key=sum,
        )
        bands = list(zip(lines[::2], lines[1::2], strict=True))
        for box in openings:
            if box.left <= start and box.right >= end:
                low, high = (Fraction(box.low),) * 2, (Fraction(box.high),) * 2
                bands = [
                    band
                    for under, over in bands
                    for band in (
                        (under, min(over, low, key=sum)),
                        (max(under, high, key=sum), over),
                    )
                    if sum(band[0]) < sum(band[1])
                ]
        patches = tuple(_Patch(start, end, low, high) for low, high in bands)
        stretches.append(_Stretch(start, end, patches))
    return stretches


def _height(side: tuple[Point, Point], x: Fraction) -> Fraction:
    (x0, y0), (x1, y1) = side
    return y0 + (x - x0) * Fraction(y1 - y0, x1 - x0)
