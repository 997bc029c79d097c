"""What board weighs on a floor, on a ceiling and in the hands of two people, and whether it gets
round a corner.

Nothing here says that a floor or a ceiling is strong enough: these are the amounts that a person,
or their engineer, asks about. Trade figures are in `reference`.
"""

from __future__ import annotations

from decimal import ROUND_FLOOR, Decimal, localcontext
from fractions import Fraction
from math import floor

from takeoff._checks import check_length
from takeoff.errors import BadValue
from takeoff.reference import figures
from takeoff.units import FOOT, INCH, Nm

__all__ = ["dead_load", "flat_stack", "longest_round_corner", "sheet_weight"]


def sheet_weight(psf: Fraction, width: Nm, long: Nm) -> Fraction:
    """Pounds of a sheet, exact."""
    return psf * width * long / FOOT**2


def dead_load(thickness: Nm) -> Fraction:
    """Return the design dead load of gypsum board of `thickness` in psf (DL-01), exact. Sheets of
    today weigh less."""
    return figures.number("DL-01") * Fraction(8 * thickness, INCH)


def flat_stack(live_load: str, psf: Fraction) -> int:
    """Return the most sheets that a flat stack may hold within a live load (HF-07, HF-08) on its
    own footprint, with nobody beside it."""
    return floor(figures.number(live_load) / psf)


def longest_round_corner(first: Nm, second: Nm, *, thickness: Nm = Nm(0)) -> Nm:
    """The longest stiff piece `thickness` thick in plan that goes level round a right-angled
    corner, whole nm down.

    `first` and `second` are the clear widths of the two passages. Its outer face touches both outer
    walls, its inner face the inner corner, so at tangent k of its angle it may be ((ak + b) sqrt(1
    + k^2) - t(1 + k^2)) / k long, and the least over all angles gets round. Raises `BadValue` where
    the piece is thicker than a passage is wide.

    >>> longest_round_corner(Nm(27), Nm(64))
    125
    """
    check_length(first, "Passage width")
    check_length(second, "Passage width")
    if thickness >= min(first, second):
        raise BadValue(
            "A piece must be thinner than the passages are wide, for example 1/2 in in a 36 in "
            "corridor"
        )
    with localcontext() as context:
        context.prec = 40
        a, b, t = Decimal(first), Decimal(second), Decimal(thickness)

        def reach(k: Decimal) -> Decimal:
            square = 1 + k * k
            return ((a * k + b) * square.sqrt() - t * square) / k

        # One least value between a near-level and a near-square angle; each step keeps two thirds
        # of the range.
        low, high = (b / a) / 1000, (b / a) * 1000
        while high - low > Decimal("1e-18") * high:
            third = (high - low) / 3
            if reach(low + third) <= reach(high - third):
                high -= third
            else:
                low += third
        # The least is flat, so the middle is right to far below a nanometre; a hair keeps whole
        # answers whole.
        return Nm(int((reach((low + high) / 2) + Decimal("1e-6")).to_integral_value(ROUND_FLOOR)))
