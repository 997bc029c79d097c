"""Writes to planned partitions and the rooms they make."""

from __future__ import annotations

from typing import Any

from django.db.models import Max

from remodel.bridge.lengths import FOOT
from remodel.history.errors import Refused
from remodel.history.services import By, change, create, recorded, remove
from remodel.house import hooks
from remodel.house.checks import check_room
from remodel.house.marks import code_for, letter_for
from remodel.house.models import Partition, Room
from remodel.house.queries import new_key, surface_of, taken_keys

__all__ = ["partition_add", "partition_change", "partition_remove"]


@recorded("planned a partition")
def partition_add(
    *, by: By, room: Room, surface: str, name: str, behind: str, at: int, side: str, **values: Any
) -> Partition:
    """Plan a partition at right angles to the wall of key `surface`, `at` from that wall's left
    end. What lies on its `side` becomes the room called `behind`."""
    if not name.strip() or not behind.strip():
        raise Refused(
            "Name the partition and the room behind it, like Closet wall and Closet", field="name"
        )
    wall, plane = surface_of(room, surface)
    house = room.house
    last = Partition.all_objects.filter(house=house).aggregate(last=Max("position"))["last"]
    taken = taken_keys(Partition, house=house) + taken_keys(Room, house=house)
    row = create(
        Partition(
            house=house,
            room=room,
            wall=wall,
            plane=plane,
            key=new_key(name, taken, fallback="partition"),
            name=name.strip(),
            position=0 if last is None else last + 1,
            at=at,
            side=side,
            **{"letter": letter_for(room), **values},
        )
    )
    after = Room.all_objects.filter(house=house).aggregate(last=Max("position"))["last"] or 0
    made = create(
        Room(
            house=house,
            key=new_key(behind, [*taken_keys(Room, house=house), row.key], fallback="room"),
            name=behind.strip(),
            shape="behind",
            behind=row,
            position=after + 1,
            ceiling_height=8 * FOOT,
            code=code_for(house, behind.strip()),
        )
    )
    hooks.tell_added(by, made)
    check_room(room)
    return row


@recorded("changed a partition")
def partition_change(*, by: By, partition: Partition, **values: Any) -> Partition:
    """Change where a partition stands, when it is framed, its studs, or whether its blocking is
    recorded."""
    row = change(partition, **values)
    check_room(row.room)
    return row


@recorded("gave up a partition")
def partition_remove(*, by: By, partition: Partition) -> Partition:
    """Remove a planned partition and the room behind it. Undo brings both back. Raises `Refused`
    where the room behind it has to stay."""
    for behind in Room.objects.filter(behind=partition):
        hooks.check_removal(behind)
        remove(behind)
    return remove(partition)
