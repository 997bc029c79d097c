"""What a house's pages say, without what differs from one look to the next."""

from __future__ import annotations

import re
from typing import Any

from django.test import Client
from django.urls import reverse
from django.utils.html import strip_tags

from remodel.house.models import House
from remodel.people.models import Person
from remodel.supply.models import Order

__all__ = ["pages_of"]

_HOUSE = ("house-detail", "room-list", "order-list", "stock-list", "price-list", "log-list")
_ROOM = ("room-detail", "room-boards", "room-needs", "room-cards")
_ORDER = ("order-detail", "order-csv")


def pages_of(house: House, person: Person) -> dict[str, str]:
    """The text of the pages of a house, by their addresses."""
    client = Client()
    client.force_login(person)
    addresses = [reverse(name, args=[house.pk]) for name in _HOUSE]
    for room in house.rooms.order_by("position"):
        addresses += [reverse(name, args=[room.pk]) for name in _ROOM]
    for order in Order.objects.filter(house=house).order_by("pk"):
        addresses += [reverse(name, args=[order.pk]) for name in _ORDER]
    return {address: _text(client.get(address)) for address in addresses}


def _text(answer: Any) -> str:
    body = b"".join(answer.streaming_content) if answer.streaming else answer.content
    assert answer.status_code == 200
    return re.sub(r"\s+", " ", strip_tags(body.decode()))
