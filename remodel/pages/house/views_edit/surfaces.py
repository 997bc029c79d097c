"""What is done to one surface of a room."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeVar
from uuid import UUID

from django.http import Http404, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from remodel.history.services import By
from remodel.house.models import Room, SurfaceChoice
from remodel.house.queries import built_faces, faces_of, surface_of
from remodel.house.things import surface_choice_clear, surface_choice_set
from remodel.pages.editing import Seen, edit, posted, remove_asked, removed, saved_and_go
from remodel.pages.house.forms.fields import plane_choices, wall_choices
from remodel.pages.house.forms.surfaces import MemberForm, PatchForm, SurfaceForm
from remodel.pages.order_watch import OrderWatch
from remodel.people.http import SiteRequest
from remodel.people.queries import room_for
from remodel.web.row_forms import posted_rows

__all__ = ["surface_clear", "surface_edit"]

RowOfForm = TypeVar("RowOfForm", MemberForm, PatchForm)

_SPARE = 2
_MOST = 60


@require_http_methods(["GET", "POST"])
def surface_edit(request: SiteRequest, room_id: UUID, key: str) -> HttpResponse:
    """The choice for a wall, a ceiling plane or the face of a partition."""
    room = room_for(request.person, room_id, write=True)
    name, is_wall = _surface(room, key)
    row = _choice(room, key)
    seen = Seen.of(row, SurfaceChoice)
    form = SurfaceForm(
        posted(request), units=room.house.units, room=room, is_wall=is_wall, row=row, seen=seen
    )
    members = _rows(request, form, MemberForm, "member", form.uneven)
    patches = _rows(request, form, PatchForm, "hole", form.patches)

    def write(by: By) -> SurfaceChoice:
        uneven = [member.member for member in members if member.member]
        patched = [patch.entered for patch in patches if patch.entered]
        return surface_choice_set(by=by, room=room, surface=key, **form.columns(uneven, patched))

    return edit(
        request,
        form,
        "edit/surface.html",
        {
            "house": room.house,
            "room": room,
            "name": name,
            "key": key,
            "row": row,
            "members": members,
            "patches": patches,
            "is_wall": is_wall,
        },
        write=write,
        then=lambda _: saved_and_go(request, "room-edit", room.pk, name=name),
        more=[*members, *patches],
        needs_of=room.house,
        against=room,
    )


@require_POST
def surface_clear(request: SiteRequest, room_id: UUID, key: str) -> HttpResponse:
    """Make a surface follow its room again."""
    room = room_for(request.person, room_id, write=True)
    name, _ = _surface(room, key)
    row = _choice(room, key)
    if row is None:
        return saved_and_go(request, "room-edit", room.pk, name=name)
    watch = OrderWatch(room.house)
    chosen = f"what was chosen for {name}"
    return remove_asked(
        request,
        room,
        lambda by: surface_choice_clear(by=by, choice=row),
        then=lambda: removed(request, row, chosen, "room-edit", room.pk, watch=watch),
        back=reverse("surface-edit", args=[room.pk, key]),
    )


def _surface(room: Room, key: str) -> tuple[str, bool]:
    """A surface's name, and whether it is a wall. 404 where the room has no such surface."""
    walls = dict(wall_choices(room))
    faces = faces_of(room)
    ceilings = dict(plane_choices(room))
    built = built_faces(room)
    if key in built:
        return built[key]
    for surface, is_wall in ((walls, True), (faces, True), (ceilings, False)):
        if key in surface:
            return surface[key], is_wall
    # A partition may leave several parts of a wall in its room, numbered from 2.
    wall, _, number = key.rpartition("-")
    if wall in walls and number.isdigit():
        return f"{walls[wall]} part {number}", True
    raise Http404("No such surface")


def _choice(room: Room, key: str) -> SurfaceChoice | None:
    wall, plane = surface_of(room, key)
    return SurfaceChoice.objects.filter(room=room, wall=wall, plane=plane).first()


def _rows(
    request: SiteRequest,
    form: SurfaceForm,
    row_form: type[RowOfForm],
    name: str,
    kept: Sequence[Any],
) -> list[RowOfForm]:
    """A row of fields for each thing that is kept, and a few spare rows; those that were sent where
    some were. `name` is what the fields' names begin with."""
    if request.method == "POST":
        return [
            row_form(row.data, prefix=row.prefix, units=form.units, number=number)
            for number, row in enumerate(posted_rows(request.POST, name, most=_MOST), start=1)
        ]
    return [
        row_form(
            prefix=f"{name}-{index}",
            units=form.units,
            number=index + 1,
            kept=kept[index] if index < len(kept) else None,
        )
        for index in range(min(len(kept) + _SPARE, _MOST))
    ]
