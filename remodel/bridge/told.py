"""A piece that hangs differently than planned: how its ends are named, how long it may be, how its
sheet was cut, and what else it may have come out of."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import count

from remodel.bridge.views import PileResult
from takeoff.boards.hung import begun, on_surface
from takeoff.boards.plan import Piece, PlacedBoard, PlacedPiece, Sheet, Strip
from takeoff.boards.region import in_course_axes, is_rectangle
from takeoff.boards.spares import spare_of
from takeoff.cards.sides import Side, sides_of
from takeoff.catalogue import Cutting, OwnedSheet
from takeoff.choices import Runs, SurfaceKind
from takeoff.geometry.polygon import bounds
from takeoff.geometry.surface import Surface
from takeoff.house import House
from takeoff.quantities import Cents
from takeoff.units import Nm

__all__ = [
    "END",
    "START",
    "Board",
    "Compared",
    "NewPiece",
    "Rest",
    "as_offcut",
    "board_in",
    "compared",
    "ends_of",
    "is_square",
    "longest",
    "next_mark",
    "only_cut",
    "sheet_longer",
    "sheet_out_of",
]

START, END = "start", "end"


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """A piece of a plan as one tells of it: its mark, its surface, the code of its sheet (empty
    where no sheet holds it), and its length along its course and width in nanometers."""

    mark: str
    surface: str
    surface_name: str
    board: str
    thickness: int
    sheet: str
    length: int
    width: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """What a piece may have come out of, and its size. `source` is the id of what is here: a whole
    sheet's item, an offcut, the rest of a begun sheet. It is None for a sheet that is bought, at
    `price` in cents."""

    source: str | None
    width: int
    length: int
    factory_edges: int
    price: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPiece:
    mark: str
    surface: str
    length: int
    width: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """The boards of a pile before a write and after it. `moved` are the ids of the surfaces whose
    boards lie otherwise. `gone` are the marks of pieces that are no
    more, `recut` those that come out of another sheet, with that sheet. `away` are the sheets whose
    cards are to be thrown away, `cards` those with a new card, and `changed` those that are cut
    otherwise. Sheets are counted as bought, and cost cents."""

    moved: frozenset[str]
    gone: tuple[str, ...]
    new: tuple[NewPiece, ...]
    recut: tuple[tuple[str, str], ...]
    away: tuple[str, ...]
    cards: tuple[str, ...]
    changed: tuple[str, ...]
    sheets_before: int
    sheets_after: int
    cost_before: int
    cost_after: int


def compared(before: PileResult, after: PileResult, mark: str) -> Compared:
    """What differs between two results, beside the piece that is told of."""
    then, now = _pieces(before), _pieces(after)
    old, new = _sheets(before), _sheets(after)
    out_of = {placed.piece: sheet.code for sheet in old.values() for placed in _placed(sheet)}
    into = {placed.piece: sheet.code for sheet in new.values() for placed in _placed(sheet)}
    names = {
        surface.framed.surface.id: surface.framed.surface.name
        for view in after.views
        for surface in view.surfaces
    }
    lay = {(piece.surface, code, piece.outline) for code, piece in then.items()}
    lies = {(piece.surface, code, piece.outline) for code, piece in now.items()}
    return Compared(
        moved=frozenset(surface for surface, _, _ in lay ^ lies),
        gone=tuple(code for code in then if code not in now and code != mark),
        new=tuple(
            NewPiece(
                mark=code,
                surface=names.get(piece.surface, piece.surface),
                length=piece.end - piece.start,
                width=piece.high - piece.low,
            )
            for code, piece in now.items()
            if code not in then
        ),
        recut=tuple(
            (code, into[code])
            for code in then
            if code in now and code != mark and into.get(code, "") not in ("", out_of.get(code))
        ),
        away=tuple(code for code in old if code not in new),
        cards=tuple(code for code in new if code not in old),
        changed=tuple(
            code
            for code, sheet in new.items()
            if code in old and _cuts_of(old[code]) != _cuts_of(sheet)
        ),
        sheets_before=sum(sheet.is_whole for sheet in old.values()),
        sheets_after=sum(sheet.is_whole for sheet in new.values()),
        cost_before=sum(pool.plan.sheet_cost for pool in before.pools),
        cost_after=sum(pool.plan.sheet_cost for pool in after.pools),
    )


def _pieces(result: PileResult) -> dict[str, Piece]:
    return {
        piece.code: piece
        for pool in result.pools
        for surface in pool.plan.surfaces
        for piece in surface.pieces
    }


def _sheets(result: PileResult) -> dict[str, Sheet]:
    return {sheet.code: sheet for pool in result.pools for sheet in pool.plan.sheets}


def _cuts_of(sheet: Sheet) -> object:
    return sheet.crosscuts, sheet.rip_at, [strip.pieces for strip in sheet.strips]


def board_in(result: PileResult, room: str, key: str) -> Board | None:
    """The piece with a key (see `takeoff.places.piece_key`) in a result; None where it has none."""
    surface_key, _, mark = key.rpartition(".")
    names = {view.key: view.name for view in result.views}
    for pool in result.pools:
        sheets = {
            placed.piece: sheet.code for sheet in pool.plan.sheets for placed in _placed(sheet)
        }
        for surface in pool.plan.surfaces:
            if surface.surface != f"{room}/{surface_key}":
                continue
            for piece in surface.pieces:
                if piece.code == mark:
                    framed = _surface(result, surface.surface)
                    name = framed.name.removeprefix(f"{names.get(room, '')}, ")
                    return Board(
                        mark=mark,
                        surface=surface_key,
                        surface_name=name[:1].upper() + name[1:],
                        board=surface.board,
                        thickness=int(surface.thickness),
                        sheet=sheets.get(mark, ""),
                        length=piece.end - piece.start,
                        width=piece.high - piece.low,
                    )
    return None


def _placed(sheet: Sheet) -> list[PlacedPiece]:
    return [*sheet.crosscuts, *(piece for strip in sheet.strips for piece in strip.pieces)]


def _surface(result: PileResult, surface: str) -> Surface:
    return next(
        one.framed.surface
        for view in result.views
        for one in view.surfaces
        if one.framed.surface.id == surface
    )


def ends_of(result: PileResult, surface: str, mark: str) -> dict[str, str]:
    """The two ends of a piece in words, by `START` and `END`: "The left end, which meets A-02"."""
    plan = next(
        one for pool in result.pools for one in pool.plan.surfaces if one.surface == surface
    )
    piece = next(one for one in plan.pieces if one.code == mark)
    shape = _surface(result, surface)
    names = {
        one.framed.surface.id: one.framed.surface.name.removeprefix(f"{view.name}, ")
        for view in result.views
        for one in view.surfaces
    }
    along = 0 if plan.rows_run is Runs.ALONG else 1
    words: dict[str, str] = {}
    for side in sides_of(piece, plan, shape, names):
        for end, at in ((START, piece.start), (END, piece.end)):
            if side.start[along] == side.end[along] == at:
                meets = side.text.partition(";")[0]
                if shape.kind is SurfaceKind.WALL:
                    where = {Side.BOTTOM: "bottom"}.get(side.side, side.side.value)
                    words[end] = f"The {where} end, {_which(meets)}"
                else:
                    words[end] = f"The end {'that ' if meets.startswith('meets') else ''}{meets}"
    usual = {START: "The end it was measured from", END: "The other end"}
    return usual | words


def _which(meets: str) -> str:
    return f"which {meets}" if meets.startswith("meets") else meets


def is_square(board: PlacedBoard) -> bool:
    """Whether a board is a rectangle, so that its length alone says what was cut."""
    return is_rectangle(in_course_axes(board.outline, board.rows_run))


def longest(result: PileResult, board: PlacedBoard, end: str) -> int:
    """How long a board may be on its surface, measured from the end that is not `end`."""
    shape = _surface(result, board.surface)
    (lies,) = on_surface((board,), shape)
    left, _, right, _ = bounds(in_course_axes(shape.outer, board.rows_run))
    return right - lies.start if end == END else lies.end - left


def as_offcut(board: PlacedBoard, length: int | None = None) -> OwnedSheet | None:
    """A board that is down as an offcut of its size, or so long; None where its shape has no
    rectangle."""
    found = spare_of(board)
    if not found:
        return None
    return found[0] if length is None else replace(found[0], length=Nm(length))


def next_mark(like: str, taken: Collection[str]) -> str:
    """A mark like another one, with the next number that was never used."""
    found = re.fullmatch(r"(.*?)(\d+)", like)
    stem, width = (found[1], len(found[2])) if found else (f"{like}-", 1)
    same = re.compile(re.escape(stem) + r"(\d{1,9})")
    numbers = [int(match[1]) for mark in taken if (match := same.fullmatch(mark))]
    return next(
        mark
        for number in count(max(numbers, default=0) + 1)
        if (mark := f"{stem}{number:0{width}}") not in taken
    )


def sheet_out_of(
    house: House, board: PlacedBoard, code: str, room: str, rest: Rest, taken: Collection[str]
) -> Sheet:
    """A sheet that one piece was cut from, at its left end, with what is left of it."""
    length, width = Nm(board.end - board.start), Nm(board.high - board.low)
    kerf = _kerf(house, board.board)
    piece = PlacedPiece(piece=board.mark, start=Nm(0), end=length, width=width)
    is_ripped = width < rest.width
    strip = Strip(low=Nm(0), high=width, factory_edges=min(1, rest.factory_edges), pieces=(piece,))
    return begun(
        Sheet(
            code=code,
            room=room,
            board=board.board,
            thickness=board.thickness,
            width=Nm(rest.width),
            length=Nm(rest.length),
            factory_edges=rest.factory_edges,
            price=Cents(rest.price if rest.source is None else 0),
            source=rest.source,
            crosscuts=() if is_ripped else (piece,),
            rip_at=Nm(0) if is_ripped else None,
            strips=(strip,) if is_ripped else (),
            offcuts=(),
        ),
        {board.mark},
        kerf,
        house.rules,
        taken=taken,
    )


def _kerf(house: House, board: str) -> Nm:
    return house.rules.kerf if house.catalogue.board(board).cutting is Cutting.SAW else Nm(0)


def only_cut(
    house: House,
    sheet: Sheet,
    cut: Collection[str],
    taken: Collection[str],
    decided: Mapping[str, str],
) -> Sheet:
    """A sheet with the pieces that are `cut` of it alone, and what is left of it then."""
    return begun(sheet, cut, _kerf(house, sheet.board), house.rules, gone=set(decided), taken=taken)


def sheet_longer(
    house: House,
    sheet: Sheet,
    mark: str,
    length: int,
    cut: Collection[str],
    taken: Collection[str],
    decided: Mapping[str, str],
) -> Sheet | int:
    """A sheet of which a piece was cut so long. Pieces behind it that are not `cut` make room; they
    are no more on it where they no longer fit. Where even that does not do, how long the piece can
    be."""
    kerf = _kerf(house, sheet.board)
    first: int | None = None
    dropped: set[str] = set()
    behind = [one.piece for one in _behind(sheet, mark) if one.piece not in cut]
    for leave in range(len(behind) + 1):
        dropped = set(behind[len(behind) - leave :])
        laid, over = _laid(_without(sheet, dropped), mark, length, kerf)
        if over <= 0:
            stays = {one.piece for one in _placed(laid)}
            return begun(laid, stays, kerf, house.rules, gone=set(decided), taken=taken)
        first = over if first is None else min(first, over)
    return length - (first or 0)


def _behind(sheet: Sheet, mark: str) -> list[PlacedPiece]:
    """The pieces that lie to the right of one on its sheet, in the order they are cut."""
    for part in (strip.pieces for strip in sheet.strips):
        at = next((n for n, one in enumerate(part) if one.piece == mark), None)
        if at is not None:
            return list(part[at + 1 :])
    at = next((n for n, one in enumerate(sheet.crosscuts) if one.piece == mark), None)
    if at is None:
        return []
    strips = (piece for strip in sheet.strips for piece in strip.pieces)
    return [*sheet.crosscuts[at + 1 :], *strips]


def _without(sheet: Sheet, dropped: Collection[str]) -> Sheet:
    def kept(pieces: Iterable[PlacedPiece]) -> tuple[PlacedPiece, ...]:
        return tuple(one for one in pieces if one.piece not in dropped)

    strips = tuple(replace(strip, pieces=kept(strip.pieces)) for strip in sheet.strips)
    ripped = any(strip.pieces for strip in strips)
    return replace(
        sheet,
        crosscuts=kept(sheet.crosscuts),
        rip_at=sheet.rip_at if ripped else None,
        strips=strips if ripped else (),
    )


def _laid(sheet: Sheet, mark: str, length: int, kerf: Nm) -> tuple[Sheet, int]:
    """A sheet with a piece so long and those behind it moved along, and how far it is over the
    sheet's end."""
    over = 0

    def along(pieces: Iterable[PlacedPiece], start: int) -> tuple[PlacedPiece, ...]:
        nonlocal over
        laid: list[PlacedPiece] = []
        for one in pieces:
            here = max(one.start, start)
            size = length if one.piece == mark else one.end - one.start
            laid.append(replace(one, start=Nm(here), end=Nm(here + size)))
            start = here + size + kerf
            over = max(over, here + size - sheet.length)
        return tuple(laid)

    crosscuts = along(sheet.crosscuts, 0)
    rip_at, strips = sheet.rip_at, sheet.strips
    if rip_at is not None:
        after = crosscuts[-1].end + kerf if crosscuts else 0
        begins = max(rip_at, after)
        strips = tuple(
            replace(
                strip,
                pieces=along(
                    [
                        replace(
                            one,
                            start=Nm(one.start + begins - rip_at),
                            end=Nm(one.end + begins - rip_at),
                        )
                        for one in strip.pieces
                    ],
                    begins,
                ),
            )
            for strip in strips
        )
        rip_at = Nm(begins)
    return replace(sheet, crosscuts=crosscuts, rip_at=rip_at, strips=strips), over
