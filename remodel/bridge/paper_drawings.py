"""A canvas written as SVG for paper, with the looks of the stylesheet in each shape.

The library that lays out PDF pages reads no variables and no `:is()` in an SVG, and paints no
outline under its letters. So shapes and words carry their looks themselves, and a word that stands
on lines gets a ground of paper.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from takeoff.cards.clean_text import clean
from takeoff.drawing.canvas import Canvas, Polygon, TextLine
from takeoff.drawing.facts import Drawing
from takeoff.drawing.metrics import width_of
from takeoff.drawing.style import DRAWING_CSS
from takeoff.drawing.svg import escape, hatches_of, in_svg, mm

__all__ = ["PaperDrawing", "Word", "looks", "on_paper"]

_RULE = re.compile(r"^(?P<selector>\.drawing[^{]*)\{(?P<body>[^}]*)\}", re.MULTILINE)
_BASE = {"fill": "none", "stroke": "var(--ink)", "stroke-width": "20"}
_KEPT = ("fill", "stroke", "stroke-width", "stroke-dasharray", "stroke-linecap")
_FACES = "Helvetica Neue, Helvetica, Liberation Sans, Arial, DejaVu Sans, sans-serif"
_INK, _INKS = (
    "#16181d",
    {
        "under": "#3d424b",
        "note": "#3d424b",
        "side": "#3d424b",
        "mark": "#a3341f",
        "bar-words": "#fff",
    },
)
_BOLD = frozenset({"title", "code", "mark", "head", "meets", "bar-words"})
# classes whose words stand on lines and hatches, and are given a ground of paper
_GROUNDED = frozenset({"code", "size", "name", "mark", "side", "meets"})


@dataclass(frozen=True, slots=True)
class Word:
    """One line of text, in hundredths of a millimetre. (x, y) is the start, middle or end
    (`anchor`) of its base line."""

    text: str
    cls: str
    x: int
    y: int
    size: int
    anchor: str
    turned: bool
    bold: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperDrawing:
    """A drawing for paper, `width` x `height` in hundredths of a millimetre. `says` tells what it
    shows; `words` are its lines of text."""

    title: str
    says: str
    svg: str
    width: int
    height: int
    words: tuple[Word, ...]


def on_paper(drawing: Drawing) -> PaperDrawing:
    """The drawing for a page of a PDF: the same shapes and words, with neither classes nor a
    stylesheet."""
    canvas = drawing.canvas
    words = [_word(shape) for shape in canvas.shapes if isinstance(shape, TextLine)]
    patterns = "".join(
        f'<pattern id="{canvas.prefix}-{hatch.name}" width="{hatch.gap}" height="{hatch.gap}" '
        f'patternUnits="userSpaceOnUse"><path {_look(f"{hatch.name}-hatch")} d="{hatch.path}"/>'
        "</pattern>"
        for hatch in hatches_of(canvas)
    )
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" font-family="{_FACES}" '
        f'viewBox="0 0 {canvas.width} {canvas.height}" '
        f'width="{mm(canvas.width)}" height="{mm(canvas.height)}">'
        f"{f'<defs>{patterns}</defs>' if patterns else ''}{''.join(_elements(canvas))}</svg>"
    )
    return PaperDrawing(
        title=canvas.title,
        says=clean(canvas.says),
        svg=svg,
        width=canvas.width,
        height=canvas.height,
        words=tuple(words),
    )


def _elements(canvas: Canvas) -> Iterator[str]:
    for shape in canvas.shapes:
        if isinstance(shape, TextLine):
            yield _text_element(_word(shape))
            continue
        tag, place = in_svg(shape)
        yield f"<{tag} {_look(shape.cls)} {place}/>"
        if isinstance(shape, Polygon) and shape.hatch is not None:
            fill = f"url(#{canvas.prefix}-{shape.hatch})"
            yield f'<polygon stroke="none" fill="{fill}" {place}/>'


def _word(line: TextLine) -> Word:
    return Word(
        text=line.text,
        cls=line.cls,
        x=line.x,
        y=line.y,
        size=line.size,
        anchor=line.anchor,
        turned=line.turned,
        bold=line.cls in _BOLD,
    )


def _text_element(word: Word) -> str:
    """A line of words that carries its looks."""
    ground = _ground(word) if word.cls in _GROUNDED else ""
    bold = ' font-weight="700"' if word.bold else ""
    anchor = "" if word.anchor == "start" else f' text-anchor="{word.anchor}"'
    turn = f' transform="rotate(-90 {word.x} {word.y})"' if word.turned else ""
    ink = _INKS.get(word.cls, _INK)
    return (
        f'{ground}<text x="{word.x}" y="{word.y}" font-size="{word.size}" '
        f'fill="{ink}"{bold}{anchor}{turn}>{escape(word.text)}</text>'
    )


def _ground(word: Word) -> str:
    """Paper under a word, so that it is read across lines and hatches."""
    wide = width_of(word.text, word.size, bold=word.bold) * 90 // 100
    start = {"start": 0, "middle": wide // 2, "end": wide}[word.anchor]
    up, down = word.size * 80 // 100, word.size * 22 // 100
    if word.turned:
        low = word.y + start
        corners = (
            (word.x - up, low),
            (word.x - up, low - wide),
            (word.x + down, low - wide),
            (word.x + down, low),
        )
    else:
        begin = word.x - start
        corners = (
            (begin, word.y - up),
            (begin + wide, word.y - up),
            (begin + wide, word.y + down),
            (begin, word.y + down),
        )
    return (
        f'<polygon fill="#fff" stroke="none" points="{" ".join(f"{x},{y}" for x, y in corners)}"/>'
    )


@lru_cache(maxsize=1)
def looks() -> dict[str, dict[str, str]]:
    """The looks that the stylesheet gives each class of shapes, and the strokes of each hatch, in
    the colors of paper."""
    colours: dict[str, str] = {}
    by_class: dict[str, dict[str, str]] = {}
    for rule in _RULE.finditer(DRAWING_CSS.partition("@media")[0]):
        body = {
            name.strip(): value.strip()
            for name, _, value in (entry.partition(":") for entry in rule["body"].split(";"))
            if value
        }
        for selector in rule["selector"].split(","):
            name = re.fullmatch(r"\s*\.drawing \.([\w-]+)( path)?\s*", selector)
            if selector.strip() == ".drawing":
                colours |= {key: value for key, value in body.items() if key.startswith("--")}
            elif name:
                by_class.setdefault(name[1], {}).update(
                    {key: body[key] for key in _KEPT if key in body}
                )
    return {
        cls: {
            key: re.sub(r"var\((--\w+)\)", lambda match: colours[match[1]], value)
            for key, value in (_BASE | own).items()
        }
        for cls, own in by_class.items()
    }


@lru_cache(maxsize=256)
def _look(cls: str) -> str:
    """The looks of a class as attributes of an element."""
    look = looks().get(cls, {"fill": "none", "stroke": "#16181d", "stroke-width": "20"})
    return " ".join(
        f'{key}="{value}"' for key, value in look.items() if (key, value) != ("stroke-width", "1")
    )
