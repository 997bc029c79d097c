"""The needs of a whole house, room by room and in the order of the phases."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

from takeoff.boards.plan import Sheet, SurfacePlan
from takeoff.framing.edges import UnsupportedEdge
from takeoff.framing.members import FramedSurface
from takeoff.framing.partition import PartitionFrame
from takeoff.geometry.rooms import RoomGeometry
from takeoff.house import House
from takeoff.needs import finishing, framing, hanging, partitions, taping
from takeoff.needs.areas import is_refused
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
    unsupported: Sequence[UnsupportedEdge],
    seams: Sequence[Seam],
) -> tuple[Need, ...]:
    """Return what every phase of every room takes, in the order of the rooms and of their phases. A
    finished room takes nothing.

    A surface that is to get board and has no plan was refused: nothing is hung, taped or painted on
    it, but its framing is brought into line all the same.
    """
    needs: list[Need] = []
    planned = {plan.surface for plan in plans}
    hung = [
        framed_surface
        for framed_surface in framed
        if not is_refused(framed_surface.surface, planned)
    ]
    for room in rooms:
        if house.room(room.room).finished:
            continue
        finish = house.room(room.room).finish
        needs += framing.needs(
            room, framed, unsupported, catalogue=house.catalogue, units=house.units
        )
        standing = [frame for frame in frames if frame.room == room.room]
        for frame in standing:
            needs += partitions.backing_needs(frame, units=house.units)
        for frame in standing:
            needs += partitions.needs(frame, units=house.units)
        closed = _without_refused(room, planned)
        needs += hanging.needs(
            closed,
            hung,
            plans,
            sheets,
            unsupported,
            rules=house.rules,
            catalogue=house.catalogue,
            units=house.units,
        )
        needs += taping.needs(
            closed,
            finish,
            hung,
            plans,
            seams,
            rules=house.rules,
            catalogue=house.catalogue,
            units=house.units,
        )
        needs += finishing.needs(closed, finish, seams, units=house.units)
    return tuple(needs)


def _without_refused(room: RoomGeometry, planned: Collection[str]) -> RoomGeometry:
    return replace(
        room,
        surfaces=tuple(surface for surface in room.surfaces if not is_refused(surface, planned)),
    )
