"""How each single value is spelt in JSON: texts, numbers, lengths, prices, amounts, words to choose
from."""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from decimal import Decimal
from difflib import get_close_matches
from enum import StrEnum
from typing import Any, Protocol

from takeoff._checks import check_id
from takeoff.errors import BadValue, TakeoffError
from takeoff.housefile._json import Unreadable, shown
from takeoff.housefile._reading import Reading
from takeoff.housefile._texts import can_be_written
from takeoff.quantities import Amount, Cents, format_amount, format_money, parse_amount, parse_money
from takeoff.units import INCH, MM, Nm, UnitSystem, format_length, parse_length

__all__ = [
    "ABSENT",
    "FAILED",
    "LONGEST_NOTE",
    "LONGEST_TEXT",
    "SCALARS",
    "Choice",
    "Codec",
    "Id",
    "Schema",
    "Text",
    "instead",
]

Schema = dict[str, Any]

LONGEST_TEXT = 200
LONGEST_NOTE = 10_000

FAILED = object()
"""Comes back in place of a value that could not be read; what is wrong with it has then been
noted."""

ABSENT = object()
"""Stands where the file has nothing and must: what a codec says of it is what to enter."""


class Codec(Protocol):
    """Reads, writes and describes one kind of value.

    `stand_in` takes a wrong value's place so that its object can be made and looked at further;
    `FAILED` where nothing can. The file is refused all the same.
    """

    stand_in: object

    def read(self, raw: object, place: str, reading: Reading) -> object: ...

    def write(self, value: Any, units: UnitSystem) -> object: ...

    def schema(self, definitions: dict[str, Schema]) -> Schema: ...


class _Refused(Exception):
    """Says what to enter instead of a raw value of the wrong kind."""


class _Scalar(ABC):
    """A value that is one JSON text, number, true or false; subclasses say how in `take`."""

    stand_in: object = FAILED

    @abstractmethod
    def take(self, raw: object, units: UnitSystem) -> object:
        """The value; raises `_Refused` or `TakeoffError`."""

    def read(self, raw: object, place: str, reading: Reading) -> object:
        try:
            return self.take(raw, reading.units)
        except _Refused as refused:
            reading.problem(place, str(refused) + instead(raw))
        except TakeoffError as refused:
            reading.problem(place, str(refused))
        return FAILED


def instead(raw: object) -> str:
    """Return the end of a message: what stands there instead; empty for a text."""
    if raw is ABSENT:
        return "; it is missing"
    match raw:
        case None:
            return "; this is null"
        case bool():
            return f"; this is {'true' if raw else 'false'}"
        case Unreadable():
            return f"; {shown(raw.text)} is no number one can use here"
        case int() | Decimal():
            return f"; this is the number {shown(str(raw))}"
        case str():
            return ""
        case list():
            return "; this is a list"
        case _:
            return "; this is an object"


class Text(_Scalar):
    stand_in: object = "?"

    def __init__(self, most: int) -> None:
        self.most = most

    def take(self, raw: object, units: UnitSystem) -> object:
        if not isinstance(raw, str):
            raise _Refused('Give a text in quotes, for example "Kitchen"')
        return self.write(raw, units)

    def write(self, value: str, units: UnitSystem) -> str:
        if len(value) > self.most:
            raise BadValue(
                f"A text here takes at most {self.most} characters; this has {len(value)}"
            )
        if not all(map(can_be_written, value)):
            raise BadValue(
                'A text must have no control characters; type it again, for example "Kitchen"'
            )
        return value

    def schema(self, definitions: dict[str, Schema]) -> Schema:
        return {"type": "string", "maxLength": self.most}


class Id(_Scalar):
    def take(self, raw: object, units: UnitSystem) -> object:
        if not isinstance(raw, str):
            raise _Refused('Give an id in quotes, for example "wall-a"')
        check_id(raw, "This")
        return raw

    def write(self, value: str, units: UnitSystem) -> str:
        return value

    def schema(self, definitions: dict[str, Schema]) -> Schema:
        return {"type": "string", "pattern": "^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$"}


class _Flag(_Scalar):
    stand_in: object = False

    def take(self, raw: object, units: UnitSystem) -> object:
        if not isinstance(raw, bool):
            raise _Refused("Give true or false, without quotes")
        return raw

    def write(self, value: bool, units: UnitSystem) -> bool:
        return value

    def schema(self, definitions: dict[str, Schema]) -> Schema:
        return {"type": "boolean"}


class _Whole(_Scalar):
    stand_in: object = 1
    _MOST = 10**9

    def take(self, raw: object, units: UnitSystem) -> object:
        if isinstance(raw, bool) or not isinstance(raw, int) or abs(raw) > self._MOST:
            raise _Refused("Give a whole number, for example 2")
        return raw

    def write(self, value: int, units: UnitSystem) -> int:
        return value

    def schema(self, definitions: dict[str, Schema]) -> Schema:
        return {"type": "integer", "minimum": -self._MOST, "maximum": self._MOST}


