"""The needs of a whole house, room by room and in the order of the phases."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from takeoff.boards.first_layers import FirstLayers, first_layers
from takeoff.boards.plan import Sheet, SurfacePlan
from takeoff.choices import FramedWhen
from takeoff.framing.edges import UnsupportedEdge
from takeoff.framing.members import FramedSurface
from takeoff.framing.over_plates import PlateBlocks, blocks_over_plates
from takeoff.framing.partition import PartitionFrame
from takeoff.geometry.rooms import PartitionShape, RoomGeometry
from takeoff.house import House
from takeoff.needs import (
    added,
    as_found,
    built_in,
    finishing,
    framing,
    hand_goods,
    hanging,
    insulation,
    partitions,
    taping,
)
from takeoff.needs.areas import is_refused
from takeoff.needs.need import Need
from takeoff.seams import Seam

__all__ = ["Beside", "added_needs", "beside_plans", "needs_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """What is counted and is in no plan of boards or frame of a partition: the blocks over
    partitions by their ids, and the first of two layers. `later` are the ids of the partitions that
    are framed after board."""

    blocks: Mapping[str, PlateBlocks]
    later: Collection[str]
    first: FirstLayers


def beside_plans(
    house: House,
    rooms: Sequence[RoomGeometry],
    framed: Sequence[FramedSurface],
    partitions: Sequence[PartitionShape],
    plans: Sequence[SurfacePlan],
) -> Beside:
    """Work out what is counted beside these plans of boards."""
    members = {framed_surface.surface.id: framed_surface for framed_surface in framed}
    return Beside(
        blocks=blocks_over_plates(house, rooms, partitions),
        later={shape.id for shape in partitions if shape.framed is FramedWhen.AFTER},
        first=first_layers(house, rooms, members, plans),
    )


def needs_of(
    house: House,
    rooms: Sequence[RoomGeometry],
    framed: Sequence[FramedSurface],
    frames: Sequence[PartitionFrame],
    plans: Sequence[SurfacePlan],
    sheets: Sequence[Sheet],
    unsupported: Sequence[UnsupportedEdge],
    seams: Sequence[Seam],
    beside: Beside,
) -> tuple[Need, ...]:
    """Return what every phase of every room takes, in the order of the rooms and of their phases. A
    finished room takes nothing.

    `beside` is what is counted and is in no plan. A surface that is to get board and has no plan
    was refused: nothing is hung, taped or painted on it, but its framing is brought into line all
    the same.
    """
    needs: list[Need] = []
    planned = {plan.surface for plan in plans}
    hung = [
        framed_surface
        for framed_surface in framed
        if not is_refused(framed_surface.surface, planned)
    ]
    built = [one for room in house.rooms for one in room.built]
    for room in rooms:
        if house.room(room.room).finished:
            continue
        finish = house.room(room.room).finish
        own_framing = framing.needs(
            room, framed, unsupported, catalogue=house.catalogue, units=house.units
        )
        own_framing = added.merged(own_framing, built_in.needs(room, built, units=house.units))
        needs += added.merged(
            own_framing,
            as_found.needs(room, house.room(room.room), house.rules, units=house.units),
        )
        needs += insulation.needs(room, units=house.units)
        standing = [frame for frame in frames if frame.room == room.room]
        for frame in standing:
            needs += partitions.backing_needs(frame, units=house.units)
        slab = house.room(room.room).slab
        for frame in standing:
            needs += partitions.needs(frame, slab=slab, units=house.units)
            over = beside.blocks.get(frame.id)
            if over is not None and over.known:
                needs += partitions.block_needs(
                    frame, over, before_board=frame.id not in beside.later, units=house.units
                )
        closed = _without_refused(room, planned)
        needs += hanging.needs(
            closed,
            hung,
            plans,
            sheets,
            unsupported,
            first=beside.first,
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
        needs += finishing.needs(closed, finish, seams, rules=house.rules, units=house.units)
        if house.rules.hand_goods:
            cut_here = [sheet for sheet in sheets if sheet.room == room.room]
            needs += hand_goods.needs(closed, house.room(room.room), cut_here, units=house.units)
    return tuple(needs)


def added_needs(house: House, rooms: Sequence[RoomGeometry]) -> tuple[Need, ...]:
    """Return what people added to the phases of each room. A finished room takes nothing."""
    return tuple(
        need
        for room in rooms
        if not house.room(room.room).finished
        for need in added.needs(
            room, house.room(room.room).added, catalogue=house.catalogue, units=house.units
        )
    )


def _without_refused(room: RoomGeometry, planned: Collection[str]) -> RoomGeometry:
    return replace(
        room,
        surfaces=tuple(surface for surface in room.surfaces if not is_refused(surface, planned)),
    )
