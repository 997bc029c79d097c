"""The picture of a wall beside its form, pressed with a finger or a mouse."""

from __future__ import annotations

import re

import pytest
from django.core.cache import cache
from django.urls import reverse

from remodel.house.models import Cutout, Room
from remodel.people.services import household
from tests.browser.conftest import sync_api
from tests.browser.reading import violations
from tests.remodel.site import small_house

pytestmark = pytest.mark.django_db(transaction=True)
expect = sync_api.expect


@pytest.fixture
def room() -> Room:
    cache.clear()
    return Room.objects.get(house=small_house(household(), "Kitchen"))


@pytest.mark.parametrize("size", ["phone", "laptop"])
def test_box_is_put_where_the_wall_is_pressed(visit, room, size):
    page = visit(reverse("cutout-add", args=[room.pk]), size)
    page.get_by_role("radio", name="Wall A").check()
    wall = page.locator("svg.face-drawing polygon")
    expect(wall).to_be_visible()
    # Wall A is 12 ft by 8 ft.
    face = wall.bounding_box()
    wall.click(position={"x": face["width"] / 4, "y": face["height"] * 7 / 8})
    across, up = page.get_by_label("How far across"), page.get_by_label("How far up or down")
    # To the width of a finger or so: 3 ft along, 1 ft up.
    expect(across).to_have_value(re.compile(r"^(2' 1[01]|3' [0-2])"))
    expect(up).to_have_value(re.compile(r"^(1[01]|1' [0-2])"))
    page.get_by_label("Width, or how wide across if it is round").fill("2")
    page.get_by_label("Height").fill("4")
    expect(page.locator("svg .face-typed")).to_be_visible()
    assert violations(page) == []
    page.get_by_role("button", name="Save the cut-out").click()
    expect(page.get_by_text("go back to Kitchen")).to_be_visible()
    assert Cutout.objects.get().surface_key == "A"
