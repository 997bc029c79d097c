"""The cast: Ada and Ben share a house, Cy is a stranger. Factories give defaults and what depends
on them."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from uuid import NAMESPACE_URL, uuid5

import factory
from django.conf import settings
from django.utils import timezone

from remodel.bridge import read_quick_line
from remodel.bridge.lengths import FOOT
from remodel.history.services import By
from remodel.house.models import House, Room, Wall
from remodel.house.services import room_add
from remodel.order_of_work import order_of_house
from remodel.people.models import Membership, Person, Role
from remodel.work.models import AcceptedStop
from tests.remodel.made_once import made_once

__all__ = [
    "HouseFactory",
    "PersonFactory",
    "RoomFactory",
    "accept_stops",
    "ada",
    "ben",
    "cy",
    "demo_house",
    "room_add_line",
    "shared_house",
]


class PersonFactory(factory.django.DjangoModelFactory[Person]):
    class Meta:
        model = Person
        django_get_or_create = ("email",)

    name = "Ada"
    email = factory.LazyAttribute(lambda person: f"{person.name.lower()}@example.org")
    # the same each time, so that houses that are made once are theirs in every test
    id = factory.LazyAttribute(lambda person: uuid5(NAMESPACE_URL, person.email))


def ada() -> Person:
    return PersonFactory(name="Ada")


def ben() -> Person:
    return PersonFactory(name="Ben")


def cy() -> Person:
    return PersonFactory(name="Cy")


class HouseFactory(factory.django.DjangoModelFactory[House]):
    """A house with no rooms and nothing on sale, and its `owner`."""

    class Meta:
        model = House
        skip_postgeneration_save = True

    key = "our-house"
    name = "Our house"

    @factory.post_generation
    def owner(self: Any, create: bool, extracted: Person | None, **kwargs: Any) -> None:
        if create and extracted:
            Membership.objects.create(house=self, person=extracted, role=Role.OWNER)


class RoomFactory(factory.django.DjangoModelFactory[Room]):
    """A right-angled room, 12 ft by 10 ft unless `length` and `width` say otherwise, with its four
    walls."""

    class Meta:
        model = Room
        skip_postgeneration_save = True

    class Params:
        length = 12 * FOOT
        width = 10 * FOOT

    house = factory.SubFactory(HouseFactory)
    key = factory.Sequence(lambda number: f"room-{number}")
    name = "Kitchen"

    @factory.post_generation
    def walls(self: Any, create: bool, extracted: Any, **kwargs: Any) -> None:
        if create:
            length, width = kwargs.get("length", 12 * FOOT), kwargs.get("width", 10 * FOOT)
            for index, (key, side) in enumerate(
                zip("ABCD", (length, width, length, width), strict=True)
            ):
                Wall.objects.create(
                    room=self, key=key, name=f"Wall {key}", position=index, length=side
                )


def demo_house(person: Person, name: str = "hollow-lane") -> House:
    """A demo house as rows, worked out."""
    from remodel.house_files.files import house_from_file

    path = Path(settings.BASE_DIR) / "fixtures" / f"{name}.json"

    def make() -> None:
        house_from_file(by=By(person), text=path.read_bytes())

    before = set(House.objects.values_list("pk", flat=True))
    made_once((name, person.pk), make)
    return House.objects.exclude(pk__in=before).get()


def room_add_line(*, by: By, house: House, name: str, line: str, **values: Any) -> Room:
    """A right-angled room from one line, as it is typed."""
    length, width, height = read_quick_line(line, house.units)
    return room_add(
        by=by, house=house, name=name, length=length, width=width, ceiling_height=height, **values
    )


def shared_house() -> tuple[House, Person, Person]:
    """Ada's house, which Ben shares as a helper."""
    owner, helper = ada(), ben()
    house = HouseFactory(owner=owner)
    Membership.objects.create(house=house, person=helper, role=Role.HELPER)
    return house, owner, helper


def accept_stops(house: House) -> House:
    """Accept whatever stops any step of a house as it stands, for tests of other things than the
    order of work."""
    graph = order_of_house(house).graph
    keys = {
        wait.key
        for waits in graph.waits.values()
        for wait in waits
        if (wait.rule.severity == "stop" or wait.rule.asks) and wait.after
    }
    standing = AcceptedStop.objects.filter(house=house).values_list("key", flat=True)
    AcceptedStop.objects.bulk_create(
        AcceptedStop(house=house, key=key, text=key, reason="A test", at=timezone.now())
        for key in sorted(keys - set(standing))
    )
    return house
