"""Runs the searches: each is solved in a child process that can be killed."""

from __future__ import annotations

import json
import os
import queue as queues
import subprocess
import sys
import threading
import time
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from typing import IO

from django.conf import settings

from remodel.board import queue
from remodel.board.models import Plan, SearchJob
from remodel.board.plans import beside_noted, propose
from remodel.board.queries import pile_result_of
from remodel.board.queue import LONGEST_SEARCH, SEARCHES
from remodel.board.rounds import pile_at_hand
from remodel.board.services import bring_up_to_date, plans_changed
from remodel.bridge.lengths import TakeoffError
from remodel.bridge.piles import Pile, shapes_now
from remodel.bridge.plans import BoardPlan, BoundBasis, plan_from
from remodel.bridge.search import request_for
from remodel.bridge.views import PoolState
from remodel.history.turns import write_turn
from remodel.jobs.queue import Claim, patiently

__all__ = ["Search", "run_once"]

COMMAND = [sys.executable, "-m", "remodel.bridge.search"]
_LOOK = 0.5
_NICE = 10  # people's own requests come first on a small machine


@dataclass(frozen=True, slots=True)
class Search:
    """What a job needs: the pile, the pool as it stands, the best plan so far, and the request
    for the child process."""

    pile: Pile
    pool: PoolState
    best: BoardPlan
    request: str


def run_once(*, stop: threading.Event | None = None, name: str = "worker") -> SearchJob | None:
    """Take one search from the queue and run it to its end; None where none waits."""
    return SEARCHES.run_one(_see_through, name, stop)


def _search_of(job: SearchJob) -> Search | None:
    """The search as the house stands now; None where the pool has changed since it was queued."""
    result = pile_result_of(job.room)
    asked = (job.board, job.thickness, job.pool)
    pools = result.pools if result else ()
    pool = next(
        (pool for pool in pools if (pool.board, pool.thickness, pool.digest) == asked), None
    )
    if pool is None:
        return None
    try:
        pile = pile_at_hand(job.house_id, job.room.key)
    except TakeoffError:
        return None
    if pile is None:
        return None
    best = _best_so_far(job, pool)
    others = [other.plan for other in pools if other is not pool]
    asked_for = request_for(pile.house, pool.board, pool.thickness, best, others)
    return Search(pile, pool, best, asked_for)


def _best_so_far(job: SearchJob, pool: PoolState) -> BoardPlan:
    """The plan to beat. It is the offer of an earlier worker that ended before its search did, or
    else the pool's own plan."""
    offer = _offered(job)
    return (
        plan_from(offer.data)
        if offer is not None and Fraction(offer.total) < pool.plan.total
        else pool.plan
    )


def _offered(job: SearchJob) -> Plan | None:
    offers = Plan.objects.filter(
        room=job.room_id, board=job.board, thickness=job.thickness, pool=job.pool
    )
    return offers.filter(state=Plan.State.PROPOSED).first()


def _see_through(claim: Claim[SearchJob]) -> None:
    search = _search_of(claim.job)
    if search is None:
        claim.end(SearchJob.State.CANCELLED, "The room changed")
        return
    child = subprocess.Popen(
        COMMAND, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=settings.BASE_DIR
    )
    assert child.stdin is not None
    assert child.stdout is not None
    try:
        with suppress(OSError):
            os.setpriority(os.PRIO_PROCESS, child.pid, _NICE)
        child.stdin.write(search.request)
        child.stdin.close()
        _listen(claim, search, child.stdout)
    finally:
        # Whatever happened here: a child that nobody listens to would go on holding a core.
        child.kill()
        child.wait()
        with suppress(OSError):
            child.stdin.close()
        child.stdout.close()


def _listen(claim: Claim[SearchJob], search: Search, answers: IO[str]) -> None:
    """Offer each better plan the child finds, until the child ends, the search is no longer wanted,
    or time is up."""
    # A pipe cannot be read with a time limit, so a thread reads it, and this loop looks at the
    # clock, the claim and `stop` in between.
    lines: queues.Queue[str | None] = queues.Queue()
    threading.Thread(target=_read, args=(answers, lines), daemon=True).start()
    until, end, best = time.monotonic() + LONGEST_SEARCH, "", search.best
    while not end:
        if claim.stop.is_set():
            # The worker is to end, and the next one begins from what was offered so far.
            claim.put_back()
            return
        if not claim.wanted():
            return
        try:
            line = lines.get(timeout=_LOOK)
        except queues.Empty:
            end = "time" if time.monotonic() > until else ""
            continue
        if line is None:
            # A child that was killed or broke down. What it offered stays, and the job has failed.
            raise RuntimeError("the search ended without a word")
        answer = json.loads(line)
        end = answer.get("end", "")
        if "plan" in answer:
            plan = plan_from(answer["plan"])
            if plan.total < best.total and not _offer(claim, search, plan):
                return
            # People see how good the plan is as soon as that is known, and more of it as it comes.
            if plan.bound.value > best.bound.value and plan.bound.basis is not BoundBasis.AREA:
                claim.note(**_known(plan))
            best = plan
    # The bound is kept even where no better plan was found: it says how good the plan is.
    claim.end(SearchJob.State.DONE, _outcome(end, search.pool.plan, best), **_known(best))


def _known(plan: BoardPlan) -> dict[str, str]:
    """How good a plan is known to be, as a search keeps it."""
    return {"bound": str(plan.bound.value), "basis": plan.bound.basis.value}


def _read(answers: IO[str], lines: queues.Queue[str | None]) -> None:
    with suppress(ValueError):  # the pipe is closed while we listen
        for line in answers:
            lines.put(line)
    lines.put(None)


def _offer(claim: Claim[SearchJob], search: Search, plan: BoardPlan) -> bool:
    """Offer a better plan, if the search is still ours and its pool has not changed."""
    return patiently(lambda: _offer_now(claim, search.pile, search.pool, plan), claim.stop)


def _offer_now(claim: Claim[SearchJob], pile: Pile, pool: PoolState, plan: BoardPlan) -> bool:
    """Offer the plan in one short transaction, so that no other worker can take the search between
    the check and the offer."""
    with write_turn():
        if not claim.hold():
            return False
        # The room may have changed since the child was asked, and then the plan fits nothing.
        now = pile_result_of(claim.job.room)
        if now is None or not any(state.digest == claim.job.pool for state in now.pools):
            queue.cancel(claim.job, "The room changed")
            return False
        # A plan that stood had these marks, and people may have them on paper.
        plan = beside_noted(claim.job.house_id, plan)
        propose(claim.job.room, pool, plan, shapes_now(pile, plan))
        plans_changed(claim.job.house_id)
    # Where no plan stands, the better one takes the place of the one shown.
    bring_up_to_date(claim.job.house_id, {claim.job.room_id})
    return True


def _outcome(end: str, start: BoardPlan, best: BoardPlan) -> str:
    if end == "no solver":
        return "There is no solver here; the first plan stands"
    news = "A better plan was found" if best.total < start.total else "No better plan was found"
    return news if end == "done" else f"{news} before time was up"
