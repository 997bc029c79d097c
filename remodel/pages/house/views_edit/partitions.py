"""Planned partitions: added with the room they make, changed, given up."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from remodel.choices import overtaken_partition
from remodel.house import partitions
from remodel.house.models import Partition
from remodel.pages.editing import Seen, edit, posted, remove_asked, removed, saved_and_go
from remodel.pages.house.forms.partitions import PartitionForm
from remodel.pages.order_watch import OrderWatch
from remodel.people.http import SiteRequest
from remodel.people.queries import room_for, row_for

__all__ = ["partition_add", "partition_edit", "partition_remove"]


@require_http_methods(["GET", "POST"])
def partition_add(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """Plan a partition in a room, and the room behind it."""
    room = room_for(request.person, room_id, write=True)
    start = {"units": room.house.units, "room": room, "surface": request.GET.get("surface", "")}
    form = PartitionForm(posted(request), **start)
    return edit(
        request,
        form,
        "edit/partition_add.html",
        {"house": room.house, "room": room},
        write=lambda by: partitions.partition_add(by=by, room=room, **form.columns()),
        then=lambda partition: saved_and_go(request, "room-edit", room.pk, name=partition.name),
        needs_of=room.house,
        against=room,
    )


@require_http_methods(["GET", "POST"])
def partition_edit(request: SiteRequest, partition_id: UUID) -> HttpResponse:
    """Change where a partition stands, what it is framed of, and when."""
    partition = _partition(request, partition_id)
    room = partition.room
    seen = Seen.of(partition)
    form = PartitionForm(
        posted(request),
        units=room.house.units,
        room=room,
        row=partition,
        overtaken=overtaken_partition(partition),
        seen=seen,
    )
    return edit(
        request,
        form,
        "edit/partition_edit.html",
        {
            "house": room.house,
            "room": room,
            "name": partition.name,
            "remove_url": reverse("partition-remove", args=[partition.pk]),
        },
        write=lambda by: partitions.partition_change(by=by, partition=partition, **form.columns()),
        then=lambda partition: saved_and_go(request, "room-edit", room.pk, name=partition.name),
        needs_of=room.house,
        against=room,
    )


@require_POST
def partition_remove(request: SiteRequest, partition_id: UUID) -> HttpResponse:
    """Remove a planned partition and the room behind it."""
    partition = _partition(request, partition_id)
    room, name = partition.room, partition.name
    watch = OrderWatch(room.house)
    return remove_asked(
        request,
        room,
        lambda by: partitions.partition_remove(by=by, partition=partition),
        then=lambda: removed(request, partition, name, "room-edit", room.pk, watch=watch),
        back=reverse("partition-edit", args=[partition.pk]),
    )


def _partition(request: SiteRequest, partition_id: UUID) -> Partition:
    rows = Partition.objects.select_related("wall", "room__house")
    return row_for(request.person, rows, partition_id, through="room__house", write=True)
