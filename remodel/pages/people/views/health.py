"""Whether all is well: the database, the worker and its queues, the figures, the disk.

None waits long: a locked database is reported as busy after a second. Each check is made anew for
people; whoever is not known is told what was found at most two seconds ago, so that asking over and
over costs the site nothing.
"""

from __future__ import annotations

import logging
import math
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta

from django.conf import settings
from django.db import DatabaseError, InterfaceError, connection
from django.db.models import Q
from django.db.models.functions import Now
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from remodel.board.models import Figures, SearchJob
from remodel.board.queries import stale_houses
from remodel.bridge.piles import engine_version
from remodel.cards.models import PrintPack
from remodel.jobs.models import SILENT, Queued, Worker, worker_is_here
from remodel.outages import Outage, drop_connection, outage_of
from remodel.people.middleware import is_this_machine
from remodel.people.models import Attempt

__all__ = ["Check", "checks", "health"]

logger = logging.getLogger("remodel.health")
_LEAST_FREE = 200_000_000
_LONGEST_WAIT = timedelta(minutes=10)
_LONGEST_STALE = timedelta(minutes=2)
_LOCK_MILLISECONDS = 1000
_KEPT_SECONDS = 2.0
_START = "Stop Halfbay and start it again; if that does not help, see what it says as it starts."


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One thing that has to be well. `words` says how it stands and, where it is not well, what to
    do."""

    name: str
    well: bool
    words: str


@never_cache
@require_safe
def health(request: HttpRequest) -> HttpResponse:
    """The health page: 200 where all is well, 503 where not. Only known persons, and browsers on
    this machine, see what is wrong."""
    plain = "text/plain; charset=utf-8"
    known = getattr(request, "person", None) is not None
    if not known and (settings.HOSTED or not is_this_machine(request)):
        well = _lately.well()
        status = 200 if well else 503
        return HttpResponse("well\n" if well else "not well\n", status=status, content_type=plain)
    results = checks()
    well = all(check.well for check in results)
    status = 200 if well else 503
    if not known or not results[0].well:
        # a page with the house's name and places would ask the database
        lines = [
            f"{check.name}: {'well' if check.well else 'NOT WELL'}. {check.words}\n"
            for check in results
        ]
        return HttpResponse("".join(lines), status=status, content_type=plain)
    return render(request, "people/health.html", {"checks": results, "well": well}, status=status)


class Lately:
    """Whether all was well within the last two seconds, looked at once for all who ask."""

    def __init__(self) -> None:
        self._looked = -math.inf
        self._well = False

    def well(self) -> bool:
        now = time.monotonic()
        if now - self._looked >= _KEPT_SECONDS:
            self._well = all(check.well for check in checks())
            self._looked = now
        return self._well


_lately = Lately()


def checks() -> list[Check]:
    """All checks, the database first. Where the database cannot even be read, the worker and its
    queues are left out."""
    with _short_waits():
        results = [_database()]
        try:
            results += [_worker(), _searches(), _print_sets(), _figures()]
        except (DatabaseError, InterfaceError) as error:
            _log(error)
            drop_connection()
    return [*results, _disk()]


# Wait a second for a locked database, not five; and put it as it was.
_SHORT = {
    "sqlite": f"PRAGMA busy_timeout = {_LOCK_MILLISECONDS}",
    "postgresql": f"SET statement_timeout = {_LOCK_MILLISECONDS}",
}
_USUAL = {
    "sqlite": f"PRAGMA busy_timeout = {1000 * settings.SQLITE_OPTIONS['timeout']}",
    "postgresql": "RESET statement_timeout",
}


@contextmanager
def _short_waits() -> Iterator[None]:
    _set(_SHORT[connection.vendor])
    try:
        yield
    finally:
        _set(_USUAL[connection.vendor])


def _set(statement: str) -> None:
    try:
        with connection.cursor() as cursor:
            cursor.execute(statement)
    except (DatabaseError, InterfaceError) as error:
        _log(error)
        drop_connection()


def _database() -> Check:
    name = "Database"
    try:
        # written and committed for real: a full disk shows only then
        Attempt.objects.create(what="health", at=timezone.now())
        Attempt.objects.filter(what="health").delete()
    except (DatabaseError, InterfaceError) as error:
        _log(error)
        drop_connection()
        return Check(name=name, well=False, words=_NO_WRITE.get(outage_of(error), _NO_WRITE[None]))
    return Check(name=name, well=True, words="Working.")


_NO_WRITE = {
    None: "It takes no write. See what the server said, and whether its disk is full.",
    Outage.BUSY: "It is busy: another program holds it. Nothing is saved until it lets go. Then "
    "all goes on by itself.",
    Outage.FULL: "Its disk is full. Nothing is saved until you make room. Then all goes on by "
    "itself.",
    Outage.AWAY: "It cannot be reached. Nothing is saved until it runs again. Then all goes on by "
    "itself.",
}


def _worker() -> Check:
    name = "Worker"
    if worker_is_here():
        return Check(name=name, well=True, words="It is running.")
    seconds = int(SILENT.total_seconds())
    last = Worker.objects.order_by("-seen_at").first()
    seen = f", last {timezone.localtime(last.seen_at):%b %d at %H:%M}" if last else ""
    words = (
        f"None was seen in the last {seconds} seconds{seen}. "
        "Until one runs, figures may be old, no better plan is looked for, and no print set is "
        f"made. {_START}"
    )
    return Check(name=name, well=False, words=words)


def _searches() -> Check:
    waiting = SearchJob.objects.filter(state=Queued.WAITING, house__deleted_at=None)
    late = waiting.filter(queued_at__lt=Now() - _LONGEST_WAIT)
    moving = SearchJob.objects.filter(started_at__gte=Now() - _LONGEST_WAIT)
    return _queue("Better board plans", waiting.count(), late.count(), moving=moving.exists())


def _print_sets() -> Check:
    waiting = PrintPack.objects.filter(state=Queued.WAITING, house__deleted_at=None)
    late = waiting.filter(made_at__lt=Now() - _LONGEST_WAIT)
    moving = PrintPack.objects.filter(started_at__gte=Now() - _LONGEST_WAIT)
    return _queue("Print sets", waiting.count(), late.count(), moving=moving.exists())


def _queue(name: str, waiting: int, late: int, *, moving: bool) -> Check:
    """The check of a queue. A long queue is well as long as something was taken from it lately."""
    minutes = int(_LONGEST_WAIT.total_seconds() // 60)
    if late and not moving:
        words = f"{waiting} waiting, and none was begun in the last {minutes} minutes. {_START}"
        return Check(name=name, well=False, words=words)
    return Check(name=name, well=True, words=f"{waiting} waiting." if waiting else "None waiting.")


def _figures() -> Check:
    name = "Figures"
    if Figures.objects.filter(state=Queued.FAILED, house__deleted_at=None).exists():
        words = "Those of a house could not be worked out. See what the server said."
        return Check(name=name, well=False, words=words)
    stale = stale_houses()
    late = stale.filter(_stale_for_long()).count()
    if late:
        houses = "one house" if late == 1 else f"{late} houses"
        words = (
            f"Those of {houses} have been older than the last change for over two minutes. {_START}"
        )
        return Check(name=name, well=False, words=words)
    return Check(
        name=name, well=True, words="Being worked out." if stale.exists() else "Up to date."
    )


def _stale_for_long() -> Q:
    """The stale houses that were queued long ago, or that changed long ago and were not even
    queued.

    After an update of the engine, a house may wait to be queued as long as a worker is here.
    """
    limit = Now() - _LONGEST_STALE
    changed = Q(figures__queued_at=None, figures__version=engine_version(), changed_at__lt=limit)
    unseen = Q() if worker_is_here() else Q(figures__queued_at=None)
    return Q(figures__queued_at__lt=limit) | changed | unseen


def _disk() -> Check:
    free = shutil.disk_usage(settings.DATA_DIR).free
    words = f"{free / 10**9:.1f} GB free."
    if free < _LEAST_FREE:
        words += " Make room before the next photo: what cannot be written is not saved."
    return Check(name="Disk", well=free >= _LEAST_FREE, words=words)


def _log(error: Exception) -> None:
    if outage_of(error) is None:
        logger.exception("the database takes no write")
    else:
        logger.warning("the database takes no write: %s", str(error).strip().partition("\n")[0])
