"""The words on a surface's drawing, each where it is clear of all others."""

from __future__ import annotations

from collections.abc import Iterator

from takeoff.boards.plan import Piece
from takeoff.cards.lookup import Seen
from takeoff.cards.sides import Meeting, meets_of
from takeoff.cards.tape import tape
from takeoff.choices import HiddenKind, SurfaceKind
from takeoff.drawing.canvas import Spot
from takeoff.drawing.layout import Box, inside, text_box
from takeoff.drawing.on_page import CLEAR, SurfaceOnPage
from takeoff.drawing.style import SMALL, TEXT
from takeoff.geometry.polygon import bounds
from takeoff.geometry.surface import PlacedCutout
from takeoff.units import Nm

__all__ = ["write_words"]

_LABEL_GRID = 7


def write_words(on: SurfaceOnPage, *, boards: bool = True) -> None:
    """Names of openings and sides, codes and sizes of `boards`, names of holes and of what is
    behind."""
    picture, view = on.picture, on.view
    for opening in on.surface.openings:
        box = view.box(opening.left, opening.bottom, opening.right, opening.top)
        middle = (box.left + box.right) // 2
        size = f"{tape(Nm(opening.right - opening.left), on.units)} x " + tape(
            Nm(opening.top - opening.bottom), on.units
        )
        says = (
            f"{opening.kind.value}, rough opening {size}, "
            f"{on.first_side} side at {tape(opening.left, on.units)}, "
            f"{on.first_edge} at {tape(opening.bottom, on.units)}"
        )
        heights = [box.top + (box.bottom - box.top) * k // 8 for k in (4, 3, 5, 2, 6, 1, 7)]
        inner = Box(box.left + 60, box.top + 60, box.right - 60, box.bottom - 60)
        picture.label_in(
            opening.name, [(middle, y, "middle") for y in heights], inner, kind="Opening", says=says
        )
        picture.places.keep(box.grown(60))
    plan = on.seen.plan
    for piece in plan.pieces if plan and boards else ():
        _piece_words(on, piece)
    _side_words(on)
    for cutout in on.surface.cutouts:
        _hole_words(on, cutout)
    for item in on.surface.hidden:
        box = view.box(item.left, item.bottom, item.right, item.top)
        x, y = (box.left + box.right) // 2, (box.top + box.bottom) // 2 + SMALL // 3
        spots = [(x, y, "middle"), (x, box.top - 110, "middle"), (x, box.bottom + SMALL, "middle")]
        picture.label(
            item.name,
            spots,
            on.frame,
            kind="Behind the board",
            says=f"{item.lumber + ' ' if item.kind is HiddenKind.BLOCKING else ''}"
            f"{item.kind.value} from "
            f"{tape(item.left, on.units)} to {tape(item.right, on.units)}, "
            f"{tape(item.bottom, on.units)} to {tape(item.top, on.units)} up",
            widest=4_600,
        )


def _piece_words(on: SurfaceOnPage, piece: Piece) -> None:
    picture = on.picture
    box = on.view.box(*bounds(piece.outline))
    inner = box.grown(-40)
    shape = on.spots(piece.outline)
    long, high = Nm(piece.end - piece.start), Nm(piece.high - piece.low)
    sizes = tape(long, on.units, up=False), tape(high, on.units, up=False)
    says = f"{sizes[0]} x {sizes[1]}, finished"
    big = box.bottom - box.top > 900 and box.right - box.left > 900
    size = TEXT * 12 // 10 if big else SMALL
    spots = list(_grid(box, size))
    if picture.label(
        piece.code,
        spots,
        inner,
        size=size,
        cls="code",
        kind="Board",
        says=says,
        turn=True,
        shorten=False,
        shape=shape,
        tell=False,
    ):
        if big:
            _size_words(on, piece.code, sizes, inner, shape)
        return
    # A board cut up by openings may take its code small where it does not take it large, and a
    # number where it takes no code.
    if picture.label(
        piece.code,
        [*_grid(box, SMALL), *_corners(on, piece)],
        inner,
        cls="code",
        kind="Board",
        says=says,
        turn=True,
        shape=shape,
        tell=False,
    ):
        return
    # a strip too thin for either has it beside, or across its sides
    x, y = (box.left + box.right) // 2, (box.top + box.bottom) // 2 + SMALL * 28 // 100
    reach = max(900, (box.right - box.left) // 3)
    beside = [
        (x + aside, y + off, "middle")
        for off in (-330, 330, 0, -620, 620)
        for aside in (0, -120, 120, -reach, reach, -reach // 2, reach // 2)
    ]
    beside += [
        (x + aside, y + (box.bottom - box.top) * part // 8, "middle")
        for part in (3, -3, 2, -2, 1, -1)
        for aside in (0, -120, 120)
    ]
    # a strip along the rim, above an opening or below it, has it half outside
    beside += [
        (x + aside, y, "middle")
        for y in (box.top - 20, box.bottom + 200)
        for aside in (0, -reach // 2, reach // 2)
    ]
    around = on.frame.grown(290)
    picture.label(piece.code, beside, around, cls="code", kind="Board", says=says, turn=True)


def _size_words(
    on: SurfaceOnPage, code: str, sizes: tuple[str, str], inner: Box, shape: list[Spot]
) -> None:
    """The finished size under the code just written, on one line or on two, never cut short."""
    picture = on.picture
    last = picture.places.taken[-1]
    x = (last.left + last.right) // 2
    below, above = last.bottom + SMALL, last.top - 90
    whole = f"{sizes[0]} x {sizes[1]}"
    says = f"finished size of {code}"
    spots = [(x + aside, y, "middle") for y in (below, above) for aside in (0, -250, 250)]
    if picture.label(
        whole,
        spots,
        inner,
        cls="size",
        kind="Board",
        says=says,
        shorten=False,
        shape=shape,
        tell=False,
    ):
        return
    step = SMALL * 11 // 10
    first, second = (x, below, "middle"), (x, below + step, "middle")
    boxes = [
        text_box(at[0], at[1], text, SMALL, anchor=at[2])
        for at, text in ((first, sizes[0]), (second, f"x {sizes[1]}"))
    ]
    if all(picture.places.is_free(box, inner) and inside(box, shape) for box in boxes):
        picture.words(*first[:2], sizes[0], anchor="middle", kind="Board", says=f"length of {code}")
        picture.words(
            *second[:2], f"x {sizes[1]}", anchor="middle", kind="Board", says=f"width of {code}"
        )
        return
    # elsewhere in the board, for it is the board's own wherever it stands there
    picture.label(
        whole,
        list(_grid(inner, SMALL)),
        inner,
        cls="size",
        kind="Board",
        says=says,
        shorten=False,
        shape=shape,
        tell=False,
    )


def _hole_words(on: SurfaceOnPage, cutout: PlacedCutout) -> None:
    x, y, reach = on.cross_of(cutout)
    off = reach + CLEAR
    left_edge, right_edge, top, bottom = x - off, x + off, y - off, y + off
    y += SMALL // 3
    spots = [
        (right_edge, y, "start"),
        (left_edge, y, "end"),
        (x, top - 80, "middle"),
        (x, bottom + SMALL, "middle"),
        (right_edge, top, "start"),
        (left_edge, top, "end"),
        (right_edge, bottom + SMALL * 8 // 10, "start"),
        (left_edge, bottom + SMALL * 8 // 10, "end"),
        (right_edge, y - 400, "start"),
        (left_edge, y - 400, "end"),
        (right_edge, y + 400, "start"),
        (left_edge, y + 400, "end"),
    ]
    across, up = Nm((cutout.left + cutout.right) // 2), Nm((cutout.bottom + cutout.top) // 2)
    size = tape(Nm(cutout.right - cutout.left), on.units)
    if not cutout.is_round:
        size += f" x {tape(Nm(cutout.top - cutout.bottom), on.units)}"
    on.picture.label(
        cutout.name,
        spots,
        on.frame,
        cls="mark",
        kind="Hole",
        says=f"{cutout.kind.value} {size}, middle {tape(across, on.units)} across, "
        f"{tape(up, on.units)} up",
        widest=3_900,
    )


def with_letters(seen: Seen) -> dict[str, str]:
    """The names of a room's surfaces by id, those of walls with their letters."""
    names = dict(seen.names)
    for surface in seen.room.surfaces:
        name = names[surface.id]
        if surface.kind is SurfaceKind.WALL and name.split()[-1] != surface.letter:
            names[surface.id] = f"{name} ({surface.letter})"
    return names


def _side_words(on: SurfaceOnPage) -> None:
    """Along each side of the surface, inside it, what is there in the room."""
    corners, names = on.surface.outline, with_letters(on.seen)
    for start, end in zip(corners, (*corners[1:], corners[0]), strict=True):
        meeting, text = meets_of(start, end, on.surface, names)
        upright = start[0] == end[0]
        if meeting is Meeting.FREE or (on.is_wall and not upright):
            continue
        (x0, y0), (x1, y1) = on.view.spot(start), on.view.spot(end)
        spots = []
        for part in (50, 35, 65, 25, 75, 15, 85):
            x, y = x0 + (x1 - x0) * part // 100, y0 + (y1 - y0) * part // 100
            for off in (130, 520, 900):
                if upright:
                    spots.append((x + (off + SMALL * 8 // 10 if y1 > y0 else -off), y, "middle"))
                elif y0 == y1:
                    spots.append((x, y - off if x1 > x0 else y + off + SMALL * 8 // 10, "middle"))
                else:
                    spots += [(x - off * 2, y + off, "middle"), (x - off * 2, y - off, "middle")]
        on.picture.label(
            text.removeprefix("toward "),
            spots,
            on.frame,
            cls="side",
            kind="Side",
            says="what this side goes to",
            turn=upright,
            turn_only=upright,
            shape=[on.view.spot(corner) for corner in corners],
            widest=max(abs(x1 - x0), abs(y1 - y0)) * 9 // 10,
        )


def _corners(on: SurfaceOnPage, piece: Piece) -> Iterator[tuple[int, int, str]]:
    """Places in the corners of a board, where an opening takes its middle."""
    for u, v in piece.outline:
        x, y = on.view.spot((u, v))
        for aside in (-1, 1):
            for down in (-1, 1):
                yield (
                    x + aside * 90,
                    y + (down * 90 if down < 0 else 90 + SMALL),
                    "start" if aside > 0 else "end",
                )


def _grid(box: Box, size: int) -> Iterator[tuple[int, int, str]]:
    """Places in a box for a text, the middle first."""
    steps = sorted(range(1, 2 * _LABEL_GRID), key=lambda k: abs(k - _LABEL_GRID))
    lift = size * 28 // 100
    for up in (_LABEL_GRID, _LABEL_GRID - 3, _LABEL_GRID + 3, _LABEL_GRID - 5, _LABEL_GRID + 5):
        for across in steps:
            x = box.left + (box.right - box.left) * across // (2 * _LABEL_GRID)
            y = box.top + (box.bottom - box.top) * up // (2 * _LABEL_GRID) + lift
            yield x, y, "middle"
