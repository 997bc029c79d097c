"""Values as plain JSON and back, by their type hints: what stored results, plans, estimates and
the takeoff document are written in.

Whole numbers stay whole numbers (past 53 bits they are text), fractions and decimals are text,
enumerations their value, tuples lists, dataclasses objects with every field. Nothing here knows
what the values mean. `fields_of`, `alternatives_of` and `items_of` are how type hints are looked
at; the house file and the document's schema use the same three.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
import types
import typing
from collections.abc import Callable
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from functools import cache
from typing import Any

__all__ = [
    "alternatives_of",
    "canonical",
    "digest",
    "fields_of",
    "items_of",
    "read",
    "write",
]


def write(value: Any) -> Any:
    """The value as dicts, lists, texts and whole numbers."""
    if value is None or (isinstance(value, bool | str) and not isinstance(value, Enum)):
        return value
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, int):
        return value if abs(value) < 2**53 else str(value)
    if isinstance(value, Fraction):
        return str(value)
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, tuple | list):
        return [write(item) for item in value]
    if isinstance(value, dict):
        return {str(key): write(item) for key, item in value.items()}
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {name: write(getattr(value, name)) for name, _ in fields_of(type(value))}
    raise TypeError(f"Nothing plain is known for a {type(value).__name__}")


def read(kind: Any, raw: Any) -> Any:
    """The value that `write` wrote, of type `kind`; raises `ValueError` or `TypeError` for what it
    never wrote."""
    return _reader(kind)(raw)


def canonical(value: Any) -> str:
    """One text for equal values: keys in order, no spaces."""
    return json.dumps(write(value), sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def digest(*values: Any) -> str:
    """A name for the values, the same for equal ones: 64 hexadecimal digits."""
    sha256 = hashlib.sha256()
    for value in values:
        sha256.update(canonical(value).encode())
        sha256.update(b"\0")
    return sha256.hexdigest()


@cache
def fields_of(kind: type[Any]) -> tuple[tuple[str, Any], ...]:
    """The fields of a dataclass with their type hints, in the order they are declared."""
    hints = typing.get_type_hints(kind)
    return tuple((field.name, hints[field.name]) for field in dataclasses.fields(kind))


def alternatives_of(hint: Any) -> tuple[Any, ...]:
    """The kinds that a union allows, `NoneType` among them; empty for any other hint.

    Both spellings of a union are looked at: `Fraction | str`, and what `Nm | None` becomes.
    """
    is_union = typing.get_origin(hint) in (types.UnionType, typing.Union)
    return typing.get_args(hint) if is_union else ()


def items_of(hint: Any) -> tuple[tuple[Any, ...], bool] | None:
    """The kinds of a tuple's items, and whether the one kind repeats (`tuple[int, ...]`); None for
    a hint that is no tuple."""
    if typing.get_origin(hint) is not tuple:
        return None
    arguments = typing.get_args(hint)
    repeats = arguments[1:] == (Ellipsis,)
    return (arguments[:1] if repeats else arguments), repeats


_PLAIN: dict[Any, Callable[[Any], Any]] = {
    int: int,
    str: str,
    bool: bool,
    Fraction: Fraction,
    Decimal: Decimal,
}


@cache
def _reader(hint: Any) -> Callable[[Any], Any]:
    hint = getattr(hint, "__supertype__", hint)
    if hint in _PLAIN:
        return _PLAIN[hint]
    if alternatives := alternatives_of(hint):
        kinds = [kind for kind in alternatives if kind is not types.NoneType]
        if len(kinds) != 1:
            raise TypeError(f"{hint} has more than one kind")
        inner = _reader(kinds[0])
        return lambda raw: None if raw is None else inner(raw)
    if items := items_of(hint):
        return _tuple_reader(*items)
    if typing.get_origin(hint) is dict:
        value = _reader(typing.get_args(hint)[1])
        return lambda raw: {key: value(item) for key, item in raw.items()}
    if isinstance(hint, type) and issubclass(hint, Enum):
        return hint
    if dataclasses.is_dataclass(hint):
        return _object_reader(hint)
    raise TypeError(f"Nothing plain is known for {hint}")


def _tuple_reader(kinds: tuple[Any, ...], repeats: bool) -> Callable[[Any], Any]:
    readers = [_reader(kind) for kind in kinds]
    if repeats:
        return lambda raw: tuple(map(readers[0], raw))
    return lambda raw: tuple(reader(item) for reader, item in zip(readers, raw, strict=True))


def _object_reader(kind: Any) -> Callable[[Any], Any]:
    readers: dict[str, Callable[[Any], Any]] = {}

    def make(raw: Any) -> Any:
        if not readers:  # at the first use, so that a class may hold its own kind
            readers.update({name: _reader(hint) for name, hint in fields_of(kind)})
        return kind(**{name: readers[name](item) for name, item in raw.items()})

    return make
