"""Orders from draft to store, as pages."""

import csv
import io
from fractions import Fraction

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from remodel.board.services import recompute
from remodel.bridge.lengths import FOOT
from remodel.history.seen import Seen
from remodel.history.services import By
from remodel.house.services import room_change
from remodel.logbook import stuff_of
from remodel.people.models import Role
from remodel.supply import orders
from remodel.supply.ledger import on_hand
from remodel.supply.models import (
    Material,
    Movement,
    Order,
    OrderLine,
    Pack,
    Receipt,
    Returned,
    SheetOnSale,
)
from remodel.supply.queries import needs_of
from remodel.supply.services import prices_confirm, store_add
from tests.remodel.factories import ada, ben, cy
from tests.remodel.site import HTMX, browser, share, small_house

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]
MISSING = "00000000-0000-4000-8000-000000000000"
KEY = "7c0e4f6e-57a5-4a5b-9b0f-0d2f5cdd0a0"


@pytest.fixture
def order(house):
    return orders.order_make(
        by=By(ada()), house=house, phases=["hanging", "taping"], rooms=list(house.rooms.all())
    )


@pytest.fixture
def placed(order):
    return orders.order_place(by=By(ada()), order=order, without_prices=True)


def tape(order):
    return order.lines.filter(item="tape-paper").first()


def page_of(client, name, *args):
    answer = client.get(reverse(name, args=args))
    assert answer.status_code == 200
    return answer.content.decode()


def test_empty_list_says_what_belongs_there(client, house):
    page = page_of(client, "order-list", house.pk)
    assert "No orders yet" in page
    assert "Make the first order" in page


def test_list_asks_the_database_no_more_for_more_orders(client, house, order):
    url = reverse("order-list", args=[house.pk])
    client.get(url)
    with CaptureQueriesContext(connection) as before:
        client.get(url)
    for _ in range(3):
        orders.order_make(
            by=By(ada()), house=house, phases=["taping"], rooms=list(house.rooms.all())
        )
    with CaptureQueriesContext(connection) as after:
        client.get(url)
    assert len(after) == len(before)


def test_new_order_is_worked_out_once_for_two_presses(client, house):
    url = reverse("order-new", args=[house.pk])
    assert client.get(url).status_code == 200
    data = {"phases": ["taping"], "rooms": [str(house.rooms.get().pk)], "key": KEY + "1"}
    first = client.post(url, data)
    second = client.post(url, data)
    made = Order.objects.get(house=house)
    assert first.url == second.url == reverse("order-detail", args=[made.pk])
    assert made.lines.filter(item="tape-paper").exists()


