"""Amounts with a unit: the only module that imports pint.

An `Amount` is an exact fraction and a unit name; pint checks the dimensions whenever two of them meet, so pounds per
1000 sq ft cannot be added to gallons.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

__all__ = ["Amount", "Cents"]

from typing import NewType

Cents = NewType("Cents", int)


@dataclass(frozen=True, slots=True)
class Amount:
    """So much of something: an exact value in a named unit (`each`, `ft`, `sq ft`, `gal`, `lb`, `m` ...)."""

    value: Fraction
    unit: str
