"""Writes to planned partitions and the rooms they make."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Max, Q

from remodel.bridge.lengths import FOOT
from remodel.history.errors import Refused
from remodel.history.services import By, change, create, recorded, remove
from remodel.house import hooks
from remodel.house.checks import check_room
from remodel.house.marks import code_for, letter_for
from remodel.house.models import (
    Cutout,
    HiddenItem,
    House,
    Opening,
    Partition,
    Room,
    SurfaceChoice,
)
from remodel.house.queries import new_key, surface_of, taken_keys
from remodel.house.table_columns import OnSurface

__all__ = ["Corner", "corners_of", "partition_add", "partition_change", "partition_remove"]


@dataclass(frozen=True, slots=True)
class Corner:
    """Where a partition turns: the length of the leg up to there on its longer side, and whether
    it turns `toward` the room it makes or `away`."""

    length: int
    turn: str


def corners_of(partition: Partition) -> list[Corner]:
    """Where a partition turns now."""
    legs = partition.legs_now
    lengths = [partition.length, *(leg["length"] for leg in legs)]
    return [
        Corner(length=length, turn=leg["turn"])
        for length, leg in zip(lengths, legs, strict=False)
        if length is not None
    ]


@recorded("planned a partition")
def partition_add(
    *,
    by: By,
    room: Room,
    surface: str,
    name: str,
    behind: str,
    at: int,
    side: str,
    corners: Sequence[Corner] = (),
    **values: Any,
) -> Partition:
    """Plan a partition at right angles to the wall of key `surface`, `at` from that wall's left
    end, that turns at each of the `corners`. What lies on its `side` becomes the room called
    `behind`."""
    if not name.strip() or not behind.strip():
        raise Refused(
            "Name the partition and the room behind it, for example Closet wall and Closet",
            field="name",
        )
    wall, plane = surface_of(room, surface)
    house = room.house
    last = Partition.all_objects.filter(house=house).aggregate(last=Max("position"))["last"]
    taken = _taken(house)
    key = new_key(name, taken, fallback="partition")
    row = create(
        Partition(
            house=house,
            room=room,
            wall=wall,
            plane=plane,
            key=key,
            name=name.strip(),
            position=0 if last is None else last + 1,
            at=at,
            side=side,
            **{"letter": letter_for(room), **values},
        )
    )
    if corners:
        row = change(row, **_legs(row, corners))
    after = Room.all_objects.filter(house=house).aggregate(last=Max("position"))["last"] or 0
    made = create(
        Room(
            house=house,
            key=new_key(behind, _taken(house), fallback="room"),
            name=behind.strip(),
            shape="behind",
            behind=row,
            position=after + 1,
            ceiling_height=8 * FOOT,
            code=code_for(house, behind.strip()),
        )
    )
    hooks.tell_added(by, made)
    _refuse_waiting_load(row)
    check_room(room)
    return row


def _taken(house: House) -> list[str]:
    """Every key that a partition, a leg of one or a room of the house has or had."""
    legs = Partition.all_objects.filter(house=house).values_list("legs", flat=True)
    return [
        *taken_keys(Partition, house=house),
        *taken_keys(Room, house=house),
        *(leg["id"] for some in legs for leg in some),
    ]


def _legs(partition: Partition, corners: Sequence[Corner]) -> dict[str, Any]:
    """The columns of a partition that turns at these corners. The leg after each corner keeps the
    key and the letter that a leg in its place had."""
    legs = []
    taken = _taken(partition.house)
    letters: list[str] = []
    for place in range(max(len(corners), len(partition.legs))):
        if place < len(partition.legs):
            leg = dict(partition.legs[place])
        else:
            key = new_key(f"{partition.name} {place + 2}", taken, fallback="leg")
            taken.append(key)
            letters.append(letter_for(partition.room, also=letters))
            leg = {"id": key, "letter": letters[-1]}
        is_there = place < len(corners)
        leg["name"] = f"{partition.name}, leg {place + 2}"
        leg["turn"] = corners[place].turn if is_there else ""
        leg["length"] = corners[place + 1].length if place + 1 < len(corners) else None
        legs.append(leg)
    return {"length": corners[0].length if corners else None, "legs": legs}


@recorded("changed a partition")
def partition_change(
    *, by: By, partition: Partition, corners: Sequence[Corner] | None = None, **values: Any
) -> Partition:
    """Change where a partition stands, when it is framed, its studs, whether its blocking is
    recorded, or where it turns. `corners` None leaves those as they are.

    Raises `Refused` where something stands on a leg that it would no longer have, and where one
    that carries load would be framed after board.
    """
    row = change(partition, **values)
    if corners is not None:
        columns = _legs(row, corners)
        gone = {leg["id"] for leg in columns["legs"] if not leg["turn"]} & set(row.faces)
        _refuse_things_on(row, gone)
        row = change(row, **columns)
    _refuse_waiting_load(row)
    check_room(row.room)
    return row


def _refuse_waiting_load(partition: Partition) -> None:
    if partition.bearing and partition.framed == "after":
        raise Refused(
            f"{partition.name} carries load from above, so it cannot wait for the board. Choose "
            "Before board",
            field="framed",
        )


def _refuse_things_on(partition: Partition, keys: set[str]) -> None:
    """Refuse to take legs away on which something stands, or from which another partition
    starts."""
    tables: tuple[type[OnSurface], ...] = (Opening, Cutout, HiddenItem, SurfaceChoice)
    rooms = Q(room=partition.room) | Q(room__behind__room=partition.room)
    for table in tables:
        at = Q(partition=partition) if table is Opening else rooms
        for thing in table._default_manager.filter(at, plane__in=keys):
            leg = partition.faces[thing.plane]
            what = "A choice for it" if isinstance(thing, SurfaceChoice) else f"{thing}"
            raise Refused(
                f"{leg} would be gone, and something is on it: {what}. Remove that first, or keep "
                "the corner",
                field="corners",
            )
    for other in Partition.objects.filter(room=partition.room, plane__in=keys):
        raise Refused(
            f"{other.name} starts on {partition.faces[other.plane]}. Move or remove it first",
            field="corners",
        )


@recorded("gave up a partition")
def partition_remove(*, by: By, partition: Partition) -> Partition:
    """Remove a planned partition and the room behind it. Undo brings both back. Raises `Refused`
    where the room behind it has to stay, or another partition starts on it."""
    for other in Partition.objects.filter(room=partition.room, plane__in=list(partition.faces)):
        raise Refused(
            f"{other.name} starts on {partition.faces[other.plane]}. Move or remove it first"
        )
    for behind in Room.objects.filter(behind=partition):
        hooks.check_removal(behind)
        remove(behind)
    return remove(partition)
