"""What is let into surfaces, as rows keep it and forms take it: batts and patches."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from typing import Any

from takeoff import codec
from takeoff.choices import PatchHeld
from takeoff.errors import BadValue
from takeoff.house import Insulation, Patch
from takeoff.quantities import Amount, convert
from takeoff.reference import batt_sizes
from takeoff.units import Nm

__all__ = [
    "Insulation",
    "Patch",
    "PatchEntered",
    "area_unit",
    "insulation_columns",
    "insulation_entered",
    "insulation_of",
    "patch_columns",
    "patches_entered",
    "patches_of",
    "read_r_value",
    "shown_area",
]

_AREA_UNITS = {"in": "sq ft", "mm": "m2"}


@dataclass(frozen=True, slots=True, kw_only=True)
class PatchEntered:
    """A patch as a form takes it: lengths in whole nanometers, and a word for what holds it."""

    width: int
    height: int
    count: int = 1
    held: str = "strips"
    thickness: int | None = None


def area_unit(units: str) -> str:
    """The unit that areas are typed in: `sq ft`, or `m2` in a house in millimeters."""
    return _AREA_UNITS.get(units, "sq ft")


def read_r_value(text: str, units: str) -> Decimal:
    """The R-value of batts on sale that was typed, the RSI in a house in millimeters.

    Raises `BadValue` for another, and says so where it is one of the other system of units.
    """
    metric = units == "mm"
    sold = [batt.rsi if metric else batt.r for batt in batt_sizes()]
    others = [batt.r if metric else batt.rsi for batt in batt_sizes()]
    ours, theirs = ("RSI", "R-value") if metric else ("R-value", "RSI")
    typed = text.strip().upper().removeprefix("RSI").removeprefix("R").strip(" -")
    try:
        value = Decimal(typed.replace(",", "."))
    except InvalidOperation:
        raise BadValue(f"enter the {ours} on the bag, for example {sold[1]}") from None
    if value in sold:
        return sold[sold.index(value)]
    if value in others:
        same = sold[others.index(value)]
        raise BadValue(f"{value} is the {theirs} of these batts; enter their {ours}, {same}")
    raise BadValue(f"no batts of {value} are on sale; enter one of {', '.join(map(str, sold))}")


def insulation_of(raw: dict[str, Any] | None) -> Insulation | None:
    """What an insulation column holds."""
    return None if raw is None else codec.read(Insulation, raw)


def insulation_columns(insulation: Insulation | None) -> dict[str, Any] | None:
    """Insulation as the JSON its column keeps."""
    return None if insulation is None else codec.write(insulation)


def insulation_entered(
    r: Decimal | None, area: Decimal | None, *, retarder: bool, units: str
) -> dict[str, Any] | None:
    """The column for an R-value and an area in `area_unit`; None where neither was given."""
    if r is None or area is None:
        return None
    amount = Amount(Fraction(area), area_unit(units))
    return insulation_columns(Insulation(r=r, area=amount, retarder=retarder))


def shown_area(insulation: Insulation, units: str) -> str:
    """The area as its field shows it, in `area_unit`."""
    value = convert(insulation.area, area_unit(units)).value
    return f"{Decimal(round(value * 100)) / 100:f}".rstrip("0").rstrip(".")


def patches_of(raw: Sequence[dict[str, Any]]) -> tuple[Patch, ...]:
    """What a column of patches holds."""
    return tuple(codec.read(Patch, patch) for patch in raw)


def patch_columns(patches: Iterable[Patch]) -> list[dict[str, Any]]:
    """Patches as the JSON their column keeps."""
    return [codec.write(patch) for patch in patches]


def patches_entered(entered: Iterable[PatchEntered]) -> list[dict[str, Any]]:
    """The column for patches that were typed. Raises `BadValue` for an impossible one."""
    return patch_columns(
        Patch(
            width=Nm(patch.width),
            height=Nm(patch.height),
            count=patch.count,
            held=PatchHeld(patch.held),
            thickness=None if patch.thickness is None else Nm(patch.thickness),
        )
        for patch in entered
    )
