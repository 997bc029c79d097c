"""Openings, cut-outs and what is behind the board: added one after another, changed, removed."""

from __future__ import annotations

import pytest
from django.urls import reverse

from remodel.bridge.lengths import FOOT, INCH
from remodel.history.queries import last_group
from remodel.history.seen import Seen
from remodel.history.services import By
from remodel.house.models import Cutout, HiddenItem, Opening
from remodel.house.things import cutout_add, hidden_add, opening_add, opening_change
from tests.remodel.factories import ada, ben, cy
from tests.remodel.site import HTMX, browser, share, small_house, with_partition

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]

KEY = "6b0f4ab0-52a5-4f3a-9d2c-1d1f0f5f1c11"
MISSING = "00000000-0000-0000-0000-000000000000"
DOOR = {
    "key": KEY,
    "kind": "door",
    "surface": "A",
    "left": "3' 2\"",
    "width": "34 in",
    "height": '82 1/2"',
    "sill": "",
    "given": "rough",
    "edge": "cased",
    "name": "",
}
BOX = {
    "key": KEY,
    "kind": "box",
    "surface": "B",
    "across_origin": "right",
    "across_distance": "2' 7\"",
    "across_to": "centre",
    "up_origin": "floor",
    "up_distance": '12"',
    "up_to": "near",
    "width": '2 1/4"',
    "height": '3 3/4"',
    "name": "",
}
RAIL = BOX | {
    "kind": "blocking",
    "surface": "C",
    "across_origin": "left",
    "across_to": "near",
    "width": "48 in",
    "height": '5 1/2"',
    "lumber": "2x6",
    "planned": "on",
}
ADDS = {"opening": (DOOR, Opening), "cutout": (BOX, Cutout), "hidden": (RAIL, HiddenItem)}


def add_url(word: str, room, more: str = "") -> str:
    return reverse(f"{word}-add", args=[room.pk]) + more


def test_door_is_added_where_the_tape_says(room):
    browser(ada()).post(add_url("opening", room), DOOR)
    door = Opening.objects.get()

    assert (door.wall.key, door.left, door.width, door.sill) == ("A", 38 * INCH, 34 * INCH, 0)
    assert door.name == "Door"


def test_box_is_placed_from_the_right_end_and_the_floor(room):
    browser(ada()).post(add_url("cutout", room), BOX)
    box = Cutout.objects.get()

    assert (box.across_origin, box.across_distance, box.up_to) == ("right", 31 * INCH, "near")
    assert box.name == "Electrical box"


def test_light_on_the_ceiling_is_measured_from_two_walls(room):
    light = BOX | {
        "kind": "round",
        "surface": "ceiling",
        "across_origin": "D",
        "up_origin": "A",
        "height": "",
    }
    browser(ada()).post(add_url("cutout", room), light)
    kept = Cutout.objects.get()

    assert (kept.plane, kept.across_origin, kept.up_origin, kept.height) == (
        "ceiling",
        "D",
        "A",
        None,
    )


REGISTER = BOX | {
    "kind": "vent",
    "surface": "ceiling",
    "across_origin": "B",
    "across_distance": "40 in",
    "up_origin": "A",
    "up_distance": "40 in",
    "width": "4 in",
    "height": "12 in",
}


def test_register_on_the_ceiling_is_asked_along_which_wall_its_longer_side_lies(room):
    visitor = browser(ada())
    answer = visitor.post(add_url("cutout", room), REGISTER)
    page = answer.content.decode().replace("&quot;", '"')
    assert 'its longer side lies along" is empty. Choose the wall' in page
    assert not Cutout.objects.filter(room=room).exists()

    visitor.post(add_url("cutout", room), REGISTER | {"along": "B"})
    register = Cutout.objects.get(room=room)
    assert register.along == "B"
    page = visitor.get(reverse("cutout-edit", args=[register.pk])).content.decode()
    assert '<option value="B" selected>' in page or 'value="B" checked' in " ".join(page.split())


def test_square_one_on_the_ceiling_needs_no_such_wall_and_one_on_a_wall_may_name_none(room):
    visitor = browser(ada())
    visitor.post(add_url("cutout", room), REGISTER | {"height": "4 in"})
    answer = visitor.post(add_url("cutout", room), BOX | {"along": "A", "key": MISSING})
    assert "this one is not on a ceiling" in answer.content.decode()
    assert [hole.along for hole in Cutout.objects.filter(room=room)] == [""]


def test_blocking_still_to_go_in_is_kept(room):
    browser(ada()).post(add_url("hidden", room), RAIL)
    rail = HiddenItem.objects.get()

    assert (rail.kind, rail.planned, rail.lumber, rail.height) == (
        "blocking",
        True,
        "2x6",
        11 * INCH // 2,
    )


