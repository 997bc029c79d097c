"""A new house in seven answers, and house files in and out."""

from __future__ import annotations

import json
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils.html import strip_tags

from remodel.board.queries import board_of
from remodel.bridge.framings import framing_of, framing_with
from remodel.bridge.lengths import FOOT, INCH, MM, amount
from remodel.bridge.records import rules_of
from remodel.history.seen import Seen
from remodel.history.services import By
from remodel.house.models import House, Room
from remodel.house.services import house_change, house_set_rules, room_add
from remodel.people.models import Person, Role
from remodel.people.services import household
from remodel.supply.ledger import move
from tests.remodel.factories import ada, ben, cy, demo_house
from tests.remodel.site import HTMX, browser, share, small_house

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]

KEY = "6b0f4ab0-52a5-4f3a-9d2c-1d1f0f5f1c11"
ANSWERS = {
    "key": KEY,
    "name": "Elm Street",
    "units": "in",
    "framed": "16",
    "longest": "12",
    "currency": "USD",
}


def upload(text: str | bytes, name: str = "house.json") -> dict:
    return {
        "file": SimpleUploadedFile(name, text if isinstance(text, bytes) else text.encode()),
        "key": KEY,
    }


def test_five_answers_make_a_house_and_lead_to_its_first_room():
    response = browser(ada()).post(reverse("house-new"), ANSWERS)
    house = House.objects.get()

    assert response.status_code == 302
    assert response["Location"].startswith(reverse("room-add", args=[house.pk]))
    assert rules_of(house).longest_board == 12 * FOOT
    assert list(House.objects.for_person(ada())) == [house]


def test_metric_house_is_framed_in_millimetres():
    browser(ada()).post(reverse("house-new"), ANSWERS | {"units": "mm", "framed": "24"})

    assert rules_of(House.objects.get()).assumed_wall_spacing == 600 * MM


def test_studs_not_known_are_not_known_in_the_first_room():
    client = browser(ada())
    page = client.post(reverse("house-new"), ANSWERS | {"framed": "unknown"}, follow=True)

    assert page.context["form"].initial["studs"] == "unknown"


def test_studs_not_known_are_shown_again_as_not_known_and_stay_so():
    client = browser(ada())
    client.post(reverse("house-new"), ANSWERS | {"framed": "unknown"})
    house = House.objects.get()
    page = client.get(reverse("house-edit", args=[house.pk]))
    client.post(
        reverse("house-edit", args=[house.pk]),
        ANSWERS
        | {
            "framed": page.context["form"]["framed"].value(),
            "name": "Elm Street 4",
            "version": house.version,
        },
    )

    assert page.context["form"]["framed"].value() == "unknown"
    assert not rules_of(House.objects.get(name="Elm Street 4")).wall_spacing_known


@pytest.mark.parametrize("way", ["room-add", "room-add-walls", "room-add-surfaces"])
def test_every_new_room_of_a_house_with_studs_not_known_starts_so(way):
    client = browser(ada())
    client.post(reverse("house-new"), ANSWERS | {"framed": "unknown"})
    house = House.objects.get()
    room_add(
        by=By(ada()),
        house=house,
        name="Hall",
        length=12 * FOOT,
        width=6 * FOOT,
        wall_framing=framing_with(None, spacing=16 * INCH),
    )

    page = client.get(reverse(way, args=[house.pk]))
    assert page.context["form"].initial["studs"] == "unknown"


def test_room_of_a_house_with_studs_not_known_is_provisional():
    client = browser(ada())
    client.post(reverse("house-new"), ANSWERS | {"framed": "unknown"})
    add = reverse("room-add", args=[House.objects.get().pk])
    form = client.get(add).context["form"]
    started = {bound.name: bound.value() for bound in form if bound.value() not in (None, False)}
    client.post(add, started | {"name": "Hall", "line": "12' x 6' x 8'", "joists": str(16 * INCH)})
    room = Room.objects.get(name="Hall")

    assert framing_of(room.wall_framing).spacing is None
    assert board_of(room).summary.provisional


def test_studs_once_known_start_every_new_room():
    client = browser(ada())
    client.post(reverse("house-new"), ANSWERS | {"framed": "unknown"})
    house = House.objects.get()
    data = ANSWERS | {"framed": "24", "version": house.version}
    client.post(reverse("house-edit", args=[house.pk]), data)

    page = client.get(reverse("room-add", args=[house.pk]))
    assert page.context["form"].initial["studs"] == str(24 * INCH)


def test_house_from_before_the_answer_was_kept_says_16():
    house = small_house(ada())
    page = browser(ada()).get(reverse("house-edit", args=[house.pk]))

    assert house.rules == {}
    assert page.context["form"]["framed"].value() == "16"


