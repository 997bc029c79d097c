"""Where a partition framed after board lands, from the rows of a house."""

from __future__ import annotations

from remodel.bridge.piles import joined
from takeoff.errors import BadValue
from takeoff.framing.landing import Landing, landings
from takeoff.house import House

__all__ = ["Landing", "landings_of"]


def landings_of(house: House, room: str, partition: str) -> tuple[Landing, ...]:
    """Where a partition of a room meets what was boarded before, and what holds it there; empty
    where it is framed before board, or its room cannot be worked out."""
    try:
        return landings(joined(house, [room]).house, partition)
    except BadValue:
        return ()
