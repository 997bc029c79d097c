"""What was changed by whom and when, and taking it back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET, require_POST

from remodel.history.errors import AlreadyUndone, CannotUndo, Refused
from remodel.history.models import Change
from remodel.history.queries import Entry, entries
from remodel.history.services import undo
from remodel.house.models import House, Room
from remodel.pages.against_hung import BACK, answer_of, done_or_asked
from remodel.pages.history.changes import differences, tell, title_of
from remodel.pages.order_watch import OrderWatch
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for, room_for
from remodel.web.responses import go

__all__ = ["change_undo", "house_history", "room_history"]


_A_PAGE = 50
_STOCK = " What it took from stock stays taken; fix that under what is on hand."


@require_GET
def room_history(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """Every change of a room, latest first, each with its Undo."""
    room = room_for(request.person, room_id)
    writes = entries(house=room.house_id, room=room.pk, before=_before(request))
    return render(
        request,
        "history/history.html",
        {"house": room.house, "room": room, **_told(writes, room.house)},
    )


@require_GET
def house_history(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Every change of a house, the removal of rooms included."""
    house = house_for(request.person, house_id)
    writes = entries(house=house.pk, before=_before(request))
    return render(request, "history/history.html", {"house": house, **_told(writes, house)})


def _before(request: SiteRequest) -> int | None:
    text = request.GET.get("before", "")
    if not text:
        return None
    if not (text.isascii() and text.isdigit() and len(text) < 19):
        raise Http404("No such place in the history")
    return int(text)


def _told(writes: list[Entry], house: House) -> dict[str, object]:
    rooms = dict(Room.all_objects.filter(house=house).values_list("pk", "name"))
    shown = [
        {
            "entry": entry,
            "title": title_of(entry, _where(entry, rooms)),
            "rows": tell(entry, house.units),
            "can_undo": not _stands(entry.changes, house.pk) and not _is_ticked(entry.changes),
        }
        for entry in writes
    ]
    return {
        "entries": shown,
        "earlier": writes[-1].changes[0].pk if len(writes) == _A_PAGE else None,
    }


def _where(entry: Entry, rooms: Mapping[UUID, str]) -> str:
    """The room that a write was in, where it was one."""
    at = {change.room for change in entry.changes if change.room}
    return rooms.get(at.pop(), "") if len(at) == 1 else ""


def _stands(changes: Iterable[Change], house: UUID) -> bool:
    """Whether a write cannot be undone from a page.

    This holds for what a person did with a board plan, which is gone back on at the plan; for the
    write that made the house itself (the house is removed instead), and for one
    that placed an order, because money and stock depend on it (the order is closed, or packs are
    returned). It also holds for one that removed the house or put it back: each has a page of its
    own.
    """
    return any(
        change.model == "board.plan"
        or (change.row == house and (change.before is None or "deleted_at" in change.fields))
        or (
            change.model == "supply.order"
            and change.before is not None
            and "draft" in change.fields.get("state", ())
        )
        for change in changes
    )


def _is_ticked(changes: Iterable[Change]) -> bool:
    """Whether a write ticked something. It moved stock, and is taken back where it was ticked."""
    return any(change.model == "cards.donemark" for change in changes)


@require_POST
def change_undo(request: SiteRequest, group: UUID) -> HttpResponse:
    """Undo a write. Where something was changed again since, both values are shown and nothing is
    undone."""
    change = Change.objects.filter(group=group).order_by("id").first()
    if change is None or change.house is None:
        raise Http404("No such change")
    house = house_for(request.person, change.house, write=True)
    changes = list(Change.objects.filter(group=group))
    if _stands(changes, house.pk):
        raise Http404("What made the house or placed an order is not undone here")
    room = _room(change, house)
    if answer_of(request) == BACK:
        return _back(request, room, house)
    watch = OrderWatch(house)
    try:
        asked = done_or_asked(request, room or house, lambda by: undo(by=by, group=group))
        if asked is not None:
            return asked
    except CannotUndo as error:
        context = {
            "house": house,
            "room": room,
            "what": change.what,
            "rows": differences(error, house.units),
        }
        return render(request, "history/cannot_undo.html", context, status=409)
    except (AlreadyUndone, Refused) as error:
        messages.info(request, str(error))
    else:
        logged = any(change.model == "work.daylog" and change.before is None for change in changes)
        messages.info(request, f"Undone: {change.what}.{_STOCK if logged else ''}")
        watch.tell(request)
    return _back(request, _room(change, house), house)


def _back(request: SiteRequest, room: Room | None, house: House) -> HttpResponse:
    return go(request, "room-detail", room.pk) if room else go(request, "house-detail", house.pk)


def _room(change: Change, house: House) -> Room | None:
    return Room.objects.filter(pk=change.room, house=house).first() if change.room else None
