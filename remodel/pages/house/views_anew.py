"""One surface planned anew around what hangs there: what it changes, and the press for it."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from django.views.decorators.http import require_http_methods

from remodel.board.plans import plan_with, surface_plan_anew
from remodel.board.queries import view_of
from remodel.board.trying import try_out
from remodel.bridge.against import marks_of, same_boards, what_follows
from remodel.bridge.amiss import plain
from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.house.models import Room
from remodel.pages.against_hung import follows_table
from remodel.pages.editing import Seen, edit, posted, saved_and_go
from remodel.pages.house.amiss import surfaces_with_open_pieces
from remodel.people.http import SiteRequest
from remodel.people.queries import room_for
from remodel.web.forms import HouseForm

__all__ = ["surface_anew"]


@require_http_methods(["GET", "POST"])
def surface_anew(request: SiteRequest, room_id: UUID, key: str) -> HttpResponse:
    """Show what planning a surface anew would change, and plan it anew.

    What it changes is found out by doing it and taking it back, so a page that is only looked at
    does not: one button shows it, another does it.
    """
    room = room_for(request.person, room_id, write=True)
    view = view_of(room)
    surface = next((one for one in view.surfaces if one.key == key), None) if view else None
    if view is None or surface is None:
        raise Http404("No such surface")
    name = surface.name.partition(", ")[2] or surface.name
    name = name[:1].upper() + name[1:]
    plan = plan_with(room, surface.id)
    seen = Seen.of(plan=str(plan.pk)) if plan is not None else Seen()
    showing = "show" in request.POST
    given = None if showing else posted(request)
    form = HouseForm(given, units=room.house.units, seen=seen)

    def context() -> dict[str, Any]:
        shown = {"house": room.house, "room": room, "name": name, "key": key}
        if plan is None or key not in surfaces_with_open_pieces(room, view):
            return shown | {"why_not": _NOTHING_OPEN if plan is not None else _NO_PLAN}
        if request.method == "GET":
            return shown | {"asks": True}
        return shown | _tried(request, room, surface.id)

    return edit(
        request,
        form,
        "rooms/surface_anew.html",
        context,
        write=lambda by: surface_plan_anew(by=by, room=room, surface=surface.id),
        then=lambda room: saved_and_go(request, "surface-detail", room.pk, key, name=name),
        saving=not showing,
        needs_of=room.house,
    )


_NO_PLAN = "No accepted plan has this surface, so it is planned anew with every change."
_NOTHING_OPEN = "All boards of this surface are cut or hang, so there is nothing to plan."


def _tried(request: SiteRequest, room: Room, surface: str) -> dict[str, Any]:
    """What planning the surface anew changes, by doing it and taking it back."""
    try:
        trial = try_out(
            room, lambda: surface_plan_anew(by=By(request.person), room=room, surface=surface)
        )
    except Refused as error:
        return {"why_not": str(error)}
    if trial.before is None or trial.after is None or trial.refusal:
        return {"why_not": trial.refusal or "Its figures are not worked out yet. Look again later"}
    before, after = marks_of(trial.before), marks_of(trial.after)
    follows = what_follows(trial.before, trial.after, ())
    return {
        "same": same_boards(trial.before, trial.after),
        "follows": follows_table([("Plan it anew", follows)], room.house),
        "goes": [mark for mark in before if mark not in after],
        "comes": [mark for mark in after if mark not in before],
        "gains": [text for one in trial.no_longer_amiss if (text := plain(one))],
    }
