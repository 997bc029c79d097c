"""A room as a plain list of surfaces, and the order in which a room's walls are hung."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from remodel.engine import house_value
from remodel.engine.hanging import walls_as_hung
from remodel.engine.lengths import TakeoffError
from remodel.engine.rows import board_kinds_value
from remodel.history.services import By
from remodel.house.forms.surface_list import HangFirstForm, RoomSurfacesForm, SurfaceList
from remodel.house.models import House, Room
from remodel.house.plain_list import ListedSurface, room_list_surfaces
from remodel.house.queries import family_with
from remodel.house.services import room_add_surfaces, room_change
from remodel.house.views_edit.rooms import start_of
from remodel.house.views_edit.saving import page, save, saved_and_go
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for, room_for
from remodel.web.forms import HouseForm

__all__ = ["room_add_by_surfaces", "room_hang_first", "room_surfaces"]


@require_http_methods(["GET", "POST"])
def room_add_by_surfaces(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """A room given as surfaces with width and height, where its outline is not known or not wanted."""
    house = house_for(request.person, house_id, write=True)
    form = RoomSurfacesForm(request.POST or None, **start_of(request, house))
    listed = SurfaceList(request.POST or None, units=house.units, start=True, add="add" in request.POST)
    context: dict[str, Any] = {"form": form, "house": house, "listed": listed}
    if "save" not in request.POST:
        return _list_page(request, "room_add_surfaces", context)

    def write(by: By) -> Room:
        surfaces = [
            (each["name"], each["kind"], each["width"], each["height"])
            for each in (form.cleaned_data for form in listed.surfaces)
        ]
        return room_add_surfaces(by=by, house=house, surfaces=surfaces, **form.columns())

    return _saved(request, "room_add_surfaces", context, write)


@require_http_methods(["GET", "POST"])
def room_surfaces(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """The surfaces of a plain list: sizes, names, surfaces more or fewer; a room with an outline has none."""
    room = room_for(request.person, room_id, write=True)
    if room.shape != "surfaces":
        return redirect("room-edit", room.pk)
    house, rows = room.house, list(room.walls.all())
    form = HouseForm(request.POST or None, units=house.units, version=room.version)
    listed = SurfaceList(request.POST or None, units=house.units, rows=rows, add="add" in request.POST)
    context: dict[str, Any] = {"form": form, "house": house, "room": room, "listed": listed}
    if "save" not in request.POST:
        return _list_page(request, "room_surfaces", context)

    def write(by: By) -> Room:
        surfaces = [
            ListedSurface(
                row=each.surface,
                version=each.cleaned_data["version"],
                name=each.cleaned_data["name"].strip(),
                kind=each.cleaned_data["kind"],
                width=each.cleaned_data["width"],
                height=each.cleaned_data["height"],
            )
            for each in listed.surfaces
        ]
        return room_list_surfaces(by=by, room=room, surfaces=surfaces)

    return _saved(request, "room_surfaces", context, write)


def _saved(request: SiteRequest, template: str, context: dict[str, Any], write: Any) -> HttpResponse:
    form, listed = context["form"], context["listed"]
    if not [each for each in listed.forms if not each.is_valid()] and not listed.surfaces:
        form.add_error(None, "A room has at least one surface: enter its width and height, like 12' and 8'")
    outcome = save(request, form, write, more=listed.forms)
    if outcome.row is not None:
        return saved_and_go(request, "room-edit", outcome.row.pk, name=outcome.row.name)
    return _list_page(request, template, context | outcome.context, status=outcome.status)


def _list_page(request: SiteRequest, template: str, context: dict[str, Any], *, status: int = 200) -> HttpResponse:
    context["summaries"] = [context["form"], *context["listed"].forms] if status != 200 else []
    return page(request, template, context, status=status)


@require_http_methods(["GET", "POST"])
def room_hang_first(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """Put the walls in the order they are hung: one up or down, by number, or the longest first again."""
    room = room_for(request.person, room_id, write=True)
    context: dict[str, Any] = {"house": room.house, "room": room}
    try:
        walls = _walls(room)
    except TakeoffError as error:
        return page(request, "room_hang_first", context | {"why_not": str(error)})
    form = HangFirstForm(request.POST or None, walls=walls, version=room.version)
    status = 200
    if request.method == "POST":
        if "longest" in request.POST:
            form = HangFirstForm(_as_it_stands(request, walls), walls=walls, version=room.version)
        outcome = save(request, form, lambda by: _put(by, room, form, request))
        if outcome.row is not None and not request.htmx:
            return saved_and_go(request, "room-hang-first", room.pk)
        if outcome.row is not None:
            room = outcome.row
            walls = _walls(room)
            form = HangFirstForm(walls=walls, version=room.version)
            context |= {"room": room, "form": form}
            said = f"Saved: {', '.join(name for _, name in walls)}"
            return page(request, "room_hang_first", context, said=said)
        status, context = outcome.status, context | outcome.context
    return page(request, "room_hang_first", context | {"form": form}, status=status)


def _put(by: By, room: Room, form: HangFirstForm, request: SiteRequest) -> Room:
    order: list[str] = [] if "longest" in request.POST else form.order
    for word, step in (("up", -1), ("down", 1)):
        key = request.POST.get(word, "")
        if key in order and 0 <= (to := order.index(key) + step) < len(order):
            order.insert(to, order.pop(order.index(key)))
    return room_change(by=by, room=room, version=form.cleaned_data["version"], hang_first=order)


def _as_it_stands(request: SiteRequest, walls: list[tuple[str, str]]) -> Any:
    """What was sent, with the places as they stand: whatever was typed there goes, for the longest comes first."""
    posted = request.POST.copy()
    for place, (key, _) in enumerate(walls, start=1):
        posted[f"place-{key}"] = str(place)
    return posted


def _walls(room: Room) -> list[tuple[str, str]]:
    """Keys and names of the walls as they are hung. A face of a partition framed after board stands out: it is hung
    when the partition is."""
    row: House = family_with(room)
    later = {each.key for each in row.partitions.all() if each.framed == "after"}
    hung = walls_as_hung(house_value(row, catalogue=board_kinds_value(row)), room.key)
    return [(each.key, each.name) for each in hung if each.key not in later]
