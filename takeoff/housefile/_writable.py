"""A house as a house file can hold it, with what it cannot hold taken out of its texts."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any, cast

from takeoff.house import House
from takeoff.housefile._scalars import LONGEST_NOTE, LONGEST_TEXT
from takeoff.housefile._texts import can_be_written, tidy_text

__all__ = ["with_writable_texts"]

# The fields in people's own words. All other texts are keys, which are written as they are.
_LONGEST = {"name": LONGEST_TEXT, "rated": LONGEST_TEXT, "note": LONGEST_NOTE}


def with_writable_texts(house: House) -> tuple[House, tuple[str, ...]]:
    """The house with names and notes that a file can hold, and those that are not what they were.

    Characters that no file holds are left out, and a text that is too long is cut. Line ends are
    all written alike, which is no change worth telling.
    """
    changed: list[str] = []
    return cast(House, _written(house, "", changed)), tuple(dict.fromkeys(changed))


def _written(value: Any, name: str, changed: list[str]) -> Any:
    if type(value) is str:
        return _text(value, _LONGEST[name], changed) if name in _LONGEST else value
    if isinstance(value, tuple):
        items = tuple(_written(item, name, changed) for item in value)
        same = all(one is other for one, other in zip(items, value, strict=True))
        return value if same else items
    if not is_dataclass(value) or isinstance(value, type):
        return value
    parts = {
        field.name: new
        for field in fields(value)
        if (new := _written(old := getattr(value, field.name), field.name, changed)) is not old
    }
    return replace(value, **parts) if parts else value


def _text(value: str, most: int, changed: list[str]) -> str:
    if all(map(can_be_written, value)) and len(value) <= most:
        return value
    text = tidy_text(value)[:most]
    if text != value.replace("\r\n", "\n").replace("\r", "\n"):
        changed.append(text)
    return text
