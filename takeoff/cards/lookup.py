"""What cards and drawings look up of a takeoff, in one place."""

from __future__ import annotations

from dataclasses import dataclass

from takeoff.boards.plan import SurfacePlan
from takeoff.errors import BadValue
from takeoff.framing.members import FramedSurface
from takeoff.geometry.rooms import RoomGeometry
from takeoff.geometry.surface import Surface
from takeoff.house import House
from takeoff.job import Takeoff

__all__ = ["Seen", "names_of", "room_of", "see"]


@dataclass(frozen=True, slots=True)
class Seen:
    """One surface with all that a drawing of it shows.

    `plan` is None where the surface gets no board or could not be planned. `names` are the names of
    its room's surfaces within the room, by id.
    """

    house: House
    room: RoomGeometry
    surface: Surface
    framed: FramedSurface
    plan: SurfacePlan | None
    names: dict[str, str]

    @property
    def name(self) -> str:
        return self.names[self.surface.id]


def names_of(takeoff: Takeoff) -> dict[str, str]:
    """The name of each surface within its room, by the surface's id: `Window wall`, `ceiling, near
    slope`."""
    return {
        surface.id: surface.name.removeprefix(f"{room.name}, ")
        for room in takeoff.rooms
        for surface in room.surfaces
    }


def room_of(takeoff: Takeoff, room: str) -> RoomGeometry:
    """The room of that id; raises `BadValue` where the takeoff has none."""
    geometry = next((shape for shape in takeoff.rooms if shape.room == room), None)
    if geometry is None:
        raise BadValue(
            f"No room {room!r} to draw; there are "
            f"{', '.join(shape.room for shape in takeoff.rooms)}"
        )
    return geometry


def see(takeoff: Takeoff, surface: str) -> Seen:
    """The surface of that id with its framing and its plan. Raises `BadValue` where the takeoff has
    no such surface."""
    for room in takeoff.rooms:
        for shape in room.surfaces:
            if shape.id == surface:
                framed = next(face for face in takeoff.framed if face.surface.id == surface)
                plan = next((p for p in takeoff.surface_plans if p.surface == surface), None)
                return Seen(takeoff.house, room, shape, framed, plan, names_of(takeoff))
    raise BadValue(
        f"No surface {surface!r} to draw; a wall is 'room/wall', for example 'kitchen/A'"
    )
