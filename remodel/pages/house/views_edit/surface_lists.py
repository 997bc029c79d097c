"""A room as a plain list of surfaces, and the order in which a room's walls are hung."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from remodel.bridge import house_value
from remodel.bridge.hanging import walls_as_hung
from remodel.bridge.lengths import TakeoffError
from remodel.bridge.records import board_kinds_value
from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.house.models import House, Room, Wall
from remodel.house.plain_list import ListedSurface, room_list_surfaces
from remodel.house.queries import house_with_pile
from remodel.house.services import room_add_surfaces, room_change
from remodel.pages.editing import Seen, edit, page, posted, saved_and_go
from remodel.pages.house.forms.surface_list import HangFirstForm, RoomSurfacesForm, SurfaceList
from remodel.pages.house.views_edit.rooms import start_of
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for, room_for
from remodel.web.forms import HouseForm

__all__ = ["room_add_by_surfaces", "room_hang_first", "room_surfaces"]


@require_http_methods(["GET", "POST"])
def room_add_by_surfaces(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Add a room as surfaces with width and height, where its outline is not known or not
    wanted."""
    house = house_for(request.person, house_id, write=True)
    form = RoomSurfacesForm(posted(request), **start_of(house))
    listed = SurfaceList(posted(request), units=house.units, start=True, add="add" in request.POST)

    def write(by: By) -> Room:
        surfaces = [
            (
                surface["name"],
                surface["kind"],
                surface["width"],
                surface["height"],
            )
            for surface in (form.cleaned_data for form in listed.surfaces)
        ]
        return room_add_surfaces(by=by, house=house, surfaces=surfaces, **form.columns())

    return _list_page(request, form, listed, "edit/room_add_surfaces.html", {"house": house}, write)


@require_http_methods(["GET", "POST"])
def room_surfaces(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """Change the surfaces of a plain list: their sizes, names and number. A room with an outline
    has no such page."""
    room = room_for(request.person, room_id, write=True)
    if room.shape != "surfaces":
        return redirect("room-edit", room.pk)
    house, rows = room.house, list(room.walls.all())
    form = HouseForm(posted(request), units=house.units, seen=Seen.of(room, *rows, Wall))
    listed = SurfaceList(posted(request), units=house.units, rows=rows, add="add" in request.POST)

    def write(by: By) -> Room:
        surfaces = [
            ListedSurface(
                row=surface.surface,
                name=surface.cleaned_data["name"].strip(),
                kind=surface.cleaned_data["kind"],
                width=surface.cleaned_data["width"],
                height=surface.cleaned_data["height"],
            )
            for surface in listed.surfaces
        ]
        return room_list_surfaces(by=by, room=room, surfaces=surfaces)

    return _list_page(
        request, form, listed, "edit/room_surfaces.html", {"house": house, "room": room}, write
    )


def _list_page(
    request: SiteRequest,
    form: HouseForm,
    listed: SurfaceList,
    template: str,
    context: dict[str, Any],
    write: Callable[[By], Room],
) -> HttpResponse:
    def checked(by: By) -> Room:
        if not listed.surfaces:
            raise Refused(
                "A room has at least one surface: enter its width and height, for example 12' "
                "and 8'"
            )
        return write(by)

    return edit(
        request,
        form,
        template,
        {**context, "listed": listed},
        write=checked,
        then=lambda room: saved_and_go(request, "room-edit", room.pk, name=room.name),
        needs_of=context["house"],
        more=listed.forms,
        saving="save" in request.POST,
        against=context.get("room"),
    )


@require_http_methods(["GET", "POST"])
def room_hang_first(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """Put the walls in the order they are hung: one wall up or down, by numbers, or the longest
    first again."""
    room = room_for(request.person, room_id, write=True)
    template, context = "edit/room_hang_first.html", {"house": room.house, "room": room}
    try:
        walls = _walls(room)
    except TakeoffError as error:
        return page(request, template, context | {"why_not": str(error)})
    given = _as_it_stands(request, walls) if "longest" in request.POST else posted(request)
    form = HangFirstForm(given, walls=walls, seen=Seen.of(room))

    def shown_again(room: Room) -> HttpResponse:
        if not request.htmx:
            return saved_and_go(request, "room-hang-first", room.pk)
        walls = _walls(room)
        fresh = HangFirstForm(walls=walls, seen=Seen.of(room))
        message = f"Saved: {', '.join(name for _, name in walls)}"
        return page(request, template, context | {"room": room}, form=fresh, message=message)

    return edit(
        request,
        form,
        template,
        context,
        write=lambda by: room_change(by=by, room=room, hang_first=_new_order(form, request)),
        then=shown_again,
        needs_of=room.house,
    )


def _new_order(form: HangFirstForm, request: SiteRequest) -> list[str]:
    """The keys of the walls in the order to hang them; empty where the longest comes first."""
    order: list[str] = [] if "longest" in request.POST else form.order
    for word, step in (("up", -1), ("down", 1)):
        key = request.POST.get(word, "")
        if key in order and 0 <= (to := order.index(key) + step) < len(order):
            order.insert(to, order.pop(order.index(key)))
    return order


def _as_it_stands(request: SiteRequest, walls: list[tuple[str, str]]) -> Any:
    """The posted fields with the places as they are stored. Typed places are dropped, because the
    longest wall comes first again."""
    places = request.POST.copy()
    for place, (key, _) in enumerate(walls, start=1):
        places[f"place-{key}"] = str(place)
    return places


def _walls(room: Room) -> list[tuple[str, str]]:
    """Keys and names of the walls in the order they are hung. A face of a partition framed after
    board is left out, because it is hung together with the partition."""
    row: House = house_with_pile(room)
    later = {partition.key for partition in row.partitions.all() if partition.framed == "after"}
    hung = walls_as_hung(house_value(row, catalogue=board_kinds_value(row)), room.key)
    return [(wall.key, wall.name) for wall in hung if wall.key not in later]
