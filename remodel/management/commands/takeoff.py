"""`manage.py takeoff HOUSE.json`: what to buy for each phase, and why."""

from __future__ import annotations

from argparse import ArgumentParser, ArgumentTypeError
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from remodel.bridge import PHASES, TakeoffError, work_out


class Command(BaseCommand):
    # it needs no page, and loading them all takes longer than a small takeoff
    requires_system_checks = ()
    help = "Print what each phase of a house takes and what to buy, from a house file."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "house",
            type=Path,
            help="The house file to read, for example fixtures/hollow-lane.json.",
        )
        parser.add_argument(
            "--phase",
            action="append",
            default=[],
            metavar="PHASE",
            help="Show this phase alone, for example --phase taping. Give it again for one more. "
            f"Phases are {', '.join(PHASES)}, and those you named yourself. (strip-out is the "
            "tear-out.)",
        )
        parser.add_argument(
            "--room",
            action="append",
            default=[],
            metavar="ROOM",
            help="Show this room alone, by its name or id, for example --room kitchen. Give it "
            "again for one more.",
        )
        parser.add_argument(
            "--search",
            "--seek",  # its name in earlier versions
            dest="search",
            type=_seconds,
            metavar="SECONDS",
            help="Look this many seconds for better board plans, for example --search 60. 0 keeps "
            "the first plans. Without it the look is short and gives the same plans each time.",
        )
        form = parser.add_mutually_exclusive_group()
        form.add_argument(
            "--plan",
            action="store_true",
            help="Print the board plans, row by row and sheet by sheet.",
        )
        form.add_argument(
            "--cuts",
            action="store_true",
            help="Print the cut list of lumber and other sticks, stick by stick.",
        )
        form.add_argument(
            "--ways",
            action="store_true",
            help="Print each room boarded in several ways, side by side.",
        )
        form.add_argument(
            "--choices",
            action="store_true",
            help="Print each choice that is still open, worked out both ways.",
        )
        form.add_argument(
            "--why",
            metavar="ITEM",
            help="Print why one item takes what it takes, by part of its name, for example "
            "--why tape.",
        )
        form.add_argument("--csv", action="store_true", help="Print the list for a spreadsheet.")
        form.add_argument(
            "--json", action="store_true", help="Print the whole takeoff as a JSON document."
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            job = work_out(
                options["house"],
                catalogue_file=settings.CATALOGUE_FILE,
                metric_catalogue_file=settings.METRIC_CATALOGUE_FILE,
                phases=options["phase"],
                rooms=options["room"],
                # other ways are quick plans, and so is the one they stand beside
                search_seconds=0 if options["ways"] or options["choices"] else options["search"],
                on_progress=self.stderr.write,
            )
            if options["why"] is not None:
                text = job.why(options["why"])
            elif options["plan"]:
                text = job.plan()
            elif options["cuts"]:
                text = job.cuts()
            elif options["ways"]:
                text = job.ways()
            elif options["choices"]:
                text = job.open_choices()
            elif options["csv"]:
                text = job.csv()
            elif options["json"]:
                text = job.json()
            else:
                text = job.text()
        except OSError as error:
            raise CommandError(
                f"Cannot read {error.filename}: {error.strerror}. Give the path of a house file."
            ) from None
        except TakeoffError as error:
            raise CommandError(str(error)) from None
        self.stdout.write(text, ending="")


def _seconds(text: str) -> float:
    """A number of seconds to wait, for the argument parser: none, or an hour at most."""
    try:
        seconds = float(text)
    except ValueError:
        seconds = -1
    if not 0 <= seconds <= 3600:
        raise ArgumentTypeError(
            f"{text!r} is no time to wait: give seconds up to 3600, for example 30, or 0 for no "
            "search"
        )
    return seconds
