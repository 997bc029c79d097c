"""Outages: the database or the disk cannot be used for a while, although nothing in the program is
wrong.

Code that meets one waits and goes on, or says so in plain words. Any other error is a fault and is
reported as one.
"""

from __future__ import annotations

import errno
from contextlib import suppress
from enum import Enum

from django.db import DatabaseError, InterfaceError, OperationalError, connection

__all__ = ["Outage", "drop_connection", "outage_of"]

# The low byte of SQLite's result code: busy, locked, out of memory, read-only, input or output,
# full, cannot open.
_SQLITE = {5: "busy", 6: "busy", 7: "away", 8: "away", 10: "away", 13: "full", 14: "away"}
_FULL = {errno.ENOSPC, errno.EDQUOT}
# SQLSTATE: 53100 disk full, 55P03 lock not available, 57014 the statement took too long
_POSTGRESQL = {"53100": "full", "55P03": "busy", "57014": "busy"}


class Outage(Enum):
    """What cannot be used for a while. The value is the words for people."""

    BUSY = "the database is busy"
    AWAY = "the database cannot be reached"
    FULL = "the disk is full"


def outage_of(error: BaseException | None) -> Outage | None:
    """The outage behind an error; None where the error is not one."""
    if isinstance(error, OSError) and error.errno in _FULL:
        return Outage.FULL
    if not isinstance(error, DatabaseError | InterfaceError):
        return None
    cause = error.__cause__
    code = getattr(cause, "sqlite_errorcode", None)
    if code is not None:
        name = _SQLITE.get(code & 0xFF)
    elif state := getattr(cause, "sqlstate", None):
        # Class 08 is the connection, 53 a resource that ran out, 57P the server going down.
        name = _POSTGRESQL.get(state) or (
            "away" if state[:2] in ("08", "53") or state[:3] == "57P" else None
        )
    else:
        # A connection that was refused or that broke has no state: the class of the error is all
        # there is to go by.
        lost = connection.vendor == "postgresql" and isinstance(
            error, OperationalError | InterfaceError
        )
        name = "away" if lost else None
    return Outage[name.upper()] if name else None


def drop_connection() -> None:
    """Close this thread's connection, so that the next query opens a new one. Inside a transaction
    nothing is closed."""
    # The `atomic` around us has to roll back on this very connection.
    if not connection.in_atomic_block:
        with suppress(DatabaseError, InterfaceError):
            connection.close()