@pytest.mark.parametrize("word", ADDS)
def test_each_is_saved_as_it_is_added_and_said(room, word):
    data, table = ADDS[word]
    response = browser(ada()).post(add_url(word, room), data, **HTMX)
    page = response.content.decode()

    assert response.status_code == 200
    assert "Saved " in page
    assert "say" in response["HX-Trigger-After-Settle"]
    assert table.objects.get().name in page
    form = response.context["form"]
    assert form["kind"].value() == data["kind"]
    assert form["surface"].value() == data["surface"]
    assert form["key"].value() != KEY


def test_without_script_the_same_page_comes_again_for_the_next(room):
    client = browser(ada())
    response = client.post(add_url("opening", room), DOOR, follow=True)
    page = response.content.decode()

    assert response.redirect_chain[0][0].startswith(add_url("opening", room))
    assert "Saved " in page
    assert response.context["form"]["width"].value() == "2' 10\""
    assert not response.context["form"]["left"].value()


def test_second_of_a_kind_is_numbered(room):
    client = browser(ada())
    client.post(add_url("opening", room), DOOR)
    client.post(add_url("opening", room), DOOR | {"left": "7'", "key": MISSING})

    assert sorted(Opening.objects.values_list("name", flat=True)) == ["Door", "Door 2"]


@pytest.mark.parametrize("word", ADDS)
def test_sent_twice_by_one_page_it_is_one(room, word):
    data, table = ADDS[word]
    client = browser(ada())
    for _ in range(2):
        client.post(add_url(word, room), data)

    assert table.objects.count() == 1


@pytest.mark.parametrize("more", [{}, HTMX])
@pytest.mark.parametrize(
    ("word", "wrong", "message"),
    [
        ("opening", {"left": "6 1"}, "&quot;Left end of the wall to the opening&quot;: "),
        ("opening", {"width": ""}, "&quot;Width&quot; is empty. Enter it, for example"),
        (
            "opening",
            {"width": "0"},
            "&quot;Width&quot; must be more than zero and at most 60&#x27; 0&quot;",
        ),
        ("opening", {"left": "11'"}, "Door"),
        ("opening", {"kind": "window"}, "&quot;Floor to the bottom of it&quot; is empty"),
        (
            "opening",
            {"surface": "Z"},
            "&quot;Wall it is in&quot; must be one of the choices on the page",
        ),
        ("cutout", {"across_origin": "A"}, "Measured from: on a wall, choose left or right"),
        (
            "cutout",
            {"surface": "ceiling"},
            "Measured from: on the ceiling, choose a wall of the room",
        ),
        ("cutout", {"height": ""}, "&quot;Height&quot; is empty. Enter it for a box or vent"),
        ("cutout", {"kind": "round"}, "a round one has a width only"),
        ("cutout", {"up_distance": "9'"}, "Electrical box"),
        ("hidden", {"width": "-3"}, "&quot;Width&quot;: "),
        ("hidden", {"across_distance": "200'"}, "Blocking"),
    ],
)
def test_what_cannot_be_comes_back_as_typed_with_what_to_enter(room, word, wrong, message, more):
    data, table = ADDS[word]
    response = browser(ada()).post(add_url(word, room), data | wrong, **more)
    page = response.content.decode()

    assert response.status_code == 422
    assert "error-summary" in page
    assert message in page
    for name, value in (data | wrong).items():
        if name not in ("key", "planned"):
            assert response.context["form"][name].value() == value
    assert not table.objects.exists()


def test_opening_can_stand_in_a_planned_partition(room):
    partition = with_partition(room, ada())
    browser(ada()).post(add_url("opening", room), DOOR | {"surface": partition.key})
    door = Opening.objects.get()

    assert door.partition == partition
    page = browser(ada()).get(reverse("opening-edit", args=[door.pk])).content.decode()
    assert "Closet wall" in page
    data = DOOR | {"surface": partition.key, "seen": str(Seen.of(door)), "width": "30 in"}
    assert browser(ada()).post(reverse("opening-edit", args=[door.pk]), data).status_code == 302
    door.refresh_from_db()
    assert door.width == 30 * INCH
    assert browser(cy()).get(reverse("opening-edit", args=[door.pk])).status_code == 404


@pytest.fixture
def door(room):
    return opening_add(
        by=By(ada()),
        room=room,
        surface="A",
        kind="door",
        left=3 * FOOT,
        sill=0,
        width=34 * INCH,
        height=82 * INCH,
    )


@pytest.fixture
def box(room):
    return cutout_add(
        by=By(ada()),
        room=room,
        surface="B",
        **placed("right", "floor"),
        kind="box",
        height=4 * INCH,
    )


