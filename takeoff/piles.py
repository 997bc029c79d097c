"""Which rooms of a house are bought together, and so share the offcuts of one pile of sheets."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from itertools import chain
from typing import TypeVar

from takeoff.house import BehindPartition, House, Room

__all__ = ["connected_rooms", "piles", "rooms_in"]

T = TypeVar("T")
Rooms = tuple[str, ...]


def connected_rooms(house: House) -> tuple[Rooms, ...]:
    """The groups of rooms that partitions connect, in the order of the house: each room before
    those cut off from it.

    Connected rooms are framed and boarded as one, so they are always bought together.
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

    groups: dict[str, list[str]] = {
        room.id: [room.id] for room in house.rooms if head(room) == room.id
    }
    for room in house.rooms:
        if room.id not in groups:
            groups.setdefault(head(room), []).append(room.id)
    return tuple(tuple(rooms) for rooms in groups.values())


def piles(house: House) -> tuple[tuple[Rooms, ...], ...]:
    """The connected rooms of each pile, piles and rooms in the order of the house.

    Connected rooms that name no pile are bought apart; where they name several piles, those piles
    are one. A house in which no room names a pile is bought as one.
    """
    groups = connected_rooms(house)
    named = {room.id: room.pile for room in house.rooms if room.pile}
    if not named:
        return (groups,) if groups else ()
    # A pile's name points to another pile it is one with; a name that points to itself stands for
    # all of them (a union-find).
    together: dict[str, str] = {}

    def root(pile: str) -> str:
        while together.setdefault(pile, pile) != pile:
            pile = together[pile]
        return pile

    for connected in groups:
        mine = [named[room] for room in connected if room in named]
        for pile in mine[1:]:
            together[root(pile)] = root(mine[0])

    def pile_of(connected: Rooms) -> tuple[bool, str]:
        mine = [named[room] for room in connected if room in named]
        return (True, root(mine[0])) if mine else (False, connected[0])

    return tuple(tuple(pile) for pile in _grouped(groups, pile_of))


def rooms_in(pile: Sequence[Rooms]) -> frozenset[str]:
    """Every room of a pile."""
    return frozenset(chain.from_iterable(pile))


def _grouped(values: Sequence[T], key: Callable[[T], Hashable]) -> list[list[T]]:
    """Values of one key together, in the order each key first comes."""
    groups: dict[Hashable, list[T]] = {}
    for value in values:
        groups.setdefault(key(value), []).append(value)
    return list(groups.values())
