"""History, and taking it back."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from remodel.bridge.lengths import FOOT
from remodel.history.queries import last_group
from remodel.history.services import By
from remodel.house.models import Room
from remodel.house.services import room_change, room_remove, wall_change
from remodel.people.models import Role
from tests.remodel.factories import ada, ben, cy
from tests.remodel.site import browser, share

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]

MISSING = "00000000-0000-0000-0000-000000000000"


def undo_url(row) -> str:
    return reverse("change-undo", args=[last_group(row.pk)])


def test_history_of_a_room_says_who_when_and_what(room):
    share(room.house, ben())
    room_change(by=By(ben()), room=room, ceiling_height=9 * FOOT)
    page = browser(ada()).get(reverse("room-history", args=[room.pk])).content.decode()

    assert "Kitchen: changed the room" in page
    assert "<del>8&#x27; 0&quot;</del>" in page
    assert "<ins>9&#x27; 0&quot;</ins>" in page
    assert "<time datetime=" in page
    assert page.index("Kitchen: changed the room") < page.index("Kitchen: added a room")


def test_undo_takes_back_and_says_so(room):
    room_change(by=By(ada()), room=room, name="Pantry")
    page = browser(ada()).post(undo_url(room), follow=True).content.decode()

    assert Room.objects.get().name == "Kitchen"
    assert "Undone: changed the room." in page


def test_removed_room_is_brought_back_from_the_houses_history(room):
    room_remove(by=By(ada()), room=room)
    url = undo_url(room)
    assert (
        url in browser(ada()).get(reverse("house-history", args=[room.house_id])).content.decode()
    )
    answer = browser(ada()).post(url)

    assert Room.objects.get().pk == room.pk
    assert answer.headers["Location"] == reverse("room-detail", args=[room.pk])


def test_undone_twice_is_told_and_not_done(room):
    room_change(by=By(ada()), room=room, name="Pantry")
    url = undo_url(room)
    browser(ada()).post(url)
    page = browser(ada()).post(url, follow=True).content.decode()

    assert Room.objects.get().name == "Kitchen"
    assert "already undone" in page


def test_what_was_changed_again_since_shows_both_and_undoes_nothing(room):
    wall = room.walls.get(key="A")
    room_change(by=By(ada()), room=room, name="Pantry")
    url = undo_url(room)
    room_change(by=By(ada()), room=room, name="Larder")
    answer = browser(ada()).post(url)
    page = answer.content.decode()

    assert answer.status_code == 409
    assert re.search(r"<td>Kitchen</td>\s*<td>Larder</td>", page)
    assert Room.objects.get().name == "Larder"
    assert wall.key == "A"


def test_what_made_the_house_is_not_undone_from_its_pages(room):
    house = room.house
    url = undo_url(house)

    assert url not in browser(ada()).get(reverse("house-history", args=[house.pk])).content.decode()
    assert browser(ada()).post(url).status_code == 404
    assert type(house).objects.filter(pk=house.pk).exists()


def test_stranger_looker_missing_and_wrong_verb(room):
    share(room.house, ben(), Role.VIEWER)
    wall_change(by=By(ada()), wall=room.walls.get(key="A"), name="Door wall")
    url = undo_url(room.walls.get(key="A"))

    assert browser(cy()).post(url).status_code == 404
    assert browser(ben()).post(url).status_code == 404
    assert browser(ada()).post(reverse("change-undo", args=[MISSING])).status_code == 404
    assert browser(ada()).get(url).status_code == 405
    assert room.walls.get(key="A").name == "Door wall"
