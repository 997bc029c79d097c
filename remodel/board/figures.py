"""The job that brings figures up to date beside the web. It takes piles that wait, and houses whose
figures stayed stale because a process ended."""

from __future__ import annotations

import threading
import time
from datetime import timedelta

from django.db.models import Q
from django.db.models.functions import Now

from remodel.board.models import Figures
from remodel.board.queries import figures_are_stale, stale_houses
from remodel.board.services import piles_wait, recompute, tell_worker
from remodel.jobs.queue import Claim, Queue

__all__ = ["FIGURES", "note_stale", "run_once"]

FIGURES = Queue(
    Figures,
    words="outcome",
    limit=timedelta(minutes=10),
    failed="The figures could not be worked out; the log says why",
)
GRACE = timedelta(seconds=10)  # as long as the write's own process may take
RETRY = timedelta(minutes=10)
_NOTE_SECONDS = 2.0


class Lane:
    """The figures' lane of one worker. It looks for stale houses every few seconds and takes the
    houses that wait."""

    def __init__(self, name: str, stop: threading.Event) -> None:
        self._name, self._stop, self._noted_at = name, stop, 0.0

    def step(self) -> bool:
        if time.monotonic() - self._noted_at > _NOTE_SECONDS:
            note_stale()
            self._noted_at = time.monotonic()
        return run_once(stop=self._stop, name=self._name) is not None


def note_stale() -> None:
    """Queue the houses whose figures are stale.

    A house that was written a moment ago is left out, because the process that wrote it is likely
    to be at its figures still. A house that failed is tried again after a while.
    """
    due = stale_houses().filter(Q(changed_at__lt=Now() - GRACE) | Q(changed_at=None))
    for house in due:
        Figures.objects.get_or_create(house=house)
        # A house that waits or runs is left alone: a second start would take it from its worker.
        old = Q(state=Figures.State.FAILED, ended_at__lt=Now() - RETRY)
        waits = Figures.objects.filter(Q(state=Figures.State.DONE) | old, house=house)
        waits.update(state=Figures.State.WAITING, queued_at=Now(), owner="", attempts=0)


def run_once(*, stop: threading.Event | None = None, name: str = "worker") -> Figures | None:
    """Bring one house up to date; None where no house waits."""
    return FIGURES.run_one(_bring_up_to_date, name, stop)


def _bring_up_to_date(claim: Claim[Figures]) -> None:
    house = claim.job.house

    def on_progress(done: int, of: int) -> bool:
        return not claim.stop.is_set() and claim.note(rooms_done=done, rooms=of)

    recompute(house, on_progress=on_progress)
    # a large pile is worked out room by room first, so that people see something, and then as one
    if piles_wait(house) and claim.mine().exists() and not claim.stop.is_set():
        recompute(house, whole=True)
    if claim.stop.is_set():
        claim.put_back()  # what was worked out so far stands
        return
    claim.end(Figures.State.DONE, queued_at=None)
    # A write that came as this ended found the house at work and did not queue it again.
    if figures_are_stale(house.pk) or piles_wait(house):
        tell_worker(house)
