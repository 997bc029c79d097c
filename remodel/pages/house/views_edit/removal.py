"""A whole house removed, and put back."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from remodel.history.services import By
from remodel.house import services
from remodel.house.models import House
from remodel.pages.editing import edit, posted
from remodel.pages.house.forms.houses import HouseRemoveForm
from remodel.people.http import SiteRequest
from remodel.people.queries import members_of, owned_house
from remodel.supply.models import Order
from remodel.web.responses import go
from remodel.work.models import DayLog, Note, Photo

__all__ = ["house_put_back", "house_remove"]


@require_http_methods(["GET", "POST"])
def house_remove(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Show what goes and what stays, and remove the house once its name is typed out. For owners
    alone."""
    house = owned_house(request.person, house_id)
    form = HouseRemoveForm(posted(request), house=house)

    def gone(house: House) -> HttpResponse:
        back = reverse("house-put-back", args=[house.pk])
        messages.info(
            request, f"Removed {house.name}. It stays under removed houses.", extra_tags=back
        )
        return go(request, "house-list")

    others = [
        member.person.name for member in members_of(house) if member.person_id != request.person.pk
    ]
    return edit(
        request,
        form,
        "edit/house_remove.html",
        {"house": house, "counts": _counts(house), "section": "house", "others": others},
        write=lambda by: services.house_remove(by=by, house=house),
        then=gone,
    )


@require_POST
def house_put_back(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Bring a removed house back, for everybody it belonged to."""
    house = owned_house(request.person, house_id, removed=True)
    services.house_put_back(by=By(request.person), house=house)
    messages.info(request, f"{house.name} is back, with all that was in it.")
    return go(request, "house-detail", house.pk)


def _counts(house: House) -> list[tuple[int, str, str]]:
    """The number of rooms, orders, days, photos and notes, each with the word for one and for
    more."""
    counts = [
        (house.rooms.count(), "room", "rooms"),
        (Order.objects.filter(house=house).count(), "supply order", "supply orders"),
        (DayLog.objects.filter(room__house=house).count(), "logged day", "logged days"),
        (Photo.objects.filter(room__house=house).count(), "photo", "photos"),
        (Note.objects.filter(house=house).count(), "note", "notes"),
    ]
    return [count for count in counts if count[0]]
