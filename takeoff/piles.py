"""Which rooms of a house are bought together, and so share the offcuts of one pile of sheets."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from itertools import chain
from typing import TypeVar

from takeoff.house import BehindPartition, House, Room

__all__ = ["families", "piles", "rooms_in"]

T = TypeVar("T")
Rooms = tuple[str, ...]


def families(house: House) -> tuple[Rooms, ...]:
    """The rooms that partitions hold together, in the order of the house: each before those cut off
    from it.

    They are framed and boarded as one, so they are always bought together.
    """
    ids = {room.id for room in house.rooms}
    parents = {partition.id: partition.room for partition in house.partitions}

    def head(room: Room) -> str:
        seen: set[str] = set()
        at = room
        while isinstance(at.shape, BehindPartition) and at.id not in seen:
            seen.add(at.id)
            parent = parents.get(at.shape.partition, "")
            if parent not in ids:
                break
            at = house.room(parent)
        return at.id

    found: dict[str, list[str]] = {
        room.id: [room.id] for room in house.rooms if head(room) == room.id
    }
    for room in house.rooms:
        if room.id not in found:
            found.setdefault(head(room), []).append(room.id)
    return tuple(tuple(some) for some in found.values())


def piles(house: House) -> tuple[tuple[Rooms, ...], ...]:
    """The families of each pile, piles and families in the order of the house.

    A family whose rooms name no pile is bought apart; one whose rooms name several holds those
    piles together. A house in which no room names a pile is bought as one.
    """
    found = families(house)
    named = {room.id: room.pile for room in house.rooms if room.pile}
    if not named:
        return (found,) if found else ()
    # each pile's name, and the one that stands for all it is held together with
    together: dict[str, str] = {}

    def root(pile: str) -> str:
        while together.setdefault(pile, pile) != pile:
            pile = together[pile]
        return pile

    for family in found:
        mine = [named[room] for room in family if room in named]
        for pile in mine[1:]:
            together[root(pile)] = root(mine[0])

    def pile_of(family: Rooms) -> tuple[bool, str]:
        mine = [named[room] for room in family if room in named]
        return (True, root(mine[0])) if mine else (False, family[0])

    return tuple(tuple(some) for some in _grouped(found, pile_of))


def rooms_in(pile: Sequence[Rooms]) -> frozenset[str]:
    """Every room of some families."""
    return frozenset(chain.from_iterable(pile))


def _grouped(values: Sequence[T], key: Callable[[T], Hashable]) -> list[list[T]]:
    """Values of one key together, in the order each key first comes."""
    found: dict[Hashable, list[T]] = {}
    for value in values:
        found.setdefault(key(value), []).append(value)
    return list(found.values())
