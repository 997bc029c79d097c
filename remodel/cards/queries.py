"""Cards, drawings and marks as pages show them, kept by the digest of what they are made of."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.core.cache import cache

from remodel.board.models import PlacedPiece, RoomResult
from remodel.board.queries import pile_result_of, takes_of_pile, view_of
from remodel.bridge import cards as cards_bridge
from remodel.bridge import codec, house_value
from remodel.bridge.piles import engine_version
from remodel.bridge.sheet_lists import ListedSheet, listed, read_listed
from remodel.cards.models import DoneMark, Marking
from remodel.house.models import Cutout, House, Opening, Room
from remodel.house.queries import whole_house

__all__ = [
    "PileList",
    "cards_for",
    "choices_of",
    "digest_of",
    "ended_pieces",
    "first_layer_for",
    "hanging_for",
    "list_of_cards",
    "marking_of",
    "on_result",
    "pile_lists",
    "plain_choices",
    "step_marks",
    "surface_names",
    "ticked_pieces",
    "told_pieces",
    "troubles_for",
    "troubles_on",
]

_DAY = 24 * 3600


@dataclass(frozen=True, slots=True, kw_only=True)
class PileList:
    """The sheets of a pile as lists show them, in the order they are cut, the key of its head room,
    and the side that is up."""

    head: str
    up: str
    sheets: tuple[ListedSheet, ...]


def digest_of(room: Room) -> str:
    """The digest of a room's result; empty where the room could not be worked out."""
    return RoomResult.objects.filter(room=room).values_list("digest", flat=True).first() or ""


def surface_names(room: Room) -> dict[str, str]:
    """The names of a room's surfaces by key, in the order of the room, without the room's own."""
    view = view_of(room)
    names = {}
    for surface in view.surfaces if view else ():
        name = surface.name.removeprefix(f"{room.name}, ")
        names[surface.key] = f"{name[:1].upper()}{name[1:]}"
    return names


def marking_of(house: House | UUID, room: Room | None = None) -> Marking | None:
    return Marking.objects.filter(house=house, room=room).first()


def choices_of(house_id: UUID) -> dict[str, cards_bridge.RoomChoice]:
    """How each room of a house marks its pieces, by the room's key."""
    markings = {marking.room_id: marking for marking in Marking.objects.filter(house=house_id)}
    own = markings.get(None, Marking())
    boxes: dict[UUID, list[tuple[str, str]]] = {}
    for key, room, box in Cutout.objects.filter(room__house=house_id).values_list(
        "key", "room", "id"
    ):
        boxes.setdefault(room, []).append((str(box), key))
    openings: dict[UUID, list[tuple[str, str]]] = {}
    for key, room, opening in Opening.objects.filter(room__house=house_id).values_list(
        "key", "room", "id"
    ):
        openings.setdefault(room, []).append((str(opening), key))
    # one in a partition is seen from the room on either side
    through = Opening.objects.filter(partition__house=house_id, partition__deleted_at=None)
    for key, room, behind, opening in through.values_list(
        "key", "partition__room", "partition__rooms_behind", "id"
    ):
        for room_id in {room, behind} - {None}:
            openings.setdefault(room_id, []).append((str(opening), key))
    choices = {}
    for room, key in Room.objects.filter(house=house_id).values_list("id", "key"):
        mine = markings.get(room, Marking())
        usual_box = mine.boxes or own.boxes or "floor"
        usual_opening = mine.openings or own.openings or "cut"
        allowance = mine.allowance if mine.allowance is not None else own.allowance
        choices[key] = cards_bridge.RoomChoice(
            up=mine.side_up or own.side_up or cards_bridge.FACE_UP,
            allowance=cards_bridge.USUAL_ALLOWANCE if allowance is None else allowance,
            in_place=frozenset(
                name
                for box, name in boxes.get(room, ())
                if mine.boxes_each.get(box, usual_box) == "place"
            ),
            sawn_later=frozenset(
                name
                for opening, name in openings.get(room, ())
                if mine.openings_each.get(opening, usual_opening) == "later"
            ),
        )
    return choices


def cards_for(room: Room, *, up: str = "") -> cards_bridge.PileCards | None:
    """Every sheet of the room's pile; None where it could not be worked out. `up` turns all
    sheets over for this one look."""
    digest = digest_of(room)
    if not digest:
        return None
    choices = choices_of(room.house_id)
    if up:
        choices = {key: _turned(choice, up) for key, choice in choices.items()}
    key = f"cards:{codec.digest(engine_version(), digest, plain_choices(choices))}"

    def make(house: Any, result: Any) -> cards_bridge.PileCards:
        return cards_bridge.cards_of_pile(house, room.key, result, choices)

    cards: cards_bridge.PileCards | None = _kept(room, key, make)
    return cards


def first_layer_for(room: Room) -> cards_bridge.FirstLayer | None:
    """The first layer of the room's surfaces that take two, for paper; None where none does."""
    choices = choices_of(room.house_id)
    mark = codec.digest(engine_version(), digest_of(room), room.key, plain_choices(choices))
    key = f"first-layer:{mark}"

    def make(house: Any, result: Any) -> cards_bridge.FirstLayer | None:
        return cards_bridge.first_layer_of(house, room.key, result, choices)

    first: cards_bridge.FirstLayer | None = _kept(room, key, make)
    return first


