"""Samples of every line and hatch, and words for each for a person who cannot see it."""

from __future__ import annotations

from takeoff.drawing.canvas import Sketch

__all__ = ["SAMPLES", "draw_sample"]

SAMPLES = {
    "tapered": "a double line",
    "cut": "a line of long dashes",
    "butt": "a heavy solid line",
    "floating": "a heavy line of dashes and dots",
    "backer": "a slanted hatch",
    "blocking": "a crossed hatch",
    "unboarded": "a wide slanted hatch",
    "member": "a pair of dashed lines",
    "nailer": "a pair of short-dashed lines",
    "opening": "a hatched rectangle with a heavy rim",
    "hole": "a rectangle with a cross",
    "pipe": "a dotted line",
    "glass": "three thin lines in a wall",
    "swing": "a dashed quarter circle",
    "hung": "a grey board",
    "dot": "a small circle",
    "saw": "a heavy line with a number",
    "later": "a line of short dashes with a number",
}


def draw_sample(sketch: Sketch, key: str, x: int, y: int, wide: int) -> None:
    """Draw a short piece of the line, hatch or mark, `wide` long, its middle at height `y`."""
    line = [[(x, y), (x + wide, y)]]
    if key == "tapered":
        sketch.double_lines(line, "taper")
    elif key == "member":
        sketch.lines(
            [[(x, y - 70), (x + wide, y - 70)], [(x, y + 70), (x + wide, y + 70)]], "member"
        )
    elif key in ("backer", "blocking", "unboarded"):
        sketch.rectangle(x, y - 130, x + wide, y + 130, "backer", hatch=key)
    elif key == "glass":
        sketch.lines(
            [[(x, y + off), (x + wide, y + off)] for off in (-70, 0, 70)],
            "glass",
        )
    elif key == "hung":
        sketch.rectangle(x, y - 130, x + wide, y + 130, "hung")
    elif key == "opening":
        sketch.rectangle(x, y - 130, x + wide, y + 130, "opening", hatch="opening")
    elif key == "hole":
        sketch.rectangle(x + 300, y - 130, x + wide - 300, y + 130, "hole")
        sketch.lines(
            [
                [(x + 250, y), (x + wide - 250, y)],
                [(x + wide // 2, y - 180), (x + wide // 2, y + 180)],
            ],
            "centre",
        )
    elif key == "dot":
        sketch.circle(x + wide // 2, y, 110, "hole")
    else:
        sketch.lines(line, key)
