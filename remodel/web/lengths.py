"""Lengths as text, read and written by the engine. The engine is loaded at first use, because
declaring a form does not need it."""

from __future__ import annotations

__all__ = ["marked_length", "read_length", "read_room_length", "show_length"]


def read_length(text: str, units: str) -> int:
    """The length in `text`, in whole nanometers. Raises `ValueError` with a message that says what
    to write instead."""
    from remodel.bridge import lengths

    return int(lengths.read_length(text, units))


def read_room_length(text: str, units: str) -> int:
    """The same as `read_length`, but a small bare number, which may be feet or inches, is
    refused."""
    from remodel.bridge import lengths

    return int(lengths.read_room_length(text, units))


def show_length(nm: int, units: str) -> str:
    """The exact length as this house writes it: `12' 6 1/2"` for "in", `3810 mm` for "mm"."""
    from remodel.bridge import lengths

    return lengths.show_length(nm, units)


def marked_length(nm: int, units: str) -> str:
    """The length on the nearest mark of a tape: 1/16 in or 1 mm."""
    from remodel.bridge import lengths

    return lengths.tape_text(nm, units)
