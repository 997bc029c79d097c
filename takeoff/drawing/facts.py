"""The values of a drawing: what stands in its table, and where things come on the page."""

from __future__ import annotations

from dataclasses import dataclass

from takeoff.drawing.canvas import Canvas, Spot
from takeoff.drawing.layout import Box
from takeoff.drawing.style import DRAWING_CSS, PHONE, PHONE_ROOM, WIDE, Page
from takeoff.drawing.svg import svg_text
from takeoff.units import MM, Nm

__all__ = ["Drawing", "Fact", "Tick", "View", "round_half", "scale_for", "scale_words"]

# kinds of facts that are whole sentences; their labels are the lines that were drawn
_SENTENCES = frozenset({"Drawing", "Numbers", "Note", "Trouble", "Offcut", "Cut in words"})


@dataclass(frozen=True, slots=True)
class Fact:
    """One row of the table beside a drawing: the kind of thing, the words drawn for it, and what
    they mean.

    `drawn` is false where the words found no room in the picture and stand in the table only.
    """

    kind: str
    label: str
    says: str
    drawn: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A finished drawing: its shapes on a canvas, the same as SVG text, and its facts as the rows
    of a table.

    `scale` is the 60 of 1:60 as printed, 0 where it has none. `texts` are the boxes of its words.
    """

    canvas: Canvas
    svg: str
    scale: int
    facts: tuple[Fact, ...]
    texts: tuple[Box, ...]

    @property
    def title(self) -> str:
        return self.canvas.title

    @property
    def width(self) -> int:
        """In hundredths of a millimetre, as the height."""
        return self.canvas.width

    @property
    def height(self) -> int:
        return self.canvas.height

    @property
    def table(self) -> tuple[Fact, ...]:
        """The facts as rows to show. A sentence that is drawn in several lines becomes one row,
        with the whole sentence as its label."""
        rows: list[Fact] = []
        for fact in self.facts:
            sentence = fact.kind in _SENTENCES
            row = Fact(fact.kind, fact.says, "", fact.drawn) if sentence else fact
            if row not in rows:
                rows.append(row)
        return tuple(rows)

    def standalone(self) -> str:
        """The SVG as a file of its own, with the stylesheet inside."""
        return svg_text(self.canvas, stylesheet=DRAWING_CSS)


@dataclass(frozen=True, slots=True)
class Tick:
    """One reading of a running dimension: its place along the page, the length read there, and
    what is there. `up` is how the length is rounded (see `tape`)."""

    at: int
    length: Nm
    says: str
    up: bool | None = None


@dataclass(frozen=True, slots=True)
class View:
    """Turns lengths into places on the page at 1:`scale`; (0, 0) is drawn at (`left`, `bottom`),
    with u to the right and v up; `turned`, with u to the left and v down."""

    left: int
    bottom: int
    scale: int
    turned: bool = False

    def x(self, u: int) -> int:
        return self.left - self.size(u) if self.turned else self.left + self.size(u)

    def y(self, v: int) -> int:
        return self.bottom + self.size(v) if self.turned else self.bottom - self.size(v)

    def box(self, left: int, bottom: int, right: int, top: int) -> Box:
        """Where a rectangle comes on the page."""
        (x0, y0), (x1, y1) = self.spot((left, bottom)), self.spot((right, top))
        return Box(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))

    def size(self, length: int) -> int:
        return round_half(length, self.scale * (MM // 100))

    def spot(self, point: tuple[int, int]) -> Spot:
        return self.x(point[0]), self.y(point[1])


def round_half(value: int, by: int) -> int:
    """`value / by` to the nearest whole number, half up."""
    return (2 * value + by) // (2 * by)


def scale_for(width: int, height: int, *, across: int, up: int, even: bool = True) -> int:
    """The least n, an `even` one if asked, at which `width` x `height`, drawn at 1:n, fits into
    `across` x `up` of the page."""
    unit = MM // 100
    least = max(-(-width // (across * unit)), -(-height // (up * unit)), 2)
    return least + least % 2 if even else least


def scale_words(scale: int, page: Page) -> str:
    """The scale in the words under a title. A screen shows none, because nobody can lay a rule on
    it."""
    return "" if page in (PHONE, PHONE_ROOM, WIDE) else f" · 1:{scale} on paper"
