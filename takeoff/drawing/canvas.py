"""A drawing as values: shapes and lines of text, kept as they are until a writer sets them.

`svg.svg_text` writes a canvas for a screen. The unit is a hundredth of a millimetre on paper, so
that every coordinate is a whole number; x runs to the right and y down. A shape carries the class
of what it shows and no look of its own: how a class looks stands in `style`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import hypot

from takeoff.cards.clean_text import clean
from takeoff.errors import BadValue

__all__ = [
    "Canvas",
    "Circle",
    "Lines",
    "Outlines",
    "Polygon",
    "Shape",
    "Sketch",
    "Spot",
    "TextLine",
]

_HALF_DOUBLE = 42

Spot = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Polygon:
    """One closed outline. `hatch` names the hatch it is filled with, where it has one."""

    cls: str
    corners: tuple[Spot, ...]
    hatch: str | None = None


@dataclass(frozen=True, slots=True)
class Lines:
    """Any number of open lines that are drawn as one shape."""

    cls: str
    runs: tuple[tuple[Spot, ...], ...]


@dataclass(frozen=True, slots=True)
class Outlines:
    """Any number of closed outlines, and of circles as (x, y, radius), that are drawn as one
    shape."""

    cls: str
    outlines: tuple[tuple[Spot, ...], ...]
    circles: tuple[tuple[int, int, int], ...]


@dataclass(frozen=True, slots=True)
class Circle:
    cls: str
    x: int
    y: int
    radius: int


@dataclass(frozen=True, slots=True)
class TextLine:
    """One line of text on its base line, which starts, centers or ends (`anchor`) at (x, y). A
    `turned` one reads upward. The text is clean (see `clean_text.clean`) and not escaped."""

    cls: str
    x: int
    y: int
    text: str
    size: int
    anchor: str = "start"
    turned: bool = False


Shape = Polygon | Lines | Outlines | Circle | TextLine


@dataclass(frozen=True, slots=True, kw_only=True)
class Canvas:
    """A finished drawing, `width` x `height`, its shapes in the order they are painted.

    `prefix` begins every id of the drawing, so that several drawings can stand on one page. `says`
    tells what it shows to a person who cannot see it.
    """

    prefix: str
    title: str
    says: str
    width: int
    height: int
    shapes: tuple[Shape, ...]


class Sketch:
    """A canvas under way: takes shapes one after the other."""

    def __init__(self, prefix: str) -> None:
        if not re.fullmatch(r"[A-Za-z][A-Za-z0-9_-]*", prefix):
            raise BadValue(
                "A drawing's prefix must be letters, digits, - and _, for example 'wall-3'; got "
                f"{prefix!r}"
            )
        self.prefix = prefix
        self._shapes: list[Shape] = []

    def polygon(self, points: Iterable[Spot], cls: str, *, hatch: str | None = None) -> None:
        self._shapes.append(Polygon(cls, tuple(points), hatch))

    def rectangle(
        self, left: int, top: int, right: int, bottom: int, cls: str, *, hatch: str | None = None
    ) -> None:
        self.polygon(((left, top), (right, top), (right, bottom), (left, bottom)), cls, hatch=hatch)

    def lines(self, runs: Iterable[Sequence[Spot]], cls: str) -> None:
        """Add open lines as one shape. A line of a single spot is left out."""
        drawn = tuple(tuple(run) for run in runs if len(run) > 1)
        if drawn:
            self._shapes.append(Lines(cls, drawn))

    def double_lines(self, runs: Iterable[Sequence[Spot]], cls: str) -> None:
        """Add each straight line as two, close on either side of it.

        They are two lines, and not a light one over a dark one, because the light one is lost where
        a screen shows the page small.
        """
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
        """Add closed outlines, and circles as (x, y, radius), as one shape."""
        outlines = tuple(tuple(shape) for shape in shapes)
        rounds = tuple(circles)
        if outlines or rounds:
            self._shapes.append(Outlines(cls, outlines, rounds))

    def circle(self, x: int, y: int, radius: int, cls: str) -> None:
        self._shapes.append(Circle(cls, x, y, radius))

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
        """Add one line of text; see `TextLine`."""
        self._shapes.append(TextLine(cls, x, y, clean(text), size, anchor, turned))

    def canvas(self, width: int, height: int, *, title: str, says: str) -> Canvas:
        """The drawing as it stands now, `width` x `height`."""
        return Canvas(
            prefix=self.prefix,
            title=title,
            says=says,
            width=width,
            height=height,
            shapes=tuple(self._shapes),
        )
