"""What every template knows of who is here."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.urls import reverse
from django.utils.functional import SimpleLazyObject

from remodel.people.queries import houses_to_write
from remodel.web.kept_pages import is_kept, who_mark

__all__ = ["kept_page", "may_write"]


def kept_page(request: HttpRequest) -> dict[str, Any]:
    """What the script that holds marks without a signal is told: who is here, and on a page that
    may be kept the address of what keeps it."""
    return {
        "who_mark": who_mark(getattr(request, "person", None)),
        "keep_with": reverse("service-worker") if is_kept(request) else "",
    }


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
