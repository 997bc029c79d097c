"""What happens to every request before anything reads it."""

from __future__ import annotations

import uuid
from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from remodel.web.errors import too_large

__all__ = ["RequestMiddleware"]

# a form's own fields beside its file
_ROOM = 500_000


class RequestMiddleware:
    """Gives a request the reference that its error page and the log both show, and turns away what is larger than any
    file may be before it is read."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.id = uuid.uuid4().hex[:10]  # type: ignore[attr-defined]
        length = str(request.META.get("CONTENT_LENGTH") or "0")
        if not length.isascii() or not length.isdigit() or int(length[:19]) > settings.UPLOAD_MAX_BYTES + _ROOM:
            return too_large(request, limit=f"{settings.UPLOAD_MAX_BYTES // 10**6} MB a file")
        return self.get_response(request)
