"""An archive opened and checked, before anything of it is used.

An archive may have been cut short, damaged, made by a later version or by somebody who means harm.
Nothing is believed that was not checked: `check` reads every byte once and compares it with the
manifest, and no name in an archive leads out of the folders it may fill.
"""

from __future__ import annotations

import json
import re
import shutil
import zipfile
import zlib
from collections.abc import Callable, Generator
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from types import TracebackType
from typing import IO, Any, TypeVar

from remodel.archive.errors import CannotRestore
from remodel.archive.files import SAFE_NAME, stores
from remodel.archive.schema import Schema, is_known
from remodel.archive.tables import tables_of
from remodel.archive.writing import FILES, FORMAT, MANIFEST, TABLES

__all__ = ["Archive", "Member", "is_safe_path"]

T = TypeVar("T")

MOST_MEMBERS = 500_000
MOST_TABLE_BYTES = 8_000_000_000  # of all tables, unpacked
MOST_ROW_BYTES = 64_000_000
MOST_MANIFEST_BYTES = 200_000_000
MOST_RATIO = 200  # unpacked to packed: rows of text come to a tenth of that
_SMALL = 1_000_000  # bytes, below which the ratio says nothing
_BLOCK = 1 << 18

# Names of members may be no text.
_DAMAGED = (
    *(zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError),
    UnicodeDecodeError,
)
_PATHS = re.compile(
    rf"(?:{re.escape(TABLES)}{SAFE_NAME}|{re.escape(FILES)}{SAFE_NAME}(?:/{SAFE_NAME})+)"
)


def is_safe_path(name: str) -> bool:
    """Whether a member of this name stays inside the folders that an archive may fill."""
    in_a_folder = name.startswith((TABLES, *(f"{FILES}{kind}/" for kind in stores())))
    return in_a_folder and _PATHS.fullmatch(name) is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """One file inside an archive, as the manifest has it. `rows` is None for what is no table."""

    name: str
    size: int
    sha256: str
    rows: int | None


