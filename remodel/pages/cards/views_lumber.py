"""The cut list of a room's lumber, stick by stick."""

from __future__ import annotations

from collections.abc import Mapping
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from remodel.board.queries import old_figures, view_of
from remodel.bridge import house_value
from remodel.bridge.cut_lists import SticksOfOne, cut_lists_of, kerf_text
from remodel.house.queries import whole_house
from remodel.people.http import SiteRequest
from remodel.people.queries import room_for
from remodel.web.parts import Column, Table
from remodel.work.queries import names_of_phases

__all__ = ["room_lumber"]


@require_GET
def room_lumber(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """What each phase of a room cuts from sticks: which stick, which cuts, what is left."""
    room = room_for(request.person, room_id)
    house = house_value(whole_house(room.house_id))
    view = view_of(room)
    lists = cut_lists_of(view, house) if view else ()
    phases = names_of_phases(room.house_id)
    context = {
        "house": room.house,
        "room": room,
        "old_figures": old_figures(room.house_id),
        "tables": [_table(cut_list, phases) for cut_list in lists if cut_list.sticks],
        "not_on_sale": [cut_list.unmet for cut_list in lists if cut_list.unmet],
        "kerf": kerf_text(house),
        "section": "rooms",
    }
    return render(request, "cards/lumber.html", context)


def _table(cut_list: SticksOfOne, phases: Mapping[str, str]) -> Table:
    phase = phases.get(cut_list.phase, cut_list.phase)
    many = "1 stick" if cut_list.count == 1 else f"{cut_list.count} sticks"
    return Table(
        id=f"{cut_list.phase}-{cut_list.material}",
        caption=f"{phase}: {cut_list.name}, {many}",
        columns=[Column(title=title) for title in ("Stick", "Length", "Cut in this order", "Left")],
        rows=[
            [
                sticks.numbers,
                f"{sticks.length} each" if sticks.count > 1 else sticks.length,
                "; ".join(f"{cut.length} {cut.what}" for cut in sticks.cuts),
                sticks.rest,
            ]
            for sticks in cut_list.sticks
        ],
    )
