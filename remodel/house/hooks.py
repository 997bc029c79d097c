"""What the apps above `house` have to say when a room is added or removed.

`house` does not import them. They register here what is to be called, inside the same write;
`remodel/apps.py` shows who does.
"""

from __future__ import annotations

from collections.abc import Callable

from remodel.history.services import By
from remodel.house.models import Room

__all__ = ["before_room_removed", "check_removal", "on_room_added", "tell_added"]

_added: list[Callable[[By, Room], object]] = []
_removal_checks: list[Callable[[Room], None]] = []


def on_room_added(listener: Callable[[By, Room], object]) -> None:
    """Have `listener` called with every new room, inside the write that adds it."""
    if listener not in _added:
        _added.append(listener)


def before_room_removed(check: Callable[[Room], None]) -> None:
    """Have `check` look at every room that is about to be removed; it raises `Refused` where the
    room must stay."""
    if check not in _removal_checks:
        _removal_checks.append(check)


def tell_added(by: By, room: Room) -> None:
    """Call all that was registered for a new room."""
    for listener in _added:
        listener(by, room)


def check_removal(room: Room) -> None:
    """Raise `Refused` where one of the registered checks wants the room to stay."""
    for check in _removal_checks:
        check(room)
