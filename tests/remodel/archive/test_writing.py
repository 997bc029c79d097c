"""An archive is written beside people's work, and what a crash leaves is never taken for one."""

import sqlite3
import stat
import tracemalloc
from contextlib import closing

import pytest
from django.core.management import CommandError, call_command

from remodel.archive import writing
from remodel.archive.errors import CannotArchive
from remodel.archive.reading import Archive
from remodel.archive.restoring import another_database, restore
from remodel.archive.writing import stream, write_archive
from tests.kept.states import KEPT, unpack

STORED = KEPT / "2026-11"


@pytest.fixture
def stored(empty, settings):
    """The data folder of an earlier version, and its database as the one of this process."""
    empty.rmdir()
    unpack(STORED / "live", empty)
    with another_database(empty / "halfbay.sqlite3"):
        yield empty


def test_archive_can_be_read_by_its_owner_alone(archived):
    assert stat.S_IMODE(archived.path.stat().st_mode) == 0o600


def test_file_that_is_there_is_not_written_over(archived, empty, tmp_path):
    path = tmp_path / "halfbay.zip"
    path.write_bytes(b"mine")
    with pytest.raises(CommandError, match="exists already"):
        call_command("archive", path)
    assert path.read_bytes() == b"mine"


def test_folder_that_cannot_be_made(archived, empty, tmp_path):
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(CannotArchive, match="Cannot write"):
        write_archive(tmp_path / "file" / "halfbay.zip")


def test_archive_that_breaks_off_leaves_nothing(archived, empty, tmp_path, monkeypatch):
    restore(archived.path)
    copies = tmp_path / "copies"

    def full(*_):
        raise OSError(28, "No space left on device")
        yield

    monkeypatch.setattr(writing, "_write_file", full)
    with pytest.raises(CannotArchive, match="No space left on device"):
        write_archive(copies / "halfbay.zip")
    assert list(copies.iterdir()) == []


def test_archive_has_another_name_until_it_is_whole(archived, empty, tmp_path, monkeypatch):
    restore(archived.path)
    copies = tmp_path / "copies"
    seen = []
    write = writing._write_file

    def watch(*args):
        seen.append([path.name for path in copies.iterdir()])
        yield from write(*args)

    monkeypatch.setattr(writing, "_write_file", watch)
    write_archive(copies / "halfbay.zip")
    assert seen == [["halfbay.zip.partial"]] * len(archived.files)
    assert [path.name for path in copies.iterdir()] == ["halfbay.zip"]


def test_part_of_an_archive_that_a_crash_left_is_written_over(archived, empty, tmp_path):
    restore(archived.path)
    (tmp_path / "halfbay.zip.partial").write_bytes(b"x" * 10_000_000)
    write_archive(tmp_path / "halfbay.zip")
    with Archive(tmp_path / "halfbay.zip") as archive:
        archive.check()
    assert not (tmp_path / "halfbay.zip.partial").exists()


def test_photos_are_not_held_in_memory(archived, empty):
    restore(archived.path)
    (empty / "media" / "photos" / "large.jpg").write_bytes(bytes(40_000_000))
    for _ in stream():
        pass  # what is made once, models and all, is not counted
    tracemalloc.start()
    largest = max(len(block) for block in stream())
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert largest <= 1 << 18
    assert peak < 8_000_000


def test_print_set_removed_meanwhile_is_left_out(archived, empty, tmp_path, monkeypatch):
    restore(archived.path)
    write = writing._write_file

    def remove(archive, kind, store, name, *more):
        if name.endswith(".pdf"):
            store.delete(name)
        yield from write(archive, kind, store, name, *more)

    monkeypatch.setattr(writing, "_write_file", remove)
    write_archive(tmp_path / "halfbay.zip")
    with Archive(tmp_path / "halfbay.zip") as archive:
        archive.check()
        assert [member.name for member in archive.files() if member.name.endswith(".pdf")] == []


def test_what_is_written_meanwhile_waits_for_nobody_and_is_not_in_it(stored, tmp_path, monkeypatch):
    """Tables are read one after the other, and still as they all stood at one instant."""
    with closing(sqlite3.connect(stored / "halfbay.sqlite3")) as other:
        assert other.execute("PRAGMA journal_mode = WAL").fetchone() == ("wal",)
    before = write_archive(tmp_path / "before.zip")
    lines_of, read = writing.lines_of, []

    def meanwhile(model):
        if not read:
            with closing(sqlite3.connect(stored / "halfbay.sqlite3", timeout=0)) as other:
                other.execute("UPDATE work_note SET text = 'written meanwhile'")
                other.commit()
        read.append(model._meta.label_lower)
        yield from lines_of(model)

    monkeypatch.setattr(writing, "lines_of", meanwhile)
    during = write_archive(tmp_path / "during.zip")
    assert "work.note" in read[1:]
    assert during.members == before.members
    monkeypatch.setattr(writing, "lines_of", lines_of)
    after = write_archive(tmp_path / "after.zip")
    assert [
        member["name"]
        for member, earlier in zip(after.members, before.members, strict=True)
        if member != earlier
    ] == ["tables/work.note.jsonl"]


def test_no_transaction_is_left_open_by_a_reader_who_goes_away(stored):
    blocks = stream()
    next(blocks)
    blocks.close()
    with closing(sqlite3.connect(stored / "halfbay.sqlite3", timeout=0)) as other:
        other.execute("BEGIN EXCLUSIVE")
        other.rollback()


def test_empty_place_has_nothing_to_archive(empty, tmp_path):
    with (
        another_database(tmp_path / "none.sqlite3"),
        pytest.raises(CannotArchive, match="nothing to archive"),
    ):
        write_archive(tmp_path / "halfbay.zip")


def test_data_of_a_later_version_is_not_archived(stored, tmp_path):
    with closing(sqlite3.connect(stored / "halfbay.sqlite3")) as other:
        other.execute(
            "INSERT INTO django_migrations (app, name, applied) VALUES ('moon', '0001_base', '')"
        )
        other.execute(
            "UPDATE django_migrations SET applied = '2026-11-01 00:00:00' WHERE app = 'moon'"
        )
        other.commit()
    with pytest.raises(CannotArchive, match="a later version of Halfbay"):
        write_archive(tmp_path / "halfbay.zip")
    assert not (tmp_path / "halfbay.zip").exists()
