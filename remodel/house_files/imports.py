"""Makes rows of a house value: of an imported house file, or of the demo house."""

from __future__ import annotations

from typing import Any

from remodel.bridge import records
from remodel.bridge.marks import with_marks
from remodel.bridge.records import House as HouseValue
from remodel.bridge.records import Partition as PartitionValue
from remodel.bridge.records import Room as RoomValue
from remodel.history.services import By, change, create, create_all, recorded
from remodel.house.models import (
    Cutout,
    HiddenItem,
    House,
    Opening,
    Partition,
    Room,
    SurfaceChoice,
    Wall,
)
from remodel.people.services import give_to_owners
from remodel.supply.imports import catalogue_import, stock_import
from remodel.work.models import AddedNeed, Phase
from remodel.work.services import phases_add

__all__ = ["save_house_value"]


@recorded("brought in a house")
def save_house_value(*, by: By, value: HouseValue, is_demo: bool = False) -> House:
    """Make rows of a house value, owned as a new house is. `bridge.house_value` of the rows gives
    the same value, with the codes and letters of boards that it left open, but that whole sheets
    among its offcuts are found in the ledger."""
    value = with_marks(value)
    house = create(
        House(
            key=value.id,
            name=value.name,
            units=value.units.value,
            currency=value.catalogue.currency,
            note=value.note,
            rules=records.rules_columns(value.rules),
            sample_prices=value.catalogue.sample,
            is_demo=is_demo,
        )
    )
    give_to_owners(house, by.person)
    offcuts = [sheet for sheet in value.rules.owned if not sheet.whole]
    catalogue_import(by=by, house=house, catalogue=value.catalogue, owned=offcuts)
    rooms = _rooms(house, value)
    walls = {
        (wall.room.key, wall.key): wall
        for room_value in value.rooms
        for wall in create_all(
            Wall(room=rooms[room_value.id], position=index, **columns)
            for index, columns in enumerate(records.walls_of(room_value))
        )
    }
    parent = {partition.id: partition.room for partition in value.partitions}
    for room_value in value.rooms:
        behind = getattr(room_value.shape, "partition", None)
        home = parent.get(behind, room_value.id) if behind else room_value.id
        _things(
            rooms[room_value.id],
            room_value,
            {key: wall for (room, key), wall in walls.items() if room == home},
        )
    for index, partition in enumerate(value.partitions):
        _partition(house, rooms, walls, partition, index)
    _close_behind(rooms, value)
    for room_value in value.rooms:
        _phases(by, rooms[room_value.id], room_value)
    stock_import(by=by, house=house, stock=value.on_hand)
    return house


def _rooms(house: House, value: HouseValue) -> dict[str, Room]:
    """Make the rooms' own rows. Rooms and partitions point at each other, so rooms behind
    partitions are saved as plain ones first."""
    made = {}
    for index, room in enumerate(value.rooms):
        columns = records.columns_of_room(room)
        if columns["shape"] == "behind":
            columns["shape"] = "surfaces"
        made[room.id] = create(Room(house=house, position=index, **columns))
    return made


def _close_behind(rooms: dict[str, Room], value: HouseValue) -> None:
    for room in value.rooms:
        partition = getattr(room.shape, "partition", None)
        if partition:
            row = Partition.objects.get(house=rooms[room.id].house, key=partition)
            change(rooms[room.id], shape="behind", behind_id=row.pk)


def _phases(by: By, room: Room, value: RoomValue) -> None:
    """Give a room its phases, those that people named, and what they added to any of them."""
    phases = phases_add(by=by, room=room)
    last = max(phase.position for phase in phases)
    phases += create_all(
        Phase(room=room, key=own.id, name=own.name, own=True, position=last + 10 * (index + 1))
        for index, own in enumerate(value.phases)
    )
    by_key = {phase.key: phase for phase in phases}
    create_all(
        AddedNeed(phase=by_key[need.phase], position=index, **records.columns_of_added(need))
        for index, need in enumerate(value.added)
    )


def _on(walls: dict[str, Wall], key: str) -> dict[str, Any]:
    wall = walls.get(key)
    return {"wall": wall, "plane": "" if wall else key}


def _things(room: Room, value: RoomValue, walls: dict[str, Wall]) -> None:
    create_all(
        Opening(
            room=room,
            position=index,
            **_on(walls, opening.wall),
            **records.columns_of_opening(opening),
        )
        for index, opening in enumerate(value.openings)
    )
    create_all(
        Cutout(
            room=room,
            position=index,
            **_on(walls, cutout.surface),
            **records.columns_of_cutout(cutout),
        )
        for index, cutout in enumerate(value.cutouts)
    )
    create_all(
        HiddenItem(
            room=room,
            position=index,
            **_on(walls, hidden.surface),
            **records.columns_of_hidden(hidden),
        )
        for index, hidden in enumerate(value.hidden)
    )
    create_all(
        SurfaceChoice(
            room=room, position=index, **_on(walls, choice.of), **records.columns_of_choice(choice)
        )
        for index, choice in enumerate(value.surfaces)
    )


def _partition(
    house: House,
    rooms: dict[str, Room],
    walls: dict[tuple[str, str], Wall],
    value: PartitionValue,
    position: int,
) -> None:
    own = {key: wall for (room, key), wall in walls.items() if room == value.room}
    row = create(
        Partition(
            house=house,
            room=rooms[value.room],
            position=position,
            **_on(own, value.wall),
            **records.columns_of_partition(value),
        )
    )
    create_all(
        Opening(
            partition=row,
            position=index,
            wall=None,
            plane=opening.wall,
            **records.columns_of_opening(opening),
        )
        for index, opening in enumerate(value.openings)
    )
