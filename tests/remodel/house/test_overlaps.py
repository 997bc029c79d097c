"""A box in the place of another, or in a door, is refused at its field; what stood so before is
pointed out."""

from __future__ import annotations

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from remodel.board.queries import view_of
from remodel.bridge.lengths import FOOT, INCH, MM
from remodel.history.errors import Refused
from remodel.history.queries import last_group
from remodel.history.services import undo
from remodel.house.models import Cutout, HiddenItem, House, Opening, Room
from remodel.house.services import house_change, room_change, room_resize
from remodel.house.things import (
    cutout_add,
    cutout_change,
    cutout_remove,
    hidden_add,
    opening_add,
    opening_change,
    partition_opening_add,
)
from remodel.house_files.files import file_of_house
from tests.remodel.factories import ada
from tests.remodel.site import HTMX, browser, with_partition

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]

KEY = "6b0f4ab0-52a5-4f3a-9d2c-1d1f0f5f1c11"
BOX_FORM = {
    "key": KEY,
    "kind": "box",
    "surface": "A",
    "across_origin": "left",
    "across_distance": "21 in",
    "across_to": "near",
    "up_origin": "floor",
    "up_distance": "12 in",
    "up_to": "near",
    "width": "2 in",
    "height": "4 in",
    "name": "Box 2",
}
DOOR_FORM = {
    "key": KEY,
    "kind": "door",
    "surface": "A",
    "left": "1 ft",
    "width": "34 in",
    "height": "80 in",
    "sill": "",
    "given": "rough",
    "edge": "cased",
    "name": "Door",
}


def box(by, room, across=20, up=12, *, origin="left", surface="A", **more) -> Cutout:
    """A box of 2 by 4 in by its near edges, in inches."""
    values = {"kind": "box", "width": 2 * INCH, "height": 4 * INCH, "name": "Box 1"}
    values |= {"across_origin": origin, "across_distance": across * INCH, "across_to": "near"}
    values |= {"up_origin": "floor", "up_distance": up * INCH, "up_to": "near"}
    return cutout_add(by=by, room=room, surface=surface, **values | more)


def door(by, room, at=36, width=34, **more) -> Opening:
    values = {
        "kind": "door",
        "left": at * INCH,
        "sill": 0,
        "width": width * INCH,
        "height": 80 * INCH,
    }
    return opening_add(by=by, room=room, surface="A", name="Door", **values | more)


def overlapping(by, room) -> tuple[Cutout, Cutout]:
    """Two boxes in one spot, as a house from before this was checked has them."""
    first, second = box(by, room), box(by, room, across=40, name="Box 2")
    Cutout.objects.filter(pk=second.pk).update(across_distance=20 * INCH)
    second.refresh_from_db()
    return first, second


def test_box_in_the_place_of_another_is_refused_with_where_and_what_to_enter(by, room):
    box(by, room)
    with pytest.raises(Refused) as caught:
        box(by, room, across=21, name="Box 2")

    assert caught.value.field == "across_distance"
    assert str(caught.value) == (
        '"Box 2" would lie in the place of "Box 1" on Wall A. "Box 1" spans 1\' 8" to 1\' 10" from '
        "the left end, and "
        '1\' 0" to 1\' 4" above the floor. Enter 1\' 6" or 1\' 10" for "How far across", or move '
        'or remove "Box 1" '
        "first"
    )
    assert [cutout.name for cutout in Cutout.objects.all()] == ["Box 1"]


@pytest.mark.parametrize("distance", [18, 22])
def test_what_the_refusal_says_to_enter_is_taken(by, room, distance):
    box(by, room)
    box(by, room, across=distance, name="Box 2")

    assert Cutout.objects.count() == 2


def test_box_measured_from_the_right_is_told_from_the_right(by, room):
    box(by, room)
    with pytest.raises(Refused) as caught:
        box(by, room, across=121, origin="right", name="Box 2")

    assert "spans 10' 2\" to 10' 4\" from the right end" in str(caught.value)
    assert "Enter 10' 0\" or 10' 4\" for" in str(caught.value)


def test_in_a_house_in_millimeters_the_refusal_is(by, room):
    house_change(by=by, house=room.house, units="mm")
    box(by, room)
    room = Room.objects.get(pk=room.pk)
    with pytest.raises(Refused, match=r"Enter 457 mm or 559 mm for"):
        box(by, room, across=0, across_distance=520 * MM, name="Box 2")


