"""The whole job in one call: surfaces, members, board plan, seams, needs, supply list."""

from __future__ import annotations

from dataclasses import dataclass

from takeoff.boards.plan import BoardPlan
from takeoff.choices import FramedWhen
from takeoff.framing.edges import LooseEdge
from takeoff.framing.members import FramedSurface
from takeoff.geometry.rooms import PartitionShape, RoomGeometry
from takeoff.house import House
from takeoff.needs.need import CrossCheck, Need
from takeoff.seams import Seam
from takeoff.supply import SupplyList

__all__ = ["PartitionChoice", "Takeoff"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartitionChoice:
    """One way to frame a partition, and what the whole house then takes."""

    partition: str
    framed: FramedWhen
    needs: tuple[Need, ...]
    supply: SupplyList


@dataclass(frozen=True, slots=True, kw_only=True)
class Takeoff:
    """Everything worked out of a house, in the order of its rooms. `warnings` are sentences for the person."""

    house: House
    rooms: tuple[RoomGeometry, ...]
    partitions: tuple[PartitionShape, ...]
    framed: tuple[FramedSurface, ...]
    plans: tuple[BoardPlan, ...]
    loose_edges: tuple[LooseEdge, ...]
    seams: tuple[Seam, ...]
    needs: tuple[Need, ...]
    cross_checks: tuple[CrossCheck, ...]
    supply: SupplyList
    warnings: tuple[str, ...] = ()
