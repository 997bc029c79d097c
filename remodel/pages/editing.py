"""The one way a form page is shown and saved.

    @require_http_methods(["GET", "POST"])
    def store_change(request, store_id):
        store = row_for(request.person, Store.objects.all(), store_id, through="house", write=True)
        form = StoreForm(posted(request), seen=Seen.of(store), initial={"name": store.name})
        return edit(
            request,
            form,
            "supply/store.html",
            {"house": store.house, "store": store},
            write=lambda by: services.store_change(by=by, store=store, **form.values),
            then=lambda store: go(request, "price-list", store.house_id),
        )

What `edit` sees to, so that no page has to:

- One write a press. The key is made of the page's key, its address and all that was typed: the same
  text sent twice is written once, and another text typed into the same page (after going back) is
  another write.
- Nobody's work is overwritten. The page carries the versions of the rows it was made from
  (`Seen`); where somebody wrote one of them since, the page comes back with both values (409).
- What is wrong stands at its field, and above the form with a link to it (422). What was typed
  stays.
- What a write changes for orders is told in one line, where it may (`needs_of`).
- A write that goes against boards that are cut or hang asks before it is saved (`against`).
- htmx is given the part named `body` of the template, any other browser the whole page.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from contextvars import ContextVar
from typing import Any, TypeVar

from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from remodel.against_hung import Asked
from remodel.bridge import codec
from remodel.bridge.lengths import TakeoffError
from remodel.history.errors import Overtaken, Refused, Stale
from remodel.history.queries import last_group
from remodel.history.seen import Seen
from remodel.history.services import By, written_before
from remodel.history.versioned import Versioned
from remodel.house.models import House, Room
from remodel.pages.against_hung import (
    ANSWER_FIELDS,
    BACK,
    answer_of,
    ask,
    done_or_asked,
    saved_or_asked,
)
from remodel.pages.history.changes import differences, who_changed
from remodel.pages.order_watch import OrderWatch
from remodel.people.http import SiteRequest
from remodel.web.dates import time_words
from remodel.web.forms import HouseForm
from remodel.web.responses import go, say

__all__ = [
    "Seen",
    "by_of",
    "edit",
    "offer_undo",
    "page",
    "posted",
    "remove_asked",
    "removed",
    "saved_and_go",
    "saved_words",
]

Written = TypeVar("Written")
Context = Mapping[str, Any] | Callable[[], Mapping[str, Any]]

# An answer is given to what was typed; it is no part of it.
_NOT_TYPED = frozenset({"csrfmiddlewaretoken", "seen"}) | ANSWER_FIELDS


def posted(request: SiteRequest) -> QueryDict | None:
    """What a form is bound to: the fields that were sent, or None where the page is only looked
    at."""
    return request.POST if request.method == "POST" else None


def edit(
    request: SiteRequest,
    form: HouseForm,
    template: str,
    context: Context,
    *,
    write: Callable[[By], Written],
    then: Callable[[Written], HttpResponse],
    more: Sequence[HouseForm] = (),
    saving: bool = True,
    fields: Mapping[str, str] | None = None,
    needs_of: House | None = None,
    against: House | Room | None = None,
) -> HttpResponse:
    """Show a form, or save what was posted: `write` does the write, and `then` answers with what it
    returned.

    `more` are the other forms of the page, one for each row. `saving` is false for a button that
    only adds a row or draws what was typed. `context` may be a function; it is called when the page
    is shown, so that it gives what stands then. `form` is added to it. `fields` gives the form's
    name of a field that the service calls otherwise, so that a refusal stands at that field.
    `needs_of` is the house whose rooms may take other amounts after this write: what that changes
    for its orders is told in one line. `against` is the room in whose pile, or the house in which
    the write may go against boards that are cut or hang: then it asks first.
    """
    if request.method != "POST" or not saving:
        return page(request, template, context, form=form, more=more)
    _units.set(form.units)
    valid = not [one for one in (form, *more) if not one.is_valid()]  # all are looked at
    by = by_of(request, form)
    if not valid:
        # A press sent twice may no longer be valid, for the first one was taken: all came already.
        before = written_before(by)
        return (
            then(before.row)
            if before
            else page(request, template, context, form=form, more=more, status=422)
        )
    if against is not None and answer_of(request) == BACK:
        return page(request, template, context, form=form, more=more)
    conflict: Stale | None = None
    status, seconds = 422, 0
    watch = OrderWatch(needs_of) if needs_of is not None else None
    try:
        written = saved_or_asked(request, by, write, against)
    except Stale as error:
        # The page that comes back shows both values, so it may carry the versions of now: the next
        # press is a decision made in sight of them.
        conflict, status = error, 409
        form.see_anew()
        if error.row.deleted_at is not None:
            who = who_changed(error.row) or "Somebody else"
            form.add_error(
                None,
                f"{who} removed this meanwhile. Bring it back from the history first, then save",
            )
    except Overtaken as error:
        status = 409
        form.see_anew()
        form.add_error(None, str(error))
    except Refused as error:
        field = (fields or {}).get(error.field, error.field)
        form.add_error(field if field in form.fields else None, str(error))
        seconds = error.seconds
    except TakeoffError as error:
        form.add_error(None, str(error))
    else:
        if isinstance(written, Asked):
            return ask(request, written, context() if callable(context) else context)
        saved = then(written)
        if watch is not None:
            watch.tell(request)
        return saved
    answer = page(
        request,
        template,
        context,
        form=form,
        more=more,
        status=429 if seconds else status,
        conflict=conflict,
    )
    if seconds:
        answer["Retry-After"] = str(seconds)
    return answer


def page(
    request: SiteRequest,
    template: str,
    context: Context,
    *,
    form: HouseForm | None = None,
    more: Sequence[HouseForm] = (),
    status: int = 200,
    conflict: Stale | None = None,
    message: str = "",
) -> HttpResponse:
    """The full page, or for htmx its part `body`; a screen reader speaks `message` once it is
    swapped in."""
    shown = dict(context() if callable(context) else context)
    if form is not None:
        shown |= {"form": form, "forms": [form, *more] if status != 200 else []}
    if conflict is not None and conflict.row.deleted_at is None:
        house = shown.get("house")
        rows = differences(conflict, form.units if form else "in", getattr(house, "currency", ""))
        shown["conflict"] = {"rows": rows, "who": who_changed(conflict.row)}
    htmx = getattr(request, "htmx", False)
    answer = render(
        request,
        [f"{template}#body", template] if htmx else template,  # a page of people has no part
        shown | {"has_errors": status != 200},
        status=status,
    )
    return say(answer, message) if message and htmx else answer


def by_of(request: SiteRequest, form: HouseForm) -> By:
    """Who writes, with a key for this page and what was typed into it, and with what the page
    showed."""
    # nobody, on the page to sign in
    key, person = form.written_key, getattr(request, "person", None)
    seen = Seen.read(form.cleaned_data["seen"]) if form.cleaned_data.get("seen") else None
    if not key:
        return By(person, seen=seen)
    # What is typed is part of the key: somebody who goes back and types another text into the same
    # page makes another write, and would otherwise be told "saved" for the first one.
    typed = sorted(
        (name, values) for name, values in request.POST.lists() if name not in _NOT_TYPED
    )
    files = sorted(
        (name, [_digest(file) for file in files]) for name, files in request.FILES.lists()
    )
    return By(person, codec.digest(key, request.path, typed, files), seen)


def _digest(file: Any) -> str:
    digest = hashlib.sha256(f"{file.name}\0".encode())
    for chunk in file.chunks():
        digest.update(chunk)
    # The same file is read once more when it is stored.
    file.seek(0)
    return digest.hexdigest()


# What the house of the form is measured in that this thread saves.
_units: ContextVar[str] = ContextVar("units", default="in")


def saved_words(name: str = "") -> str:
    """The words "Saved 2:32 PM", or "Saved 2:32 PM: Window 1" with a name; "Saved 14:32" where the
    form that is saved is of a house in millimeters."""
    words = f"Saved {time_words(timezone.now(), _units.get())}"
    return f"{words}: {name}" if name else words


def saved_and_go(request: SiteRequest, to: str, *args: object, name: str = "") -> HttpResponse:
    """Go to another page, which says that it is saved."""
    messages.info(request, saved_words(name))
    return go(request, to, *args)


def offer_undo(request: SiteRequest, text: str, row: Versioned) -> None:
    """Have the next page show `text`, like "Removed the window.", with an Undo that takes back the
    latest write to `row`. The same write can be undone later from the room's history."""
    group = last_group(row.pk)
    undo = reverse("change-undo", args=[group]) if group else ""
    messages.info(request, text, extra_tags=undo)


def remove_asked(
    request: SiteRequest,
    room: Room,
    remove: Callable[[By], object],
    *,
    then: Callable[[], HttpResponse],
    back: str,
) -> HttpResponse:
    """Remove something of a room and answer with `then`. Where boards of its pile that are cut or
    hang are in the way, ask first; `back` is the address to go to where it stays."""
    if answer_of(request) == BACK:
        return go(request, back)
    try:
        asked = done_or_asked(request, room, remove)
    except Refused as error:
        messages.info(request, f"{error}.")
        return go(request, back)
    return then() if asked is None else asked


def removed(
    request: SiteRequest,
    row: Versioned,
    name: str,
    to: str,
    *args: object,
    watch: OrderWatch | None = None,
) -> HttpResponse:
    """Go to another page, which offers to undo the removal. `watch`, begun before it, tells what it
    changes for orders."""
    offer_undo(request, f"Removed {name}.", row)
    if watch is not None:
        watch.tell(request)
    return go(request, to, *args)
