"""The order in which a room's walls are hung."""

from __future__ import annotations

from dataclasses import dataclass

from remodel.bridge.piles import joined
from takeoff.choices import SurfaceKind
from takeoff.geometry.rooms import room_shapes
from takeoff.house import House

__all__ = ["HungWall", "walls_as_hung"]


@dataclass(frozen=True, slots=True, kw_only=True)
class HungWall:
    """A wall, or the face of a partition, by its key in the room."""

    key: str
    name: str


def walls_as_hung(house: House, room: str) -> tuple[HungWall, ...]:
    """The walls of a room in the order they are hung: those set by hand, then the longest first.
    Ceilings go up before any of them. Raises `TakeoffError` where the room cannot be built."""
    shapes, _ = room_shapes(joined(house, [room], shared="-").house)
    shape = next(shape for shape in shapes if shape.room == room)
    by_id = {surface.id: surface for surface in shape.surfaces}
    walls = [
        by_id[surface_id]
        for surface_id in shape.hang_order
        if by_id[surface_id].kind is SurfaceKind.WALL
    ]
    return tuple(HungWall(key=wall.id.partition("/")[2], name=_called(wall.name)) for wall in walls)


def _called(name: str) -> str:
    """A surface's name without its room."""
    own = name.partition(", ")[2] or name
    return own[:1].upper() + own[1:]
