"""Writes what is built into a room, and the walls that are taken out of it."""

from __future__ import annotations

from collections.abc import Sequence

from remodel.bridge import built as built_bridge
from remodel.bridge.built import BuiltEntered, TakenOutEntered
from remodel.history.errors import Refused
from remodel.history.services import By, change, recorded
from remodel.house.checks import check_room, refusing
from remodel.house.marks import letter_for
from remodel.house.models import Cutout, HiddenItem, Room, SurfaceChoice
from remodel.house.queries import new_key
from remodel.house.table_columns import OnSurface

__all__ = ["room_build"]


@recorded("changed what is built in and taken out")
def room_build(
    *,
    by: By,
    room: Room,
    built: Sequence[BuiltEntered],
    taken_out: Sequence[TakenOutEntered],
) -> Room:
    """Give a room these built-ins and walls taken out. One that is not among them is removed; each
    that stays keeps its letter, and that of one removed is not given again.

    Raises `Refused` where one has no place, or where something is on a face that would be gone.
    """
    before = {one["id"]: one for one in room.built}
    kept = {one.id: one for one in built_bridge.built_of(room.built)}
    known = set(kept) | {one["id"] for one in room.taken_out}
    taken = [
        one["id"]
        for other in Room.all_objects.filter(house=room.house_id)
        for one in (*other.built, *other.taken_out)
    ]
    letters: list[str] = []
    entries, walls = [], []
    for one in built:
        key = one.id if one.id in known else new_key(one.name, taken, fallback=one.kind)
        taken.append(key)
        letter = kept[key].letter if key in kept else letter_for(room, also=letters)
        letters.append(letter)
        with refusing():
            entries.append(one.made(key, letter, kept.get(key)))
    for wall in taken_out:
        key = wall.id if wall.id in known else new_key(wall.name, taken, fallback="wall")
        taken.append(key)
        with refusing():
            walls.append(wall.made(key))
    stays = {entry["id"] for entry in entries}
    _refuse_things_on(room, {key for key in kept if key not in stays})
    entries += [built_bridge.gone(one) for key, one in before.items() if key not in stays]
    row = change(room, built=entries, taken_out=walls)
    check_room(row)
    return row


def _refuse_things_on(room: Room, removed: set[str]) -> None:
    """Refuse to remove a built-in on whose faces something stands or is chosen."""
    names = built_bridge.built_surfaces(room.built)
    faces = [
        face for one in built_bridge.built_of(room.built) if one.id in removed for face in one.faces
    ]
    tables: tuple[type[OnSurface], ...] = (Cutout, HiddenItem, SurfaceChoice)
    for table in tables:
        for thing in table._default_manager.filter(room__house=room.house_id, plane__in=faces):
            what = "A choice for it" if isinstance(thing, SurfaceChoice) else f"{thing}"
            raise Refused(
                f"{names[thing.plane][0]} would be gone, and something is on it: {what}. Remove "
                "that first, or keep what is built there"
            )