def test_box_in_a_door_is_refused(by, room):
    door(by, room)
    with pytest.raises(Refused) as caught:
        box(by, room, across=50, up=40)

    assert '"Box 1" would lie in the opening of "Door" on Wall A.' in str(caught.value)
    assert 'The opening of "Door" spans 3\' 0" to 5\' 10" from the left end' in str(caught.value)
    assert 'Enter 2\' 10" or 5\' 10" for "How far across"' in str(caught.value)


def test_allowance_round_a_door_is_part_of_its_opening(by, room):
    door(by, room, given="unit")  # 1 in more on either side
    with pytest.raises(Refused, match="would lie in the opening"):
        box(by, room, across=33.5, across_distance=67 * INCH // 2)


def test_door_over_a_box_is_refused_at_its_own_field(by, room):
    box(by, room, across=40, up=40)
    with pytest.raises(Refused) as caught:
        door(by, room)

    assert caught.value.field == "left"
    assert '"Door" would cover "Box 1" on Wall A.' in str(caught.value)
    assert 'Enter 6" or 3\' 6" for "Left end of the wall to the opening"' in str(caught.value)
    assert Opening.objects.count() == 0


def test_moving_or_widening_a_door_over_a_box_is_refused(by, room):
    standing = door(by, room, at=72, width=30)
    box(by, room, across=66, up=40)
    for values in (
        {"left": 60 * INCH},
        {"left": 67 * INCH, "width": 34 * INCH},
        {"given": "unit", "left": 68 * INCH},
    ):
        standing.refresh_from_db()
        with pytest.raises(Refused, match="would cover"):
            opening_change(by=by, opening=standing, **values)
    standing.refresh_from_db()
    assert standing.left == 72 * INCH


def test_moving_a_box_onto_another_is_refused_and_moving_it_away_is_not(by, room):
    box(by, room)
    second = box(by, room, across=40, name="Box 2")
    with pytest.raises(Refused, match='"Box 2" would lie in the place of "Box 1"'):
        cutout_change(by=by, cutout=second, across_distance=21 * INCH)
    second.refresh_from_db()
    cutout_change(by=by, cutout=second, across_distance=60 * INCH)

    assert Cutout.objects.get(pk=second.pk).across_distance == 60 * INCH


def test_lights_in_one_place_on_the_ceiling_are_told_by_their_centers(by, room):
    light = {
        "kind": "round",
        "width": 6 * INCH,
        "height": None,
        "surface": "ceiling",
        "origin": "D",
    }
    light |= {"up_origin": "A", "across_to": "centre", "up_to": "centre"}
    box(by, room, across=36, up=36, **light | {"name": "Light 1"})
    with pytest.raises(Refused) as caught:
        box(by, room, across=39, up=40, **light | {"name": "Light 2"})
    box(by, room, across=42, up=36, **light | {"name": "Light 3"})

    assert str(caught.value) == (
        '"Light 2" would lie in the place of "Light 1" on the ceiling. Their centers would be 5" '
        "apart. Measure both "
        'again and enter another length for "How far across", or move or remove "Light 1" first'
    )


def test_door_of_a_partition_over_a_box_of_the_room_behind_is_refused(by, room):
    partition = with_partition(room, ada())
    behind = Room.objects.get(behind=partition)
    box(by, behind, across=40, up=40, surface=partition.key)
    asked = {"kind": "door", "sill": 0, "width": 30 * INCH, "height": 80 * INCH, "name": "Door"}
    with pytest.raises(Refused, match='"Door" would cover "Box 1" on Closet, Closet wall'):
        partition_opening_add(by=by, partition=partition, left=60 * INCH, **asked)
    partition_opening_add(by=by, partition=partition, left=5 * INCH, **asked)

    assert Opening.objects.count() == 1


def test_what_is_behind_the_board_is_pointed_out_and_never_refused(by, room):
    box(by, room)
    hidden_add(
        by=by,
        room=room,
        surface="A",
        kind="duct",
        name="Duct",
        width=10 * INCH,
        height=80 * INCH,
        across_origin="left",
        across_distance=15 * INCH,
        across_to="near",
        up_origin="floor",
        up_distance=0,
        up_to="near",
    )

    assert HiddenItem.objects.count() == 1
    assert any('"Duct" runs behind "Box 1"' in text for text in view_of(room).warnings)


def test_room_with_boxes_in_one_spot_from_before_is_worked_out_edited_and_told(by, room):
    first, second = overlapping(by, room)
    third = box(by, room, across=60, name="Box 3")
    cutout_change(by=by, cutout=third, across_distance=70 * INCH)
    cutout_change(by=by, cutout=first, name="Left box")
    opening_add(
        by=by,
        room=room,
        surface="B",
        kind="window",
        name="Window",
        left=30 * INCH,
        sill=30 * INCH,
        width=24 * INCH,
        height=30 * INCH,
    )
    room_change(by=by, room=Room.objects.get(pk=room.pk), name="Kitchenette")

    view = view_of(Room.objects.get(pk=room.pk))
    text = (
        '"Box 2" lies in the place of "Left box", 1\' 8" to 1\' 10" from the left end; move or '
        "remove one of them"
    )
    assert any(text in warning for warning in view.warnings)
    assert any(surface.pieces for surface in view.surfaces)
    page = browser(ada()).get(reverse("room-boards", args=[room.pk])).content.decode()
    assert "&quot;Box 2&quot; lies in the place of &quot;Left box&quot;" in page

    with pytest.raises(Refused, match="would lie in the place of"):  # moved, and still in it
        cutout_change(by=by, cutout=second, across_distance=21 * INCH)
    second.refresh_from_db()
    cutout_change(by=by, cutout=second, across_distance=30 * INCH)
    assert not any(
        "lies in the place" in warning for warning in view_of(Room.objects.get(pk=room.pk)).warnings
    )


def test_room_measured_again_so_that_boxes_meet_is_pointed_out(by, room):
    """The wall is as long as it is: whoever measures it anew is not to be held up by boxes measured
    before."""
    box(by, room)
    box(by, room, across=110, origin="right", name="Box 2")
    room_resize(by=by, room=Room.objects.get(pk=room.pk), length=132 * INCH, width=10 * FOOT)

    assert any('"Box 2" lies in the place of "Box 1"' in text for text in view_of(room).warnings)


def test_bringing_back_a_removed_box_under_another_is_let_through_and_told(by, room):
    first = box(by, room)
    cutout_remove(by=by, cutout=first)
    group = last_group(first.pk)
    box(by, room, name="Box 2")
    undo(by=by, group=group)

    assert any("lies in the place of" in text for text in view_of(room).warnings)


@pytest.mark.parametrize("more", [{}, HTMX])
def test_refusal_stands_at_the_field_with_all_that_was_typed(by, room, more):
    box(by, room)
    response = browser(ada()).post(reverse("cutout-add", args=[room.pk]), BOX_FORM, **more)
    form = response.context["form"]

    assert response.status_code == 422
    assert f'"{form.fields["across_distance"].label}"' in form.errors["across_distance"][0]
    assert form["across_distance"].value() == "21 in"
    assert Cutout.objects.count() == 1


def test_refusal_of_a_door_stands_at_the_field_it_names(by, room):
    box(by, room, up=40)
    response = browser(ada()).post(reverse("opening-add", args=[room.pk]), DOOR_FORM)
    form = response.context["form"]

    assert response.status_code == 422
    assert f'"{form.fields["left"].label}"' in form.errors["left"][0]


def test_house_file_with_boxes_in_one_spot_comes_in_and_says_so(by, room):
    overlapping(by, room)
    text = file_of_house(room.house)
    assert len(json.loads(text)["rooms"][0]["cutouts"]) == 2
    file = SimpleUploadedFile("house.json", text.encode())
    response = browser(ada()).post(reverse("house-import"), {"key": KEY, "file": file}, follow=True)

    assert House.objects.count() == 2
    assert "&quot;Box 2&quot; lies in the place of &quot;Box 1&quot;" in response.content.decode()


def test_house_file_without_overlaps_says_nothing_of_them(by, room):
    box(by, room)
    file = SimpleUploadedFile("house.json", file_of_house(room.house).encode())
    response = browser(ada()).post(reverse("house-import"), {"key": KEY, "file": file}, follow=True)

    assert len(list(response.context["messages"])) == 1
