"""What is on hand, as pages."""

import csv
import io
from fractions import Fraction

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from remodel.bridge.lengths import amount
from remodel.history.services import By
from remodel.people.models import Role
from remodel.supply.ledger import balances, move, on_hand
from remodel.supply.models import Movement
from remodel.supply.services import pack_add
from tests.remodel.factories import HouseFactory, ada, ben, cy
from tests.remodel.site import browser, share

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]
MISSING = "00000000-0000-4000-8000-000000000000"
KEY = "7c0e4f6e-57a5-4a5b-9b0f-0d2f5cdd0b01"


@pytest.fixture
def house():
    """A house with tape in rolls and sticks of lumber on sale, 250 ft of tape and five 8 ft sticks
    on hand."""
    house = HouseFactory(owner=ada())
    tape = house.materials.create(key="tape-paper", name="Paper joint tape")
    pack_add(by=By(ada()), material=tape, name="250 ft roll", holds=amount(250, "ft"), price=428)
    lumber = house.materials.create(key="2x4", name="2x4 lumber", cut=True)
    pack_add(by=By(ada()), material=lumber, name="8 ft", holds=amount(8, "ft"), price=358)
    by = By(ada())
    move(by=by, house=house, item="tape-paper", kind="received", amount=amount(250, "ft"))
    move(by=by, house=house, item="2x4", kind="received", amount=amount(8, "ft"), pieces=5)
    return house


def url(house, name, item="tape-paper"):
    return reverse(f"stock-{name}", args=[house.pk, item])


def sticks(house):
    return {length: count for key, length, count in balances(house) if key == "2x4"}


def test_list_shows_what_is_here_and_every_movement(client, house):
    page = client.get(reverse("stock-list", args=[house.pk])).content.decode()
    assert "Paper joint tape" in page
    assert "250 ft" in page
    assert "5 × 8 ft" in page
    assert page.count("Take back<span") == 2


def test_sheets_and_what_is_counted_say_what_they_are(client, house):
    by, sheet = By(ada()), "sheet-regular-0.5x48x96in"
    move(by=by, house=house, item=sheet, kind="received", amount=amount(1, "each"), pieces=4)
    move(
        by=by,
        house=house,
        item="screw-coarse-1.25",
        kind="received",
        amount=amount(238, "each"),
        pieces=2,
    )
    page = client.get(reverse("stock-list", args=[house.pk])).content.decode()
    assert ">+4 sheets<" in page
    assert ">+2 × 238 pieces<" in page


def test_empty_stock_says_where_it_comes_from(client):
    house = HouseFactory(owner=ada())
    page = client.get(reverse("stock-list", args=[house.pk])).content.decode()
    assert "Nothing is on hand yet" in page


def test_list_asks_the_database_no_more_for_more_movements(client, house):
    page = reverse("stock-list", args=[house.pk])
    client.get(page)
    with CaptureQueriesContext(connection) as before:
        client.get(page)
    for _ in range(10):
        move(by=By(ada()), house=house, item="tape-paper", kind="used", amount=amount(1, "ft"))
    with CaptureQueriesContext(connection) as after:
        client.get(page)
    assert len(after) == len(before)


def test_counting_what_is_left_writes_what_was_used_once(client, house):
    data = {"number": "100", "of": "1 ft", "used": "used", "key": KEY}
    client.post(url(house, "count"), data)
    client.post(url(house, "count"), data)
    assert on_hand(house, "tape-paper", "ft").value == 100
    used = Movement.objects.get(kind="used")
    assert (used.amount.value, used.person) == (-150, ada())


def test_counting_in_packs_takes_a_fraction(client, house):
    client.post(url(house, "count"), {"number": "1/2", "of": "250 ft", "used": "used"})
    assert on_hand(house, "tape-paper", "ft").value == 125


def test_count_put_right_is_no_use(client, house):
    client.post(url(house, "count"), {"number": "200", "of": "1 ft", "used": "count"})
    assert on_hand(house, "tape-paper", "ft").value == 200
    assert not Movement.objects.filter(kind="used").exists()


def test_sticks_are_counted_in_whole_ones_of_a_length(client, house):
    count = url(house, "count", "2x4")
    assert "sticks of 8 ft (5 here)" in client.get(count).content.decode()
    refused = client.post(count, {"number": "2.5", "of": "8 ft", "used": "used"})
    assert refused.status_code == 422
    assert "whole numbers" in refused.content.decode()
    client.post(count, {"number": "3", "of": "8 ft", "used": "used"})
    assert sticks(house) == {amount(8, "ft"): 3}
    client.post(count, {"number": "4", "of": "8 ft", "used": "used"})
    assert sticks(house) == {amount(8, "ft"): 4}


def test_spoiled_goes_off_the_stock_with_what_happened(client, house):
    client.post(url(house, "spoil"), {"number": "10", "of": "1 ft", "note": "Got wet"})
    assert on_hand(house, "tape-paper", "ft").value == 240
    assert Movement.objects.get(kind="spoiled").note == "Got wet"


