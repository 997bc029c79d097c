"""Who has a right to what: writing claims, ending them, and putting a job first in line."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from uuid import UUID

from django.db.models import Max, Min, Q, QuerySet
from django.utils import timezone

from remodel.history.errors import Refused
from remodel.history.services import By, recorded, touch
from remodel.house.models import House
from remodel.supply.models import Claim, Order
from remodel.work.models import Phase

__all__ = [
    "begin",
    "end_of_order",
    "in_line",
    "keep_for",
    "place_in_line",
    "put_first",
    "set_free",
]


def begin(
    *, by: By, house: House, wanted: Iterable[tuple[UUID, str]], order: Order | None, why: str = ""
) -> int:
    """Give jobs a claim on items, as (job, item), all with the next serial. A job that is in line
    for an item already keeps its place. Gives how many began."""
    # An order that is a draft again after an undo, or was removed, holds no place in line.
    Claim.objects.filter(_void(), house=house, ended_at=None).update(ended_at=timezone.now())
    touch(house.pk, "supply.claim")
    line = in_line(house)
    serial = (Claim.objects.filter(house=house).aggregate(last=Max("serial"))["last"] or 0) + 1
    now = timezone.now()
    made = Claim.objects.bulk_create(
        Claim(
            house=house,
            job_id=job,
            item=item,
            serial=serial,
            order=order,
            why=why[:200],
            begun_at=now,
            person=by.person,
        )
        for job, item in dict.fromkeys(wanted)
        if place_in_line(line, job, item) is None
    )
    return len(made)


def _void() -> Q:
    return Q(order__state__in=(Order.State.DRAFT, Order.State.TAKEN_BACK)) | Q(
        order__deleted_at__isnull=False
    )


def end_of_order(order: Order) -> None:
    """End the claims that an order began. Where another order that stands is for the same job, the
    claim goes on as that order's."""
    touch(order.house_id, "supply.claim")
    mine = Claim.objects.filter(order=order, ended_at=None)
    others = Order.objects.filter(
        house=order.house_id, state__in=(Order.State.PLACED, Order.State.CLOSED)
    ).exclude(pk=order.pk)
    for other in others.order_by("placed_at", "id"):
        mine.filter(job__room__in=other.rooms.all(), job__key__in=other.phases).update(order=other)
    mine.update(ended_at=timezone.now())


def in_line(house: House | UUID) -> dict[UUID, dict[str, int | None]]:
    """The place in line of each job that has one: by item its serial, None where a person gave the
    item free, and under "" the serial for all other items of the job."""
    rows = list(
        Claim.objects.filter(~_void(), house=house)
        .order_by("serial")
        .values_list("job", "item", "serial", "begun_at", "ended_at")
    )
    line: dict[UUID, dict[str, int | None]] = {}
    since: dict[UUID, datetime] = {}
    for job, item, serial, begun, ended in rows:
        if ended is None:
            mine = line.setdefault(job, {})
            mine[item] = serial
            mine.setdefault("", serial)
            since[job] = min(begun, since.get(job, begun))
    for job, item, _, _, ended in rows:
        # What was given free before the job got the claims it has now says nothing of them.
        if ended is not None and job in line and ended >= since[job]:
            line[job].setdefault(item, None)
    return line


def place_in_line(
    line: Mapping[UUID, Mapping[str, int | None]], job: UUID, item: str
) -> int | None:
    """The serial of a job's claim on an item; None where it has none. What a job came to take later
    is claimed since the job's first claim."""
    mine = line.get(job)
    if mine is None:
        return None
    return mine[item] if item in mine else mine[""]


@recorded("kept it for a job")
def keep_for(*, by: By, house: House, wanted: Iterable[tuple[UUID, str]], why: str = "") -> House:
    """Keep items for jobs without buying anything, as (job, item)."""
    if not begin(by=by, house=house, wanted=wanted, order=None, why=why or "kept"):
        raise Refused("This is kept for it already")
    return house


@recorded("set free")
def set_free(*, by: By, job: Phase, item: str) -> Phase:
    """Give an item that was kept for a job free for others."""
    if place_in_line(in_line(job.room.house), job.pk, item) is None:
        raise Refused("Nothing of this is kept for it")
    touch(job.room.house_id, "supply.claim")
    _with_row(by, job, item).update(ended_at=timezone.now())
    return job


@recorded("served it first")
def put_first(*, by: By, job: Phase, item: str) -> Phase:
    """Serve a job first of all that want an item."""
    house = job.room.house
    begin(by=by, house=house, wanted=[(job.pk, item)], order=None, why="served first")
    first = Claim.objects.filter(house=house).aggregate(first=Min("serial"))["first"]
    touch(house.pk, "supply.claim")
    _with_row(by, job, item).update(serial=first - 1)
    return job


def _with_row(by: By, job: Phase, item: str) -> QuerySet[Claim]:
    """A job's open claim on an item. What the job came to take later has no row yet; it gets one,
    which ends with the order that began the job's first claim."""
    mine = Claim.objects.filter(job=job, item=item, ended_at=None)
    if not mine.exists():
        first = Claim.objects.filter(job=job, ended_at=None).order_by("serial")[0]
        Claim.objects.create(
            house=first.house,
            job=job,
            item=item,
            serial=first.serial,
            order=first.order,
            why=first.why,
            begun_at=timezone.now(),
            person=by.person,
        )
    return mine
