"""Take a job, hold it, end it: each job is done once, whichever workers come and go.

Nothing is locked between two statements. A job is taken, kept and ended by single updates that name
the state, the owner and the attempt they expect. Where such an update changes no row, the job is no
longer ours. This holds on SQLite and on PostgreSQL alike.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable
from datetime import timedelta
from typing import Any, Generic, TypeVar

from django.db.models import Count, Exists, F, Max, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce, Now

from remodel.jobs.models import SILENT, Queued, Worker
from remodel.outages import drop_connection, outage_of

__all__ = ["MOST_ATTEMPTS", "Claim", "Queue", "patiently"]

log = logging.getLogger(__name__)

JobT = TypeVar("JobT", bound=Queued)
T = TypeVar("T")

MOST_ATTEMPTS = 5  # a job that ends its worker each time is given up
_CANDIDATES = 5  # another worker may take the first ones meanwhile
_LOOK_SECONDS = 0.5
_LONGEST_PAUSE = 30.0


def patiently(write: Callable[[], T], stop: threading.Event) -> T:
    """The result of a short write, which is tried again with growing pauses through an outage.
    Raises the outage once `stop` is set."""
    pause = 0.5
    while True:
        try:
            return write()
        except Exception as error:
            if outage_of(error) is None or stop.is_set():
                raise
            drop_connection()
        stop.wait(pause)
        pause = min(2 * pause, _LONGEST_PAUSE)


class Claim(Generic[JobT]):
    """A job that one worker holds. Its writes change nothing once the job is cancelled or held by
    another worker."""

    def __init__(self, job: JobT, words: str, stop: threading.Event) -> None:
        self.job, self.stop = job, stop
        self._words = words
        self._wanted, self._looked_at = True, 0.0

    def mine(self) -> QuerySet[Any]:
        """The row, as long as it is ours."""
        job: Any = self.job
        rows: QuerySet[Any] = type(job)._base_manager.all()
        # The owner alone does not tell: a worker that lost this job may have taken it again since,
        # and the late result of its first attempt must not pass for the second.
        return rows.filter(pk=job.pk, state=Queued.RUNNING, owner=job.owner, attempts=job.attempts)

    def wanted(self) -> bool:
        """Whether the job is still ours and not cancelled. In an outage that cannot be known, so
        the work goes on."""
        # This is asked in a tight loop; the database is asked twice a second at most.
        if time.monotonic() - self._looked_at >= _LOOK_SECONDS:
            self._wanted = self._through_outage(lambda: bool(self.mine().exists()))
            self._looked_at = time.monotonic()
        return self._wanted

    def hold(self) -> bool:
        """Whether the job is ours, asked inside a transaction. No other worker can take it until
        that transaction has closed."""
        return self.mine().select_for_update().values_list("pk").first() is not None

    def note(self, **values: Any) -> bool:
        """Write how far the job is. False once it is no longer wanted. An outage costs one such
        note, not the job."""
        return self._through_outage(lambda: bool(self.mine().update(**values)))

    def end(self, state: str, words: str = "", **values: Any) -> bool:
        """End the job with its result. False where it was no longer ours; then nothing is
        written."""
        values |= {"state": state, "ended_at": Now(), self._words: words[:200]}
        # The result took minutes of work: wait through an outage rather than lose it.
        return patiently(lambda: bool(self.mine().update(**values)), self.stop)

    def put_back(self) -> None:
        """Leave the job to the next worker, as if nobody had begun it."""
        # The job did nothing wrong, so this attempt does not count toward `MOST_ATTEMPTS`.
        patiently(lambda: self.mine().update(state=Queued.WAITING, owner="", attempts=0), self.stop)

    def _through_outage(self, ask: Callable[[], bool]) -> bool:
        try:
            return ask()
        except Exception as error:
            if outage_of(error) is None:
                raise
            drop_connection()
            # The last answer stands: an outage is no reason to drop the work done so far.
            return self._wanted


class Queue(Generic[JobT]):
    """The rows of one model, taken fairly.

    Jobs come first of the houses that have the fewest jobs running, then of the house that was
    served longest ago, and within a house by `due_at`. `limit` is how long a job may take; one that
    takes longer is given to another worker. `words` names the column that tells a person how a job
    ended. `only` are the rows that it holds, where others of the model wait in a queue of their
    own.
    """

    def __init__(
        self, model: type[JobT], *, words: str, limit: timedelta, failed: str, only: Q | None = None
    ) -> None:
        self.model, self._words, self._limit, self._failed = model, words, limit, failed
        self._only = only or Q()

    def take(self, worker: str, stop: threading.Event | None = None) -> Claim[JobT] | None:
        """The next job, which is this worker's from then on; None where none waits. The jobs of a
        removed house wait until it is back."""
        self._release()
        for job in self._waiting()[:_CANDIDATES]:
            # Another worker may have taken the job since it was listed, and even let it go again:
            # then the update below changes no row, and the next candidate is tried.
            row = self._rows().filter(pk=job.pk, state=Queued.WAITING, attempts=job.attempts)
            if job.attempts >= MOST_ATTEMPTS:
                row.update(state=Queued.FAILED, ended_at=Now(), **{self._words: self._failed})
                log.error(
                    "Given up after %s attempts: %s %s", job.attempts, self.model.__name__, job.pk
                )
                continue
            taken = {
                "state": Queued.RUNNING,
                "owner": worker,
                "attempts": job.attempts + 1,
                "started_at": Now(),
            }
            if row.update(**taken, ended_at=None):
                # The claim is known by owner and attempt as they are stored.
                job.refresh_from_db()
                return Claim(job, self._words, stop or threading.Event())
        return None

    def run_one(
        self,
        see_through: Callable[[Claim[JobT]], None],
        worker: str,
        stop: threading.Event | None = None,
    ) -> JobT | None:
        """Take one job and do it; None where none waits.

        In an outage the job is put back and the error raised. After any other error the job has
        failed.
        """
        claim = self.take(worker, stop)
        if claim is None:
            return None
        try:
            see_through(claim)
        except Exception as error:
            # Nothing is wrong with the job. The lane waits until the outage is over, then takes it
            # again.
            if outage_of(error) is not None:
                drop_connection()
                claim.put_back()
                raise
            log.exception("Failed: %s %s", self.model.__name__, claim.job.pk)
            claim.end(Queued.FAILED, self._failed)
        return claim.job

    def _rows(self) -> QuerySet[Any]:
        rows: QuerySet[Any] = self.model._base_manager.filter(self._only)
        return rows

    def _release(self) -> None:
        """Put back the jobs of silent workers, and those that took longer than the limit."""
        # Both times are of the database's clock, because those of several machines may differ.
        here = Worker.objects.filter(name=OuterRef("owner"), seen_at__gte=Now() - SILENT)
        over = Q(started_at__lt=Now() - self._limit)
        silent = self._rows().filter(~Exists(here) | over, state=Queued.RUNNING)
        # Every idle worker comes by each second. An update locks SQLite's whole file even where it
        # changes no row, so look first. The attempts stay as they are: a job that ends its
        # worker each time has to be given up at last.
        if silent.exists():
            silent.update(state=Queued.WAITING, owner="")

    def _waiting(self) -> QuerySet[Any]:
        of_house = self._rows().filter(house=OuterRef("house")).order_by().values("house")
        running = of_house.filter(state=Queued.RUNNING).annotate(count=Count("pk")).values("count")
        served = of_house.annotate(last=Max("started_at")).values("last")
        waiting: QuerySet[Any] = self._rows().filter(state=Queued.WAITING, house__deleted_at=None)
        waiting = waiting.annotate(
            running_here=Coalesce(Subquery(running), 0), served_at=Subquery(served)
        )
        return waiting.order_by(
            "running_here",
            F("served_at").asc(nulls_first=True),
            F("due_at").asc(nulls_first=True),
            "pk",
        )
