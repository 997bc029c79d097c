"""Lengths as a person reads them off a tape."""

from __future__ import annotations

from takeoff.units import Nm, UnitSystem, format_length, round_to_tape

__all__ = ["tape"]


def tape(length: Nm, units: UnitSystem, *, up: bool | None = None, feet: bool = True) -> str:
    """A length as it is read off a tape, in sixteenths of an inch or whole millimetres.

    It is rounded to the nearest reading, up where `up` is true, and down where it is false.
    """
    return format_length(round_to_tape(length, units, up=up), units, feet=feet)
