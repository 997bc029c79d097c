"""The page that asks before work goes on where something stops it, and its answers.

    asked = asked_first(request, phase.room, lambda order: order.of_day(phase), back=back)
    if asked is not None:
        return asked

All that stops one press stands on one page. What is done is ticked there; the rest is accepted with
one reason for all, or with one of its own; or the work is put off. What was done and accepted is
written once every stop has an answer; then the press goes on as if nothing had been asked.

A rule that only asks (closing a face before its first board) stands there too. Going on answers it,
with or without a reason.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from django.http import HttpResponse
from django.shortcuts import render
from django_htmx.http import reswap, retarget

from remodel.history.services import By
from remodel.house.models import Room
from remodel.house.queries import face_names
from remodel.order_of_work import (
    Doing,
    OrderOfWork,
    Told,
    accept,
    close_face,
    order_of,
    say_step,
)
from remodel.pages.next_steps import Links
from remodel.people.http import SiteRequest
from remodel.web.responses import say

__all__ = ["StopShown", "asked_first", "stop_words"]

_FIELDS = "stops-"
_ASKED, _WHY_ALL = f"{_FIELDS}asked", f"{_FIELDS}why"
_DONE, _WHY = f"{_FIELDS}done-", f"{_FIELDS}why-"
_NOT_SENT_AGAIN = "csrfmiddlewaretoken"
_LONGEST_REASON = 2000
_CLOSING = "close-faces"
_UNSAID = "Asked, and went on"  # why people went on past what only asks


@dataclass(frozen=True, slots=True, kw_only=True)
class StopShown:
    """One thing to answer, as the page asks about it. `done` is what a person says where it is
    done, empty where that is told elsewhere: at `url`. `is_done` and `reason` are what was ticked
    and typed; `needs_reason` is where neither was, nor a reason for all."""

    told: Told
    done: str
    url: str = ""
    is_done: bool = False
    reason: str = ""
    needs_reason: bool = False

    @property
    def name(self) -> str:
        return self.told.key


def asked_first(
    request: SiteRequest,
    rooms: Room | Sequence[Room],
    doings: Callable[[OrderOfWork], Sequence[Doing]],
    *,
    back: str,
    coldest: Decimal | None = None,
    kept: Callable[[], Sequence[tuple[str, str]]] = list,
    order: OrderOfWork | None = None,
) -> HttpResponse | None:
    """The page that asks about what stops some steps; None where nothing does, or all is answered.

    `rooms` are those whose steps they are, `back` is where a person goes who puts it off. `kept`
    gives fields to send again in place of those that came, for files, which no field can send.
    `order` is the order of work of those rooms, where it is read already.
    """
    some = [rooms] if isinstance(rooms, Room) else list(rooms)
    if not some:
        return None
    order = order or order_of(*some, coldest=coldest)
    told = order.told(doings(order))
    to_answer = [one for one in told if one.severity == "stop" or one.asks]
    if not to_answer:
        return None
    answers = [_answered(request, some, one) for one in to_answer]
    if _ASKED in request.POST and not any(one.needs_reason for one in answers):
        _write(request, some, answers)
        return None
    links = Links(some[0].house, some)
    answers = [_linked(one, links) for one in answers]
    instead = kept()
    stops = [one for one in answers if not one.told.asks]
    context = {
        "house": some[0].house,
        "room": some[0] if len(some) == 1 else None,
        "section": "rooms",
        "stops": stops,
        "asks": [one for one in answers if one.told.asks],
        "think": [one for one in told if one not in to_answer],
        "can_say": any(one.done for one in stops),
        "why": _reason(request, _WHY_ALL),
        "asks_reason": any(one.needs_reason for one in answers) and _ASKED in request.POST,
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


def _answered(request: SiteRequest, rooms: Iterable[Room], told: Told) -> StopShown:
    """A thing to answer, with what was ticked and typed."""
    done = told.after.kind.done if told.after and not told.short else ""
    if told.after and told.after.kind.id == _CLOSING:
        done = f"We looked: close {_faces_in_words(rooms, told)}"
    is_done = bool(done) and f"{_DONE}{told.key}" in request.POST
    reason = _reason(request, f"{_WHY}{told.key}") or _reason(request, _WHY_ALL)
    return StopShown(
        told=told,
        done=done,
        is_done=is_done,
        reason=_reason(request, f"{_WHY}{told.key}"),
        needs_reason=not (is_done or reason or told.asks),
    )


def _reason(request: SiteRequest, name: str) -> str:
    return request.POST.get(name, "").strip()[:_LONGEST_REASON]


def _faces_in_words(rooms: Iterable[Room], told: Told) -> str:
    room = next(room for room in rooms if room.key == told.room)
    names = face_names(room, sorted(told.faces))
    return ", ".join(names.values())


def _linked(one: StopShown, links: Links) -> StopShown:
    """With the page where it is told that the step is done, where it cannot be told here."""
    if one.done or one.told.after is None or one.told.short or one.told.asks:
        return one
    return replace(one, url=links.of(one.told.after))


def _write(request: SiteRequest, rooms: Sequence[Room], answers: Sequence[StopShown]) -> None:
    by, house = By(request.person), rooms[0].house
    closing = []
    for one in answers:
        after = one.told.after
        if one.is_done and after is not None and after.kind.id == _CLOSING:
            closing.append(one.told)
        elif one.is_done and after is not None:
            say_step(by=by, house=house, step=after)
        else:
            reason = one.reason or _reason(request, _WHY_ALL) or _UNSAID
            accept(by=by, house=house, told=one.told, reason=reason)
    # A face is closed last, for it keeps the reasons of what it is closed without.
    for told in closing:
        room = next(room for room in rooms if room.key == told.room)
        for face in sorted(told.faces):
            close_face(by=by, room=room, face=face)


def _sent_again(request: SiteRequest, kept: set[str]) -> list[tuple[str, str]]:
    return [
        (name, value)
        for name, values in request.POST.lists()
        if name != _NOT_SENT_AGAIN and name not in kept and not name.startswith(_FIELDS)
        for value in values
    ]


def stop_words(told: Sequence[Told]) -> str:
    """What stops a tick that a phone sends by itself, in a line that stands beside it."""
    return (
        f"Not marked. First: {told[0].first} Open its page and mark it there to answer."
        if told
        else ""
    )
