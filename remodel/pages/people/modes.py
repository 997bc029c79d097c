"""Pages there are only at home, and pages there are only where people sign in."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.conf import settings
from django.http import Http404, HttpRequest
from django.http.response import HttpResponseBase

__all__ = ["home_only", "hosted_only"]

View = Callable[..., HttpResponseBase]


def hosted_only(view: View) -> View:
    """Make a view answer 404 where nobody signs in."""

    @wraps(view)
    def run(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if not settings.HOSTED:
            raise Http404("Only when hosted")
        return view(request, *args, **kwargs)

    return run


def home_only(view: View) -> View:
    """Make a view answer 404 where people sign in."""

    @wraps(view)
    def run(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if settings.HOSTED:
            raise Http404("Only at home")
        return view(request, *args, **kwargs)

    return run
