"""Writes a room's outline as a whole: every wall of the walk in one write that can be undone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from remodel.history.errors import Refused
from remodel.history.services import By, change, recorded
from remodel.house.checks import check_room
from remodel.house.marks import letter_walls
from remodel.house.models import Room, Wall
from remodel.house.services import wall_add, wall_change, wall_remove

__all__ = ["WalkedWall", "room_walk"]


@dataclass(frozen=True, slots=True, kw_only=True)
class WalkedWall:
    """One wall of a walk. `wall` is its row, or None for a new one."""

    wall: Wall | None
    name: str
    length: int
    turn: Decimal


@recorded("changed the outline")
def room_walk(*, by: By, room: Room, walls: Sequence[WalkedWall]) -> Room:
    """Give a room these walls in this order. A wall left out is removed with what stands on it.

    Raises `Refused` where the walls do not make a room, and `Stale` where somebody else changed one
    of them meanwhile.
    """
    if len(walls) < 3:
        raise Refused("A room has at least three walls; enter the length of each")
    for walked_wall in walls:
        if walked_wall.wall is not None:
            name = walked_wall.name or f"Wall {walked_wall.wall.key}"
            wall_change(
                by=by,
                wall=walked_wall.wall,
                name=name,
                length=walked_wall.length,
                turn=walked_wall.turn,
            )
    kept = {wall.wall.pk for wall in walls if wall.wall}
    for wall in room.walls.exclude(pk__in=kept):
        wall_remove(by=by, wall=wall)
    in_order = [
        wall.wall or wall_add(by=by, room=room, length=wall.length, turn=wall.turn, name=wall.name)
        for wall in walls
    ]
    for index, wall in enumerate(in_order):
        change(wall, position=index)
    letter_walls(room, in_order)
    check_room(room)
    return room
