"""The request as the middleware leaves it."""

from __future__ import annotations

from django.http import HttpRequest
from django_htmx.middleware import HtmxDetails

from remodel.people.models import Device, Person

__all__ = ["SiteRequest"]


class SiteRequest(HttpRequest):
    """A request of a known person, as every closed view gets it. `device` is the paired device, on
    the home network only."""

    person: Person
    htmx: HtmxDetails
    device: Device | None
