"""What a write is refused with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

__all__ = ["AlreadyUndone", "CannotUndo", "Conflict", "Overtaken", "Refused", "Stale"]


class Refused(ValueError):
    """A write that may not be done; the message says why and what to do. `field` names the value at
    fault, if any.

    `seconds` is how long to wait before it may be tried again, where that is the reason.
    """

    seconds = 0

    def __init__(self, message: str, *, field: str = "") -> None:
        super().__init__(message)
        self.field = field


@dataclass(frozen=True, slots=True)
class Conflict:
    """One field two people changed: what stands now, and what was to be written."""

    row: Any
    field: str
    theirs: Any
    mine: Any


class Stale(Refused):
    """Somebody else changed the row since it was read. Nothing was written; `conflicts` carries
    both values."""

    def __init__(self, row: Any, conflicts: tuple[Conflict, ...]) -> None:
        super().__init__(
            "Somebody else changed this while you were editing. Compare both values, then save "
            "again."
        )
        self.row = row
        self.conflicts = conflicts


class Overtaken(Refused):
    """A fact was recorded since the page was made, like a delivery, so that what is typed may be
    told twice."""


class CannotUndo(Refused):
    """Rows changed again since. Nothing was undone; `conflicts` carries what stands and what stood
    before."""

    def __init__(self, conflicts: tuple[Conflict, ...]) -> None:
        super().__init__(
            "This was changed again since, so undoing it would lose that later change."
        )
        self.conflicts = conflicts


class AlreadyUndone(Refused):
    """The change was taken back before."""

    def __init__(self) -> None:
        super().__init__("This was already undone.")
