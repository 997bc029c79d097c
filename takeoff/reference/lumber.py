"""Actual sizes of lumber by its nominal name, and screw lengths as sold."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache

from takeoff.errors import BadValue
from takeoff.reference.data import tables
from takeoff.units import INCH, Nm

__all__ = [
    "Batt",
    "Lumber",
    "batt_sizes",
    "is_steel",
    "lumber",
    "lumber_sizes",
    "screw_lengths",
    "steel_sizes",
    "stud_size",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lumber:
    """Actual size of a stick of lumber: 2x4 is 1-1/2 by 3-1/2 in (PS 20, from memory: FR-14)."""

    id: str
    thickness: Nm
    width: Nm


@cache
def _sizes(table: str = "lumber") -> dict[str, Lumber]:
    return {
        row["id"]: Lumber(
            id=row["id"], thickness=_inches(row["thickness"]), width=_inches(row["width"])
        )
        for row in tables()[table]
    }


def lumber_sizes() -> tuple[Lumber, ...]:
    """Every size of lumber there is, in the order of the data file."""
    return tuple(_sizes().values())


def _inches(text: str) -> Nm:
    exact = Fraction(text) * INCH
    assert exact.denominator == 1
    return Nm(exact.numerator)


def lumber(nominal: str) -> Lumber:
    """The actual size of `2x4` and its like; raises `BadValue` naming those known."""
    size = _sizes().get(nominal)
    if size is None:
        raise BadValue(f"No lumber {nominal!r}; there are {', '.join(_sizes())}")
    return size


def steel_sizes() -> tuple[Lumber, ...]:
    """Every size of steel stud there is: `thickness` is that of its flange (FR-steel-sizes)."""
    return tuple(_sizes("steel").values())


def stud_size(name: str) -> Lumber:
    """The size of a stud of lumber or of steel; raises `BadValue` naming those known."""
    steel = _sizes("steel")
    if name not in steel and name not in _sizes():
        raise BadValue(f"No stud {name!r}; there are {', '.join((*_sizes(), *steel))}")
    return steel.get(name) or lumber(name)


def is_steel(stud: str) -> bool:
    """Whether a stud of that name is of steel."""
    return stud in _sizes("steel")


@dataclass(frozen=True, slots=True, kw_only=True)
class Batt:
    """Batts on sale: their R-value, and the RSI that a metric bag says (IN-batts)."""

    r: Decimal
    rsi: Decimal


@cache
def batt_sizes() -> tuple[Batt, ...]:
    """The batts there are, the thinnest first."""
    return tuple(Batt(r=Decimal(row["r"]), rsi=Decimal(row["rsi"])) for row in tables()["batt"])


@cache
def screw_lengths(kind: str) -> tuple[Nm, ...]:
    """Lengths in which board screws of `kind` (`coarse`, `fine`, `tile`) are sold, shortest
    first."""
    return next(
        tuple(_inches(length) for length in row["lengths"])
        for row in tables()["screw"]
        if row["kind"] == kind
    )
