"""An outline drawn while it is walked, as far as it goes, with what is missing to close it."""

from __future__ import annotations

from dataclasses import dataclass

from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from remodel.bridge.outlines import WalkedSoFar
from remodel.pages.house.forms.walks import Walk
from remodel.web.lengths import marked_length
from remodel.web.parts import Column, Drawing, Table

__all__ = ["Label", "OutlineShown", "outline_shown"]

_WIDE, _TALL = 440, 340  # the most a room takes of the drawing's box, in its own units
_SIDE, _TOP = 165, 48  # for the labels around it
_INCH = 25_400_000


@dataclass(frozen=True, slots=True)
class Label:
    x: int
    y: int
    text: str
    anchor: str = "middle"


@dataclass(frozen=True, slots=True)
class OutlineShown:
    """The drawing of a walk, and words that say whether it closes. `closes` is None where too
    little is known."""

    drawing: Drawing | None
    words: str
    closes: bool | None


def outline_shown(walk: Walk, *, tolerance: int = _INCH) -> OutlineShown:
    """Draw what can be read of a walk."""
    so_far, walls = walk.walked()
    units = walk.units
    words, closes = _words(so_far, units, tolerance)
    if not walls:
        return OutlineShown(None, words, closes)
    corners = so_far.corners
    spots, right, down = _fit(corners)
    labels = []
    for (letter, nm), here, there in zip(walls, spots, spots[1:], strict=False):
        labels.append(_label(f"{letter}  {marked_length(nm, units)}", here, there))
    gap = closes is False and so_far.gap > 0
    svg: SafeString = render_to_string(
        "edit/_outline_drawing.svg",
        {
            "width": right + 2 * _SIDE,
            "height": down + 2 * _TOP,
            "path": " ".join(f"{x},{y}" for x, y in spots),
            "start": spots[0],
            "end": spots[-1],
            "gap": gap,
            "labels": labels,
            "closed": closes,
            "desc": words,
        },
    )
    rows = [[f"Wall {letter}", marked_length(nm, units)] for letter, nm in walls]
    facts = Table(
        id="outline-facts",
        caption="The walls in the drawing",
        columns=[Column(title="Wall"), Column(title="Length", number=True)],
        rows=rows,
        caption_hidden=True,
    )
    drawing = Drawing(
        id="outline-drawing",
        caption="The outline from above, wall A along the top",
        svg=svg,
        facts=facts,
    )
    return OutlineShown(drawing, words, closes)


def _words(walk: WalkedSoFar, units: str, tolerance: int) -> tuple[str, bool | None]:
    """Whether a walk closes, in words, and the same as True or False; None where there are too few
    walls to say."""
    walls, gap = len(walk.corners) - 1, walk.gap
    if walls < 3:
        return "Enter each wall in turn; the drawing grows with them.", None
    shown = marked_length(gap, units)
    if walk.turn != 360:
        words = f"The turns add up to {walk.turn:g} degrees, and a closed room has 360."
        return f"{words} From the last wall's end to the start it is {shown}.", False
    if gap == 0:
        return "It closes exactly.", True
    if gap <= tolerance:
        return f"It closes within {shown}, which is spread over the walls.", True
    most = marked_length(tolerance, units)
    words = (
        f"It does not close yet: {shown} from the last wall's end to the start, and at most "
        f"{most} is spread."
    )
    return f"{words} Measure again, or add the walls still missing.", False


def _fit(corners: tuple[tuple[int, int], ...]) -> tuple[list[tuple[int, int]], int, int]:
    leftmost, top = min(x for x, _ in corners), min(y for _, y in corners)
    wide, tall = max(x for x, _ in corners) - leftmost, max(y for _, y in corners) - top
    # the larger of the two ratios decides, in whole numbers
    by_width = wide * _TALL >= tall * _WIDE
    num, den = ((_WIDE, wide) if by_width else (_TALL, tall)) if wide or tall else (1, 1)
    spots = [
        (_SIDE + (x - leftmost) * num // den, _TOP + (y - top) * num // den) for x, y in corners
    ]
    return spots, wide * num // den, tall * num // den


def _label(text: str, here: tuple[int, int], there: tuple[int, int]) -> Label:
    """The label of a wall, placed outside the room. The room lies on the right of a clockwise
    walk."""
    x, y = (here[0] + there[0]) // 2, (here[1] + there[1]) // 2
    dx, dy = there[0] - here[0], there[1] - here[1]
    side = 14 if dy > 0 else -14
    anchor = "start" if dy > 0 else "end"
    if min(abs(dx), abs(dy)) * 3 > max(abs(dx), abs(dy)):
        return Label(x + side, y + (28 if dx < 0 else -10), text, anchor)
    if abs(dx) >= abs(dy):
        return Label(x, y - 14 if dx > 0 else y + 36, text)
    return Label(x + side, y + 9, text, anchor)
