"""Killed at any moment while people write: what was acknowledged is there, nothing is half there,
and the next start goes on. A kill is the end of a process; it says nothing of the power."""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import sqlite3
import threading
import time
import uuid
import zipfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from tests.kept.states import DATABASE, KEPT, expected_counts, row_counts, unpack
from tests.outages.product import MAKE, Product, children_of, wait_for
from tests.outages.test_outages import QUEUE_AGAIN

WRITERS = 3
A_PHOTO = """
import io, django
django.setup()
from PIL import Image
from django.core.files.uploadedfile import SimpleUploadedFile
from remodel.history.services import By
from remodel.house.models import Room
from remodel.people.services import household
from remodel.work.photos import photo_add, reencoded
out = io.BytesIO()
Image.new("RGB", (400, 300), "teal").save(out, "JPEG")
picture = reencoded(SimpleUploadedFile("a.jpg", out.getvalue(), "image/jpeg"))
for room in Room.objects.all():
    photo_add(by=By(household()), room=room, picture=picture)
"""


@pytest.fixture
def product(tmp_path: Path) -> Iterator[Product]:
    made = Product(tmp_path / "data")
    yield made
    made.stop()


def acknowledged_by(product: Product, room: str, stop: threading.Event, said: set[str]) -> None:
    """Somebody who writes note after note, and keeps in mind what was answered as saved."""
    token = product.token(f"/room/{room}")
    while not stop.is_set():
        text = uuid.uuid4().hex
        if product.write_note(room, text, token, str(uuid.uuid4())) == 200:
            said.add(text)


@contextmanager
def people_write(product: Product, room: str) -> Iterator[set[str]]:
    """People who write all the while; gives what was acknowledged so far."""
    said: set[str] = set()
    stop = threading.Event()

    def write() -> None:
        # The server may be killed before the page with the token has come.
        try:
            acknowledged_by(product, room, stop, said)
        except (AssertionError, ValueError):
            return

    people = [threading.Thread(target=write) for _ in range(WRITERS)]
    for person in people:
        person.start()
    try:
        yield said
    finally:
        stop.set()
        for person in people:
            person.join()


def kill_all(product: Product) -> None:
    """Kill the web server, the worker and what runs them, none before the others can tell."""
    served = product.served
    assert served is not None
    below = [*children_of(served.pid, "remodel.server"), *children_of(served.pid, "worker")]
    for pid in [served.pid, *below]:
        os.kill(pid, signal.SIGKILL)
    served.wait()
    wait_for(lambda: product.get("/")[0] == 0, 30, "the web server's end")


def is_whole(database: Path) -> bool:
    with closing(sqlite3.connect(database)) as connection:
        whole = connection.execute("PRAGMA integrity_check").fetchone()
        astray = connection.execute("PRAGMA foreign_key_check").fetchall()
    return (whole, astray) == (("ok",), [])


def kills(product: Product, rounds: int) -> None:
    product.run(MAKE, "1")
    moments = random.Random(20)
    room = str(uuid.UUID(product.ask("SELECT id FROM house_room")[0][0]))
    said: set[str] = set()
    for number in range(rounds):
        product.serve()
        with people_write(product, room) as now:
            wait_for(lambda now=now: now, 60, "the first note")
            time.sleep(moments.uniform(0, 1))
            kill_all(product)
        said |= now
        kept = {text for (text,) in product.ask("SELECT text FROM work_note")}
        assert said <= kept, number
        assert is_whole(product.sqlite), number
        changes = product.ask("SELECT count(*) FROM history_change WHERE model = 'work.note'")
        assert changes == [(len(kept),)], "a note and its history are one write"
    assert len(said) >= rounds


@pytest.mark.deep
def test_fifty_kills_under_load_lose_nothing(product):
    kills(product, 50)
    product.serve()
    # A search that was under way at each of so many kills is given up, and its page says so.
    ended = {"done", "cancelled", "failed"}
    wait_for(lambda: set(product.jobs()) <= ended, 180, "the searches")


@pytest.mark.deep
@pytest.mark.parametrize("state", sorted(path.name for path in KEPT.iterdir() if path.is_dir()))
def test_migration_that_is_killed_is_done_by_the_next_start(tmp_path, state):
    data = tmp_path / "data"
    unpack(KEPT / state / "live", data)
    product = Product(data)
    killed = 0
    for number in range(12):
        child = product.manage("migrate", "--verbosity", "0")
        time.sleep(1 + 0.4 * number)
        if child.poll() is None:
            child.send_signal(signal.SIGKILL)
            killed += 1
        child.wait()
        assert is_whole(data / DATABASE)
        if child.returncode == 0:
            break
    done = product.manage("migrate", "--verbosity", "0")
    assert done.wait(300) == 0, product.log_text()
    assert killed
    stored = json.loads((KEPT / state / "counts.json").read_text())["tables"]
    there = {table: count for table, count in row_counts(data / DATABASE).items() if count}
    assert there == expected_counts(state, stored)


def members(archive: Path) -> dict[str, int]:
    """The checksum of each member; what the archive says of itself holds the time it was made."""
    with zipfile.ZipFile(archive) as file:
        return {
            info.filename: info.CRC for info in file.infolist() if "manifest" not in info.filename
        }


@pytest.mark.deep
def test_copy_made_while_people_write_comes_back_equal(product, tmp_path):
    product.run(MAKE, "3")
    product.run(A_PHOTO)
    product.serve()
    wait_for(lambda: set(product.jobs()) == {"done"}, 180, "the searches")
    product.run("import django; django.setup()\n" + QUEUE_AGAIN["print set"])
    ask = "SELECT count(*) FROM cards_printpack WHERE state = 'done'"
    wait_for(lambda: product.ask(ask) == [(4,)], 240, "the print sets")
    room = str(uuid.UUID(product.ask("SELECT id FROM house_room")[0][0]))
    with people_write(product, room) as said:
        for number in range(3):
            wait_for(lambda: len(said) > 3, 60, "some notes")
            before = set(said)
            copy = tmp_path / f"copy-{number}.zip"
            assert product.manage("archive", str(copy)).wait(600) == 0
            other = Product(tmp_path / f"other-{number}")
            assert other.manage("restore", str(copy)).wait(600) == 0, other.log_text()
            kept = {text for (text,) in other.ask("SELECT text FROM work_note")}
            assert before <= kept
            assert is_whole(other.sqlite)
            again = tmp_path / f"again-{number}.zip"
            assert other.manage("archive", str(again)).wait(600) == 0
            there = members(copy)
            assert members(again) == there
            assert sum(name.endswith(".jpg") for name in there) == 3
            assert sum(name.endswith(".pdf") for name in there) == 4
            shutil.rmtree(other.folder)
    assert product.health()[0] in (200, 503)
