"""The house and its rooms at a glance."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from remodel.history.services import By
from remodel.house.models import Room
from remodel.house.services import room_change
from remodel.people.models import Role
from remodel.supply.money import money_of
from remodel.supply.standing import standing_of
from remodel.work.services import phase_set_state
from tests.remodel.factories import ada, ben, cy
from tests.remodel.site import browser, share, small_house

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]
PAGES = (
    "house-detail",
    "house-money",
    "house-money-csv",
    "room-list",
    "partition-list",
    "house-history",
)


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


def test_house_says_every_phase_of_every_room_in_words():
    house = small_house(ada(), "Kitchen", "Bath")
    kitchen = Room.objects.get(house=house, key="kitchen")
    phase_set_state(by=By(ada()), phase=kitchen.phases.get(key="strip-out"), state="done")
    phase_set_state(
        by=By(ada()),
        phase=kitchen.phases.get(key="insulation"),
        state="blocked",
        waits_for="the electrician's sign-off",
    )
    page = text_of(browser(ada()).get(reverse("house-detail", args=[house.pk])))

    assert page.count('class="course-board') == 16
    assert (
        '<span class="course-name">Tear-out</span> <span class="course-state">Done</span>' in page
    )
    assert "Insulation waits for the electrician&#x27;s sign-off" in page
    assert "1 of 16 phases done" in page
    assert "Next: framing" in page


def test_house_lists_what_is_in_progress_before_what_is_ready():
    house = small_house(ada(), "Kitchen", "Bath")
    kitchen, bath = Room.objects.filter(house=house).order_by("position")
    phase_set_state(by=By(ada()), phase=kitchen.phases.get(key="strip-out"), state="ready")
    phase_set_state(by=By(ada()), phase=bath.phases.get(key="framing"), state="in progress")
    page = text_of(browser(ada()).get(reverse("house-detail", args=[house.pk])))

    assert page.index("Framing, Bath") < page.index("Tear-out, Kitchen")


def test_room_is_still_to_be_bought_for_till_its_phases_are_done():
    house = small_house(ada())
    room = Room.objects.get(house=house)
    before = browser(ada()).get(reverse("house-detail", args=[house.pk])).context["open_rooms"][0]
    phase_set_state(by=By(ada()), phase=room.phases.get(key="hanging"), state="done")
    after = browser(ada()).get(reverse("house-detail", args=[house.pk])).context["open_rooms"][0]
    rows = money_of(house, standing_of(house)).rows
    of_room = {str(phase.pk) for phase in room.phases.all()}

    assert after.to_buy == sum(row.to_buy for job, row in rows.items() if str(job) in of_room)
    assert before.to_buy > after.to_buy > 0


def test_house_without_rooms_says_what_belongs_there():
    house = small_house(ada())
    house.rooms.all().delete()
    page = text_of(browser(ada()).get(reverse("house-detail", args=[house.pk])))

    assert "No rooms yet" in page
    assert "Add the first room" in page


def test_finished_room_stands_apart_and_costs_nothing_more():
    house = small_house(ada(), "Kitchen", "Bath")
    room_change(by=By(ada()), room=Room.objects.get(house=house, key="bath"), finished=True)
    response = browser(ada()).get(reverse("house-detail", args=[house.pk]))

    assert [shown.room.key for shown in response.context["open_rooms"]] == ["kitchen"]
    assert [shown.room.key for shown in response.context["finished_rooms"]] == ["bath"]


@pytest.mark.parametrize(
    ("name", "most"),
    [
        # One asks whether the figures are up to date; ten read where the house stands (what is on
        # sale, needs, ticks, ledger, claims), and five its money. Fourteen read the order of work.
        ("house-detail", 43),
        ("house-money", 26),
        ("room-list", 13),
    ],
)
def test_pages_of_many_rooms_ask_no_more_questions_than_of_one(name, most):
    one, many = small_house(ada(), "Kitchen"), small_house(ada(), *"ABCDEF")
    counts = []
    for house in (one, many):
        client, address = browser(ada()), reverse(name, args=[house.pk])
        client.get(address)  # which choices a house has is found once for its measures, and kept
        with CaptureQueriesContext(connection) as seen:
            assert client.get(address).status_code == 200
        counts.append(len(seen))

    assert counts[0] == counts[1] <= most


def test_room_list_draws_every_outline_at_one_scale():
    house = small_house(ada(), "Kitchen", "Bath")
    response = browser(ada()).get(reverse("room-list", args=[house.pk]))
    thumbs = [shown.thumb for shown in response.context["rooms"]]

    assert [(thumb.width, thumb.height) for thumb in thumbs] == [(1000, 833), (1000, 833)]
    assert text_of(response).count("<polygon") == 2


@pytest.mark.parametrize(
    "name", ["house-detail", "house-money", "room-list", "partition-list", "house-history"]
)
def test_stranger_and_missing_house_are_not_there(name):
    house = small_house(ada())
    missing = "00000000-0000-0000-0000-000000000000"

    assert browser(ada()).get(reverse(name, args=[house.pk])).status_code == 200
    assert browser(cy()).get(reverse(name, args=[house.pk])).status_code == 404
    assert browser(ada()).get(reverse(name, args=[missing])).status_code == 404


@pytest.mark.parametrize(
    "name", ["house-detail", "house-money", "room-list", "partition-list", "house-history"]
)
def test_house_pages_are_for_looking_only(name):
    house = small_house(ada())

    assert browser(ada()).post(reverse(name, args=[house.pk])).status_code == 405


def test_who_may_look_only_sees_the_house():
    house = small_house(ada())
    share(house, ben(), Role.VIEWER)

    assert browser(ben()).get(reverse("house-detail", args=[house.pk])).status_code == 200
