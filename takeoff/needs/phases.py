"""The needs of a whole house, room by room and in the order of the phases."""

from __future__ import annotations

from collections.abc import Sequence

from takeoff.boards.plan import Sheet, SurfacePlan
from takeoff.framing.edges import LooseEdge
from takeoff.framing.members import FramedSurface
from takeoff.framing.partition import PartitionFrame
from takeoff.geometry.rooms import RoomGeometry
from takeoff.house import House
from takeoff.needs import finishing, framing, hanging, partitions, taping
from takeoff.needs.need import Need
from takeoff.seams import Seam

__all__ = ["needs_of"]


def needs_of(
    house: House,
    rooms: Sequence[RoomGeometry],
    framed: Sequence[FramedSurface],
    frames: Sequence[PartitionFrame],
    plans: Sequence[SurfacePlan],
    sheets: Sequence[Sheet],
    loose: Sequence[LooseEdge],
    seams: Sequence[Seam],
) -> tuple[Need, ...]:
    """What every phase of every room takes: rooms in their order, a room's phases in theirs; finished rooms nothing."""
    found: list[Need] = []
    for room in rooms:
        if house.room(room.room).finished:
            continue
        finish = house.room(room.room).finish
        found += framing.needs(room, framed, loose, catalogue=house.catalogue, units=house.units)
        for frame in frames:
            if frame.room == room.room:
                found += partitions.needs(frame, units=house.units)
        found += hanging.needs(
            room, framed, plans, sheets, loose, rules=house.rules, catalogue=house.catalogue, units=house.units
        )
        found += taping.needs(
            room, finish, framed, plans, seams, rules=house.rules, catalogue=house.catalogue, units=house.units
        )
        found += finishing.needs(room, finish, seams, units=house.units)
    return tuple(found)
