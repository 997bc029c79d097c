"""`manage.py load_demo`: the invented house on Hollow Lane, for looking round."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from remodel.archive.first_start import note_first_start
from remodel.bridge import TakeoffError
from remodel.demo import progress_file, tell_progress
from remodel.history.services import By
from remodel.house.models import House
from remodel.house_files.files import house_from_file
from remodel.people.models import Person
from remodel.people.services import household


class Command(BaseCommand):
    help = "Load the demo house, with everything worked out, and what was done in it so far."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--if-empty",
            action="store_true",
            help="Load it only where there has never been a house.",
        )
        parser.add_argument(
            "--file",
            type=Path,
            default=settings.DEMO_HOUSE_FILE,
            help="Load another house file, for example --file fixtures/quay-flat.json.",
        )
        parser.add_argument(
            "--for",
            dest="email",
            default="",
            help="Whose house it is where people sign in, for example --for ada@example.org.",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["if_empty"] and House.all_objects.exists():
            return
        person = (
            Person.objects.filter(email__iexact=options["email"]).first()
            if options["email"]
            else household()
        )
        if person is None:
            raise CommandError(f"Nobody signs in as {options['email']}")
        try:
            house = house_from_file(by=By(person), text=options["file"].read_bytes(), is_demo=True)
            progress = progress_file(options["file"])
            if progress.is_file():
                tell_progress(by=By(person), house=house, text=progress.read_bytes())
        except OSError as error:
            raise CommandError(f"Cannot read {error.filename}: {error.strerror}") from None
        except TakeoffError as error:
            raise CommandError(str(error)) from None
        if options["if_empty"]:
            note_first_start()
        self.stdout.write(f"Loaded {house}: {house.rooms.count()} rooms")
