"""Lengths, amounts and money in and out of text."""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction

from takeoff.catalogue import Catalogue
from takeoff.errors import BadValue, LengthError, TakeoffError
from takeoff.quantities import (
    Amount,
    Cents,
    add,
    convert,
    display,
    format_amount,
    format_money,
    parse_amount,
    parse_money,
    same_kind,
    scale,
    subtract,
)
from takeoff.units import (
    FOOT,
    INCH,
    LONGEST,
    MM,
    Nm,
    UnitSystem,
    format_length,
    parse_length,
    round_to_tape,
)

__all__ = [
    "FOOT",
    "INCH",
    "LONGEST",
    "MM",
    "Amount",
    "BadValue",
    "Catalogue",
    "Cents",
    "LengthError",
    "Nm",
    "TakeoffError",
    "UnitSystem",
    "add",
    "amount",
    "convert",
    "format_amount",
    "in_units_of",
    "is_unit_of",
    "money_text",
    "parse_amount",
    "parse_money",
    "read_length",
    "read_quick_line",
    "read_room_length",
    "same_kind",
    "scale",
    "show_length",
    "shown_amount",
    "subtract",
    "tape_text",
]

_BARE = re.compile(r"[0-9 ./¼½¾⅛⅜⅝⅞]+")  # no foot, inch or metre mark, and not the dash of 12-6
_BETWEEN = re.compile(r"\s*(?:[x×*]|\bby\b)\s*", re.IGNORECASE)


def read_length(text: str, units: str) -> Nm:
    """The length in a text. A bare number is in the house's `units`. Raises `LengthError` with an
    example."""
    return parse_length(text, unit=UnitSystem(units))


def show_length(nm: int, units: str) -> str:
    """The exact length as text that `read_length` can read."""
    return format_length(Nm(nm), UnitSystem(units))


def tape_text(nm: int, units: str) -> str:
    """The length on the nearest mark of a tape: 1/16 in or 1 mm."""
    return format_length(round_to_tape(Nm(nm), UnitSystem(units), up=None), UnitSystem(units))


def read_room_length(text: str, units: str) -> Nm:
    """The length of a room itself. A small bare number is refused with `LengthError`.

    A tape means inches (or millimeters) by 8, but a person who types a room of 12 x 10 x 8 means
    feet (or meters). It is refused before a room in inches gets a plan.
    """
    length = read_length(text, units)
    metric = UnitSystem(units) is UnitSystem.MILLIMETRE
    if length and length < (500 * MM if metric else 40 * INCH) and _BARE.fullmatch(text.strip()):
        number = text.strip()
        choice = (
            f"{number} m if it is meters, {number} mm if it is millimeters"
            if metric
            else f"{number}' if it is feet, {number}\" if it is inches"
        )
        raise LengthError(f"{number} could be read two ways. Write {choice}")
    return length


def read_quick_line(text: str, units: str) -> tuple[Nm, Nm, Nm]:
    """Length, width and height of a room in one line, like `12' 6" x 10' 2" x 8'`. They are
    separated by x, × or by.

    Raises `LengthError`, which says which of the three is wrong.
    """
    example = (
        "12' 6\" x 10' 2\" x 8'" if UnitSystem(units) is UnitSystem.INCH else "3810 x 3100 x 2400"
    )
    if len(text) > 130:
        raise LengthError(f"A room's line takes at most 130 characters, for example {example}")
    parts = _BETWEEN.split(text.strip())
    if len(parts) != 3 or not all(parts):
        raise LengthError(
            f'"Length x width x height" is not three lengths. Enter, for example, {example}'
        )
    lengths = []
    for name, part in zip(("Length", "Width", "Height"), parts, strict=True):
        try:
            lengths.append(read_room_length(part, units))
        except LengthError as error:
            raise LengthError(f"{name}: {error}") from None
        if not lengths[-1]:
            raise LengthError(f"{name} must be more than zero, for example {example}")
    return lengths[0], lengths[1], lengths[2]


def amount(value: str | int | Fraction, unit: str) -> Amount:
    """An exact amount. `value` is the text that a column keeps, like `5/3`."""
    return Amount(Fraction(value), unit)


_METRIC = frozenset({"mm", "cm", "m", "m2", "m3", "ml", "l", "g", "kg"})
_COMMON = frozenset({"each", "min", "h"})


def is_unit_of(unit: str, units: str) -> bool:
    """Whether people who measure in `units` ("in" or "mm") buy by this unit."""
    return unit in _COMMON or (unit in _METRIC) == (units == "mm")


_METRIC_OF = {
    "in": "mm",
    "ft": "m",
    "sq in": "m2",
    "sq ft": "m2",
    "cu in": "l",
    "cu ft": "m3",
    "fl oz": "ml",
    "qt": "l",
    "gal": "l",
    "oz": "g",
    "lb": "kg",
}


def in_units_of(value: Amount, units: str) -> Amount:
    """The same amount, exactly, in a unit of those who measure in `units`: for tables that are read
    by a program, where `shown_amount` would round."""
    if units != "mm" or value.unit not in _METRIC_OF:
        return value
    return convert(value, _METRIC_OF[value.unit])


def shown_amount(value: Amount, units: str) -> str:
    """The amount for people's eyes, rounded."""
    return display(value, UnitSystem(units))


def money_text(cents: int | Fraction | Decimal) -> str:
    """Money with two decimals; a fraction of a cent goes half to even."""
    whole = round(Fraction(cents))
    return f"-{format_money(Cents(-whole))}" if whole < 0 else format_money(Cents(whole))
