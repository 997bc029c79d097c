"""An outline while it is walked: where a person stands after each wall, and how far that is from
the start at the end."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from takeoff.geometry.polygon import length_of

__all__ = ["WalkedSoFar", "walk_so_far"]


@dataclass(frozen=True, slots=True)
class WalkedSoFar:
    """A walk so far, for drawing (x right, y down, whole nanometers).

    `corners` begin at the start; there is one more than there are walls. `gap` is the distance from
    the last corner to the start. `turn` is the sum of the turns (360 in a closed outline walked
    clockwise).
    """

    corners: tuple[tuple[int, int], ...]
    gap: int
    turn: Decimal


def walk_so_far(walls: Sequence[tuple[int, Decimal]]) -> WalkedSoFar:
    """Walk walls given by length and turn, whether they close or not. Nothing is evened out or
    refused, since the walk is only looked at."""
    x = y = 0
    heading = Decimal(0)
    corners = [(0, 0)]
    for length, turn in walls:
        step_x, step_y = _step(length, heading % 360)
        x, y = x + step_x, y + step_y
        corners.append((x, y))
        heading += turn
    return WalkedSoFar(corners=tuple(corners), gap=round(length_of((0, 0), (x, y))), turn=heading)


def _step(length: int, heading: Decimal) -> tuple[int, int]:
    quarters, rest = divmod(heading, 90)
    if not rest:
        across, down = ((1, 0), (0, 1), (-1, 0), (0, -1))[int(quarters) % 4]
        return across * length, down * length
    angle = math.radians(float(heading))
    return round(length * Fraction(math.cos(angle))), round(length * Fraction(math.sin(angle)))
