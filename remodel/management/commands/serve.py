"""`manage.py serve`: bring the database up to date, then run the web server and one worker until stopped."""

from __future__ import annotations

import ipaddress
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

from remodel.board.services import recompute
from remodel.house.models import House
from remodel.people.services import pairing_code_make


class Command(BaseCommand):
    help = "Run the web server and one worker: on this machine alone, or with --host lan on the home network."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--host", default="local", help="local (this machine alone), lan, or an address of ours")
        parser.add_argument("--port", type=int, default=settings.PORT)
        parser.add_argument("--no-demo", action="store_true", help="do not load the demo house at the first start")

    def handle(self, *args: Any, **options: Any) -> None:
        call_command("migrate", verbosity=0)
        call_command("collectstatic", interactive=False, verbosity=0)
        if not options["no_demo"] and not settings.HOSTED:
            call_command("load_demo", if_empty=True)
        for house in House.objects.all():
            recompute(house)
        binds, lan = addresses(options["host"], options["port"])
        environment = {**os.environ, "HALFBAY_LAN_HOST": lan, "PORT": str(options["port"])}
        self._greet(options["port"], lan)
        server = [sys.executable, "-m", "gunicorn", "remodel.wsgi", "--threads", "4", "--workers", "1"]
        server += ["--worker-class", "gthread", "--access-logfile", os.devnull, "--log-level", "warning"]
        server += [word for bind in binds for word in ("--bind", bind)]
        commands = [server, [sys.executable, "manage.py", "worker"]]
        run_together(commands, environment)

    def _greet(self, port: int, lan: str) -> None:
        self.stdout.write(f"Halfbay is at http://127.0.0.1:{port}/ (stop it with Ctrl-C)")
        if lan:
            self.stdout.write(f"On the home network: http://{lan}:{port}/ - pair a device with {pairing_code_make()}")
            self.stdout.write("The code lasts ten minutes; this machine makes a new one on its page for devices.")


def addresses(host: str, port: int) -> tuple[list[str], str]:
    """Where to listen, and the address other devices use; loopback always, and one address of ours at most."""
    binds = [f"127.0.0.1:{port}"]
    if host == "local":
        return binds, ""
    own = lan_address() if host == "lan" else host
    try:
        address = ipaddress.ip_address(own)
    except ValueError:
        raise CommandError("--host must be local, lan, or an address of this machine, like 192.168.1.20") from None
    if address.is_unspecified or (address.is_global and not settings.HOSTED):
        raise CommandError(f"{own} is open to more than the home network; give a private address, like 192.168.1.20")
    return [*binds, f"[{own}]:{port}" if address.version == 6 else f"{own}:{port}"], own


def lan_address() -> str:
    """This machine's address on the home network. Nothing is sent: only the way out is looked up."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        try:
            way.connect(("192.0.2.1", 9))
        except OSError:
            raise CommandError("This machine is on no network; connect it, or leave HOST out") from None
        return str(way.getsockname()[0])


def run_together(commands: list[list[str]], environment: dict[str, str]) -> None:
    """Run commands until one ends or we are told to stop, then stop them all."""
    children: list[subprocess.Popen[bytes]] = []
    stopped = False

    def stop(*_: Any) -> None:
        nonlocal stopped
        stopped = True

    for each in (signal.SIGINT, signal.SIGTERM):
        signal.signal(each, stop)
    try:
        children += [
            subprocess.Popen(command, env=environment, cwd=settings.BASE_DIR, start_new_session=True)
            for command in commands
        ]
        while not stopped and all(child.poll() is None for child in children):
            time.sleep(0.2)
    finally:
        for child in children:
            child.terminate()
        for child in children:
            try:
                child.wait(timeout=10)
            except subprocess.TimeoutExpired:
                child.kill()
                child.wait()
    failed = [child.returncode for child in children if child.returncode not in (0, -signal.SIGTERM)]
    if failed and not stopped:
        raise CommandError("A part of the server ended by itself; see what it said above")
