"""What is done to one surface of a room."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from django.views.decorators.http import require_http_methods, require_POST

from remodel.history.services import By
from remodel.house.forms.fields import plane_choices, wall_choices
from remodel.house.forms.surfaces import MemberForm, SurfaceForm
from remodel.house.models import Room, SurfaceChoice
from remodel.house.queries import surface_of
from remodel.house.things import surface_choice_clear, surface_choice_set
from remodel.house.views_edit.saving import page, removed, save, saved_and_go
from remodel.people.http import SiteRequest
from remodel.people.queries import room_for

__all__ = ["surface_clear", "surface_edit"]

_SPARE = 2
_MOST = 60


@require_http_methods(["GET", "POST"])
def surface_edit(request: SiteRequest, room_id: UUID, key: str) -> HttpResponse:
    """The choice for a wall, a ceiling plane or the face of a partition."""
    writes = request.method == "POST"
    room = room_for(request.person, room_id, write=True)
    name, is_wall = _surface(room, key)
    row = _choice(room, key)
    form = SurfaceForm(
        request.POST or None,
        units=room.house.units,
        room=room,
        is_wall=is_wall,
        row=row,
        version=row.version if row else None,
    )
    members = _members(request, form)
    context: dict[str, Any] = {"house": room.house, "room": room, "name": name, "key": key, "row": row}
    context |= {"form": form, "members": members, "summaries": [form, *members], "is_wall": is_wall}
    status = 200
    if writes:

        def write(by: By) -> SurfaceChoice:
            uneven = [each.member for each in members if each.member]
            version = form.cleaned_data["version"] if row else None
            return surface_choice_set(by=by, room=room, surface=key, version=version, **form.columns(uneven))

        outcome = save(request, form, write, more=members)
        if outcome.row is not None:
            return saved_and_go(request, "room-edit", room.pk, name=name)
        status, context = outcome.status, context | outcome.context
    return page(request, "surface", context, status=status)


@require_POST
def surface_clear(request: SiteRequest, room_id: UUID, key: str) -> HttpResponse:
    """Go back to what the room says of its surfaces."""
    room = room_for(request.person, room_id, write=True)
    name, _ = _surface(room, key)
    row = _choice(room, key)
    if row is None:
        return saved_and_go(request, "room-edit", room.pk, name=name)
    surface_choice_clear(by=By(request.person), choice=row)
    return removed(request, row, f"what was chosen for {name}", "room-edit", room.pk)


def _surface(room: Room, key: str) -> tuple[str, bool]:
    """A surface's name and whether it is a wall; 404 for one the room does not have."""
    walls = dict(wall_choices(room))
    faces = {each.key: each.name for each in ([room.behind] if room.behind else room.partitions.all())}
    ceilings = dict(plane_choices(room))
    for found, is_wall in ((walls, True), (faces, True), (ceilings, False)):
        if key in found:
            return found[key], is_wall
    raise Http404("No such surface")


def _choice(room: Room, key: str) -> SurfaceChoice | None:
    wall, plane = surface_of(room, key)
    return SurfaceChoice.objects.filter(room=room, wall=wall, plane=plane).first()


def _members(request: SiteRequest, form: SurfaceForm) -> list[MemberForm]:
    """A row of fields for each member out of line, and some to spare."""
    if request.method == "POST":
        said = request.POST.get("members", "")
        count = min(int(said), _MOST) if said.isascii() and said.isdigit() and len(said) < 4 else 0
        return [
            MemberForm(request.POST, prefix=f"member-{index}", units=form.units, number=index + 1)
            for index in range(count)
        ]
    kept = form.uneven
    return [
        MemberForm(
            prefix=f"member-{index}",
            units=form.units,
            number=index + 1,
            member=kept[index] if index < len(kept) else None,
        )
        for index in range(min(len(kept) + _SPARE, _MOST))
    ]
