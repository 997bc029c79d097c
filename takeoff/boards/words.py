"""Lengths and money inside sentences, where no house is at hand to say inches or millimetres."""

from __future__ import annotations

from takeoff.quantities import Cents
from takeoff.units import MM, SIXTY_FOURTH, Nm, UnitSystem, format_length

__all__ = ["money", "shown"]


def shown(length: Nm) -> str:
    """A length in millimetres where only they are whole, else in feet and inches."""
    metric = length % MM == 0 and length % SIXTY_FOURTH != 0
    return format_length(length, UnitSystem.MILLIMETRE if metric else UnitSystem.INCH)


def money(cents: Cents) -> str:
    """Cents as units of the currency, like 14.50."""
    return f"{cents // 100}.{cents % 100:02d}"
