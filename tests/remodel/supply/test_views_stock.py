"""What is on hand, as pages."""

import csv
import io
import re
from fractions import Fraction
from html import unescape

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from remodel.bridge.lengths import FOOT, amount
from remodel.cards.models import DoneMark
from remodel.history.services import By
from remodel.house.services import room_add
from remodel.people.models import Role
from remodel.supply.ledger import balances, move, on_hand
from remodel.supply.models import Estimate, Movement, SheetOnSale
from remodel.supply.orders import order_make, order_place, order_receive
from remodel.supply.queries import names_of
from remodel.supply.services import pack_add
from remodel.supply.standing import standing_of
from remodel.work.services import phase_add
from tests.remodel.factories import HouseFactory, ada, ben, cy
from tests.remodel.page_forms import forms_of
from tests.remodel.site import browser, share, small_house

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


def placed(house, phases=("hanging",)):
    """An order for all rooms of a house that was placed."""
    by = By(ada())
    order = order_make(by=by, house=house, phases=list(phases), rooms=list(house.rooms.all()))
    return order_place(by=by, order=order, without_prices=True, unseen_framing=True)


@pytest.fixture
def ordered():
    """A placed order of what hanging the kitchen takes, of which nothing came."""
    return placed(small_house(ada(), "Kitchen"))


def sheet_line(order):
    return order.lines.filter(item__startswith="sheet-", packs__gt=2).first()


def screw_line(order):
    return order.lines.filter(item__startswith="screw-").exclude(pack="").first()


def receive(order, line, packs):
    return order_receive(by=By(ada()), line=line, packs=packs)


def need_of(house, item, room):
    standing = standing_of(house)
    return sum(
        need.amount for need in standing.needs[item] if standing.jobs[need.job].room_name == room
    )


def served(house, item):
    """The rooms in the order in which they are served."""
    standing = standing_of(house)
    return [standing.jobs[share.job].room_name for share in standing.dealt(item).shares]


def words(page, *, tags=False):
    """What a page says, with one space between words."""
    text = page if tags else re.sub(r"<[^>]*>", "", page)
    return re.sub(r"\s+", " ", unescape(text))


def row_of(client, house, item):
    """What the list says of one item."""
    page = client.get(reverse("stock-list", args=[house.pk])).content.decode()
    rows = page.split('<li class="stock-item">')[1:]
    return words(next(row for row in rows if f'{url(house, "item", item)}"' in row))


def url(house, name, item="tape-paper"):
    return reverse(f"stock-{name}", args=[house.pk, item])


def sticks(house):
    return {length: count for key, length, count in balances(house) if key == "2x4"}


def test_list_shows_what_is_here_and_every_movement(client, house):
    page = client.get(reverse("stock-list", args=[house.pk])).content.decode()
    assert "Paper joint tape" in page
    assert "250 ft" in page
    assert "5 × 8 ft" in page
    assert page.count("Undo this entry<span") == 2


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
    assert "Nothing is written down yet" in page
    assert reverse("stock-have", args=[house.pk]) in page
    assert reverse("order-list", args=[house.pk]) in page


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
    data = {"number": "100", "of": "1 ft", "key": KEY}
    client.post(url(house, "count"), data)
    client.post(url(house, "count"), data)
    assert on_hand(house, "tape-paper", "ft").value == 100
    used = Movement.objects.get(kind="used")
    assert (used.amount.value, used.person) == (-150, ada())


def test_counting_in_packs_takes_a_fraction(client, house):
    client.post(url(house, "count"), {"number": "1/2", "of": "250 ft"})
    assert on_hand(house, "tape-paper", "ft").value == 125


def test_packs_and_what_is_loose_are_counted_together(client, house):
    client.post(url(house, "count"), {"number": "2", "of": "250 ft", "rest": "40 1/2"})
    assert on_hand(house, "tape-paper", "ft").value == Fraction(1081, 2)


def test_count_of_more_than_the_ledger_has_is_found(client, house):
    client.post(url(house, "count"), {"number": "300", "of": "1 ft"})
    assert on_hand(house, "tape-paper", "ft").value == 300
    assert Movement.objects.get(kind="found").count
    assert not Movement.objects.filter(kind="used").exists()


