"""What every page may ask of the server, whichever house it shows."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from django.contrib.staticfiles import finders
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.html import escape
from django.views.decorators.http import require_GET

from remodel.web.lengths import read_length, show_length

__all__ = ["length_readback", "service_worker"]


@require_GET
def length_readback(request: HttpRequest) -> HttpResponse:
    """Say how a length was understood. It is help while a person types and never an error, so it
    always answers 200."""
    units = "mm" if request.GET.get("units") == "mm" else "in"
    text = request.GET.get(request.GET.get("field", ""), "").strip()
    if not text:
        return HttpResponse("")
    try:
        words = f"Reads as {spelled(read_length(text, units), units)}"
    except ValueError as error:
        words = f"Not read yet. {error}"
    response = HttpResponse(escape(words))
    response["Cache-Control"] = "private, max-age=3600"
    return response


def spelled(nm: int, units: str) -> str:
    """A length in words that cannot be mistaken for another: 12 ft 6 1/2 in, not 12' 6 1/2"."""
    return show_length(nm, units).replace("'", " ft").replace('"', " in")


@require_GET
def service_worker(request: HttpRequest) -> HttpResponse:
    """The script that keeps pages for when there is no signal. It stands at the root, for a browser
    lets it keep only what lies beside or below it."""
    response = HttpResponse(_worker_script(), content_type="text/javascript; charset=utf-8")
    response["Cache-Control"] = "no-cache"
    return response


@cache
def _worker_script() -> bytes:
    path = finders.find("web/service-worker.js")
    if not path:
        raise Http404("No such script")
    return Path(path).read_bytes()