def test_moving_leaves_the_balance_and_says_where(client, house):
    client.post(url(house, "move"), {"number": "1", "of": "250 ft", "to": "Garage"})
    assert on_hand(house, "tape-paper", "ft").value == 250
    assert (
        "Last carried to Garage"
        in client.get(reverse("stock-list", args=[house.pk])).content.decode()
    )
    client.post(url(house, "move", "2x4"), {"number": "2", "of": "8 ft", "to": "Garage"})
    assert sticks(house) == {amount(8, "ft"): 5}


def test_more_than_is_here_cannot_be_moved(client, house):
    answer = client.post(url(house, "move"), {"number": "2", "of": "250 ft", "to": "Garage"})
    assert answer.status_code == 422
    assert "not so much on hand" in answer.content.decode()
    sixth = client.post(url(house, "move", "2x4"), {"number": "6", "of": "8 ft", "to": "Garage"})
    assert sixth.status_code == 422


@pytest.mark.parametrize("number", ["-1", "some", "", "1/0", "9" * 30, "1e9"])
def test_an_amount_that_cannot_be_is_refused_and_kept(client, house, number):
    answer = client.post(url(house, "spoil"), {"number": number, "of": "1 ft", "note": "Kept note"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "<title>Error: " in page
    assert 'value="Kept note"' in page
    assert on_hand(house, "tape-paper", "ft").value == 250


def test_a_unit_that_is_no_choice_is_refused(client, house):
    answer = client.post(url(house, "spoil"), {"number": "1", "of": "1 gal"})
    assert answer.status_code == 422


def test_a_movement_is_taken_back_once_by_another(client, house):
    movement = Movement.objects.get(item="tape-paper")
    back = reverse("stock-reverse", args=[movement.pk])
    assert "both stay in the ledger" in client.post(back, follow=True).content.decode()
    assert on_hand(house, "tape-paper", "ft").value == 0
    assert "already taken back" in client.post(back, follow=True).content.decode()
    assert Movement.objects.filter(item="tape-paper").count() == 2


def test_item_shows_its_own_movements_alone(client, house):
    page = client.get(url(house, "item")).content.decode()
    assert "+250 ft" in page
    assert "8 ft" not in page


def test_long_ledger_comes_in_pages(client, house):
    for _ in range(60):
        move(by=By(ada()), house=house, item="tape-paper", kind="used", amount=amount(1, "ft"))
    page = reverse("stock-list", args=[house.pk])
    assert "Page 1 of 2" in client.get(page).content.decode()
    assert "Page 2 of 2" in client.get(f"{page}?page=2").content.decode()
    assert client.get(f"{page}?page=nine").status_code == 200


def test_table_has_every_movement_and_starts_no_formula(client, house):
    move(
        by=By(ada()),
        house=house,
        item="tape-paper",
        kind="used",
        amount=amount(Fraction(1, 3), "ft"),
        note="@SUM(A1)",
    )
    answer = client.get(reverse("stock-csv", args=[house.pk]))
    rows = list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert [row["Amount"] for row in rows] == ["250", "8", "-0.333333"]
    assert rows[1]["Pieces"] == "5"
    assert rows[2]["Note"] == "'@SUM(A1)"
    assert "attachment" in answer["Content-Disposition"]


def test_a_stranger_a_missing_house_and_a_missing_item_all_get_404(client, house):
    stranger, movement = browser(cy()), Movement.objects.first()
    for name in ("item", "count", "spoil", "move"):
        assert stranger.get(url(house, name)).status_code == 404
        assert client.get(url(house, name, "nothing-like-it")).status_code == 404
        assert client.get(reverse(f"stock-{name}", args=[MISSING, "tape-paper"])).status_code == 404
    for name in ("list", "csv"):
        assert stranger.get(reverse(f"stock-{name}", args=[house.pk])).status_code == 404
        assert client.get(reverse(f"stock-{name}", args=[MISSING])).status_code == 404
    assert stranger.post(reverse("stock-reverse", args=[movement.pk])).status_code == 404
    assert client.post(reverse("stock-reverse", args=[MISSING])).status_code == 404
    assert stranger.post(url(house, "spoil"), {"number": "1", "of": "1 ft"}).status_code == 404
    assert on_hand(house, "tape-paper", "ft").value == 250


def test_who_may_look_only_changes_nothing(house):
    share(house, ben(), Role.VIEWER)
    viewer = browser(ben())
    assert viewer.get(url(house, "item")).status_code == 200
    assert viewer.post(url(house, "spoil"), {"number": "1", "of": "1 ft"}).status_code == 404
    assert (
        viewer.post(reverse("stock-reverse", args=[Movement.objects.first().pk])).status_code == 404
    )


def test_wrong_verbs_are_refused(client, house):
    movement = Movement.objects.first()
    assert client.get(reverse("stock-reverse", args=[movement.pk])).status_code == 405
    assert client.post(reverse("stock-list", args=[house.pk])).status_code == 405
    assert client.post(reverse("stock-csv", args=[house.pk])).status_code == 405
    assert client.post(url(house, "item")).status_code == 405
    assert client.delete(url(house, "count")).status_code == 405
