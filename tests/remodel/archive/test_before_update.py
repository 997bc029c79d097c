"""Before an update changes the database, everything is archived as it was."""

from datetime import UTC, datetime, timedelta

import pytest
from django.core.management import CommandError

from remodel.archive import before_update, writing
from remodel.archive.before_update import KEPT, archive_before_update, archives_before_update
from remodel.archive.errors import CannotArchive
from remodel.archive.reading import Archive
from remodel.archive.restoring import another_database, restore
from remodel.archive.schema import newest_schema
from remodel.management.commands import serve
from tests.kept.states import KEPT as STATES
from tests.kept.states import unpack


@pytest.fixture
def earlier(empty):
    """What an earlier version left."""
    empty.rmdir()
    unpack(STATES / "2026-11" / "live", empty)
    with another_database(empty / "halfbay.sqlite3"):
        yield empty


def test_database_of_an_earlier_version_is_archived_as_it_was(earlier):
    path = archive_before_update()
    assert path is not None
    assert path.parent == earlier / "archives"
    with Archive(path) as archive:
        archive.check()
        assert archive.schema["board"] == "0002_pile_waits"
        assert dict(archive.schema) != dict(newest_schema())
        assert len(archive.files()) == 5


def test_the_latest_few_are_kept(earlier, monkeypatch):
    clock = datetime(2026, 11, 1, 8, tzinfo=UTC)
    names = []
    for number in range(KEPT + 2):
        monkeypatch.setattr(
            writing.timezone, "now", lambda number=number: clock + timedelta(days=number)
        )
        path = archive_before_update()
        assert path is not None
        names.append(path.name)
    assert [path.name for path, _ in archives_before_update()] == names[::-1][:KEPT]


def test_part_that_a_crash_left_is_removed(earlier):
    (earlier / "archives").mkdir()
    (earlier / "archives" / "halfbay-before-update-1.zip.partial").write_bytes(b"x")
    archive_before_update()
    assert [path.suffix for path in (earlier / "archives").iterdir()] == [".zip"]


def test_database_that_is_up_to_date_is_not_archived(archived, empty):
    restore(archived.path)
    assert archive_before_update() is None
    assert archives_before_update() == []


def test_new_database_is_not_archived(empty, tmp_path):
    with another_database(tmp_path / "new.sqlite3"):
        assert archive_before_update() is None


def test_nothing_is_changed_where_there_is_no_room(earlier, monkeypatch):
    monkeypatch.setattr(before_update, "_SPARE", 10**18)
    with pytest.raises(CannotArchive, match="too little room"):
        archive_before_update()
    began = []
    monkeypatch.setattr(serve, "call_command", lambda *words, **_: began.append(words))
    with pytest.raises(CommandError, match=r"nothing was changed\. .*too little room"):
        serve.Command().handle(without_archive=False)
    assert began == []


def test_serve_archives_before_it_migrates(earlier, monkeypatch, capsys):
    steps = []

    def step(name, **_):
        steps.append((name, len(archives_before_update())))
        if name == "collectstatic":
            raise KeyboardInterrupt

    monkeypatch.setattr(serve, "call_command", step)
    with pytest.raises(KeyboardInterrupt):
        serve.Command().handle(without_archive=False)
    assert steps == [("migrate", 1), ("collectstatic", 1)]
    assert str(archives_before_update()[0][0]) in capsys.readouterr().out
