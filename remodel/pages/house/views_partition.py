"""Planned partitions: framed before board or after it, with both ways side by side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django import forms
from django.core.cache import cache
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET, require_http_methods

from remodel.bridge import codec, house_value, words
from remodel.bridge.lengths import TakeoffError, tape_text
from remodel.bridge.piles import engine_version, joined
from remodel.bridge.ways import Way, both_ways
from remodel.house.models import Partition, Room
from remodel.house.partitions import partition_change
from remodel.house.queries import whole_house
from remodel.pages.editing import Seen, edit, posted
from remodel.pages.house.room_page import amount_text
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for, row_for
from remodel.web.forms import HouseForm
from remodel.web.parts import Cell, Column, Table
from remodel.web.responses import go
from remodel.web.templatetags.halfbay import money
from remodel.work.models import GIVEN_PHASES

__all__ = ["partition_detail", "partition_list"]


class FramedForm(HouseForm):
    """When a partition is framed, and whether the blocking is in that it is fastened to. One that
    carries load is framed before board."""

    framed = forms.ChoiceField(
        label="When it is framed", choices=words.FRAMED_WHEN, widget=forms.RadioSelect
    )
    blocking_recorded = forms.BooleanField(
        label="Blocking is in where it meets the walls and the ceiling",
        required=False,
        help_text="Tick it once the blocking is in, before the board closes it",
    )

    def __init__(self, *args: Any, partition: Partition, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if partition.bearing:
            field = self.fields["framed"]
            assert isinstance(field, forms.ChoiceField)
            field.choices = [choice for choice in words.FRAMED_WHEN if choice[0] == "before"]


@dataclass(frozen=True, slots=True)
class WayRow:
    """One line of the comparison. `differs` is true where the two ways are not the same."""

    label: str
    before: str
    after: str
    differs: bool


@require_GET
def partition_list(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Every planned partition of a house."""
    house = house_for(request.person, house_id)
    partitions = Partition.objects.filter(house=house, room__deleted_at=None).select_related(
        "room", "wall"
    )
    return render(
        request, "rooms/partitions.html", {"house": house, "partitions": list(partitions)}
    )


@require_http_methods(["GET", "POST"])
def partition_detail(request: SiteRequest, partition_id: UUID) -> HttpResponse:
    """A partition with what both ways take, and the choice between them."""
    partition = _partition(request, partition_id, write=request.method == "POST")
    initial = {"framed": partition.framed, "blocking_recorded": partition.blocking_recorded}
    form = FramedForm(
        posted(request), partition=partition, seen=Seen.of(partition), initial=initial
    )
    return edit(
        request,
        form,
        "rooms/partition.html",
        lambda: _context(_partition(request, partition_id)),
        write=lambda by: partition_change(by=by, partition=partition, **form.values),
        then=lambda partition: go(request, "room-detail", partition.room_id),
        needs_of=partition.house,
        against=partition.room,
    )


def _partition(request: SiteRequest, partition_id: UUID, *, write: bool = False) -> Partition:
    partitions = Partition.objects.filter(room__deleted_at=None).select_related(
        "house", "room", "wall"
    )
    return row_for(request.person, partitions, partition_id, through="house", write=write)


def _context(partition: Partition) -> dict[str, Any]:
    ways, why_not = _ways(partition)
    return {
        "house": partition.house,
        "room": partition.room,
        "partition": partition,
        "behind": Room.objects.filter(behind=partition).first(),
        "ways": ways,
        "never_after": partition.bearing,
        "why_not": why_not,
        **(_compared(partition, *ways) if ways else {}),
    }


def _ways(partition: Partition) -> tuple[tuple[Way, Way] | None, str]:
    """Both ways worked out, or the reason why they cannot be. The result is kept by the digest of
    what it is worked out from."""
    house = house_value(whole_house(partition.house_id))
    pile = joined(house, [partition.room.key])
    key = f"ways:{codec.digest(engine_version(), pile.digest(), partition.key)}"
    ways: tuple[Way, Way] | None = cache.get(key)
    if ways is None:
        try:
            ways = both_ways(house, partition.key)
        except TakeoffError as error:
            return None, str(error)
        cache.set(key, ways, 24 * 3600)
    return ways, ""


def _compared(partition: Partition, before: Way, after: Way) -> dict[str, Any]:
    house = partition.house
    pairs = [
        (
            "Cost, before whole packs",
            *(money(round(way.cost), house.currency) for way in (before, after)),
        ),
        ("Sheets", str(before.sheets), str(after.sheets)),
        ("Boards hung", str(before.pieces), str(after.pieces)),
        ("Butt seams", str(before.butt_seams), str(after.butt_seams)),
        ("Butt seam length", *(tape_text(way.butt_length, house.units) for way in (before, after))),
        (
            "Inside corners to tape",
            *(tape_text(way.corner_length, house.units) for way in (before, after)),
        ),
        ("Edges that need backing", str(before.nailers), str(after.nailers)),
    ]
    difference = round(before.cost - after.cost)
    return {
        "rows": [WayRow(label, one, other, one != other) for label, one, other in pairs],
        "cheaper": "" if not difference else ("after" if difference > 0 else "before"),
        "difference": abs(difference),
        "needs": _needs_table(partition, before, after),
    }


def _needs_table(partition: Partition, before: Way, after: Way) -> Table:
    """Every material of which the two ways take different amounts."""
    units = partition.house.units
    names = dict(GIVEN_PHASES)
    ways = [{(line.phase, line.item): line for line in way.lines} for way in (before, after)]
    rows: list[list[str | Cell]] = []
    for key in dict.fromkeys([*ways[0], *ways[1]]):
        lines = [way.get(key) for way in ways]
        shown = [amount_text(line.amount, units) if line else "none" for line in lines]
        if shown[0] != shown[1]:
            name = next(line.name for line in lines if line)
            rows.append([name, names.get(key[0], key[0]), *shown])
    columns = [Column(title="Material"), Column(title="Phase")]
    return Table(
        id="both-ways",
        caption="What differs",
        columns=[
            *columns,
            Column(title="Framed before", number=True),
            Column(title="Framed after", number=True),
        ],
        rows=rows,
    )
