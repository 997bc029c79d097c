"""Codes of rooms and letters of walls, as the engine gives them (see `takeoff.marks`)."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from takeoff._checks import check_code
from takeoff.errors import BadValue
from takeoff.marks import ceiling_letters, letters_of_walls, new_code, new_letter, with_marks

__all__ = [
    "code_problem",
    "new_code",
    "new_letter",
    "sheet_prefixes",
    "surface_letters",
    "with_code",
    "with_marks",
]


def surface_letters(
    kinds: Sequence[str], given: Sequence[str], *, taken: Sequence[str] = ()
) -> list[str]:
    """The letters of a room's walls, or of the surfaces of a plain list, by their kinds. Those that
    are given stay, and no wall gets one that is `taken`."""
    letters = list(given)
    for kind in ("wall", "ceiling"):
        places = [place for place, other in enumerate(kinds) if other == kind]
        mine = [given[place] for place in places]
        chosen = ceiling_letters(mine) if kind == "ceiling" else letters_of_walls(mine, taken)
        for place, letter in zip(places, chosen, strict=True):
            letters[place] = letter
    return letters


def code_problem(code: str, label: str) -> str:
    """What is wrong with a code that a person gives a room; empty for a good one."""
    try:
        check_code(code, f'"{label}"')
    except BadValue as error:
        return str(error)
    return ""


def with_code(plan: Any, room: str, before: str, code: str) -> Any:
    """A stored plan in which the boards of `room` are marked with its new code. Marks that the code
    `before` did not make stay."""
    piece = re.compile(rf"{re.escape(before)}(-[A-Z]+[0-9]+)")
    sheet = re.compile(rf"{re.escape(before)}([0-9]+(\.[0-9]+)?)")
    marks: dict[str, str] = {}

    def note(form: re.Pattern[str], mark: str) -> None:
        found = form.fullmatch(mark)
        if found is not None:
            marks[mark] = f"{code}{found[1]}"

    for surface in plan.get("surfaces", ()):
        if surface["room"] == room:
            for one in surface["pieces"]:
                note(piece, one["code"])
    for one in plan.get("sheets", ()):
        if one["room"] == room:
            for mark in (one["code"], *(offcut["id"] for offcut in one["offcuts"])):
                note(sheet, mark)
    return _renamed(plan, marks)


# Where a stored plan names a piece, a sheet or an offcut.
_NAMING = frozenset({"code", "piece", "id", "source"})


def _renamed(value: Any, marks: Mapping[str, str]) -> Any:
    if isinstance(value, list):
        return [_renamed(item, marks) for item in value]
    if isinstance(value, dict):
        return {
            name: marks.get(item, item)
            if name in _NAMING and isinstance(item, str)
            else _renamed(item, marks)
            for name, item in value.items()
        }
    return value


def sheet_prefixes(plan: Any) -> set[str]:
    """The letters that marks of sheets in a stored plan begin with. No room that comes later may
    have them as its code."""
    return {
        "".join(letter for letter in sheet["code"] if letter.isalpha())
        for sheet in plan.get("sheets", ())
    }
