"""Values as plain JSON and back, worked out of their type hints: what a stored result or estimate
is written in.

Whole numbers stay whole numbers (past 53 bits they are text), fractions and decimals are text,
enumerations their value, tuples lists, dataclasses objects with every field. Nothing here knows
what the values mean.
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

__all__ = ["canonical", "digest", "read", "write"]


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
        return [write(each) for each in value]
    if isinstance(value, dict):
        return {str(key): write(each) for key, each in value.items()}
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {name: write(getattr(value, name)) for name in _names(type(value))}
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
    found = hashlib.sha256()
    for value in values:
        found.update(canonical(value).encode())
        found.update(b"\0")
    return found.hexdigest()


@cache
def _names(kind: type) -> tuple[str, ...]:
    return tuple(each.name for each in dataclasses.fields(kind))


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
    arguments = typing.get_args(hint)
    if typing.get_origin(hint) in (types.UnionType, typing.Union):
        kinds = [each for each in arguments if each is not types.NoneType]
        if len(kinds) != 1:
            raise TypeError(f"{hint} has more than one kind")
        inner = _reader(kinds[0])
        return lambda raw: None if raw is None else inner(raw)
    if typing.get_origin(hint) is tuple:
        if arguments[1:] == (Ellipsis,):
            each = _reader(arguments[0])
            return lambda raw: tuple(map(each, raw))
        readers = [_reader(argument) for argument in arguments]
        return lambda raw: tuple(reader(item) for reader, item in zip(readers, raw, strict=True))
    if typing.get_origin(hint) is dict:
        value = _reader(arguments[1])
        return lambda raw: {key: value(item) for key, item in raw.items()}
    if isinstance(hint, type) and issubclass(hint, Enum):
        return hint
    if dataclasses.is_dataclass(hint):
        return _object(hint)
    raise TypeError(f"Nothing plain is known for {hint}")


def _object(kind: Any) -> Callable[[Any], Any]:
    hints = typing.get_type_hints(kind)
    readers: dict[str, Callable[[Any], Any]] = {}

    def make(raw: Any) -> Any:
        if not readers:  # at the first use, so that a class may hold its own kind
            readers.update({name: _reader(hints[name]) for name in _names(kind)})
        return kind(**{name: readers[name](item) for name, item in raw.items()})

    return make
