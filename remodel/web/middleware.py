"""What happens to every request before a view reads it, and how a page's script is answered."""

from __future__ import annotations

import uuid
from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django_htmx.http import HttpResponseClientRedirect

from remodel.web.errors import too_large

__all__ = ["LeaveMiddleware", "RequestMiddleware"]

# a form's own fields beside its file
_ROOM = 500_000


class RequestMiddleware:
    """Gives a request the reference that both its error page and the log show. Refuses a request
    that is larger than any file may be, before it is read."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.id = uuid.uuid4().hex[:10]  # type: ignore[attr-defined]
        length = str(request.META.get("CONTENT_LENGTH") or "0")
        most, words = _most(request)
        if not length.isascii() or not length.isdigit() or int(length[:19]) > most + _ROOM:
            return too_large(request, limit=words)
        return self.get_response(request)


def _most(request: HttpRequest) -> tuple[int, str]:
    """How many bytes a file of this request may have, and the same in words."""
    most, archive = settings.UPLOAD_MAX_BYTES, settings.ARCHIVE_MAX_BYTES
    if not settings.HOSTED and request.path_info == reverse(settings.ARCHIVE_UPLOAD):
        return archive, f"{archive // 10**9} GB an archive"
    return most, f"{most // 10**6} MB a file"


class LeaveMiddleware:
    """Answers a form sent by the page's script with the address to go to, where the view redirects.

    A script's request follows a redirect by itself. The next page would be drawn for nobody, and a
    message that it shows once ("Saved. Undo") would be lost. This stands inside the middleware that
    asks who is here, so that a person who is turned away is still redirected. The script knows that
    from the address that answers, and keeps what was typed.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        by_script = "HX-Request" in request.headers or "X-Whole-Page" in request.headers
        if not (by_script and request.method == "POST" and response.status_code in (302, 303)):
            return response
        answer = HttpResponseClientRedirect(response["Location"])
        answer.cookies = response.cookies
        return answer
