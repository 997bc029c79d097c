"""Lengths: whole nanometres, the grammar that reads a tape, and the text that is shown back.

A nanometre makes both 1 mm and 1/64 in (396 875 nm) exact, so a metric and an inch house need no rounding.
"""

from __future__ import annotations

from enum import StrEnum
from typing import NewType

__all__ = ["FOOT", "INCH", "METRE", "MM", "SIXTEENTH", "SIXTY_FOURTH", "Nm", "UnitSystem"]

Nm = NewType("Nm", int)

MM = Nm(1_000_000)
METRE = Nm(1_000_000_000)
INCH = Nm(25_400_000)
FOOT = Nm(304_800_000)
SIXTEENTH = Nm(1_587_500)
SIXTY_FOURTH = Nm(396_875)


class UnitSystem(StrEnum):
    """How a house shows lengths, and what a bare number means: inches or millimetres."""

    INCH = "in"
    MILLIMETRE = "mm"
