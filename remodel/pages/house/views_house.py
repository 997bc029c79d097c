"""The house and its rooms at a glance."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET

from remodel.board.queries import old_figures
from remodel.choices import open_choices
from remodel.house.models import House, Room
from remodel.house.queries import rooms_of
from remodel.order_of_work import order_of_house
from remodel.pages.house.glance import Glance, PhaseCell, rooms_at_a_glance
from remodel.pages.money_bar import bar_of
from remodel.pages.next_steps import Links, next_phase, tasks_of
from remodel.pages.open_choices import foremost
from remodel.pages.people.modes import may_restore
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for
from remodel.supply.money import money_of
from remodel.supply.standing import standing_of
from remodel.web.parts import Task
from remodel.work.models import PhaseState

__all__ = ["house_detail", "room_list"]

_FEW = (
    25  # of more rooms choices are listed on a page of their own, for finding them takes a moment
)


@require_GET
def house_detail(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Every room with its phases, what can be done now and what waits, and the money."""
    house = house_for(request.person, house_id)
    standing = standing_of(house)
    money = money_of(house, standing)
    to_buy: Counter[UUID] = Counter()
    for job, parts in money.rows.items():
        if job is not None and job in standing.jobs:
            to_buy[standing.jobs[job].room] += parts.to_buy
    rooms = _rooms(house)
    phases = [phase for room in rooms for phase in room.phases.all()]
    order = order_of_house(house, standing.takes, phases)
    glances = [
        replace(
            glance,
            to_buy=to_buy[glance.room.pk],
            next=next_phase(order, glance.room, glance.progress.phases),
        )
        for glance in rooms_at_a_glance(rooms)
    ]
    open_ = [glance for glance in glances if not glance.finished]
    context = {
        "house": house,
        "open_rooms": open_,
        "finished_rooms": [glance for glance in glances if glance.finished],
        "at_hand": _at_hand(open_),
        "next": tasks_of(order, Links(house, [glance.room for glance in open_], phases)),
        "choices": foremost(house, open_choices(house, order, rooms))
        if 0 < len(open_) <= _FEW
        else [],
        "waiting": _waiting(open_),
        "done": sum(glance.progress.done for glance in open_),
        "of": sum(glance.progress.of for glance in open_),
        "bar": bar_of(house, money),
        "old_figures": old_figures(house.pk),
        # Beside the demo house alone: whoever has a house of their own has nothing to restore.
        "restore": house.is_demo and may_restore(request),
    }
    return render(request, "house/house.html", context)


@require_GET
def room_list(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Every room with its outline, all at one scale, and what its boards come to."""
    house = house_for(request.person, house_id)
    context = {
        "house": house,
        "rooms": rooms_at_a_glance(_rooms(house)),
        "old_figures": old_figures(house.pk),
    }
    return render(request, "house/rooms.html", context)


def _rooms(house: House) -> list[Room]:
    return list(rooms_of(house).defer("result__before"))


def _at_hand(rooms: list[Glance]) -> list[Task]:
    """The phases in progress, then those that are ready."""
    tasks = [
        (
            cell.code != "in_progress",
            Task(name=f"{cell.phase.name}, {room.room.name}", status=cell.code, url=_url(cell)),
        )
        for room in rooms
        for cell in room.cells
        if cell.phase.state in (PhaseState.IN_PROGRESS, PhaseState.READY)
    ]
    return [task for _, task in sorted(tasks, key=lambda pair: pair[0])]


def _waiting(rooms: list[Glance]) -> list[Task]:
    return [
        Task(
            name=f"{cell.phase.name}, {room.room.name}",
            status=cell.code,
            url=_url(cell),
            waits_for=cell.phase.waits_for,
        )
        for room in rooms
        for cell in room.cells
        if cell.phase.state == PhaseState.BLOCKED
    ]


def _url(cell: PhaseCell) -> str:
    return reverse("phase-detail", args=[cell.phase.pk])
