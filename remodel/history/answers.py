"""The Undo beside what was just done."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest
from django.urls import reverse

from remodel.history.queries import last_group
from remodel.history.versioned import Versioned

__all__ = ["offer_undo"]


def offer_undo(request: HttpRequest, text: str, row: Versioned) -> None:
    """Show `text`, like "Removed the window.", on the next page, with an Undo for the latest write
    to `row`. The same write can be undone later from the room's history."""
    group = last_group(row.pk)
    undo = reverse("change-undo", args=[group]) if group else ""
    messages.info(request, text, extra_tags=undo)
