"""The page that asks before work goes on where something stops it, and its answers.

    asked = asked_first(request, phase.room, lambda order: order.of_day(phase), back=back)
    if asked is not None:
        return asked

Each stop is answered in one of three ways: it is done, it is accepted with a reason, or the work is
put off. What was done and accepted is written once every stop has an answer; then the press goes on
as if nothing had been asked.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.http import HttpResponse
from django.shortcuts import render
from django_htmx.http import reswap, retarget

from remodel.history.services import By
from remodel.house.models import House, Room
from remodel.order_of_work import Doing, OrderOfWork, Told, accept, order_of, say_step
from remodel.people.http import SiteRequest
from remodel.web.responses import say

__all__ = ["StopShown", "asked_first", "stop_words"]

DONE, ACCEPTED = "done", "accept"
_ANSWER, _REASON = "stop-", "reason-"
_NOT_SENT_AGAIN = ("csrfmiddlewaretoken", "stops-asked")
_LONGEST_REASON = 2000


@dataclass(frozen=True, slots=True, kw_only=True)
class StopShown:
    """One stop as the page asks about it. `done` is what a person says where it is done, empty
    where that is told elsewhere. `answer` and `reason` are what was chosen and typed."""

    told: Told
    name: str
    done: str
    answer: str = ""
    reason: str = ""
    error: str = ""

    @property
    def is_done(self) -> bool:
        return self.answer == DONE

    @property
    def is_accepted(self) -> bool:
        return self.answer == ACCEPTED


def asked_first(
    request: SiteRequest,
    rooms: Room | Sequence[Room],
    doings: Callable[[OrderOfWork], Sequence[Doing]],
    *,
    back: str,
    coldest: Decimal | None = None,
    kept: Callable[[], Sequence[tuple[str, str]]] = list,
) -> HttpResponse | None:
    """The page that asks about what stops some steps; None where nothing does, or all is answered.

    `rooms` are those whose steps they are, `back` is where a person goes who puts it off. `kept`
    gives fields to send again in place of those that came, for files, which no field can send.
    """
    some = [rooms] if isinstance(rooms, Room) else list(rooms)
    if not some:
        return None
    order = order_of(*some, coldest=coldest)
    steps = doings(order)
    told = order.told(steps)
    stops = [_answered(request, one) for one in told if one.severity == "stop"]
    if not stops:
        return None
    if all(stop.answer and not stop.error for stop in stops):
        _write(By(request.person), some[0].house, stops)
        return None
    instead = kept()
    context = {
        "house": some[0].house,
        "room": some[0] if len(some) == 1 else None,
        "section": "rooms",
        "stops": stops,
        "think": [one for one in told if one.severity != "stop"],
        "errors": [stop for stop in stops if stop.error],
        "sent_again": [*_sent_again(request, {name for name, _ in instead}), *instead],
        "to": request.path,
        "back": back,
    }
    return _page(request, context)


def _page(request: SiteRequest, context: Mapping[str, object]) -> HttpResponse:
    """The whole page; for htmx what fills `main`, whatever part the press was to swap."""
    template = "work/stops.html"
    htmx = getattr(request, "htmx", False)
    answer = render(request, f"{template}#body" if htmx else template, context)
    if not htmx:
        return answer
    retarget(reswap(answer, "innerHTML"), "#main")
    return say(answer, "Not saved yet. Something comes first")


def _answered(request: SiteRequest, told: Told) -> StopShown:
    """A stop with what was answered to it; one that was not answered yet has no error."""
    name = told.key
    answer = request.POST.get(f"{_ANSWER}{name}", "")
    reason = request.POST.get(f"{_REASON}{name}", "").strip()[:_LONGEST_REASON]
    done = told.after.kind.done if told.after and not told.short else ""
    error = ""
    if answer not in (DONE, ACCEPTED) or (answer == DONE and not done):
        answer = ""
        if "stops-asked" in request.POST:
            error = "Say whether it is done or why you go on, or put the work off"
    elif answer == ACCEPTED and not reason:
        error = '"Why you go on" is empty. Enter a reason, for example The inspector saw it Tuesday'
    return StopShown(told=told, name=name, done=done, answer=answer, reason=reason, error=error)


def _write(by: By, house: House, stops: Sequence[StopShown]) -> None:
    for stop in stops:
        if stop.is_done and stop.told.after is not None:
            say_step(by=by, house=house, step=stop.told.after)
        else:
            accept(by=by, house=house, told=stop.told, reason=stop.reason)


def _sent_again(request: SiteRequest, kept: set[str]) -> list[tuple[str, str]]:
    return [
        (name, value)
        for name, values in request.POST.lists()
        if name not in _NOT_SENT_AGAIN
        and name not in kept
        and not name.startswith((_ANSWER, _REASON))
        for value in values
    ]


def stop_words(told: Sequence[Told]) -> str:
    """What stops a tick that a phone sends by itself, in a line that stands beside it."""
    return (
        f"Not marked. Stop: {told[0].first} Open its page and mark it there to answer."
        if told
        else ""
    )
