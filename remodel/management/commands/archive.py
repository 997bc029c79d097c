"""`manage.py archive [FILE]`: everything people entered in one zip, whole even while they work."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from remodel.archive.errors import CannotArchive
from remodel.archive.writing import archive_name, write_archive

__all__ = ["Command"]


class Command(BaseCommand):
    help = (
        "Write every house here with its history, photos and print sets into one zip. "
        "`manage.py restore` makes it whole again on an empty machine. It holds what people sign "
        "in with (never a password in clear text), so keep it as safe as the machine itself."
    )
    # It is of use when the database is not up to date, too.
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "file",
            type=Path,
            nargs="?",
            default=Path(),
            help="A new file, or a folder to put it in, for example halfbay.zip. Without it, the "
            "folder you are in.",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        if path.is_dir():
            path = path / archive_name()
        try:
            contents = write_archive(path.resolve())
        except CannotArchive as error:
            raise CommandError(str(error)) from None
        self.stdout.write(
            f"Archived {contents.houses} house{'s' * (contents.houses != 1)}, {contents.rows:,} "
            f"rows and {contents.files:,} photos and print sets into {path.resolve()}"
        )
        if contents.missing:
            self.stderr.write(
                f"Not in it: {len(contents.missing)} photos that were not in the data folder, "
                f"the first {contents.missing[0]}"
            )
