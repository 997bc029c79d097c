"""The queue of searches for better plans: one search for each pool, for its newest digest only."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from uuid import UUID

from django.utils import timezone

from remodel.board.marks import drop_offers
from remodel.board.models import Plan, SearchJob
from remodel.bridge.views import PoolState
from remodel.house.models import House, Room
from remodel.jobs.models import worker_is_here
from remodel.jobs.queue import Queue

__all__ = ["LONGEST_SEARCH", "SEARCHES", "cancel", "cancel_all", "seek", "worker_is_here"]

LONGEST_SEARCH = 120.0  # seconds; what was found by then is offered
SEARCHES = Queue(
    SearchJob,
    words="outcome",
    limit=timedelta(seconds=3 * LONGEST_SEARCH),
    failed="The search failed; the current plan is kept",
)
_UNDER_WAY = (SearchJob.State.WAITING, SearchJob.State.RUNNING)
_SECONDS_A_SHEET = 2.0  # about as long as a search takes, to let short ones go first


def seek(house: House, room: Room, pools: Iterable[PoolState], *, search: bool = True) -> None:
    """Queue a search for each pool that was not searched under its digest yet, and cancel older
    searches of this room. Without `search` none is queued.

    A pool whose plan is proven to be the best possible is not searched.
    """
    pools = list(pools)
    wanted = {
        (pool.board, pool.thickness): pool for pool in pools if search and pool.total > pool.bound
    }
    under_way = {
        (job.board, job.thickness): job
        for job in SearchJob.objects.filter(room=room, state__in=_UNDER_WAY)
    }
    digests = {(pool.board, pool.thickness): pool.digest for pool in pools if search}
    for key, job in under_way.items():
        # A search that has just offered the best plan there is ends by itself, and says so.
        has_found_it = job.state == SearchJob.State.RUNNING and digests.get(key) == job.pool
        if not has_found_it and (key not in wanted or wanted[key].digest != job.pool):
            cancel(job, "The room changed")
    for key, pool in wanted.items():
        if key in under_way and under_way[key].pool == pool.digest:
            continue
        # A search of the same digest would find the same again.
        if SearchJob.objects.filter(
            room=room, pool=pool.digest, state=SearchJob.State.DONE
        ).exists():
            continue
        now = timezone.now()
        SearchJob.objects.create(
            house=house,
            room=room,
            board=key[0],
            thickness=key[1],
            pool=pool.digest,
            queued_at=now,
            due_at=now + _likely_time(pool),
        )
    # An offer made for other surfaces, prices or sheets is no offer any more.
    offers = Plan.objects.filter(room=room, state=Plan.State.PROPOSED)
    drop_offers(offers.exclude(pool__in=[pool.digest for pool in pools]))


def cancel(job: SearchJob, why: str) -> None:
    """End a search that waits or runs; its worker kills the process when it looks next."""
    # A single update that names the states it expects: a search that ended meanwhile keeps its end.
    SearchJob.objects.filter(pk=job.pk, state__in=_UNDER_WAY).update(
        state=SearchJob.State.CANCELLED, ended_at=timezone.now(), outcome=why
    )


def cancel_all(rooms: Iterable[UUID], why: str) -> None:
    """End every search for some rooms that waits or runs."""
    SearchJob.objects.filter(room__in=list(rooms), state__in=_UNDER_WAY).update(
        state=SearchJob.State.CANCELLED, ended_at=timezone.now(), outcome=why
    )


def _likely_time(pool: PoolState) -> timedelta:
    return timedelta(seconds=min(LONGEST_SEARCH, _SECONDS_A_SHEET * len(pool.plan.sheets)))
