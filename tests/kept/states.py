"""The stored states: where they lie, how one is unpacked, and what has changed on purpose since it
was stored."""

from __future__ import annotations

import lzma
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

__all__ = [
    "ARCHIVE",
    "DATABASE",
    "KEPT",
    "NOW",
    "RENAMED",
    "ROOT",
    "expected_counts",
    "row_counts",
    "unpack",
]

ROOT = Path(__file__).resolve().parents[2]
KEPT = ROOT / "fixtures" / "kept"
DATABASE = "halfbay.sqlite3"
ARCHIVE = "archive.zip"

# What Django keeps for itself: it follows from the code, not from what people entered.
_OWN = {"django_migrations", "django_content_type", "auth_permission", "sqlite_sequence"}

# A stored state and its counts are never edited. A migration that renames a table, or makes, merges
# or drops rows on purpose, says so here, and a reader of this file sees what it did to what people
# had: the state's name: {the table as it was stored: the table now}
RENAMED: dict[str, dict[str, str]] = {
    "2026-11": {
        "board_job": "board_searchjob",
        "cards_pack": "cards_printpack",
        "people_tried": "people_attempt",
    }
}
# the state's name: {the table now: (how many rows it has once migrated, why)}. A new table that a
# migration fills, and one that is gone (0 rows), are given here too.
NOW: dict[str, dict[str, tuple[int, str]]] = {
    "2026-11": {"board_worker": (0, "a worker that runs says anew that it is here")},
}


def unpack(stored: Path, data: Path) -> None:
    """Make a data folder of a stored one."""
    shutil.copytree(stored, data, ignore=shutil.ignore_patterns("*.xz"))
    (data / DATABASE).write_bytes(lzma.decompress((stored / f"{DATABASE}.xz").read_bytes()))


def row_counts(database: Path) -> dict[str, int]:
    """How many rows each table has."""
    with closing(sqlite3.connect(database)) as connection:
        tables = connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name"
        ).fetchall()
        return {
            table: connection.execute(f'SELECT count(*) FROM "{table}"').fetchone()[0]
            for (table,) in tables
            if table not in _OWN
        }


def expected_counts(state: str, stored: dict[str, int]) -> dict[str, int]:
    """The counts of a state as they are once it is migrated; tables without rows are left out."""
    renamed = RENAMED.get(state, {})
    now = {renamed.get(table, table): count for table, count in stored.items()}
    now |= {table: count for table, (count, _) in NOW.get(state, {}).items()}
    return {table: count for table, count in now.items() if count}
