"""Many writers at once, and a writer that dies: nothing acknowledged is lost, nothing is half
there."""

import os
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]
# Each writer reads what is there and writes one more; it says so once that is committed.
WRITER = """
import django
django.setup()
import sys
from fractions import Fraction
from remodel.bridge.lengths import amount
from remodel.history.services import By
from remodel.house.models import House
from remodel.supply.ledger import move
house = House.objects.get()
for number in range(int(sys.argv[1])):
    movement = move(
        by=By(), house=house, item="screws", kind="received", amount=amount(1, "each")
    )
    print(movement.serial, flush=True)
"""


@pytest.fixture(scope="module")
def environment(tmp_path_factory):
    """A data folder with a small house, for all tests here: each counts its own movements."""
    kept = {key: value for key, value in os.environ.items() if key in ("PATH", "HOME", "LANG")}
    made = {
        **kept,
        "HALFBAY_DATA": str(tmp_path_factory.mktemp("data")),
        "DJANGO_SETTINGS_MODULE": "remodel.settings",
    }
    run = [sys.executable, "manage.py"]
    subprocess.run([*run, "migrate", "-v", "0"], cwd=ROOT, env=made, check=True)
    subprocess.run(
        [*run, "load_demo", "--file", "fixtures/quay-flat.json"], cwd=ROOT, env=made, check=True
    )
    return made


def writer(environment, count):
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(count)],
        cwd=ROOT,
        env=environment,
        stdout=subprocess.PIPE,
        text=True,
    )


def ledger(environment):
    with sqlite3.connect(Path(environment["HALFBAY_DATA"]) / "halfbay.sqlite3") as connection:
        whole = connection.execute("PRAGMA integrity_check").fetchone()[0]
        astray = connection.execute("PRAGMA foreign_key_check").fetchall()
        serials = [
            row[0]
            for row in connection.execute(
                "SELECT serial FROM supply_movement WHERE item = 'screws'"
            )
        ]
    connection.close()
    assert (whole, astray) == ("ok", [])
    return serials


def test_four_writers_at_once_get_a_line_each_and_none_is_refused(environment):
    before = ledger(environment)
    writers = [writer(environment, 25) for _ in range(4)]
    serials = [
        int(line) for writer in writers for line in writer.communicate(timeout=120)[0].split()
    ]
    assert [writer.returncode for writer in writers] == [0] * 4
    assert sorted(serials) == sorted(set(ledger(environment)) - set(before))
    assert len(set(serials)) == 100


def test_killed_writer_keeps_all_it_acknowledged(environment):
    for pause in (0.0, 0.02, 0.07):
        child = writer(environment, 100_000)
        assert child.stdout is not None
        serials = [int(child.stdout.readline())]
        time.sleep(pause)
        child.send_signal(signal.SIGKILL)
        serials += [
            int(line) for line in child.communicate(timeout=60)[0].split("\n") if line.isdigit()
        ]
        assert set(serials) <= set(ledger(environment))
