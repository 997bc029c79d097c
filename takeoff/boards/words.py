"""Lengths and money inside sentences, where no house is at hand to say inches or millimetres."""

from __future__ import annotations

from takeoff.quantities import Cents
from takeoff.units import MM, SIXTY_FOURTH, Nm, UnitSystem, format_length, round_to_tape

__all__ = ["money", "shown"]


def shown(length: Nm) -> str:
    """A length in whole millimetres where it is so, else in feet and inches to the nearest mark of a tape.

    >>> shown(Nm(600_000_000)), shown(Nm(14_474_706))
    ('600 mm', '9/16"')
    """
    if length % SIXTY_FOURTH == 0:
        return format_length(length, UnitSystem.INCH)
    if length % MM == 0:
        return format_length(length, UnitSystem.MILLIMETRE)
    return format_length(round_to_tape(length, UnitSystem.INCH, up=None), UnitSystem.INCH)


def money(cents: Cents) -> str:
    """Cents as units of the currency, like 14.50."""
    return f"{cents // 100}.{cents % 100:02d}"
