"""Checks that several values share."""

from __future__ import annotations

import re
from collections.abc import Iterable

from takeoff.errors import BadValue
from takeoff.units import FOOT, INCH, LONGEST, METRE, MM, Nm, UnitSystem, format_length

_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}\Z")


def check_id(value: str, what: str) -> None:
    if not _ID.match(value):
        raise BadValue(
            f"{what} id {value[:80]!r} must be 1 to 64 letters, digits, dots, dashes or "
            "underscores, like 'wall-a'",
            about=f"{what} id",
        )


def check_length(value: Nm | None, what: str, *, zero: bool = False, most: Nm = LONGEST) -> None:
    """Raise `BadValue` for a length that is negative or over `most`, and for zero where something
    must have a size."""
    if value is None:
        return
    if value < 0 or (value == 0 and not zero):
        raise BadValue(f"{what} must be {'zero or more' if zero else 'more than zero'}", about=what)
    if value > most:
        metres = f"{most / METRE:.1f}".removesuffix(".0")
        raise BadValue(
            f"{what} must be at most {most // FOOT} ft ({metres} m){_meant(value, most)}",
            about=what,
        )


def _meant(value: Nm, most: Nm) -> str:
    """What was meant where feet were given for inches, or a nought too many for millimetres; else
    nothing."""
    for part, unit in ((12, UnitSystem.INCH), (10, UnitSystem.MILLIMETRE)):
        less, rest = divmod(value, part)
        whole = INCH if unit is UnitSystem.INCH else MM
        if not rest and less % whole == 0 and FOOT <= less <= most:
            return (
                "; did you mean "
                f"{format_length(Nm(less), unit, feet=False).replace(chr(34), ' in')}?"
            )
    return ""


def check_unique(ids: Iterable[str], what: str) -> None:
    seen: set[str] = set()
    for id_ in ids:
        if id_ in seen:
            raise BadValue(f"{what} id {id_!r} is used twice; give each its own")
        seen.add(id_)
