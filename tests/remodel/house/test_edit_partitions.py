"""Planned partitions: added with the room they make, changed, given up."""

from __future__ import annotations

import pytest
from django.urls import reverse

from remodel.board.queries import view_of
from remodel.bridge.lengths import FOOT, INCH
from remodel.history.errors import Refused
from remodel.history.queries import last_group
from remodel.history.seen import Seen
from remodel.history.services import By
from remodel.house.marks import letter_for
from remodel.house.models import Partition, Room
from remodel.house.partitions import Corner, partition_change
from remodel.house.queries import partitions_off
from remodel.work.services import phase_set_state
from tests.remodel.factories import ada, ben, cy
from tests.remodel.site import HTMX, browser, share, with_partition

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]

KEY = "6b0f4ab0-52a5-4f3a-9d2c-1d1f0f5f1c11"
MISSING = "00000000-0000-0000-0000-000000000000"
WALL = {
    "key": KEY,
    "name": "Closet wall",
    "behind": "Closet",
    "surface": "A",
    "at": "9'",
    "side": "right",
    "framed": "after",
    "stud": "2x4",
    "spacing": str(16 * INCH),
}


def test_partition_makes_a_room_from_the_start(room):
    response = browser(ada()).post(reverse("partition-add", args=[room.pk]), WALL)
    partition = Partition.objects.get()

    assert response["Location"] == reverse("room-edit", args=[room.pk])
    assert (partition.at, partition.framed, partition.wall.key) == (9 * FOOT, "after", "A")
    assert Room.objects.get(behind=partition).name == "Closet"


def test_partition_sent_twice_by_one_page_is_one(room):
    client = browser(ada())
    for _ in range(2):
        client.post(reverse("partition-add", args=[room.pk]), WALL)

    assert Partition.objects.count() == 1
    assert Room.objects.count() == 2


@pytest.mark.parametrize("more", [{}, HTMX])
@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"at": "40'"}, "Closet wall"),
        ({"at": "6 1"}, "&quot;Left end of that wall to the partition&#x27;s framing&quot;: "),
        ({"name": ""}, "&quot;Name of the partition&quot; is empty. Enter it"),
        ({"behind": ""}, "&quot;Name of the room it makes&quot; is empty. Enter it"),
        (
            {"spacing": "other"},
            "&quot;The other stud spacing&quot; is empty. Enter it, for example",
        ),
    ],
)
def test_partition_that_cannot_be_comes_back_as_typed(room, wrong, message, more):
    response = browser(ada()).post(reverse("partition-add", args=[room.pk]), WALL | wrong, **more)

    assert response.status_code == 422
    assert message in response.content.decode()
    for name, value in (WALL | wrong).items():
        if name != "key":
            assert response.context["form"][name].value() == value
    assert not Partition.objects.exists()


def test_partition_is_moved(room):
    partition = with_partition(room, ada())
    data = WALL | {
        "seen": str(Seen.of(partition)),
        "at": "8'",
        "spacing": "other",
        "spacing_other": "12 in",
    }
    response = browser(ada()).post(reverse("partition-edit", args=[partition.pk]), data)
    partition.refresh_from_db()

    assert response["Location"] == reverse("room-edit", args=[room.pk])
    assert (partition.at, partition.spacing) == (8 * FOOT, 12 * INCH)


def test_stale_partition_is_told_with_both_values(room):
    partition = with_partition(room, ada())
    share(room.house, ben())
    seen = str(Seen.of(partition))
    partition_change(by=By(ben()), partition=Partition.objects.get(), at=7 * FOOT)
    response = browser(ada()).post(
        reverse("partition-edit", args=[partition.pk]), WALL | {"seen": seen, "at": "8'"}
    )
    page = response.content.decode()

    assert response.status_code == 409
    assert "7&#x27; 0&quot;" in page
    assert "8&#x27; 0&quot;" in page
    assert Partition.objects.get().at == 7 * FOOT


