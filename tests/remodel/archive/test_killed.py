"""A restore whose process is killed leaves nothing or the whole, and the next one goes through."""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from django.conf import settings

from remodel.archive.restoring import WORKPLACE
from tests.remodel.archive.conftest import Archived, raw_files

# Runs a restore whose process kills itself where a function of `restoring` begins or has ended.
KILL = """
import os, signal, sys
import django
django.setup()
from remodel.archive import restoring
archive, point = sys.argv[1:]
name, _, when = point.partition(" ")
real = getattr(restoring, name, None)
calls = 0

def killed(*args, **kwargs):
    global calls
    calls += 1
    if when == "begins" or (when.isdigit() and calls == int(when)):
        os.kill(os.getpid(), signal.SIGKILL)
    result = real(*args, **kwargs)
    if when == "ended":
        os.kill(os.getpid(), signal.SIGKILL)
    return result

if name == "rmtree":
    real = restoring.shutil.rmtree
    calls = -1  # the first call removes what an earlier try left
    restoring.shutil.rmtree = killed
elif real:
    setattr(restoring, name, killed)
from pathlib import Path
restoring.restore(Path(archive))
"""
BEFORE = (
    "_unpack_files ended",
    "insert_rows 3",
    "_check_photos ended",
    "_move_files begins",
    "_move_files ended",
)


def run(data: Path, *words: str) -> int:
    environment = {
        **{name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ},
        "HALFBAY_DATA": str(data),
        "DJANGO_SETTINGS_MODULE": "remodel.settings",
    }
    done = subprocess.run(
        [sys.executable, *words], env=environment, cwd=settings.BASE_DIR, capture_output=True
    )
    assert done.returncode in (0, -signal.SIGKILL), done.stderr.decode()
    return done.returncode


def houses(data: Path) -> int:
    with closing(sqlite3.connect(data / "halfbay.sqlite3")) as database:
        (count,) = database.execute("SELECT count(*) FROM house_house").fetchone()
    return int(count)


@pytest.fixture(scope="module")
def migrated(tmp_path_factory: pytest.TempPathFactory) -> Path:
    data = tmp_path_factory.mktemp("migrated") / "data"
    data.mkdir()
    run(data, "manage.py", "migrate", "--verbosity", "0")
    return data


@pytest.fixture
def data(migrated: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(migrated, tmp_path / "data"))


def test_killed_before_its_rows_were_committed_it_leaves_nothing(
    archived: Archived, data: Path
) -> None:
    """Each try begins with what the one before it left."""
    for point in BEFORE:
        assert run(data, "-c", KILL, str(archived.path), point) == -signal.SIGKILL, point
        assert houses(data) == 0, point
        assert (data / WORKPLACE).exists()
    assert raw_files(data) == archived.files  # moved, with no rows yet
    assert run(data, "manage.py", "restore", str(archived.path)) == 0
    assert houses(data) == 1
    assert raw_files(data) == archived.files
    assert not (data / WORKPLACE).exists()


def test_killed_after_its_rows_were_committed_it_leaves_the_whole(
    archived: Archived, data: Path
) -> None:
    assert run(data, "-c", KILL, str(archived.path), "rmtree 1") == -signal.SIGKILL
    assert houses(data) == 1
    assert raw_files(data) == archived.files
    # What is left beside it is in nobody's way: the next archive has the same in it.
    assert run(data, "manage.py", "archive", str(data.parent / "again.zip")) == 0
    assert (data.parent / "again.zip").exists()