def test_spacing_that_is_no_answer_on_offer_is_shown_and_stays():
    house = small_house(ada())
    house = house_set_rules(by=By(ada()), house=house, assumed_wall_spacing=19 * INCH)
    client = browser(ada())
    url = reverse("house-edit", args=[house.pk])
    page = client.get(url)
    client.post(url, ANSWERS | {"framed": "kept", "version": house.version})
    house.refresh_from_db()

    assert "19 in" in page.content.decode()
    assert page.context["form"]["framed"].value() == "kept"
    assert rules_of(house).assumed_wall_spacing == 19 * INCH


def test_studs_not_known_come_back_from_the_house_file():
    client = browser(ada())
    client.post(reverse("house-new"), ANSWERS | {"framed": "unknown"})
    house = House.objects.get()
    file = client.get(reverse("house-export", args=[house.pk])).content
    client.post(reverse("house-import"), upload(file))

    assert not rules_of(House.objects.exclude(pk=house.pk).get()).wall_spacing_known


def test_house_made_twice_by_one_page_is_one_house():
    client = browser(ada())
    for _ in range(2):
        client.post(reverse("house-new"), ANSWERS)

    assert House.objects.count() == 1


def test_another_house_typed_into_the_same_page_is_another_house():
    client = browser(ada())
    client.post(reverse("house-new"), ANSWERS)
    client.post(reverse("house-new"), ANSWERS | {"name": "Oak Street"})

    assert sorted(House.objects.values_list("name", flat=True)) == ["Elm Street", "Oak Street"]


@pytest.mark.parametrize("more", [{}, HTMX])
def test_house_without_a_name_comes_back_with_the_rest_kept(more):
    response = browser(ada()).post(
        reverse("house-new"), ANSWERS | {"name": "", "longest": "14"}, **more
    )
    page = response.content.decode()

    assert response.status_code == 422
    assert "&quot;Name of the house&quot; is empty. Enter it" in page
    assert '<option value="14" selected>' in page
    assert House.objects.count() == 0


def test_new_house_takes_no_other_verb():
    assert browser(ada()).put(reverse("house-new")).status_code == 405


def test_answers_can_be_changed_later():
    house = small_house(ada())
    data = ANSWERS | {
        "seen": str(Seen.of(house)),
        "name": "Elm Street 4",
        "framed": "24",
        "longest": "10",
    }
    response = browser(ada()).post(reverse("house-edit", args=[house.pk]), data)
    house.refresh_from_db()

    assert response["Location"] == reverse("house-detail", args=[house.pk])
    assert (house.name, rules_of(house).assumed_wall_spacing) == ("Elm Street 4", 24 * INCH)
    assert rules_of(house).longest_board == 10 * FOOT


def test_stale_answers_are_told_with_both_values():
    house = small_house(ada())
    share(house, ben())
    seen = str(Seen.of(house))
    house_change(by=By(ben()), house=House.objects.get(pk=house.pk), name="Ben's name")
    data = ANSWERS | {"seen": seen, "name": "Ada's name"}
    client = browser(ada())
    response = client.post(reverse("house-edit", args=[house.pk]), data)
    page = response.content.decode()

    assert response.status_code == 409
    assert "<title>Error: " in page
    assert "Ben changed this while you were typing" in page
    assert "Ada&#x27;s name" in page
    assert "Ben&#x27;s name" in page
    again = client.post(
        reverse("house-edit", args=[house.pk]),
        data | {"seen": response.context["form"]["seen"].value()},
    )
    assert again.status_code == 302
    assert House.objects.get(pk=house.pk).name == "Ada's name"


def test_stranger_and_viewer_cannot_change_a_house():
    house = small_house(ada())
    url = reverse("house-edit", args=[house.pk])
    share(house, ben(), Role.VIEWER)

    assert browser(cy()).get(url).status_code == 404
    assert browser(ben()).get(url).status_code == 404
    assert browser(ben()).post(url, ANSWERS).status_code == 404
    assert (
        browser(ada())
        .get(reverse("house-edit", args=["00000000-0000-0000-0000-000000000000"]))
        .status_code
        == 404
    )


def test_house_file_goes_out_and_comes_in_the_same():
    house = demo_house(ada())
    client = browser(ada())
    out = client.get(reverse("house-export", args=[house.pk]))
    response = client.post(reverse("house-import"), upload(out.content))
    copy = House.objects.exclude(pk=house.pk).get()
    again = client.get(reverse("house-export", args=[copy.pk]))

    assert out["Content-Disposition"] == 'attachment; filename="hollow-lane.json"'
    assert response["Location"] == reverse("house-detail", args=[copy.pk])
    assert json.loads(again.content) == json.loads(out.content)


