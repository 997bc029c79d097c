"""The sheets of a pile as lists show them, made from its plans alone.

The full card of a sheet takes the shapes of all rooms of its pile. A list needs none of them, so it
is made with the pile's result and stored beside it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from remodel.bridge.cards import FACE_UP, SheetShown, held
from remodel.bridge.views import PileResult
from takeoff import codec
from takeoff.cards.card import board_words, offcut_words, pieces_on, source_words
from takeoff.cards.cuts import cut_count
from takeoff.cards.frames import SideUp
from takeoff.cards.tape import tape
from takeoff.house import House

__all__ = [
    "ListedPiece",
    "ListedSheet",
    "PlannedFrom",
    "comes_words",
    "listed",
    "listed_sheets",
    "offcut_words",
    "planned_from",
    "read_listed",
    "taken_in_list",
    "taken_in_plans",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedFrom:
    """What a plan cuts out of one offcut: the sheet that the offcut is in the plan, the room it is
    cut in, and the pieces, each with the name of its room. `stands` says that the plan stands."""

    source: str
    sheet: str
    room_key: str
    pieces: tuple[tuple[str, str], ...]
    stands: bool

    @property
    def codes(self) -> tuple[str, ...]:
        return tuple(code for code, _ in self.pieces)

    @property
    def words(self) -> str:
        """`K-B3 of Kitchen`, or several pieces room by room."""
        rooms: dict[str, list[str]] = {}
        for code, room in self.pieces:
            rooms.setdefault(room, []).append(code)
        return " and ".join(f"{' and '.join(codes)} of {room}" for room, codes in rooms.items())


def comes_words(planned: Iterable[PlannedFrom]) -> str:
    """Which pieces will come of an offcut, in words; empty for none."""
    words = " and ".join(one.words for one in planned)
    return f"{words} will come of it" if words else ""


def planned_from(stored: Any, plans: Any) -> list[PlannedFrom]:
    """The offcuts that a pile's plans cut up, from its stored list of sheets and the stored
    summaries of its plans. It reads no more of either than it needs."""
    stands = [plan.get("source") == "accepted" for plan in plans or ()]
    found = []
    for sheet in stored or ():
        if sheet.get("source") is None or sheet.get("is_whole"):
            continue
        pool = int(sheet["key"].partition("-")[0])
        found.append(
            PlannedFrom(
                source=sheet["source"],
                sheet=sheet["code"],
                room_key=sheet["room_key"],
                pieces=tuple((piece["code"], piece["room"]) for piece in sheet["pieces"]),
                stands=pool < len(stands) and stands[pool],
            )
        )
    return found


def taken_in_list(stored: Any) -> list[tuple[str, str, str]]:
    """What the sheets of a stored list are made of where they are not bought, each with the key of
    the room it is cut in and its mark."""
    return [
        (sheet["source"], sheet["room_key"], sheet["code"])
        for sheet in stored or ()
        if sheet.get("source") is not None
    ]


def taken_in_plans(result: PileResult) -> list[tuple[str, str, str]]:
    """The same of a result that is not stored yet."""
    return [
        (sheet.source, sheet.room, sheet.code)
        for pool in result.pools
        for sheet in pool.plan.sheets
        if sheet.source is not None
    ]


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

    `whole` says that it is a whole sheet which is here. `cuts` is how many there are.
    `factory_edges` is how many long edges are the sheet's own.
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
    is_whole: bool
    cuts: int
    pieces: tuple[ListedPiece, ...]

    @property
    def rooms(self) -> frozenset[str]:
        """The keys of the rooms whose pieces come out of it."""
        return frozenset(piece.room_key for piece in self.pieces)

    def from_(self, up: str = FACE_UP) -> str:
        """Where the sheet comes from, in words; `up` is the side that is up as it is cut."""
        return source_words(self.source, self.factory_edges, SideUp(up), whole=self.is_whole)


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
        for planned in plan.sheets:
            sheet = planned.only(hung)
            pieces = [(code, *hung[code]) for code in pieces_on(sheet)]
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
                    is_whole=sheet.is_whole,
                    cuts=cut_count(sheet, [piece for _, _, piece in pieces], house.units),
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
        is_whole=sheet.card.sheet.is_whole,
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
