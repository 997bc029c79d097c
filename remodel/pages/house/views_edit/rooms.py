"""Pages to add, measure, frame, finish and remove rooms, and the page that leads to them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.utils.html import escape
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from remodel.bridge import read_quick_line, show_length
from remodel.bridge.lengths import LengthError
from remodel.bridge.records import rules_of
from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.house import services
from remodel.house.models import House, Room, Wall
from remodel.house.outlines import WalkedWall, room_walk
from remodel.pages.editing import Seen, edit, page, posted, removed, saved_and_go
from remodel.pages.house.forms.rooms import (
    RoomBoardsForm,
    RoomForm,
    RoomFramingForm,
    RoomLineForm,
    RoomWalkForm,
)
from remodel.pages.house.forms.walks import Walk
from remodel.pages.house.views_edit.measured import measured_context
from remodel.pages.house.views_edit.outline import outline_shown
from remodel.pages.order_watch import OrderWatch
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for, room_for
from remodel.web.forms import HouseForm
from remodel.web.responses import go

__all__ = [
    "line_readback",
    "room_add",
    "room_add_by_walls",
    "room_edit",
    "room_finish",
    "room_framing",
    "room_outline",
    "room_remove",
    "room_size",
    "room_walls",
    "start_of",
]


@require_http_methods(["GET", "POST"])
def room_add(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Add a right-angled room in one line."""
    house = house_for(request.person, house_id, write=True)
    form = RoomLineForm(posted(request), **start_of(house))
    return edit(
        request,
        form,
        "edit/room_add.html",
        lambda: {"house": house, "first": not house.rooms.exists()},
        write=lambda by: services.room_add(by=by, house=house, **form.columns()),
        then=lambda room: saved_and_go(request, "room-edit", room.pk, name=room.name),
    )


