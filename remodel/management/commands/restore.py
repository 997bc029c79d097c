"""`manage.py restore FILE`: an archive made whole again, in an empty data folder only."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from remodel.archive.errors import CannotRestore
from remodel.archive.restoring import restore

__all__ = ["Command"]


class Command(BaseCommand):
    help = (
        "Bring back everything from an archive that `manage.py archive` or the Archive page made, "
        "by this version or an earlier one. Only where nothing was entered yet."
    )
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "file", type=Path, help="The archive to bring back, for example halfbay.zip."
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            contents = restore(options["file"])
        except CannotRestore as error:
            raise CommandError(str(error)) from None
        self.stdout.write(
            f"Restored {contents.houses} house{'s' * (contents.houses != 1)}, {contents.rows:,} "
            f"rows and {contents.files:,} photos and print sets. Figures are worked out again "
            "once Halfbay runs."
        )
