"""`manage.py worker`: figures, searches and print sets, while people work."""

from __future__ import annotations

import os
import signal
import threading
from argparse import ArgumentParser
from contextlib import suppress
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from remodel.board import figures, worker
from remodel.cards import printing
from remodel.cards.models import PrintPack
from remodel.jobs.lanes import new_name, present, run_lanes
from remodel.jobs.queue import Queue
from remodel.work.kept_photos import remove_expired

_NICE = 5  # people's own requests come first; what the worker starts inherits it


class Command(BaseCommand):
    help = (
        "Bring figures up to date, look for better board plans and make print sets, until stopped. "
        "Any number of workers may run on one database."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--once", action="store_true", help="Stop when nothing waits any more.")
        parser.add_argument(
            "--name",
            default="",
            help="What this worker is called, for example --name shed. Made up without it.",
        )
        parser.add_argument(
            "--parent",
            type=int,
            default=0,
            help="Stop once this process no longer runs us, for example --parent 4711.",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        stop = threading.Event()
        name = options["name"] or new_name()
        with suppress(OSError):
            os.nice(_NICE)
        if options["once"]:
            with present(name, stop):
                figures.note_stale()
                while (
                    figures.run_once(stop=stop, name=name)
                    or worker.run_once(stop=stop, name=name)
                    or printing.run_once(stop=stop, name=name)
                ):
                    pass
            return
        with suppress(DatabaseError):  # they go with the next photo that is kept
            remove_expired()
        for word in (signal.SIGINT, signal.SIGTERM):
            signal.signal(word, lambda *_: stop.set())

        def packs(queue: Queue[PrintPack]) -> bool:
            return printing.run_once(queue, stop=stop, name=name) is not None

        lanes = {
            "figures": figures.Lane(name, stop).step,
            "searches": lambda: worker.run_once(stop=stop, name=name) is not None,
            "print sets of rooms": lambda: packs(printing.ROOM_PACKS),
            "print sets": lambda: packs(printing.HOUSE_PACKS),
        }
        with present(name, stop, parent=options["parent"]):
            asked_to_stop = run_lanes(lanes, stop)
        if not asked_to_stop:
            raise CommandError("A part of the worker ended by itself; the log says why")
