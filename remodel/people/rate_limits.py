"""Limits on what costs the server much: bringing in files, making PDFs, taking in photos. By person
and by address.

Only where the site is hosted. At home the server is the household's own machine and serves nobody
else: a limit would guard nothing, and stop somebody who prints the whole house in one evening. One
PDF at a time a person holds there too.
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
    """So many of `what` in the time `within`: `person` of one person, `address` of all from one
    address, which a household or a whole office may share."""

    what: str
    person: int
    address: int
    within: timedelta


HOUSE_FILES = RateLimit("house files", 20, 60, timedelta(hours=1))
PDFS = RateLimit("PDFs", 40, 120, timedelta(minutes=30))
PHOTOS = RateLimit("photos", 120, 360, timedelta(hours=1))


class TooFast(Refused):
    """Too many of something; the message says when to try again, `seconds` how long that is."""

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
        """The same, said at a field of the form, with what else there is to do."""
        self.field, self.args = field, (f"{self}. {more}",)
        return self


def check_rate(request: SiteRequest, limit: RateLimit) -> None:
    """Count one, or raise `TooFast` where the person or the address has had as many as there are;
    that counts none."""
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
    """The page that says so, as 429."""
    answer.status_code = 429
    answer["Retry-After"] = str(error.seconds)
    return answer
