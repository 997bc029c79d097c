"""An archive out, while people work.

The archive is a stream of bytes: it is never held in memory, whether it goes into a file or to a
browser. All tables are read as they stood at one instant. Photos and print sets never change once
they are written, so they are read afterwards, when the database is free again.
"""

from __future__ import annotations

import json
import os
import stat
import tempfile
import time
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path
from typing import IO, Any, cast

from django.conf import settings
from django.core.files.storage import Storage
from django.db import connection, transaction
from django.utils import timezone

from remodel.archive.errors import CannotArchive
from remodel.archive.files import file_names, stores
from remodel.archive.schema import Schema, applied_schema
from remodel.archive.tables import file_columns, lines_of, tables_of
from remodel.bridge.piles import engine_version

__all__ = [
    "FILES",
    "FORMAT",
    "MANIFEST",
    "PARTIAL",
    "TABLES",
    "Contents",
    "archive_name",
    "stream",
    "write_archive",
]

FORMAT = 1
MANIFEST = "manifest.json"
TABLES = "tables/"
FILES = "files/"
PARTIAL = ".partial"  # ends the name of an archive that is not whole yet

_BLOCK = 1 << 18
_FIRST_YEAR = (1980, 1, 1, 0, 0, 0)  # a zip knows no earlier time


@dataclass(slots=True)
class Contents:
    """What was put into an archive so far. `missing` names photos that rows speak of and that are
    not in the data folder."""

    members: list[dict[str, Any]] = field(default_factory=list)
    rows: int = 0
    files: int = 0
    houses: int = 0
    missing: list[str] = field(default_factory=list)


def archive_name(kind: str = "") -> str:
    """The name of an archive that is made now, like `halfbay-20261129-083000.zip`."""
    return f"halfbay-{kind}{timezone.now():%Y%m%d-%H%M%S}.zip"


