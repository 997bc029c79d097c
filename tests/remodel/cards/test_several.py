"""One press that ticks a sheet, a wall, a room or a coat, and the press that takes it back."""

from __future__ import annotations

import pytest
from django.urls import reverse

from remodel.board.queries import takes_of_house
from remodel.cards.models import DoneMark
from remodel.cards.queries import hanging_for
from remodel.supply.models import CutSheet
from tests.remodel.factories import ada, ben
from tests.remodel.site import browser, share

pytestmark = pytest.mark.django_db


def press(room, person=None, **fields):
    to = reverse("room-tick-all", args=[room.pk])
    return browser(person or ada()).post(to, {"done": "yes", **fields}, follow=True)


def hung(room):
    return set(DoneMark.objects.filter(kind="hung", done=True).values_list("item", flat=True))


def test_wall_hangs_as_planned_and_is_taken_back(room):
    wall = {step.piece for step in hanging_for(room) if step.plan and step.surface.endswith("/A")}
    press(room, what="surface", item="A")
    assert hung(room) == wall
    press(room, what="surface", item="A", done="no")
    assert hung(room) == set()


def test_whole_room_hangs_and_its_page_says_so(room):
    back = reverse("room-hanging", args=[room.pk])
    answer = press(room, what="room", back=back)
    pieces = {place.key for place in takes_of_house(room.house_id)[room.pk].places}

    assert hung(room) == pieces
    assert answer.context["done"] == answer.context["of"]
    assert CutSheet.objects.count() == len(takes_of_house(room.house_id)[room.pk].sheets)


def test_coat_goes_on_every_surface_that_asks_for_it(room):
    press(room, what="coat", item="second")
    asked = {
        take.name for take in takes_of_house(room.house_id)[room.pk].takes if take.kind == "second"
    }
    assert asked
    assert set(DoneMark.objects.filter(kind="second").values_list("item", flat=True)) == asked


@pytest.mark.parametrize(
    "fields",
    [
        {"what": "surface", "item": "Z"},
        {"what": "sheet", "item": "S99", "plan": "ab"},
        {"what": "coat", "item": "glazed"},
        {"what": ""},
    ],
)
def test_press_for_nothing_says_so(room, fields):
    answer = press(room, **fields)
    assert "nothing to tick" in answer.content.decode()
    assert not DoneMark.objects.exists()


def test_presses_are_for_those_who_may_write(room):
    share(room.house, ben(), "viewer")
    assert press(room, ben(), what="room").status_code == 404
    page = browser(ben()).get(reverse("room-hanging", args=[room.pk])).content.decode()
    assert "as planned" not in page
