"""The picture beside the form of a door, a box or what is behind the board: the room's own wall,
with the thing where it is typed."""

from __future__ import annotations

import re
from html import unescape

import pytest
from django.urls import reverse

from remodel.house.models import Cutout, Opening
from remodel.house.things import opening_add
from tests.remodel.factories import ada, cy
from tests.remodel.site import browser

pytestmark = pytest.mark.django_db

FOOT, INCH = 304_800_000, 25_400_000
DOOR = {
    "kind": "door",
    "surface": "A",
    "left": "3'",
    "width": '34"',
    "height": '82 1/2"',
    "sill": "",
    "given": "rough",
    "edge": "cased",
    "return_depth": "",
    "name": "",
}
BOX = {
    "kind": "box",
    "surface": "B",
    "across_origin": "left",
    "across_distance": "2'",
    "across_to": "centre",
    "up_origin": "floor",
    "up_distance": '12"',
    "up_to": "centre",
    "width": '2"',
    "height": '4"',
    "along": "",
    "name": "",
}


def picture(room, word, typed, row=None):
    to = reverse("thing-picture", args=[room.pk, word])
    answer = browser(ada()).post(f"{to}?row={row.pk}" if row else to, typed)
    return answer.content.decode()


def lengths(page):
    return [unescape(text) for text in re.findall(r'class="face-length"[^>]*>([^<]+)<', page)]


def test_door_is_drawn_where_it_is_typed_with_what_is_left_on_both_sides(room):
    # The kitchen's wall A is 12 ft long: 3 ft to the door, 34 in of it, 6 ft 2 in after it.
    assert lengths(picture(room, "opening", DOOR)) == ["3' 0\"", "6' 2\""]
    assert not Opening.objects.exists()


def test_box_is_drawn_by_its_two_readings(room):
    # Wall B is 10 ft long; a box 2 by 4 in whose center is 2 ft from the left and 1 ft up.
    assert lengths(picture(room, "cutout", BOX)) == ["1' 11\"", "7' 11\"", '10"']
    assert not Cutout.objects.exists()


def test_wall_at_hand_is_the_thick_one_of_the_plan(room):
    page = picture(room, "opening", DOOR | {"surface": "C"})
    assert "wall C is the one at hand" in page
    assert page.count('class="face-wall"') == 1


@pytest.mark.parametrize("typed", ["", "3 x", "<b>"])
def test_wall_alone_is_drawn_until_the_measures_can_be_read(room, typed):
    page = picture(room, "opening", DOOR | {"left": typed})
    assert "Enter the measures, and it appears here." in page
    assert not lengths(page)
    assert "<b>" not in page


def test_thing_past_the_end_of_its_wall_is_told_and_not_drawn(room):
    page = picture(room, "opening", DOOR | {"left": "11'"})
    assert not lengths(page)
    assert "face-drawing" in page
    assert "Enter the measures" not in page


def test_changed_door_is_drawn_once_and_in_its_new_place(by, room):
    row = opening_add(
        by=by, room=room, surface="A", kind="door", left=FOOT, sill=0, width=30 * INCH,
        height=80 * INCH, given="rough", edge="cased",
    )  # fmt: skip
    page = picture(room, "opening", DOOR, row)
    assert lengths(page) == ["3' 0\"", "6' 2\""]
    assert page.count("<rect") == 1


def test_light_of_the_ceiling_is_drawn_as_one_looks_up(room):
    light = {"surface": "ceiling", "kind": "round", "height": "", "width": '6"'}
    page = picture(room, "cutout", BOX | light | {"across_origin": "A", "up_origin": "B"})
    assert "as you look up" in page
    assert "<circle" in page


def test_before_a_wall_is_chosen_the_plan_shows_the_letters_of_the_walls(room):
    page = browser(ada()).get(reverse("opening-add", args=[room.pk])).content.decode()
    assert re.findall(r">([A-D])</text>", page) == ["A", "B", "C", "D"]
    assert "face-drawing" not in page


def test_picture_is_for_those_of_the_house_and_for_what_there_is(room, hosted):
    to = reverse("thing-picture", args=[room.pk, "opening"])
    assert browser(cy()).post(to, DOOR).status_code == 404
    assert browser(ada()).get(to).status_code == 405
    nothing = reverse("thing-picture", args=[room.pk, "chimney"])
    assert browser(ada()).post(nothing, DOOR).status_code == 404
