"""Phases of a room: where each stands, the warnings before a step, the person's own phases, and
notes."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from remodel.board.queries import old_figures, view_of
from remodel.bridge.lengths import shown_amount
from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.house.models import Room
from remodel.logbook import Closing, closing_of, phase_step
from remodel.order_of_work import order_of
from remodel.pages.editing import Seen, by_of, edit, offer_undo, page, posted
from remodel.pages.house.glance import glance_at
from remodel.pages.house.room_page import needs_shown, next_steps_of
from remodel.pages.house.stands import stands_of
from remodel.pages.house.views_room import room_with_phases
from remodel.pages.next_steps import next_phase
from remodel.pages.stops import asked_first
from remodel.pages.work.added import added_shown
from remodel.pages.work.coats import coats_of
from remodel.pages.work.forms_phases import NoteForm, PhaseAddForm, PhaseForm
from remodel.people.http import SiteRequest
from remodel.people.queries import row_for
from remodel.web.forms import HouseForm
from remodel.web.responses import go, say
from remodel.work import services
from remodel.work.models import Note, Phase, PhaseState
from remodel.work.queries import takes_something

__all__ = [
    "note_remove",
    "phase_add",
    "phase_detail",
    "phase_leave_out",
    "phase_move",
    "phase_remove",
    "room_close",
    "room_note_add",
    "room_phases",
]

# The states that may be followed by done.
_MAY_BE_DONE = (PhaseState.NOT_STARTED, PhaseState.READY, PhaseState.IN_PROGRESS)
# the step a page offers first, by where a phase stands
NEXT_STEP = {
    PhaseState.NOT_STARTED: PhaseState.IN_PROGRESS,
    PhaseState.BLOCKED: PhaseState.READY,
    PhaseState.READY: PhaseState.IN_PROGRESS,
    PhaseState.IN_PROGRESS: PhaseState.DONE,
    PhaseState.DONE: PhaseState.DONE,
}


@require_http_methods(["GET", "POST"])
def phase_detail(request: SiteRequest, phase_id: UUID) -> HttpResponse:
    """A phase: its state, the warnings before the next step, what it takes, its notes."""
    phase = _phase(request, phase_id, write=request.method == "POST")
    asked = request.GET.get("state", "")
    wanted = asked if asked in PhaseState.values else phase.state
    may_close = phase.state in _MAY_BE_DONE and takes_something(phase)
    closing = closing_of(phase) if may_close else None
    form = PhaseForm(
        posted(request),
        phase=phase,
        leftovers=closing.leftovers if closing else (),
        units=phase.room.house.units,
        seen=Seen.of(phase),
        initial={"state": wanted, "waits_for": phase.waits_for},
    )

    def write(by: By) -> Phase:
        state, waits_for = form.cleaned_data["state"], form.cleaned_data["waits_for"]
        return phase_step(
            by=by, phase=phase, state=state, waits_for=waits_for, remaining=form.remaining
        )

    stopped = _asked_first(request, phase, form)
    if stopped is not None:
        return stopped
    answer = edit(
        request,
        form,
        "work/phase.html",
        lambda: _context(_phase(request, phase_id), form, closing),
        write=write,
        then=lambda phase: _done(
            request, phase, f"{phase.name}: {phase.get_state_display().lower()}"
        ),
    )
    if answer.status_code >= 400 and request.htmx and request.POST.get("quick"):
        return _to_phase(request, phase)
    return answer


def _to_phase(request: SiteRequest, phase: Phase) -> HttpResponse:
    """From the short way on the room's page to the phase's own, which has the questions."""
    state = urlencode({"state": request.POST.get("state", "")})
    return go(request, f"{reverse('phase-detail', args=[phase.pk])}?{state}")


def _asked_first(request: SiteRequest, phase: Phase, form: PhaseForm) -> HttpResponse | None:
    """What stops the step that is about to be chosen."""
    if not form.is_bound or not form.is_valid():
        return None
    state = form.cleaned_data["state"]
    if state == phase.state:
        return None
    asked = asked_first(
        request,
        phase.room,
        lambda order: order.of_move(phase, state),
        back=reverse("phase-detail", args=[phase.pk]),
        coldest=form.cleaned_data.get("coldest"),
    )
    if asked is not None and request.htmx and request.POST.get("quick"):
        return _to_phase(request, phase)
    return asked


def _context(phase: Phase, form: PhaseForm, closing: Closing | None) -> dict[str, Any]:
    step = form["state"].value()
    if step == phase.state:
        step = NEXT_STEP[PhaseState(phase.state)]
    order = order_of(phase.room)
    told = order.told(order.of_move(phase, step)) if phase.state != PhaseState.DONE else []
    view = view_of(phase.room)
    room_needs = [line for line in view.needs if line.phase == phase.key] if view else []
    groups = []
    if view and room_needs:
        units = phase.room.house.units
        names = {phase.key: phase.name}
        groups = needs_shown(room_needs, view, units, stands_of(phase.room), names)
    return {
        "house": phase.room.house,
        "section": "rooms",
        "room": phase.room,
        "phase": phase,
        "code": phase.state.replace(" ", "_"),
        "told": told,
        "groups": groups,
        "has_sticks": any(line.need.lengths for line in room_needs),
        "old_figures": old_figures(phase.room.house_id),
        "closing": closing,
        "used_as_planned": _used_words(closing, phase.room.house.units) if closing else "",
        "coats": coats_of(phase),
        "added": added_shown(phase),
        "notes": list(Note.objects.filter(phase=phase).select_related("person")),
        "note_form": NoteForm(),
    }


def _used_words(closing: Closing, units: str) -> str:
    """What is used by estimate, in one line: about 3 gal of Lightweight compound."""
    words = []
    for name, amount in closing.used:
        size = shown_amount(amount, units)
        words.append(
            f"about {size.removesuffix(' each')} × {name}"
            if amount.unit == "each"
            else f"about {size} of {name}"
        )
    return ", ".join(words)


@require_GET
def room_phases(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """All phases of a room, with forms to add, move, leave out and remove them."""
    room = room_with_phases(request, room_id)
    return _phases_page(request, room)


@require_POST
def phase_add(request: SiteRequest, room_id: UUID) -> HttpResponse:
    room = room_with_phases(request, room_id, write=True)
    form = PhaseAddForm(request.POST, phases=_in_order(room))

    def write(by: By) -> Phase:
        after = next(
            (phase for phase in _in_order(room) if str(phase.pk) == form.cleaned_data["after"]),
            None,
        )
        return services.phase_add(by=by, room=room, name=form.cleaned_data["name"], after=after)

    return edit(
        request,
        form,
        "work/phases.html",
        _phases_context(room),
        write=write,
        then=lambda _: _after_phases(request, room, "The phase is added"),
    )


@require_POST
def phase_move(request: SiteRequest, phase_id: UUID) -> HttpResponse:
    """Swap a phase with its neighbor. A press that is sent twice moves it once."""
    phase = _phase(request, phase_id, write=True)
    form = HouseForm(request.POST)
    form.full_clean()
    services.phase_move(by=by_of(request, form), phase=phase, up=request.POST.get("way") == "up")
    return _after_phases(request, phase.room, f"{phase.name} is moved")


@require_POST
def phase_leave_out(request: SiteRequest, phase_id: UUID) -> HttpResponse:
    """Leave a phase out of a room, or take it in again."""
    phase = _phase(request, phase_id, write=True)
    out = request.POST.get("left_out") == "yes"
    services.phase_change(by=By(request.person), phase=phase, left_out=out)
    return _after_phases(
        request, phase.room, f"{phase.name} is {'left out' if out else 'part of the work'}"
    )


@require_POST
def phase_remove(request: SiteRequest, phase_id: UUID) -> HttpResponse:
    phase = _phase(request, phase_id, write=True)
    try:
        services.phase_remove(by=By(request.person), phase=phase)
    except Refused as error:
        return _phases_page(
            request, room_with_phases(request, phase.room_id), status=422, refused=str(error)
        )
    offer_undo(request, f"Removed the phase {phase.name}.", phase)
    return go(request, "room-phases", phase.room_id)


@require_POST
def room_close(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """Set every phase of a room to done."""
    room = room_with_phases(request, room_id, write=True)
    asked = asked_first(
        request,
        room,
        lambda order: order.of_closing(room),
        back=reverse("room-phases", args=[room.pk]),
    )
    if asked is not None:
        return asked
    try:
        services.room_close(by=By(request.person), room=room)
    except Refused as error:
        return _phases_page(
            request, room_with_phases(request, room_id), status=422, refused=str(error)
        )
    messages.info(request, f"{room.name} is closed: every phase is done.")
    return go(request, "room-phases", room.pk)


@require_POST
def room_note_add(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """Add a note to the room or to one of its phases."""
    room = room_with_phases(request, room_id, write=True)
    phase = next(
        (phase for phase in room.phases.all() if str(phase.pk) == request.POST.get("phase", "")),
        None,
    )
    form = NoteForm(request.POST)
    return edit(
        request,
        form,
        "work/note.html",
        {"house": room.house, "section": "rooms", "room": room, "phase": phase},
        write=lambda by: services.note_add(
            by=by, house=room.house, room=room, phase=phase, text=form.cleaned_data["text"]
        ),
        then=lambda _: (
            go(request, "phase-detail", phase.pk) if phase else go(request, "room-detail", room.pk)
        ),
    )


@require_POST
def note_remove(request: SiteRequest, note_id: UUID) -> HttpResponse:
    notes = Note.objects.select_related("room", "phase")
    note = row_for(request.person, notes, note_id, through="house", write=True)
    services.note_remove(by=By(request.person), note=note)
    offer_undo(request, "Removed the note.", note)
    if note.phase_id:
        return go(request, "phase-detail", note.phase_id)
    return (
        go(request, "room-detail", note.room_id)
        if note.room_id
        else go(request, "house-detail", note.house_id)
    )


def _phase(request: SiteRequest, phase_id: UUID, *, write: bool = False) -> Phase:
    phases = Phase.objects.select_related("room__house", "room__behind")
    return row_for(request.person, phases, phase_id, through="room__house", write=write)


def _in_order(room: Room) -> list[Phase]:
    return sorted(room.phases.all(), key=lambda phase: phase.position)


def _phases_page(
    request: SiteRequest, room: Room, *, status: int = 200, refused: str = "", message: str = ""
) -> HttpResponse:
    form = PhaseAddForm(phases=_in_order(room))
    context = _phases_context(room) | {"refused": refused}
    return page(request, "work/phases.html", context, form=form, status=status, message=message)


def _phases_context(room: Room) -> dict[str, Any]:
    phases = _in_order(room)
    return {
        "house": room.house,
        "room": room,
        "phases": phases,
        "is_open": any(phase.state != PhaseState.DONE for phase in phases if not phase.left_out),
    }


def _after_phases(request: SiteRequest, room: Room, message: str) -> HttpResponse:
    if not request.htmx:
        return go(request, "room-phases", room.pk)
    return _phases_page(request, room_with_phases(request, room.pk), message=message)


def _done(request: SiteRequest, phase: Phase, message: str) -> HttpResponse:
    """Go back to the room. From the room's own page, only the phases are swapped."""
    if not (request.htmx and request.POST.get("quick")):
        return go(request, "room-detail", phase.room_id)
    room = room_with_phases(request, phase.room_id)
    order = order_of(room)
    context = {
        "house": room.house,
        "room": room,
        "glance": glance_at(room, None, next_phase(order, room, _in_order(room))),
        "next_steps": next_steps_of(room, order),
    }
    return say(render(request, "rooms/now.html#phases", context), message)
