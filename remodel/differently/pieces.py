"""A piece as somebody tells of it: where it stands, the ends of it that can be elsewhere, and what
it can have come out of.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import F

from remodel.board.models import PlacedPiece
from remodel.board.placed import split_key
from remodel.board.queries import pile_result_of
from remodel.bridge.lengths import show_length
from remodel.bridge.supply import sheet_key, sheet_sizes, size_of_sheet
from remodel.bridge.told import (
    Board,
    Rest,
    board_in,
    ends_of,
)
from remodel.differently.entries import (
    pile_of,
)
from remodel.house.models import Room
from remodel.supply.ledger import here_of
from remodel.supply.models import CutSheet, OwnedSheet, SheetOnSale

__all__ = ["Piece", "Source", "ends_to_choose", "piece_of", "sources_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A piece that one tells of. `board` is it in the plan that stands, None where no plan has it
    any more; `row` what is known of it, None before it is cut."""

    room: Room
    key: str
    mark: str
    board: Board | None
    row: PlacedPiece | None

    @property
    def is_here(self) -> bool:
        return self.row is None or self.row.state in PlacedPiece.HERE

    @property
    def is_hung(self) -> bool:
        return self.row is not None and self.row.state == PlacedPiece.State.HUNG

    @property
    def words(self) -> str:
        """What is known of it, in words: "Hung", "Cut wrong, kept as an offcut 3' 0\" long"."""
        if self.row is None:
            return "Not cut yet"
        state, note = self.row.get_state_display(), self.row.note
        if not note or note.startswith(state):
            return note or state
        return f"{state}. {note}"

    @property
    def stands(self) -> str:
        """What a page of it is made from: another entry meanwhile makes this another word."""
        if self.row is None:
            return "open"
        return f"{self.row.state}.{len(self.row.told)}.{int(self.row.as_planned)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """What a piece may have come out of, to choose from: `name` in the form, and in words."""

    name: str
    words: str
    rest: Rest
    item: str = ""
    owned: OwnedSheet | None = None


def piece_of(room: Room, key: str) -> Piece | None:
    """The piece of a room with a key; None where neither the plan nor anybody knows of it."""
    surface, mark = split_key(key)
    row = PlacedPiece.objects.filter(room=room, surface=surface, mark=mark).first()
    result = pile_result_of(room)
    board = board_in(result, room.key, key) if result is not None else None
    if row is None and board is None:
        return None
    return Piece(room=room, key=key, mark=mark, board=board, row=row)


def ends_to_choose(piece: Piece) -> dict[str, str]:
    """The ends of a piece in words, by the name that `joint_elsewhere` takes."""
    result = pile_result_of(piece.room)
    if result is None or piece.board is None:
        return {}
    surface = f"{piece.room.key}/{piece.board.surface}"
    return ends_of(result, surface, piece.mark)


def sources_of(piece: Piece) -> list[Source]:
    """Everything a piece may have come out of: whole sheets of a size on sale or here, offcuts
    here, and rests of begun sheets. What is too small for it is left out."""
    board, room = piece.board, piece.room
    if board is None:
        return []
    units = room.house.units
    sources: list[Source] = []
    here = here_of(room.house)
    prices = {
        (row.width, row.length): row.price
        for row in SheetOnSale.objects.filter(
            house=room.house_id, board=board.board, thickness=board.thickness
        )
    }
    in_stock = {
        (size[2], size[3])
        for item, stands in here.items()
        if (size := size_of_sheet(item)) is not None
        and (size[0], size[1]) == (board.board, board.thickness)
        and stands.amount > 0
    }
    for width, length in sorted({*prices, *in_stock}):
        item = sheet_key(board.board, board.thickness, width, length)
        is_here = (width, length) in in_stock
        sources.append(
            Source(
                name=f"whole:{item}",
                words=f"A whole sheet, {sheet_sizes(board.thickness, width, length)[1]}"
                f"{', here' if is_here else ''}",
                rest=Rest(
                    source=item if is_here else None,
                    width=width,
                    length=length,
                    factory_edges=2,
                    price=0 if is_here else prices[width, length],
                ),
                item=item,
            )
        )
    for row in OwnedSheet.objects.filter(
        house=room.house_id,
        board=board.board,
        thickness=board.thickness,
        count__gt=F("cut_up") + F("spoiled"),
    ):
        shown = f"{show_length(row.length, units)} x {show_length(row.width, units)}"
        sources.append(
            Source(
                name=f"offcut:{row.key}",
                words=f"Offcut {row.key}, {shown}{f', at {row.place}' if row.place else ''}",
                rest=Rest(
                    source=row.key,
                    width=row.width,
                    length=row.length,
                    factory_edges=row.factory_edges,
                ),
                owned=row,
            )
        )
    sources += _rests(piece, board)
    return [
        one for one in sources if one.rest.width >= board.width and one.rest.length >= board.length
    ]


def _rests(piece: Piece, board: Board) -> Iterable[Source]:
    units = piece.room.house.units
    result = pile_result_of(piece.room)
    rows = {row.code: row for row in CutSheet.objects.filter(room__in=pile_of(piece.room))}
    sheets = [sheet for pool in result.pools for sheet in pool.plan.sheets] if result else []
    used = {sheet.source for sheet in sheets if sheet.code in rows}
    for sheet in sheets:
        row = rows.get(sheet.code)
        if (
            row is None
            or (sheet.board, sheet.thickness) != (board.board, board.thickness)
            or (piece.board is not None and sheet.code == piece.board.sheet)
        ):
            continue
        for offcut in sheet.offcuts:
            if offcut.id in row.rests or offcut.id in used:
                continue
            size = f"{show_length(offcut.length, units)} x {show_length(offcut.width, units)}"
            yield Source(
                name=f"rest:{offcut.id}",
                words=f"What is left of sheet {sheet.code}, {size}",
                rest=Rest(
                    source=offcut.id,
                    width=offcut.width,
                    length=offcut.length,
                    factory_edges=offcut.factory_edges,
                ),
            )
