"""A room that is a plain list of surfaces, written as a whole: every surface in one undoable go."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from remodel.history.errors import Refused
from remodel.history.services import By, change, recorded
from remodel.house.checks import check_room
from remodel.house.models import Room, Wall
from remodel.house.services import surface_name, wall_add, wall_change, wall_remove

__all__ = ["ListedSurface", "room_list_surfaces"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedSurface:
    """One surface: the row it is, or None for a new one."""

    row: Wall | None
    name: str
    kind: str
    width: int
    height: int


@recorded("changed the surfaces")
def room_list_surfaces(*, by: By, room: Room, surfaces: Sequence[ListedSurface]) -> Room:
    """Give a room these surfaces in this order. One left out is removed with what stands on it.

    Raises `Refused` where they cannot be, `Stale` where somebody else changed one of them
    meanwhile.
    """
    if room.shape != "surfaces":
        raise Refused("This room was measured by its outline; change its walls")
    for each in surfaces:
        if each.row is not None:
            name = each.name or surface_name(each.kind, each.row.key)
            size = {"length": each.width, "height": each.height}
            wall_change(by=by, wall=each.row, name=name, kind=each.kind, **size)
    kept = {each.row.pk for each in surfaces if each.row}
    for row in room.walls.exclude(pk__in=kept):
        wall_remove(by=by, wall=row)
    in_order = [
        each.row
        or wall_add(
            by=by, room=room, length=each.width, name=each.name, kind=each.kind, height=each.height
        )
        for each in surfaces
    ]
    for index, row in enumerate(in_order):
        change(row, position=index)
    check_room(room)
    return room