def test_partition_that_stands_is_framed_at_another_time_with_a_tick_alone(room):
    partition = with_partition(room, ada())
    phase_set_state(by=By(ada()), phase=room.phases.get(key="partitions"), state="done")
    address = reverse("partition-edit", args=[partition.pk])
    page = browser(ada()).get(address)
    data = WALL | {"framed": "after", "seen": page.context["form"]["seen"].value()}

    assert "Change when it is framed all the same" in page.content.decode()
    assert browser(ada()).post(address, data).status_code == 422
    moved = data | {"framed": "before"}
    assert browser(ada()).post(address, moved).status_code == 302


def test_partition_given_up_is_brought_back_with_its_room(room):
    partition = with_partition(room, ada())
    client = browser(ada())
    page = client.post(
        reverse("partition-remove", args=[partition.pk]), follow=True
    ).content.decode()
    assert "Removed Closet wall." in page
    assert [room.name for room in Room.objects.all()] == ["Kitchen"]

    client.post(reverse("change-undo", args=[last_group(partition.pk)]))
    assert sorted(room.name for room in Room.objects.all()) == ["Closet", "Kitchen"]


def test_stranger_and_missing_are_not_there(room):
    partition = with_partition(room, ada())
    edit, remove = (
        reverse(name, args=[partition.pk]) for name in ("partition-edit", "partition-remove")
    )
    add = reverse("partition-add", args=[room.pk])

    for url in (add, edit):
        assert browser(ada()).get(url).status_code == 200
        assert browser(cy()).get(url).status_code == 404
        assert browser(cy()).post(url, WALL).status_code == 404
        assert browser(ada()).delete(url).status_code == 405
    assert browser(cy()).post(remove).status_code == 404
    assert browser(ada()).get(remove).status_code == 405
    for name in ("partition-add", "partition-edit"):
        assert browser(ada()).get(reverse(name, args=[MISSING])).status_code == 404
    assert Partition.objects.count() == 1


CORNER = WALL | {
    "at": "4'",
    "side": "left",
    "framed": "before",
    "corner_1_length": "3' 4\"",
    "corner_1_turn": "toward",
}


def test_closet_in_a_corner_is_planned_on_the_page(room):
    client = browser(ada())
    client.post(reverse("partition-add", args=[room.pk]), CORNER)
    partition = Partition.objects.get()

    assert partition.length == 40 * INCH
    (leg,) = partition.legs
    assert (leg["name"], leg["turn"], leg["length"]) == ("Closet wall, leg 2", "toward", None)
    assert leg["letter"] not in ("", partition.letter)
    page = client.get(reverse("room-edit", args=[room.pk])).content.decode()
    assert "Closet wall, leg 2" in page
    assert "a corner, the first after 3&#x27; 4&quot;" in page
    form = client.get(reverse("partition-edit", args=[partition.pk])).context["form"]
    assert (form["corner_1_length"].value(), form["corner_1_turn"].value()) == (
        "3' 4\"",
        "toward",
    )


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"corner_1_turn": ""}, "At the first corner it turns&quot; is empty. Choose toward or"),
        ({"corner_1_length": ""}, "From the wall to the first corner&quot; is empty. Enter a len"),
        (
            {"corner_1_length": "0"},
            "From the wall to the first corner&quot; must be more than zero",
        ),
        ({"corner_1_length": "3 in"}, "leaves nothing of its shorter side; enter more than 3 1/2"),
        ({"corner_1_length": "30'"}, "Closet wall: it runs into Wall C before its corner; enter"),
        (
            {"corner_3_length": "2'", "corner_3_turn": "away"},
            "From there to the second corner&quot; is empty, so there is no corner after it",
        ),
        ({"bearing": "on", "framed": "after"}, "cannot wait for the board. Choose Before board"),
    ],
)
def test_corners_that_cannot_be_come_back_with_what_to_enter(room, wrong, message):
    response = browser(ada()).post(reverse("partition-add", args=[room.pk]), CORNER | wrong)

    assert response.status_code == 422
    assert message in response.content.decode()
    assert not Partition.objects.exists()


