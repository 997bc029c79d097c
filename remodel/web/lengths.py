"""Lengths as text, by way of the engine, which is loaded at first use: declaring a form needs no
engine."""

from __future__ import annotations

__all__ = ["marked_length", "read_length", "read_room_length", "show_length"]


def read_length(text: str, units: str) -> int:
    """Return the whole nanometres that `text` says; raises `ValueError` whose message says what to
    write instead."""
    from remodel.bridge import lengths

    return int(lengths.read_length(text, units))


def read_room_length(text: str, units: str) -> int:
    """As `read_length`, but a small bare number, which may be feet or inches, is refused."""
    from remodel.bridge import lengths

    return int(lengths.read_room_length(text, units))


def show_length(nm: int, units: str) -> str:
    """Return `nm` exactly, as this house writes lengths: `12' 6 1/2"` for "in", `3810 mm` for
    "mm"."""
    from remodel.bridge import lengths

    return lengths.show_length(nm, units)


def marked_length(nm: int, units: str) -> str:
    """Return `nm` on the nearest mark of a tape: 1/16 in or 1 mm."""
    from remodel.bridge import lengths

    return lengths.tape_text(nm, units)
