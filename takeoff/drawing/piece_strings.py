"""The strings of dimensions of a lying piece: of each hole, opening and slope one from the left end
and one from the right, and inside the board one from the near edge and one from the far edge."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from takeoff.cards.tape import span_on
from takeoff.drawing.canvas import Spot
from takeoff.drawing.metrics import width_of
from takeoff.drawing.on_page import PieceOnPage
from takeoff.units import Nm, format_length

__all__ = ["draw_strings"]

_END = 110  # half the stroke that ends a string
_SPARE = 120  # percent: widths of words are taken that much larger than most come out


@dataclass(frozen=True, slots=True)
class _Mark:
    """What is measured: its name, and its two marks each way; a center and the end of a slope have
    both at one place. `upright` says whether it is measured across the board too."""

    name: str
    left: Nm
    right: Nm
    near: Nm
    far: Nm
    upright: bool = True


@dataclass(frozen=True, slots=True)
class _Reading:
    x: int
    y: int
    text: str
    kind: str


@dataclass(frozen=True, slots=True)
class _Row:
    """One row under the board, ready to be drawn."""

    name: str
    runs: list[list[Spot]]
    leads: list[list[Spot]]
    readings: list[_Reading]


def draw_strings(on: PieceOnPage) -> None:
    """Draw the strings inside the board, then those under it; the picture's `y` is where the last
    ends. Where a reading has no room it stands in the table alone."""
    marks = list(_marks(on))
    for mark in marks:
        if mark.upright:
            _up(on, mark)
    # two corners of one cut at the same place along the board have one row
    once = {(mark.name, mark.left, mark.right): mark for mark in marks}.values()
    rows = [_along(on, mark) for mark in once if mark.left > 0 or mark.right < on.card.on.lay.long]
    # what leads down to a lower row lies under the readings of those above it
    on.picture.sketch.lines([lead for row in rows for lead in row.leads], "lead")
    for row in rows:
        on.picture.sketch.lines(row.runs, "string")
        for reading in row.readings:
            on.picture.words(
                reading.x,
                reading.y,
                reading.text,
                anchor="middle",
                kind=reading.kind,
                says=row.name,
            )


def _marks(on: PieceOnPage) -> Iterator[_Mark]:
    card = on.card
    for hole in card.holes:
        cut = hole.cut
        if hole.by_center:
            x, y = cut.middle
            yield _Mark(f"center of {hole.name}", x, x, y, y)
        else:
            yield _Mark(hole.name, cut.left, cut.right, cut.near, cut.far)
    for notch in card.notches:
        area = notch.area
        if not notch.later:
            yield _Mark(notch.name, area.left, area.right, area.near, area.far)
    lay = card.on.lay
    spots = {spot for cut in card.last_cuts for spot in cut.spots}
    for x, y in sorted(spots):
        if 0 < x < lay.long:
            yield _Mark("end of the slope or corner", x, x, y, y, upright=0 < y < lay.across)


def _along(on: PieceOnPage, mark: _Mark) -> _Row:
    """A row under the board: from the left end to the mark, and from the mark to the right end."""
    picture, frame, view = on.picture, on.frame, on.view
    lay = on.card.on.lay
    span = span_on(mark.left, mark.right, lay.long, on.units)
    y = picture.y + picture.small * 135 // 100
    x0, x1 = view.x(mark.left), view.x(mark.right)
    runs: list[list[Spot]] = []
    readings: list[_Reading] = []
    foot = y
    for length, low, high, end in (
        (span.first, frame.left, x0, "left end"),
        (span.last, x1, frame.right, "right end"),
    ):
        if not length:
            continue
        runs += [[(low, y), (high, y)], *([(x, y - _END), (x, y + _END)] for x in (low, high))]
        text = format_length(length, on.units)
        wide = width_of(text, picture.small)
        middle, line = (low + high) // 2, y - 120
        if (high - low) * _SPARE < wide * 100:
            # too long to stand on its string, so it hangs under it
            middle = min(max(middle, wide // 2), picture.width - wide // 2)
            line = y + picture.small
            foot = line + picture.small * 24 // 100
        readings.append(_Reading(middle, line, text, f"From the {end}"))
    leads: list[list[Spot]] = [[(x, frame.bottom), (x, y + _END)] for x in dict.fromkeys((x0, x1))]
    picture.y = max(y + _END, foot) + 60
    return _Row(mark.name, runs, leads, readings)


def _up(on: PieceOnPage, mark: _Mark) -> None:
    """From the near edge to the mark and from the mark to the far edge, beside it on the board.
    Where there is no room for a reading it stands in the table alone."""
    picture, frame, view = on.picture, on.frame, on.view
    span = span_on(mark.near, mark.far, on.card.on.lay.across, on.units)
    x = (view.x(mark.left) + view.x(mark.right)) // 2
    runs: list[list[Spot]] = []
    for length, low, high, edge in (
        (span.first, frame.bottom, view.y(mark.near), "near edge"),
        (span.last, view.y(mark.far), frame.top, "far edge"),
    ):
        if not length:
            continue
        text = format_length(length, on.units)
        spots = [
            (x + aside, high + (low - high) * part // 10 + picture.small // 3, anchor)
            for part in (5, 3, 7, 2, 8)
            for aside, anchor in ((90, "start"), (-90, "end"))
        ]
        drawn = picture.label(
            text,
            spots,
            frame,
            cls="size",
            kind=f"From the {edge}",
            says=mark.name,
            shorten=False,
            shape=on.shape,
        )
        if drawn:
            runs += [[(x, low), (x, high)]]
            runs += [[(x - _END, y), (x + _END, y)] for y in (low, high)]
    picture.sketch.lines(runs, "string")