@pytest.mark.parametrize("page", ["house-file", "house-edit"])
def test_what_the_file_holds_and_what_not_is_said_before_the_press(page):
    house = demo_house(ada())
    item = "sheet-regular-0.5x48x91in"
    move(by=By(ada()), house=house, item=item, kind="found", amount=amount(3, "each"))
    text = browser(ada()).get(reverse(page, args=[house.pk])).content.decode()
    words = " ".join(strip_tags(text).split())
    said = (
        "11 rooms with walls",
        "and 2 planned partitions",
        "3 offcuts that are still here",
        "Stock that is here: 2 items",
        "Boards that hang or are cut, marks, and the plans you accepted",
        "48 in x 91 in: 3 here, but no longer on your price list",
    )
    assert [part for part in said if part not in words] == []
    button = text.index(reverse("house-export", args=[house.pk]))
    assert text.index("no longer on your price list") < button


def test_page_of_the_file_leads_to_the_archive_where_one_may_be_made(client, settings):
    settings.HOSTED = False
    house = small_house(household())
    for address in (
        reverse("house-file", args=[house.pk]),
        reverse("house-edit", args=[house.pk]),
        reverse("house-import"),
    ):
        assert reverse("archive") in client.get(address).content.decode()


def test_house_file_is_not_for_strangers():
    house = small_house(ada())
    url = reverse("house-export", args=[house.pk])

    assert browser(cy()).get(url).status_code == 404
    assert browser(ada()).post(url).status_code == 405


def test_wrong_house_file_brings_in_nothing_and_lists_everything_wrong_by_place():
    text = json.dumps(
        {
            "version": 1,
            "name": "Elm",
            "rooms": [
                {"name": "Kitchen", "shape": {"quick": {"length": "6 1", "width": "10 ft"}}},
                {
                    "name": "Bath",
                    "shape": {"quick": {"length": "8 ft", "width": "8 ft"}},
                    "ceiling": {"height": -3},
                },
            ],
        }
    )
    response = browser(ada()).post(reverse("house-import"), upload(text))
    page = response.content.decode()

    assert response.status_code == 422
    assert "<title>Error: " in page
    assert "rooms[0].shape.quick.length" in page
    assert "rooms[1].ceiling.height" in page
    assert "2 things are wrong in it" in page
    assert House.objects.count() == 0


@pytest.mark.parametrize(
    "content", [b"", b"\xff\xfe\x00", b"[]", b"{" * 5000, b'{"name": "<script>alert(1)</script>"}']
)
def test_what_is_no_house_file_is_said_so(content):
    response = browser(ada()).post(reverse("house-import"), upload(content))

    assert response.status_code == 422
    assert b"<script>alert" not in response.content
    assert House.objects.count() == 0


def test_house_file_over_two_megabytes_is_refused():
    response = browser(ada()).post(reverse("house-import"), upload(b" " * 2_000_001))

    assert response.status_code == 422
    assert "larger than 2 MB" in response.content.decode()


def test_house_file_brought_in_at_home_belongs_to_the_whole_household(client, settings):
    settings.HOSTED = False
    us, other = household(), Person.objects.create(name="Dot", email=None)
    client.post(
        reverse("house-import"), upload(json.dumps({"version": 1, "name": "Elm", "rooms": []}))
    )

    for person in (us, other):
        assert [house.name for house in House.objects.for_person(person)] == ["Elm"]


def test_house_file_sent_twice_by_one_page_comes_in_once():
    client = browser(ada())
    text = json.dumps({"version": 1, "name": "Elm", "rooms": []})
    for _ in range(2):
        assert client.post(reverse("house-import"), upload(text)).status_code == 302

    assert House.objects.count() == 1


def test_worth_of_an_hour_is_asked_for_and_kept():
    client = browser(ada())
    client.post(reverse("house-new"), ANSWERS)
    house = House.objects.get()
    url = reverse("house-edit", args=[house.pk])
    assert rules_of(house).hour == Decimal("15.00")
    assert client.get(url).context["form"]["hour"].value() == "15.00"

    client.post(url, ANSWERS | {"hour": "22.50", "version": house.version})
    house.refresh_from_db()
    assert rules_of(house).hour == Decimal("22.50")

    # Left empty it stays; zero is an answer of its own.
    client.post(url, ANSWERS | {"hour": "", "version": house.version})
    house.refresh_from_db()
    assert rules_of(house).hour == Decimal("22.50")
    client.post(url, ANSWERS | {"hour": "0", "version": house.version})
    house.refresh_from_db()
    assert rules_of(house).hour == 0


def test_worth_of_an_hour_that_is_no_price_is_refused_with_an_example():
    page = browser(ada()).post(reverse("house-new"), ANSWERS | {"hour": "a lot"})
    assert (
        "must be zero or more with at most two decimals, for example 15.00" in page.content.decode()
    )
    assert not House.objects.exists()
