"""A whole sheet as it lies: its cuts, numbered in the order they are made, and its pieces."""

from __future__ import annotations

from takeoff.cards.card import PieceCard, SheetCard
from takeoff.cards.frames import SideUp
from takeoff.cards.tape import tape
from takeoff.drawing.facts import Drawing, Tick, View, scale_for, scale_words
from takeoff.drawing.layout import Box
from takeoff.drawing.metrics import width_of
from takeoff.drawing.picture import Picture
from takeoff.drawing.style import PAPER, SMALL, TEXT, Page
from takeoff.units import Nm, UnitSystem

__all__ = ["sheet_drawing"]


def sheet_drawing(
    card: SheetCard,
    units: UnitSystem,
    *,
    page: Page = PAPER,
    prefix: str = "sheet",
    notes: bool = True,
    heading: bool = True,
) -> Drawing:
    """The sheet with its pieces and its cuts; what is left over is hatched. `notes` adds the cuts
    and offcuts in words below, `heading` its code and what it is above, and a legend."""
    sheet = card.sheet
    heights = sorted({y for cut in card.cuts for _, y in cut.line} | {sheet.width})
    lane = 420 + max(width_of(tape(y, units, up=False), SMALL) for y in heights)
    scale = scale_for(
        sheet.length, sheet.width, across=page.width - lane - 700, up=page.height - 8_000
    )
    size = f"{tape(sheet.length, units)} x {tape(sheet.width, units)}"
    under = (
        f"{card.room} · {card.board} · {size} · {card.from_} · "
        f"{card.up.value}{scale_words(scale, page)}"
    )
    picture = Picture(
        prefix,
        page.width,
        title=f"Sheet {sheet.code}",
        under=under,
        units=units,
        heading=heading,
    )
    picture.scale = scale
    sketch = picture.sketch
    probe = View(0, 0, scale)
    view = View(lane, picture.y + 420 + probe.size(sheet.width), scale)
    frame = Box(view.x(0), view.y(sheet.width), view.x(sheet.length), view.y(0))
    sketch.rectangle(frame.left, frame.top, frame.right, frame.bottom, "rest", hatch="unboarded")
    shapes = [
        (piece, [view.spot(piece.on.to_sheet(side.start)) for side in piece.sides])
        for piece in card.pieces
    ]
    for _, shape in shapes:
        sketch.polygon(shape, "board")
    if sheet.offcuts or any(True for _ in card.cuts):
        picture.legend("unboarded", "left over")
    for _, shape in shapes:
        sketch.polygon(shape, "edge")
    _edges(picture, card, frame)
    for cls, marked in (("saw", False), ("later", True)):
        lines = [cut.line for cut in card.cuts if cut.marked is marked]
        sketch.lines([[view.spot(point) for point in line] for line in lines], cls)
    if card.cuts:
        picture.legend("saw", "cut, in the order of its number")
    if any(cut.marked for cut in card.cuts):
        picture.legend("later", "marked, not cut")
    _cut_numbers(picture, card, view, frame)
    for piece, shape in shapes:
        _piece_words(picture, piece, shape, frame, units)
    stations = {Nm(0): "left end", sheet.length: "right end"}
    for cut in card.cuts:
        for x, _ in cut.line:
            stations.setdefault(x, f"cut {cut.number}")
    rounded_up = [cut.line for cut in card.cuts if cut.up]
    up_along = {x0 for (x0, _), (x1, _) in rounded_up if x0 == x1}
    up_across = {y0 for (_, y0), (_, y1) in rounded_up if y0 == y1}
    picture.run_up(
        [
            Tick(
                view.y(y),
                y,
                "edge" if y in (0, sheet.width) else "cut along the sheet",
                y in up_across,
            )
            for y in heights
            if y
        ],
        edge=frame.left,
        from_x=frame.left,
        left=True,
        low=frame.top - 300,
        high=frame.bottom + 200,
        kind="From the near edge",
    )
    picture.datum(frame.left, frame.bottom)
    picture.y = picture.run_across(
        [Tick(view.x(x), x, says, x in up_along) for x, says in stations.items()],
        edge=frame.bottom,
        from_y=frame.bottom + 40,
        down=True,
        low=max(0, frame.left - 900),
        high=page.width,
        kind="From the left end",
    )
    if notes:
        for cut in card.cuts:
            picture.note(f"{cut.number}  {cut.text}", cls="told", kind="Cut in words", size=TEXT)
        if not card.cuts:
            picture.note(
                "Used whole: no cut to length or width.", cls="told", kind="Cut in words", size=TEXT
            )
        turned = [piece.code for piece in card.pieces if piece.on.turned]
        if turned:
            picture.note(
                f"Turned 180° on this sheet: {', '.join(turned)}. Cut it out, turn it, then mark.",
                cls="told",
            )
        for text in card.waits:
            picture.note(text, cls="told", kind="For a later room")
        for text in card.offcuts:
            picture.note(f"Keep {text}", cls="told", kind="Offcut")
    pieces = ", ".join(piece.code for piece in card.pieces)
    if not heading:
        picture.legends.clear()
    return picture.finish(
        says=f"Sheet {sheet.code}, {size}: {len(card.cuts)} cuts, pieces {pieces}."
    )


