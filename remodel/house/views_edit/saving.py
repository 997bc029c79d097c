"""What every page that writes does the same way."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from remodel import plain
from remodel.engine.lengths import TakeoffError
from remodel.history.answers import offer_undo
from remodel.history.errors import Refused, Stale
from remodel.history.rows import Row
from remodel.history.services import By
from remodel.history.words import differences, who_changed
from remodel.people.http import SiteRequest
from remodel.web.answers import go, say
from remodel.web.forms import HouseForm
from remodel.web.parts import Difference

__all__ = ["Outcome", "by_of", "page", "removed", "save", "saved_words"]

AnyRow = TypeVar("AnyRow", bound=Row)


@dataclass(frozen=True, slots=True)
class Outcome(Generic[AnyRow]):
    """What became of a posted form: the row, or why not, with the status to answer."""

    row: AnyRow | None
    status: int
    differences: Sequence[Difference] = ()
    who: str = ""

    @property
    def context(self) -> dict[str, Any]:
        return {"differences": self.differences, "who": self.who, "has_errors": self.status != 200}


def by_of(request: SiteRequest, form: HouseForm) -> By:
    """Who writes, under a key for this page and what was typed in it: pressed twice it is done once, and another
    thing typed into the same page (after going back, say) is another write."""
    typed = sorted(
        (name, values) for name, values in request.POST.lists() if name not in ("csrfmiddlewaretoken", "version")
    )
    return By(request.person, plain.digest(form.written_key, request.path, typed) if form.written_key else "")


def save(
    request: SiteRequest, form: HouseForm, write: Callable[[By], AnyRow], *, more: Sequence[HouseForm] = ()
) -> Outcome[AnyRow]:
    """Check, write, and put what was refused into the form, at its field where the form has it.

    `more` are forms that belong to the same page. A stale edit takes the version that stands, so that saving again
    keeps what was typed.
    """
    if [each for each in (form, *more) if not each.is_valid()]:  # all are looked at
        return Outcome(None, 422)
    units = form.units
    try:
        return Outcome(write(by_of(request, form)), 200)
    except Stale as error:
        if error.row.deleted_at is not None:
            who = who_changed(error.row) or "Somebody else"
            form.add_error(None, f"{who} removed this meanwhile. Bring it back from the history first, then save")
            return Outcome(None, 409)
        for each in (form, *more):
            if each.data.get(each.add_prefix("version")) and _is_of(each, error.row):
                each.take_version(error.row.version)
        return Outcome(None, 409, differences(error, units), who_changed(error.row))
    except Refused as error:
        form.add_error(error.field if error.field in form.fields else None, str(error))
    except TakeoffError as error:
        form.add_error(None, str(error))
    return Outcome(None, 422)


def _is_of(form: HouseForm, row: Row) -> bool:
    """Whether a form carries this row's version: walls say which they are, other pages have one row."""
    named = form.data.get(form.add_prefix("wall")) if "wall" in form.fields else None
    return named is None or named == str(row.pk)


def page(
    request: SiteRequest, template: str, context: dict[str, Any], *, status: int = 200, said: str = ""
) -> HttpResponse:
    """The full page, or for htmx its body; `said` is spoken."""
    part = "#body" if getattr(request, "htmx", False) else ""
    response = render(request, f"edit/{template}.html{part}", context, status=status)
    return say(response, said) if said and part else response


def saved_words(name: str = "") -> str:
    """Saved 14:32, or Saved 14:32: Window 1."""
    said = f"Saved {timezone.localtime():%H:%M}"
    return f"{said}: {name}" if name else said


def saved_and_go(request: SiteRequest, to: str, *args: object, name: str = "") -> HttpResponse:
    """Leave for another page, which says that it is saved."""
    messages.info(request, saved_words(name))
    return go(request, to, *args)


def removed(request: SiteRequest, row: Row, name: str, to: str, *args: object) -> HttpResponse:
    """Leave for another page, which offers to take the removal back."""
    offer_undo(request, f"Removed {name}.", row)
    return go(request, to, *args)
