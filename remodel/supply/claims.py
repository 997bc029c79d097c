"""Who has a right to what: writing claims, ending them, and putting a job first in line."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from uuid import UUID

from django.db.models import Max, Min, Q
from django.utils import timezone

from remodel.history.errors import Refused
from remodel.history.services import By, recorded
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
    """Give jobs a claim on items, as (job, item), all with the next serial. A claim that is open
    stays as it is. Gives how many began."""
    wanted = list(dict.fromkeys(wanted))
    # An order that is a draft again after an undo, or was removed, holds no place in line.
    Claim.objects.filter(_void(), house=house, ended_at=None).update(ended_at=timezone.now())
    open_ = set(Claim.objects.filter(house=house, ended_at=None).values_list("job", "item"))
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
        for job, item in wanted
        if (job, item) not in open_
    )
    return len(made)


def _void() -> Q:
    return Q(order__state__in=(Order.State.DRAFT, Order.State.TAKEN_BACK)) | Q(
        order__deleted_at__isnull=False
    )


def end_of_order(order: Order) -> None:
    """End the claims that an order began."""
    Claim.objects.filter(order=order, ended_at=None).update(ended_at=timezone.now())


def in_line(house: House | UUID) -> dict[UUID, dict[str, int | None]]:
    """The place in line of each job that has one: by item its serial, None where a person gave the
    item free, and under "" the serial for all other items of the job."""
    line: dict[UUID, dict[str, int | None]] = {}
    for job, item, serial, ended in (
        Claim.objects.filter(~_void(), house=house)
        .order_by("serial")
        .values_list("job", "item", "serial", "ended_at")
    ):
        mine = line.setdefault(job, {})
        if ended is None:
            mine[item] = serial
            first = mine.get("")
            mine[""] = serial if first is None else min(first, serial)
        elif mine.get(item) is None:
            mine[item] = None
    # A job without an open claim has no place at all.
    return {job: mine for job, mine in line.items() if "" in mine}


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
    house = job.room.house
    if place_in_line(in_line(house), job.pk, item) is None:
        raise Refused("Nothing of this is kept for it")
    claims = Claim.objects.filter(job=job, item=item, ended_at=None)
    if not claims.exists():
        # What the job came to take later has no row of its own yet; it gets one to end.
        begin(by=by, house=house, wanted=[(job.pk, item)], order=None)
    claims.update(ended_at=timezone.now())
    return job


@recorded("served it first")
def put_first(*, by: By, job: Phase, item: str) -> Phase:
    """Serve a job first of all that want an item."""
    house = job.room.house
    begin(by=by, house=house, wanted=[(job.pk, item)], order=None, why="served first")
    first = Claim.objects.filter(house=house).aggregate(first=Min("serial"))["first"] or 1
    Claim.objects.filter(job=job, item=item, ended_at=None).update(serial=first - 1)
    return job
