"""Halfbay as a person starts it, on a folder and a loopback port of its own; a browser; and ways
to break things."""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from http.client import HTTPException
from http.cookiejar import CookieJar
from pathlib import Path
from typing import Any
from urllib.error import HTTPError, URLError
from urllib.parse import urlencode
from urllib.request import HTTPCookieProcessor, Request, build_opener

ROOT = Path(__file__).resolve().parents[2]
KEPT = ("PATH", "HOME", "LANG", "PYTHONPATH")

# Rooms of many sizes, so that searches and print sets take from an instant to some seconds.
MAKE = """
import sys, django
django.setup()
from django.core.management import call_command
call_command("migrate", verbosity=0)
call_command("collectstatic", interactive=False, verbosity=0)
from remodel.people.services import household
from remodel.bridge.lengths import FOOT
from remodel.history.services import By
from remodel.house.services import room_add
from remodel.house_files.new import house_add
by = By(household())
house = house_add(by=by, name="Elm Street")
for number in range(int(sys.argv[1])):
    length = (12 + number) * FOOT
    room_add(by=by, house=house, name=f"Room {number}", length=length, width=11 * FOOT)
"""
# One write whose process ends between the write and its figures.
HALF_WRITE = """
import os, django
django.setup()
from remodel.board import services
from remodel.bridge.lengths import FOOT
from remodel.history.services import By
from remodel.house.models import Room
from remodel.house.services import room_change
from remodel.people.services import household
services.recompute = lambda *_, **__: os._exit(9)
room = Room.objects.order_by("position").first()
room_change(by=By(household()), room=room, ceiling_height=9 * FOOT)
"""
ASK = """
import json, sys, django
django.setup()
from django.apps import apps
rows = apps.get_model(sys.argv[1]).objects.values(*sys.argv[2:])
print(json.dumps(list(rows), default=str))
"""