def _edges(picture: Picture, card: SheetCard, frame: Box) -> None:
    """The sheet's long edges; one that is not its own is the far one, face up."""
    count = card.sheet.factory_edges
    ends = [[(x, frame.top), (x, frame.bottom)] for x in (frame.left, frame.right)]
    picture.sketch.lines(ends, "factory" if card.sheet.is_whole else "cut")
    far, near = frame.top, frame.bottom
    first, second = (near, far) if card.up is SideUp.FACE else (far, near)
    for factory, y in ((count > 0, first), (count > 1, second)):
        run = [[(frame.left, y), (frame.right, y)]]
        if factory:
            picture.sketch.double_lines(run, "taper")
            picture.legend("tapered", "the sheet's own long edge")
        else:
            picture.sketch.lines(run, "cut")
            picture.legend("cut", "cut edge")


def _cut_numbers(picture: Picture, card: SheetCard, view: View, frame: Box) -> None:
    page = Box(0, frame.top - 420, picture.width, frame.bottom)
    for cut in card.cuts:
        (x0, y0), (x1, y1) = view.spot(cut.line[0]), view.spot(cut.line[1])
        low_y, high_y = min(y0, y1), max(y0, y1)
        spots: list[tuple[int, int, str]] = []
        if x0 == x1:
            if low_y == frame.top:
                spots.append((x0, frame.top - 110, "middle"))
            spots += [
                (x0 + aside, low_y + (high_y - low_y) * part // 10 + SMALL // 3, anchor)
                for part in (5, 3, 7, 2, 8)
                for aside, anchor in ((90, "start"), (-90, "end"))
            ]
        else:
            if x1 == frame.right:
                spots.append((frame.right + 100, y1 + SMALL // 3, "start"))
            spots += [
                (x0 + (x1 - x0) * part // 20, (y0 + y1) // 2 + off, "middle")
                for part in (10, 7, 13, 4, 16, 2, 18)
                for off in (-90, SMALL)
            ]
        picture.label(str(cut.number), spots, page, cls="mark", kind="Cut", says=cut.text)


def _piece_words(
    picture: Picture, piece: PieceCard, shape: list[tuple[int, int]], frame: Box, units: UnitSystem
) -> None:
    xs, ys = [x for x, _ in shape], [y for _, y in shape]
    box = Box(min(xs), min(ys), max(xs), max(ys))
    big = box.bottom - box.top > 1_100 and box.right - box.left > 1_300
    size = TEXT * 13 // 10 if big else SMALL
    x, y = (box.left + box.right) // 2, (box.top + box.bottom) // 2 + size * 28 // 100
    spots = [
        (x + (box.right - box.left) * k // 12, y + off, "middle")
        for off in (0, -300, 300)
        for k in (0, -2, 2, -4, 4)
    ]
    turned = " On the sheet it is turned 180°." if piece.on.turned else ""
    lay = piece.on.lay
    measure = f"{tape(lay.long, units, up=False)} x {tape(lay.across, units, up=False)}"
    meaning = f"{piece.goes}, {measure}.{turned}"
    if picture.label(
        piece.code,
        spots,
        box.grown(-20),
        size=size,
        cls="code",
        kind="Piece",
        says=meaning,
        shape=shape,
        turn=True,
        shorten=False,
        tell=False,
    ):
        if big:
            last = picture.places.taken[-1]
            at = (last.left + last.right) // 2
            where = (piece.goes.split(", ", 1)[1], piece.name)
            for texts in ((measure,), (piece.goes, piece.room) if piece.waits else where):
                for text in texts:
                    below = picture.places.taken[-1].bottom + SMALL
                    if picture.label(
                        text,
                        [(at, below, "middle")],
                        box.grown(-60),
                        cls="size",
                        kind="Piece",
                        says=f"{piece.code}: {meaning}",
                        shape=shape,
                        tell=False,
                        shorten=False,
                    ):
                        break
        return
    # no room on it: its code stands above the sheet, and a line leads to it
    step = width_of(piece.code, SMALL, bold=True)
    above = Box(0, frame.top - 420, picture.width, frame.top)
    for aside in (0, step, -step, 2 * step, -2 * step, 3 * step, -3 * step):
        word_x, word_y = x + aside, frame.top - 110
        if picture.label(
            piece.code,
            [(word_x, word_y, "middle")],
            above,
            cls="code",
            kind="Piece",
            says=meaning,
            shorten=False,
            tell=False,
        ):
            to = (x, (box.top + box.bottom) // 2)
            picture.sketch.lines([[(word_x, frame.top - 40), to]], "lead")
            return
    picture.fact("Piece", piece.code, meaning, drawn=False)
