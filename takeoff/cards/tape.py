"""Lengths as a person reads them off a tape."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from takeoff.units import INCH, Nm, UnitSystem, format_length, round_to_tape

__all__ = ["Span", "eighths", "mark_on", "span_on", "tape"]

_EIGHTH = Nm(INCH // 8)


def tape(length: Nm, units: UnitSystem, *, up: bool | None = None, feet: bool = True) -> str:
    """A length as it is read off a tape, in sixteenths of an inch or whole millimetres.

    It is rounded to the nearest reading, up where `up` is true, and down where it is false.
    """
    return format_length(round_to_tape(length, units, up=up), units, feet=feet)


def eighths(length: Nm, units: UnitSystem) -> Nm:
    """A length to the nearest eighth of an inch or whole millimetre: as near as a line of screws
    is marked."""
    if units is UnitSystem.INCH:
        return Nm(round(Fraction(length, _EIGHTH)) * _EIGHTH)
    return round_to_tape(length, units, up=None)


def mark_on(at: Nm, whole: Nm, units: UnitSystem) -> Nm:
    """The mark at `at` of a piece `whole` long, as it is read from the end it counts from.

    A piece is cut to its size rounded down, so a mark is the nearest reading, and never past that
    end. Every word and drawing of one mark asks here, so that none has two numbers.
    """
    return min(round_to_tape(at, units, up=None), round_to_tape(whole, units, up=False))


@dataclass(frozen=True, slots=True)
class Span:
    """What lies between two marks of a piece as the tape reads it: `first` from the one end,
    `size`, and `last` from the other end. The three make up `whole`."""

    first: Nm
    size: Nm
    last: Nm

    @property
    def whole(self) -> Nm:
        return Nm(self.first + self.size + self.last)

    def words(self, units: UnitSystem) -> tuple[str, str, str, str]:
        """First, size, last and the whole, each as one writes it."""
        first, size, last, whole = (
            format_length(length, units)
            for length in (self.first, self.size, self.last, self.whole)
        )
        return first, size, last, whole


def span_on(low: Nm, high: Nm, whole: Nm, units: UnitSystem) -> Span:
    """The span from `low` to `high` on a piece `whole` long; a mark alone has both at one place."""
    first, second = mark_on(low, whole, units), mark_on(high, whole, units)
    return Span(first, Nm(second - first), Nm(round_to_tape(whole, units, up=False) - second))
