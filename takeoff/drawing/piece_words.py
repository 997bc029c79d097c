"""The words on the drawing of a lying piece."""

from __future__ import annotations

import re
from collections.abc import Iterator

from takeoff.cards.card_words import hole_check
from takeoff.cards.marks import HoleMark
from takeoff.cards.sides import PieceSide
from takeoff.cards.tape import tape
from takeoff.drawing.canvas import Spot
from takeoff.drawing.layout import Box
from takeoff.drawing.on_page import CLEAR, PieceOnPage, hole_reach
from takeoff.drawing.style import SMALL, TEXT
from takeoff.units import Nm

__all__ = ["write_words"]


def write_words(on: PieceOnPage) -> list[str]:
    """Write the names of notches and holes, the code, and what each edge meets. The edges that have
    no room for their words are returned, in words."""
    picture, view = on.picture, on.view
    for notch in on.card.notches:
        area = notch.area
        (x0, y0), (x1, y1) = view.spot((area.left, area.near)), view.spot((area.right, area.far))
        x = (x0 + x1) // 2
        spots = [(x, y1 + (y0 - y1) * k // 8 + SMALL // 4, "middle") for k in (4, 3, 5, 2, 6)]
        size = (
            f"{tape(Nm(area.right - area.left), on.units)} x "
            f"{tape(Nm(area.far - area.near), on.units)}"
        )
        kept = picture.places.kept
        picture.places.kept = []  # the notch itself is kept clear of other words, not of its own
        says = f"{size} as it lies; {notch.steps[0]}"
        picture.label_in(notch.name, spots, Box(x0, y1, x1, y0).grown(-60), kind="Notch", says=says)
        picture.places.kept = kept
    _code(on)
    for hole in on.card.holes:
        _hole_words(on, hole)
    return list(_side_words(on))


def _code(on: PieceOnPage) -> None:
    """The piece's code, large where it comes in."""
    frame = on.frame
    sizes = [TEXT * 16 // 10, SMALL] if frame.bottom - frame.top > 1_800 else [SMALL]
    for size in sizes:
        spots = [
            (
                frame.left + (frame.right - frame.left) * k // 16,
                frame.top + (frame.bottom - frame.top) * up // 8 + size * 28 // 100,
                "middle",
            )
            for up in (4, 3, 5, 6, 2)
            for k in (8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14)
        ]
        if on.picture.label(
            on.card.code,
            spots,
            frame,
            size=size,
            cls="code",
            kind="Piece",
            says=on.card.goes,
            shape=on.shape,
            shorten=False,
            turn=True,
            tell=size == sizes[-1],
        ):
            return


def _side_words(on: PieceOnPage) -> Iterator[str]:
    """Write along each edge what it meets, and yield in words the edges that have no room for
    it."""
    corners = on.shape
    for side, start, end in zip(on.card.sides, corners, (*corners[1:], corners[0]), strict=True):
        bare = re.sub(r"^(?:toward|against|meets|at) (?:the )?", "", side.text)
        short = ", ".join(side.codes) if len(side.codes) > 1 else bare
        texts = dict.fromkeys((side.text, short, bare.partition(", ")[0]))
        if not any(_along(on, text, start, end, side) for text in texts):
            on.picture.fact("Edge", side.text, _made(side), drawn=False)
            yield f"{_where(start, end, on.frame)} {side.text}"


def _along(on: PieceOnPage, text: str, start: Spot, end: Spot, side: PieceSide) -> bool:
    upright = start[0] == end[0]
    return on.picture.label(
        text,
        list(_beside(start, end, on.frame)),
        on.frame,
        cls="meets",
        kind="Edge",
        says=_made(side) if text == side.text else f"{side.text}; {_made(side)}",
        turn=upright,
        turn_only=upright,
        shape=on.shape,
        shorten=False,
        tell=False,
    )


def _made(side: PieceSide) -> str:
    return f"{side.side.value} as it hangs, {side.finish.value}"


def _beside(start: Spot, end: Spot, frame: Box) -> Iterator[tuple[int, int, str]]:
    """Places along an edge, those close to it first. A thin piece has only those, because the
    others would lie at another edge."""
    (x0, y0), (x1, y1) = start, end
    upright, level = x0 == x1, y0 == y1
    deep = frame.right - frame.left if upright else frame.bottom - frame.top
    for off in (150, 560) if deep > 1_900 else (150,):
        under = off + SMALL * 8 // 10
        for part in (50, 36, 64, 22, 78, 12, 88):
            x, y = x0 + (x1 - x0) * part // 100, y0 + (y1 - y0) * part // 100
            if upright:
                yield from ((x + under, y, "middle"), (x - off, y, "middle"))
            elif level:
                yield from ((x, y + under, "middle"), (x, y - off, "middle"))
            else:  # a slope: that corner of the words which is nearest to it
                yield from ((x - off, y + under, "end"), (x + off, y + under, "start"))
                yield from ((x - off, y - off, "end"), (x + off, y - off, "start"))


def _where(start: Spot, end: Spot, frame: Box) -> str:
    """An edge by where it lies before the one who marks."""
    (x0, y0), (x1, y1) = start, end
    if x0 == x1 and x0 in (frame.left, frame.right):
        return "left end" if x0 == frame.left else "right end"
    if y0 == y1 and y0 in (frame.top, frame.bottom):
        return "far edge" if y0 == frame.top else "near edge"
    return "slope" if x0 != x1 and y0 != y1 else "corner cut out"


def _hole_words(on: PieceOnPage, hole: HoleMark) -> None:
    view, frame = on.view, on.frame
    (x0, y0), (x1, y1) = (
        view.spot((hole.cut.left, hole.cut.near)),
        view.spot((hole.cut.right, hole.cut.far)),
    )
    x, y = (x0 + x1) // 2, (y0 + y1) // 2
    off = hole_reach(x1 - x0, y0 - y1) + CLEAR
    left_edge, right_edge, top, bottom = x - off, x + off, y - off, y + off
    y += SMALL // 3
    spots = [(right_edge, y + off, "start") for off in (0, -380, 380)] + [
        (left_edge, y + off, "end") for off in (0, -380, 380)
    ]
    spots += [(x, top - 80, "middle"), (x, bottom + SMALL, "middle")]
    spots += [(x + aside, top - off, "middle") for off in (420, 820) for aside in (0, -700, 700)]
    wide, high = Nm(hole.cut.right - hole.cut.left), Nm(hole.cut.far - hole.cut.near)
    size = (
        f"{tape(wide, on.units)} round"
        if hole.round
        else f"{tape(wide, on.units)} x {tape(high, on.units)}"
    )
    on.picture.label(
        hole.name,
        spots,
        frame,
        cls="mark",
        kind="Hole",
        says=f"{hole.kind.value}, cut {size}; {hole.when.value}; "
        f"{hole_check(hole, on.card, on.units)}",
        widest=3_600,
    )
