"""A small builder of SVG: shapes by class and whole numbers, every text escaped, nothing that a
page must not run.

The unit is a hundredth of a millimetre on paper, so that every coordinate is a whole number. No
element carries a style or a handler; looks come from the classes and `style.DRAWING_CSS`. Ids begin
with the drawing's own prefix, so that several drawings can stand on one page.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import hypot

from takeoff.cards.clean_text import clean
from takeoff.errors import BadValue

__all__ = ["MOST_BYTES", "MOST_ELEMENTS", "Canvas", "Spot", "escape"]

MOST_BYTES = 100_000
MOST_ELEMENTS = 1_500
_HALF_DOUBLE = 42

Spot = tuple[int, int]


def escape(text: str) -> str:
    """`text` cleaned (see `clean_text.clean`) and with everything escaped that markup reads, in
    text and in attributes."""
    escaped = clean(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return escaped.replace('"', "&quot;").replace("'", "&#39;")


@dataclass(frozen=True, slots=True)
class _Hatch:
    name: str
    gap: int
    path: str


# One tile each: its size, and the strokes in it. Told apart by direction and by density, never by
# colour alone.
_HATCHES = (
    _Hatch("backer", 140, "M-35,35L35,-35M0,140L140,0M105,175L175,105"),
    _Hatch("blocking", 200, "M0,0L200,200M200,0L0,200"),
    _Hatch("unboarded", 260, "M0,0L260,260M-65,195L65,325M195,-65L325,65"),
)


class Canvas:
    """Collects shapes of one drawing and gives its SVG text."""

    def __init__(self, prefix: str) -> None:
        if not re.fullmatch(r"[A-Za-z][A-Za-z0-9_-]*", prefix):
            raise BadValue(
                "A drawing's prefix must be letters, digits, - and _, like 'wall-3'; got "
                f"{prefix!r}"
            )
        self.prefix = prefix
        self._parts: list[str] = []
        self._hatches: set[str] = set()
        self._count = 0
        self._open = 0

    def _add(self, element: str) -> None:
        self._count += 1
        self._parts.append(element)

    def polygon(self, points: Iterable[Spot], cls: str, *, hatch: str | None = None) -> None:
        corners = " ".join(f"{x},{y}" for x, y in points)
        self._add(f'<polygon class="{cls}" points="{corners}"/>')
        if hatch is not None:
            self._hatches.add(hatch)
            fill = f"url(#{self.prefix}-{hatch})"
            self._add(f'<polygon class="hatched" fill="{fill}" points="{corners}"/>')

    def rectangle(
        self, left: int, top: int, right: int, bottom: int, cls: str, *, hatch: str | None = None
    ) -> None:
        self.polygon(((left, top), (right, top), (right, bottom), (left, bottom)), cls, hatch=hatch)

    def lines(self, runs: Iterable[Sequence[Spot]], cls: str) -> None:
        """Any number of open lines as one element."""
        path = "".join(
            f"M{run[0][0]},{run[0][1]}" + "".join(f"L{x},{y}" for x, y in run[1:])
            for run in runs
            if len(run) > 1
        )
        if path:
            self._add(f'<path class="{cls}" d="{path}"/>')

    def double_lines(self, runs: Iterable[Sequence[Spot]], cls: str) -> None:
        """Each straight line as two, close on either side of it; drawn as such, for a light line
        over a dark one is lost where a screen shows the page small."""
        pairs: list[list[Spot]] = []
        for (x0, y0), (x1, y1) in runs:
            long = hypot(x1 - x0, y1 - y0) or 1
            aside, off = (
                round((y1 - y0) * _HALF_DOUBLE / long),
                round((x1 - x0) * _HALF_DOUBLE / long),
            )
            pairs += [
                [(x0 + k * aside, y0 - k * off), (x1 + k * aside, y1 - k * off)] for k in (1, -1)
            ]
        self.lines(pairs, cls)

    def shapes(
        self, shapes: Iterable[Sequence[Spot]], circles: Iterable[tuple[int, int, int]], cls: str
    ) -> None:
        """Any number of closed outlines, and of circles as (x, y, radius), as one element."""
        path = "".join("M" + "L".join(f"{x},{y}" for x, y in shape) + "Z" for shape in shapes)
        path += "".join(
            f"M{x - r},{y}a{r},{r} 0 1,0 {2 * r},0a{r},{r} 0 1,0 {-2 * r},0" for x, y, r in circles
        )
        if path:
            self._add(f'<path class="{cls}" d="{path}"/>')

    def circle(self, x: int, y: int, radius: int, cls: str) -> None:
        self._add(f'<circle class="{cls}" cx="{x}" cy="{y}" r="{radius}"/>')

    def text(
        self,
        x: int,
        y: int,
        text: str,
        cls: str,
        *,
        size: int,
        anchor: str = "start",
        turned: bool = False,
    ) -> None:
        """One line of text; `turned` ones read upwards. `anchor` is start, middle or end."""
        place = f' transform="rotate(-90 {x} {y})"' if turned else ""
        hold = "" if anchor == "start" else f' text-anchor="{anchor}"'
        self._add(
            f'<text class="{cls}" x="{x}" y="{y}" '
            f'font-size="{size}"{hold}{place}>{escape(text)}</text>'
        )

    def begin(self, cls: str) -> None:
        self._count += 1
        self._open += 1
        self._parts.append(f'<g class="{cls}">')

    def end(self) -> None:
        self._open -= 1
        self._parts.append("</g>")

    def svg(self, width: int, height: int, *, title: str, says: str) -> str:
        """The whole drawing, `width` x `height` on paper; raises `BadValue` where it is too much
        for a page."""
        hatches = "".join(
            f'<pattern id="{self.prefix}-{hatch.name}" class="{hatch.name}-hatch" '
            f'width="{hatch.gap}" '
            f'height="{hatch.gap}" patternUnits="userSpaceOnUse"><path d="{hatch.path}"/></pattern>'
            for hatch in _HATCHES
            if hatch.name in self._hatches
        )
        count = self._count + 3 + 2 * len(self._hatches)
        text = (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" role="img" '
            f'aria-labelledby="{self.prefix}-title {self.prefix}-desc" viewBox="0 0 {width} '
            f'{height}" '
            f'width="{_mm(width)}" height="{_mm(height)}">'
            f'<title id="{self.prefix}-title">{escape(title)}</title>'
            f'<desc id="{self.prefix}-desc">{escape(says)}</desc>'
            f"{f'<defs>{hatches}</defs>' if hatches else ''}{''.join(self._parts)}</svg>"
        )
        if count > MOST_ELEMENTS or len(text.encode()) > MOST_BYTES:
            raise BadValue(
                f"{title}: the drawing has {count} parts and {len(text.encode())} bytes, more than "
                "a page takes "
                f"({MOST_ELEMENTS} and {MOST_BYTES}); divide the surface in two"
            )
        return text


def _mm(hundredths: int) -> str:
    return f"{hundredths // 100}.{hundredths % 100:02d}mm"
