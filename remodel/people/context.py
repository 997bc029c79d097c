"""What every template knows of who is here."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from remodel.people.queries import houses_to_write

__all__ = ["may_write"]


def may_write(request: HttpRequest) -> dict[str, Any]:
    """The houses a person may change, for `{% if house.pk in may_write %}` around what only such
    persons are offered.

    Hiding is a courtesy: the views refuse by themselves. The database is asked once a page, and
    only by a page that uses it.
    """
    person = getattr(request, "person", None)
    return {
        "may_write": SimpleLazyObject(lambda: houses_to_write(person)) if person else frozenset()
    }
