"""An archive in: whole or not at all, and into an empty place only.

Rows and photos cannot be written in one transaction. So photos are unpacked into a folder beside
their place first, and moved there as the last thing before the rows are committed. A process that
ends in between leaves photos without rows, and the folder with the manifest by which the next try
knows them for its own and removes them.

An archive of an earlier schema is loaded into a database of its own that has this schema, brought
up to date there by the migrations everybody's database goes through, and archived anew. The result
is what is restored, so that rows come into the real database in one way only.
"""

from __future__ import annotations

import calendar
import json
import os
import shutil
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connection, connections, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.utils import load_backend

from remodel.archive.errors import CannotArchive, CannotRestore
from remodel.archive.reading import Archive
from remodel.archive.schema import applied_schema, newest_schema
from remodel.archive.tables import has_rows, insert_rows, tables_of
from remodel.archive.writing import FILES, MANIFEST, Contents, folders, write_archive
from remodel.history.turns import write_turn

__all__ = ["WORKPLACE", "another_database", "restore"]

WORKPLACE = "restoring"  # the folder in the data folder that stands while an archive is restored


def restore(path: Path) -> Contents:
    """Restore an archive into this database and this data folder.

    Raises `CannotRestore` where the archive is not whole, is of a later version, or where something
    is here already. Nothing was changed then.
    """
    with Archive(path) as archive:
        workplace = Path(settings.DATA_DIR) / WORKPLACE
        _check_nothing_entered()
        _remove_leftovers(workplace, archive)
        _check_no_files()
        if not archive.has_room(Path(settings.DATA_DIR)):
            raise CannotRestore(
                f"{settings.DATA_DIR} has too little room: this archive takes about "
                f"{max(1, archive.room_needed() // 10**6)} MB. Make room, then restore it."
            )
        archive.check()
        workplace.mkdir(mode=0o700)
        try:
            (workplace / MANIFEST).write_text(json.dumps(archive.manifest))
            contents = _restore(archive, workplace)
        except OSError as error:
            raise CannotRestore(
                f"Cannot write to {settings.DATA_DIR}: {error.strerror}. Nothing was restored."
            ) from error
        finally:
            shutil.rmtree(workplace, ignore_errors=True)
        return contents


def _restore(archive: Archive, workplace: Path) -> Contents:
    _unpack_files(archive, workplace / FILES)
    call_command("migrate", verbosity=0, interactive=False)
    contents = Contents(files=len(archive.files()))
    moved: list[Path] = []
    with _up_to_date(archive, workplace) as tables:
        try:
            with write_turn():
                _check_nothing_entered()
                _load(tables, contents)
                _move_files(workplace / FILES, moved)
        except BaseException:
            for target in moved:
                target.unlink(missing_ok=True)
            raise
    return contents


@contextmanager
def _up_to_date(archive: Archive, workplace: Path) -> Iterator[Archive]:
    """An archive of the newest schema with the tables of this one."""
    if dict(archive.schema) == dict(newest_schema()):
        yield archive
        return
    path = workplace / "tables.zip"
    try:
        with another_database(workplace / "earlier.sqlite3"):
            executor = MigrationExecutor(connection)
            executor.migrate(sorted(archive.schema.items()))
            with transaction.atomic():
                _load(archive, Contents())
            executor = MigrationExecutor(connection)
            executor.migrate(executor.loader.graph.leaf_nodes())
            write_archive(path, with_files=False)
    except (DatabaseError, CannotArchive) as error:
        raise CannotRestore(
            f"The archive could not be brought up to date: {error}. Nothing was restored."
        ) from error
    with Archive(path) as newer:
        yield newer


