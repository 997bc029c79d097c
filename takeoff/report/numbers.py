"""Numbers as people read them."""

from __future__ import annotations

from fractions import Fraction

from takeoff.quantities import Amount, display
from takeoff.units import UnitSystem

__all__ = ["amount_text", "decimal_text", "money"]

_SIGNS = {"USD": "$", "CAD": "$", "AUD": "$", "NZD": "$", "EUR": "€", "GBP": "£"}


def amount_text(amount: Amount, units: UnitSystem) -> str:
    """An amount as the house shows it; a plain count without its unit's word, which the thing's own name says."""
    return display(amount, units).removesuffix(" each")


def money(cents: int | Fraction, currency: str) -> str:
    """`cents` to the nearest cent, half to even, with the currency's sign: `$1,204.50`, `-$0.05`.

    >>> money(120450, "USD")
    '$1,204.50'
    >>> money(-5, "EUR")
    '-€0.05'
    >>> money(100, "CHF")
    'CHF 1.00'
    """
    whole = round(cents)
    sign = _SIGNS.get(currency, f"{currency} ")
    return f"{'-' if whole < 0 else ''}{sign}{abs(whole) // 100:,}.{abs(whole) % 100:02d}"


def decimal_text(value: Fraction) -> str:
    """`value` as a decimal to at most six places, half to even, without idle zeros.

    >>> decimal_text(Fraction(1, 8)), decimal_text(Fraction(-1, 3)), decimal_text(Fraction(1000))
    ('0.125', '-0.333333', '1000')
    """
    scaled = round(value * 1_000_000)
    whole, part = divmod(abs(scaled), 1_000_000)
    digits = f"{whole}.{part:06d}".rstrip("0").rstrip(".")
    return f"-{digits}" if scaled < 0 else digits
