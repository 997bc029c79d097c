"""An archive in: whole or not at all, and into an empty place only.

Rows and photos cannot be written in one transaction. So photos are unpacked into a folder beside
their place first, and moved there as the last thing before the rows are committed. A process that
ends in between leaves photos without rows, and the folder with the manifest by which the next try
knows them for its own and removes them, whichever archive that restores.

An archive of an earlier schema is loaded into a database of its own that has this schema, brought
up to date there by the migrations everybody's database goes through, and archived anew. The result
is what is restored, so that rows come into the real database in one way only.
"""

from __future__ import annotations

import calendar
import fcntl
import json
import os
import shutil
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.files.storage import Storage
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connection, connections, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.utils import load_backend

from remodel.archive.errors import CannotArchive, CannotRestore
from remodel.archive.files import file_names, put, stores
from remodel.archive.first_start import clear, is_as_first_started
from remodel.archive.reading import Archive, is_safe_path
from remodel.archive.schema import applied_schema, newest_schema
from remodel.archive.tables import file_columns, insert_rows, tables_of
from remodel.archive.writing import FILES, MANIFEST, Contents, write_archive
from remodel.history.turns import write_turn

__all__ = ["WORKPLACE", "another_database", "check_nothing_entered", "restore"]

WORKPLACE = "restoring"  # the folder in the data folder that stands while an archive is restored


def restore(path: Path, *, name: str = "") -> Contents:
    """Restore an archive into this database and this data folder. `name` is what messages call it
    in place of its path.

    Raises `CannotRestore` where the archive is not whole, is of a later version, or where something
    is here already. Nothing was changed then.
    """
    with _alone(), Archive(path, name=name) as archive:
        workplace = Path(settings.DATA_DIR) / WORKPLACE
        check_nothing_entered()
        _remove_leftovers(workplace)
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


@contextmanager
def _alone() -> Iterator[None]:
    """Let one restore at a time into this data folder. The lock ends with its process, however that
    ends."""
    try:
        descriptor = os.open(
            Path(settings.DATA_DIR) / "restoring.lock", os.O_RDWR | os.O_CREAT, 0o600
        )
    except OSError as error:
        raise CannotRestore(
            f"Cannot write to {settings.DATA_DIR}: {error.strerror}. Nothing was restored."
        ) from error
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        yield
    except BlockingIOError as error:
        raise CannotRestore(
            "An archive is being restored here already. Wait until it is done, then look again."
        ) from error
    finally:
        os.close(descriptor)


def _restore(archive: Archive, workplace: Path) -> Contents:
    _unpack_files(archive, workplace / FILES)
    if dict(applied_schema() or {}) != dict(newest_schema()):
        call_command("migrate", verbosity=0, interactive=False)
    contents = Contents(files=len(archive.files()))
    moved: list[str] = []
    with _up_to_date(archive, workplace) as tables:
        try:
            with write_turn():
                check_nothing_entered()
                clear()
                _load(tables, contents)
                _check_photos(archive)
                _move_files(workplace / FILES, moved)
        except BaseException:
            for name in moved:
                store, inside = _place_of(name)
                store.delete(inside)
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


def check_nothing_entered() -> None:
    """Raise `CannotRestore` where anything was entered here already. What the first start made by
    itself is no such thing."""
    schema = applied_schema()
    if schema is None:
        raise CannotRestore(
            "This data was used by a later version of Halfbay. Restore into an empty data folder: "
            + _HOW
        )
    if is_as_first_started():
        return
    house = tables_of(schema).get("house.house")
    names = list(house._base_manager.values_list("name", flat=True)[:1]) if house else []
    if names:
        raise CannotRestore(
            f"There is a house here already: {names[0]}. Restore into an empty data folder: {_HOW}"
        )
    raise CannotRestore(
        f"This Halfbay is in use already. Restore into an empty data folder: {_HOW}"
    )


_HOW = "HALFBAY_DATA=/another/folder manage.py restore FILE"


def _check_photos(archive: Archive) -> None:
    """Raise `CannotRestore` where rows that were loaded speak of a photo that the archive lacks.
    One that was missing when the archive was made is named in it."""
    there = {*archive.members, *archive.missing}
    for model in tables_of(newest_schema()).values():
        for column in file_columns(model):
            for name in model._base_manager.exclude(**{column: ""}).values_list(column, flat=True):
                if name and f"{FILES}media/{name}" not in there:
                    raise CannotRestore(
                        f"The archive speaks of the photo {name} and does not hold it. Nothing was "
                        "restored; copy the archive again from where it came, or use another."
                    )


def _check_no_files() -> None:
    if any(True for store in stores().values() for _ in file_names(store)):
        raise CannotRestore(
            "There are photos or print sets here already. Restore into an empty data folder: "
            + _HOW
        )


def _remove_leftovers(workplace: Path) -> None:
    """Remove what an earlier try left that ended between the moving of files and the commit: the
    files that its manifest names, whose rows are not here. Nothing was entered, so no row is."""
    with suppress(OSError, ValueError, TypeError, KeyError):
        manifest = json.loads((workplace / MANIFEST).read_text())
        for member in manifest["members"]:
            name = str(member["name"])
            if is_safe_path(name) and name.startswith(FILES):
                store, inside = _place_of(name.removeprefix(FILES))
                store.delete(inside)
    shutil.rmtree(workplace, ignore_errors=True)


def _unpack_files(archive: Archive, place: Path) -> None:
    for member in archive.files():
        target = place / member.name.removeprefix(FILES)
        target.parent.mkdir(parents=True, exist_ok=True)
        archive.unpack(member, target)
        # Print sets are removed when they are a month old, which the file's own time tells.
        changed = calendar.timegm(archive.changed_at(member))
        os.utime(target, (changed, changed))


def _move_files(place: Path, moved: list[str]) -> None:
    """Move each file to its place, and say so in `moved`."""
    for path in sorted(place.rglob("*")):
        if path.is_file():
            name = path.relative_to(place).as_posix()
            store, inside = _place_of(name)
            put(store, inside, path)
            moved.append(name)


def _place_of(name: str) -> tuple[Storage, str]:
    """The storage of a file of an archive, like `media/photos/...`, and its name in it."""
    kind, _, inside = name.partition("/")
    return stores()[kind], inside