@contextmanager
def another_database(path: Path) -> Iterator[None]:
    """Another SQLite database as the one database of this thread. Migrations may ask for
    `connection` without saying which, so it has to be the default one."""
    values = {"ENGINE": "django.db.backends.sqlite3", "NAME": str(path)}
    settings_of = connections.configure_settings({DEFAULT_DB_ALIAS: values})[DEFAULT_DB_ALIAS]
    backend: Any = load_backend(values["ENGINE"])
    kept = connections[DEFAULT_DB_ALIAS]
    connections[DEFAULT_DB_ALIAS] = backend.DatabaseWrapper(settings_of, DEFAULT_DB_ALIAS)
    try:
        yield
    finally:
        connections[DEFAULT_DB_ALIAS].close()
        connections[DEFAULT_DB_ALIAS] = kept


def _load(archive: Archive, contents: Contents) -> None:
    """Write all rows of an archive that has the schema of the database."""
    models = tables_of(archive.schema)
    try:
        for label, model in models.items():
            with closing(archive.lines(label)) as lines:
                insert_rows(model, lines)
            rows = model._base_manager.count()
            if rows != archive.members[f"tables/{label}.jsonl"].rows:
                raise CannotRestore(f"Not every row of {label} was written. Nothing was restored.")
            contents.rows += rows
            contents.houses += rows if label == "house.house" else 0
        # Tables are written in no order, so what a row points at is looked for at the end.
        connection.check_constraints()
        with connection.cursor() as cursor:
            for statement in connection.ops.sequence_reset_sql(no_style(), [*models.values()]):
                cursor.execute(statement)
    except DatabaseError as error:
        raise CannotRestore(
            f"The rows of the archive contradict each other ({error}). Nothing was restored; use "
            "an earlier archive."
        ) from error


def _check_nothing_entered() -> None:
    """Raise `CannotRestore` where anything was entered here already."""
    schema = applied_schema()
    if schema is None:
        raise CannotRestore(
            "This data was used by a later version of Halfbay. Restore into an empty data folder: "
            + _HOW
        )
    models = tables_of(schema)
    house = models.get("house.house")
    names = list(house._base_manager.values_list("name", flat=True)[:1]) if house else []
    if names:
        raise CannotRestore(
            f"There is a house here already: {names[0]}. Restore into an empty data folder: {_HOW}"
        )
    if any(has_rows(model) for model in models.values()):
        raise CannotRestore(
            f"This Halfbay is in use already. Restore into an empty data folder: {_HOW}"
        )


_HOW = "HALFBAY_DATA=/another/folder manage.py restore FILE"


def _check_no_files() -> None:
    for folder in folders().values():
        if any(path.is_file() for path in folder.rglob("*")):
            raise CannotRestore(
                f"There are photos or print sets in {folder} already. Restore into an empty data "
                f"folder: {_HOW}"
            )


def _remove_leftovers(workplace: Path, archive: Archive) -> None:
    """Remove what an earlier try left that ended between the moving of files and the commit: files
    of this very archive, whose rows are not here."""
    with suppress(OSError, ValueError):
        if json.loads((workplace / MANIFEST).read_text()) == archive.manifest:
            for member in archive.files():
                _place_of(member.name.removeprefix(FILES)).unlink(missing_ok=True)
    shutil.rmtree(workplace, ignore_errors=True)


def _unpack_files(archive: Archive, place: Path) -> None:
    for member in archive.files():
        target = place / member.name.removeprefix(FILES)
        target.parent.mkdir(parents=True, exist_ok=True)
        archive.unpack(member, target)
        # Print sets are removed when they are a month old, which the file's own time tells.
        changed = calendar.timegm(archive.changed_at(member))
        os.utime(target, (changed, changed))


def _move_files(place: Path, moved: list[Path]) -> None:
    """Move each file to its place, and say so in `moved`."""
    for path in sorted(place.rglob("*")):
        if path.is_file():
            target = _place_of(path.relative_to(place).as_posix())
            target.parent.mkdir(parents=True, exist_ok=True)
            path.rename(target)
            moved.append(target)


def _place_of(name: str) -> Path:
    """Where a file of an archive lies, like `media/photos/...`."""
    folder, _, rest = name.partition("/")
    return folders()[folder] / rest
