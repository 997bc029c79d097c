"""Pages to add openings, cut-outs and what is behind the board one after another, to change them
and to remove them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Q
from django.http import Http404, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from remodel.history.services import By
from remodel.house import things
from remodel.house.models import Cutout, HiddenItem, Opening, Room
from remodel.pages.editing import (
    Seen,
    edit,
    page,
    posted,
    remove_asked,
    removed,
    saved_and_go,
    saved_words,
)
from remodel.pages.house.forms.things import CutoutForm, HiddenForm, OpeningForm
from remodel.pages.house.usual_sizes import usual_sizes
from remodel.pages.house.views_edit.face_picture import face_shown
from remodel.pages.house.views_edit.measured import cutout_table, hidden_table, opening_table
from remodel.pages.order_watch import OrderWatch
from remodel.people.http import SiteRequest
from remodel.people.queries import room_for, row_for

__all__ = [
    "cutout_add",
    "cutout_edit",
    "cutout_remove",
    "hidden_add",
    "hidden_edit",
    "hidden_remove",
    "opening_add",
    "opening_edit",
    "opening_remove",
    "thing_picture",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """What differs between openings, cut-outs and hidden items. `word` is the word in the names of
    the routes."""

    word: str
    row: type[Any]
    form: Any
    add: Callable[[By, Room, Any, str], Any]
    change: Callable[..., Any]
    remove: Callable[..., Any]
    table: Callable[[Room], Any]
    add_title: str
    save: str


def _add_opening(by: By, room: Room, form: OpeningForm, name: str) -> Opening:
    columns = form.columns() | {"name": name}
    if form.partition is not None:
        leg = columns.pop("surface")
        return things.partition_opening_add(by=by, partition=form.partition, leg=leg, **columns)
    return things.opening_add(by=by, room=room, **columns)


OPENING = Kind(
    word="opening",
    row=Opening,
    form=OpeningForm,
    add=_add_opening,
    change=lambda by, row, **values: things.opening_change(by=by, opening=row, **values),
    remove=lambda by, row: things.opening_remove(by=by, opening=row),
    table=opening_table,
    add_title="Add a door, window or cased opening",
    save="Save the opening",
)
CUTOUT = Kind(
    word="cutout",
    row=Cutout,
    form=CutoutForm,
    add=lambda by, room, form, name: things.cutout_add(
        by=by, room=room, **form.columns() | {"name": name}
    ),
    change=lambda by, row, **values: things.cutout_change(by=by, cutout=row, **values),
    remove=lambda by, row: things.cutout_remove(by=by, cutout=row),
    table=cutout_table,
    add_title="Add a box, light, vent or pipe",
    save="Save the cut-out",
)
HIDDEN = Kind(
    word="hidden",
    row=HiddenItem,
    form=HiddenForm,
    add=lambda by, room, form, name: things.hidden_add(
        by=by, room=room, **form.columns() | {"name": name}
    ),
    change=lambda by, row, **values: things.hidden_change(by=by, item=row, **values),
    remove=lambda by, row: things.hidden_remove(by=by, item=row),
    table=hidden_table,
    add_title="Note what is behind the board",
    save="Save it",
)
KINDS = {kind.word: kind for kind in (OPENING, CUTOUT, HIDDEN)}


@require_http_methods(["GET", "POST"])
def opening_add(request: SiteRequest, room_id: UUID) -> HttpResponse:
    return _add(request, room_id, OPENING)


@require_http_methods(["GET", "POST"])
def opening_edit(request: SiteRequest, opening_id: UUID) -> HttpResponse:
    return _edit(request, _opening(request, opening_id), OPENING)


@require_POST
def opening_remove(request: SiteRequest, opening_id: UUID) -> HttpResponse:
    return _remove(request, _opening(request, opening_id), OPENING)


@require_http_methods(["GET", "POST"])
def cutout_add(request: SiteRequest, room_id: UUID) -> HttpResponse:
    return _add(request, room_id, CUTOUT)


@require_http_methods(["GET", "POST"])
def cutout_edit(request: SiteRequest, cutout_id: UUID) -> HttpResponse:
    return _edit(request, _placed(request, Cutout, cutout_id), CUTOUT)


@require_POST
def cutout_remove(request: SiteRequest, cutout_id: UUID) -> HttpResponse:
    return _remove(request, _placed(request, Cutout, cutout_id), CUTOUT)


@require_http_methods(["GET", "POST"])
def hidden_add(request: SiteRequest, room_id: UUID) -> HttpResponse:
    return _add(request, room_id, HIDDEN)


@require_http_methods(["GET", "POST"])
def hidden_edit(request: SiteRequest, hidden_id: UUID) -> HttpResponse:
    return _edit(request, _placed(request, HiddenItem, hidden_id), HIDDEN)


@require_POST
def hidden_remove(request: SiteRequest, hidden_id: UUID) -> HttpResponse:
    return _remove(request, _placed(request, HiddenItem, hidden_id), HIDDEN)


@require_POST
def thing_picture(request: SiteRequest, room_id: UUID, word: str) -> HttpResponse:
    """The picture alone, of a thing as it is typed. Nothing is stored."""
    room = room_for(request.person, room_id)
    kind = KINDS.get(word)
    if kind is None:
        raise Http404
    row = _last(room, kind, request.GET.get("row", ""))
    form = kind.form(request.POST, units=room.house.units, room=room, row=row)
    context = {"house": room.house, "face": face_shown(room, form, kind.row, row)}
    return page(request, "edit/_face_picture.html", context)


def _opening(request: SiteRequest, opening_id: UUID) -> Opening:
    """An opening of a wall or of a planned partition, for a person who may change it; 404
    otherwise."""
    rows = Opening.objects.select_related("wall", "partition__room__house", "room__house")
    in_partition = Opening.objects.filter(pk=opening_id, partition__isnull=False).exists()
    through = "partition__room__house" if in_partition else "room__house"
    return row_for(request.person, rows, opening_id, through=through, write=True)


def _placed(request: SiteRequest, table: Any, row_id: UUID) -> Any:
    rows = table.objects.select_related("wall", "room__house")
    return row_for(request.person, rows, row_id, through="room__house", write=True)


def _usual(room: Room, kind: Kind) -> dict[str, Any]:
    words, sizes = usual_sizes(kind.word, room.house.units) or ("", ())
    return {"usual_words": words, "usual": sizes}


def _add(request: SiteRequest, room_id: UUID, kind: Kind) -> HttpResponse:
    """Add one and stay on the page. The fresh form has the kind and sizes of the last one, and the
    page lists those there are."""
    room = room_for(request.person, room_id, write=True)
    start = {"units": room.house.units, "room": room, "surface": request.GET.get("surface", "")}
    if request.GET.get("after"):
        start["like"] = _last(room, kind, request.GET["after"])
    form = kind.form(posted(request), **start)

    def context() -> dict[str, Any]:
        return {
            "house": room.house,
            "room": room,
            "kind": kind,
            **_usual(room, kind),
            "table": kind.table(room),
            "face": face_shown(room, form, kind.row),
        }

    def next_one(row: Any) -> HttpResponse:
        if not request.htmx:
            return saved_and_go(request, _next(room, kind, row), name=row.name)
        fresh = kind.form(**start | {"like": row})
        _take_focus(fresh)
        message = saved_words(row.name)
        return page(
            request,
            "edit/thing_add.html",
            context() | {"just_saved": message, "face": face_shown(room, fresh, kind.row)},
            form=fresh,
            message=message,
        )

    return edit(
        request,
        form,
        "edit/thing_add.html",
        context,
        write=lambda by: kind.add(by, room, form, _named(room, form, kind)),
        then=next_one,
        needs_of=room.house,
        against=room if kind is not HIDDEN else None,
    )


def _named(room: Room, form: Any, kind: Kind) -> str:
    """The name that was typed. Without one it is the name of the kind, numbered from 2 where the
    room has it already."""
    typed = str(form.cleaned_data["name"]).strip()
    if typed:
        return typed
    base = str(dict(form.fields["kind"].choices)[form.cleaned_data["kind"]])
    taken = {row[0].text for row in kind.table(room).rows}
    numbered = [base, *(f"{base} {number}" for number in range(2, len(taken) + 2))]
    return next(name for name in numbered if name not in taken)


def _next(room: Room, kind: Kind, row: Any) -> str:
    """The same page again for another thing, which starts from the one just saved."""
    return f"{reverse(f'{kind.word}-add', args=[room.pk])}?after={row.pk}"


def _last(room: Room, kind: Kind, key: str) -> Any:
    own = Q(room=room) | Q(partition__room=room) if kind is OPENING else Q(room=room)
    try:
        return kind.row.objects.filter(own, pk=UUID(key)).first()
    except ValueError:
        return None


def _take_focus(form: Any) -> None:
    """Give the keyboard focus to the first field that differs for the next thing."""
    field = form.fields.get("left") or form.fields["across_distance"]
    field.widget.attrs["data-focus"] = True


def _edit(request: SiteRequest, row: Any, kind: Kind) -> HttpResponse:
    room, name = row._room(), row.name
    form = kind.form(posted(request), units=room.house.units, room=room, row=row, seen=Seen.of(row))

    def write(by: By) -> Any:
        columns = form.columns()
        if getattr(row, "partition", None) is not None or columns["surface"] == row.surface_key:
            columns.pop("surface")
        columns["name"] = columns["name"].strip() or name
        return kind.change(by, row, **columns)

    def context() -> dict[str, Any]:
        return {
            "house": room.house,
            "room": room,
            "kind": kind,
            **_usual(room, kind),
            "row": row,
            "name": name,
            "remove_url": reverse(f"{kind.word}-remove", args=[row.pk]),
            "face": face_shown(room, form, kind.row, row),
        }

    return edit(
        request,
        form,
        "edit/thing_edit.html",
        context,
        write=write,
        then=lambda row: saved_and_go(request, "room-edit", room.pk, name=row.name),
        needs_of=room.house,
        against=room if kind is not HIDDEN else None,
    )


def _remove(request: SiteRequest, row: Any, kind: Kind) -> HttpResponse:
    room = row._room()
    watch = OrderWatch(room.house)
    return remove_asked(
        request,
        room,
        lambda by: kind.remove(by, row),
        then=lambda: removed(request, row, row.name, "room-edit", room.pk, watch=watch),
        back=reverse(f"{kind.word}-edit", args=[row.pk]),
    )
