"""Where words stand on a drawing: boxes of text, what of the page is taken, labels in a row."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from takeoff.drawing.metrics import width_of

__all__ = ["Box", "Places", "enters", "inside", "spread", "text_box"]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle of the page, y down."""

    left: int
    top: int
    right: int
    bottom: int

    def meets(self, other: Box) -> bool:
        """Whether the two share more than an edge."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def holds(self, other: Box) -> bool:
        return (
            self.left <= other.left
            and self.top <= other.top
            and self.right >= other.right
            and self.bottom >= other.bottom
        )

    def grown(self, by: int) -> Box:
        return Box(self.left - by, self.top - by, self.right + by, self.bottom + by)


def text_box(
    x: int,
    y: int,
    text: str,
    size: int,
    *,
    anchor: str = "start",
    bold: bool = False,
    turned: bool = False,
) -> Box:
    """The box of a line of text. Its base line starts, centers or ends (`anchor`) at (x, y); a
    `turned` line reads upward."""
    width = width_of(text, size, bold=bold)
    before = {"start": 0, "middle": width // 2, "end": width}[anchor]
    rise, sink = size * 80 // 100, size * 24 // 100
    if turned:
        return Box(x - rise, y - width + before, x + sink, y + before)
    return Box(x - before, y - rise, x - before + width, y + sink)


@dataclass(slots=True)
class Places:
    """What of a page is taken.

    Words never overlap what is `taken` by words or `kept` for marks. They avoid `lines` where there
    is a choice of places, and are written across them where there is none.
    """

    taken: list[Box] = field(default_factory=list)
    kept: list[Box] = field(default_factory=list)
    lines: list[Box] = field(default_factory=list)

    def crosses_line(self, box: Box) -> bool:
        return any(box.meets(line) for line in self.lines)

    def is_free(self, box: Box, within: Box | None = None) -> bool:
        if within is not None and not within.holds(box):
            return False
        return not any(box.meets(other) for other in (*self.taken, *self.kept))

    def take(self, box: Box) -> None:
        self.taken.append(box)

    def keep(self, box: Box) -> None:
        self.kept.append(box)


def inside(box: Box, polygon: Sequence[tuple[int, int]]) -> bool:
    """Whether a box lies wholly inside a polygon, touching its sides at most."""
    sides = list(zip(polygon, (*polygon[1:], polygon[0]), strict=True))
    if any(enters(box, a, b) for a, b in sides):
        return False
    # the middle, doubled; nothing enters, so it speaks for all
    x, y = box.left + box.right, box.top + box.bottom
    odd = False
    for (ax, ay), (bx, by) in sides:
        if (2 * ay > y) != (2 * by > y):
            # whether the side crosses the level line through the middle on its right hand
            on_left = (x - 2 * ax) * (by - ay) < (y - 2 * ay) * (bx - ax)
            odd ^= on_left if by > ay else not on_left
    return odd


def enters(box: Box, a: tuple[int, int], b: tuple[int, int]) -> bool:
    """Whether the segment from `a` to `b` passes through the inside of the box."""
    (ax, ay), (bx, by) = a, b
    if (
        max(ax, bx) <= box.left
        or min(ax, bx) >= box.right
        or max(ay, by) <= box.top
        or min(ay, by) >= box.bottom
    ):
        return False
    hands = [
        (bx - ax) * (y - ay) - (by - ay) * (x - ax)
        for x, y in (
            (box.left, box.top),
            (box.right, box.top),
            (box.right, box.bottom),
            (box.left, box.bottom),
        )
    ]
    return min(hands) < 0 < max(hands)


def spread(wanted: Sequence[int], sizes: Sequence[int], low: int, high: int) -> list[int] | None:
    """The middles of labels in one lane, as near to the `wanted` middles (in order) as they can be
    without overlap. None where the labels do not all fit between `low` and `high`.

    `sizes` are the lengths of the labels along the lane. Labels that would overlap are set side by
    side as one run, and the run is centered on the mean of what its labels want.
    """
    if sum(sizes) > high - low:
        return None
    runs: list[tuple[int, int, int, list[int]]] = []  # (start, size, sum of wanted starts, members)
    for index, (middle, size) in enumerate(zip(wanted, sizes, strict=True)):
        start = min(max(middle - size // 2, low), high - size)
        runs.append((start, size, start, [index]))
        # a run that overlaps the one before it joins it; the run that comes of it has moved, and
        # may overlap the one before that
        while len(runs) > 1 and runs[-2][0] + runs[-2][1] > runs[-1][0]:
            _, second_size, second_sum, second_members = runs.pop()
            _, first_size, first_sum, first_members = runs.pop()
            # a label of the second run wants the run to begin by the first run's size earlier
            total = first_sum + second_sum - first_size * len(second_members)
            size = first_size + second_size
            members = first_members + second_members
            start = min(max(total // len(members), low), high - size)
            runs.append((start, size, total, members))
    middles = [0] * len(wanted)
    for start, _, _, members in runs:
        at = start
        for index in members:
            middles[index] = at + sizes[index] // 2
            at += sizes[index]
    return middles
