"""Checks that several values share."""

from __future__ import annotations

import re
from collections.abc import Iterable

from takeoff.errors import BadValue
from takeoff.units import FOOT, INCH, LONGEST, METRE, MM, Nm, UnitSystem, format_length

_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}\Z")

# The letters that walls are marked with: I and O are read as 1 and 0.
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
CEILING_MARK = "CL"
# A room of this code would have sheets that look like pieces of a ceiling.
NO_ROOM_CODE = CEILING_MARK
_CODE = re.compile(r"[A-Z]{1,3}\Z")
_WALL_LETTER = re.compile(rf"[{LETTERS}]{{1,2}}\Z")
_CEILING_LETTER = re.compile(rf"{CEILING_MARK}[{LETTERS}]{{0,2}}\Z")


def check_id(value: str, what: str) -> None:
    if not _ID.match(value):
        raise BadValue(
            f"{what} id {value[:80]!r} must be 1 to 64 letters, digits, dots, dashes or "
            "underscores, for example 'wall-a'",
            about=f"{what} id",
        )


def check_code(value: str, what: str) -> None:
    """Raise `BadValue` for what is no room's code; none at all is allowed."""
    if value and not _CODE.match(value):
        raise BadValue(
            f"{what} {value[:80]!r} must be 1 to 3 capital letters from A to Z, for example 'K' "
            "or 'KIT'",
            about=what,
        )
    if value == NO_ROOM_CODE:
        raise BadValue(
            f"{what} cannot be {NO_ROOM_CODE!r}, which marks ceilings; give another, for example "
            "'C'",
            about=what,
        )


def check_letter(value: str, what: str, *, ceiling: bool = False) -> None:
    """Raise `BadValue` for what is no letter of a wall, or of a ceiling of a plain list; none at
    all is allowed."""
    form = _CEILING_LETTER if ceiling else _WALL_LETTER
    if value and (not form.match(value) or (value == CEILING_MARK and not ceiling)):
        must = (
            "must be 'CL', or 'CLA', 'CLB' and so on where there are several"
            if ceiling
            else "must be 1 or 2 capital letters without I and O, which look like 1 and 0, and not "
            "'CL', which marks ceilings; for example 'A'"
        )
        raise BadValue(f"{what} {value[:80]!r} {must}", about=what)


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


def check_marks_unique(marks: Iterable[str], what: str, example: str) -> None:
    """Raise `BadValue` where one of the marks that are given is given twice."""
    seen: set[str] = set()
    for mark in marks:
        if mark and mark in seen:
            raise BadValue(
                f"{what} {mark!r} is given twice; give each its own, for example {example!r}"
            )
        seen.add(mark)


def check_unique(ids: Iterable[str], what: str) -> None:
    seen: set[str] = set()
    for id_ in ids:
        if id_ in seen:
            raise BadValue(f"{what} id {id_!r} is used twice; give each its own")
        seen.add(id_)
