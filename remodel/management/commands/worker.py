"""`manage.py worker`: seek better board plans while people work."""

from __future__ import annotations

import signal
import threading
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from remodel.board import worker
from remodel.cards import printing
from remodel.work.kept_photos import remove_expired


class Command(BaseCommand):
    help = "Seek better board plans, one at a time, until stopped."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--once", action="store_true", help="stop when nothing waits any more")

    def handle(self, *args: Any, **options: Any) -> None:
        stop = threading.Event()
        if options["once"]:
            while worker.run_once(stop=stop) or printing.run_once():
                pass
            return
        remove_expired()
        for each in (signal.SIGINT, signal.SIGTERM):
            signal.signal(each, lambda *_: stop.set())
        # packs must not wait behind a search of two minutes
        printer = threading.Thread(target=printing.work, kwargs={"stop": stop})
        printer.start()
        worker.work(stop=stop)
        stop.set()
        printer.join()
