"""The data files as they stand: single figures, tables of rows, and how well each is known."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any

from takeoff.errors import BadValue
from takeoff.units import FOOT, INCH, METRE, MM, Nm

__all__ = ["FILES", "Figure", "Status", "single_figures", "tables"]

FILES = (
    "boards.toml",
    "framing.toml",
    "fasteners.toml",
    "finishing.toml",
    "hand_goods.toml",
    "hours.toml",
    "insulation.toml",
    "loads.toml",
    "patching.toml",
)

_LENGTHS: Mapping[str, Nm] = {"in": INCH, "ft": FOOT, "mm": MM, "m": METRE}


class Status(StrEnum):
    """How well a figure is known. `MEMORY` ones are shown to people as "check your local code"."""

    PUBLISHED = "published"
    SECONDARY = "secondary"
    COMMON_PRACTICE = "common practice"
    DERIVED = "derived"
    MEMORY = "from memory"

    @property
    def caution(self) -> str:
        """What to say beside such a figure; empty where its source speaks for it."""
        return {
            Status.MEMORY: "check your local code",
            Status.COMMON_PRACTICE: "common practice, no published source",
            Status.SECONDARY: "as told by another source",
        }.get(self, "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One trade figure: `value` is exact, or a text where the figure is a rule in words.

    `low` and `high` hold the range where sources disagree, and `reason` says why this one is the
    default.
    """

    id: str
    what: str
    value: Fraction | str
    unit: str
    source: str
    status: Status
    edition: str = ""
    low: Fraction | None = None
    high: Fraction | None = None
    reason: str = ""

    @property
    def number(self) -> Fraction:
        """The value as a number; raises `BadValue` for a figure that is a rule in words."""
        if isinstance(self.value, str):
            raise BadValue(f"Figure {self.id} is a rule in words, not a number")
        return self.value

    @property
    def length(self) -> Nm:
        """The value as a length in whole nanometres; raises `BadValue` where its unit is not one of
        length."""
        if self.unit not in _LENGTHS:
            raise BadValue(f"Figure {self.id} is in {self.unit or 'no unit'}, not a length")
        exact = self.number * _LENGTHS[self.unit]
        if exact.denominator != 1:
            raise BadValue(f"Figure {self.id} is not a whole number of nanometers")
        return Nm(exact.numerator)


def _number(text: object) -> Fraction:
    # tomllib hands decimals over as text by `parse_float`, so that 0.55 stays exactly 55/100
    return Fraction(str(text))


def _value(raw: object) -> Fraction | str:
    try:
        return _number(raw)
    except ValueError:
        return str(raw)


@cache
def tables() -> Mapping[str, tuple[Mapping[str, Any], ...]]:
    """The rows of every table of the data files, by the name of the table and in their order there.
    A decimal is text, so that it stays exact."""
    rows_of: dict[str, list[Mapping[str, Any]]] = {}
    for name in FILES:
        text = resources.files("takeoff.reference").joinpath(name).read_text(encoding="utf-8")
        for table, rows in tomllib.loads(text, parse_float=str).items():
            rows_of.setdefault(table, []).extend(MappingProxyType(row) for row in rows)
    return MappingProxyType({table: tuple(rows) for table, rows in rows_of.items()})


@cache
def single_figures() -> Mapping[str, Figure]:
    """Every figure that stands by itself, by its id, in the order of the data files. Rows of tables
    are read by their own modules."""
    entries: dict[str, Figure] = {}
    for row in tables()["figure"]:
        entry = Figure(
            id=row["id"],
            what=row["what"],
            value=_value(row["value"]),
            unit=row.get("unit", ""),
            source=row["source"],
            edition=str(row.get("edition", "")),
            status=Status(row["status"]),
            low=_number(row["low"]) if "low" in row else None,
            high=_number(row["high"]) if "high" in row else None,
            reason=row.get("reason", ""),
        )
        if entry.id in entries:
            raise BadValue(f"Figure {entry.id} stands twice")
        entries[entry.id] = entry
    return MappingProxyType(entries)
