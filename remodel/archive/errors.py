"""What an archive is refused with."""

from __future__ import annotations

__all__ = ["CannotArchive", "CannotRestore"]


class CannotArchive(Exception):
    """No archive was made. The message says why, and what to do."""


class CannotRestore(Exception):
    """An archive was not restored, and nothing was changed. The message says why, and what to
    do."""
