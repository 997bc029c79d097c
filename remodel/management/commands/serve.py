"""`manage.py serve`: bring the database up to date, then run the web server and one worker until
stopped.

The worker's end never ends the web: it is started again, after pauses that grow while it keeps
ending. The web's end ends all, for without it there is nothing to be seen.
"""

from __future__ import annotations

import ipaddress
import logging
import os
import signal
import socket
import subprocess
import sys
import time
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from remodel.archive.before_update import archive_before_update
from remodel.archive.errors import CannotArchive
from remodel.jobs.lanes import new_name
from remodel.jobs.models import worker_gone
from remodel.outages import drop_connection
from remodel.people.services import pairing_code_make

log = logging.getLogger(__name__)

_LOOK = 0.2
_STOP_SECONDS = 15
_FIRST_PAUSE = 1.0
_LONGEST_PAUSE = 60.0
_RAN_WELL = 60.0  # seconds a worker has to run for the pauses to begin anew


class Command(BaseCommand):
    help = (
        "Run the web server and one worker: on this machine alone, or with --host lan on the "
        "home network."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--host",
            default="local",
            help="Who can open it: local is this computer alone, lan is the home network. Or give "
            "an address of this computer, for example --host lan.",
        )
        parser.add_argument(
            "--port",
            type=int,
            default=settings.PORT,
            help="The port to open it at, for example --port 8080.",
        )
        parser.add_argument(
            "--no-demo", action="store_true", help="Do not load the demo house at the first start."
        )
        parser.add_argument(
            "--processes",
            type=int,
            default=1,
            help="How many processes serve pages, at most one for each core, for example "
            "--processes 2. One is enough for a household.",
        )
        parser.add_argument(
            "--without-archive",
            action="store_true",
            help="Do not archive everything before the database is brought up to date.",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if not options["without_archive"]:
            self._archive()
        call_command("migrate", verbosity=0)
        call_command("collectstatic", interactive=False, verbosity=0)
        if not options["no_demo"] and not settings.HOSTED:
            call_command("load_demo", if_empty=True)
        binds, lan = addresses(options["host"], options["port"])
        environment = {**os.environ, "HALFBAY_LAN_HOST": lan, "PORT": str(options["port"])}
        self._greet(options["port"], lan)
        server = [sys.executable, "-m", "remodel.server"]
        server += [word for bind in binds for word in ("--bind", bind)]
        server += ["--processes", str(options["processes"])]
        Supervisor(server, environment).run()

    def _archive(self) -> None:
        """Archive everything where an update is about to change the database."""
        try:
            path = archive_before_update()
        except CannotArchive as error:
            raise CommandError(f"Not started, and nothing was changed. {error}") from None
        if path is not None:
            self.stdout.write(
                f"The database is brought up to date. What it was before is in {path}"
            )

    def _greet(self, port: int, lan: str) -> None:
        self.stdout.write(f"Halfbay is at http://127.0.0.1:{port}/ (stop it with Ctrl-C)")
        if lan:
            self.stdout.write(
                f"On the home network: http://{lan}:{port}/ - pair a device with "
                f"{pairing_code_make()}"
            )
            self.stdout.write(
                "The code lasts ten minutes; this machine makes a new one on its page for devices."
            )


def addresses(host: str, port: int) -> tuple[list[str], str]:
    """The addresses to listen on, and the address for other devices. Loopback is always listened
    on, and at most one address of this machine."""
    binds = [f"127.0.0.1:{port}"]
    if host == "local":
        return binds, ""
    own = lan_address() if host == "lan" else host
    try:
        address = ipaddress.ip_address(own)
    except ValueError:
        raise CommandError(
            "--host must be local, lan, or an address of this machine, for example 192.168.1.20"
        ) from None
    if address.is_unspecified or (address.is_global and not settings.HOSTED):
        raise CommandError(
            f"{own} is open to more than the home network; give a private address, for example "
            "192.168.1.20"
        )
    return [*binds, f"[{own}]:{port}" if address.version == 6 else f"{own}:{port}"], own


def lan_address() -> str:
    """This machine's address on the home network. Nothing is sent: only the route is looked up."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        try:
            way.connect(("192.0.2.1", 9))
        except OSError:
            raise CommandError(
                "This machine is on no network; connect it, or leave HOST out"
            ) from None
        return str(way.getsockname()[0])


class Supervisor:
    """Runs the web server and one worker until the web ends or a signal comes, then stops both."""

    def __init__(
        self, server: list[str], environment: dict[str, str], worker: list[str] | None = None
    ) -> None:
        self._server, self._environment = server, environment
        self._worker_command = worker or [
            sys.executable,
            "manage.py",
            "worker",
            "--parent",
            str(os.getpid()),
        ]
        self._children: dict[str, subprocess.Popen[bytes]] = {}
        self._stopped = False
        self._worker_name = ""
        self._started_at, self._pause, self._start_at = 0.0, _FIRST_PAUSE, 0.0

    def run(self) -> None:
        for word in (signal.SIGINT, signal.SIGTERM):
            signal.signal(word, self._stop)
        try:
            web = self._children["web"] = self._start(self._server)
            while not self._stopped and web.poll() is None:
                self._see_to_worker()
                time.sleep(_LOOK)
        finally:
            self._end_all()
        if not self._stopped:
            raise CommandError(
                f"The web server ended by itself (code {web.returncode}), so Halfbay has stopped. "
                "See what it said "
                "above: another program may use the port, or the disk may be full. Then start "
                "Halfbay again."
            )

    def _stop(self, *_: Any) -> None:
        self._stopped = True

    def _start(self, command: list[str]) -> subprocess.Popen[bytes]:
        return subprocess.Popen(
            command, env=self._environment, cwd=settings.BASE_DIR, start_new_session=True
        )

    def _see_to_worker(self) -> None:
        """Start the worker where none runs and its pause is over."""
        worker = self._children.get("worker")
        now = time.monotonic()
        if worker is None:
            if now >= self._start_at:
                self._worker_name, self._started_at = new_name(), now
                self._children["worker"] = self._start(
                    [*self._worker_command, "--name", self._worker_name]
                )
            return
        if worker.poll() is None:
            return
        del self._children["worker"]
        if now - self._started_at > _RAN_WELL:
            self._pause = _FIRST_PAUSE
        log.error(
            "The worker ended (code %s). Pages go on; it starts again in %.0f seconds.",
            worker.returncode,
            self._pause,
        )
        self._start_at, self._pause = now + self._pause, min(2 * self._pause, _LONGEST_PAUSE)
        try:
            worker_gone(self._worker_name)  # what it held need not wait until it is missed
        except Exception:
            drop_connection()

    def _end_all(self) -> None:
        for child in self._children.values():
            child.terminate()
        until = time.monotonic() + _STOP_SECONDS
        for child in self._children.values():
            try:
                child.wait(timeout=max(0.1, until - time.monotonic()))
            except subprocess.TimeoutExpired:
                child.kill()
                child.wait()
