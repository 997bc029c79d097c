"""Checks that several values share."""

from __future__ import annotations

import re
from collections.abc import Iterable

from takeoff.errors import BadValue
from takeoff.units import LONGEST, Nm

_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}\Z")


def check_id(value: str, what: str) -> None:
    if not _ID.match(value):
        raise BadValue(
            f"{what} id {value[:80]!r} must be 1 to 64 letters, digits, dots, dashes or underscores, like 'wall-a'",
            about=f"{what} id",
        )


def check_length(value: Nm | None, what: str, *, zero: bool = False) -> None:
    """Refuse a length that is negative, absurdly long, or zero where something must have a size."""
    if value is None:
        return
    if value < 0 or (value == 0 and not zero):
        raise BadValue(f"{what} must be {'zero or more' if zero else 'more than zero'}", about=what)
    if value > LONGEST:
        raise BadValue(f"{what} must be at most 1000 ft (304.8 m)", about=what)


def check_unique(ids: Iterable[str], what: str) -> None:
    seen: set[str] = set()
    for each in ids:
        if each in seen:
            raise BadValue(f"{what} id {each!r} is used twice; give each its own")
        seen.add(each)
