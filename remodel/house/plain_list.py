"""Writes a room that is a plain list of surfaces: every surface in one write that can be undone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from remodel.history.errors import Refused
from remodel.history.services import By, change, recorded
from remodel.house.checks import check_room
from remodel.house.marks import letter_walls
from remodel.house.models import Room, Wall
from remodel.house.services import surface_name, wall_add, wall_change, wall_remove

__all__ = ["ListedSurface", "room_list_surfaces"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedSurface:
    """One surface of a plain list. `row` is None for a new one."""

    row: Wall | None
    name: str
    kind: str
    width: int
    height: int


@recorded("changed the surfaces")
def room_list_surfaces(*, by: By, room: Room, surfaces: Sequence[ListedSurface]) -> Room:
    """Give a room these surfaces in this order. A surface left out is removed with what stands on
    it.

    Raises `Refused` where the surfaces cannot be, and `Stale` where somebody else changed one of
    them meanwhile.
    """
    if room.shape != "surfaces":
        raise Refused("This room was measured by its outline; change its walls")
    for surface in surfaces:
        if surface.row is not None:
            name = surface.name or surface_name(surface.kind, surface.row.key)
            size = {"length": surface.width, "height": surface.height}
            wall_change(by=by, wall=surface.row, name=name, kind=surface.kind, **size)
    kept = {surface.row.pk for surface in surfaces if surface.row}
    for row in room.walls.exclude(pk__in=kept):
        wall_remove(by=by, wall=row)
    in_order = [
        surface.row
        or wall_add(
            by=by,
            room=room,
            length=surface.width,
            name=surface.name,
            kind=surface.kind,
            height=surface.height,
        )
        for surface in surfaces
    ]
    for index, row in enumerate(in_order):
        change(row, position=index)
    letter_walls(room, in_order)
    check_room(room)
    return room
