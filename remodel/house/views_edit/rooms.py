"""Rooms: added, measured again, framed, finished, removed; and the page all of it stands on."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.utils.html import escape
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from remodel.engine import read_quick_line, show_length
from remodel.engine.lengths import FOOT, INCH, LengthError
from remodel.engine.rows import rules_of
from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.house.forms.fields import UNKNOWN
from remodel.house.forms.rooms import RoomBoardsForm, RoomForm, RoomFramingForm, RoomLineForm, RoomWalkForm
from remodel.house.forms.walks import Walk
from remodel.house.models import House, Room
from remodel.house.outlines import WalkedWall, room_walk
from remodel.house.services import room_add_line, room_add_walls, room_change, room_remove, room_resize
from remodel.house.views_edit.measured import measured_context
from remodel.house.views_edit.outline import outline_shown
from remodel.house.views_edit.saving import page, removed, save, saved_and_go
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for, room_for
from remodel.web.answers import go
from remodel.web.forms import HouseForm

__all__ = [
    "line_readback",
    "room_add",
    "room_add_by_walls",
    "room_edit",
    "room_finish",
    "room_framing",
    "room_outline",
    "room_remove_it",
    "room_size",
    "room_walls",
    "start_of",
]


@require_http_methods(["GET", "POST"])
def room_add(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """A right-angled room in one line."""
    house = house_for(request.person, house_id, write=True)
    form = RoomLineForm(request.POST or None, **start_of(request, house))
    context: dict[str, Any] = {"form": form, "house": house, "first": not house.rooms.exists()}
    status = 200
    if request.method == "POST":
        outcome = save(request, form, lambda by: room_add_line(by=by, house=house, **form.columns()))
        if outcome.row is not None:
            return saved_and_go(request, "room-edit", outcome.row.pk, name=outcome.row.name)
        status, context = outcome.status, context | outcome.context
    return page(request, "room_add", context, status=status)


@require_http_methods(["GET", "POST"])
def room_add_by_walls(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """A room walked wall by wall. Check draws it; Save keeps it; more walls are added one by one."""
    house = house_for(request.person, house_id, write=True)
    form = RoomWalkForm(request.POST or None, **start_of(request, house))
    walk = Walk(request.POST or None, units=house.units, add=_add_after(request))
    context: dict[str, Any] = {"form": form, "house": house, "walk": walk}
    status = 200
    if request.method == "POST" and "save" in request.POST:

        def write(by: By) -> Room:
            walls = [(each.cleaned_data["name"], each.cleaned_data["length"], each.degrees) for each in walk.walls]
            return room_add_walls(by=by, house=house, walls=walls, **form.columns())

        outcome = save(request, form, write, more=walk.forms)
        if outcome.row is not None:
            return saved_and_go(request, "room-edit", outcome.row.pk, name=outcome.row.name)
        status, context = outcome.status, context | outcome.context
    return _walk_page(request, "room_add_walls", context, house, status)


@require_http_methods(["GET", "POST"])
def room_walls(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """The walls of a room that is there: lengths, turns, names, walls more or fewer."""
    writes = request.method == "POST"
    room = room_for(request.person, room_id, write=True)
    rows = list(room.walls.all())
    form = HouseForm(request.POST or None, units=room.house.units, version=room.version)
    walk = Walk(request.POST or None, units=room.house.units, rows=rows, add=_add_after(request))
    context: dict[str, Any] = {"form": form, "house": room.house, "room": room, "walk": walk}
    status = 200
    if writes and "save" in request.POST:

        def write(by: By) -> Room:
            walls = [
                WalkedWall(
                    wall=each.row,
                    version=each.cleaned_data["version"],
                    name=each.cleaned_data["name"],
                    length=each.cleaned_data["length"],
                    turn=each.degrees,
                )
                for each in walk.walls
            ]
            return room_walk(by=by, room=room, walls=walls)

        outcome = save(request, form, write, more=walk.forms)
        if outcome.row is not None:
            return saved_and_go(request, "room-edit", room.pk)
        status, context = outcome.status, context | outcome.context
        context["room"] = room_for(request.person, room_id)
    return _walk_page(request, "room_walls", context, room.house, status)


@require_POST
def room_outline(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """The drawing alone of walls as they are typed; keeps nothing."""
    house = house_for(request.person, house_id)
    rows = _rows(house, request.POST.get("room", ""))
    walk = Walk(request.POST, units=house.units, rows=rows)
    shown = outline_shown(walk, tolerance=rules_of(house).closing_tolerance)
    return page(request, "_outline", {"house": house, "outline": shown})


def _rows(house: House, room: str) -> list[Any]:
    try:
        found = Room.objects.filter(house=house, pk=UUID(room)).first()
    except ValueError:
        return []
    return list(found.walls.all()) if found else []


def _walk_page(request: SiteRequest, template: str, context: dict[str, Any], house: House, status: int) -> HttpResponse:
    walk = context["walk"]
    context["outline"] = outline_shown(walk, tolerance=rules_of(house).closing_tolerance)
    context["summaries"] = [context["form"], *walk.forms] if status != 200 else []
    return page(request, template, context, status=status)


def _add_after(request: SiteRequest) -> int:
    """The place of the wall whose button asks for another one after it; -1 where none was pressed."""
    pressed = request.POST.get("after", "")
    return int(pressed) if pressed.isascii() and pressed.isdigit() and len(pressed) < 4 else -1


def start_of(request: SiteRequest, house: House) -> dict[str, Any]:
    """What a new room's form starts from: the room added last, or the answer about studs just given."""
    like = house.rooms.filter(shape__in=("quick", "walls")).order_by("-position").first()
    said = request.GET.get("studs", "")
    if said == UNKNOWN:
        studs = None
    elif said.isascii() and said.isdigit() and len(said) < 12 and 4 * INCH <= int(said) <= 4 * FOOT:
        studs = int(said)
    else:
        rules = rules_of(house)
        studs = int(rules.assumed_wall_spacing) if rules.wall_spacing_known else None
    return {"units": house.units, "like": like, "studs": studs}


