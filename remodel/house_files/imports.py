"""Makes rows of a house value: of an imported house file, or of the demo house."""

from __future__ import annotations

from typing import Any

from remodel.bridge import records
from remodel.bridge.marks import with_marks
from remodel.bridge.records import House as HouseValue
from remodel.bridge.records import Partition as PartitionValue
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
    walls = _walls(rooms, value)
    _things(rooms, walls, value)
    for index, partition in enumerate(value.partitions):
        _partition(house, rooms, walls, partition, index)
    _close_behind(rooms, value)
    _phases(by, rooms, value)
    stock_import(by=by, house=house, stock=value.on_hand)
    return house


# Rows of one table are made together, for a large house has thousands, and nobody else can write
# meanwhile.


def _rooms(house: House, value: HouseValue) -> dict[str, Room]:
    """Make the rooms' own rows. Rooms and partitions point at each other, so rooms behind
    partitions are saved as plain ones first."""
    made = []
    for index, room in enumerate(value.rooms):
        columns = records.columns_of_room(room)
        if columns["shape"] == "behind":
            columns["shape"] = "surfaces"
        made.append(Room(house=house, position=index, **columns))
    return {room.key: room for room in create_all(made)}


def _walls(rooms: dict[str, Room], value: HouseValue) -> dict[str, dict[str, Wall]]:
    """Make the walls; they are given by the key of their room, and by their own."""
    made: dict[str, dict[str, Wall]] = {key: {} for key in rooms}
    for wall in create_all(
        Wall(room=rooms[room.id], position=index, **columns)
        for room in value.rooms
        for index, columns in enumerate(records.walls_of(room))
    ):
        made[wall.room.key][wall.key] = wall
    return made


def _close_behind(rooms: dict[str, Room], value: HouseValue) -> None:
    for room in value.rooms:
        partition = getattr(room.shape, "partition", None)
        if partition:
            row = Partition.objects.get(house=rooms[room.id].house, key=partition)
            change(rooms[room.id], shape="behind", behind_id=row.pk)


def _phases(by: By, rooms: dict[str, Room], value: HouseValue) -> None:
    """Give each room its phases, those that people named, and what they added to any of them."""
    phases = phases_add(by=by, rooms=list(rooms.values()))
    last = max((phase.position for phase in phases), default=0)
    phases += create_all(
        Phase(
            room=rooms[room.id],
            key=own.id,
            name=own.name,
            own=True,
            position=last + 10 * (index + 1),
        )
        for room in value.rooms
        for index, own in enumerate(room.phases)
    )
    by_key = {(phase.room.key, phase.key): phase for phase in phases}
    create_all(
        AddedNeed(
            phase=by_key[room.id, need.phase], position=index, **records.columns_of_added(need)
        )
        for room in value.rooms
        for index, need in enumerate(room.added)
    )


def _on(walls: dict[str, Wall], key: str) -> dict[str, Any]:
    wall = walls.get(key)
    return {"wall": wall, "plane": "" if wall else key}


def _things(rooms: dict[str, Room], walls: dict[str, dict[str, Wall]], value: HouseValue) -> None:
    """Make what stands in walls and ceilings. What a room behind a partition has may stand in a
    wall of the room it was cut from."""
    parent = {partition.id: partition.room for partition in value.partitions}
    openings: list[Opening] = []
    cutouts: list[Cutout] = []
    hidden_items: list[HiddenItem] = []
    choices: list[SurfaceChoice] = []
    for room_value in value.rooms:
        room = rooms[room_value.id]
        behind = getattr(room_value.shape, "partition", None)
        own = walls[parent.get(behind, room_value.id) if behind else room_value.id]
        openings += (
            Opening(
                room=room,
                position=index,
                **_on(own, opening.wall),
                **records.columns_of_opening(opening),
            )
            for index, opening in enumerate(room_value.openings)
        )
        cutouts += (
            Cutout(
                room=room,
                position=index,
                **_on(own, cutout.surface),
                **records.columns_of_cutout(cutout),
            )
            for index, cutout in enumerate(room_value.cutouts)
        )
        hidden_items += (
            HiddenItem(
                room=room,
                position=index,
                **_on(own, hidden.surface),
                **records.columns_of_hidden(hidden),
            )
            for index, hidden in enumerate(room_value.hidden)
        )
        choices += (
            SurfaceChoice(
                room=room,
                position=index,
                **_on(own, choice.of),
                **records.columns_of_choice(choice),
            )
            for index, choice in enumerate(room_value.surfaces)
        )
    create_all(openings)
    create_all(cutouts)
    create_all(hidden_items)
    create_all(choices)


def _partition(
    house: House,
    rooms: dict[str, Room],
    walls: dict[str, dict[str, Wall]],
    value: PartitionValue,
    position: int,
) -> None:
    row = create(
        Partition(
            house=house,
            room=rooms[value.room],
            position=position,
            **_on(walls[value.room], value.wall),
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
