"""A drawing under way: its shapes, words that never overlap, and a row in the table for every
word."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from takeoff.cards.clean_text import clean
from takeoff.cards.tape import tape
from takeoff.drawing.canvas import Sketch, Spot
from takeoff.drawing.facts import Drawing, Fact, Tick, View
from takeoff.drawing.layout import Box, Places, inside, spread, text_box
from takeoff.drawing.legend import SAMPLES, draw_sample
from takeoff.drawing.metrics import fit, width_of
from takeoff.drawing.style import SMALL, TEXT, TITLE
from takeoff.drawing.svg import svg_text
from takeoff.units import INCH, MM, Nm, UnitSystem

__all__ = ["Picture"]

_HELD = "\u00a0"
_STRIP_GAP = 500  # between what is drawn and the strip beside it
# the spaces inside a measure (12' 6 1/2", 12 mm) and around the x between two
_MEASURE = re.compile(
    r"(?<=[0-9]') (?=[0-9])|(?<=[0-9]) (?=[0-9]+/[0-9]|mm)|(?<=[\"m]) (?=x )|(?<= x) (?=[0-9])"
)
_BOLD = frozenset({"title", "code", "head", "mark", "meets", "bar-words"})


def _held_together(text: str, width: int) -> str:
    """`text` with the spaces inside its parts held, so that it breaks between parts where they are
    short enough."""
    parts = [
        part.replace(" ", _HELD) if width_of(part, TEXT) < width else part
        for part in clean(text).split(" · ")
    ]
    return " · ".join(parts)


class Picture:
    """The sketch, places and facts of one drawing, filled from the top down. `y` is where the
    filled part ends. `small` is the size of its words where none is given. Without a `heading` its
    title is told and not drawn.

    With a `strip` its title, notes and legend stand in a strip that wide at its right side, and
    `y` is where that strip is filled to; `across` is what is left for what is drawn, and `foot`
    where that ends."""

    def __init__(
        self,
        prefix: str,
        width: int,
        *,
        title: str,
        under: str,
        units: UnitSystem,
        small: int = SMALL,
        heading: bool = True,
        strip: int = 0,
    ) -> None:
        self.small = small
        self.aside = width - strip if strip else 0
        self.text_width = strip or width
        self.across = self.aside - _STRIP_GAP if strip else width
        self.foot = 0
        self.sketch = Sketch(prefix)
        self.places = Places()
        self.facts: list[Fact] = []
        self.width = width
        self.units = units
        self.title = title
        self.scale = 0
        self.legends: dict[str, str] = {}
        self._numbers: dict[str, str] = {}
        self.y = 0
        if not heading:
            return
        big = TITLE if self.text_width > 12_000 else TEXT * 13 // 10
        self.y = -big * 4 // 10
        for line in self.broken(title, big, self.text_width, bold=True):
            self.y += big * 12 // 10
            self.words(self.aside, self.y, line, size=big, cls="title", kind="Drawing", says=title)
        self.y += 180
        if under:
            size = max(TEXT, small)
            for line in self.broken(
                _held_together(under, self.text_width * (10 if strip else 6) // 10),
                size,
                self.text_width,
            ):
                self.y += size * 125 // 100
                self.words(
                    self.aside, self.y, line, size=size, cls="under", kind="Drawing", says=under
                )
            self.y += 150

    def broken(self, text: str, size: int, width: int, *, bold: bool = False) -> list[str]:
        """`text` broken at spaces into lines no wider than `width`; a measure is never broken."""
        lines: list[str] = []
        line = ""
        for word in _MEASURE.sub(_HELD, _clean_but_held(text)).split(" "):
            longer = f"{line} {word}".strip()
            if line and width_of(longer, size, bold=bold) > width:
                lines.append(line)
                line = word
            else:
                line = longer
        return [line_text.replace(_HELD, " ") for line_text in (*lines, line)]

    def fact(self, kind: str, label: str, says: str, *, drawn: bool = True) -> None:
        new = Fact(kind, clean(label), clean(says), drawn)
        if new not in self.facts:
            self.facts.append(new)

    def words(
        self,
        x: int,
        y: int,
        text: str,
        *,
        size: int | None = None,
        cls: str = "size",
        anchor: str = "start",
        turned: bool = False,
        kind: str,
        says: str,
        within: int | None = None,
    ) -> bool:
        """Write a text at one place, shortened to `within` (or to the page) where it is too long.

        Where another text is in the way or not one letter fits, the text gets only its row in the
        table, and the answer is False.
        """
        bold = cls in _BOLD
        size = size or self.small
        room = within if within is not None else self.width if not turned else 100_000
        shown = fit(clean(text), size, room, bold=bold)
        box = text_box(x, y, shown, size, anchor=anchor, bold=bold, turned=turned)
        if (
            not shown
            or any(box.meets(other) for other in self.places.taken)
            or box.left < 0
            or box.right > self.width
        ):
            self.fact(kind, text, says, drawn=False)
            return False
        self._write(
            x,
            y,
            shown,
            size,
            cls,
            anchor,
            turned,
            box,
            kind,
            says if shown == clean(text) else f"{text}: {says}",
        )
        return True

    def _write(
        self,
        x: int,
        y: int,
        shown: str,
        size: int,
        cls: str,
        anchor: str,
        turned: bool,
        box: Box,
        kind: str,
        says: str,
    ) -> None:
        self.sketch.text(x, y, shown, cls, size=size, anchor=anchor, turned=turned)
        self.places.take(box)
        self.fact(kind, shown, says)

    def label(
        self,
        text: str,
        spots: Iterable[tuple[int, int, str]],
        within: Box,
        *,
        size: int | None = None,
        cls: str = "name",
        kind: str,
        says: str,
        widest: int | None = None,
        turn: bool = False,
        turn_only: bool = False,
        shorten: bool = True,
        shape: Sequence[Spot] | None = None,
        tell: bool = True,
    ) -> bool:
        """Write a text at the first of `spots` (x, y, anchor) where it overlaps nothing and lies
        inside `within` and `shape`.

        A spot where the text crosses no line is taken before one where it does. The whole text is
        tried first, unless it is wider than `widest`; then a number, which is told at the foot of
        the drawing. A measure takes no number (`shorten=False`). With `turn` the text is tried
        level, then turned; with `turn_only` it is turned. Where nothing fits, the text gets only
        its row in the table (if `tell`), and the answer is False.
        """
        bold = cls in _BOLD
        size = size or self.small
        spots = list(spots)
        whole = clean(text)
        too_wide = widest is not None and shorten and width_of(whole, size, bold=bold) > widest
        tries = [] if too_wide else [whole]
        number = self._number_of(whole)
        if shorten and len(number) < len(whole):
            tries.append(number)
        for shown in dict.fromkeys(attempt for attempt in tries if attempt):
            crossing: tuple[int, int, str, bool, Box] | None = None
            for turned in (True,) if turn_only else (False, True) if turn else (False,):
                for x, y, anchor in spots:
                    box = text_box(x, y, shown, size, anchor=anchor, bold=bold, turned=turned)
                    if not self.places.is_free(box, within) or (
                        shape is not None and not inside(box, shape)
                    ):
                        continue
                    crossing = crossing or (x, y, anchor, turned, box)
                    if not self.places.crosses_line(box):
                        crossing = (x, y, anchor, turned, box)
                        break
                else:
                    continue
                break
            if crossing is not None:
                x, y, anchor, turned, box = crossing
                if shown != whole:
                    self._numbers.setdefault(whole, shown)
                meaning = says if shown == whole else f"{whole}: {says}"
                self._write(x, y, shown, size, cls, anchor, turned, box, kind, meaning)
                return True
        if tell:
            self.fact(kind, whole, says, drawn=False)
        return False

    def _number_of(self, text: str) -> str:
        """The number that stands for a text for which there is no room."""
        return self._numbers.get(text) or f"({len(self._numbers) + 1})"

    def label_in(
        self, text: str, spots: Sequence[tuple[int, int, str]], box: Box, *, kind: str, says: str
    ) -> bool:
        """Write a name inside a box: whole and level, else whole and upright, else as a number."""
        for turned in (False, True):
            if self.label(
                text,
                spots,
                box,
                kind=kind,
                says=says,
                shorten=False,
                tell=False,
                turn=turned,
                turn_only=turned,
            ):
                return True
        return self.label(text, spots, box, kind=kind, says=says, widest=0, turn=True)

    def legend(self, key: str, says: str) -> None:
        """Ask for a sample of this line or hatch at the foot of the drawing."""
        self.legends.setdefault(key, says)

    def run_across(
        self,
        ticks: Sequence[Tick],
        *,
        edge: int,
        from_y: int,
        down: bool,
        low: int,
        high: int,
        kind: str,
    ) -> int:
        """Draw the readings of a level row of marks, and give the y where their lane ends.

        A line leads from each mark at `edge`, the rim of what is measured, to its reading. The lane
        begins at `from_y` and goes `down` or up. Readings stand level where they all fit between
        `low` and `high` near their marks; otherwise all are turned to read upward.
        """
        ticks = _merged(ticks)
        texts = [tape(tick.length, self.units, up=tick.up) for tick in ticks]
        widths = [width_of(text, self.small) + 180 for text in texts]
        sign = 1 if down else -1
        # level readings, unless one would stand too far from its mark to be read with it
        flat = spread([tick.at for tick in ticks], widths, low, high)
        near = max((abs(m - t.at) for m, t in zip(flat or [], ticks, strict=False)), default=0)
        turned = flat is None or near > 900
        step = self.small * 118 // 100
        deep = max(widths, default=120) - 120 if turned else step
        middles = spread([t.at for t in ticks], [step] * len(ticks), low, high) if turned else flat
        # more readings than the page is wide: all in the table, and drawn as many as come in
        if middles is None:
            shown = _evenly(len(ticks), max(1, (high - low) // step))
            for index, (tick, text) in enumerate(zip(ticks, texts, strict=True)):
                if index not in shown:
                    self.fact(kind, text, tick.says, drawn=False)
            ticks, texts = [ticks[k] for k in shown], [texts[k] for k in shown]
            middles = spread([t.at for t in ticks], [step] * len(ticks), low, high) or []
        knee, foot = from_y + sign * 120, from_y + sign * 330
        runs: list[list[Spot]] = []
        for tick, middle, text in zip(ticks, middles, texts, strict=True):
            runs.append([(tick.at, edge), (tick.at, knee), (middle, foot)])
            if turned:
                width = width_of(text, self.small)
                x, y = middle + self.small * 28 // 100, foot + sign * 60 + (width if down else 0)
                self.words(x, y, text, turned=True, kind=kind, says=tick.says)
            else:
                y = foot + (self.small if down else -110)
                self.words(middle, y, text, anchor="middle", kind=kind, says=tick.says)
        self.sketch.lines(runs, "tick")
        return foot + sign * (deep + 90)

    def run_up(
        self,
        ticks: Sequence[Tick],
        *,
        edge: int,
        from_x: int,
        left: bool,
        low: int,
        high: int,
        kind: str,
    ) -> None:
        """Draw the readings of an upright row of marks, in a lane to the `left` of `from_x` or to
        its right."""
        ticks = _merged(ticks)
        texts = [tape(tick.length, self.units, up=tick.up) for tick in ticks]
        step = self.small * 116 // 100
        sign = -1 if left else 1
        order = sorted(range(len(ticks)), key=lambda k: ticks[k].at)
        middles = spread([ticks[k].at for k in order], [step] * len(order), low, high)
        if middles is None:
            shown = _evenly(len(order), max(1, (high - low) // step))
            for place, k in enumerate(order):
                if place not in shown:
                    self.fact(kind, texts[k], ticks[k].says, drawn=False)
            order = [order[place] for place in shown]
            middles = spread([ticks[k].at for k in order], [step] * len(order), low, high) or []
        runs: list[list[Spot]] = []
        for k, middle in zip(order, middles, strict=True):
            runs.append(
                [
                    (edge, ticks[k].at),
                    (from_x + sign * 90, ticks[k].at),
                    (from_x + sign * 260, middle),
                ]
            )
            self.words(
                from_x + sign * 310,
                middle + self.small * 28 // 100,
                texts[k],
                anchor="end" if left else "start",
                kind=kind,
                says=ticks[k].says,
            )
        self.sketch.lines(runs, "tick")

    def overall_across(self, left: int, right: int, y: int, length: Nm, says: str) -> int:
        """A string of the whole length under what is drawn. Gives the y where it ends."""
        line = y + self.small
        ends = [[(x, line - 150), (x, line + 150)] for x in (left, right)]
        text = tape(length, self.units)
        self.sketch.lines([[(left, line), (right, line)], *ends], "string")
        self.words(
            (left + right) // 2,
            line - 90,
            text,
            cls="head",
            anchor="middle",
            kind="Overall",
            says=says,
        )
        return line + 200

    def overall_up(self, bottom: int, top: int, x: int, length: Nm, says: str) -> None:
        """A string of the whole height, upright at `x`, its reading turned on its left side."""
        ends = [[(x - 150, y), (x + 150, y)] for y in (bottom, top)]
        text = tape(length, self.units)
        self.sketch.lines([[(x, bottom), (x, top)], *ends], "string")
        middle = (bottom + top) // 2
        width = width_of(text, self.small, bold=True)
        self.words(
            x - 90,
            middle + width // 2,
            text,
            cls="head",
            turned=True,
            kind="Overall",
            says=says,
        )

    def datum(self, x: int, y: int) -> None:
        """The point from which a tape is pulled."""
        self.sketch.circle(x, y, 60, "datum")

    def scale_bar(self) -> None:
        """A bar of whole feet or half meters under what is drawn, for a drawing that is copied or
        looked at on a screen keeps no scale in numbers."""
        metric = self.units is UnitSystem.MILLIMETRE
        unit = Nm(500 * MM) if metric else Nm(12 * INCH)
        long = View(0, 0, self.scale).size(unit)
        count = max(1, min(4, 3_000 // long))
        top = self.y + 330
        for part in range(count):
            cls = "bar" if part % 2 == 0 else "bar-half"
            left = self.aside + part * long
            self.sketch.rectangle(left, top, left + long, top + 110, cls)
        end = tape(Nm(count * unit), self.units)
        self.words(
            self.aside + count * long + 120,
            top + 200,
            end,
            cls="note",
            kind="Scale",
            says="length of the bar",
        )
        self.y = top + 300

    def note(
        self,
        text: str,
        *,
        cls: str = "note",
        kind: str = "Note",
        indent: int = 0,
        size: int | None = None,
    ) -> None:
        """A sentence under what is drawn, broken into lines."""
        size = size or self.small
        for line in self.broken(text, size, self.text_width - indent, bold=cls in _BOLD):
            self.y += size * 132 // 100
            self.words(self.aside + indent, self.y, line, cls=cls, size=size, kind=kind, says=text)
        self.y += 60

    def finish(self, *, says: str) -> Drawing:
        """Draw what numbers stand for and the legend, and give the drawing."""
        for text, number in self._numbers.items():
            self.note(f"{number} {text}", kind="Numbers")
        self._draw_legend()
        high = max(self.y, self.foot) + 120
        canvas = self.sketch.canvas(self.width, high, title=self.title, says=says)
        return Drawing(
            canvas=canvas,
            svg=svg_text(canvas),
            scale=self.scale,
            facts=tuple(self.facts),
            texts=tuple(self.places.taken),
        )

    def _draw_legend(self) -> None:
        if not self.legends:
            return
        sample, gap = 900, 420
        x, y = 0, self.y + 420
        step = SMALL * 132 // 100
        for key, says in self.legends.items():
            lines = self.broken(says, SMALL, self.text_width - sample - 160)
            wide = sample + 160 + max(width_of(line, SMALL) for line in lines)
            if x and x + wide > self.text_width:
                x, y = 0, y + (420 if self.aside else 500)
            left = self.aside + x
            draw_sample(self.sketch, key, left, y - SMALL * 28 // 100, sample)
            for index, line in enumerate(lines):
                self.words(
                    left + sample + 160,
                    y + index * step,
                    line,
                    cls="note",
                    kind="Line",
                    says=f"what {SAMPLES[key]} stands for",
                )
            y += (len(lines) - 1) * step
            x += wide + gap
        self.y = y + 150


def _evenly(count: int, most: int) -> list[int]:
    """At most `most` of `count` places, the first and the last among them, evenly apart."""
    if count <= most:
        return list(range(count))
    if most == 1:
        return [count - 1]
    return [k * (count - 1) // (most - 1) for k in range(most)]


def _clean_but_held(text: str) -> str:
    return _HELD.join(clean(part) if part.strip() else "" for part in text.split(_HELD))


def _merged(ticks: Sequence[Tick]) -> list[Tick]:
    """Ticks in order, those that read the same as one, its meanings side by side."""
    meanings: dict[tuple[int, Nm, bool | None], list[str]] = {}
    for tick in sorted(ticks, key=lambda tick: tick.length):
        says = meanings.setdefault((tick.at, tick.length, tick.up), [])
        if tick.says not in says:
            says.append(tick.says)
    merged = [Tick(at, length, "; ".join(says), up) for (at, length, up), says in meanings.items()]
    return sorted(merged, key=lambda tick: tick.at)
