"""Planned partitions: added with the room they make, changed, given up."""

from __future__ import annotations

import pytest
from django.urls import reverse

from remodel.bridge.lengths import FOOT, INCH
from remodel.history.queries import last_group
from remodel.history.seen import Seen
from remodel.history.services import By
from remodel.house.models import Partition, Room
from remodel.house.partitions import partition_change
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