class Archive:
    """An archive that is open for reading. Raises `CannotRestore` for anything that is wrong with
    it, and `OSError` never. `name` is what messages call it, where its path says nothing to
    people."""

    def __init__(self, path: Path, *, name: str = "") -> None:
        self._path, self._name = path, name or str(path)
        try:
            self._bytes = path.stat().st_size
            self._zip = zipfile.ZipFile(path)
        except OSError as error:
            raise CannotRestore(f"Cannot read {self._name}: {error.strerror}.") from error
        except _DAMAGED as error:
            raise self._broken() from error
        try:
            self.manifest = self._read_manifest()
            self.members, self.schema = self._read_values()
            self._check_members()
        except BaseException:
            self._zip.close()
            raise

    def __enter__(self) -> Archive:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._zip.close()

    def check(self) -> None:
        """Read every member once. Raises `CannotRestore` where one is not what the manifest
        says."""
        for member in self.members.values():
            digest, size, rows = sha256(), 0, 0
            for block in self._blocks(member):
                digest.update(block)
                size, rows = size + len(block), rows + block.count(b"\n")
            same = (size, digest.hexdigest()) == (member.size, member.sha256)
            if not same or member.rows not in (None, rows):
                raise self._broken()

    def lines(self, label: str) -> Generator[bytes, None, None]:
        """The rows of one table, each a line of text."""
        with self._open(self.members[f"{TABLES}{label}.jsonl"]) as source:
            while line := self._guarded(lambda: source.readline(MOST_ROW_BYTES)):
                if not line.endswith(b"\n"):
                    raise self._broken()
                yield line

    def files(self) -> list[Member]:
        """The photos and print sets."""
        return [member for name, member in self.members.items() if name.startswith(FILES)]

    @property
    def missing(self) -> list[str]:
        """The photos that were missing already when the archive was made."""
        missing = self.manifest.get("missing", [])
        return [str(name) for name in missing] if isinstance(missing, list) else []

    def unpack(self, member: Member, target: Path) -> None:
        """Write one file to a place that is given, with the time it was last changed."""
        with target.open("xb") as file:
            for block in self._blocks(member):
                file.write(block)

    def changed_at(self, member: Member) -> tuple[int, int, int, int, int, int]:
        """When a file was last changed, in UTC."""
        return self._zip.getinfo(member.name).date_time

    def _read_manifest(self) -> dict[str, Any]:
        infos = self._zip.infolist()
        names = {info.filename for info in infos}
        if MANIFEST not in names:
            raise CannotRestore(
                f"{self._name} is no archive of Halfbay. Choose a file that `manage.py archive` or "
                "the Archive page made."
            )
        # Members that lie over each other would unpack to more than the file could hold.
        packed = sum(info.compress_size for info in infos)
        if len(infos) > MOST_MEMBERS or len(names) < len(infos) or packed > self._bytes:
            raise self._broken()
        info = self._zip.getinfo(MANIFEST)
        if info.file_size > MOST_MANIFEST_BYTES or self._is_bomb(info):
            raise self._broken()
        try:
            with self._zip.open(info) as file:
                value = json.loads(file.read(info.file_size))
        except (*_DAMAGED, OSError, ValueError) as error:
            raise self._broken() from error
        if not isinstance(value, dict):
            raise self._broken()
        return value

    def _read_values(self) -> tuple[dict[str, Member], Schema]:
        """The members and the schema; the version is looked at first, for a later one may say the
        rest in another way."""
        version, schema = self.manifest.get("format"), self.manifest.get("schema")
        if not isinstance(version, int) or version < 1:
            raise self._broken()
        if version > FORMAT:
            raise self._later()
        if not isinstance(schema, dict) or not all(
            isinstance(name, str) for name in schema.values()
        ):
            raise self._broken()
        if not is_known(schema):
            raise self._later()
        try:
            members = [
                Member(
                    name=str(member["name"]),
                    size=int(member["size"]),
                    sha256=str(member["sha256"]),
                    rows=None if member.get("rows") is None else int(member["rows"]),
                )
                for member in self.manifest["members"]
            ]
        except (KeyError, TypeError, ValueError, AttributeError) as error:
            raise self._broken() from error
        return {member.name: member for member in members}, schema

    def _check_members(self) -> None:
        """Hold the members of the zip against the manifest, and the manifest against what an
        archive may hold. Nothing is unpacked for it."""
        infos = {info.filename: info for info in self._zip.infolist()}
        if {*infos} - {MANIFEST} != {*self.members}:
            raise self._broken()
        tables = {f"{TABLES}{label}.jsonl" for label in tables_of(self.schema)}
        for name, member in self.members.items():
            info = infos[name]
            if not is_safe_path(name) or not (name in tables or name.startswith(FILES)):
                raise CannotRestore(
                    f"The archive holds {name!r}, which belongs in no archive. Nothing was "
                    "restored; use another archive."
                )
            stored_whole = info.compress_type == zipfile.ZIP_STORED
            if member.size != info.file_size or self._is_bomb(info):
                raise self._broken()
            if name in tables and member.rows is None:
                raise self._broken()
            if name not in tables and not (stored_whole and info.compress_size == member.size):
                raise self._broken()
        if not tables <= {*self.members} or self._table_bytes() > MOST_TABLE_BYTES:
            raise self._broken()

    def room_needed(self) -> int:
        """The bytes that the archive takes once it is restored, about, with what is beside it
        meanwhile."""
        return sum(member.size for member in self.files()) + 4 * self._table_bytes()

    def has_room(self, folder: Path) -> bool:
        return shutil.disk_usage(folder).free > self.room_needed()

    def _table_bytes(self) -> int:
        return sum(member.size for member in self.members.values() if member.rows is not None)

    def _is_bomb(self, info: zipfile.ZipInfo) -> bool:
        return info.file_size > max(_SMALL, MOST_RATIO * info.compress_size)

    def _open(self, member: Member) -> IO[bytes]:
        return self._guarded(lambda: self._zip.open(member.name))

    def _blocks(self, member: Member) -> Generator[bytes, None, None]:
        """A member in blocks; never more of it than its size."""
        left = member.size
        with self._open(member) as source:
            while block := self._guarded(lambda: source.read(_BLOCK)):
                left -= len(block)
                if left < 0:
                    raise self._broken()
                yield block

    def _guarded(self, read: Callable[[], T]) -> T:
        try:
            return read()
        except (*_DAMAGED, OSError) as error:
            raise self._broken() from error

    def _broken(self) -> CannotRestore:
        return CannotRestore(
            f"{self._name} is not whole: it was cut short or damaged. Nothing was restored; copy "
            "it again from where it came, or use an earlier one."
        )

    def _later(self) -> CannotRestore:
        return CannotRestore(
            "This archive was made by a later version of Halfbay. Update this program, then "
            "restore it."
        )
