"""The queue of searches for better plans: one for each pool, the newest digest only."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta

from django.db import models, transaction
from django.utils import timezone

from remodel.board.models import Job, Plan, Worker
from remodel.engine.views import Bound, PoolState
from remodel.house.models import House, Room

__all__ = ["cancel", "finish", "seek", "take_next", "worker_is_here"]

_UNDER_WAY = (Job.State.WAITING, Job.State.RUNNING)
_SILENT = timedelta(seconds=30)


def seek(house: House, room: Room, pools: Iterable[PoolState]) -> None:
    """Queue a search for each pool that was not searched under this digest, and cancel older searches of this room.

    A plan that is the best there can be is left alone.
    """
    wanted = {(pool.board, pool.thickness): pool for pool in pools if pool.total > pool.bound}
    under_way = {(job.board, job.thickness): job for job in Job.objects.filter(room=room, state__in=_UNDER_WAY)}
    for key, job in under_way.items():
        if key not in wanted or wanted[key].digest != job.pool:
            cancel(job, "The room changed")
    for key, pool in wanted.items():
        if key in under_way and under_way[key].pool == pool.digest:
            continue
        if Job.objects.filter(room=room, pool=pool.digest, state=Job.State.DONE).exists():
            continue
        Job.objects.create(
            house=house, room=room, board=key[0], thickness=key[1], pool=pool.digest, queued_at=timezone.now()
        )
    Plan.objects.filter(room=room, state=Plan.State.PROPOSED).exclude(
        pool__in=[pool.digest for pool in wanted.values()]
    ).delete()


def cancel(job: Job, why: str) -> None:
    """End a search that waits or runs; its worker kills the process when it next looks."""
    Job.objects.filter(pk=job.pk, state__in=_UNDER_WAY).update(
        state=Job.State.CANCELLED, ended_at=timezone.now(), outcome=why
    )


def take_next() -> Job | None:
    """The next search, now this worker's; None where none waits. One whose worker fell silent is taken again."""
    with transaction.atomic():
        now = timezone.now()
        Job.objects.filter(state=Job.State.RUNNING, alive_at__lt=now - _SILENT).update(
            state=Job.State.WAITING, started_at=None
        )
        waiting = Job.objects.select_for_update(of=("self",)).filter(state=Job.State.WAITING, house__deleted_at=None)
        job = waiting.order_by("queued_at").first()  # those of a removed house wait until it is put back
        if job is None:
            return None
        job.state, job.started_at, job.alive_at = Job.State.RUNNING, now, now
        job.save(update_fields=("state", "started_at", "alive_at"))
        return job


def still_wanted(job: Job) -> bool:
    """Note that the worker is alive; False once the search was cancelled."""
    return bool(Job.objects.filter(pk=job.pk, state=Job.State.RUNNING).update(alive_at=timezone.now()))


def put_back(job: Job) -> None:
    """Leave a search to the next worker."""
    Job.objects.filter(pk=job.pk, state=Job.State.RUNNING).update(state=Job.State.WAITING, started_at=None)


def finish(job: Job, state: str, outcome: str, *, bound: Bound | None = None) -> None:
    """End a search with what came of it; `bound` is the best that was proven of the pool."""
    known = {"bound": str(bound.value), "basis": bound.basis.value} if bound else {}
    Job.objects.filter(pk=job.pk, state=Job.State.RUNNING).update(
        state=state, outcome=outcome[:500], ended_at=timezone.now(), **known
    )


def worker_seen(name: str) -> None:
    Worker.objects.update_or_create(name=name, defaults={"seen_at": timezone.now()})


def worker_is_here() -> bool:
    """Whether any worker was seen in the last half minute; without one the first plan stands, and pages say so."""
    return Worker.objects.filter(seen_at__gte=timezone.now() - _SILENT).exists()


def under_way(house: House) -> models.QuerySet[Job]:
    return Job.objects.filter(house=house, state__in=_UNDER_WAY)