def write_archive(path: Path, *, with_files: bool = True) -> Contents:
    """Write an archive into a new file.

    It has another name until it is whole and on the disk, so that what a crash leaves is never
    taken for an archive. It holds password hashes, so its owner alone may read it.
    Raises `CannotArchive` where there is such a file already, or where it cannot be written.
    """
    if path.exists():
        raise CannotArchive(f"{path} exists already. Choose another name.")
    contents = Contents()
    partial = path.with_name(path.name + PARTIAL)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        descriptor = os.open(partial, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(descriptor, "wb") as file:
            for block in stream(contents, with_files=with_files):
                file.write(block)
            file.flush()
            os.fsync(file.fileno())
        partial.rename(path)
        _sync_folder(path.parent)
    except OSError as error:
        raise CannotArchive(f"Cannot write {path}: {error.strerror}.") from error
    finally:
        with suppress(OSError):
            partial.unlink(missing_ok=True)
    return contents


def stream(contents: Contents | None = None, *, with_files: bool = True) -> Iterator[bytes]:
    """The bytes of an archive, in blocks. `contents` is filled on the way.

    The first block comes once all tables were read. Raises `CannotArchive` before it where the
    database is of a later version.
    """
    contents = Contents() if contents is None else contents
    with tempfile.TemporaryFile() as spool:
        pipe = _Pipe(spool)
        with zipfile.ZipFile(cast(IO[bytes], pipe), "w", zipfile.ZIP_DEFLATED) as archive:
            # The snapshot is over before the first byte is given: a slow reader holds up nobody.
            with _snapshot():
                schema = applied_schema()
                if schema is None:
                    raise CannotArchive(
                        "This data was used by a later version of Halfbay. Update this program, "
                        "then make the archive."
                    )
                if not schema:
                    raise CannotArchive(f"There is nothing to archive in {settings.DATA_DIR}.")
                named = _write_tables(archive, schema, contents)
            yield from pipe.take()
            if with_files:
                for kind, store in stores().items():
                    for name in file_names(store):
                        yield from _write_file(archive, kind, store, name, contents, pipe)
                stored = {member["name"] for member in contents.members}
                contents.missing = sorted(named - stored)
            archive.writestr(_info(MANIFEST, time.time()), _manifest(schema, contents))
        yield from pipe.take()


class _Pipe:
    """A file that a zip is written to and that gives away what was written. It has no position,
    so the zip never goes back in it."""

    def __init__(self, spool: Any) -> None:
        self._spool = spool

    def write(self, data: bytes) -> int:
        return int(self._spool.write(data))

    def flush(self) -> None:
        """Nothing: what was written is taken by `take`."""

    def take(self) -> Iterator[bytes]:
        """What was written since, in blocks."""
        self._spool.seek(0)
        while block := self._spool.read(_BLOCK):
            yield block
        self._spool.seek(0)
        self._spool.truncate()


@contextmanager
def _snapshot() -> Iterator[None]:
    """Every query inside sees the database as it stood at the first one, and no writer waits."""
    if connection.in_atomic_block:
        yield  # a transaction sees one state already
        return
    if connection.vendor == "sqlite":
        # `atomic` begins as IMMEDIATE (see `SQLITE_OPTIONS`) and would hold up every writer.
        with connection.cursor() as cursor:
            cursor.execute("BEGIN DEFERRED")
            try:
                yield
            finally:
                cursor.execute("ROLLBACK")
        return
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
        yield


def _write_tables(archive: zipfile.ZipFile, schema: Schema, contents: Contents) -> set[str]:
    """Write every table. Returns the members that its rows name as files."""
    named = set()
    for label, model in tables_of(schema).items():
        columns = file_columns(model)
        name = f"{TABLES}{label}.jsonl"
        digest, size, rows = sha256(), 0, 0
        info = _info(name, time.time())
        info.compress_type = zipfile.ZIP_DEFLATED
        with archive.open(info, "w", force_zip64=True) as member:
            for row, line in lines_of(model):
                member.write(line)
                digest.update(line)
                size, rows = size + len(line), rows + 1
                named |= {f"{FILES}media/{row[column]}" for column in columns if row[column]}
        contents.members.append(
            {"name": name, "size": size, "sha256": digest.hexdigest(), "rows": rows}
        )
        contents.rows += rows
        contents.houses += rows if label == "house.house" else 0
    return named


def _write_file(
    archive: zipfile.ZipFile, kind: str, store: Storage, name: str, contents: Contents, pipe: _Pipe
) -> Iterator[bytes]:
    """Write one file as it is, for pictures and print sets are compressed already."""
    try:
        changed = store.get_modified_time(name).timestamp()
        source = store.open(name)
    except FileNotFoundError:
        return  # a print set that became too old meanwhile
    member_name = f"{FILES}{kind}/{name}"
    digest, size = sha256(), 0
    with source:
        info = _info(member_name, changed)
        info.compress_type = zipfile.ZIP_STORED
        with archive.open(info, "w", force_zip64=True) as member:
            while block := source.read(_BLOCK):
                member.write(block)
                digest.update(block)
                size += len(block)
                yield from pipe.take()
    contents.members.append({"name": member_name, "size": size, "sha256": digest.hexdigest()})
    contents.files += 1


def _info(name: str, changed: float) -> zipfile.ZipInfo:
    """How a member stands in the zip. Its time is in UTC, and its owner alone may read it."""
    info = zipfile.ZipInfo(name, date_time=max(time.gmtime(changed)[:6], _FIRST_YEAR))
    info.external_attr = (stat.S_IFREG | 0o600) << 16
    return info


def _manifest(schema: Schema, contents: Contents) -> bytes:
    value = {
        "format": FORMAT,
        "made_at": timezone.now().isoformat(),
        "engine": engine_version(),
        "schema": dict(schema),
        "missing": contents.missing,
        "members": contents.members,
    }
    return json.dumps(value, indent=1).encode() + b"\n"


def _sync_folder(folder: Path) -> None:
    """See to it that the new name of a file outlasts a loss of power."""
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