def list_of_cards(cards: cards_bridge.PileCards) -> PileList:
    """A pile's list where its cards are there already."""
    up = cards.sheets[0].up if cards.sheets else cards_bridge.FACE_UP
    return PileList(head=cards.head, up=up, sheets=tuple(listed(sheet) for sheet in cards.sheets))


def pile_lists(house: House, rooms: Iterable[Room]) -> dict[str, PileList]:
    """The list of each room's pile, by the room's key, in two queries. Rooms that could not be
    worked out are left out."""
    stored = RoomResult.objects.filter(room__house=house, room__deleted_at=None).exclude(digest="")
    columns = ("room__key", "summary__head", "sheets")
    heads: dict[str, str] = {}
    sheets: dict[str, tuple[ListedSheet, ...] | None] = {}
    for key, head, raw in stored.values_list(*columns):
        heads[key] = head
        sheets[key] = read_listed(raw)
    markings = {marking.room_id: marking.side_up for marking in Marking.objects.filter(house=house)}
    usual = markings.get(None) or cards_bridge.FACE_UP
    lists: dict[str, PileList] = {}
    by_key = {room.key: room for room in rooms}
    for key, head in heads.items():
        kept = sheets.get(head)
        if key not in by_key:
            continue
        if kept is None:
            # An older version worked the room out, and this one has not come to it yet.
            cards = cards_for(by_key[key])
            if cards is not None:
                lists[key] = list_of_cards(cards)
            continue
        room = by_key.get(head)
        up = markings.get(room.pk if room else None) or usual
        lists[key] = PileList(head=head, up=up, sheets=kept)
    return lists


def hanging_for(room: Room) -> tuple[cards_bridge.HangStep, ...] | None:
    """The steps of hanging a room; None where the room could not be worked out."""
    key = f"hanging:{codec.digest(engine_version(), digest_of(room), room.key)}"
    steps: tuple[cards_bridge.HangStep, ...] | None = _kept(
        room, key, lambda house, result: cards_bridge.hanging_of(house, room.key, result)
    )
    return steps


def troubles_for(room: Room) -> tuple[str, ...]:
    """A plain sentence for each thing in the room that stands in the wrong place."""
    return tuple(text for _, text in _troubles(room))


def troubles_on(room: Room, sheet: cards_bridge.SheetShown) -> tuple[str, ...]:
    """Those of the things that pieces of one sheet have a part of."""
    return tuple(text for thing, text in _troubles(room) if thing in sheet.things)


def _troubles(room: Room) -> tuple[tuple[str, str], ...]:
    key = f"troubles:{codec.digest(engine_version(), digest_of(room), room.key)}"
    return (
        _kept(room, key, lambda house, result: cards_bridge.troubles_of(house, room.key, result))
        or ()
    )


def on_result(room: Room, make: Any) -> Any:
    """What `make` gives for the house value and the room's result; None where the room could not be
    worked out."""
    result = pile_result_of(room)
    return make(house_value(whole_house(room.house_id)), result) if result is not None else None


def ticked_pieces(house_id: UUID, kind: str) -> frozenset[tuple[str, str]]:
    """Every piece of a house that is ticked as cut or as hung, as (room key, piece key)."""
    marks = DoneMark.objects.filter(house=house_id, kind=kind, done=True)
    return frozenset(marks.values_list("room__key", "item"))


def step_marks(room: Room) -> frozenset[str]:
    """The steps of the hanging order that are ticked, by key."""
    return frozenset(
        DoneMark.objects.filter(room=room, kind="step", done=True).values_list("item", flat=True)
    )


def told_pieces(room: Room) -> list[PlacedPiece]:
    """The pieces of a room that somebody recorded as not as planned, the last one first."""
    rows = PlacedPiece.objects.filter(room=room).exclude(told=[])
    return sorted(rows, key=lambda row: str(row.told[-1]["at"]), reverse=True)


def ended_pieces(room: Room, sheet: str) -> list[PlacedPiece]:
    """The pieces that were cut from a sheet of a room's pile and are in their places no more."""
    pile = [room.pk, *takes_of_pile(room)]
    return list(PlacedPiece.objects.filter(room__in=pile, sheet=sheet).exclude(ended_at=None))


def _turned(choice: cards_bridge.RoomChoice, up: str) -> cards_bridge.RoomChoice:
    return cards_bridge.RoomChoice(
        up=up, allowance=choice.allowance, in_place=choice.in_place, sawn_later=choice.sawn_later
    )


def plain_choices(choices: Mapping[str, cards_bridge.RoomChoice]) -> list[Any]:
    return [
        [key, choice.up, choice.allowance, sorted(choice.in_place), sorted(choice.sawn_later)]
        for key, choice in sorted(choices.items())
    ]


def _kept(room: Room, key: str, make: Any) -> Any:
    value = cache.get(key)
    if value is None:
        value = on_result(room, make)
        if value is not None:
            cache.set(key, value, _DAY)
    return value
