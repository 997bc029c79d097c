"""A small house that pages are asked for, and browsers of the cast: Ada, Ben who helps, Cy who is a
stranger."""

from __future__ import annotations

from typing import Any

from django.test import Client
from django.urls import reverse

from remodel.bridge.lengths import FOOT
from remodel.cards import printing
from remodel.history.services import By
from remodel.house.models import House, Room
from remodel.house.partitions import partition_add
from remodel.house.services import room_add
from remodel.house_files.new import house_add
from remodel.people.models import Membership, Person, Role
from tests.remodel.factories import accept_stops
from tests.remodel.made_once import made_once

__all__ = ["HTMX", "browser", "print_set", "share", "small_house", "with_partition"]

HTMX: dict[str, Any] = {"headers": {"HX-Request": "true"}}


def browser(person: Person) -> Client:
    """A browser somebody signed in with; the site must be hosted (`settings.HOSTED = True`)."""
    client = Client()
    client.force_login(person)
    return client


def small_house(person: Person, *rooms: str) -> House:
    """A house with rooms of 12 ft by 10 ft, each worked out. What stops their work is accepted."""
    rooms = rooms or ("Kitchen",)
    before = set(House.objects.values_list("pk", flat=True))

    def make() -> None:
        by = By(person)
        house = house_add(by=by, name="Elm Street")
        for name in rooms:
            room_add(by=by, house=house, name=name, length=12 * FOOT, width=10 * FOOT)
        accept_stops(house)

    made_once(("small house", person.pk, rooms), make)
    return House.objects.exclude(pk__in=before).get()


def share(house: House, person: Person, role: str = Role.HELPER) -> None:
    Membership.objects.create(house=house, person=person, role=role)


def with_partition(
    room: Room, person: Person, *, at: int = 9 * FOOT, framed: str = "before"
) -> Any:
    """A closet cut off `room`."""
    return partition_add(
        by=By(person),
        room=room,
        surface="A",
        name="Closet wall",
        behind="Closet",
        at=at,
        side="right",
        framed=framed,
    )


def print_set(person: Person, room: Room, **chosen: str) -> bytes:
    """A room's pack as PDF: asked for, made by a worker, and opened."""
    client = browser(person)
    answer = client.post(reverse("room-pack", args=[room.pk]), chosen)
    assert answer.status_code == 302, answer.content[:300]
    pack = printing.run_once()
    assert pack is not None
    answer = client.get(reverse("house-pack-file", args=[pack.pk]))
    assert answer.status_code == 200, answer.content[:300]
    return b"".join(answer.streaming_content)
