"""Phases of a room: where each stands, what to think of first, the person's own, and notes."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from remodel.board.queries import view_of
from remodel.history.answers import offer_undo
from remodel.history.errors import Refused, Stale
from remodel.history.services import By
from remodel.history.words import differences, who_changed
from remodel.house.glance import glance_at
from remodel.house.models import Room
from remodel.house.room_page import needs_shown
from remodel.house.views_room import room_with_phases
from remodel.people.http import SiteRequest
from remodel.people.queries import row_for
from remodel.web.answers import go, say
from remodel.work.forms_phases import NoteForm, PhaseAddForm, PhaseForm
from remodel.work.models import Note, Phase, PhaseState
from remodel.work.order import warnings_before
from remodel.work.services import (
    note_add,
    note_remove,
    phase_add,
    phase_change,
    phase_move,
    phase_remove,
    phase_set_state,
)

__all__ = [
    "note_remove_it",
    "phase_add_one",
    "phase_detail",
    "phase_leave_out",
    "phase_move_it",
    "phase_remove_it",
    "room_note_add",
    "room_phases",
]

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
    """A phase: its state, what to think of before the next step, what it takes, its notes."""
    writes = request.method == "POST"
    phase = _phase(request, phase_id, write=writes)
    units = phase.room.house.units
    if not writes:
        asked = request.GET.get("state", "")
        wanted = asked if asked in PhaseState.values else phase.state
        initial = {"state": wanted, "waits_for": phase.waits_for}
        form = PhaseForm(phase=phase, units=units, version=phase.version, initial=initial)
        return _page(request, phase, form)
    form = PhaseForm(request.POST, phase=phase, units=units, version=phase.version)
    if not form.is_valid():
        return _page(request, phase, form, status=422)
    state = form.cleaned_data["state"]
    warnings = warnings_before(phase, state, fahrenheit=form.cleaned_data.get("coldest"))
    stops = [each for each in warnings if each.severity == "stop"]
    if state != phase.state and stops and not form.cleaned_data["aware"]:
        form.add_error("aware", "Do what must be done first, or tick that you have read it and go on")
        return _page(request, phase, form, status=422, warnings=warnings)
    try:
        phase_set_state(
            by=By(request.person, form.written_key),
            phase=phase,
            state=state,
            version=form.cleaned_data["version"],
            waits_for=form.cleaned_data["waits_for"],
        )
    except Stale as error:
        stands = _phase(request, phase_id)
        form.take_version(stands.version)
        conflict = {"differences": differences(error, units), "who": who_changed(phase)}
        return _page(request, stands, form, status=409, warnings=warnings, conflict=conflict)
    except Refused as error:
        form.add_error(error.field if error.field in form.fields else None, str(error))
        return _page(request, phase, form, status=422, warnings=warnings)
    return _done(request, phase, f"{phase.name}: {phase.get_state_display().lower()}")


def _page(request: SiteRequest, phase: Phase, form: PhaseForm, *, status: int = 200, **more: Any) -> HttpResponse:
    if status != 200 and request.htmx and request.POST.get("quick"):
        # the short way from the room's page: the questions are on the phase's own
        state = urlencode({"state": request.POST.get("state", "")})
        return go(request, f"{reverse('phase-detail', args=[phase.pk])}?{state}")
    step = form["state"].value()
    if step == phase.state:
        step = NEXT_STEP[PhaseState(phase.state)]
    view = view_of(phase.room)
    room_needs = [line for line in view.needs if line.phase == phase.key] if view else []
    groups = needs_shown(room_needs, view, phase.room.house.units) if view and room_needs else []
    context = {
        "house": phase.room.house,
        "section": "rooms",
        "room": phase.room,
        "phase": phase,
        "form": form,
        "needs_tick": "aware" in form.errors or bool(form.is_bound and form["aware"].value()),
        "code": phase.state.replace(" ", "_"),
        "warnings": warnings_before(phase, step) if phase.state != PhaseState.DONE else [],
        "groups": groups,
        "notes": list(Note.objects.filter(phase=phase).select_related("person")),
        "note_form": NoteForm(),
        **more,
    }
    template = "work/phase.html" + ("#body" if request.htmx else "")
    return render(request, template, context, status=status)


@require_GET
def room_phases(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """All the phases of a room, to add, move, leave out and remove."""
    room = room_with_phases(request, room_id)
    return _phases_page(request, room, PhaseAddForm(phases=_in_order(room)))


@require_POST
def phase_add_one(request: SiteRequest, room_id: UUID) -> HttpResponse:
    room = room_with_phases(request, room_id, write=True)
    phases = _in_order(room)
    form = PhaseAddForm(request.POST, phases=phases)
    if not form.is_valid():
        return _phases_page(request, room, form, status=422)
    after = next((each for each in phases if str(each.pk) == form.cleaned_data["after"]), None)
    try:
        phase_add(by=By(request.person, form.written_key), room=room, name=form.cleaned_data["name"], after=after)
    except Refused as error:
        form.add_error(error.field if error.field in form.fields else None, str(error))
        return _phases_page(request, room, form, status=422)
    return _after_phases(request, room, "The phase is added")


@require_POST
def phase_move_it(request: SiteRequest, phase_id: UUID) -> HttpResponse:
    phase = _phase(request, phase_id, write=True)
    phase_move(by=By(request.person), phase=phase, up=request.POST.get("way") == "up")
    return _after_phases(request, phase.room, f"{phase.name} is moved")


@require_POST
def phase_leave_out(request: SiteRequest, phase_id: UUID) -> HttpResponse:
    """Leave a phase out of a room, or take it in again."""
    phase = _phase(request, phase_id, write=True)
    out = request.POST.get("left_out") == "yes"
    phase_change(by=By(request.person), phase=phase, left_out=out)
    return _after_phases(request, phase.room, f"{phase.name} is {'left out' if out else 'part of the work'}")


@require_POST
def phase_remove_it(request: SiteRequest, phase_id: UUID) -> HttpResponse:
    phase = _phase(request, phase_id, write=True)
    try:
        phase_remove(by=By(request.person), phase=phase)
    except Refused as error:
        room = room_with_phases(request, phase.room_id)
        form = PhaseAddForm(phases=_in_order(room))
        return _phases_page(request, room, form, status=422, refused=str(error))
    offer_undo(request, f"Removed the phase {phase.name}.", phase)
    return go(request, "room-phases", phase.room_id)


@require_POST
def room_note_add(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """Write a note down, of the room or of one of its phases."""
    room = room_with_phases(request, room_id, write=True)
    phase = next((each for each in room.phases.all() if str(each.pk) == request.POST.get("phase", "")), None)
    form = NoteForm(request.POST)
    context = {"house": room.house, "section": "rooms", "room": room, "phase": phase, "form": form}
    if form.is_valid():
        try:
            note_add(
                by=By(request.person, form.written_key),
                house=room.house,
                room=room,
                phase=phase,
                text=form.cleaned_data["text"],
            )
        except Refused as error:
            form.add_error("text", str(error))
        else:
            return go(request, "phase-detail", phase.pk) if phase else go(request, "room-detail", room.pk)
    return render(request, "work/note.html", context, status=422)


@require_POST
def note_remove_it(request: SiteRequest, note_id: UUID) -> HttpResponse:
    notes = Note.objects.select_related("room", "phase")
    note = row_for(request.person, notes, note_id, through="house", write=True)
    note_remove(by=By(request.person), note=note)
    offer_undo(request, "Removed the note.", note)
    if note.phase_id:
        return go(request, "phase-detail", note.phase_id)
    return go(request, "room-detail", note.room_id) if note.room_id else go(request, "house-detail", note.house_id)


def _phase(request: SiteRequest, phase_id: UUID, *, write: bool = False) -> Phase:
    phases = Phase.objects.select_related("room__house", "room__behind")
    return row_for(request.person, phases, phase_id, through="room__house", write=write)


def _in_order(room: Room) -> list[Phase]:
    return sorted(room.phases.all(), key=lambda each: each.position)


def _phases_page(
    request: SiteRequest, room: Room, form: PhaseAddForm, *, status: int = 200, **more: Any
) -> HttpResponse:
    context = {"house": room.house, "room": room, "form": form, "phases": _in_order(room), **more}
    template = "work/phases.html" + ("#body" if request.htmx else "")
    return render(request, template, context, status=status)


def _after_phases(request: SiteRequest, room: Room, said: str) -> HttpResponse:
    if not request.htmx:
        return go(request, "room-phases", room.pk)
    fresh = room_with_phases(request, room.pk)
    return say(_phases_page(request, fresh, PhaseAddForm(phases=_in_order(fresh))), said)


def _done(request: SiteRequest, phase: Phase, said: str) -> HttpResponse:
    """Back to the room; from its own page only the phases are swapped."""
    if not (request.htmx and request.POST.get("quick")):
        return go(request, "room-detail", phase.room_id)
    room = room_with_phases(request, phase.room_id)
    context = {"house": room.house, "room": room, "glance": glance_at(room, None)}
    return say(render(request, "rooms/room.html#phases", context), said)
