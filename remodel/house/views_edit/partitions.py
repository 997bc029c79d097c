"""Planned partitions: added with the room they make, changed, given up."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from remodel.history.services import By
from remodel.house.forms.partitions import PartitionForm
from remodel.house.models import Partition
from remodel.house.partitions import partition_add, partition_change, partition_remove
from remodel.house.views_edit.saving import page, removed, save, saved_and_go
from remodel.people.http import SiteRequest
from remodel.people.queries import room_for, row_for

__all__ = ["partition_add_one", "partition_edit", "partition_remove_it"]


@require_http_methods(["GET", "POST"])
def partition_add_one(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """Plan a partition in a room, and the room behind it."""
    room = room_for(request.person, room_id, write=True)
    start = {"units": room.house.units, "room": room, "surface": request.GET.get("surface", "")}
    form = PartitionForm(request.POST or None, **start)
    context: dict[str, Any] = {"house": room.house, "room": room, "form": form}
    status = 200
    if request.method == "POST":
        outcome = save(request, form, lambda by: partition_add(by=by, room=room, **form.columns()))
        if outcome.row is not None:
            return saved_and_go(request, "room-edit", room.pk, name=outcome.row.name)
        status, context = outcome.status, context | outcome.context
    return page(request, "partition_add", context, status=status)


@require_http_methods(["GET", "POST"])
def partition_edit(request: SiteRequest, partition_id: UUID) -> HttpResponse:
    """Where it stands, what it is framed of, when it is framed."""
    writes = request.method == "POST"
    partition = _partition(request, partition_id)
    room = partition.room
    form = PartitionForm(
        request.POST or None, units=room.house.units, room=room, row=partition, version=partition.version
    )
    context: dict[str, Any] = {"house": room.house, "room": room, "form": form, "name": partition.name}
    context["remove_url"] = reverse("partition-remove", args=[partition.pk])
    status = 200
    if writes:

        def write(by: By) -> Partition:
            version = form.cleaned_data["version"]
            return partition_change(by=by, partition=partition, version=version, **form.columns())

        outcome = save(request, form, write)
        if outcome.row is not None:
            return saved_and_go(request, "room-edit", room.pk, name=outcome.row.name)
        status, context = outcome.status, context | outcome.context
    return page(request, "partition_edit", context, status=status)


@require_POST
def partition_remove_it(request: SiteRequest, partition_id: UUID) -> HttpResponse:
    """Give up a partition and the room behind it."""
    partition = _partition(request, partition_id)
    partition_remove(by=By(request.person), partition=partition)
    return removed(request, partition, partition.name, "room-edit", partition.room_id)


def _partition(request: SiteRequest, partition_id: UUID) -> Partition:
    rows = Partition.objects.select_related("wall", "room__house")
    return row_for(request.person, rows, partition_id, through="room__house", write=True)
