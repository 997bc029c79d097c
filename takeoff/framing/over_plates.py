"""Blocks over the top plate of a partition that runs between two joists, and so has none to be
nailed to."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from takeoff.choices import FramedWhen, SurfaceKind
from takeoff.framing.members import RunEnd, run_ends
from takeoff.geometry.rooms import PartitionShape, RoomGeometry, room_shapes
from takeoff.geometry.surface import Surface
from takeoff.house import House
from takeoff.reference import figures, stud_size
from takeoff.units import Nm

__all__ = ["PlateBlocks", "blocks_over_plates"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateBlocks:
    """The blocks over one partition: how many, how long each is, and which ceiling's joists they go
    between. `known` is false where nobody has looked how the joists lie; none is counted then."""

    count: int
    length: Nm
    ceiling: str
    known: bool = True


def blocks_over_plates(
    house: House, rooms: Sequence[RoomGeometry], partitions: Sequence[PartitionShape]
) -> Mapping[str, PlateBlocks]:
    """Return the blocks over each partition whose top plate runs between joists, by its id.

    A ceiling ends at the face of a partition framed before board, so its joists say what is over
    the plate. For one framed after board the ceiling is looked at as if it did: the joists are the
    same, and the blocks have to be in before the ceiling is closed.
    """
    later = {shape.id for shape in partitions if shape.framed is FramedWhen.AFTER}
    as_before: Sequence[RoomGeometry] = rooms
    shapes = {shape.id: shape for shape in partitions}
    if later:
        all_before = {partition.id: FramedWhen.BEFORE for partition in house.partitions}
        as_before, first = room_shapes(house, framed=all_before)
        shapes = {shape.id: shape for shape in first}
    ceilings = [
        surface
        for room in as_before
        for surface in room.surfaces
        if surface.kind is SurfaceKind.CEILING
    ]
    found = ((id_, _over(shape, ceilings)) for id_, shape in shapes.items())
    return {id_: blocks for id_, blocks in found if blocks is not None}


def _over(shape: PartitionShape, ceilings: Iterable[Surface]) -> PlateBlocks | None:
    """The blocks over one partition; None where joists cross it, or one lies over it."""
    for ceiling in ceilings:
        for end in run_ends(ceiling):
            if ceiling.edges[end.index].neighbour not in shape.faces:
                continue
            known = ceiling.framing.spacing is not None and ceiling.runs_known
            if known and _is_held(shape, ceiling, end):
                return None
            spacing = figures.length("FR-plate-blocks")
            run = Nm(end.high - end.low)
            bay = (ceiling.framing.spacing or Nm(0)) - ceiling.framing.member_width
            return PlateBlocks(
                count=-(-run // spacing) + 1,
                length=Nm(max(bay, 0)),
                ceiling=ceiling.name,
                known=known,
            )
    return None


def _is_held(shape: PartitionShape, ceiling: Surface, end: RunEnd) -> bool:
    """Whether a joist of the layout lies over enough of the plate, which is beyond the end of the
    ceiling, to be nailed to."""
    framing = ceiling.framing
    assert framing.spacing is not None
    thick, half = stud_size(shape.stud).width, framing.member_width // 2
    # Beyond the end, away from the ceiling: the plate lies from 0 to its thickness.
    nearest = (end.at - framing.first) // framing.spacing
    for step in range(nearest - 1, nearest + 3):
        beyond = (end.at - (framing.first + step * framing.spacing)) * end.inward
        lap = min(beyond + half, thick) - max(beyond - half, 0)
        if lap >= figures.length("FR-tee-bearing"):
            return True
    return False