def test_new_order_without_phase_or_room_keeps_the_name_typed(client, house):
    answer = client.post(reverse("order-new", args=[house.pk]), {"name": "For the attic"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "<title>Error: " in page
    assert "Phases: tick at least one" in page
    assert "Rooms: tick at least one" in page
    assert 'value="For the attic"' in page


def test_a_room_of_another_house_cannot_be_ordered_for(client, house):
    foreign = small_house(cy()).rooms.get()
    answer = client.post(
        reverse("order-new", args=[house.pk]), {"phases": ["taping"], "rooms": [str(foreign.pk)]}
    )
    assert answer.status_code == 422


def test_draft_lists_by_store_with_need_packs_price_and_weight(client, house, order):
    store = store_add(by=By(ada()), house=house, name="Mill Street Lumber")
    prices_confirm(
        by=By(ada()), house=house, priced=SheetOnSale.objects.filter(house=house), store=store
    )
    client.post(reverse("order-refresh", args=[order.pk]))
    page = page_of(client, "order-detail", order.pk)
    assert page.index("Mill Street Lumber") < page.index("No store named")
    assert "sheets" in page
    assert "with sample prices" in page
    line = tape(order)
    assert f"{line.packs} × {line.pack}" in page
    assert " lb" in page


def test_placing_with_sample_prices_is_refused_until_the_person_says_without(client, order):
    url = reverse("order-place", args=[order.pk])
    refused = client.post(url, {"seen": str(Seen.of(order))})
    assert refused.status_code == 422
    assert "are samples" in refused.content.decode()
    assert (
        client.post(url, {"seen": str(Seen.of(order)), "without_prices": "on"}).status_code == 302
    )
    order.refresh_from_db()
    assert (order.state, order.without_prices) == ("placed", True)
    page = page_of(client, "order-detail", order.pk)
    assert "have no price" in page
    assert "with sample prices" not in page.split("</dl>")[0]


def test_placing_with_the_stores_own_prices_needs_no_tick(client, house, order):
    everything = [
        *SheetOnSale.objects.filter(house=house),
        *Pack.objects.filter(material__house=house),
    ]
    prices_confirm(by=By(ada()), house=house, priced=everything)
    client.post(reverse("order-refresh", args=[order.pk]))
    page = page_of(client, "order-detail", order.pk)
    assert "without the prices" not in page
    order.refresh_from_db()
    client.post(reverse("order-place", args=[order.pk]), {"seen": str(Seen.of(order))})
    order.refresh_from_db()
    assert (order.state, order.without_prices) == ("placed", False)


def test_placing_a_stale_draft_is_told(client, order):
    seen = str(Seen.of(order, *order.lines.all(), OrderLine))
    Order.objects.filter(pk=order.pk).update(version=order.version + 1)
    answer = client.post(
        reverse("order-place", args=[order.pk]), {"seen": seen, "without_prices": "on"}
    )
    assert answer.status_code == 409
    assert Order.objects.get(pk=order.pk).state == "draft"


def test_line_says_why_room_by_room(client, order):
    page = page_of(client, "order-line", tape(order).pk)
    assert "Kitchen" in page
    assert "Wall A" in page or "Ceiling" in page


def test_another_number_needs_a_reason_and_keeps_it(client, order):
    line = tape(order)
    url = reverse("order-line", args=[line.pk])
    more = str(line.packs + 2)
    refused = client.post(url, {"packs": more, "seen": str(Seen.of(line))})
    page = refused.content.decode()
    assert refused.status_code == 422
    assert f'value="{more}"' in page
    assert "Say why the number differs" in page
    assert (
        client.post(
            url, {"packs": more, "reason": "Two spare", "seen": str(Seen.of(line))}
        ).status_code
        == 302
    )
    assert "Two spare" in page_of(client, "order-detail", order.pk)
    client.post(reverse("order-refresh", args=[order.pk]))
    kept = tape(order)
    assert (kept.packs, kept.reason) == (int(more), "Two spare")


@pytest.mark.parametrize("packs", ["-1", "2.5", "many", "", "1000000"])
def test_a_number_that_cannot_be_is_refused(client, order, packs):
    answer = client.post(
        reverse("order-line", args=[tape(order).pk]), {"packs": packs, "reason": "x"}
    )
    assert answer.status_code == 422
    assert "like 6" in answer.content.decode()


def test_two_people_at_one_number_lose_nothing(client, order):
    line = tape(order)
    url = reverse("order-line", args=[line.pk])
    seen = str(Seen.of(line))
    orders.order_line_set(by=By(ben()), line=line, packs=9, reason="Ben's reason")
    answer = client.post(url, {"packs": "5", "reason": "Ada's reason", "seen": seen})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "Ben&#x27;s reason" in page
    assert "Ada&#x27;s reason" in page
    line.refresh_from_db()
    assert line.packs == 9
    assert (
        client.post(url, {"packs": "5", "reason": "Ada", "seen": str(Seen.of(line))}).status_code
        == 302
    )


def test_something_is_added_by_hand_with_its_reason(client, house, order):
    pack = Pack.objects.filter(material__house=house, material__key="primer").first()
    url = reverse("order-add", args=[order.pk])
    assert client.get(url).status_code == 200
    data = {"pack": str(pack.pk), "packs": "2", "reason": "For the garage", "key": KEY + "2"}
    client.post(url, data)
    client.post(url, data)
    assert order.lines.get(item="primer").packs == 2
    assert client.post(url, {"pack": str(pack.pk), "packs": "2"}).status_code == 422


def test_removed_draft_can_come_back_and_a_placed_order_stays(client, order):
    answer = client.post(reverse("order-remove", args=[order.pk]), follow=True)
    assert "Undo" in answer.content.decode()
    assert not Order.objects.filter(pk=order.pk).exists()
    undo = answer.content.decode().split('class="undo"')[1].split('action="')[1].split('"')[0]
    client.post(undo)
    back = orders.order_place(
        by=By(ada()), order=Order.objects.get(pk=order.pk), without_prices=True
    )
    stays = client.post(reverse("order-remove", args=[back.pk]), follow=True)
    assert "A placed order stays" in stays.content.decode()
    assert Order.objects.filter(pk=back.pk).exists()


def test_a_placed_order_of_the_same_rooms_is_pointed_out(client, house, placed):
    again = orders.order_make(
        by=By(ada()), house=house, phases=["taping"], rooms=list(house.rooms.all())
    )
    assert "Some of it is on its way" in page_of(client, "order-detail", again.pk)


def test_order_that_all_came_is_not_pointed_out(client, house, placed):
    for line in placed.lines.filter(packs__gte=1):
        orders.order_receive(by=By(ada()), line=line, packs=line.packs, paid=0)
    again = orders.order_make(
        by=By(ada()), house=house, phases=["taping"], rooms=list(house.rooms.all())
    )
    assert "Some of it is on its way" not in page_of(client, "order-detail", again.pk)


def test_lines_show_what_is_on_its_way_and_of_which_order(client, house, placed):
    room = house.rooms.get()
    again = orders.order_make(by=By(ada()), house=house, phases=["taping"], rooms=[room])
    line = again.lines.filter(item="tape-paper").first()
    page = page_of(client, "order-line", line.pk)
    assert "On its way" in page
    assert f'of <a href="{reverse("order-detail", args=[placed.pk])}">{placed.name}</a>' in page


def test_table_for_a_spreadsheet_has_what_is_on_its_way(client, house, placed):
    again = orders.order_make(
        by=By(ada()), house=house, phases=["taping"], rooms=list(house.rooms.all())
    )
    text = client.get(reverse("order-csv", args=[again.pk])).content.decode("utf-8-sig")
    rows = [row for row in csv.DictReader(io.StringIO(text)) if row["Key"] == "tape-paper"]
    assert float(rows[0]["On its way"]) > 0


def test_closing_can_be_taken_back(client, placed):
    answer = client.post(reverse("order-close", args=[placed.pk]), follow=True).content.decode()
    client.post(answer.split('class="undo"')[1].split('action="')[1].split('"')[0])
    placed.refresh_from_db()
    assert placed.state == "placed"


def test_a_placed_line_no_longer_changes(client, placed):
    line = tape(placed)
    answer = client.post(reverse("order-line", args=[line.pk]), {"packs": "9", "reason": "x"})
    assert answer.status_code == 422
    line.refresh_from_db()
    assert line.packs != 9


def test_order_says_what_more_to_buy_when_a_room_grows(client, house, placed):
    room_change(by=By(ada()), room=house.rooms.get(), ceiling_height=10 * FOOT)
    recompute(house)
    page = page_of(client, "order-detail", placed.pk)
    assert "The rooms changed since" in page
    assert "Buy more" in page


def test_part_receipts_fill_the_stock_and_leave_the_rest_open(client, house, placed):
    line = tape(placed)
    many = placed.lines.filter(packs__gt=1).first()
    url = reverse("order-receive", args=[placed.pk])
    assert client.get(url).status_code == 200
    data = {
        f"came-{many.pk}": "1",
        f"paid-{many.pk}": "12.50",
        "note": "First load",
        "key": KEY + "3",
    }
    client.post(url, data)
    client.post(url, data)
    receipt = Receipt.objects.get()
    assert (receipt.line, receipt.packs, receipt.paid, receipt.note) == (
        many,
        1,
        1250,
        "First load",
    )
    assert on_hand(house, many.item, many.holds_unit).value == Fraction(many.holds)
    assert f"{many.packs - 1} to come" in page_of(client, "order-receive", placed.pk)
    assert "Part received" in page_of(client, "order-detail", placed.pk)
    assert line.receipts.count() == 0


def test_receipt_without_its_price_is_refused_and_keeps_what_was_typed(client, placed):
    line = tape(placed)
    answer = client.post(
        reverse("order-receive", args=[placed.pk]),
        {f"came-{line.pk}": "1", f"paid-{line.pk}": "", "note": "Noon"},
    )
    page = answer.content.decode()
    assert answer.status_code == 422
    assert f"Paid for Paper joint tape, {line.pack}, is missing" in page
    assert 'value="Noon"' in page
    assert not Receipt.objects.exists()


def test_new_order_of_a_house_without_rooms_leads_to_adding_one(client, house):
    house.rooms.all().update(finished=True)
    page = page_of(client, "order-new", house.pk)
    assert f'<a class="button" href="{reverse("room-add", args=[house.pk])}">Add a room</a>' in page


def test_return_names_what_came(client, placed):
    line = next(line for line in placed.lines.all() if line.pack == "sheet")
    orders.order_receive(by=By(ada()), line=line, packs=2, paid=500)
    assert "2 sheets came and were not returned" in page_of(client, "order-return", line.pk)


def test_receipt_of_nothing_is_refused(client, placed):
    answer = client.post(reverse("order-receive", args=[placed.pk]), {"note": "Noon"})
    assert answer.status_code == 422
    assert "Nothing came yet" in answer.content.decode()


def test_a_draft_receives_nothing(client, order):
    assert "Place the order first" in page_of(client, "order-receive", order.pk)
    line = tape(order)
    answer = client.post(
        reverse("order-receive", args=[order.pk]), {f"came-{line.pk}": "1", f"paid-{line.pk}": "1"}
    )
    assert answer.status_code == 422
    assert not Receipt.objects.exists()


def test_wrong_receipt_is_taken_back_by_another(client, house, placed):
    line = tape(placed)
    orders.order_receive(by=By(ada()), line=line, packs=1, paid=500)
    receipt = Receipt.objects.get()
    url = reverse("receipt-take-back", args=[receipt.pk])
    assert "Took back the receipt" in client.post(url, follow=True).content.decode()
    assert "already taken back" in client.post(url, follow=True).content.decode()
    assert Receipt.objects.count() == 2
    assert on_hand(house, "tape-paper", "ft").value == 0


def test_packs_go_back_for_money_but_no_more_than_came(client, placed):
    line = tape(placed)
    orders.order_receive(by=By(ada()), line=line, packs=2, paid=500)
    url = reverse("order-return", args=[line.pk])
    assert "2 × " in page_of(client, "order-return", line.pk)
    refused = client.post(url, {"packs": "3", "refund": "1"})
    assert refused.status_code == 422
    assert "must be 1 to 2" in refused.content.decode()
    data = {"packs": "1", "refund": "2.50", "key": KEY + "4"}
    client.post(url, data)
    client.post(url, data)
    assert (Returned.objects.get().packs, Returned.objects.get().refund) == (1, 250)
    assert "$2.50 came back" in page_of(client, "order-detail", placed.pk)


def test_closing_says_nothing_more_is_to_come(client, placed):
    client.post(reverse("order-close", args=[placed.pk]))
    placed.refresh_from_db()
    assert placed.state == "closed"
    assert "Nothing more is to come" not in page_of(client, "order-detail", placed.pk)


def test_ticks_are_kept_and_the_last_one_counts(client, placed):
    line = tape(placed)
    url = reverse("order-line-tick", args=[line.pk])
    part = client.post(url, {"ticked": "yes"}, **HTMX).content.decode()
    assert "checked" in part
    assert "1 of " in part
    assert 'hx-swap-oob="true"' in part
    client.post(url, {"ticked": "yes"})
    line.refresh_from_db()
    assert line.ticked
    assert client.post(url, {}).url == reverse("order-store", args=[placed.pk])
    line.refresh_from_db()
    assert not line.ticked
    assert "0 of " in page_of(client, "order-store", placed.pk)


def test_without_script_each_tick_has_a_button_of_its_own(client, placed):
    page = page_of(client, "order-store", placed.pk)
    rows = page.count('class="tick-line"')
    assert rows == placed.lines.filter(packs__gt=0).count()
    assert page.count('<noscript><button type="submit"') == rows


def test_table_has_every_line_exactly_and_starts_no_formula(client, house, order):
    store = store_add(by=By(ada()), house=house, name='=HYPERLINK("x")')
    prices_confirm(
        by=By(ada()), house=house, priced=Pack.objects.filter(material__house=house), store=store
    )
    orders.order_refresh(by=By(ada()), order=order)
    answer = client.get(reverse("order-csv", args=[order.pk]))
    assert answer["Content-Type"].startswith("text/csv")
    assert "attachment" in answer["Content-Disposition"]
    rows = list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert len(rows) == order.lines.count()
    written = next(row for row in rows if row["Key"] == "tape-paper")
    line = tape(order)
    assert float(written["Need"]) == pytest.approx(float(Fraction(line.need)), abs=1e-6)
    assert written["To buy"] == str(line.packs)
    assert written["Price each"] == f"{line.price / 100:.2f}".rstrip("0").rstrip(".")
    assert written["Store"] == '\'=HYPERLINK("x")'


def _pages(order):
    line = order.lines.first()
    orders.order_receive(by=By(ada()), line=line, packs=1, paid=1)
    receipt = Receipt.objects.get()
    house = order.house
    both = {
        "order-new": house.pk,
        "order-line": line.pk,
        "order-add": order.pk,
        "order-receive": order.pk,
        "order-return": line.pk,
    }
    read = {
        "order-list": house.pk,
        "order-detail": order.pk,
        "order-store": order.pk,
        "order-csv": order.pk,
        "order-print": order.pk,
    }
    write = {
        "order-place": order.pk,
        "order-refresh": order.pk,
        "order-remove": order.pk,
        "order-close": order.pk,
        "order-line-tick": line.pk,
        "receipt-take-back": receipt.pk,
    }
    return both, read, write


def test_a_stranger_and_a_missing_id_both_get_404(client, placed):
    both, read, write = _pages(placed)
    stranger = browser(cy())
    for name, key in [*both.items(), *read.items()]:
        assert stranger.get(reverse(name, args=[key])).status_code == 404, name
        assert client.get(reverse(name, args=[MISSING])).status_code == 404, name
    for name, key in [*both.items(), *write.items()]:
        assert stranger.post(reverse(name, args=[key]), {}).status_code == 404, name
        assert client.post(reverse(name, args=[MISSING]), {}).status_code == 404, name
    placed.refresh_from_db()
    assert placed.state == "placed"


def test_who_may_look_only_changes_nothing(placed):
    both, read, write = _pages(placed)
    share(placed.house, ben(), Role.VIEWER)
    viewer = browser(ben())
    for name in ("order-list", "order-detail", "order-store"):
        assert viewer.get(reverse(name, args=[read[name]])).status_code == 200, name
    before = Movement.objects.count()
    for name, key in [*both.items(), *write.items()]:
        assert viewer.post(reverse(name, args=[key]), {"ticked": "yes"}).status_code == 404, name
    assert Movement.objects.count() == before


def test_wrong_verbs_are_refused(client, placed):
    both, read, write = _pages(placed)
    for name, key in read.items():
        assert client.post(reverse(name, args=[key])).status_code == 405, name
    for name, key in write.items():
        assert client.get(reverse(name, args=[key])).status_code == 405, name
    for name, key in both.items():
        assert client.delete(reverse(name, args=[key])).status_code == 405, name


def test_house_made_before_a_material_shows_it_by_name(client, house):
    Material.objects.filter(house=house, key="tape-paper").delete()
    recompute(house.pk)
    order = orders.order_make(
        by=By(ada()), house=house, phases=["taping"], rooms=list(house.rooms.all())
    )
    unmet = page_of(client, "order-detail", order.pk).partition("Nothing on sale meets these")[2]
    assert "<strong>Paper joint tape</strong> (Taping" in unmet
    assert "Paper joint tape" in page_of(client, "stock-item", house.pk, "tape-paper")
    needs = needs_of(house, phases=["taping"], rooms=[house.rooms.get().key])
    assert "Paper joint tape" in {line.name for line in needs}
    assert "Paper joint tape" in {
        stuff.name for stuff in stuff_of(house.rooms.get().phases.get(key="taping"))
    }


def test_names_with_markup_are_shown_as_text(client, house):
    material = Material.objects.get(house=house, key="tape-paper")
    Material.objects.filter(pk=material.pk).update(name='<script>alert(1)</script>"')
    order = orders.order_make(
        by=By(ada()),
        house=house,
        phases=["taping"],
        rooms=list(house.rooms.all()),
        name="<b>Attic</b>",
    )
    for name in ("order-detail", "order-store"):
        page = page_of(client, name, order.pk)
        assert "<script>alert(1)" not in page
        assert "<b>Attic" not in page
        assert "&lt;script&gt;alert(1)" in page
