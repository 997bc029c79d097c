"""An archive out and in: every table and every photo is what it was."""

import os
import time

import pytest
from django.core.management import call_command
from django.db import models
from django.test.utils import isolate_apps

from remodel.archive.reading import Archive
from remodel.archive.restoring import another_database, restore
from remodel.archive.schema import newest_schema
from remodel.archive.tables import LEFT_OUT, tables_of
from remodel.archive.writing import write_archive
from remodel.board.services import recompute
from remodel.house.models import House
from remodel.people.models import Membership, Person, Role
from tests.kept.states import KEPT, unpack
from tests.remodel.archive.conftest import raw_files, raw_rows
from tests.remodel.archive.pages import pages_of
from tests.remodel.archive.zips import members_of
from tests.remodel.factories import ada


def is_left_out(label):
    return label in LEFT_OUT or label.partition(".")[0] in LEFT_OUT


def test_every_table_comes_back_row_by_row_or_is_left_out(archived, empty):
    restore(archived.path)
    now = raw_rows()
    assert {label for label, rows in archived.rows.items() if rows} >= {
        "house.room",
        "supply.receipt",
        "work.photo",
        "history.change",
        "cards.printpack",
    }
    assert [
        label
        for label, rows in archived.rows.items()
        if now[label] != rows and not is_left_out(label)
    ] == []


def test_every_photo_and_print_set_comes_back(archived, empty):
    restore(archived.path)
    assert raw_files(empty) == archived.files


def test_archive_of_what_was_restored_has_the_same_digests(archived, empty, tmp_path):
    restore(archived.path)
    write_archive(tmp_path / "again.zip")
    with Archive(archived.path) as first, Archive(tmp_path / "again.zip") as second:
        assert second.members == first.members
        assert second.schema == first.schema


def test_every_page_says_what_it_said(archived, empty):
    restore(archived.path)
    house = House.objects.get(pk=archived.house)
    recompute(house)
    assert pages_of(house, ada()) == archived.pages


def test_what_is_left_out_is_empty_afterwards(archived, empty):
    assert archived.rows["board.roomresult"]
    assert archived.rows["people.invitation"]
    restore(archived.path)
    rows = raw_rows()
    assert [label for label in LEFT_OUT if "." in label and label in rows and rows[label]] == []


def test_every_table_there_is_goes_into_an_archive_or_is_left_out_by_name(archived):
    """The house that is archived has a row in each, so that each is compared out and in."""
    in_it = {*tables_of(newest_schema())}
    named = {label for label in raw_labels() if is_left_out(label)}
    assert {*raw_labels()} - named == in_it
    assert [label for label in sorted(in_it) if not archived.rows[label]] == []


def test_table_that_no_migration_makes_is_noticed():
    """The models of a schema are those of its migrations: one without is in no archive."""
    with isolate_apps("remodel.work"):

        class Forgotten(models.Model):
            class Meta:
                app_label = "work"

        assert Forgotten._meta.label_lower not in tables_of(newest_schema())
        assert not is_left_out(Forgotten._meta.label_lower)


def test_what_is_left_out_is_a_table_or_an_app_there_is():
    labels = {*raw_labels()}
    assert {*LEFT_OUT} <= labels | {label.partition(".")[0] for label in labels}


def raw_labels():
    from django.apps import apps

    return [model._meta.label_lower for model in apps.get_models(include_auto_created=True)]


@pytest.mark.django_db
def test_no_row_of_an_archive_needs_one_that_is_left_out():
    assert [
        (label, field.name)
        for label, model in tables_of(newest_schema()).items()
        for field in model._meta.local_concrete_fields
        if field.remote_field and is_left_out(field.related_model._meta.label_lower)
    ] == []


def test_rows_can_be_added_after_a_restore(archived, empty):
    """Numbers that the database counts itself go on after the ones that came."""
    restore(archived.path)
    person = Person.objects.create(name="Cy")
    house = House.objects.get(pk=archived.house)
    assert Membership.objects.create(house=house, person=person, role=Role.VIEWER).pk


def test_print_set_is_as_old_as_it_was(archived, empty, settings, tmp_path):
    restore(archived.path)
    old = time.time() - 20 * 24 * 3600
    (path,) = (empty / "packs").iterdir()
    os.utime(path, (old, old))
    write_archive(tmp_path / "old.zip")
    settings.DATA_DIR = tmp_path / "other"
    settings.MEDIA_ROOT = settings.DATA_DIR / "media"
    settings.DATA_DIR.mkdir()
    call_command("flush", interactive=False, verbosity=0)
    restore(tmp_path / "old.zip")
    (path,) = (settings.DATA_DIR / "packs").iterdir()
    assert path.stat().st_mtime == pytest.approx(old, abs=2)


def test_photo_that_is_not_there_is_told(archived, empty, tmp_path):
    restore(archived.path)
    (photo,) = (empty / "media").rglob("*.jpg")
    photo.unlink()
    contents = write_archive(tmp_path / "less.zip")
    assert contents.missing == [f"files/{photo.relative_to(empty).as_posix()}"]
    assert members_of(tmp_path / "less.zip")[1]["missing"] == contents.missing


def test_commands_say_what_they_did(archived, empty, tmp_path, capsys):
    call_command("restore", archived.path)
    assert capsys.readouterr().out.startswith("Restored 1 house, ")
    call_command("archive", tmp_path)
    out = capsys.readouterr().out
    (made,) = tmp_path.glob("halfbay-*.zip")
    assert out.startswith("Archived 1 house, ")
    assert out.rstrip().endswith(str(made))


def test_archive_of_an_earlier_schema_comes_into_any_database(empty, settings, tmp_path):
    """`tests/kept` compares every row of it; here the database may be PostgreSQL."""
    unpack(KEPT / "2026-11" / "live", tmp_path / "stored")
    settings.DATA_DIR = tmp_path / "stored"
    settings.MEDIA_ROOT = settings.DATA_DIR / "media"
    with another_database(settings.DATA_DIR / "halfbay.sqlite3"):
        stored = write_archive(tmp_path / "earlier.zip")
    settings.DATA_DIR, settings.MEDIA_ROOT = empty, empty / "media"
    contents = restore(tmp_path / "earlier.zip")
    assert (contents.houses, contents.files) == (stored.houses, stored.files) == (3, 5)
    assert House.all_objects.count() == 3
    assert raw_files(empty) == raw_files(tmp_path / "stored")
