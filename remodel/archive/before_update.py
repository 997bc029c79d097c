"""The archives that are made before the database is brought up to date.

A migration may turn out to be wrong after it was run. The archive of before it is what one goes
back to, with the version of the program that made it or any later one.
"""

from __future__ import annotations

import shutil
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from remodel.archive.errors import CannotArchive
from remodel.archive.files import bytes_stored
from remodel.archive.schema import applied_schema
from remodel.archive.tables import has_rows, tables_of
from remodel.archive.writing import PARTIAL, archive_name, write_archive

__all__ = ["KEPT", "archive_before_update", "archives_before_update", "place"]

KEPT = 3
_KIND = "before-update-"
_SPARE = 200_000_000  # bytes that have to stay free on the disk


def place() -> Path:
    """The folder these archives lie in."""
    return Path(settings.DATA_DIR) / "archives"


def archives_before_update() -> list[tuple[Path, datetime]]:
    """The archives that are kept and when each was made, the latest first."""
    paths = sorted(place().glob(f"halfbay-{_KIND}*.zip"), reverse=True)
    return [(path, datetime.fromtimestamp(path.stat().st_mtime).astimezone()) for path in paths]


def archive_before_update() -> Path | None:
    """Archive everything where migrations are to be run on what people entered, and remove all but
    the latest few such archives. Returns the archive, or None where none was needed.

    Raises `CannotArchive` where it cannot be made.
    """
    executor = MigrationExecutor(connection)
    if not executor.migration_plan(executor.loader.graph.leaf_nodes()):
        return None
    schema = applied_schema()
    if schema is not None and not any(has_rows(model) for model in tables_of(schema).values()):
        return None
    _check_room()
    path = place() / archive_name(_KIND)
    write_archive(path)
    for old, _ in archives_before_update()[KEPT:]:
        old.unlink(missing_ok=True)
    for partial in place().glob(f"*{PARTIAL}"):
        partial.unlink(missing_ok=True)
    return path


def _check_room() -> None:
    """Raise `CannotArchive` where the disk has no room for an archive beside what is there."""
    needed = sum(bytes_stored()) + _SPARE
    database = Path(str(connection.settings_dict["NAME"]))
    if connection.vendor == "sqlite" and database.is_file():
        needed += database.stat().st_size
    if shutil.disk_usage(settings.DATA_DIR).free < needed:
        raise CannotArchive(
            f"{settings.DATA_DIR} has too little room for an archive of about "
            f"{max(1, needed // 10**6)} MB. Make room, or start with --without-archive."
        )