def test_sticks_are_counted_length_by_length(client, house):
    count, eight = url(house, "count", "2x4"), f"sticks-{8 * FOOT}"
    assert "Sticks of 8 ft" in client.get(count).content.decode()
    refused = client.post(count, {eight: "2.5", "note": "Kept note"})
    assert refused.status_code == 422
    assert "whole number" in refused.content.decode()
    assert 'value="Kept note"' in refused.content.decode()
    client.post(count, {eight: "3"})
    assert sticks(house) == {amount(8, "ft"): 3}
    client.post(count, {eight: "4"})
    assert sticks(house) == {amount(8, "ft"): 4}
    assert [move.count for move in Movement.objects.filter(item="2x4")] == [False, True, True]


def test_spoiled_goes_off_the_stock_with_what_happened(client, house):
    client.post(url(house, "spoil"), {"number": "10", "of": "1 ft", "note": "Got wet"})
    assert on_hand(house, "tape-paper", "ft").value == 240
    assert Movement.objects.get(kind="spoiled").note == "Got wet"


def test_moving_leaves_the_balance_and_says_where(client, house):
    client.post(url(house, "move"), {"number": "1", "of": "250 ft", "to": "Garage"})
    assert on_hand(house, "tape-paper", "ft").value == 250
    assert (
        "Last moved to Garage"
        in client.get(reverse("stock-list", args=[house.pk])).content.decode()
    )
    client.post(url(house, "move", "2x4"), {"number": "2", "of": "8 ft", "to": "Garage"})
    assert sticks(house) == {amount(8, "ft"): 5}


def test_more_than_is_here_cannot_be_moved(client, house):
    answer = client.post(url(house, "move"), {"number": "2", "of": "250 ft", "to": "Garage"})
    assert answer.status_code == 422
    assert "not so much here" in answer.content.decode()
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
    assert "already undone" in client.post(back, follow=True).content.decode()
    assert Movement.objects.filter(item="tape-paper").count() == 2


def test_item_shows_its_own_movements_alone(client, house):
    page = client.get(url(house, "item")).content.decode()
    assert "+250 ft" in page
    assert "8 ft" not in page


def test_long_ledger_comes_in_pages(client, house):
    for _ in range(30):
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


def test_row_says_who_gets_what_is_here_and_what_is_free(client, ordered):
    sheet = sheet_line(ordered)
    receive(ordered, sheet, sheet.packs)
    move(by=By(ada()), house=ordered.house, item=sheet.item, kind="found", amount=amount(7, "each"))
    row = row_of(client, ordered.house, sheet.item)
    kitchen = int(need_of(ordered.house, sheet.item, "Kitchen"))
    assert (
        f"{sheet.packs + 7} here: {kitchen} for Kitchen, {sheet.packs + 7 - kitchen} free." in row
    )
    assert "short" not in row
    assert "on its way" not in row


def test_row_says_what_is_on_its_way_and_for_whom(client, ordered):
    sheet = sheet_line(ordered)
    row = row_of(client, ordered.house, sheet.item)
    assert "None here." in row
    assert f"{sheet.packs} on its way: {sheet.packs} for Kitchen." in row


def test_row_names_who_is_short_and_asks_the_next_order_for_the_room_once(client, ordered):
    sheet, screws = sheet_line(ordered), screw_line(ordered)
    for line in (sheet, screws):
        receive(ordered, line, line.packs)
    for item, value in ((sheet.item, 2), (screws.item, screws.packs * screws.pack_amount.value)):
        move(
            by=By(ada()),
            house=ordered.house,
            item=item,
            kind="spoiled",
            amount=amount(value, "each"),
        )
    row = row_of(client, ordered.house, sheet.item)
    assert "Kitchen will be 2 short. Add to the next order" in row
    room = ordered.rooms.get()
    page = client.get(reverse("stock-list", args=[ordered.house.pk])).content.decode()
    asked = f"{reverse('order-new', args=[ordered.house.pk])}?room={room.pk}&amp;phase=hanging"
    assert f'href="{asked}"' in page
    form = client.get(asked.replace("&amp;", "&")).content.decode()
    assert re.search(rf'value="{room.pk}"[^>]*checked', form)
    assert re.search(r'value="hanging"[^>]*checked', form)


