"""Plans of a room compared, accepted, given up and moved on, and what a search found meanwhile."""

from __future__ import annotations

from collections.abc import Callable
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST
from django_htmx.http import HttpResponseClientRefresh

from remodel.board import plans
from remodel.board.models import Plan
from remodel.board.queries import board_of, old_figures
from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.house.models import Room
from remodel.pages.board.compare import compared
from remodel.pages.board.ways import ways_shown
from remodel.pages.house.room_page import boards_context, seen_mark
from remodel.pages.house.views_room import room_with_phases
from remodel.pages.stops import asked_first
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for, room_for, row_for
from remodel.web.responses import go, say

__all__ = [
    "house_figures",
    "plan_compare",
    "plan_leave",
    "plan_note_read",
    "plan_step",
    "plan_take",
    "room_boards",
    "room_plan_keep",
    "room_ways",
]

_NOT_OFFERED = "This plan is not offered any more: the room changed, or another took its place."


@require_GET
def room_boards(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """A room's boards. Asked again from its own page with `?seen=`, the part that is swapped in
    once a search has found something; 204 while nothing is new."""
    room = room_with_phases(request, room_id)
    if not request.htmx or "seen" not in request.GET:
        return render(request, "rooms/boards.html", boards_context(room))
    if request.GET["seen"] == seen_mark(board_of(room)):
        return HttpResponse(status=204)
    return render(request, "rooms/boards.html#swapped", boards_context(room) | {"swapping": True})


@require_GET
def room_ways(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """Other ways to board a room beside its plan: the one in `?way=`, worked out now."""
    room = room_for(request.person, room_id)
    context = {"house": room.house, "room": room, "section": "rooms"}
    context["shown"] = ways_shown(room, request.GET.get("way", ""))
    return render(request, "board/ways.html", context)


@require_GET
def house_figures(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """The line that says that figures are old, which asks for itself until they are not.

    `?then=` says what comes after: `reload` loads the page again, `link` offers that where a form
    may be half filled in, and `nothing` leaves it to the page.
    """
    house = house_for(request.person, house_id)
    if not request.htmx:
        return go(request, "house-detail", house.pk)
    asked = request.GET.get("then", "")
    then = asked if asked in ("reload", "link") else "nothing"
    old = old_figures(house.pk)
    if old is not None:
        context = {"house": house, "old_figures": old, "then": then}
        return render(request, "_old_figures.html", context)
    if then == "reload":
        return HttpResponseClientRefresh()
    if then == "link":
        return say(render(request, "_new_figures.html"), "The new figures are ready")
    return HttpResponse()


@require_GET
def plan_compare(request: SiteRequest, plan_id: UUID) -> HttpResponse:
    """A better or an earlier plan beside the one the room uses, with what differs."""
    rows = Plan.objects.select_related("room__house")
    plan = row_for(request.person, rows, plan_id, through="room__house")
    room = _shown(request.GET.get("room", ""), plan.room)
    both = compared(plan)
    if both is None:
        messages.info(request, _NOT_OFFERED)
        return go(request, "room-boards", room.pk)
    context = {"house": plan.room.house, "room": room, "plan": plan, "both": both}
    return render(request, "board/compare.html", context | {"section": "rooms"})


@require_POST
def plan_take(request: SiteRequest, plan_id: UUID) -> HttpResponse:
    """Accept the plan on offer, or one of before."""
    dropped = _dropped(request, plan_id)
    if dropped is not None:
        return dropped
    plan = _plan(request, plan_id)
    again = bool(plan.fallen_from)
    return _answer(
        request,
        plan.room,
        lambda by: plans.plan_accept(by=by, plan=plan),
        "The earlier plan is used again" if again else "The plan is accepted",
    )


@require_POST
def plan_leave(request: SiteRequest, plan_id: UUID) -> HttpResponse:
    """Turn the plan on offer down, or give up the accepted one."""
    dropped = _dropped(request, plan_id)
    if dropped is not None:
        return dropped
    plan = _plan(request, plan_id)
    message = (
        "The current plan is kept"
        if plan.state == Plan.State.PROPOSED
        else "A better plan takes its place by itself once one is found"
    )
    return _answer(request, plan.room, lambda by: plans.plan_leave(by=by, plan=plan), message)


@require_POST
def plan_note_read(request: SiteRequest, plan_id: UUID) -> HttpResponse:
    """Note that what a plan changed was read, so that the page says it no more."""
    plan = _plan(request, plan_id)
    return _answer(
        request, plan.room, lambda by: plans.plan_note_read(by=by, plan=plan), "Noted as read"
    )


@require_POST
def plan_step(request: SiteRequest, plan_id: UUID) -> HttpResponse:
    """Move a plan that stands one step on (ordered, cut, hung), or one step back."""
    plan = _plan(request, plan_id)
    state = request.POST.get("state", "")
    asked = (
        asked_first(
            request,
            rooms := _rooms_of(plan),
            lambda order: order.of_plan(rooms, state),
            back=reverse("room-boards", args=[plan.room_id]),
        )
        if _is_forward(plan, state)
        else None
    )
    if asked is not None:
        return asked
    return _answer(
        request,
        plan.room,
        lambda by: plans.plan_set_state(by=by, plan=plan, state=state),
        f"The plan is {state} now",
    )


def _rooms_of(plan: Plan) -> list[Room]:
    """The rooms that a plan boards, its own first: those bought with it, and those behind their
    partitions."""
    head = plan.room
    heads = Room.objects.filter(house=head.house_id, pile=head.pile) if head.pile else ()
    first = [head, *(other for other in heads if other.pk != head.pk and other.behind_id is None)]
    behind = Room.objects.filter(behind__room__in=[room.pk for room in first])
    return [*first, *behind]


def _is_forward(plan: Plan, state: str) -> bool:
    """Whether a state is a step on from where a plan stands, not one back."""
    steps = ("accepted", "ordered", "cut", "hung")
    return state in steps and plan.state in steps and steps.index(state) > steps.index(plan.state)


@require_POST
def room_plan_keep(request: SiteRequest, room_id: UUID, board: str, thickness: int) -> HttpResponse:
    """Accept the plan that the room shows, so that nothing replaces it."""
    room = room_with_phases(request, room_id, write=True)
    return _answer(
        request,
        room,
        lambda by: plans.plan_keep(by=by, room=room, board=board, thickness=thickness),
        "The plan is accepted; nothing replaces it unasked",
    )


def _plan(request: SiteRequest, plan_id: UUID) -> Plan:
    plans = Plan.objects.select_related("room__house")
    return row_for(request.person, plans, plan_id, through="room__house", write=True)


def _dropped(request: SiteRequest, plan_id: UUID) -> HttpResponse | None:
    """The answer to a press on a plan that was forgotten since its page was made; None where the
    plan is there."""
    if Plan.objects.filter(pk=plan_id).exists():
        return None
    try:
        room = room_with_phases(request, UUID(request.POST.get("room", "")), write=True)
    except ValueError:
        return None
    return _answer(request, room, _refuse, "")


def _refuse(by: By) -> None:
    raise Refused(_NOT_OFFERED.removesuffix("."))


def _answer(
    request: SiteRequest, room: Room, write: Callable[[By], object], message: str
) -> HttpResponse:
    shown = _shown(request.POST.get("room", ""), room)
    wrong = ""
    try:
        write(By(request.person))
    except Refused as error:
        wrong = str(error)
    if not request.htmx:
        messages.info(request, f"{wrong or message}.".replace("..", "."))
        return go(request, "room-boards", shown.pk)
    context = boards_context(room_with_phases(request, shown.pk)) | {
        "swapping": True,
        "plan_refused": wrong,
    }
    answer = render(request, "rooms/boards.html#swapped", context, status=422 if wrong else 200)
    return say(answer, wrong or message)


def _shown(asked: str, room: Room) -> Room:
    """The room from whose page somebody comes. The plan itself belongs to the head room of its
    pile."""
    return next(
        (
            candidate
            for candidate in Room.objects.filter(house=room.house_id)
            if str(candidate.pk) == asked
        ),
        room,
    )
