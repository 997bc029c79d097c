"""Lengths inside sentences about a surface."""

from __future__ import annotations

from takeoff.geometry.surface import Surface
from takeoff.units import Nm, tape_reading

__all__ = ["shown"]


def shown(length: Nm, surface: Surface, *, feet: bool = True) -> str:
    """A length in the units of the surface's house, to the nearest mark of its tape; `feet` False
    keeps to inches."""
    return tape_reading(length, surface.units, feet=feet)
