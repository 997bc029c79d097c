"""Answers to htmx beyond the part itself."""

from __future__ import annotations

from typing import TypeVar

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, resolve_url
from django_htmx.http import HttpResponseClientRedirect, trigger_client_event

__all__ = ["go", "say"]

Answer = TypeVar("Answer", bound=HttpResponse)


def say(response: Answer, text: str) -> Answer:
    """Have the page's one live region speak `text`, like "Saved 14:32", once the answer has been
    swapped in."""
    return trigger_client_event(response, "say", {"text": text}, after="settle")


def go(request: HttpRequest, to: str, *args: object) -> HttpResponse:
    """Go to another page: by a plain redirect, or by one that htmx follows instead of swapping the
    page in."""
    if getattr(request, "htmx", False):
        return HttpResponseClientRedirect(resolve_url(to, *args))
    return redirect(to, *args)
