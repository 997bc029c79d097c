"""Our own drawings on a page of a PDF, set without the detours of the library. Used by
`remodel.printing.pdf` alone.

Of itself the library asks of each element of an SVG all that an SVG may say (filters, masks,
markers, inherited looks, lengths in any unit) and sets words letter by letter, which takes most of
the time of a page of drawings and sets what is written from right to left the wrong way round. A
drawing of ours says its looks on each element, in whole numbers, in few forms: those are written
here; whatever has more to it is left to the library, which is pinned to one release.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from math import inf, pi, sqrt
from typing import Any, NamedTuple

__all__ = ["set_drawings_directly"]

_INHERITED = {"font-family"}  # what the root of a drawing says for all of it
_LOOKS = {"fill", "stroke", "stroke-width", "stroke-dasharray", "stroke-linecap"}
_OWN = {
    "path": _INHERITED | _LOOKS | {"d"},
    "polygon": _INHERITED | _LOOKS | {"points"},
    "circle": _INHERITED | _LOOKS | {"cx", "cy", "r"},
    "text": _INHERITED | {"x", "y", "font-size", "font-weight", "fill", "text-anchor", "transform"},
}
_LINES = re.compile(r"(?:M-?\d+,-?\d+(?:L-?\d+,-?\d+)*Z?)+")
_STEP = re.compile(r"([ML])(-?\d+),(-?\d+)|(Z)")
_CORNERS = re.compile(r"-?\d+,-?\d+(?: -?\d+,-?\d+)*")
_CIRCLES = re.compile(r"(?:M-?\d+,-?\d+a(\d+),\1 0 1,0 \d+,0a\1,\1 0 1,0 -\d+,0)+")
_ONE_CIRCLE = re.compile(r"M(-?\d+),(-?\d+)a(\d+),")
_NUMBERS = re.compile(r"\d+(?: \d+)*")
_COLOUR = re.compile(r"#(?:[0-9a-f]{3}|[0-9a-f]{6})")
_TURN = re.compile(r"rotate\(-90 (-?\d+) (-?\d+)\)")
_SHARE = {"start": 0.0, "middle": 0.5, "end": 1.0}


def set_drawings_directly() -> None:
    """Have the library draw our drawings through this module, in the document it lays out next."""
    from weasyprint.svg import SVG  # type: ignore[import-untyped,unused-ignore]

    by_library: Callable[..., None] = getattr(SVG.draw_node, "by_library", SVG.draw_node)
    lines = _Lines()

    def draw_node(drawn: Any, node: Any, font_size: float, *more: Any, **most: Any) -> None:
        attributes = node.attrib
        tag = node.tag
        if (
            (known := _OWN.get(tag)) is None
            or not attributes.keys() <= known
            or len(node._etree_node)
        ):
            by_library(drawn, node, font_size, *more, **most)
        elif tag == "text":
            if not lines.set(drawn, node.text, attributes):
                by_library(drawn, node, font_size, *more, **most)
        elif (written := _shape(tag, attributes)) is not None:
            drawn.stream.stream.append(written)
        else:
            by_library(drawn, node, font_size, *more, **most)

    draw_node.by_library = by_library  # type: ignore[attr-defined]
    SVG.draw_node = draw_node


def _shape(tag: str, attributes: Mapping[str, str]) -> bytes | None:
    """A shape in the language of a PDF; None where it is not of the forms known here."""
    path = (
        _path(attributes["d"])
        if tag == "path"
        else _polygon(attributes["points"])
        if tag == "polygon"
        else _circle(attributes)
    )
    fill, stroke = attributes.get("fill", "#000"), attributes.get("stroke", "none")
    dashes, width = attributes.get("stroke-dasharray", "0"), attributes.get("stroke-width", "1")
    colours = [colour for colour in (fill, stroke) if colour != "none"]
    if path is None or not all(_COLOUR.fullmatch(colour) for colour in colours):
        return None
    if not (_NUMBERS.fullmatch(dashes) and width.isdecimal()):
        return None
    looks = []
    if fill != "none":
        looks.append(f"{_parts(fill)} rg")
    if stroke != "none":
        cap = 1 if attributes.get("stroke-linecap") == "round" else 0
        looks.append(
            f"{_parts(stroke)} RG {width} w {cap} J 0 j 4 M [{dashes if dashes != '0' else ''}] 0 d"
        )
    end = "n" if not colours else "f" if stroke == "none" else "S" if fill == "none" else "B"
    return f"q {' '.join(looks)} {path} {end} Q".encode()


def _parts(colour: str) -> str:
    """The shares of red, green and blue of a color like #a3341f."""
    digits = colour[1:] if len(colour) == 7 else "".join(2 * digit for digit in colour[1:])
    return " ".join(f"{int(digits[at : at + 2], 16) / 255:.4g}" for at in (0, 2, 4))


