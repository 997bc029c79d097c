"""Lengths as a person reads them off a tape."""

from __future__ import annotations

from takeoff.units import Nm, UnitSystem, format_length, round_to_tape

__all__ = ["tape"]


def tape(length: Nm, units: UnitSystem, *, up: bool | None = None, feet: bool = True) -> str:
    """A length as one reads it off a tape, to 1/16 in or 1 mm, to the nearest unless `up` says
    which way."""
    return format_length(round_to_tape(length, units, up=up), units, feet=feet)
