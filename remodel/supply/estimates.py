"""What ticks used by estimate: which estimates still count, and writing and settling them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, QuerySet, Sum
from django.utils import timezone

from remodel.house.models import House
from remodel.supply.models import Estimate, Movement
from remodel.work.models import Phase, PhaseState

__all__ = ["Rough", "estimate", "forget", "live", "rough_by_item", "rough_by_job", "settle"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rough:
    """An amount of an item that ticks used by estimate; sticks by length in nanometers."""

    item: str
    amount: Fraction
    unit: str
    sticks: Mapping[int, int]


def live(house: House | UUID) -> QuerySet[Estimate]:
    """The estimates that count: their tick stands, or their job is done, and neither a count nor a
    log of the same job and item has made a fact of them."""
    logged = Movement.objects.filter(
        room=OuterRef("job__room"),
        phase=OuterRef("job__key"),
        item=OuterRef("item"),
        kind=Movement.Kind.USED,
        count=False,
        reverses=None,
        reversed_by=None,
    )
    stands = Q(mark__done=True, mark__deleted_at=None) | Q(
        mark=None, job__state=PhaseState.DONE, job__deleted_at=None
    )
    unsettled = Q(settled_by=None) | Q(settled_by__reversed_by__isnull=False)
    estimates: QuerySet[Estimate] = Estimate.objects.filter(
        stands, unsettled, ~Exists(logged), house=house
    )
    return estimates


def rough_by_item(house: House | UUID) -> dict[str, Rough]:
    """All that is used by estimate, item by item."""
    return {item: _added(item, rows) for item, rows in _grouped(house, ("item",)).items()}


def rough_by_job(house: House | UUID) -> dict[tuple[UUID, str], Rough]:
    """What is used by estimate, by job and item."""
    return {key: _added(key[1], rows) for key, rows in _grouped(house, ("job", "item")).items()}


def _grouped(house: House | UUID, by: tuple[str, ...]) -> dict[Any, list[dict[str, Any]]]:
    groups: dict[Any, list[dict[str, Any]]] = {}
    # Estimates of sticks are few and come one by one; all others are added up by the database.
    poured = live(house).filter(sticks=[]).values(*by, "unit").annotate(all=Sum("amount"))
    sticks = live(house).exclude(sticks=[]).values(*by, "unit", "sticks", "amount")
    for row in [*poured, *sticks]:
        key = tuple(row[name] for name in by)
        groups.setdefault(key if len(key) > 1 else key[0], []).append(row)
    return groups


def _added(item: str, rows: Iterable[dict[str, Any]]) -> Rough:
    rows = list(rows)
    sticks: Counter[int] = Counter()
    for row in rows:
        for length, count in row.get("sticks", ()):
            sticks[length] += count
    total = sum(row.get("all", row.get("amount", 0)) for row in rows)
    return Rough(item=item, amount=Fraction(total, 1000), unit=rows[0]["unit"], sticks=sticks)


def estimate(
    job: Phase,
    amounts: Iterable[tuple[str, int, str]],
    *,
    mark: Any = None,
    sticks: Mapping[str, Mapping[int, int]] | None = None,
) -> None:
    """Write that a tick (or the job's being done) used amounts of items: (item, thousandths, unit).

    They replace what the same tick, or the job's being done, said before. What a count made a fact
    then stays in the ledger: the tick was wrong at that time, and the work is done now.
    """
    Estimate.objects.filter(job=job, mark=mark).delete()
    now = timezone.now()
    Estimate.objects.bulk_create(
        Estimate(
            house_id=job.room.house_id,
            job=job,
            item=item,
            amount=amount,
            unit=unit,
            sticks=sorted((sticks or {}).get(item, {}).items()),
            mark=mark,
            at=now,
        )
        for item, amount, unit in amounts
        if amount
    )


def forget(mark: Any) -> None:
    """Drop the estimates of a tick that was taken back. What a count made a fact stays in the
    ledger."""
    Estimate.objects.filter(mark=mark).delete()


def settle(house: House, item: str, movement: Movement) -> None:
    """Let a count make facts of all estimates of an item that count until now."""
    ids = list(live(house).filter(item=item).values_list("pk", flat=True))
    Estimate.objects.filter(pk__in=ids).update(settled_by=movement)
