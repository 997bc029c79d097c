"""The words on the drawing of a lying piece, and around it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from takeoff.cards.card import PieceCard
from takeoff.cards.card_words import hole_check, opening_check
from takeoff.cards.lying_words import side_words
from takeoff.cards.marks import HoleMark, NotchMark
from takeoff.cards.sides import Finish, PieceSide
from takeoff.cards.tape import mark_on, tape
from takeoff.drawing.canvas import Spot
from takeoff.drawing.layout import Box, enters, text_box
from takeoff.drawing.on_page import CLEAR, PieceOnPage, hole_reach
from takeoff.units import Nm, format_length

__all__ = ["bare", "edge_words", "end_words", "sides_by_place", "write_words"]

_MADE = {
    Finish.TAPERED: "tapered",
    Finish.FACTORY: "factory edge",
    Finish.END: "factory end",
    Finish.CUT: "cut",
}
# the sides of a piece's rectangle, whose words stand outside it
_OUTSIDE = ("far edge", "near edge", "left end", "right end")


def sides_by_place(card: PieceCard) -> dict[str, list[PieceSide]]:
    """The sides of the piece by where they are on it."""
    found: dict[str, list[PieceSide]] = {}
    corners = card.corners
    for side, start, end in zip(card.sides, corners, (*corners[1:], corners[0]), strict=True):
        found.setdefault(side_words(start, end, card.on.lay), []).append(side)
    return found


def edge_words(sides: Iterable[PieceSide], *, made: bool) -> str:
    """What one edge or end meets, in words, and how it is made."""
    meets = list(dict.fromkeys(side.text for side in sides))
    finishes = list(dict.fromkeys(_MADE[side.finish] for side in sides))
    return "; ".join(meets) + (f", {' and '.join(finishes)}" if made else "")


def bare(text: str) -> str:
    """What an edge meets without the word that says how."""
    return re.sub(r"^(?:toward|against|meets|at) (?:the )?", "", text)


def end_words(on: PieceOnPage, where: str, sides: Sequence[PieceSide], margin: Box) -> bool:
    """Write what an end of the piece meets beside it, reading upward; False where it is too long
    for the board."""
    on_left = where == "left end"
    x = margin.right - 130 if on_left else margin.left + on.picture.small + 60
    middle = (on.frame.top + on.frame.bottom) // 2
    texts = [edge_words(sides, made=made) for made in (True, False)]
    texts.append(bare(texts[1]))
    return any(
        on.picture.label(
            text,
            [(x, middle, "middle")],
            Box(margin.left, on.frame.top - 200, margin.right, on.frame.bottom + 200),
            cls="meets",
            kind="Edge",
            says=f"{where}: {edge_words(sides, made=True)}",
            turn=True,
            turn_only=True,
            shorten=False,
            tell=False,
        )
        for text in dict.fromkeys(texts)
    )


def write_words(on: PieceOnPage) -> list[str]:
    """Write the names of notches and holes, the code, and what slopes and inner corners meet. What
    found no room comes back in words, to stand below."""
    _code(on)
    below: list[str] = []
    things: list[HoleMark | NotchMark] = [*on.card.notches, *on.card.holes]
    for thing in things:
        if _named(on, thing, thing.name):
            continue
        number = str(len(below) + 1)
        _named(on, thing, number)
        below.append(f"{number}  {thing.name}")
    _slope_words(on)
    _inner_words(on, below)
    return below


def _named(on: PieceOnPage, thing: HoleMark | NotchMark, text: str) -> bool:
    if isinstance(thing, HoleMark):
        return _hole_words(on, text, thing)
    return _notch_words(on, text, thing)


def _code(on: PieceOnPage) -> None:
    """The piece's code, large where it comes in."""
    frame, small = on.frame, on.picture.small
    sizes = [small * 16 // 10, small] if frame.bottom - frame.top > 1_800 else [small]
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


def _notch_words(on: PieceOnPage, text: str, notch: NotchMark) -> bool:
    area = notch.area
    (x0, y0), (x1, y1) = (
        on.view.spot((area.left, area.near)),
        on.view.spot((area.right, area.far)),
    )
    small = on.picture.small
    spots = [
        ((x0 + x1) // 2, y1 + (y0 - y1) * k // 8 + small // 4, "middle") for k in (4, 3, 5, 2, 6)
    ]
    size = (
        f"{tape(Nm(area.right - area.left), on.units)} x {tape(Nm(area.far - area.near), on.units)}"
    )
    says = f"{notch.name}, {size} as it lies; {notch.steps[0]}; "
    says += opening_check(notch, on.card, on.units)
    kept = on.picture.places.kept
    on.picture.places.kept = []  # the notch itself is kept clear of other words, not of its own
    box = Box(x0, y1, x1, y0).grown(-60)
    written = any(
        on.picture.label(
            text,
            spots,
            box,
            kind="Notch",
            says=says,
            shorten=False,
            tell=False,
            turn=turned,
            turn_only=turned,
        )
        for turned in (False, True)
    )
    on.picture.places.kept = kept
    if not written and text.isdigit():
        return _beside(on, text, Box(x0, y1, x1, y0), "name", "Notch", says)
    return written


def _hole_words(on: PieceOnPage, text: str, hole: HoleMark) -> bool:
    view = on.view
    (x0, y0), (x1, y1) = (
        view.spot((hole.cut.left, hole.cut.near)),
        view.spot((hole.cut.right, hole.cut.far)),
    )
    wide, high = Nm(hole.cut.right - hole.cut.left), Nm(hole.cut.far - hole.cut.near)
    size = (
        f"{tape(wide, on.units)} round"
        if hole.round and hole.is_whole
        else f"{tape(wide, on.units)} x {tape(high, on.units)}"
    )
    says = f"{hole.kind.value}, cut {size}; {hole.when.value}; "
    says += hole_check(hole, on.card, on.units)
    x, y, off = (x0 + x1) // 2, (y0 + y1) // 2, hole_reach(x1 - x0, y0 - y1)
    around = Box(x - off, y - off, x + off, y + off)
    if hole.round and hole.is_whole and not text.isdigit():
        text = f"{text}, {size}"
    return _beside(on, text, around, "mark", "Hole", says)


def _beside(on: PieceOnPage, text: str, box: Box, cls: str, kind: str, says: str) -> bool:
    """Write a name beside what it names, on the board."""
    small = on.picture.small
    left_edge, right_edge = box.left - CLEAR, box.right + CLEAR
    x, y = (box.left + box.right) // 2, (box.top + box.bottom) // 2 + small // 3
    steps = (0, -small * 5 // 4, small * 5 // 4)
    spots = [(right_edge, y + step, "start") for step in steps]
    spots += [(left_edge, y + step, "end") for step in steps]
    spots += [(x, box.top - CLEAR - 80, "middle"), (x, box.bottom + CLEAR + small, "middle")]
    spots += [
        (x + aside, box.top - off, "middle")
        for off in (small * 5 // 4, small * 5 // 2)
        for aside in (0, -700, 700)
    ]
    return on.picture.label(
        text, spots, on.frame, cls=cls, kind=kind, says=says, shorten=False, tell=text.isdigit()
    )


def _inner_words(on: PieceOnPage, below: list[str]) -> None:
    """Write along each slope and inner corner what it meets: where a leg is too narrow for the
    words, at the end of a leader, and as a number of the words `below` where there is room for no
    more."""
    corners, lay = on.card.corners, on.card.on.lay
    spots = on.shape
    for index, side in enumerate(on.card.sides):
        following = (index + 1) % len(corners)
        where = side_words(corners[index], corners[following], lay)
        if where in _OUTSIDE:
            continue
        short = bare(side.text)
        texts = dict.fromkeys((side.text, short, short.partition(", ")[0]))
        start, end = spots[index], spots[following]
        if any(_on_board(on, text, start, end, side) for text in texts):
            continue
        middle = ((start[0] + end[0]) // 2, (start[1] + end[1]) // 2)
        if any(_led(on, text, middle, side.text, on.shape) for text in texts):
            continue
        number = str(len(below) + 1)
        said = f"{where} {side.text}"
        if _led(on, number, middle, said, on.shape) or _led(on, number, middle, said, None):
            below.append(f"{number}  {said}")
        else:
            on.picture.fact("Edge", side.text, f"{where}, {side.finish.value}", drawn=False)
            if (sentence := said.capitalize()) not in below:
                below.append(sentence)


def _led(on: PieceOnPage, text: str, to: Spot, says: str, shape: tuple[Spot, ...] | None) -> bool:
    """Write a text as near to a spot as there is room inside `shape`, with a leader to the spot
    that runs through no other words."""
    small, frame, places = on.picture.small, on.frame, on.picture.places
    ways = [
        (x, y + small // 3, "middle")
        for x in range(frame.left + small, frame.right, small)
        for y in range(frame.top + small, frame.bottom, small * 13 // 10)
    ]
    for spot in sorted(ways, key=lambda way: (way[0] - to[0]) ** 2 + (way[1] - to[1]) ** 2):
        box = text_box(*spot[:2], text, small, anchor="middle", bold=True)
        from_ = (
            min(max(to[0], box.left - 40), box.right + 40),
            min(max(to[1], box.top - 40), box.bottom + 40),
        )
        if any(enters(other, from_, to) for other in places.taken):
            continue
        if on.picture.label(
            text,
            [spot],
            frame,
            cls="meets",
            kind="Edge",
            says=says,
            shorten=False,
            shape=shape,
            tell=False,
        ):
            on.picture.sketch.lines([[from_, to]], "lead")
            on.picture.sketch.circle(*to, 55, "datum")
            return True
    return False


def _on_board(on: PieceOnPage, text: str, start: Spot, end: Spot, side: PieceSide) -> bool:
    upright = start[0] == end[0]
    return on.picture.label(
        text,
        list(_close_to(start, end, on.picture.small)),
        on.frame,
        cls="meets",
        kind="Edge",
        says=side.text,
        turn=upright,
        turn_only=upright,
        shape=on.shape,
        shorten=False,
        tell=False,
    )


def _close_to(start: Spot, end: Spot, small: int) -> Iterator[tuple[int, int, str]]:
    """Places along a side, on the board."""
    (x0, y0), (x1, y1) = start, end
    for off in (150, 560):
        under = off + small * 8 // 10
        for part in (50, 36, 64, 22, 78, 12, 88):
            x, y = x0 + (x1 - x0) * part // 100, y0 + (y1 - y0) * part // 100
            if x0 == x1:
                yield from ((x + under, y, "middle"), (x - off, y, "middle"))
            elif y0 == y1:
                yield from ((x, y + under, "middle"), (x, y - off, "middle"))
            else:  # a slope: that corner of the words which is nearest to it
                yield from ((x - off, y + under, "end"), (x + off, y + under, "start"))
                yield from ((x - off, y - off, "end"), (x + off, y - off, "start"))


def _slope_words(on: PieceOnPage) -> None:
    """The heights of slopes and corners at the ends of the board, and the length along a slope;
    all of it stands in the words of the cut too."""
    lay, view, small = on.card.on.lay, on.view, on.picture.small
    for cut in on.card.last_cuts:
        for x, y in cut.spots:
            if x in (0, lay.long) and 0 < y < lay.across:
                at_left = x == 0
                px, py = view.spot((x, y))
                px += 140 if at_left else -140
                text = format_length(mark_on(y, lay.across, on.units), on.units)
                on.picture.label(
                    text,
                    [
                        (px, py + off, "start" if at_left else "end")
                        for off in (small, -90, 3 * small // 2)
                    ],
                    on.frame,
                    cls="size",
                    kind="From the near edge",
                    says=f"{'left' if at_left else 'right'} end of the cut: {cut.text}",
                    shorten=False,
                )
        if cut.sloped:
            (x0, y0), (x1, y1) = (view.spot(spot) for spot in (cut.spots[0], cut.spots[-1]))
            on.picture.label(
                tape(cut.length, on.units),
                list(_close_to((x0, y0), (x1, y1), small)),
                on.frame,
                cls="mark",
                kind="Slope",
                says=cut.text,
                shorten=False,
            )