def test_many_rooms_on_the_list_are_added_up_and_all_named_on_the_item(client):
    house = small_house(ada(), *(f"Room {number}" for number in range(1, 7)))
    order = placed(house)
    sheet = sheet_line(order)
    receive(order, sheet, sheet.packs)
    row = row_of(client, house, sheet.item)
    assert re.search(r"for Room 1, \d+ for Room 2, \d+ for Room 3, \d+ for 3 more", row)
    page = words(client.get(url(house, "item", sheet.item)).content.decode())
    assert all(f"Room {number}, hanging" in page for number in range(1, 7))


def test_what_ticks_used_by_estimate_is_said_as_about(client, ordered):
    screws = screw_line(ordered)
    receive(ordered, screws, screws.packs)
    Estimate.objects.create(
        house=ordered.house,
        job=ordered.rooms.get().phases.get(key="hanging"),
        item=screws.item,
        amount=100_400,
        unit="each",
        mark=DoneMark.objects.create(
            house=ordered.house,
            room=ordered.rooms.get(),
            kind="hung",
            item="A.1",
            done=True,
            at=timezone.now(),
        ),
        at=timezone.now(),
    )
    left = round(screws.packs * screws.pack_amount.value - Fraction(1004, 10))
    assert f"About {left} here" in row_of(client, ordered.house, screws.item)


def test_parts_of_what_is_counted_add_up_to_the_whole(client, ordered):
    screws = screw_line(ordered)
    receive(ordered, screws, screws.packs)
    row = row_of(client, ordered.house, screws.item)
    here, kitchen, free = (
        int(re.search(pattern, row)[1])
        for pattern in (r"(\d+) here", r"(\d+) for K", r"(\d+) free")
    )
    assert here == screws.packs * screws.pack_amount.value == kitchen + free


def test_stock_under_zero_says_so_and_offers_the_order_and_what_was_here(client, ordered):
    sheet = sheet_line(ordered)
    move(by=By(ada()), house=ordered.house, item=sheet.item, kind="used", amount=amount(3, "each"))
    page = client.get(reverse("stock-list", args=[ordered.house.pk])).content.decode()
    assert "3 under zero: more was used than ever came in." in words(page)
    assert reverse("order-receive", args=[ordered.pk]) in page
    found = url(ordered.house, "found", sheet.item)
    form = next(form for form in forms_of(page, "/") if form.action == found)
    for _ in range(2):
        client.post(found, form.data())
    assert on_hand(ordered.house, sheet.item, "each").value == 0
    assert Movement.objects.get(kind="found").amount.value == 3
    assert "under zero" not in row_of(client, ordered.house, sheet.item)


def test_what_was_here_is_filled_in_with_what_is_missing(client, house):
    move(by=By(ada()), house=house, item="tape-paper", kind="used", amount=amount("1001/4", "ft"))
    page = client.get(url(house, "found")).content.decode()
    assert 'value="1/4"' in page
    answer = client.post(url(house, "found"), {"number": "-3", "of": "1 ft", "note": "Kept note"})
    assert answer.status_code == 422
    assert 'value="Kept note"' in answer.content.decode()
    client.post(url(house, "found", "2x4"), {"number": "2", "of": "8 ft"})
    assert sticks(house) == {amount(8, "ft"): 7}


def test_it_ran_out_is_a_count_of_zero(client, house):
    out = url(house, "out")
    assert "nothing is left" in client.post(out, follow=True).content.decode()
    assert on_hand(house, "tape-paper", "ft").value == 0
    assert Movement.objects.get(kind="used").count
    assert "noted already" in client.post(out, follow=True).content.decode()
    assert Movement.objects.filter(item="tape-paper").count() == 2
    assert "length by length" in client.post(url(house, "out", "2x4"), follow=True).content.decode()
    page = words(client.get(reverse("stock-list", args=[house.pk])).content.decode())
    assert "Nothing is here any more of Paper joint tape" in page


