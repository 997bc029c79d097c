"""Numbers as people read them."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from takeoff.quantities import Amount, display
from takeoff.units import UnitSystem

__all__ = ["amount_text", "count_text", "decimal_text", "listed"]


def amount_text(amount: Amount, units: UnitSystem) -> str:
    """An amount as the house shows it, with thousands set off; a plain count goes without the word
    `each`.

    >>> amount_text(Amount(Fraction(4299), "each"), UnitSystem.INCH)
    '4,299'
    >>> amount_text(Amount(Fraction(9, 2), "gal"), UnitSystem.INCH)
    '4.5 gal'
    """
    number, _, unit = display(amount, units).partition(" ")
    whole, point, part = number.partition(".")
    return f"{int(whole):,}{point}{part} {unit}".removesuffix(" each")


def count_text(number: int, thing: str) -> str:
    """A count with its noun: `1 sheet`, `12 sheets`."""
    return f"{number:,} {thing}{'' if number == 1 else 's'}"


def listed(names: Sequence[str]) -> str:
    """Names in a sentence: `A`, `A and B`, `A, B and C`."""
    return f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else names[0]


def decimal_text(value: Fraction) -> str:
    """`value` as a decimal to at most six places, half to even, without idle zeros.

    >>> decimal_text(Fraction(1, 8)), decimal_text(Fraction(-1, 3)), decimal_text(Fraction(1000))
    ('0.125', '-0.333333', '1000')
    """
    scaled = round(value * 1_000_000)
    whole, part = divmod(abs(scaled), 1_000_000)
    digits = f"{whole}.{part:06d}".rstrip("0").rstrip(".")
    return f"-{digits}" if scaled < 0 else digits
