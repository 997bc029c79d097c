"""One worker: takes searches from the queue, each solved in a child process that can be killed."""

from __future__ import annotations

import json
import logging
import os
import queue as queues
import socket
import subprocess
import sys
import threading
import time
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass
from typing import IO

from django.conf import settings

from remodel.board import queue
from remodel.board.models import Job, RoomResult
from remodel.board.queries import family_of
from remodel.board.services import finish_piles, piles_wait, propose
from remodel.engine import house_value
from remodel.engine.families import Family, families_of, left_after
from remodel.engine.lengths import TakeoffError
from remodel.engine.plans import BoardPlan, plan_from
from remodel.engine.search import request_for
from remodel.engine.views import PoolState
from remodel.history.turns import write_turn
from remodel.house.models import House
from remodel.house.queries import whole_house

__all__ = ["Search", "run_once", "work"]

log = logging.getLogger(__name__)

COMMAND = [sys.executable, "-m", "remodel.engine.search"]
LONGEST_SEARCH = 120.0  # seconds; what was found by then is offered
_LOOK = 0.5


@dataclass(frozen=True, slots=True)
class Search:
    """What a job needs: the family, the pool as it stands, and what to ask the child."""

    family: Family
    pool: PoolState
    request: str


def work(*, stop: threading.Event, name: str = "") -> None:
    """Take searches until `stop` is set."""
    name = name or f"{socket.gethostname()}-{os.getpid()}"
    seen = 0.0
    while not stop.is_set():
        if time.monotonic() - seen > 5:
            queue.worker_seen(name)
            seen = time.monotonic()
        if not _piles_first() and not run_once(stop=stop, name=name):
            stop.wait(1)


def _piles_first() -> bool:
    """Work out piles that wait for it, for their rooms are looked at now; whether any was."""
    try:
        return finish_piles()
    except Exception:
        log.exception("A pile could not be worked out")
        return False


def run_once(*, stop: threading.Event | None = None, name: str = "worker") -> Job | None:
    """Take one search from the queue and see it through; None where none waits."""
    job = queue.take_next()
    if job is None:
        return None
    search = _search_of(job)
    if search is None:
        queue.finish(job, Job.State.CANCELLED, "The room changed")
        return job
    try:
        _see_through(job, search, stop or threading.Event(), name)
    except Exception:
        log.exception("A search failed: job %s", job.pk)
        queue.finish(job, Job.State.FAILED, "The search failed; the plan that stands is kept")
    return job


def _search_of(job: Job) -> Search | None:
    """The search as the house stands now; None where the pool is no longer what was queued."""
    result = family_of(job.room)
    asked = (job.board, job.thickness, job.pool)
    pools = result.pools if result else ()
    pool = next((each for each in pools if (each.board, each.thickness, each.digest) == asked), None)
    if pool is None:
        return None
    used: Counter[str] = Counter()
    try:
        row = whole_house(job.house_id)
    except House.DoesNotExist:  # removed meanwhile
        return None
    taken = dict(RoomResult.objects.filter(room__house=row).values_list("room__key", "used"))
    try:
        for each in families_of(house_value(row)):
            family = left_after(each, used)
            if family.head == job.room.key:
                return Search(family, pool, request_for(family.house, pool.board, pool.thickness, pool.plan))
            used.update(taken.get(each.head, {}))
    except TakeoffError:
        return None
    return None


def _see_through(job: Job, search: Search, stop: threading.Event, name: str) -> None:
    child = subprocess.Popen(COMMAND, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=settings.BASE_DIR)
    assert child.stdin is not None
    assert child.stdout is not None
    try:
        child.stdin.write(search.request)
        child.stdin.close()
        _listen(job, search.pool, child.stdout, stop, name)
    finally:
        child.kill()
        child.wait()
        with suppress(OSError):
            child.stdin.close()
        child.stdout.close()


def _listen(job: Job, pool: PoolState, told: IO[str], stop: threading.Event, name: str) -> None:
    """Offer what the child finds until it ends, is no longer wanted, or time is up."""
    lines: queues.Queue[str | None] = queues.Queue()
    threading.Thread(target=_read, args=(told, lines), daemon=True).start()
    until, end, best = time.monotonic() + LONGEST_SEARCH, "", pool.plan
    while not end:
        if stop.is_set() or piles_wait():
            queue.put_back(job)
            return
        if not queue.still_wanted(job):
            return
        queue.worker_seen(name)
        try:
            line = lines.get(timeout=_LOOK)
        except queues.Empty:
            end = "time" if time.monotonic() > until else ""
            continue
        if line is None:
            raise RuntimeError("the search ended without a word")
        said = json.loads(line)
        end = said.get("end", "")
        if "plan" in said:
            plan = plan_from(said["plan"])
            if plan.total < best.total and not _offer(job, pool, plan):
                return
            best = plan
    queue.finish(job, Job.State.DONE, _outcome(end, pool.plan, best), bound=best.bound)


def _read(told: IO[str], lines: queues.Queue[str | None]) -> None:
    with suppress(ValueError):  # the pipe is closed while we listen
        for line in told:
            lines.put(line)
    lines.put(None)


def _offer(job: Job, pool: PoolState, plan: BoardPlan) -> bool:
    """Offer a better plan, if the pool is still the one it was made for; one short transaction."""
    with write_turn():
        if not queue.still_wanted(job):
            return False
        now = family_of(job.room)
        if now is None or not any(each.digest == job.pool for each in now.pools):
            queue.cancel(job, "The room changed")
            return False
        propose(job.room, pool, plan)
    return True


def _outcome(end: str, start: BoardPlan, best: BoardPlan) -> str:
    if end == "no solver":
        return "There is no solver here; the first plan stands"
    found = "A better plan was found" if best.total < start.total else "No better plan was found"
    return found if end == "done" else f"{found} before time was up"