@require_http_methods(["GET", "POST"])
def room_add_by_walls(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Add a room walked wall by wall. One button draws it, another saves it, and more walls are
    added one by one."""
    house = house_for(request.person, house_id, write=True)
    form = RoomWalkForm(posted(request), **start_of(house))
    walk = Walk(posted(request), units=house.units, add=_add_after(request))

    def write(by: By) -> Room:
        walls = [
            (wall.cleaned_data["name"], wall.cleaned_data["length"], wall.degrees)
            for wall in walk.walls
        ]
        return services.room_add_walls(by=by, house=house, walls=walls, **form.columns())

    return edit(
        request,
        form,
        "edit/room_add_walls.html",
        lambda: _walk_context(house, walk),
        write=write,
        then=lambda room: saved_and_go(request, "room-edit", room.pk, name=room.name),
        more=walk.forms,
        saving="save" in request.POST,
    )


@require_http_methods(["GET", "POST"])
def room_walls(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """The walls of a room that is there: lengths, turns, names, walls more or fewer."""
    room = room_for(request.person, room_id, write=True)
    house, rows = room.house, list(room.walls.all())
    form = HouseForm(posted(request), units=house.units, seen=Seen.of(room, *rows, Wall))
    walk = Walk(posted(request), units=house.units, rows=rows, add=_add_after(request))

    def write(by: By) -> Room:
        walls = [
            WalkedWall(
                wall=wall.row,
                name=wall.cleaned_data["name"],
                length=wall.cleaned_data["length"],
                turn=wall.degrees,
            )
            for wall in walk.walls
        ]
        return room_walk(by=by, room=room, walls=walls)

    return edit(
        request,
        form,
        "edit/room_walls.html",
        lambda: {"room": room_for(request.person, room_id), **_walk_context(house, walk)},
        write=write,
        then=lambda room: saved_and_go(request, "room-edit", room.pk),
        more=walk.forms,
        saving="save" in request.POST,
        against=room,
    )


@require_POST
def room_outline(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """The drawing alone, of walls as they are typed. Nothing is stored."""
    house = house_for(request.person, house_id)
    rows = _rows(house, request.POST.get("room", ""))
    walk = Walk(request.POST, units=house.units, rows=rows)
    shown = outline_shown(walk, tolerance=rules_of(house).closing_tolerance)
    return page(request, "edit/_outline.html", {"house": house, "outline": shown})


def _rows(house: House, room: str) -> list[Any]:
    try:
        row = Room.objects.filter(house=house, pk=UUID(room)).first()
    except ValueError:
        return []
    return list(row.walls.all()) if row else []


def _walk_context(house: House, walk: Walk) -> dict[str, Any]:
    outline = outline_shown(walk, tolerance=rules_of(house).closing_tolerance)
    return {"house": house, "walk": walk, "outline": outline}


def _add_after(request: SiteRequest) -> int | None:
    """The number of the wall after which a button asks for another; None where no such button was
    pressed."""
    pressed = request.POST.get("after", "")
    return int(pressed) if pressed.isascii() and pressed.isdigit() and len(pressed) < 4 else None


def start_of(house: House) -> dict[str, Any]:
    """The initial values of a new room's form: the answers of the room added last, and what the
    house knows of its studs."""
    like = house.rooms.filter(shape__in=("quick", "walls")).order_by("-position").first()
    rules = rules_of(house)
    studs = int(rules.assumed_wall_spacing) if rules.wall_spacing_known else None
    return {"units": house.units, "like": like, "studs": studs}


@require_GET
def line_readback(request: SiteRequest) -> HttpResponse:
    """Say how a room's line was understood. It is help while a person types, and never an error."""
    units = "mm" if request.GET.get("units") == "mm" else "in"
    line = request.GET.get("line", "").strip()
    if not line:
        return HttpResponse("")
    try:
        length, width, height = (_spelled(nm, units) for nm in read_quick_line(line, units))
        words = f"Reads as {length} long, {width} wide, {height} high"
    except LengthError as error:
        words = f"Not read yet. {error}"
    response = HttpResponse(escape(words))
    response["Cache-Control"] = "private, max-age=3600"
    return response


def _spelled(nm: int, units: str) -> str:
    return show_length(nm, units).replace("'", " ft").replace('"', " in")


@require_GET
def room_edit(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """Everything that was entered of a room, each with a link to change it."""
    room = room_for(request.person, room_id)
    return page(
        request,
        "edit/room_edit.html",
        {"house": room.house, "room": room, **measured_context(room)},
    )


@require_http_methods(["GET", "POST"])
def room_size(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """A room's name, size and ceiling."""

    def write(by: By, room: Room, form: RoomForm) -> Room:
        service = services.room_resize if form.sized else services.room_change
        return service(by=by, room=room, **form.columns())

    return _edit(request, room_id, "edit/room_size.html", RoomForm, write)


@require_http_methods(["GET", "POST"])
def room_framing(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """The framing behind a room's walls and ceiling."""
    return _edit(request, room_id, "edit/room_framing.html", RoomFramingForm, _change)


@require_http_methods(["GET", "POST"])
def room_finish(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """A room's boards and finish."""
    return _edit(request, room_id, "edit/room_finish.html", RoomBoardsForm, _change)


def _change(by: By, room: Room, form: Any) -> Room:
    return services.room_change(by=by, room=room, **form.columns())


def _edit(
    request: SiteRequest,
    room_id: UUID,
    template: str,
    form_of: Any,
    write: Callable[[By, Room, Any], Room],
) -> HttpResponse:
    room = room_for(request.person, room_id, write=True)
    # A right-angled room's length and width are those of its walls.
    form = form_of(
        posted(request), units=room.house.units, seen=Seen.of(room, *room.walls.all()), room=room
    )
    return edit(
        request,
        form,
        template,
        lambda: {"house": room.house, "room": room_for(request.person, room_id)},
        write=lambda by: write(by, room, form),
        then=lambda room: saved_and_go(request, "room-edit", room.pk),
        needs_of=room.house,
        against=room,
    )


@require_POST
def room_remove(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """Remove a room with its partitions. The house's page then offers an undo."""
    room = room_for(request.person, room_id, write=True)
    watch = OrderWatch(room.house)
    try:
        services.room_remove(by=By(request.person), room=room)
    except Refused as error:
        messages.info(request, f"{error}.")
        return go(request, "room-edit", room.pk)
    return removed(request, room, room.name, "house-detail", room.house_id, watch=watch)
