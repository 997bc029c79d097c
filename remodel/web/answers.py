"""Answers to htmx beyond the part itself."""

from __future__ import annotations

from typing import TypeVar

from django.http import HttpResponse
from django_htmx.http import trigger_client_event

__all__ = ["say"]

Answer = TypeVar("Answer", bound=HttpResponse)


def say(response: Answer, text: str) -> Answer:
    """Have the page's one live region say `text`, like "Saved 14:32", once the answer has been swapped in."""
    return trigger_client_event(response, "say", {"text": text}, after="settle")
