"""The front page: the one house there is, a choice of houses, or how to begin."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from remodel.house.models import House
from remodel.pages.people.modes import may_restore
from remodel.people.http import SiteRequest
from remodel.people.queries import may_archive, removed_houses

__all__ = ["house_list", "start"]


@require_GET
def start(request: SiteRequest) -> HttpResponse:
    """Go to the house where there is only one; otherwise to the list. Where only the demo house is
    there, say how to begin one's own."""
    houses = list(House.objects.for_person(request.person)[:2])
    if len(houses) != 1:
        return redirect("house-list")
    if houses[0].is_demo:
        context = {"demo": houses[0], "restore": may_restore(request)}
        return render(request, "people/begin.html", context)
    return redirect("house-detail", houses[0].pk)


@require_GET
def house_list(request: SiteRequest) -> HttpResponse:
    """The person's own houses, and the ones they removed."""
    houses = House.objects.for_person(request.person)
    context = {
        "houses": houses,
        "removed": removed_houses(request.person),
        "archive": may_archive(request.person),
        "restore": may_restore(request),
    }
    return render(request, "people/houses.html", context)