def test_door_stands_in_the_second_leg_and_keeps_its_corner(room):
    client = browser(ada())
    client.post(reverse("partition-add", args=[room.pk]), CORNER)
    partition = Partition.objects.get()
    leg = partition.legs[0]["id"]
    door = {
        "key": KEY,
        "surface": leg,
        "kind": "door",
        "left": "8 in",
        "width": "26 in",
        "height": "82 in",
        "given": "rough",
        "edge": "cased",
    }
    client.post(reverse("opening-add", args=[room.pk]), door)
    assert partition.openings.get().plane == leg

    straight = CORNER | {
        "seen": str(Seen.of(partition)),
        "corner_1_length": "",
        "corner_1_turn": "",
    }
    response = client.post(reverse("partition-edit", args=[partition.pk]), straight)
    assert response.status_code == 422
    assert "Closet wall, leg 2 would be gone, and something is on it" in response.content.decode()


def test_leg_that_comes_back_has_the_letter_it_had_and_no_other_gets_it(room):
    person = ada()
    partition = with_partition(room, person, at=4 * FOOT)
    corner = [Corner(length=40 * INCH, turn="away")]
    partition_change(by=By(person), partition=partition, corners=corner)
    partition.refresh_from_db()
    first = partition.legs[0]["letter"]
    partition_change(by=By(person), partition=partition, corners=[])
    partition.refresh_from_db()
    assert partition.legs_now == []
    assert letter_for(room) != first

    partition_change(by=By(person), partition=partition, corners=corner)
    partition.refresh_from_db()
    assert [leg["letter"] for leg in partition.legs_now] == [first]


def test_partition_starts_on_another_and_holds_it_there(room):
    person = ada()
    first = with_partition(room, person, at=9 * FOOT)
    client = browser(person)
    second = WALL | {"name": "Nook wall", "behind": "Nook", "surface": first.key, "at": "3'"}
    second["framed"] = "before"
    client.post(reverse("partition-add", args=[room.pk]), second)
    assert Partition.objects.get(name="Nook wall").plane == first.key

    page = client.post(reverse("partition-remove", args=[first.pk]), follow=True).content.decode()
    assert "Nook wall starts on Closet wall. Move or remove it first" in page


def test_partitions_that_start_on_a_wall_go_with_it(room):
    person = ada()
    first = with_partition(room, person, at=9 * FOOT)
    data = WALL | {"name": "Nook wall", "behind": "Nook", "surface": first.key, "at": "3'"}
    browser(person).post(reverse("partition-add", args=[room.pk]), data | {"framed": "before"})
    assert [one.name for one in partitions_off(first.wall)] == ["Closet wall", "Nook wall"]


def test_wall_that_carries_load_is_not_put_off_on_its_own_page_either(room):
    person = ada()
    partition = with_partition(room, person)
    partition_change(by=By(person), partition=partition, bearing=True)
    partition.refresh_from_db()
    data = {"key": KEY, "seen": str(Seen.of(partition)), "framed": "after"}
    response = browser(person).post(reverse("partition-detail", args=[partition.pk]), data)
    page = response.content.decode()

    assert response.status_code == 422
    assert "framing it after board is not priced; an engineer sizes" in page
    assert "After board" not in page
    with pytest.raises(Refused, match="carries load from above, so it cannot wait for the board"):
        partition_change(by=By(person), partition=partition, framed="after")


def test_closet_along_a_wall_leaves_two_parts_of_it_each_with_its_own_choice(room):
    client = browser(ada())
    along = CORNER | {
        "side": "right",
        "at": "3'",
        "corner_1_length": "2'",
        "corner_2_length": "5'",
        "corner_2_turn": "toward",
    }
    client.post(reverse("partition-add", args=[room.pk]), along)
    parts = {surface.key: surface.name for surface in view_of(fresh(room)).surfaces}
    assert (parts["A"], parts["A-2"]) == ("Kitchen, Wall A", "Kitchen, Wall A part 2")

    url = reverse("surface-edit", args=[room.pk, "A-2"])
    form = client.get(url).context["form"]
    data = {name: form[name].value() or "" for name in form.fields} | {"action": "leave"}
    assert client.post(url, data).status_code == 302
    boarded = {surface.key for surface in view_of(fresh(room)).surfaces if surface.pieces}
    assert "A" in boarded
    assert "A-2" not in boarded


def fresh(room) -> Room:
    return Room.objects.get(pk=room.pk)
