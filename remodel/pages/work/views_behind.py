"""What a surface hides: the page that tells it, and what is written there (a photo, that something
is in, that the face is closed)."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from remodel.board.models import PlacedPiece
from remodel.bridge.lengths import BadValue
from remodel.history.services import By
from remodel.house.models import HiddenItem, Room
from remodel.house.queries import face_names, surface_of
from remodel.house.things import hidden_change
from remodel.order_of_work import OrderOfWork, close_face, order_of
from remodel.pages.drawings import behind_drawn, drawing_of
from remodel.pages.editing import edit, offer_undo
from remodel.pages.stops import asked_first
from remodel.pages.work.forms import SurfacePhotoForm
from remodel.people.http import SiteRequest
from remodel.people.queries import room_for, row_for
from remodel.people.rate_limits import PHOTOS, TooFast, check_rate, slowed
from remodel.web.responses import go
from remodel.work.faces import face_open
from remodel.work.models import ClosedFace, Photo
from remodel.work.photos import photo_add as photo_write
from remodel.work.photos import photo_remove as photo_strike

__all__ = ["behind", "close", "hidden_in", "open_again", "photo_add", "photo_remove"]


@require_GET
def behind(request: SiteRequest, room_id: UUID, key: str) -> HttpResponse:
    """What a surface hides, drawn, in words and in photos, and whether it is closed."""
    room = room_for(request.person, room_id)
    return render(request, "work/behind.html", _context(room, key))


def _context(room: Room, key: str) -> dict[str, Any]:
    try:
        shown = behind_drawn(room, key)
    except BadValue:
        raise Http404("No such surface") from None
    drawn, face = shown if shown is not None else (None, None)
    name = _name(room, key)
    wall, plane = surface_of(room, key)
    order = order_of(room)
    closed = order.closed.get((room.pk, key))
    hung = PlacedPiece.objects.filter(room=room, surface=key, state=PlacedPiece.State.HUNG)
    has_board = hung.exists()
    items = dict(HiddenItem.objects.filter(room=room).values_list("key", "pk"))
    return {
        "house": room.house,
        "room": room,
        "section": "rooms",
        "key": key,
        "name": name,
        "face": face,
        "things": [(one, items.get(one.id)) for one in face.things] if face else [],
        "drawing": drawing_of(drawn, "behind-drawing", f"Behind {name}, {room.name}")
        if drawn
        else None,
        "closed": closed,
        "missing": [] if closed else order.not_accepted(order.missing(room, key)),
        "has_board": has_board,
        "may_close": not closed and not has_board and key in order.faces_of(room),
        "photos": list(Photo.objects.filter(room=room, wall=wall, plane=plane)),
        "form": SurfacePhotoForm(),
    }


def _name(room: Room, key: str) -> str:
    return face_names(room, [key])[key]


@require_POST
def close(request: SiteRequest, room_id: UUID, key: str) -> HttpResponse:
    """Close a face: what is planned is in, seen and photographed, or the reason why not is kept."""
    room, order = _room_with(request, room_id, key)
    here = reverse("surface-behind", args=[room.pk, key])
    asked = asked_first(
        request, room, lambda order: [order.closing_of(room, key)], back=here, order=order
    )
    if asked is not None:
        return asked
    closed = close_face(by=By(request.person), room=room, face=key)
    offer_undo(request, f"Closed: {_name(room, key)}.", closed)
    return go(request, here)


def _room_with(request: SiteRequest, room_id: UUID, key: str) -> tuple[Room, OrderOfWork]:
    """A room that the person may change, which has a face of that key, with its order of work; 404
    otherwise."""
    room = room_for(request.person, room_id, write=True)
    order = order_of(room)
    if key not in order.faces_of(room):
        raise Http404("No such face")
    return room, order


@require_POST
def open_again(request: SiteRequest, face_id: UUID) -> HttpResponse:
    """Open a closed face again: something is still to go in."""
    rows = ClosedFace.objects.select_related("room__house", "room__behind")
    closed = row_for(request.person, rows, face_id, through="room__house", write=True)
    room, key = closed.room, closed.surface
    face_open(by=By(request.person), closed=closed)
    offer_undo(request, f"Open again: {_name(room, key)}.", closed)
    return go(request, "surface-behind", room.pk, key)


@require_POST
def hidden_in(request: SiteRequest, hidden_id: UUID) -> HttpResponse:
    """Tell that something planned behind the board is in."""
    rows = HiddenItem.objects.select_related("wall", "room__house", "room__behind")
    item = row_for(request.person, rows, hidden_id, through="room__house", write=True)
    if item.planned:
        hidden_change(by=By(request.person), item=item, planned=False)
        offer_undo(request, f"In: {item.name}.", item)
    return go(request, "surface-behind", item.room_id, request.POST.get("key") or item.surface_key)


@require_http_methods(["GET", "POST"])
def photo_add(request: SiteRequest, room_id: UUID, key: str) -> HttpResponse:
    """Add a photo of a surface while it is open."""
    room, _ = _room_with(request, room_id, key)
    wall, plane = surface_of(room, key)
    given = (request.POST, request.FILES) if request.method == "POST" else ()
    form = SurfacePhotoForm(*given)
    slow = _read_photo(request, form)

    def write(by: By) -> Photo:
        assert form.picture is not None
        return photo_write(
            by=by,
            room=room,
            picture=form.picture,
            wall=wall,
            plane=plane,
            caption=form.cleaned_data["caption"],
        )

    def added(photo: Photo) -> HttpResponse:
        offer_undo(request, "Photo added.", photo)
        return go(request, "surface-behind", room.pk, key)

    context = {
        "house": room.house,
        "room": room,
        "key": key,
        "name": _name(room, key),
        "section": "rooms",
    }
    fields = {"file": "photo"}
    answer = edit(
        request, form, "work/behind_photo.html", context, write=write, then=added, fields=fields
    )
    return slowed(answer, slow) if slow else answer


def _read_photo(request: SiteRequest, form: SurfacePhotoForm) -> TooFast | None:
    """Write the sent photo anew. Returns the refusal where it is too early for another one."""
    if not form.is_bound or not form.is_valid():
        return None
    try:
        check_rate(request, PHOTOS)
        form.read_photo()
    except TooFast as error:
        form.add_error("photo", str(error))
        return error
    return None


@require_POST
def photo_remove(request: SiteRequest, photo_id: UUID) -> HttpResponse:
    """Remove a photo of a surface."""
    rows = Photo.objects.select_related("wall", "room__house")
    photo = row_for(request.person, rows, photo_id, through="room__house", write=True)
    key = photo.wall.key if photo.wall else photo.plane
    photo_strike(by=By(request.person), photo=photo)
    offer_undo(request, "Removed the photo.", photo)
    if not key:
        return go(request, "log-list", photo.room.house_id)
    return go(request, "surface-behind", photo.room_id, key)