@pytest.fixture
def rail(room):
    return hidden_add(
        by=By(ada()),
        room=room,
        surface="C",
        **placed("left", "floor"),
        kind="blocking",
        height=5 * INCH,
    )


def placed(across: str, up: str) -> dict:
    return {
        "across_origin": across,
        "across_distance": 3 * FOOT,
        "up_origin": up,
        "up_distance": 3 * FOOT,
        "width": 4 * INCH,
    }


def test_opening_is_changed_and_moved_to_another_wall(door):
    url = reverse("opening-edit", args=[door.pk])
    data = DOOR | {"seen": str(Seen.of(door)), "surface": "C", "name": "Back door"}
    response = browser(ada()).post(url, data)
    door.refresh_from_db()

    assert response["Location"] == reverse("room-edit", args=[door.room_id])
    assert (door.name, door.wall.key, door.left) == ("Back door", "C", 38 * INCH)


def test_stale_opening_is_told_with_both_values(door):
    share(door.room.house, ben())
    opening_change(by=By(ben()), opening=Opening.objects.get(pk=door.pk), width=30 * INCH)
    client = browser(ada())
    data = DOOR | {"seen": str(Seen.of(door)), "width": "36 in"}
    response = client.post(reverse("opening-edit", args=[door.pk]), data)
    page = response.content.decode()

    assert response.status_code == 409
    assert "Ben changed this while you were typing" in page
    assert "3&#x27; 0&quot;" in page
    assert "2&#x27; 6&quot;" in page
    assert response.context["form"]["width"].value() == "36 in"
    data["seen"] = response.context["form"]["seen"].value()
    assert client.post(reverse("opening-edit", args=[door.pk]), data).status_code == 302
    assert Opening.objects.get(pk=door.pk).width == 36 * INCH


def test_changed_to_what_cannot_be_it_stays_as_it_was(door):
    data = DOOR | {"seen": str(Seen.of(door)), "left": "11'", "name": "Wide door"}
    response = browser(ada()).post(reverse("opening-edit", args=[door.pk]), data)

    assert response.status_code == 422
    assert response.context["form"]["left"].value() == "11'"
    assert Opening.objects.get(pk=door.pk).left == 3 * FOOT


@pytest.mark.parametrize("word", ADDS)
def test_removed_and_brought_back_by_undo(request, word):
    row = request.getfixturevalue({"opening": "door", "cutout": "box", "hidden": "rail"}[word])
    table = ADDS[word][1]
    client = browser(ada())
    page = client.post(reverse(f"{word}-remove", args=[row.pk]), follow=True).content.decode()

    assert not table.objects.exists()
    assert f"Removed {row.name}." in page
    assert reverse("change-undo", args=[last_group(row.pk)]) in page
    client.post(reverse("change-undo", args=[last_group(row.pk)]))
    assert table.objects.get().pk == row.pk


@pytest.mark.parametrize("word", ADDS)
def test_stranger_and_missing_are_not_there(request, room, word):
    row = request.getfixturevalue({"opening": "door", "cutout": "box", "hidden": "rail"}[word])
    table = ADDS[word][1]
    edit, remove = reverse(f"{word}-edit", args=[row.pk]), reverse(f"{word}-remove", args=[row.pk])

    for url in (edit, add_url(word, room)):
        assert browser(ada()).get(url).status_code == 200
        assert browser(cy()).get(url).status_code == 404
        assert browser(cy()).post(url, ADDS[word][0]).status_code == 404
        assert browser(ada()).delete(url).status_code == 405
    assert browser(cy()).post(remove).status_code == 404
    assert browser(ada()).get(remove).status_code == 405
    for name in (f"{word}-edit", f"{word}-add"):
        assert browser(ada()).get(reverse(name, args=[MISSING])).status_code == 404
    assert browser(ada()).post(reverse(f"{word}-remove", args=[MISSING])).status_code == 404
    assert table.objects.count() == 1


def test_surface_of_another_house_is_no_choice(room):
    small_house(cy(), "Den")
    response = browser(ada()).get(add_url("cutout", room, "?surface=A&after=" + MISSING))

    assert response.status_code == 200
    assert [key for key, _ in response.context["form"].surfaces] == ["A", "B", "C", "D", "ceiling"]


def test_list_asks_no_more_questions_of_a_full_room(room, django_assert_max_num_queries):
    for at in range(8):
        cutout_add(
            by=By(ada()),
            room=room,
            surface="B",
            kind="box",
            height=4 * INCH,
            **placed("left", "floor") | {"across_distance": (at + 1) * FOOT},
        )
    client = browser(ada())
    with django_assert_max_num_queries(30):
        client.get(reverse("room-edit", args=[room.pk]))
