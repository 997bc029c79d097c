"""The longest board that gets through the door of a partition into the room behind it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isqrt

from takeoff.geometry.rooms import PartitionShape, RoomGeometry
from takeoff.units import Nm

__all__ = ["Entry", "entry_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What gets into the room behind a partition. `longest` is None where the shape of the room is
    not one that this is worked out for, and zero where the partition has no door at all."""

    longest: Nm | None


def entry_of(shapes: Sequence[PartitionShape], behind: RoomGeometry) -> Entry:
    """The longest board that is carried level and on its edge through the widest opening in the
    legs `shapes` of a partition into the rectangular room `behind` it.

    Once the near end of a board is through, all of it lies in the room, so it is at most as long as
    from one side of the opening to the far corner. Both sides are tried. What a board gains by
    being tilted, and what it loses by its own thickness, is left out.
    """
    if len(shapes) != 1 or len(behind.plan) != 4 or not behind.floor_area:
        return Entry(longest=None)
    (shape,) = shapes
    if not shape.openings:
        return Entry(longest=Nm(0))
    across = [u for u, _ in shape.outline]
    start, end = min(across), max(across)
    depth = behind.floor_area // (end - start)
    left, _, right, _ = max(shape.openings, key=lambda opening: opening[2] - opening[0])
    reach = max(end - left, right - start)
    return Entry(longest=Nm(isqrt(reach**2 + depth**2)))
