"""Houses and rooms with what hangs on them."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.db.models import Prefetch, Q, QuerySet

from remodel.bridge.built import built_surfaces
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

__all__ = [
    "PLANE_NAMES",
    "built_faces",
    "face_names",
    "faces_of",
    "house_bought_with",
    "house_with_pile",
    "keys_bought_with",
    "new_key",
    "partitions_off",
    "rooms_of",
    "surface_of",
    "whole_house",
    "whole_rooms",
]


PLANE_NAMES = {
    "ceiling": "Ceiling",
    "ceiling-near": "Ceiling, near slope",
    "ceiling-flat": "Ceiling, flat part",
    "ceiling-far": "Ceiling, far slope",
}


def whole_rooms() -> QuerySet[Room]:
    """Rooms with everything the engine needs of them, in a fixed number of queries."""
    return Room.objects.select_related("behind").prefetch_related(
        "walls",
        Prefetch("openings", Opening.objects.select_related("wall")),
        Prefetch("cutouts", Cutout.objects.select_related("wall")),
        Prefetch("hidden_items", HiddenItem.objects.select_related("wall")),
        Prefetch("choices", SurfaceChoice.objects.select_related("wall")),
        "phases__added",
    )


def house_with_pile(room: Room) -> House:
    """The house of a room, with the rooms of that room's pile alone: its head room and the rooms
    behind partitions there."""
    head = room.behind.room_id if room.behind else room.pk
    partitions = _whole_partitions().filter(room=head)
    house: House = House.objects.prefetch_related(
        Prefetch("rooms", whole_rooms().filter(Q(pk=head) | Q(behind__room=head))),
        Prefetch("partitions", partitions),
        "owned_sheets",
        "board_kinds",
    ).get(pk=room.house_id)
    return house


def house_bought_with(room: Room) -> House:
    """The house of a room with only those rooms that are worked out together with it, and of its
    catalogue the kinds of board alone."""
    together = keys_bought_with(room)
    house: House = House.objects.prefetch_related(
        Prefetch("rooms", whole_rooms().filter(key__in=together)),
        Prefetch("partitions", _whole_partitions().filter(room__key__in=together)),
        "owned_sheets",
        "board_kinds",
    ).get(pk=room.house_id)
    return house


def keys_bought_with(room: Room) -> frozenset[str]:
    """The keys of the rooms that are worked out together with a room, itself among them: they share
    a partition with it or are bought with it, straight or through others."""
    rows = Room.objects.filter(house=room.house_id).values_list("key", "pile", "behind__room__key")
    # What ties a room to others: its own key, the room it was cut from, and what it is bought with.
    ties = {
        key: {("room", key), ("room", home or key), ("pile", pile) if pile else ("room", key)}
        for key, pile, home in rows
    }
    together, grown = {room.key}, True
    while grown:
        reached = set().union(*(ties.get(key, set()) for key in together))
        more = together | {key for key, own in ties.items() if own & reached}
        grown, together = more != together, more
    return frozenset(together)


def _whole_partitions() -> QuerySet[Partition]:
    partitions: QuerySet[Partition] = Partition.objects.select_related(
        "room", "wall"
    ).prefetch_related(Prefetch("openings", Opening.objects.select_related("wall")))
    return partitions


def whole_house(house: House | UUID) -> House:
    """The house with all that `bridge.house_value` reads, in a fixed number of queries."""
    row: House = House.objects.prefetch_related(
        Prefetch("rooms", whole_rooms()),
        Prefetch("partitions", _whole_partitions()),
        "owned_sheets",
        "board_kinds",
        "sheets",
        "materials__packs",
    ).get(pk=house.pk if isinstance(house, House) else house)
    return row


def rooms_of(house: House) -> QuerySet[Room]:
    """The rooms of a house in their order, each with its stored result and phases, in the two
    queries of a list page."""
    rooms: QuerySet[Room] = (
        house.rooms.select_related("result")
        .defer("result__takes")
        .prefetch_related("phases")
        .order_by("position", "key")
    )
    return rooms


def surface_of(room: Room, key: str) -> tuple[Wall | None, str]:
    """The wall or plane that a surface's key names: a wall of the room (or of the room its
    partition stands in), or a ceiling plane or partition."""
    wall = Wall.objects.filter(room=room, key=key).first()
    if wall is None and room.behind is not None:
        wall = Wall.objects.filter(room=room.behind.room_id, key=key).first()
    return (wall, "") if wall else (None, key)


def faces_of(room: Room) -> dict[str, str]:
    """The names of the legs of partitions that are a wall of the room, by their keys. A room
    behind a partition may also see others of its parent room, which its geometry knows alone."""
    partitions = [room.behind] if room.behind is not None else room.partitions.all()
    return {key: name for partition in partitions for key, name in partition.faces.items()}


def built_faces(room: Room) -> dict[str, tuple[str, bool]]:
    """The faces of what is built into the room, or into the room it was cut from: what each is
    called and whether it is a wall, by their keys. A face against another wall has no board, and
    only the geometry of the room knows which those are."""
    home = room.behind.room if room.behind is not None else room
    return {key: (name, kind == "wall") for key, (name, kind) in built_surfaces(home.built).items()}


def face_names(room: Room, keys: Iterable[str]) -> dict[str, str]:
    """What faces of a room are called, by their keys; a wall that partitions cut has parts."""
    home = room.behind.room_id if room.behind is not None else room.pk
    walls = Wall.objects.filter(room=home).order_by("position", "key")
    known = {**PLANE_NAMES, **dict(walls.values_list("key", "name")), **faces_of(room)}
    known |= {key: name for key, (name, _) in built_faces(room).items()}
    names = {}
    for key in keys:
        whole, _, part = key.rpartition("-")
        parted = f"{known[whole]} part {part}" if whole in known else key
        names[key] = known.get(key, parted)
    return names


def partitions_off(wall: Wall) -> list[Partition]:
    """The partitions that start at a wall, and those that start on one of them."""
    others = list(Partition.objects.filter(room=wall.room_id))
    off = [partition for partition in others if partition.wall_id == wall.pk]
    for partition in off:  # grows while it is walked
        off += [other for other in others if other.plane in partition.faces]
    return off


def new_key(name: str, taken: Iterable[str], *, prefix: str = "", fallback: str = "thing") -> str:
    """A key made of a name, with a number where it is taken. Keys of deleted rows stay taken."""
    plain = unicodedata.normalize("NFKD", name[:200]).encode("ascii", "ignore").decode().lower()
    slug = re.sub("[^a-z0-9]+", "-", plain).strip("-")[:30].strip("-") or fallback
    base = f"{prefix}-{slug}".strip("-")[:56].rstrip("-")
    used = set(taken)
    number, key = 1, base
    while key in used:
        number += 1
        key = f"{base}-{number}"
    return key


def taken_keys(model: type[Any], **where: Any) -> list[str]:
    """Every key that was ever given in this table."""
    return list(model.all_objects.filter(**where).values_list("key", flat=True))
