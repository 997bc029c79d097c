"""Pages there are only at home, pages there are only where people sign in, and what is offered only
before anything was entered."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.conf import settings
from django.http import Http404, HttpRequest
from django.http.response import HttpResponseBase

from remodel.archive.first_start import is_as_first_started
from remodel.people.http import SiteRequest
from remodel.people.middleware import is_this_machine

__all__ = ["home_only", "hosted_only", "may_restore"]

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


def may_restore(request: SiteRequest) -> bool:
    """Whether a page offers to restore: at home, on the machine itself, and where nothing is here
    but what the first start made."""
    return not settings.HOSTED and is_this_machine(request) and is_as_first_started()
