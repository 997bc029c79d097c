"""What the views of this app share."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import wraps
from typing import Any

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from remodel.history.errors import Refused
from remodel.web.forms import HouseForm

__all__ = ["blame", "form_page", "home_only", "hosted_only"]

View = Callable[..., HttpResponse]


def hosted_only(view: View) -> View:
    """There is no such page where nobody signs in."""

    @wraps(view)
    def run(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if not settings.HOSTED:
            raise Http404("Only when hosted")
        return view(request, *args, **kwargs)

    return run


def home_only(view: View) -> View:
    """There is no such page where people sign in."""

    @wraps(view)
    def run(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if settings.HOSTED:
            raise Http404("Only at home")
        return view(request, *args, **kwargs)

    return run


def blame(form: HouseForm, error: Refused) -> None:
    """Show what was refused at the field it names, or above the form."""
    form.add_error(error.field if error.field in form.fields else None, str(error))


def form_page(
    request: HttpRequest, template: str, form: HouseForm, context: Mapping[str, Any], *, status: int = 200
) -> HttpResponse:
    if status == 200 and form.is_bound and form.errors:
        status = 422
    return render(request, template, {**context, "form": form}, status=status)
