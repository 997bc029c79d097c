"""Places on a lying piece in words: its ends and edges as they are before the one who kneels at
it."""

from __future__ import annotations

from takeoff.cards.frames import Lay
from takeoff.cards.tape import mark_on
from takeoff.geometry.surface import Point
from takeoff.units import UnitSystem, format_length

__all__ = ["side_words", "spot_words"]


def side_words(start: Point, end: Point, lay: Lay) -> str:
    """Where a side from `start` to `end` of the lying piece is."""
    if start[0] == end[0] and start[0] in (0, lay.long):
        return "left end" if start[0] == 0 else "right end"
    if start[1] == end[1] and start[1] in (0, lay.across):
        return "near edge" if start[1] == 0 else "far edge"
    return "slope" if start[0] != end[0] and start[1] != end[1] else "corner cut out"


def spot_words(spot: Point, lay: Lay, units: UnitSystem) -> str:
    """A corner of a lying piece by the end or edge it is on and the measure along that; one inside
    its rectangle by two measures."""
    x, y = spot
    end = {0: "left end", lay.long: "right end"}.get(x)
    edge = {0: "near edge", lay.across: "far edge"}.get(y)
    along = format_length(mark_on(x, lay.long, units), units)
    across = format_length(mark_on(y, lay.across, units), units)
    if end and edge:
        return f"the corner of the {end} and the {edge}"
    if end:
        return f"the {end}, {across} from the near edge"
    if edge:
        return f"the {edge}, {along} from the left end"
    return f"the spot {along} from the left end and {across} from the near edge"
