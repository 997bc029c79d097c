"""Packs of the demo house as PDF, a room's and the whole house's, as the worker makes them.

Answers are in-process; pages are laid out by processes of their own, whose memory is read while
they work.
"""

from __future__ import annotations

import io
import os
import re
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median
from typing import Any

__all__ = ["packs"]

ROUNDS = 5
# seconds between two prints of a person: the process for the next one is started after each
PAUSE = 2.0


def packs() -> None:
    """Print pages, sheets, seconds and memory of rooms' packs and of the house's, beside the
    aims."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)

    from remodel.history.services import By
    from remodel.house_files.files import house_from_file
    from remodel.people.services import household
    from remodel.wsgi import settle
    from tests.takeoff.houses import FIXTURES

    person = household()
    house = house_from_file(by=By(person), text=(FIXTURES / "hollow-lane.json").read_bytes())
    settle()
    _room_pack(house, "garage", "all")
    for key in ("bath", "kitchen"):
        _room_pack(house, key, "all")
    _house_pack(house, person)


def _room_pack(house: Any, key: str, phase: str) -> None:
    """A room's pack as a person gets it: the first one, with nothing drawn and no process ready,
    and later ones."""
    from django.core.cache import cache
    from django.test import Client
    from django.urls import reverse

    from remodel.printing import pdf

    client = Client(SERVER_NAME="localhost")
    url = reverse("room-pack", args=[house.rooms.get(key=key).pk])
    cache.clear()
    pdf.drop()  # nothing is ready
    worked = _at_work()
    seconds, file = _timed(client, url, phase)
    worked = _at_work() - worked
    warm = [_timed(client, url, phase)[0] for _ in range(ROUNDS)]
    again = []
    for _ in range(ROUNDS):
        cache.clear()
        again.append(_timed(client, url, phase)[0])
    print(
        f"  {key}, {phase}, {_pages(file)} pages: the first {seconds:.2f} s, of it "
        f"{worked:.2f} s at work, "
        f"after a change {median(again):.2f} s, unchanged {median(warm):.2f} s (aim: ten pages in "
        "1 s)"
    )


def _house_pack(house: Any, person: Any) -> None:
    from django.core.cache import cache

    from remodel.cards import printing
    from remodel.cards.models import PrintPack
    from remodel.cards.pack_files import pack_files
    from remodel.cards.packs import PARTS
    from remodel.cards.queries import cards_for
    from remodel.printing import pdf

    rooms = list(house.rooms.all())
    for paper in ("letter", "a4"):
        cache.clear()
        pdf.drop()
        pack = PrintPack.objects.create(
            house=house,
            title="House pack",
            paper=paper,
            parts=list(PARTS),
            rooms=[room.key for room in rooms],
            person=person,
        )
        with _watched() as seen:
            begun, worked = time.perf_counter(), _at_work()
            printing.run_once()
            seconds, worked = time.perf_counter() - begun, _at_work() - worked
        pack.refresh_from_db()
        if pack.state != PrintPack.State.DONE:
            raise RuntimeError(f"the pack is {pack.state}: {pack.doing}")
        sheets = sum(
            room.key in sheet.rooms for room in rooms for sheet in _sheets(cards_for(room))
        )
        file = pack_files().open(pack.file).read()
        print(
            f"  house, {paper}: {_pages(file)} pages, {sheets} sheets, {len(file) / 1e6:.1f} MB, "
            f"{seconds:.1f} s, "
            f"of it {worked:.1f} s at work, {seconds / sheets * 100:.1f} s a hundred sheets, "
            f"what lays out peaks at {max(seen) / 1024:.0f} MB (aim: 100 sheets in 10 s, 500 MB)"
        )


def _at_work() -> float:
    """Seconds that this process and those it started and waited for have worked: other work on the
    machine left out."""
    times = os.times()
    return times.user + times.system + times.children_user + times.children_system


def _sheets(cards: Any) -> tuple[Any, ...]:
    return cards.sheets if cards else ()


def _timed(client: Any, url: str, phase: str) -> tuple[float, bytes]:
    """The seconds from the press to the file, and the file."""
    from remodel.cards import printing
    from remodel.cards.pack_files import pack_files

    time.sleep(PAUSE)
    begun = time.perf_counter()
    client.post(url, {"phase": phase})
    pack = printing.run_once()
    seconds = time.perf_counter() - begun
    if pack is None:
        raise RuntimeError(f"{url} asked for no pack")
    pack.refresh_from_db()
    return seconds, pack_files().open(pack.file).read()


def _pages(file: bytes) -> int:
    from pypdf import PdfReader

    return len(PdfReader(io.BytesIO(file)).pages)


@contextmanager
def _watched() -> Iterator[list[int]]:
    """The memory of all processes that this one started, in kB, looked at ten times a second."""
    readings, ended = [0], threading.Event()

    def look() -> None:
        while not ended.wait(0.1):
            readings.append(sum(_memory(process) for process in _started_by(os.getpid())))

    watcher = threading.Thread(target=look, daemon=True)
    watcher.start()
    yield readings
    ended.set()
    watcher.join()


def _started_by(parent: int) -> Iterator[int]:
    try:
        tasks = list(Path(f"/proc/{parent}/task").iterdir())
        children = [
            int(child) for task in tasks for child in (task / "children").read_text().split()
        ]
    except OSError:  # it ended meanwhile
        return
    for child in children:
        yield child
        yield from _started_by(child)


def _memory(process: int) -> int:
    try:
        resident = re.search(r"VmRSS:\s+(\d+)", Path(f"/proc/{process}/status").read_text())
    except OSError:
        return 0
    return int(resident[1]) if resident else 0
