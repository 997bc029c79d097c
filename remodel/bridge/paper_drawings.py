"""Drawings for paper: the engine's own, with the looks of its stylesheet written into each shape.

The layout of PDF pages reads no variables and no `:is()` in an SVG, and paints no outline under its
letters. Shapes and words therefore carry their looks themselves, and a word that is read across
lines has a ground of paper.
"""

from __future__ import annotations

import html
import re
from dataclasses import dataclass
from functools import lru_cache

from takeoff.drawing.facts import Drawing
from takeoff.drawing.metrics import width_of
from takeoff.drawing.style import DRAWING_CSS

__all__ = ["PaperDrawing", "Word", "looks", "on_paper"]

_RULE = re.compile(r"^(?P<selector>\.drawing[^{]*)\{(?P<body>[^}]*)\}", re.MULTILINE)
_TEXT = re.compile(
    r'<text class="(?P<cls>[\w-]+)" x="(?P<x>-?\d+)" y="(?P<y>-?\d+)" font-size="(?P<size>\d+)"'
    r'(?: text-anchor="(?P<anchor>\w+)")?(?P<turned> transform="rotate\(-90 -?\d+ '
    r'-?\d+\)")?>(?P<text>[^<]*)</text>'
)
_SHAPE = re.compile(r'<(?P<tag>path|polygon|circle) class="(?P<cls>[\w-]+)"')
_PATTERN = re.compile(r'<pattern id="[^"]+" class="(?P<cls>[\w-]+)"[^>]*><path')
_BASE = {"fill": "none", "stroke": "var(--ink)", "stroke-width": "20"}
_KEPT = ("fill", "stroke", "stroke-width", "stroke-dasharray", "stroke-linecap")
# classes whose words stand on lines and hatches, and are given a ground of paper
_FACES = "Helvetica Neue, Helvetica, Liberation Sans, Arial, DejaVu Sans, sans-serif"
_INK, _INKS = (
    "#16181d",
    {"under": "#3d424b", "note": "#3d424b", "side": "#3d424b", "mark": "#a3341f"},
)
_BOLD = frozenset({"title", "code", "mark", "head", "meets"})
_GROUNDED = frozenset({"code", "size", "name", "mark", "side", "meets"})


@dataclass(frozen=True, slots=True)
class Word:
    """One line of text, measured in hundredths of a millimeter. (x, y) is its start, middle or end
    on the base line."""

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
    """An SVG for paper, `width` x `height` in hundredths of a millimeter, with the text of what it
    shows and its words."""

    title: str
    says: str
    svg: str
    width: int
    height: int
    words: tuple[Word, ...]


def on_paper(drawing: Drawing) -> PaperDrawing:
    """The drawing for a page of a PDF: the same shapes and words, without classes and
    stylesheet."""
    words = tuple(_word(match) for match in _TEXT.finditer(drawing.svg))
    description = re.search(r"<desc [^>]*>([^<]*)</desc>", drawing.svg)
    svg = _TEXT.sub(_worded, drawing.svg)
    svg = re.sub(r"<title .*?</desc>", "", svg, count=1)
    svg = re.sub(
        r' class="drawing" role="img" aria-labelledby="[^"]*"',
        f' font-family="{_FACES}"',
        svg,
        count=1,
    )
    svg = _PATTERN.sub(lambda match: f"{match[0]} {_written(match['cls'], 'pattern')}", svg)
    svg = re.sub(r'(<pattern id="[^"]+") class="[\w-]+"', r"\1", svg)
    svg = _SHAPE.sub(lambda match: f"<{match['tag']} {_written(match['cls'], match['tag'])}", svg)
    return PaperDrawing(
        title=drawing.title,
        says=html.unescape(description[1]) if description else drawing.title,
        svg=svg,
        width=drawing.width,
        height=drawing.height,
        words=words,
    )


def _word(match: re.Match[str]) -> Word:
    return Word(
        text=html.unescape(match["text"]),
        cls=match["cls"],
        x=int(match["x"]),
        y=int(match["y"]),
        size=int(match["size"]),
        anchor=match["anchor"] or "start",
        turned=bool(match["turned"]),
        bold=match["cls"] in _BOLD,
    )


def _worded(match: re.Match[str]) -> str:
    """A line of words as SVG that carries its own looks."""
    word = _word(match)
    ground = _ground(word) if word.cls in _GROUNDED else ""
    bold = ' font-weight="700"' if word.bold else ""
    anchor = "" if word.anchor == "start" else f' text-anchor="{word.anchor}"'
    ink = _INKS.get(word.cls, _INK)
    return (
        f'{ground}<text x="{word.x}" y="{word.y}" font-size="{word.size}" '
        f'fill="{ink}"{bold}{anchor}'
        f"{match['turned'] or ''}>{match['text']}</text>"
    )


def _ground(word: Word) -> str:
    """A patch of paper under a word, so that it can be read across lines and hatches."""
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
        left_edge = word.x - start
        corners = (
            (left_edge, word.y - up),
            (left_edge + wide, word.y - up),
            (left_edge + wide, word.y + down),
            (left_edge, word.y + down),
        )
    return (
        f'<polygon fill="#fff" stroke="none" points="{" ".join(f"{x},{y}" for x, y in corners)}"/>'
    )


@lru_cache(maxsize=1)
def looks() -> dict[str, dict[str, str]]:
    """What the engine's stylesheet says of each class of shapes and of the strokes of each hatch,
    in the colors of paper."""
    colours: dict[str, str] = {}
    classes: dict[str, dict[str, str]] = {}
    for rule in _RULE.finditer(DRAWING_CSS.partition("@media")[0]):
        body = {
            name.strip(): value.strip()
            for name, _, value in (
                declaration.partition(":") for declaration in rule["body"].split(";")
            )
            if value
        }
        for selector in rule["selector"].split(","):
            name = re.fullmatch(r"\s*\.drawing \.([\w-]+)( path)?\s*", selector)
            if selector.strip() == ".drawing":
                colours |= {key: value for key, value in body.items() if key.startswith("--")}
            elif name:
                classes.setdefault(name[1], {}).update(
                    {key: body[key] for key in _KEPT if key in body}
                )
    return {
        cls: {
            key: re.sub(r"var\((--\w+)\)", lambda variable: colours[variable[1]], value)
            for key, value in (_BASE | some).items()
        }
        for cls, some in classes.items()
    }


@lru_cache(maxsize=256)
def _written(cls: str, tag: str) -> str:
    if cls == "hatched":
        return 'stroke="none"'
    known = looks().get(cls)
    if known is None:
        known = {"fill": "none", "stroke": "#16181d", "stroke-width": "20"}
    return " ".join(
        f'{key}="{value}"' for key, value in known.items() if (key, value) != ("stroke-width", "1")
    )
