"""A canvas written as SVG: every text is escaped, and nothing is written that a page must not run.

No element carries a style or a handler; looks come from the classes and `style.DRAWING_CSS`. Ids
begin with the drawing's own prefix.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from takeoff.cards.clean_text import clean
from takeoff.drawing.canvas import Canvas, Circle, Lines, Outlines, Polygon, Spot, TextLine
from takeoff.errors import BadValue

__all__ = [
    "MOST_BYTES",
    "MOST_ELEMENTS",
    "Hatch",
    "escape",
    "hatches_of",
    "in_svg",
    "mm",
    "svg_text",
]

MOST_BYTES = 100_000
MOST_ELEMENTS = 1_500


def escape(text: str) -> str:
    """`text` with everything escaped that markup reads, in text and in attributes."""
    escaped = text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return escaped.replace('"', "&quot;").replace("'", "&#39;")


@dataclass(frozen=True, slots=True)
class Hatch:
    """One tile of a hatch: the size of the tile, and the strokes in it as path data."""

    name: str
    gap: int
    path: str


# Hatches are told apart by direction and by density, never by color alone.
_HATCHES = (
    Hatch("backer", 140, "M-35,35L35,-35M0,140L140,0M105,175L175,105"),
    Hatch("blocking", 200, "M0,0L200,200M200,0L0,200"),
    Hatch("opening", 320, "M-80,80L80,-80M0,320L320,0M240,400L400,240"),
    Hatch("unboarded", 260, "M0,0L260,260M-65,195L65,325M195,-65L325,65"),
)


def hatches_of(canvas: Canvas) -> tuple[Hatch, ...]:
    """The hatches that the canvas is filled with, always in the same order."""
    used = {shape.hatch for shape in canvas.shapes if isinstance(shape, Polygon)}
    return tuple(hatch for hatch in _HATCHES if hatch.name in used)


def in_svg(shape: Polygon | Lines | Outlines | Circle) -> tuple[str, str]:
    """The tag of a shape, and the attributes that say where it is."""
    match shape:
        case Polygon(corners=corners):
            return "polygon", f'points="{_spots(corners, " ")}"'
        case Lines(runs=runs):
            open_lines = "".join(f"M{_spots(run, 'L')}" for run in runs)
            return "path", f'd="{open_lines}"'
        case Outlines(outlines=outlines, circles=circles):
            closed = "".join(f"M{_spots(outline, 'L')}Z" for outline in outlines)
            # two half circles, from the left end of the level diameter and back
            rounds = "".join(
                f"M{x - r},{y}a{r},{r} 0 1,0 {2 * r},0a{r},{r} 0 1,0 {-2 * r},0"
                for x, y, r in circles
            )
            return "path", f'd="{closed}{rounds}"'
        case Circle(x=x, y=y, radius=radius):
            return "circle", f'cx="{x}" cy="{y}" r="{radius}"'


def _spots(spots: tuple[Spot, ...], between: str) -> str:
    return between.join([f"{x},{y}" for x, y in spots])


def svg_text(canvas: Canvas, *, stylesheet: str = "") -> str:
    """The drawing as SVG, with the stylesheet inside it where one is given.

    Raises `BadValue` where it is too much for a page; the stylesheet does not count.
    """
    hatches = hatches_of(canvas)
    elements = list(_elements(canvas))
    name = canvas.prefix
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" role="img" '
        f'aria-labelledby="{name}-title {name}-desc" '
        f'viewBox="0 0 {canvas.width} {canvas.height}" '
        f'width="{mm(canvas.width)}" height="{mm(canvas.height)}">'
    )
    patterns = "".join(
        f'<pattern id="{name}-{hatch.name}" class="{hatch.name}-hatch" width="{hatch.gap}" '
        f'height="{hatch.gap}" patternUnits="userSpaceOnUse"><path d="{hatch.path}"/></pattern>'
        for hatch in hatches
    )
    body = (
        f'<title id="{name}-title">{escape(clean(canvas.title))}</title>'
        f'<desc id="{name}-desc">{escape(clean(canvas.says))}</desc>'
        f"{f'<defs>{patterns}</defs>' if patterns else ''}{''.join(elements)}</svg>"
    )
    # the root, the title and the description; each hatch is a pattern with a path in it
    count = len(elements) + 3 + 2 * len(hatches)
    size = len(head.encode()) + len(body.encode())
    if count > MOST_ELEMENTS or size > MOST_BYTES:
        raise BadValue(
            f"{canvas.title}: the drawing has {count} parts and {size} bytes, more than a page "
            f"takes ({MOST_ELEMENTS} and {MOST_BYTES}); divide the surface in two"
        )
    return f"{head}<style>{stylesheet}</style>{body}" if stylesheet else head + body


def _elements(canvas: Canvas) -> Iterator[str]:
    for shape in canvas.shapes:
        if isinstance(shape, TextLine):
            yield _text_element(shape)
            continue
        tag, place = in_svg(shape)
        yield f'<{tag} class="{shape.cls}" {place}/>'
        if isinstance(shape, Polygon) and shape.hatch is not None:
            fill = f"url(#{canvas.prefix}-{shape.hatch})"
            yield f'<polygon class="hatched" fill="{fill}" {place}/>'


def _text_element(line: TextLine) -> str:
    turn = f' transform="rotate(-90 {line.x} {line.y})"' if line.turned else ""
    anchor = "" if line.anchor == "start" else f' text-anchor="{line.anchor}"'
    return (
        f'<text class="{line.cls}" x="{line.x}" y="{line.y}" '
        f'font-size="{line.size}"{anchor}{turn}>{escape(line.text)}</text>'
    )


def mm(hundredths: int) -> str:
    """Hundredths of a millimetre as a size in SVG and CSS: 1234 is `12.34mm`."""
    return f"{hundredths // 100}.{hundredths % 100:02d}mm"
