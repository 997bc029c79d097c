"""What a write is refused with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

__all__ = ["AlreadyUndone", "CannotUndo", "Conflict", "Overtaken", "Refused", "Stale"]


class Refused(ValueError):
    """A write that may not be done. The message says why, and what to do.

    `field` names the value that is wrong, if one is. `seconds` is how long to wait before it may be
    tried again, where that is the reason.
    """

    seconds = 0

    def __init__(self, message: str, *, field: str = "") -> None:
        super().__init__(message)
        self.field = field


@dataclass(frozen=True, slots=True)
class Conflict:
    """One field that two people changed: `theirs` stands now, `mine` was to be written."""

    row: Any
    field: str
    theirs: Any
    mine: Any


class Stale(Refused):
    """Somebody else changed the row since it was read. Nothing was written. `conflicts` has both
    values of each field."""

    def __init__(self, row: Any, conflicts: tuple[Conflict, ...]) -> None:
        super().__init__(
            "Somebody else changed this while you were editing. Compare both values, then save "
            "again."
        )
        self.row = row
        self.conflicts = conflicts


class Overtaken(Refused):
    """A fact like a delivery was recorded since the page was made, so what was typed may be that
    same fact."""


class CannotUndo(Refused):
    """Rows were changed again since. Nothing was undone. `conflicts` has what stands now and what
    stood before."""

    def __init__(self, conflicts: tuple[Conflict, ...]) -> None:
        super().__init__(
            "This was changed again since, so undoing it would lose that later change."
        )
        self.conflicts = conflicts


class AlreadyUndone(Refused):
    """The change was undone before."""

    def __init__(self) -> None:
        super().__init__("This was already undone.")
