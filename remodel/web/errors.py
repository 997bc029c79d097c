"""Pages for when something is wrong. They read no database, and fall back to plain text where even
a template fails.

In the project's urls: `handler400 = "remodel.web.errors.bad_request"` and so on for `forbidden`,
`not_found` and `server_error`; in its settings: `CSRF_FAILURE_VIEW =
"remodel.web.errors.csrf_failure"`. `too_large` and `too_many` are for views and middleware to
return. Each page shows a reference, and the same reference is in the log.

An error that is an outage (`remodel.outages`) is answered as `away`, 503, wherever in the request
it came up: nothing is wrong with what was sent, and the same press of a button is good again soon.
"""

from __future__ import annotations

import logging
import sys
import uuid

from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string

from remodel.outages import Outage, outage_of

__all__ = [
    "away",
    "bad_request",
    "csrf_failure",
    "forbidden",
    "not_found",
    "server_error",
    "too_large",
    "too_many",
]

logger = logging.getLogger("remodel.errors")
_AWAY_SECONDS = 5


def bad_request(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return _page(request, 413 if isinstance(exception, RequestDataTooBig) else 400)


def forbidden(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return _page(request, 403)


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    return _page(request, 403, {"stale": True})


def not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return _page(request, 404)


def too_large(request: HttpRequest, *, limit: str = "") -> HttpResponse:
    """`limit` in words, like "20 MB a photo"."""
    return _page(request, 413, {"limit": limit})


def too_many(request: HttpRequest, *, wait_seconds: int, message: str = "") -> HttpResponse:
    """`said` says when to try again where a number of seconds would not."""
    response = _page(request, 429, {"wait_seconds": wait_seconds, "said": message})
    response["Retry-After"] = str(wait_seconds)
    return response


def server_error(request: HttpRequest) -> HttpResponse:
    outage = outage_of(sys.exc_info()[1])
    return away(request, outage) if outage else _page(request, 500)


def away(request: HttpRequest, outage: Outage) -> HttpResponse:
    """The database or the disk cannot be used for a while. A form's key sees to it that a second
    press of its button saves nothing twice."""
    response = _page(
        request,
        503,
        {"why": outage.value, "full": outage is Outage.FULL, "writes": _writes(request)},
    )
    response["Retry-After"] = str(_AWAY_SECONDS)
    return response


def _writes(request: HttpRequest) -> bool:
    return request.method not in ("GET", "HEAD", "OPTIONS")


def _page(
    request: HttpRequest, status: int, context: dict[str, object] | None = None
) -> HttpResponse:
    reference = str(getattr(request, "id", "") or uuid.uuid4().hex[:10])
    logger.log(
        logging.ERROR if status == 500 else logging.WARNING,
        "answered %s, reference %s",
        status,
        reference,
    )
    try:
        # Without the request: context processors may read the database, which may be what is
        # broken.
        body = render_to_string(
            f"errors/{status}.html", {"reference": reference, **(context or {})}
        )
    except Exception:
        logger.exception("error page %s could not be drawn, reference %s", status, reference)
        return HttpResponse(
            f"Something went wrong. What was saved before is still there. Reference: {reference}",
            status=status,
            content_type="text/plain; charset=utf-8",
        )
    return HttpResponse(body, status=status)
