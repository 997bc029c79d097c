"""What happens to every request before a view reads it, and how a page's script is answered."""

from __future__ import annotations

import uuid
from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django_htmx.http import HttpResponseClientRedirect

from remodel.logs import during_request
from remodel.web.errors import bad_request, too_large

__all__ = ["HeadMiddleware", "LeaveMiddleware", "RequestMiddleware", "longest_request"]

# a form's own fields beside its file
_ROOM = 500_000


class RequestMiddleware:
    """Gives a request the reference that both its error page and the log show. Refuses a request
    that is larger than any file may be, before it is read, and an address with a null character."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        reference = uuid.uuid4().hex[:10]
        request.id = reference  # type: ignore[attr-defined]
        with during_request(reference):
            return self._answer(request)

    def _answer(self, request: HttpRequest) -> HttpResponse:
        # PostgreSQL takes no null character in a text, not even in one to look for.
        if "\0" in request.path_info or "%00" in request.META.get("QUERY_STRING", ""):
            return bad_request(request)
        length = str(request.META.get("CONTENT_LENGTH") or "0")
        most = longest_request(request.path_info)
        if not length.isascii() or not length.isdigit() or int(length[:19]) > most:
            return too_large(request, limit=_words(most - _ROOM))
        return self.get_response(request)


def longest_request(path: str) -> int:
    """How many bytes a request to an address may have: a file, and the form round it."""
    archive = not settings.HOSTED and path == reverse(settings.ARCHIVE_UPLOAD)
    return (settings.ARCHIVE_MAX_BYTES if archive else settings.UPLOAD_MAX_BYTES) + _ROOM


def _words(most: int) -> str:
    return f"{most // 10**9} GB an archive" if most >= 10**9 else f"{most // 10**6} MB a file"


class HeadMiddleware:
    """Answers HEAD wherever GET is answered, without the body."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.method != "HEAD":
            return self.get_response(request)
        request.method = "GET"
        response = self.get_response(request)
        request.method = "HEAD"
        if response.streaming:
            response.close()  # a file, which is opened already
            headers = dict(response.items())
            return HttpResponse(status=response.status_code, headers=headers)
        response.headers.setdefault("Content-Length", str(len(response.content)))
        response.content = b""
        return response


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
