"""Whether all is well: that the database takes a write, that plans are being worked out, that the disk has room."""

from __future__ import annotations

import logging
import shutil
from dataclasses import dataclass
from datetime import timedelta

from django.conf import settings
from django.db import DatabaseError, OperationalError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from remodel.board.models import Job
from remodel.people.models import Tried

__all__ = ["Check", "checks", "health"]

logger = logging.getLogger("remodel.health")
_LEAST_FREE = 200_000_000
_LONGEST_WAIT = timedelta(minutes=10)


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One thing that has to be well; `words` says how it stands and, where it is not, what to do."""

    name: str
    well: bool
    words: str


@never_cache
@require_safe
def health(request: HttpRequest) -> HttpResponse:
    """200 where all is well, 503 where not. What is wrong is told to those who are let in alone."""
    found = checks()
    well = all(each.well for each in found)
    status = 200 if well else 503
    if getattr(request, "person", None) is None or not found[0].well:
        return HttpResponse("well\n" if well else "not well\n", status=status, content_type="text/plain; charset=utf-8")
    return render(request, "people/health.html", {"checks": found, "well": well}, status=status)


def checks() -> list[Check]:
    """The database first; without it the queue cannot be asked."""
    database = _database()
    return [database, *([_queue()] if database.well else []), _disk()]


def _database() -> Check:
    name = "Database"
    try:
        # written and committed for real: a full disk shows only then
        Tried.objects.create(what="health", at=timezone.now())
        Tried.objects.filter(what="health").delete()
    except (DatabaseError, OperationalError):
        logger.exception("the database takes no write")
        return Check(
            name=name, well=False, words="It takes no write. See what the server said, and whether its disk is full."
        )
    return Check(name=name, well=True, words="It takes writes.")


def _queue() -> Check:
    waiting = Job.objects.filter(state=Job.State.WAITING).order_by("queued_at")
    count, first = waiting.count(), waiting.first()
    if first is not None and timezone.now() - first.queued_at > _LONGEST_WAIT:
        words = "Nobody looks for better board plans. First plans stand; start the worker, or stop and start Halfbay."
        return Check(name="Better board plans", well=False, words=words)
    return Check(name="Better board plans", well=True, words=f"{count} waiting." if count else "None waiting.")


def _disk() -> Check:
    free = shutil.disk_usage(settings.DATA_DIR).free
    words = f"{free / 10**9:.1f} GB free."
    if free < _LEAST_FREE:
        words += " Make room before the next photo: what cannot be written is not saved."
    return Check(name="Disk", well=free >= _LEAST_FREE, words=words)
