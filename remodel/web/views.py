"""What every page may ask of the server, whatever house it is about."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.utils.html import escape
from django.views.decorators.http import require_GET

from remodel.web.lengths import read_length, show_length

__all__ = ["length_readback"]


@require_GET
def length_readback(request: HttpRequest) -> HttpResponse:
    """Say how a length was understood: help while one types, never an error, so it always answers
    200."""
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
    """A length in words that cannot be taken for another: 12 ft 6 1/2 in, not 12' 6 1/2"."""
    return show_length(nm, units).replace("'", " ft").replace('"', " in")