def wait_for(what: Callable[[], Any], seconds: float, name: str = "") -> Any:
    """What `what` gives once it is true; an error after so many seconds."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if value := what():
            return value
        time.sleep(0.05)
    raise AssertionError(f"waited {seconds:g} seconds for {name or what}")


def free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


def children_of(process: int, word: str) -> list[int]:
    """The processes below `process` whose command holds `word`."""
    processes = []
    listed = subprocess.run(["ps", "-eo", "pid=,ppid=,args="], capture_output=True, text=True)
    rows = [line.split(None, 2) for line in listed.stdout.splitlines()]
    below = {process}
    for _ in range(4):
        below |= {int(row[0]) for row in rows if int(row[1]) in below}
    for row in rows:
        if int(row[0]) in below - {process} and len(row) > 2 and word in row[2]:
            processes.append(int(row[0]))
    return processes


@dataclass
class Product:
    """One installation: its data folder, its database, and the processes started here."""

    folder: Path
    database: str = ""
    port: int = field(default_factory=free_port)
    served: subprocess.Popen[str] | None = None
    workers: list[subprocess.Popen[str]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.log = self.folder.parent / f"{self.folder.name}.log"
        self.browser = build_opener(HTTPCookieProcessor(CookieJar()))
        self.environment = {key: value for key, value in os.environ.items() if key in KEPT}
        self.environment |= {
            "HALFBAY_DATA": str(self.folder),
            "DJANGO_SETTINGS_MODULE": "remodel.settings",
        }
        if self.database:
            self.environment["DATABASE_URL"] = self.database

    # -- processes

    def run(
        self, code: str, *words: str, codes: tuple[int, ...] = (0,), seconds: float = 300
    ) -> str:
        done = subprocess.run(
            [sys.executable, "-c", code, *words],
            cwd=ROOT,
            env=self.environment,
            capture_output=True,
            text=True,
            timeout=seconds,
        )
        assert done.returncode in codes, done.stderr
        return done.stdout

    def manage(self, *words: str) -> subprocess.Popen[str]:
        with self.log.open("a") as log:
            command = [sys.executable, "manage.py", *words]
            return subprocess.Popen(
                command,
                cwd=ROOT,
                env=self.environment,
                stdout=log,
                stderr=subprocess.STDOUT,
                text=True,
            )

    def serve(self, *words: str) -> None:
        self.served = self.manage("serve", "--no-demo", "--port", str(self.port), *words)
        wait_for(lambda: self.get("/")[0] == 200, 90, "the first page")

    def worker(self) -> subprocess.Popen[str]:
        child = self.manage("worker")
        self.workers.append(child)
        return child

    def worker_pid(self) -> int:
        """The worker that `serve` runs."""
        assert self.served is not None
        pid = self.served.pid
        return int(wait_for(lambda: children_of(pid, "manage.py worker"), 90, "a worker")[0])

    def stop(self) -> None:
        for child in [*self.workers, *([self.served] if self.served else [])]:
            if child.poll() is None:
                child.send_signal(signal.SIGTERM)
        for child in [*self.workers, *([self.served] if self.served else [])]:
            with suppress(subprocess.TimeoutExpired):
                child.wait(timeout=30)
            if child.poll() is None:
                child.kill()
                child.wait()

    def log_text(self) -> str:
        return self.log.read_text() if self.log.exists() else ""

    # -- a browser

    def get(self, path: str, data: dict[str, Any] | None = None) -> tuple[int, str]:
        """The status and text of an answer; 0 where nobody answers."""
        body = urlencode(data, doseq=True).encode() if data is not None else None
        try:
            with self.browser.open(
                Request(f"http://127.0.0.1:{self.port}{path}", body), timeout=40
            ) as answer:
                return answer.status, answer.read().decode(errors="replace")
        except HTTPError as error:
            with error:
                return error.code, error.read().decode(errors="replace")
        except (URLError, OSError, HTTPException):  # an answer that breaks off, too
            return 0, ""

    def token(self, page: str) -> str:
        status, text = self.get(page)
        assert status == 200, (page, status)
        (token, *_) = re.findall(r'name="csrfmiddlewaretoken" value="([^"]+)"', text)
        return str(token)

    def write_note(self, room: str, text: str, token: str, key: str) -> int:
        form = {"csrfmiddlewaretoken": token, "text": text, "key": key}
        return self.get(f"/room/{room}/notes/add", form)[0]

    def health(self) -> tuple[int, str, float]:
        begun = time.monotonic()
        status, text = self.get("/health")
        return status, text, time.monotonic() - begun

    # -- what stands in the database

    def rows(self, model: str, *fields: str) -> list[dict[str, Any]]:
        rows: list[dict[str, Any]] = json.loads(self.run(ASK, model, *fields))
        return rows

    def jobs(self) -> dict[str, int]:
        """How many searches stand in each state."""
        counts: dict[str, int] = {}
        for row in self.rows("board.SearchJob", "state"):
            counts[row["state"]] = counts.get(row["state"], 0) + 1
        return counts

    @property
    def sqlite(self) -> Path:
        return self.folder / "halfbay.sqlite3"

    def ask(self, query: str) -> list[Any]:
        """One reading query of SQLite, without Django's start."""
        connection = sqlite3.connect(self.sqlite, timeout=30)
        try:
            return connection.execute(query).fetchall()
        finally:
            connection.close()


@contextmanager
def locked(database: Path) -> Iterator[None]:
    """Hold SQLite's write lock, as a program would that copies or mends the database."""
    connection = sqlite3.connect(database, isolation_level=None, timeout=30)
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
    finally:
        connection.execute("ROLLBACK")
        connection.close()


@contextmanager
def small_disk(folder: Path, megabytes: int) -> Iterator[Path]:
    """A disk of so many megabytes; an `OSError` where none can be mounted."""
    folder.mkdir(parents=True)
    command = ["mount", "-t", "tmpfs", "-o", f"size={megabytes}m", "tmpfs", str(folder)]
    if not shutil.which("mount") or subprocess.run(command, capture_output=True).returncode:
        raise OSError("no disk can be mounted here")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=True)


def fill(disk: Path) -> Path:
    """Fill a disk to its last block; remove the file to make room."""
    path = disk / "fill"
    with path.open("wb", buffering=0) as file, suppress(OSError):
        while True:
            file.write(bytes(4096))
    return path
