"""The sheets of a pile as lists show them, made from its plans alone.

The full card of a sheet takes the shapes of all rooms of its pile. A list needs none of them, so it
is made with the pile's result and stored beside it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from remodel.bridge.cards import FACE_UP, SheetShown, held
from remodel.bridge.views import PileResult
from takeoff import codec
from takeoff.cards.card import board_words, cut_count, pieces_on, source_words
from takeoff.cards.frames import SideUp
from takeoff.cards.tape import tape
from takeoff.house import House

__all__ = ["ListedPiece", "ListedSheet", "listed", "listed_sheets", "read_listed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedPiece:
    """A piece in a list. `key` names it among the pieces of its plan."""

    key: str
    code: str
    room: str
    room_key: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedSheet:
    """A sheet in a list, with as much of its card as a line says (see `cards.SheetShown`).

    `cuts` is how many there are. `factory_edges` is how many long edges are the sheet's own.
    """

    key: str
    code: str
    plan: str
    board_name: str
    room: str
    room_key: str
    size: str
    source: str | None
    factory_edges: int
    cuts: int
    pieces: tuple[ListedPiece, ...]

    @property
    def rooms(self) -> frozenset[str]:
        """The keys of the rooms whose pieces come out of it."""
        return frozenset(piece.room_key for piece in self.pieces)

    def from_(self, up: str = FACE_UP) -> str:
        """Where the sheet comes from, in words; `up` is the side that is up as it is cut."""
        return source_words(self.source, self.factory_edges, SideUp(up))


def listed_sheets(house: House, result: PileResult) -> tuple[ListedSheet, ...]:
    """Every sheet of a pile in the order they are cut. `house` has the pile's rooms."""
    names = {view.key: view.name for view in result.views}
    sheets = []
    for pool, state in enumerate(result.pools):
        plan = state.plan
        digest = codec.digest(plan)
        hung = {
            piece.code: (surface.surface, piece)
            for surface in plan.surfaces
            for piece in surface.pieces
        }
        for sheet in plan.sheets:
            pieces = [(code, *hung[code]) for code in pieces_on(sheet) if code in hung]
            size = f"{tape(sheet.length, house.units)} x {tape(sheet.width, house.units)}"
            sheets.append(
                ListedSheet(
                    key=f"{pool}-{sheet.code}",
                    code=sheet.code,
                    plan=digest,
                    board_name=board_words(sheet, house.catalogue.board(sheet.board), house.units),
                    room=names[sheet.room],
                    room_key=sheet.room,
                    size=held(size),
                    source=sheet.source,
                    factory_edges=sheet.factory_edges,
                    cuts=cut_count(sheet, [piece for _, _, piece in pieces]),
                    pieces=tuple(
                        ListedPiece(
                            key=f"{surface.partition('/')[2]}.{code}",
                            code=code,
                            room=names[surface.partition("/")[0]],
                            room_key=surface.partition("/")[0],
                        )
                        for code, surface, _ in pieces
                    ),
                )
            )
    return tuple(sheets)


def listed(sheet: SheetShown) -> ListedSheet:
    """The line of a sheet whose card is there already."""
    return ListedSheet(
        key=sheet.key,
        code=sheet.code,
        plan=sheet.plan,
        board_name=sheet.board_name,
        room=sheet.room,
        room_key=sheet.room_key,
        size=sheet.size,
        source=sheet.card.sheet.source,
        factory_edges=sheet.card.sheet.factory_edges,
        cuts=len(sheet.cuts),
        pieces=tuple(
            ListedPiece(key=piece.key, code=piece.code, room=piece.room, room_key=piece.room_key)
            for piece in sheet.pieces
        ),
    )


def read_listed(stored: Any) -> tuple[ListedSheet, ...] | None:
    """A stored list; None where there is none, or one of an older shape."""
    if stored is None:
        return None
    try:
        sheets: tuple[ListedSheet, ...] = codec.read(tuple[ListedSheet, ...], stored)
    except (KeyError, TypeError, ValueError):
        return None
    return sheets
