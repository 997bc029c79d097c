"""What pages show of cards: values with their drawings and marks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from uuid import UUID

from remodel.bridge import cards as cards_bridge
from remodel.bridge.lengths import BadValue, tape_text
from remodel.bridge.sheet_lists import ListedSheet, listed, offcut_words
from remodel.cards.queries import PileList, pile_lists
from remodel.house.models import House, Room
from remodel.pages.drawings import drawing_of
from remodel.supply.models import OwnedSheet
from remodel.web.parts import Column, Drawing, Table

__all__ = [
    "CardShown",
    "PieceOfCard",
    "RoomList",
    "SheetLine",
    "card_shown",
    "house_lists",
    "sheet_lines",
    "source_shown",
]

Marks = frozenset[tuple[str, str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceOfCard:
    """A piece with its drawing. `here` says that it hangs in the room whose page this is."""

    piece: cards_bridge.PieceShown
    drawing: Drawing | None
    why_not: str
    edges: Table
    done: bool
    here: bool
    anchor: str
    room_pk: UUID | None

    @property
    def bare(self) -> Drawing | None:
        """The drawing without its table. The table stands on the sheet's own page."""
        return replace(self.drawing, facts=None) if self.drawing else None


@dataclass(frozen=True, slots=True, kw_only=True)
class CardShown:
    sheet: cards_bridge.SheetShown
    drawing: Drawing
    pieces: tuple[PieceOfCard, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetLine:
    """A sheet in a list: where it comes from, how many of its pieces are cut, and the other rooms
    that take pieces of it."""

    sheet: ListedSheet
    from_: str
    done: int
    of: int
    others: tuple[str, ...]

    @property
    def status(self) -> str:
        return "done" if self.done == self.of else "in_progress" if self.done else "not_started"


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomList:
    room: Room
    head: str
    lines: Sequence[SheetLine]


def card_shown(
    sheet: cards_bridge.SheetShown, room: Room, marks: Marks, rooms: Mapping[str, UUID]
) -> CardShown:
    """A sheet and its pieces, each drawn for a screen. `rooms` gives the ids of the house's rooms
    by key."""
    pieces = []
    for index, piece in enumerate(sheet.pieces):
        anchor = f"piece-{sheet.key}-{index}".lower()
        drawing, why_not = None, ""
        try:
            drawn = cards_bridge.draw_piece(piece, prefix=f"d-{anchor}")
            drawing = drawing_of(drawn, f"{anchor}-drawing", f"{piece.code} as it lies, {sheet.up}")
        except BadValue as error:
            why_not = str(error)
        edges = Table(
            id=f"{anchor}-edges",
            caption=f"What each edge of {piece.code} meets",
            columns=[Column(title="As it lies"), Column(title="Meets"), Column(title="Made as")],
            rows=[[side.where, side.meets, side.finish] for side in piece.sides],
        )
        pieces.append(
            PieceOfCard(
                piece=piece,
                drawing=drawing,
                why_not=why_not,
                edges=edges,
                done=(piece.room_key, piece.key) in marks,
                here=piece.room_key == room.key,
                anchor=anchor,
                room_pk=rooms.get(piece.room_key),
            )
        )
    drawn = cards_bridge.draw_sheet(sheet, prefix=f"d-sheet-{sheet.key}".lower())
    return CardShown(
        sheet=sheet,
        drawing=drawing_of(drawn, f"sheet-{sheet.key}".lower(), f"Sheet {sheet.code}, {sheet.up}"),
        pieces=tuple(pieces),
    )


def source_shown(house: House, sheet: cards_bridge.SheetShown) -> str:
    """The offcut a sheet is cut from, with its size and where it is, in words; empty for a whole
    sheet."""
    planned = listed(sheet)
    if planned.source is None or planned.is_whole:
        return ""
    card = sheet.card.sheet
    size = " x ".join(tape_text(nm, house.units) for nm in (card.width, card.length))
    words = cards_bridge.held(f"From {offcut_words(planned.source)}, {size}")
    owned = OwnedSheet.objects.filter(house=house, key=planned.source).first()
    if owned is None:
        return f"{words}, left of sheet {planned.source.rpartition('.')[0]}."
    return f"{words}. It leans here: {owned.place}." if owned.place else f"{words}."


def sheet_lines(room: Room, pile: PileList, marks: Marks) -> list[SheetLine]:
    """The sheets that a room's pieces are cut from, in the order they are cut."""
    return [
        SheetLine(
            sheet=sheet,
            from_=sheet.from_(pile.up),
            done=sum((piece.room_key, piece.key) in marks for piece in sheet.pieces),
            of=len(sheet.pieces),
            others=tuple(
                dict.fromkeys(piece.room for piece in sheet.pieces if piece.room_key != room.key)
            ),
        )
        for sheet in pile.sheets
        if room.key in sheet.rooms
    ]


def house_lists(house: House, rooms: Sequence[Room], marks: Marks) -> list[RoomList]:
    """Each room with its sheets. A sheet that several rooms share stands with the first of them."""
    lists = []
    seen: set[tuple[str, str]] = set()
    piles = pile_lists(house, rooms)
    for room in rooms:
        pile = piles.get(room.key)
        if pile is None:
            continue
        lines = [
            line
            for line in sheet_lines(room, pile, marks)
            if (pile.head, line.sheet.key) not in seen
        ]
        seen |= {(pile.head, line.sheet.key) for line in lines}
        if lines:
            lists.append(RoomList(room=room, head=pile.head, lines=lines))
    return lists
