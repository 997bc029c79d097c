"""Limits on requests that cost the server much: importing files, making PDFs, storing photos. They
count by person and by address.

They hold only where the site is hosted. At home the server is the household's own machine and
serves nobody else: a limit would protect nothing, and would stop a person who prints the whole
house in one evening. One PDF at a time for each person holds there too.
"""

from __future__ import annotations

import logging
import math
from dataclasses import dataclass
from datetime import timedelta

from django.conf import settings
from django.http import HttpResponse
from django.utils import timezone

from remodel.history.errors import Refused
from remodel.people.addresses import client_address
from remodel.people.http import SiteRequest
from remodel.people.throttle import Limit, seconds_to_wait

__all__ = ["HOUSE_FILES", "PDFS", "PHOTOS", "RateLimit", "TooFast", "check_rate", "slowed"]

logger = logging.getLogger("remodel.people")


@dataclass(frozen=True, slots=True)
class RateLimit:
    """At most so many requests of the kind `what` in the time `within`: `person` by one person, and
    `address` from one address, which a household or a whole office may share."""

    what: str
    person: int
    address: int
    within: timedelta


HOUSE_FILES = RateLimit("house files", 20, 60, timedelta(hours=1))
PDFS = RateLimit("PDFs", 40, 120, timedelta(minutes=30))
PHOTOS = RateLimit("photos", 120, 360, timedelta(hours=1))


class TooFast(Refused):
    """Too many requests of one kind. The message says when to try again, and `seconds` how long
    that is."""

    def __init__(self, limit: RateLimit, seconds: int) -> None:
        minutes = math.ceil(seconds / 60)
        at = timezone.localtime(timezone.now() + timedelta(seconds=seconds))
        super().__init__(
            f"Too many {limit.what} in a short time. Try again in {minutes} "
            f"minute{'' if minutes == 1 else 's'}, "
            f"after {at:%H:%M}"
        )
        self.seconds = seconds

    def at(self, field: str, more: str) -> TooFast:
        """The same refusal at a field of the form, with words for what else can be done."""
        self.field, self.args = field, (f"{self}. {more}",)
        return self


def check_rate(request: SiteRequest, limit: RateLimit) -> None:
    """Count one request. Raise `TooFast` where the person or the address is at the limit; such a
    request is not counted."""
    if not settings.HOSTED:
        return
    wait = seconds_to_wait(
        (Limit(f"{limit.what} of a person", limit.person, limit.within), str(request.person.pk)),
        (
            Limit(f"{limit.what} from an address", limit.address, limit.within),
            client_address(request),
        ),
    )
    if wait:
        logger.warning("too many %s, has to wait %s s", limit.what, wait)
        raise TooFast(limit, wait)


def slowed(answer: HttpResponse, error: TooFast) -> HttpResponse:
    """The page for too many requests, as 429."""
    answer.status_code = 429
    answer["Retry-After"] = str(error.seconds)
    return answer
