"""The page of what is built into a room, and of the walls that come out of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeVar
from uuid import UUID

from django.http import Http404, HttpResponse
from django.views.decorators.http import require_http_methods

from remodel.bridge.built import built_of, taken_out_of
from remodel.history.services import By
from remodel.house.built import room_build
from remodel.house.models import Room
from remodel.pages.editing import Seen, edit, posted, saved_and_go
from remodel.pages.house.forms.built import BuiltForm, TakenOutForm
from remodel.people.http import SiteRequest
from remodel.people.queries import room_for
from remodel.web.forms import HouseForm
from remodel.web.row_forms import posted_rows

__all__ = ["room_built"]

RowOfForm = TypeVar("RowOfForm", BuiltForm, TakenOutForm)

_SPARE = 1
_MOST = 20


@require_http_methods(["GET", "POST"])
def room_built(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """Soffits, chases, skylight wells and stairs of a room, and walls that are taken out."""
    room = room_for(request.person, room_id, write=True)
    if room.shape not in ("quick", "walls"):
        raise Http404("No walls of its own")
    form = HouseForm(posted(request), units=room.house.units, seen=Seen.of(room))
    built = _rows(request, room, BuiltForm, "built", built_of(room.built))
    out = _rows(request, room, TakenOutForm, "out", taken_out_of(room.taken_out))

    def write(by: By) -> Room:
        return room_build(
            by=by,
            room=room,
            built=[row.entered for row in built if row.entered],
            taken_out=[row.entered for row in out if row.entered],
        )

    return edit(
        request,
        form,
        "edit/room_built.html",
        {"house": room.house, "room": room, "built": built, "out": out},
        write=write,
        then=lambda room: saved_and_go(request, "room-edit", room.pk),
        more=[*built, *out],
        needs_of=room.house,
        against=room,
    )


def _rows(
    request: SiteRequest,
    room: Room,
    row_form: type[RowOfForm],
    name: str,
    kept: Sequence[Any],
) -> list[RowOfForm]:
    """A row of fields for each thing that is there, and a spare one; those that were sent where
    some were."""
    units = room.house.units
    if request.method == "POST":
        rows = posted_rows(request.POST, name, most=_MOST)
        return [
            row_form(row.data, prefix=row.prefix, units=units, room=room, number=number)
            for number, row in enumerate(rows, start=1)
        ]
    return [
        row_form(
            prefix=f"{name}-{index}",
            units=units,
            room=room,
            number=index + 1,
            kept=kept[index] if index < len(kept) else None,
        )
        for index in range(min(len(kept) + _SPARE, _MOST))
    ]
