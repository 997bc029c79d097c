"""Rooms bought together: which rooms are, why that cannot be changed now, and the writes that
change it. A room here stands for the rooms behind its partitions too, which go with it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.core.cache import cache

from remodel.board.models import Plan, RoomResult
from remodel.board.queries import begun_plans
from remodel.bridge import codec, house_value
from remodel.bridge.pile_savings import Compared, as_one_pile, compared, digest_of
from remodel.bridge.plans import plan_from
from remodel.history.errors import Refused
from remodel.history.models import Change
from remodel.history.services import By, change, recorded
from remodel.house.models import House, Room
from remodel.house.queries import new_key, whole_house

__all__ = [
    "Pile",
    "check_free",
    "check_removal",
    "check_undo",
    "heads_of",
    "in_the_way",
    "named",
    "pile_end",
    "pile_make",
    "piles_of",
    "saving_of",
    "seen_piles",
]

_BEGUN = ("ordered", "cut", "hung")


@dataclass(frozen=True, slots=True)
class Pile:
    """Rooms bought together: at least two, in the order they are hung."""

    key: str
    rooms: tuple[Room, ...]


def heads_of(house: House) -> list[Room]:
    """The rooms that lie behind no partition, in the order they are hung."""
    return list(Room.objects.filter(house=house, behind=None).select_related("house"))


def piles_of(house: House, heads: Sequence[Room] | None = None) -> list[Pile]:
    piles: dict[str, list[Room]] = {}
    for room in heads_of(house) if heads is None else heads:
        if room.pile:
            piles.setdefault(room.pile, []).append(room)
    return [Pile(key, tuple(rooms)) for key, rooms in piles.items() if len(rooms) > 1]


def named(rooms: Iterable[Room]) -> str:
    """The names of rooms as a sentence has them: Kitchen, Hall and Den."""
    *others, last = [room.name for room in rooms]
    return f"{', '.join(others)} and {last}" if others else last


def seen_piles(heads: Iterable[Room]) -> str:
    """A mark of which rooms are bought together. A page carries it, so that a page made before
    another change of piles is found out."""
    return codec.digest([[str(room.pk), room.pile] for room in heads])[:16]


def in_the_way(house: House, heads: Sequence[Room]) -> dict[UUID, str]:
    """Why a room cannot be bought with other rooms now, by room. A room that is free is not in it.

    Boards that are ordered, cut or hung stay what they are, and so does the pile they were planned
    for.
    """
    states: dict[UUID, str] = {}
    for plan in _begun(house):
        states.setdefault(
            plan.room.behind.room_id if plan.room.behind else plan.room_id,
            plan.state if plan.state in _BEGUN else "cut",
        )
    reasons: dict[UUID, str] = {}
    grouped = [pile.rooms for pile in piles_of(house, heads)]
    alone = [(room,) for room in heads if not any(room in rooms for rooms in grouped)]
    for rooms in [*grouped, *alone]:
        state = next((states[room.pk] for room in rooms if room.pk in states), "")
        if state:
            reasons |= {room.pk: f"Boards of {named(rooms)} are {state} already" for room in rooms}
    return reasons


def _begun(house: House) -> list[Plan]:
    """The plans of a house whose boards are ordered, cut or hung. A plan begins with the first
    piece that is cut."""
    plans = list(
        Plan.objects.filter(
            house=house, state__in=("accepted", *_BEGUN), room__deleted_at=None
        ).select_related("room__behind")
    )
    begun = begun_plans(house.pk)
    return [plan for plan in plans if plan.state in _BEGUN or plan.pk in begun]


def saving_of(house: House, rooms: Sequence[Room]) -> Compared:
    """What buying rooms together would save. It is kept by the digest of what it is worked out
    from.

    Raises `TakeoffError` where a room cannot be worked out.
    """
    heads = heads_of(house)
    chosen = {room.pk for room in rooms}
    touched = {room.pile for room in rooms} - {""}
    used: Counter[str] = Counter()
    taken = dict(RoomResult.objects.filter(room__house=house).values_list("room", "used"))
    for room in heads:
        if room.pk in chosen:
            break
        if room.pile not in touched:
            used.update(taken.get(room.pk) or {})
    pile = as_one_pile(house_value(whole_house(house)), [room.key for room in rooms], used)
    accepted = Plan.objects.filter(room__in=chosen, state__in=("accepted", *_BEGUN)).order_by("id")
    warm_start = [plan_from(plan.data) for plan in accepted]
    key = f"saving:{digest_of(pile, warm_start)}"
    saving: Compared | None = cache.get(key)
    if saving is None:
        saving = compared(pile, warm_start)
        cache.set(key, saving, 24 * 3600)
    return saving


def check_free(house: House, rooms: Iterable[Room], heads: Sequence[Room]) -> None:
    """Raise `Refused` with the reason where one of the rooms cannot change piles now."""
    why = in_the_way(house, heads)
    for room in rooms:
        if room.pk in why:
            raise Refused(
                f"{why[room.pk]}, so what {room.name} is bought with cannot be changed under them. "
                "Choose other rooms, or take the order or the marks back first",
                field="rooms",
            )


def check_removal(room: Room) -> None:
    """Raise `Refused` where the room belongs to a pile whose boards are begun, because the boards
    of the other rooms are cut by the same plan."""
    heads = heads_of(room.house)
    head = room.behind.room if room.behind else room
    pile = next((pile for pile in piles_of(room.house, heads) if head in pile.rooms), None)
    why = in_the_way(room.house, heads).get(head.pk) if pile else None
    if why:
        raise Refused(f"{why}, all by one plan, so {room.name} cannot be taken out of it")


def check_undo(changes: Sequence[Change]) -> None:
    """Raise `Refused` where an undo would change the pile of rooms whose boards are begun."""
    touched = [
        change.row
        for change in changes
        if change.model == "house.room" and change.before and "pile" in change.fields
    ]
    for house in House.objects.filter(rooms__in=touched).distinct():
        heads = heads_of(house)
        check_free(house, [room for room in heads if room.pk in touched], heads)


@recorded("bought rooms together")
def pile_make(*, by: By, house: House, rooms: Sequence[Room]) -> House:
    """Buy rooms together. They leave the piles they were in; the other rooms of those piles stay
    together."""
    heads = heads_of(house)
    chosen = [room for room in heads if any(room.pk == requested.pk for requested in rooms)]
    if len(chosen) < 2 or len(chosen) < len(rooms):
        raise Refused(
            "Choose at least two rooms of this house that are not behind a partition", field="rooms"
        )
    old_piles = {room.pile for room in chosen} - {""}
    rest = [room for room in heads if room.pile in old_piles and room not in chosen]
    if not rest and len(old_piles) == 1 and all(room.pile for room in chosen):
        return house
    check_free(house, [*chosen, *rest], heads)
    key = new_key(
        "-".join(room.name for room in chosen), {room.pile for room in heads}, fallback="pile"
    )
    for room in chosen:
        change(room, pile=key)
    _follow(house, chosen)
    for room in rest:
        if sum(other.pile == room.pile for other in rest) == 1:
            change(room, pile="")
    return house


@recorded("bought rooms apart")
def pile_end(*, by: By, house: House, key: str) -> House:
    """Buy each room of a pile by itself from now on."""
    heads = heads_of(house)
    rooms = [room for room in heads if key and room.pile == key]
    if not rooms:
        raise Refused("These rooms are bought apart already")
    check_free(house, rooms, heads)
    for room in rooms:
        change(room, pile="")
    _follow(house, rooms)
    return house


def _follow(house: House, heads: Sequence[Room]) -> None:
    """Put each room behind a partition into the pile of the room it is cut off from, whatever pile
    a house file gave it."""
    for room in Room.objects.filter(house=house, behind__room__in=heads).exclude(pile=""):
        change(room, pile="")