def _path(data: str) -> str | None:
    if _LINES.fullmatch(data):
        steps = (
            ("h" if end else f"{x} {y} {'m' if how == 'M' else 'l'}")
            for how, x, y, end in _STEP.findall(data)
        )
        return " ".join(steps)
    if _CIRCLES.fullmatch(data):
        return " ".join(
            _round(int(x) + int(r), int(y), int(r)) for x, y, r in _ONE_CIRCLE.findall(data)
        )
    return None


def _polygon(points: str) -> str | None:
    if not _CORNERS.fullmatch(points):
        return None
    first, *others = (point.replace(",", " ") for point in points.split(" "))
    return f"{first} m {''.join(f'{other} l ' for other in others)}h"


def _circle(attributes: Mapping[str, str]) -> str | None:
    if not {"cx", "cy", "r"} <= attributes.keys() or not attributes["r"].isdecimal():
        return None
    return _round(int(attributes["cx"]), int(attributes["cy"]), int(attributes["r"]))


def _round(x: int, y: int, radius: int) -> str:
    """A circle as four curves, as near as curves come to one."""
    bend = round(radius / sqrt(pi))
    r = radius
    return (
        f"{x + r} {y} m {x + r} {y + bend} {x + bend} {y + r} {x} {y + r} c "
        f"{x - bend} {y + r} {x - r} {y + bend} {x - r} {y} c {x - r} {y - bend} {x - bend} "
        f"{y - r} {x} {y - r} c "
        f"{x + bend} {y - r} {x + r} {y - bend} {x + r} {y} c h"
    )


class _Line(NamedTuple):
    """A line of words with its looks, as the attributes of a drawing give them."""

    words: str
    size: str
    weight: str
    family: str


class _Lines:
    """Lines of words. Each is shaped as a whole, and only once however often it stands in the
    document."""

    def __init__(self) -> None:
        self._shaped: dict[_Line, tuple[float, bytes]] = {}

    def set(self, drawn: Any, words: str | None, attributes: Mapping[str, str]) -> bool:
        """Write one line; False where it is not of the form known here."""
        turn = _TURN.fullmatch(attributes.get("transform", "rotate(-90 0 0)"))
        fill, size, weight = (
            attributes.get("fill", "#000"),
            attributes.get("font-size", ""),
            attributes.get("font-weight", "400"),
        )
        if not (
            words
            and {"x", "y"} <= attributes.keys()
            and turn
            and _COLOUR.fullmatch(fill)
            and size.isdecimal()
        ):
            return False
        if "transform" in attributes and (turn[1], turn[2]) != (attributes["x"], attributes["y"]):
            return False
        line = _Line(words, size, weight, attributes.get("font-family", "sans-serif"))
        if line not in self._shaped:
            self._shaped[line] = _shaped(drawn, line)
        wide, glyphs = self._shaped[line]
        x, y = float(attributes["x"]), float(attributes["y"])
        back = wide * _SHARE[attributes.get("text-anchor", "start")]
        # along the line, up from it, and where it begins; y grows downwards in a drawing
        place = (
            f"0 -1 -1 0 {x:g} {y + back:g}"
            if "transform" in attributes
            else f"1 0 0 -1 {x - back:g} {y:g}"
        )
        head = f"q {_parts(fill)} rg BT 0 Tr {place} Tm ".encode()
        drawn.stream.stream.append(head + glyphs + b" ET Q")
        return True


def _shaped(drawn: Any, line: _Line) -> tuple[float, bytes]:
    """The width of a line of words, and its letters as the library writes them, without their
    place."""
    from weasyprint.css.properties import INITIAL_VALUES  # type: ignore[import-untyped,unused-ignore]
    from weasyprint.draw.text import draw_first_line  # type: ignore[import-untyped,unused-ignore]
    from weasyprint.matrix import Matrix  # type: ignore[import-untyped,unused-ignore]
    from weasyprint.svg.text import Style, TextBox  # type: ignore[import-untyped,unused-ignore]
    from weasyprint.text.line_break import split_first_line  # type: ignore[import-untyped,unused-ignore]

    style = Style(INITIAL_VALUES)
    style.font_config = drawn.font_config
    style["font_family"] = [name.strip(" \"'") for name in line.family.split(",")]
    style["font_weight"] = int(line.weight)
    style["font_size"] = float(line.size)
    layout, _, _, wide, _, baseline = split_first_line(line.words, style, drawn.context, inf, 0)
    layout.reactivate(style)
    box = TextBox(layout, style)
    box.baseline = baseline
    stream = drawn.stream
    stream.push_state()  # so that the font is named, whatever was set before
    begins = len(stream.stream)
    draw_first_line(stream, box, "none", "none", Matrix())
    written = stream.stream[begins:]
    del stream.stream[begins:]
    stream.pop_state()
    return wide, b" ".join(written[1:])  # without the place, which comes first
