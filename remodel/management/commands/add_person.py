"""`manage.py add_person`: the first account of a hosted Halfbay; others come in by an invitation
link."""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from getpass import getpass
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import IntegrityError, transaction

from remodel.history.errors import Refused
from remodel.people.models import Person
from remodel.people.sign_in import check_password_rules


class Command(BaseCommand):
    help = (
        "Make an account that signs in; its password is asked for, or read as one line from a pipe."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "email", help="The e-mail to sign in with, for example ada@example.org."
        )
        parser.add_argument(
            "--name", required=True, help="What the history calls them, for example Ada."
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if not settings.HOSTED:
            raise CommandError("Nobody signs in here; HALFBAY_MODE=hosted has accounts")
        person = Person(name=options["name"].strip(), email=options["email"].strip().lower())
        password = (
            getpass("Password: ") if sys.stdin.isatty() else sys.stdin.readline().rstrip("\n")
        )
        try:
            check_password_rules(password, person)
            person.set_password(password)
            with transaction.atomic():
                person.save(force_insert=True)
        except Refused as error:
            raise CommandError(str(error)) from None
        except IntegrityError:
            raise CommandError(
                "There is an account with this address already, or the name is empty"
            ) from None
        self.stdout.write(f"{person.name} can sign in")
