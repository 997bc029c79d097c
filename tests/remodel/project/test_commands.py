"""The commands: demo, backup and restore, serving addresses."""

import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from remodel.house.models import House
from remodel.management.commands.serve import addresses

ROOT = Path(__file__).parents[3]


def manage(tmp_path, *words, **options):
    kept = {key: value for key, value in os.environ.items() if key in ("PATH", "HOME", "LANG")}
    environment = {
        **kept,
        "HALFBAY_DATA": str(tmp_path),
        "DJANGO_SETTINGS_MODULE": "remodel.settings",
    }
    return subprocess.Popen(
        [sys.executable, "manage.py", *words],
        cwd=ROOT,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        **options,
    )


def run(tmp_path, *words):
    child = manage(tmp_path, *words)
    out, error = child.communicate(timeout=120)
    assert child.returncode == 0, error
    return out


@pytest.mark.django_db
def test_demo_is_loaded_once():
    call_command("load_demo", if_empty=True, verbosity=0)
    call_command("load_demo", if_empty=True, verbosity=0)
    house = House.objects.get()
    assert house.is_demo
    assert house.rooms.count() == 11


@pytest.mark.django_db
def test_missing_demo_file_is_said_plainly(tmp_path):
    with pytest.raises(CommandError, match="Cannot read"):
        call_command("load_demo", file=tmp_path / "none.json")


def test_backup_restores_to_the_same_tables_and_photos(tmp_path):
    data, restored, copies = tmp_path / "data", tmp_path / "restored", tmp_path / "copies"
    run(data, "migrate", "-v", "0")
    run(data, "load_demo", "--file", "fixtures/quay-flat.json")
    (data / "media" / "photos").mkdir(parents=True)
    (data / "media" / "photos" / "one.jpg").write_bytes(b"picture")
    run(data, "backup", str(copies))
    (copy,) = copies.iterdir()
    restored.mkdir()
    (copy / "halfbay.sqlite3").rename(restored / "halfbay.sqlite3")
    (copy / "media").rename(restored / "media")
    assert dump(restored) == dump(data)
    assert (restored / "media" / "photos" / "one.jpg").read_bytes() == b"picture"
    assert "No changes" in run(restored, "makemigrations", "--check", "--dry-run")


@pytest.mark.django_db
def test_backup_on_postgresql_says_what_to_run(monkeypatch, tmp_path):
    monkeypatch.setattr(connection, "vendor", "postgresql")
    with pytest.raises(
        CommandError, match=r'pg_dump --format=custom --file=halfbay.dump "\$DATABASE_URL"'
    ):
        call_command("backup", tmp_path)


def dump(folder):
    with sqlite3.connect(folder / "halfbay.sqlite3") as connection:
        lines = sorted(connection.iterdump())
    connection.close()
    return lines


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "8.8.8.8", "example.org", ""])
def test_serving_to_the_world_is_refused(host):
    with pytest.raises(CommandError):
        addresses(host, 8000)


def test_local_listens_on_this_machine_alone():
    assert addresses("local", 8000) == (["127.0.0.1:8000"], "")
    assert addresses("192.168.1.20", 8000) == (
        ["127.0.0.1:8000", "192.168.1.20:8000"],
        "192.168.1.20",
    )
