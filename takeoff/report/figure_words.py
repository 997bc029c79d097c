"""A figure that people compare, in words: from the whole steps of what is shown (see
`FigureLine.steps`)."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from takeoff.plan_figures import FigureKind
from takeoff.quantities import money
from takeoff.units import UnitSystem

__all__ = ["figure_text"]


def figure_text(kind: FigureKind, steps: int, units: UnitSystem, currency: str) -> str:
    """The figure with its unit, as closely set as a table of several columns wants it."""
    inches = units is UnitSystem.INCH
    if kind is FigureKind.SEAM:
        return f"{steps:,}ft" if inches else f"{Decimal(steps) / 10:,.1f}m"
    if kind is FigureKind.AREA:
        return f"{steps:,} sq ft" if inches else f"{Decimal(steps) / 10:,.1f} m2"
    if kind is FigureKind.HOURS:
        return f"{Decimal(steps) / 10:,.1f}h"
    if kind is FigureKind.MONEY:
        return money(Fraction(steps), currency)
    return f"{steps:,}"
