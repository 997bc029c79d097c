"""What people add to a phase: flooring, trim, doors, whatever their price list has."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.views.decorators.http import require_http_methods, require_POST

from remodel.bridge import house_value
from remodel.bridge.added import sizes_in
from remodel.history.services import By
from remodel.house.models import House, Room
from remodel.house.queries import house_with_pile
from remodel.pages.editing import Seen, edit, posted, removed, saved_and_go
from remodel.pages.order_watch import OrderWatch
from remodel.pages.work.forms_added import AddedNeedForm
from remodel.people.http import SiteRequest
from remodel.people.queries import row_for
from remodel.supply.models import Material
from remodel.work import services
from remodel.work.models import AddedNeed, Phase

__all__ = ["added_add", "added_edit", "added_remove"]


@require_http_methods(["GET", "POST"])
def added_add(request: SiteRequest, phase_id: UUID) -> HttpResponse:
    """Add something that a phase takes."""
    phases = Phase.objects.select_related("room__house", "room__behind")
    phase = row_for(request.person, phases, phase_id, through="room__house", write=True)
    house, room = phase.room.house, phase.room
    form = AddedNeedForm(
        posted(request),
        units=house.units,
        materials=_materials(house),
        sizes=_sizes(room),
        initial={"material": request.GET.get("material", "")},
    )
    return edit(
        request,
        form,
        "work/added_add.html",
        _context(phase),
        write=lambda by: services.added_need_add(by=by, phase=phase, **form.columns()),
        then=lambda need: saved_and_go(request, "phase-detail", phase.pk, name=_name(need)),
        needs_of=house,
    )


@require_http_methods(["GET", "POST"])
def added_edit(request: SiteRequest, added_id: UUID) -> HttpResponse:
    """Change something that was added to a phase."""
    need = _added(request, added_id)
    house, room = need.phase.room.house, need.phase.room
    materials = _materials(house)
    form = AddedNeedForm(
        posted(request),
        units=house.units,
        materials=materials,
        sizes=_sizes(room),
        seen=Seen.of(need),
        initial=AddedNeedForm.initial_of(need, materials, house.units),
    )
    return edit(
        request,
        form,
        "work/added_edit.html",
        _context(need.phase) | {"need": need, "name": _name(need)},
        write=lambda by: services.added_need_change(by=by, need=need, **form.columns()),
        then=lambda need: saved_and_go(request, "phase-detail", need.phase_id, name=_name(need)),
        needs_of=house,
    )


@require_POST
def added_remove(request: SiteRequest, added_id: UUID) -> HttpResponse:
    """Remove something that was added to a phase. An undo brings it back."""
    need = _added(request, added_id)
    watch = OrderWatch(need.phase.room.house)
    services.added_need_remove(by=By(request.person), need=need)
    return removed(request, need, _name(need), "phase-detail", need.phase_id, watch=watch)


def _added(request: SiteRequest, added_id: UUID) -> AddedNeed:
    needs = AddedNeed.objects.select_related("phase__room__house", "phase__room__behind")
    return row_for(request.person, needs, added_id, through="phase__room__house", write=True)


def _materials(house: House) -> list[Material]:
    """What is on sale, by name."""
    rows = Material.objects.filter(house=house).prefetch_related("packs")
    return sorted((row for row in rows if row.packs.all()), key=lambda row: row.name.lower())


def _sizes(room: Room) -> dict[str, str]:
    return sizes_in(house_value(house_with_pile(room)), room.key)


def _name(need: AddedNeed) -> str:
    """What people call it: the material's name."""
    materials = Material.objects.filter(house=need.phase.room.house_id, key=need.material)
    return materials.values_list("name", flat=True).first() or need.material


def _context(phase: Phase) -> dict[str, Any]:
    return {
        "house": phase.room.house,
        "room": phase.room,
        "phase": phase,
        "section": "rooms",
    }
