"""Pages that a phone keeps for when there is no signal (`service-worker.js`): what a person needs
beside the sheet and the wall. Each answer says who it was made for, so that nobody is shown what
was kept for another."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.utils.crypto import salted_hmac

__all__ = ["is_kept", "mark_kept", "who_mark"]

# By url name. None of them is a form.
_KEPT = frozenset(
    {
        "house-cards",
        "house-detail",
        "phase-detail",
        "room-card",
        "room-cards",
        "room-cut",
        "room-detail",
        "room-drawings",
        "room-hanging",
        "room-list",
        "room-lumber",
    }
)


def is_kept(request: HttpRequest) -> bool:
    """Whether the page that a request asks for is one that a phone may keep."""
    match = getattr(request, "resolver_match", None)
    return request.method == "GET" and match is not None and match.url_name in _KEPT


def who_mark(person: object) -> str:
    """A mark that is the same on every page made for one person, and says nothing of them; empty
    for nobody."""
    key = getattr(person, "pk", None)
    return salted_hmac("halfbay.kept-pages", str(key)).hexdigest()[:24] if key else ""


def mark_kept(request: HttpRequest, response: HttpResponse, person: object) -> None:
    """Say in the headers of an answer who it was made for, and whether it may be kept."""
    response["Halfbay-Who"] = who_mark(person)
    if response.status_code == 200 and is_kept(request) and "HX-Request" not in request.headers:
        response["Halfbay-Keep"] = "yes"
