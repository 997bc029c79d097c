"""Planned partitions: framed before board or after it, and whether their blocking is in."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django import forms
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET, require_http_methods

from remodel.bridge import house_value, words
from remodel.bridge.choices import ChoiceKind
from remodel.bridge.landing import Landing, landings_of
from remodel.choices import overtaken_partition
from remodel.house.models import Partition, Room
from remodel.house.partitions import partition_change
from remodel.house.queries import whole_house
from remodel.pages.editing import Seen, edit, posted
from remodel.pages.house.forms.framed_when import ask_anyway, check_anyway
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for, row_for
from remodel.web.forms import HouseForm
from remodel.web.responses import go

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

    def __init__(
        self, *args: Any, partition: Partition, overtaken: str = "", **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self._partition = partition
        ask_anyway(self, overtaken)
        if partition.bearing:
            field = self.fields["framed"]
            assert isinstance(field, forms.ChoiceField)
            field.choices = [choice for choice in words.FRAMED_WHEN if choice[0] == "before"]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        check_anyway(self, cleaned, self._partition)
        return cleaned


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
    """When a partition is framed, and whether the blocking is in that it is fastened to."""
    partition = _partition(request, partition_id, write=request.method == "POST")
    initial = {"framed": partition.framed, "blocking_recorded": partition.blocking_recorded}
    overtaken = overtaken_partition(partition)
    form = FramedForm(
        posted(request),
        partition=partition,
        overtaken=overtaken,
        seen=Seen.of(partition),
        initial=initial,
    )
    return edit(
        request,
        form,
        "rooms/partition.html",
        lambda: _context(_partition(request, partition_id), overtaken),
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


def _context(partition: Partition, overtaken: str) -> dict[str, Any]:
    return {
        "house": partition.house,
        "room": partition.room,
        "partition": partition,
        "behind": Room.objects.filter(behind=partition).first(),
        "never_after": partition.bearing,
        "choice_key": f"{ChoiceKind.PARTITION}.{partition.key}",
        "overtaken": overtaken,
        "landings": _landings(partition),
    }


def _landings(partition: Partition) -> tuple[Landing, ...]:
    if partition.framed != "after":
        return ()
    house = house_value(whole_house(partition.house_id))
    return landings_of(house, partition.room.key, partition.key)
