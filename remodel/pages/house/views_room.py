"""A room's page: its outline and boards drawn, what its phases take, and what changed."""

from __future__ import annotations

from uuid import UUID

from django.db.models import prefetch_related_objects
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from remodel.board.queries import view_of
from remodel.bridge.lengths import BadValue
from remodel.house.models import Room
from remodel.pages.drawings import drawing_of, surface_drawn
from remodel.pages.house.amiss import amiss_in, surfaces_with_open_pieces
from remodel.pages.house.room_page import needs_context, now_context
from remodel.people.http import SiteRequest
from remodel.people.queries import room_for
from remodel.work.models import ClosedFace

__all__ = ["room_detail", "room_needs", "room_with_phases", "surface_detail"]


@require_GET
def room_detail(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """A room's page at what is in hand."""
    room = room_with_phases(request, room_id)
    return render(request, "rooms/now.html", now_context(room))


@require_GET
def room_needs(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """What each phase of a room takes, and why."""
    room = room_with_phases(request, room_id)
    return render(request, "rooms/needs.html", needs_context(room))


@require_GET
def surface_detail(request: SiteRequest, room_id: UUID, key: str) -> HttpResponse:
    """One surface, drawn large, with every measure as a table."""
    room = room_for(request.person, room_id)
    view = view_of(room)
    surface = (
        next((surface for surface in view.surfaces if surface.key == key), None) if view else None
    )
    if view is None or surface is None:
        raise Http404("No such surface")
    name = surface.name.partition(", ")[2] or surface.name
    amiss = amiss_in(room, view)
    try:
        drawn, why_not = surface_drawn(room, key), ""
    except BadValue as error:
        drawn, why_not = None, str(error)
    context = {
        "house": room.house,
        "room": room,
        "surface": surface,
        "name": name[:1].upper() + name[1:],
        "drawing": drawing_of(
            drawn, "surface-drawing", f"{name[:1].upper() + name[1:]}, {room.name}"
        )
        if drawn
        else None,
        "why_not": why_not,
        "closed": ClosedFace.objects.filter(room=room, surface=key)
        .select_related("person")
        .first(),
        "amiss": next((one for one in amiss if one.key == key), None),
        "may_plan_anew": key in surfaces_with_open_pieces(room, view),
    }
    return render(request, "rooms/surface.html", context)


def room_with_phases(request: SiteRequest, room_id: UUID, *, write: bool = False) -> Room:
    """A room of the person's own, fetched with its phases."""
    room = room_for(request.person, room_id, write=write)
    prefetch_related_objects([room], "phases")
    return room
