"""What the stock has to say to the plans, which stand below it and do not import it.

The apps above register here; `remodel/apps.py` shows who does.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from uuid import UUID

from remodel.bridge.placed import OwnedSheet, Sheet
from remodel.house.models import House, Room

__all__ = [
    "SheetsAtHand",
    "on_renewed",
    "sheets_at_hand",
    "tell_renewed",
    "whole_sheets_from",
]


@dataclass(frozen=True, slots=True)
class SheetsAtHand:
    """Whole sheets that are here or on their way, by item: those that are kept for a room, by the
    room's id, and those that are free."""

    held: Mapping[UUID, Mapping[str, int]] = field(default_factory=dict)
    free: Mapping[str, int] = field(default_factory=dict)


_source: list[Callable[[House], SheetsAtHand]] = []
Listener = Callable[
    [Room, tuple[OwnedSheet, ...], tuple[Sheet, ...], tuple[str, ...], tuple[str, ...]], object
]
_renewed: list[Listener] = []


def whole_sheets_from(source: Callable[[House], SheetsAtHand]) -> None:
    """Have the whole sheets at hand asked from `source`."""
    _source[:] = [source]


def sheets_at_hand(house: House) -> SheetsAtHand:
    """The whole sheets at hand in a house; none where nobody keeps a stock."""
    return _source[0](house) if _source else SheetsAtHand()


def on_renewed(
    listener: Listener,
) -> None:
    """Have `listener` called where plans were made anew, inside that write: with the pieces that
    were cut and are offcuts now, the sheets of the new plans, and the marks of pieces that were cut
    and are waste now, and of those that have their place again."""
    if listener not in _renewed:
        _renewed.append(listener)


def tell_renewed(
    head: Room,
    spare: tuple[OwnedSheet, ...],
    sheets: tuple[Sheet, ...],
    waste: tuple[str, ...] = (),
    returned: tuple[str, ...] = (),
) -> None:
    """Call all that was registered for plans made anew. `head` is the head room of their pile."""
    for listener in _renewed:
        listener(head, spare, sheets, waste, returned)