@require_GET
def line_readback(request: SiteRequest) -> HttpResponse:
    """Say how a room's line was understood: help while one types, never an error."""
    units = "mm" if request.GET.get("units") == "mm" else "in"
    line = request.GET.get("line", "").strip()
    if not line:
        return HttpResponse("")
    try:
        length, width, height = (_spelled(nm, units) for nm in read_quick_line(line, units))
        said = f"Reads as {length} long, {width} wide, {height} high"
    except LengthError as error:
        said = f"Not read yet. {error}"
    response = HttpResponse(escape(said))
    response["Cache-Control"] = "private, max-age=3600"
    return response


def _spelled(nm: int, units: str) -> str:
    return show_length(nm, units).replace("'", " ft").replace('"', " in")


@require_GET
def room_edit(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """Everything a room was said to be, each with its way to change it."""
    room = room_for(request.person, room_id)
    return page(request, "room_edit", {"house": room.house, "room": room, **measured_context(room)})


@require_http_methods(["GET", "POST"])
def room_size(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """A room's name, size and ceiling."""

    def write(by: By, room: Room, form: RoomForm) -> Room:
        version = form.cleaned_data["version"]
        if form.sized:
            return room_resize(by=by, room=room, version=version, **form.columns())
        return room_change(by=by, room=room, version=version, **form.columns())

    return _edit(request, room_id, "room_size", RoomForm, write)


@require_http_methods(["GET", "POST"])
def room_framing(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """What stands behind a room's walls and ceiling."""
    return _edit(request, room_id, "room_framing", RoomFramingForm, _change)


@require_http_methods(["GET", "POST"])
def room_finish(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """A room's boards and finish."""
    return _edit(request, room_id, "room_finish", RoomBoardsForm, _change)


def _change(by: By, room: Room, form: Any) -> Room:
    return room_change(by=by, room=room, version=form.cleaned_data["version"], **form.columns())


def _edit(
    request: SiteRequest, room_id: UUID, template: str, form_of: Any, write: Callable[[By, Room, Any], Room]
) -> HttpResponse:
    writes = request.method == "POST"
    room = room_for(request.person, room_id, write=True)
    form = form_of(request.POST or None, units=room.house.units, version=room.version, room=room)
    context: dict[str, Any] = {"form": form, "house": room.house, "room": room}
    status = 200
    if writes:
        outcome = save(request, form, lambda by: write(by, room, form))
        if outcome.row is not None:
            return saved_and_go(request, "room-edit", room.pk)
        status, context = outcome.status, context | outcome.context
        context["room"] = room_for(request.person, room_id)
    return page(request, template, context, status=status)


@require_POST
def room_remove_it(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """Remove a room with its partitions; the house's page offers to take that back."""
    room = room_for(request.person, room_id, write=True)
    try:
        room_remove(by=By(request.person), room=room)
    except Refused as error:
        messages.info(request, f"{error}.")
        return go(request, "room-edit", room.pk)
    return removed(request, room, room.name, "house-detail", room.house_id)
