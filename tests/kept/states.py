"""The stored states: where they lie, how one is unpacked, and what has changed on purpose since it
was stored."""

from __future__ import annotations

import copy
import lzma
import shutil
import sqlite3
from contextlib import closing
from fractions import Fraction
from pathlib import Path
from typing import Any

__all__ = [
    "ARCHIVE",
    "CUT",
    "DATABASE",
    "KEPT",
    "NOW",
    "RENAMED",
    "ROOT",
    "expected_counts",
    "expected_facts",
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
    "2026-11": {
        "board_mark": (271, "no mark of a plan that stands is given again"),
        "board_placedpiece": (46, "a piece that is ticked as cut or hung is there"),
        "board_worker": (0, "a worker that runs says anew that it is here"),
        "supply_claim": (46, "jobs of placed orders have a right to what was ordered for them"),
        "supply_cutsheet": (28, "a sheet of which a piece is ticked is one that is cut"),
        "supply_movement": (77, "23 of the sheets that are cut stood in stock, and leave it"),
    },
}
# Sheets that ticks say are cut and that stood in stock until then, for ticks moved no stock before:
# the state's name: {house: {item: how many leave the stock once migrated}}
CUT: dict[str, dict[str, dict[str, int]]] = {
    "2026-11": {
        "Hollow Lane (an invented house)": {
            "sheet-moisture-resistant-0.5x48x144in": 2,
            "sheet-cement-0.5x36x60in": 3,
            "sheet-sag-resistant-0.5x48x96in": 3,
            "sheet-sag-resistant-0.5x48x120in": 2,
            "sheet-sag-resistant-0.5x48x144in": 1,
            "sheet-regular-0.5x48x96in": 3,
            "sheet-regular-0.5x48x108in": 3,
            "sheet-regular-0.5x48x120in": 6,
        }
    }
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


# Ticks that met no piece, because the room was measured again after the board was cut: plans are
# made around that board now.
SHOWN_AGAIN: dict[str, dict[str, dict[str, dict[str, int]]]] = {
    "2026-11": {
        "Quay flat": {"Study": {"cut": 1}},
        # places without support that read alike are one step of the hanging order now
        "Hollow Lane (an invented house)": {"Long hall": {"steps": 3}},
    }
}
# What a migration calls otherwise: the state's name: {the phase as it was: the phase now}
PHASES: dict[str, dict[str, str]] = {"2026-11": {"Strip-out": "Tear-out"}}


def expected_counts(state: str, stored: dict[str, int]) -> dict[str, int]:
    """The counts of a state as they are once it is migrated; tables without rows are left out."""
    renamed = RENAMED.get(state, {})
    now = {renamed.get(table, table): count for table, count in stored.items()}
    now |= {table: count for table, (count, _) in NOW.get(state, {}).items()}
    return {table: count for table, count in now.items() if count}


def expected_facts(state: str, stored: dict[str, Any]) -> dict[str, Any]:
    """What people entered as it is shown once migrated: as it was, but for the sheets in `CUT`, the
    ticks in `SHOWN_AGAIN` and the names in `PHASES`."""
    now = copy.deepcopy(stored)
    phases = PHASES.get(state, {})
    for rooms_now in now["houses"].values():
        for rows in rooms_now["phases"].values():
            rows[:] = [[phases.get(name, name), *more] for name, *more in rows]
    for house, rooms in SHOWN_AGAIN.get(state, {}).items():
        for room, ticks in rooms.items():
            now["houses"][house]["marks"][room] |= ticks
    for house, cut in CUT.get(state, {}).items():
        stock = []
        for item, amount, count in now["houses"][house]["stock"]:
            value, _, unit = amount.partition(" ")
            left = Fraction(value) - cut.get(item, 0)
            if left:
                stock.append([item, f"{left} {unit}" if item in cut else amount, count])
        now["houses"][house]["stock"] = stock
    return now
