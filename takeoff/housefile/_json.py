"""JSON text to plain values and back, within bounds: size, depth and digits are looked at before
anything is built."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from takeoff.errors import HouseFileError, Problem

__all__ = ["Object", "Unreadable", "parse", "shown", "text_of"]

LARGEST = 2_000_000  # bytes; a house of 500 rooms stays under it
DEEPEST = 20  # the format itself needs ten
_DIGITS = 40
_WIDEST = 112

# One token at a time, without going back: text in quotes (closed or not), or a bracket.
_TOKEN = re.compile(r'"(?:[^"\\]++|\\.)*+"?|[\[\]{}]', re.DOTALL)


class Object(dict[str, object]):
    """A JSON object that remembers which of its keys the text gave more than once."""

    repeated: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Unreadable:
    """Stands where the text had a number that is none (`NaN`) or that is too long to be one of
    ours."""

    text: str


def shown(text: str, most: int = 40) -> str:
    """Return text from the file fit to stand in a message: cut, and without what cannot be
    printed."""
    cut = text if len(text) <= most else text[: most - 1] + "…"
    return "".join(character if character.isprintable() else "?" for character in cut)


def parse(source: str | bytes) -> object:
    """Return the values of a JSON text: `Object`, list, str, int, Decimal, bool, None, and
    `Unreadable` numbers.

    Raises `HouseFileError` where it is not UTF-8, not JSON, over 2 MB, or nested more than 20 deep.
    A byte order mark in front is dropped.
    """
    if len(source) > LARGEST:
        raise _refused(f"The file is over {LARGEST // 1_000_000} MB; a house file is far smaller")
    text = _decoded(source) if isinstance(source, bytes) else source.removeprefix("\ufeff")
    if not text.strip():
        raise _refused('The file is empty; a house file begins {"version": 1, "name": "Our house"')
    depth = 0
    for token in _TOKEN.finditer(text):
        mark = token[0][0]
        depth += (mark in "[{") - (mark in "]}")
        if depth > DEEPEST:
            raise _refused(
                f"The file is nested more than {DEEPEST} deep; a house file needs ten at most"
            )
    try:
        tree: object = json.loads(
            text,
            object_pairs_hook=_object,
            parse_int=_whole,
            parse_float=_decimal,
            parse_constant=Unreadable,
        )
    except json.JSONDecodeError as error:
        raise _refused(
            f"The file is not JSON at line {error.lineno}, column {error.colno}: {_why(error)}. "
            "Look there and just "
            'before it; an inch mark inside quotes is written \\" or in'
        ) from None
    return tree


# What the parser expects, by what a person has most likely done.
_REASONS = {
    "Expecting property name enclosed in double quotes": "a comma stands before a } or a key has "
    "no quotes",
    "Illegal trailing comma before end of object": "a comma stands before a }",
    "Illegal trailing comma before end of array": "a comma stands before a ]",
    "Expecting value": "a value is missing, or a comma stands before a ]",
    "Expecting ',' delimiter": "a comma is missing, or a bracket is not closed",
    "Expecting ':' delimiter": "a colon is missing after a key",
    "Extra data": "something stands after the end",
    "Unterminated string starting at": "a text in quotes is not closed",
    "Invalid control character at": "a text in quotes goes over the end of its line",
    "Invalid \\escape": "a backslash in a text stands before a letter that it cannot",
}


def _why(error: json.JSONDecodeError) -> str:
    return _REASONS.get(error.msg, error.msg.lower())


def _decoded(source: bytes) -> str:
    try:
        return source.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _refused(
            f"The file is not UTF-8 text (byte {error.start + 1}); save it again as UTF-8"
        ) from None


def _refused(message: str) -> HouseFileError:
    return HouseFileError((Problem("", message),))


def _object(pairs: list[tuple[str, object]]) -> Object:
    result = Object(pairs)
    if len(result) < len(pairs):
        times = Counter(key for key, _ in pairs)
        result.repeated = tuple(key for key in result if times[key] > 1)
    return result


def _whole(text: str) -> int | Unreadable:
    return int(text) if len(text) <= _DIGITS else Unreadable(text)


def _decimal(text: str) -> Decimal | Unreadable:
    if len(text) > _DIGITS:
        return Unreadable(text)
    try:
        value = Decimal(text)
    except InvalidOperation:
        return Unreadable(text)
    # an exponent is a short way to write a number longer than memory
    return value if -_DIGITS < value.adjusted() < _DIGITS else Unreadable(text)


def text_of(tree: object) -> str:
    """Return JSON text for people: what fits on a line stands on one, the rest is indented; ends in
    a newline."""
    return _laid_out(tree, "") + "\n"


def _laid_out(tree: object, indent: str) -> str:
    line = json.dumps(tree, ensure_ascii=False)
    if len(line) + len(indent) <= _WIDEST or not isinstance(tree, (Mapping, list)) or not tree:
        return line
    deeper = indent + "  "
    if isinstance(tree, Mapping):
        parts = [
            f"{json.dumps(key, ensure_ascii=False)}: {_laid_out(value, deeper)}"
            for key, value in tree.items()
        ]
        opening, closing = "{", "}"
    else:
        parts = [_laid_out(value, deeper) for value in tree]
        opening, closing = "[", "]"
    body = f",\n{deeper}".join(parts)
    return f"{opening}\n{deeper}{body}\n{indent}{closing}"
