"""Limits on what may be tried again and again, counted in the database so that every process sees
them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import timedelta

from django.utils import timezone
from django.utils.crypto import salted_hmac

from remodel.people.models import Attempt

__all__ = ["Limit", "forget", "seconds_to_wait"]

_KEPT = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Limit:
    """At most `most` attempts of `what` by one `who` in the time `within`."""

    what: str
    most: int
    within: timedelta


def seconds_to_wait(*attempts: tuple[Limit, str]) -> int:
    """Count a try against each limit and return 0, or how long to wait where one is spent; then
    nothing is counted, so that trying on does not make the wait longer."""
    now = timezone.now()
    noted = Attempt.objects.bulk_create(
        Attempt(what=_digest(limit, who), at=now) for limit, who in attempts
    )
    waits = [
        _wait(limit, attempt.what) for (limit, _), attempt in zip(attempts, noted, strict=True)
    ]
    if any(waits):
        Attempt.objects.filter(pk__in=[attempt.pk for attempt in noted]).delete()
    Attempt.objects.filter(at__lt=now - _KEPT).delete()
    return max(waits, default=0)


def forget(*attempts: tuple[Limit, str]) -> None:
    """Start the count anew, after a try that was right."""
    Attempt.objects.filter(what__in=[_digest(limit, who) for limit, who in attempts]).delete()


def _wait(limit: Limit, digest: str) -> int:
    now = timezone.now()
    times = Attempt.objects.filter(what=digest, at__gt=now - limit.within).order_by("-at", "-pk")
    latest = list(times.values_list("at", flat=True)[: limit.most + 1])
    if len(latest) <= limit.most:
        return 0
    return max(1, math.ceil((latest[limit.most] + limit.within - now).total_seconds()))


def _digest(limit: Limit, who: str) -> str:
    return salted_hmac(f"remodel.tried.{limit.what}", who, algorithm="sha256").hexdigest()