def test_free_stock_is_kept_for_a_job_served_first_and_set_free(client, ordered):
    by = By(ada())
    dining = room_add(by=by, house=ordered.house, name="Dining", length=12 * FOOT, width=10 * FOOT)
    sheet = sheet_line(ordered)
    receive(ordered, sheet, sheet.packs)
    item, house = sheet.item, ordered.house
    kitchen_job = ordered.rooms.get().phases.get(key="hanging")
    job = dining.phases.get(key="hanging")
    page = client.get(url(house, "item", item)).content.decode()
    assert "Keep this for Dining, hanging" in page
    keep = reverse("stock-keep", args=[job.pk, item])
    assert "Kept for Dining, hanging" in client.post(keep, follow=True).content.decode()
    assert "kept for it already" in client.post(keep, follow=True).content.decode()
    assert served(house, item) == ["Kitchen", "Dining"]
    row = row_of(client, house, item)
    assert re.search(r"Dining will be \d+ short", row)
    first = reverse("stock-first", args=[job.pk, item])
    assert "Dining, hanging is served first" in client.post(first, follow=True).content.decode()
    assert served(house, item) == ["Dining", "Kitchen"]
    assert re.search(r"Kitchen will be \d+ short", row_of(client, house, item))
    client.post(reverse("stock-free", args=[kitchen_job.pk, item]))
    assert served(house, item) == ["Dining"]
    page = client.get(url(house, "item", item)).content.decode()
    assert "Keep this for Kitchen, hanging" in page
    again = client.post(reverse("stock-free", args=[kitchen_job.pk, item]), follow=True)
    assert "Nothing of this is kept for it" in again.content.decode()
    assert kitchen_job.claims.filter(item=item).count() == 1
    assert served(house, item) == ["Dining"]


def test_phase_of_ones_own_takes_nothing_from_the_stock(client, house):
    room = small_house(ada(), "Kitchen").rooms.get()
    trim = phase_add(by=By(ada()), room=room, name="Trim")
    answer = client.post(reverse("stock-keep", args=[trim.pk, "tape-paper"]), follow=True)
    assert "Trim takes nothing" in answer.content.decode()
    assert not trim.claims.exists()


def test_size_that_is_sold_no_more_keeps_its_words(client, ordered):
    sheet = sheet_line(ordered)
    receive(ordered, sheet, 1)
    name = names_of(ordered.house)[sheet.item]
    SheetOnSale.objects.filter(house=ordered.house).delete()
    page = words(client.get(reverse("stock-list", args=[ordered.house.pk])).content.decode())
    assert name in page
    assert sheet.item not in page
    assert names_of(ordered.house)[sheet.item] == name
    item = client.get(url(ordered.house, "item", sheet.item)).content.decode()
    assert f"<h1>{name}</h1>" in words(item, tags=True)


def test_what_came_with_an_order_is_undone_there(client, ordered):
    sheet = sheet_line(ordered)
    receive(ordered, sheet, 1)
    page = client.get(url(ordered.house, "item", sheet.item)).content.decode()
    assert "Undo this entry" not in page


def test_list_asks_the_database_no_more_for_more_rooms_and_items(client):
    one, many = small_house(ada(), "Kitchen"), small_house(ada(), "Kitchen", "Dining", "Bath")
    for house, phases in ((one, ["hanging"]), (many, ["hanging", "taping", "finishing"])):
        order = placed(house, phases)
        for line in order.lines.exclude(pack=""):
            receive(order, line, line.packs)
    counts = []
    for house in (one, many):
        page = reverse("stock-list", args=[house.pk])
        client.get(page)
        with CaptureQueriesContext(connection) as asked:
            client.get(page)
        counts.append(len(asked))
    assert counts[0] == counts[1]
    assert counts[1] <= 27


def test_table_of_what_is_here_has_exact_amounts(client, ordered):
    sheet = sheet_line(ordered)
    receive(ordered, sheet, sheet.packs)
    answer = client.get(reverse("stock-table", args=[ordered.house.pk]))
    rows = list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))
    row = next(row for row in rows if row["Key"] == sheet.item)
    assert (row["Here"], row["For whom"]) == (str(sheet.packs), "Kitchen, hanging")
    assert int(row["Free here"]) == sheet.packs - need_of(ordered.house, sheet.item, "Kitchen")


def test_a_stranger_a_missing_house_and_a_missing_item_all_get_404(client, house):
    stranger, movement = browser(cy()), Movement.objects.first()
    for name in ("item", "count", "spoil", "move", "found"):
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
