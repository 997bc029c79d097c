"""Whose turn it is to write: one writer at a time, on either database.

Much that is written follows from what stands: the ledger's next number, a key not taken yet,
whether an owner is left. SQLite lets one transaction write at a time anyhow (see `SQLITE_OPTIONS`);
PostgreSQL lets them all read first and then overwrite or refuse each other. A lock of the whole
database costs a household nothing, for a write takes milliseconds; whatever takes long (working out
boards, laying out paper) is done outside of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, transaction

__all__ = ["write_turn"]

_LOCK = 0x48414C46  # any number, the same for every process of this database


@contextmanager
def write_turn() -> Iterator[None]:
    """A transaction that first waits for the writers before it. Take it before any row is locked,
    or two writers may wait for each other. Taking it again inside itself costs nothing."""
    # On SQLite this line alone waits for the turn: transactions begin as IMMEDIATE.
    with transaction.atomic():
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                # The lock belongs to the transaction: it goes when that closes, also where the
                # process died, so nobody has to give it back.
                cursor.execute("SELECT pg_advisory_xact_lock(%s)", [_LOCK])
        yield
