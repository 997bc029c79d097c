"""What people add to the phases of a room, in and out of forms."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from takeoff.choices import CountedBy
from takeoff.errors import TakeoffError
from takeoff.geometry.rooms import house_geometry
from takeoff.house import House
from takeoff.needs.added import measured
from takeoff.quantities import Amount, convert, display, format_amount, parse_amount, same_kind

__all__ = ["added_columns", "added_entered", "per_unit", "sizes_in"]

_UNITS = {
    CountedBy.FLOOR: ("sq ft", "m2"),
    CountedBy.WALLS: ("sq ft", "m2"),
    CountedBy.CEILING: ("sq ft", "m2"),
    CountedBy.PERIMETER: ("ft", "m"),
    CountedBy.BASEBOARD: ("ft", "m"),
    CountedBy.DOORS: ("each", "each"),
    CountedBy.WINDOWS: ("each", "each"),
}


def sizes_in(house: House, room: str) -> dict[str, str]:
    """What the room of that key has of each thing that amounts go by: `120 sq ft`, or `2`. Empty
    where the room cannot be built as it stands. `house` may be the room's pile alone."""
    try:
        geometry = house_geometry(house)
    except TakeoffError:
        return {}
    mine = next(geometry_ for geometry_ in geometry.rooms if geometry_.room == room)
    sizes = {by.value: measured(mine, by, house.units).size for by in _UNITS}
    return {by: display(size, house.units).removesuffix(" each") for by, size in sizes.items()}


def per_unit(by: str, units: str) -> str:
    """The unit in which a form takes what an amount goes by; empty for one entered by hand."""
    inches, metric = _UNITS.get(CountedBy(by), ("", ""))
    return metric if units == "mm" else inches


def added_columns(
    amount: Fraction, unit: str, *, by: str, per: Fraction | None, units: str
) -> dict[str, Any]:
    """The columns for an amount in `unit`, for every `per` of what it goes by in `per_unit`."""
    basis = per_unit(by, units)
    return {
        "amount": format_amount(Amount(amount, unit)),
        "goes_by": by,
        "per": format_amount(Amount(Fraction(1) if per is None else per, basis)) if basis else "",
    }


def added_entered(amount: str, unit: str, *, by: str, per: str, units: str) -> tuple[str, str]:
    """The amount in `unit` and what it goes by in `per_unit`, as the fields of a form show them."""
    basis = per_unit(by, units)
    return _number(amount, unit), _number(per, basis) if per and basis else ""


def _number(text: str, unit: str) -> str:
    value = parse_amount(text)
    if same_kind(value, Amount(Fraction(1), unit)):  # else it is sold in another way since
        value = convert(value, unit)
    return format_amount(value).rpartition(f" {value.unit}")[0]
