"""What is next in a house and in a room, and what people say of the order of work."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.db.models import QuerySet
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_GET, require_POST

from remodel.bridge import house_value
from remodel.bridge.landing import landings_of
from remodel.history.services import By
from remodel.house.models import House, Partition, Room
from remodel.house.queries import face_names, whole_house
from remodel.order_of_work import OrderOfWork, accept_no_more, order_of, order_of_house, say_step
from remodel.pages.next_steps import Links, next_shown
from remodel.pages.stops import asked_first
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for, room_for, row_for
from remodel.work.models import AcceptedStop, SaidStep

__all__ = ["house_next", "room_next", "step_said", "stop_again"]


@require_GET
def house_next(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """What can start in every room of a house, what the rest waits for, and what was accepted."""
    house = house_for(request.person, house_id)
    order = order_of_house(house)
    rooms = list(Room.objects.filter(house=house))
    links = Links(house, rooms)
    context = {
        "house": house,
        "next": next_shown(order.outlook, links),
        "closing": [(room, count) for room in rooms if (count := len(order.faces_to_close(room)))],
        "accepted": list(AcceptedStop.objects.filter(house=house).select_related("room", "person")),
        "said": _said(order, SaidStep.objects.filter(house=house)),
        "section": "house",
    }
    return render(request, "work/next.html", context)


@require_GET
def room_next(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """What can start in a room, what the rest waits for, and what was accepted there."""
    room = room_for(request.person, room_id)
    order = order_of(room)
    names = face_names(room, sorted(order.faces_to_close(room)))
    context = {
        "house": room.house,
        "room": room,
        "to_close": names.items(),
        "unheld": _unheld(room, order),
        "next": next_shown(order.outlook.of_room(room.key), Links(room.house, [room])),
        "accepted": list(AcceptedStop.objects.filter(room=room).select_related("room", "person")),
        "said": _said(order, SaidStep.objects.filter(room=room)),
        "section": "rooms",
    }
    return render(request, "work/next.html", context)


def _unheld(room: Room, order: OrderOfWork) -> list[tuple[Partition, str]]:
    """The partitions still to be framed after board that nothing is known to hold, each with where
    that is so."""
    later = [
        partition
        for partition in Partition.objects.filter(room=room, framed="after")
        if (step := order.graph.steps.get(f"{room.key}/partition-later/{partition.key}"))
        and not (step.is_done or partition.blocking_recorded)
    ]
    if not later:
        return []
    house = house_value(whole_house(room.house_id))
    found = []
    for partition in later:
        landings = landings_of(house, room.key, partition.key)
        places = [one.where for one in landings if not one.held]
        found += [(partition, ", ".join(places))] if places else []
    return found


def _said(order: OrderOfWork, rows: QuerySet[SaidStep]) -> list[dict[str, Any]]:
    """What people said is done, with the step it is; steps that are gone are left out."""
    steps = order.graph.steps
    return [
        {"row": row, "step": steps[row.step]}
        for row in rows.filter(done=True).select_related("person")
        if row.step in steps
    ]


@require_POST
def step_said(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Say that a step is done, or that it is not after all."""
    house = house_for(request.person, house_id, write=True)
    id_ = request.POST.get("step", "")
    order = order_of_house(house)
    step = order.graph.steps.get(id_)
    if step is None or not step.kind.done:
        raise Http404("No such step")
    done = request.POST.get("done") == "yes"
    room = Room.objects.filter(house=house, key=step.room).select_related("house", "behind").first()
    if done and room is not None:
        asked = asked_first(
            request,
            room,
            lambda order: order.of_step(step),
            back=_back(request, house),
            order=order,
        )
        if asked is not None:
            return asked
    say_step(by=By(request.person), house=house, step=step, done=done)
    messages.info(request, f"{'Done' if done else 'Not done'}: {step.name}.")
    return HttpResponseRedirect(_back(request, house))


@require_POST
def stop_again(request: SiteRequest, accepted_id: UUID) -> HttpResponse:
    """Have a stop asked for again that was accepted."""
    rows = AcceptedStop.objects.select_related("room", "house")
    accepted = row_for(request.person, rows, accepted_id, through="house", write=True)
    accept_no_more(by=By(request.person), accepted=accepted)
    messages.info(request, f"It is asked for again: {accepted.text}")
    return HttpResponseRedirect(_back(request, accepted.house))


def _back(request: SiteRequest, house: House) -> str:
    to = request.POST.get("back", "")
    if to.startswith("/") and url_has_allowed_host_and_scheme(to, allowed_hosts=None):
        return to
    return reverse("house-next", args=[house.pk])