def _number_text(raw: object) -> str | None:
    """A JSON number or text as text without an exponent; None for anything else."""
    if isinstance(raw, str):
        return raw
    if isinstance(raw, (int, Decimal)) and not isinstance(raw, bool):
        return f"{raw:f}" if isinstance(raw, Decimal) else str(raw)
    return None


class _Number(_Scalar):
    """An exact decimal, as a number or a text."""

    stand_in: object = Decimal(1)
    _PATTERN = "^-?[0-9]{1,9}([.][0-9]{1,20})?$"

    def take(self, raw: object, units: UnitSystem) -> object:
        text = _number_text(raw)
        if text is None or not re.match(self._PATTERN, text) or text.endswith("\n"):
            raise _Refused("Give a number, for example 1.50")
        return Decimal(text)

    def write(self, value: Decimal, units: UnitSystem) -> object:
        if (
            not value.is_finite()
            or abs(value.adjusted()) > 40
            or not re.match(self._PATTERN, text := f"{value:f}")
        ):
            raise BadValue(
                f"{value} has too many digits for a house file; give at most 9 and 20 decimals, "
                "for example 1.50"
            )
        return text if "." in text else int(text)

    def schema(self, definitions: dict[str, Schema]) -> Schema:
        return {"anyOf": [{"type": "number"}, {"type": "string", "pattern": self._PATTERN}]}


class _Money(_Scalar):
    """Whole cents, spelt as a price with at most two decimals."""

    stand_in: object = Cents(1)

    def take(self, raw: object, units: UnitSystem) -> object:
        text = _number_text(raw)
        if text is None:
            raise _Refused("Give a price, for example 14.50")
        return parse_money(text)

    def write(self, value: Cents, units: UnitSystem) -> str:
        return format_money(value)

    def schema(self, definitions: dict[str, Schema]) -> Schema:
        return {"anyOf": [{"type": "number", "minimum": 0}, {"type": "string", "maxLength": 20}]}


class _Length(_Scalar):
    """A tape reading as text, or a number of the house's own unit."""

    stand_in: object = INCH

    def take(self, raw: object, units: UnitSystem) -> object:
        text = _number_text(raw)
        if text is None:
            example = '"12 ft 6 1/2 in"' if units is UnitSystem.INCH else "3810"
            raise _Refused(f"Give a length, for example {example}")
        return parse_length(text, unit=units)

    def write(self, value: Nm, units: UnitSystem) -> object:
        if units is UnitSystem.MILLIMETRE and value % MM == 0:
            return value // MM
        # words for the marks: an inch mark inside JSON's quotes would need a backslash
        return format_length(value, units).replace("'", " ft").replace('"', " in")

    def schema(self, definitions: dict[str, Schema]) -> Schema:
        definitions["Length"] = {
            "description": "A tape reading, for example 12 ft 6 1/2 in, 12' 6 1/2, 6 1/2 in, "
            "3.81 m or "
            "3810 mm; or a number, "
            "which is inches or millimeters as the house's units say. Zero or more, at most 1000 "
            "ft.",
            "anyOf": [{"type": "string", "maxLength": 40}, {"type": "number", "minimum": 0}],
        }
        return {"$ref": "#/$defs/Length"}


class _AmountOf(_Scalar):
    stand_in: object = FAILED

    def take(self, raw: object, units: UnitSystem) -> object:
        if not isinstance(raw, str):
            raise _Refused('Give an amount in quotes, a number and a unit, for example "4.5 gal"')
        return parse_amount(raw)

    def write(self, value: Amount, units: UnitSystem) -> str:
        return format_amount(value)

    def schema(self, definitions: dict[str, Schema]) -> Schema:
        definitions["Amount"] = {
            "description": "A number and a unit, for example 4.5 gal, 1/3 lb or 50 each.",
            "type": "string",
            "maxLength": 60,
        }
        return {"$ref": "#/$defs/Amount"}


class Choice(_Scalar):
    """One of the words of an enumeration."""

    def __init__(self, words: type[StrEnum]) -> None:
        self.words = words
        self.values = [word.value for word in words]
        self.stand_in = next(iter(words))

    def take(self, raw: object, units: UnitSystem) -> object:
        if isinstance(raw, str) and raw in self.values:
            return self.words(raw)
        near = get_close_matches(raw[:40].lower(), self.values, n=1) if isinstance(raw, str) else []
        wrong = f"; {shown(raw)!r} is none of them" if isinstance(raw, str) else ""
        meant = f", did you mean {near[0]!r}?" if near else ""
        raise _Refused(f"Give one of {', '.join(self.values)}{wrong}{meant}")

    def write(self, value: StrEnum, units: UnitSystem) -> str:
        return value.value

    def schema(self, definitions: dict[str, Schema]) -> Schema:
        return {"enum": self.values}


SCALARS: dict[object, Codec] = {
    str: Text(LONGEST_TEXT),
    bool: _Flag(),
    int: _Whole(),
    Decimal: _Number(),
    Nm: _Length(),
    Cents: _Money(),
    Amount: _AmountOf(),
}
"""The codec of each type that stands alone."""
