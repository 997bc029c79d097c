"""`manage.py backup FOLDER`: a copy of everything people entered, whole even while they work."""

from __future__ import annotations

import shutil
import sqlite3
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.utils import timezone


class Command(BaseCommand):
    help = (
        "Copy the database and the photos into a new folder inside FOLDER; restore by putting "
        "both back."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("folder", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        if connection.vendor != "sqlite":
            raise CommandError(
                "PostgreSQL makes its own whole copy while people work. Run\n"
                '  pg_dump --format=custom --file=halfbay.dump "$DATABASE_URL"\n'
                f"and copy {settings.MEDIA_ROOT} beside it. To restore, into an empty database,\n"
                '  pg_restore --no-owner --dbname="$DATABASE_URL" halfbay.dump\n'
                "and put the photos back."
            )
        target = options["folder"] / f"halfbay-{timezone.now():%Y%m%d-%H%M%S}"
        try:
            target.mkdir(parents=True)
        except OSError as error:
            raise CommandError(f"Cannot make {target}: {error.strerror}") from None
        copy = target / "halfbay.sqlite3"
        with connection.cursor() as cursor:
            cursor.execute("VACUUM INTO %s", [str(copy)])
        if Path(settings.MEDIA_ROOT).is_dir():
            shutil.copytree(settings.MEDIA_ROOT, target / "media")
        with sqlite3.connect(copy) as check:
            state = check.execute("PRAGMA integrity_check").fetchone()[0]
        check.close()
        if state != "ok":
            raise CommandError(
                f"The copy is not whole ({state}); free some disk space and run this again"
            )
        self.stdout.write(f"Backed up to {target}")
