"""What every template knows of who is here."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from remodel.people.queries import houses_to_write

__all__ = ["may_write"]


def may_write(request: HttpRequest) -> dict[str, Any]:
    """`{% if house.pk in may_write %}` around what only those who may change a house are offered.
    Hiding is a courtesy: the views refuse by themselves. Asked of the database once a page, and not
    by a page that has no such place."""
    person = getattr(request, "person", None)
    return {
        "may_write": SimpleLazyObject(lambda: houses_to_write(person)) if person else frozenset()
    }
