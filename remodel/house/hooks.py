"""What the apps above `house` have to say when a room is added or removed, and of what is written
on boards.

`house` does not import them. They register here what is to be called, inside the same write;
`remodel/apps.py` shows who does.
"""

from __future__ import annotations

from collections.abc import Callable

from remodel.history.services import By
from remodel.house.models import House, Room

__all__ = [
    "before_room_removed",
    "check_removal",
    "codes_in_use",
    "marks_are_used",
    "on_code_changed",
    "on_codes_asked",
    "on_marks_asked",
    "on_painted",
    "on_room_added",
    "tell_added",
    "tell_code_changed",
    "tell_painted",
]

_added: list[Callable[[By, Room], object]] = []
_removal_checks: list[Callable[[Room], None]] = []
_uses_of_marks: list[Callable[[Room], bool]] = []
_codes_in_use: list[Callable[[House], set[str]]] = []
_code_changes: list[Callable[[Room, str], None]] = []
_painted: list[Callable[[By, Room], object]] = []


def on_room_added(listener: Callable[[By, Room], object]) -> None:
    """Have `listener` called with every new room, inside the write that adds it."""
    if listener not in _added:
        _added.append(listener)


def before_room_removed(check: Callable[[Room], None]) -> None:
    """Have `check` look at every room that is about to be removed; it raises `Refused` where the
    room must stay."""
    if check not in _removal_checks:
        _removal_checks.append(check)


def on_marks_asked(is_used: Callable[[Room], bool]) -> None:
    """Have `is_used` asked whether marks of a room are on paper or on boards."""
    if is_used not in _uses_of_marks:
        _uses_of_marks.append(is_used)


def on_codes_asked(in_use: Callable[[House], set[str]]) -> None:
    """Have `in_use` asked for the letters that sheets of a house are marked with, beside the codes
    of its rooms."""
    if in_use not in _codes_in_use:
        _codes_in_use.append(in_use)


def on_code_changed(listener: Callable[[Room, str], None]) -> None:
    """Have `listener` called with a room that was given another code, and the code it had, inside
    the same write."""
    if listener not in _code_changes:
        _code_changes.append(listener)


def on_painted(listener: Callable[[By, Room], object]) -> None:
    """Have `listener` called with every room of which a color was said, inside the same write."""
    if listener not in _painted:
        _painted.append(listener)


def tell_painted(by: By, room: Room) -> None:
    """Call all that was registered for a room of which a color was said."""
    for listener in _painted:
        listener(by, room)


def tell_code_changed(room: Room, before: str) -> None:
    """Call all that was registered for a new code."""
    for listener in _code_changes:
        listener(room, before)


def marks_are_used(room: Room) -> bool:
    """Whether marks of a room are on paper or on boards, so that they may not change."""
    return any(is_used(room) for is_used in _uses_of_marks)


def codes_in_use(house: House) -> set[str]:
    """Letters that no room may have as its code, for sheets are marked with them already."""
    return {code for in_use in _codes_in_use for code in in_use(house)}


def tell_added(by: By, room: Room) -> None:
    """Call all that was registered for a new room."""
    for listener in _added:
        listener(by, room)


def check_removal(room: Room) -> None:
    """Raise `Refused` where one of the registered checks wants the room to stay."""
    for check in _removal_checks:
        check(room)
