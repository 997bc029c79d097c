"""The request as the views get it."""

from __future__ import annotations

from django.http import HttpRequest

from remodel.people.models import Person

__all__ = ["PersonRequest"]


class PersonRequest(HttpRequest):
    """Somebody is known to be here; the open pages, where it may be nobody, say so by themselves."""

    person: Person
    htmx: object
