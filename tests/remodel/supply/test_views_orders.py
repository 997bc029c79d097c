"""Orders from draft to store, as pages."""

import csv
import html
import io
from fractions import Fraction

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from remodel.board.services import recompute
from remodel.bridge.lengths import FOOT, convert
from remodel.history.seen import Seen
from remodel.history.services import By
from remodel.house.services import room_add, room_change
from remodel.logbook import stuff_of
from remodel.pages.supply.listing import bought, difference_words
from remodel.people.models import Role
from remodel.supply import orders
from remodel.supply.comparing import compare_order
from remodel.supply.ledger import move, on_hand
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
from remodel.supply.standing import standing_of
from remodel.work.services import phase_set_state
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
    return place(order)


def place(order):
    return orders.order_place(by=By(ada()), order=order, without_prices=True, unseen_framing=True)


def receive(order, *items):
    """All of an order came, or all of some items of it."""
    for line in order.lines.filter(packs__gt=0):
        if not items or line.item in items:
            orders.order_receive(by=By(ada()), line=line, packs=line.packs)


def draft_of(house, *phases, rooms=None):
    rooms = list(house.rooms.all()) if rooms is None else rooms
    return orders.order_make(by=By(ada()), house=house, phases=phases, rooms=rooms)


def job(room, phase):
    return room.phases.get(key=phase)


def text_of(answer):
    return " ".join(html.unescape(answer.content.decode()).split())


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
    assert "&quot;Phases&quot; is empty. Tick at least one" in page
    assert "&quot;Rooms&quot; is empty. Tick at least one" in page
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
    data = {"seen": str(Seen.of(order)), "unseen_framing": "on"}
    refused = client.post(url, data)
    assert refused.status_code == 422
    assert "are samples" in refused.content.decode()
    assert client.post(url, data | {"without_prices": "on"}).status_code == 302
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
    client.post(
        reverse("order-place", args=[order.pk]),
        {"seen": str(Seen.of(order)), "unseen_framing": "on"},
    )
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
    assert "for example 6" in answer.content.decode()


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
    back = place(Order.objects.get(pk=order.pk))
    stays = client.post(reverse("order-remove", args=[back.pk]), follow=True)
    assert "A placed order stays" in stays.content.decode()
    assert Order.objects.filter(pk=back.pk).exists()


def test_second_order_of_the_same_rooms_has_nothing_to_buy_and_keeps_it(client, house, placed):
    again = draft_of(house, "taping")
    page = text_of(client.get(reverse("order-detail", args=[again.pk])))
    assert "Nothing to buy for Kitchen" in page
    assert "from what is on its way" in page
    assert "Keep this for Kitchen" in page
    assert "Place the order" not in page
    url = reverse("order-place", args=[again.pk])
    done = text_of(client.post(url, {"seen": str(Seen.of(again))}, follow=True))
    assert "Nothing has to be bought. What is here or on its way is kept for Kitchen." in done
    assert "Kept, nothing to buy" in done
    again.refresh_from_db()
    assert again.state == "closed"


def test_lines_show_what_is_met_from_here_and_from_what_is_on_its_way(client, house, placed):
    paper = tape(placed)
    orders.order_receive(by=By(ada()), line=paper, packs=paper.packs)
    again = draft_of(house, "taping")
    line = next(line for line in again.lines.all() if line.item == "tape-paper")
    page = text_of(client.get(reverse("order-line", args=[line.pk])))
    assert "<dt>Met from here</dt> <dd>nothing</dd>" not in page
    assert "<dt>Met from what is on its way</dt> <dd>nothing</dd>" in page


def test_table_for_a_spreadsheet_has_what_is_met_from_what_is_on_its_way(client, house, placed):
    again = draft_of(house, "taping")
    text = client.get(reverse("order-csv", args=[again.pk])).content.decode("utf-8-sig")
    rows = [row for row in csv.DictReader(io.StringIO(text)) if row["Key"] == "tape-paper"]
    assert float(rows[0]["From what is on its way"]) > 0
    assert (rows[0]["For"], rows[0]["To buy"]) == ("This order", "0")


@pytest.fixture
def bath(house):
    return room_add(by=By(ada()), house=house, name="Bath", length=9 * FOOT, width=8 * FOOT)


@pytest.fixture
def spoiled(house, placed, bath):
    """The kitchen's board came, and two sheets of it got wet; then the bath is ordered for."""
    receive(placed)
    line = next(line for line in placed.lines.all() if line.pack == "sheet" and line.packs > 2)
    move(
        by=By(ada()),
        house=house,
        item=line.item,
        kind=Movement.Kind.SPOILED,
        amount=line.pack_amount,
        pieces=2,
    )
    return draft_of(house, "hanging", rooms=[bath])


def test_what_an_earlier_room_lacks_stands_in_a_section_of_its_own(client, spoiled):
    page = text_of(client.get(reverse("order-detail", args=[spoiled.pk])))
    own, _, earlier = page.partition("For rooms ordered before")
    assert "Kitchen, hanging is 2 short" in earlier
    assert "Leave it out" in earlier
    assert "Kitchen, hanging is 2 short" not in own


def test_what_an_earlier_room_lacks_is_left_out_and_taken_in_again(client, spoiled):
    line = spoiled.lines.get(for_earlier=True)
    url = reverse("order-line-skip", args=[line.pk])
    for _ in range(2):  # the same press sent again
        page = text_of(client.post(url, {"skipped": "yes"}, follow=True))
    line.refresh_from_db()
    assert (line.skipped, line.packs) == (True, 0)
    assert "Left " in page
    assert "Kitchen, hanging is 2 short" in page
    assert "Take it in" in page
    assert "2 short" not in text_of(client.get(reverse("order-store", args=[spoiled.pk])))
    text = client.get(reverse("order-csv", args=[spoiled.pk])).content.decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    left_out = [row for row in rows if row["For"] == "Rooms ordered before, left out"]
    assert [row["To buy"] for row in left_out] == ["0"]
    client.post(url, {})
    line.refresh_from_db()
    assert (line.skipped, line.packs) == (False, 2)


def test_only_what_earlier_rooms_lack_can_be_left_out(client, spoiled):
    line = spoiled.lines.filter(for_earlier=False, packs__gt=0).first()
    url = reverse("order-line-skip", args=[line.pk])
    page = text_of(client.post(url, {"skipped": "yes"}, follow=True))
    assert "change the amount instead" in page
    line.refresh_from_db()
    assert line.packs


def test_store_list_says_for_whom_a_line_for_earlier_rooms_is(client, spoiled):
    assert "Kitchen, hanging is 2 short" in page_of(client, "order-store", spoiled.pk)


def test_old_draft_says_what_differs_and_is_brought_up_to_date_in_one_press(client, house, order):
    room_change(by=By(ada()), room=house.rooms.get(), ceiling_height=10 * FOOT)
    before = {line.item: line.packs for line in order.lines.all()}
    url = reverse("order-detail", args=[order.pk])
    page = text_of(client.get(url))
    assert "This draft is old" in page
    sheet = next(line for line in orders.line_differences(order) if line.pack == "sheet")
    assert f"{sheet.name}: {bought(sheet.before, 'sheet')}, now {sheet.after}" in page or (
        f"{sheet.name}: none, now" in page
    )
    assert page.count(reverse("order-refresh", args=[order.pk])) == 1
    done = text_of(client.post(reverse("order-refresh", args=[order.pk]), follow=True))
    assert "The draft is up to date" in done
    assert "This draft is old" not in done
    assert {line.item: line.packs for line in order.lines.all()} != before


def test_placing_says_what_it_changed_of_an_old_draft(client, house, order):
    room_change(by=By(ada()), room=house.rooms.get(), ceiling_height=10 * FOOT)
    differs = orders.line_differences(order)
    data = {"seen": str(Seen.of(order)), "without_prices": "on", "unseen_framing": "on"}
    page = text_of(client.post(reverse("order-place", args=[order.pk]), data, follow=True))
    packs = sum(order.lines.values_list("packs", flat=True))
    assert f"{packs} packs ordered" in page
    assert "Changed since the draft was made:" in page
    assert difference_words(differs[0]) in page


def test_amount_changed_by_hand_outlives_placing_an_old_draft(client, house, order):
    line = tape(order)
    orders.order_line_set(by=By(ada()), line=line, packs=line.packs + 3, reason="Three spare")
    room_change(by=By(ada()), room=house.rooms.get(), ceiling_height=10 * FOOT)
    data = {"without_prices": "on", "unseen_framing": "on"}
    client.post(reverse("order-place", args=[order.pk]), data)
    kept = tape(order)
    assert (kept.packs, kept.reason) == (line.packs, "Three spare")


def test_placing_asks_about_framing_nobody_looked_at_by_name(client, order):
    url = reverse("order-place", args=[order.pk])
    assert "nobody has looked at the framing of Kitchen" in page_of(
        client, "order-detail", order.pk
    )
    refused = client.post(url, {"seen": str(Seen.of(order)), "without_prices": "on"})
    assert refused.status_code == 422
    assert "Nobody has looked at the framing of Kitchen yet" in refused.content.decode()
    assert refused.context["form"].errors.keys() == {"unseen_framing"}
    order.refresh_from_db()
    assert order.state == "draft"


def test_boxes_stand_only_where_they_apply(client, house):
    everything = [
        *SheetOnSale.objects.filter(house=house),
        *Pack.objects.filter(material__house=house),
    ]
    prices_confirm(by=By(ada()), house=house, priced=everything)
    page = page_of(client, "order-detail", draft_of(house, "taping").pk)
    for box in ("without_prices", "without_unmet", "unseen_framing"):
        assert f'name="{box}"' not in page


def test_unmet_lines_come_first_and_are_asked_about(client, house):
    Material.objects.filter(house=house, key="tape-paper").delete()
    recompute(house.pk)
    order = draft_of(house, "taping")
    page = page_of(client, "order-detail", order.pk)
    assert page.index("Nothing on sale meets these") < page.index('id="store-1"')
    assert reverse("price-list", args=[house.pk]) in page
    url = reverse("order-place", args=[order.pk])
    refused = client.post(url, {"seen": str(Seen.of(order)), "without_prices": "on"})
    assert refused.status_code == 422
    assert refused.context["form"].errors.keys() == {"without_unmet"}
    data = {"seen": str(Seen.of(order)), "without_prices": "on", "without_unmet": "on"}
    assert client.post(url, data).status_code == 302


def test_new_order_says_where_the_phases_of_each_room_stand(client, house, placed, bath):
    phase_set_state(by=By(ada()), phase=job(bath, "hanging"), state="done")
    phase_set_state(by=By(ada()), phase=job(bath, "taping"), state="in progress")
    page = text_of(client.get(reverse("order-new", args=[house.pk])))
    kitchen, _, rest = page.partition("Kitchen<span")[2].partition("Bath<span")
    assert "Hanging ordered</span>" in kitchen
    assert "done</span>" in rest
    assert "in progress</span>" in rest


def test_rooms_that_are_done_or_ordered_are_not_ticked_beforehand(client, house, placed, bath):
    phase_set_state(by=By(ada()), phase=job(bath, "finishing"), state="done")

    def ticked(query):
        answer = client.get(reverse("order-new", args=[house.pk]) + query)
        return answer.context["form"]["rooms"].value()

    kitchen = house.rooms.get(name="Kitchen")
    assert ticked("?phase=hanging") == [str(bath.pk)]
    assert ticked("?phase=finishing") == [str(kitchen.pk)]
    assert ticked(f"?phase=hanging&room={kitchen.pk}") == [str(kitchen.pk)]


def test_order_of_what_is_done_alone_is_refused_with_a_sentence(client, house):
    room = house.rooms.get()
    phase_set_state(by=By(ada()), phase=job(room, "taping"), state="done")
    answer = client.post(
        reverse("order-new", args=[house.pk]), {"phases": ["taping"], "rooms": [str(room.pk)]}
    )
    assert answer.status_code == 422
    assert "All you chose is done or left out" in answer.content.decode()
    assert not Order.objects.filter(house=house).exists()


def test_order_of_which_nothing_came_is_taken_back(client, house, placed):
    page = text_of(client.get(reverse("order-detail", args=[placed.pk])))
    assert "Take the order back" in page
    assert "keeps nothing for Kitchen any more" in page
    url = reverse("order-take-back", args=[placed.pk])
    done = text_of(client.post(url, follow=True))
    assert "nothing of it is on its way" in done
    assert "Undone" in done
    for name in ("Take the order back", "Record a delivery", "Close: nothing more is coming"):
        assert name not in done
    assert "Undone" in page_of(client, "order-list", house.pk)
    assert client.post(url).status_code == 302  # the same press again
    assert draft_of(house, "taping").lines.filter(packs__gt=0).exists()


def test_order_of_which_something_came_is_not_taken_back(client, placed):
    receive(placed, "tape-paper")
    assert "Take the order back" not in page_of(client, "order-detail", placed.pk)
    url = reverse("order-take-back", args=[placed.pk])
    assert "Something of this order came" in text_of(client.post(url, follow=True))
    placed.refresh_from_db()
    assert placed.state == "placed"


def test_closing_says_what_leaves_the_count(client, placed):
    line = tape(placed)
    words = f"{bought(line.packs, line.pack)} of {line.name}"
    receive(placed, *placed.lines.exclude(item="tape-paper").values_list("item", flat=True))
    page = text_of(client.get(reverse("order-detail", args=[placed.pk])))
    assert f"No longer on its way then: {words}." in page
    done = text_of(client.post(reverse("order-close", args=[placed.pk]), follow=True))
    assert f"{words} no longer count" in done
    assert "Closed" in page_of(client, "order-list", placed.house_id)


def test_left_over_counts_free_whole_packs_that_are_here(client, house, placed):
    page = page_of(client, "order-detail", placed.pk)
    assert "Left over, could be returned" not in page  # nothing came yet
    receive(placed)
    sheets = next(line for line in placed.lines.all() if line.pack == "sheet" and line.packs > 1)
    page = page_of(client, "order-detail", placed.pk)
    spare = page.partition("Left over, could be returned")[2].partition("</section>")[0]
    assert reverse("order-return", args=[sheets.pk]) not in spare  # all of it is to be hung
    room_change(by=By(ada()), room=house.rooms.get(), ceiling_height=4 * FOOT)
    page = page_of(client, "order-detail", placed.pk)
    spare = page.partition("Left over, could be returned")[2].partition("</section>")[0]
    assert "sheet" in spare
    assert "/return" in spare


def test_pack_bought_on_two_lines_is_left_over_once(house, placed, bath):
    receive(placed)
    room_change(by=By(ada()), room=house.rooms.get(name="Kitchen"), finished=True)
    spare = compare_order(placed, standing_of(house))[1]
    by_item = {}
    for one in spare:
        by_item.setdefault(one.line.item, []).append(one)
    standing = standing_of(house)
    for item, ones in by_item.items():
        free = standing.dealt(item).free_here
        held = sum(
            convert(one.line.pack_amount, standing.units[item]).value * one.packs for one in ones
        )
        assert held <= free


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
    short = page.partition("Short now")[2].partition("</section>")[0]
    assert "Buy more" in short
    query = f"room={house.rooms.get().pk}&amp;phase=hanging&amp;phase=taping"
    assert f"{reverse('order-new', args=[house.pk])}?{query}" in short


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
    assert "Partly received" in page_of(client, "order-detail", placed.pk)
    assert line.receipts.count() == 0


def test_receipt_without_what_was_paid_is_booked_at_the_ordered_price(client, placed):
    line = next(line for line in placed.lines.all() if line.packs > 1)
    page = page_of(client, "order-receive", placed.pk)
    assert f"If empty: ${line.price / 100:.2f} each" in page
    assert f'value="{line.packs}"' in page  # what is to come is filled in
    client.post(
        reverse("order-receive", args=[placed.pk]),
        {f"came-{line.pk}": "2", f"paid-{line.pk}": "", "note": "Noon"},
    )
    assert [(one.packs, one.paid) for one in Receipt.objects.all()] == [(2, 2 * line.price)]


def test_more_than_ordered_is_refused_at_its_field_until_it_is_kept(client, placed):
    line = tape(placed)
    url = reverse("order-receive", args=[placed.pk])
    assert 'name="keep_more"' not in client.get(url).content.decode()
    data = {f"came-{line.pk}": str(line.packs + 1), f"paid-{line.pk}": "9"}
    refused = client.post(url, data)
    assert refused.status_code == 422
    assert refused.context["form"].errors.keys() == {f"came-{line.pk}"}
    assert f"Only {line.packs} of Paper joint tape" in refused.content.decode()
    assert 'name="keep_more"' in refused.content.decode()
    assert not Receipt.objects.exists()
    assert client.post(url, data | {"keep_more": "on"}).status_code == 302
    assert Receipt.objects.get().packs == line.packs + 1


def test_new_order_of_a_house_without_rooms_leads_to_adding_one(client, house):
    house.rooms.all().update(finished=True)
    page = page_of(client, "order-new", house.pk)
    assert f'<a class="button" href="{reverse("room-add", args=[house.pk])}">Add a room</a>' in page


def test_nothing_that_is_kept_for_a_room_can_go_back(client, placed):
    receive(placed)
    line = next(line for line in placed.lines.all() if line.pack == "sheet")
    page = text_of(client.get(reverse("order-return", args=[line.pk])))
    assert "None of these packages is here and free, so none can go back." in page
    assert "Save the return" not in page
    url = reverse("order-return", args=[line.pk])
    assert client.post(url, {"packs": "1", "refund": "1"}).status_code == 422


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
    assert "Undid the receipt" in client.post(url, follow=True).content.decode()
    assert "already undone" in client.post(url, follow=True).content.decode()
    assert Receipt.objects.count() == 2
    assert on_hand(house, "tape-paper", "ft").value == 0


def test_packs_go_back_for_money_but_no_more_than_are_free(client, order):
    line = tape(order)
    orders.order_line_set(by=By(ada()), line=line, packs=line.packs + 2, reason="Two spare")
    placed = place(order)
    receive(placed)
    line = tape(placed)
    url = reverse("order-return", args=[line.pk])
    assert "2 × " in page_of(client, "order-return", line.pk)
    refused = client.post(url, {"packs": "3", "refund": "1"})
    assert refused.status_code == 422
    assert "must be 1 to 2" in refused.content.decode()
    data = {"packs": "1", "refund": "2.50", "key": KEY + "4"}
    client.post(url, data)
    client.post(url, data)
    assert (Returned.objects.get().packs, Returned.objects.get().refund) == (1, 250)
    assert "$2.50 refunded" in page_of(client, "order-detail", placed.pk)


def test_closing_says_nothing_more_is_to_come(client, placed):
    client.post(reverse("order-close", args=[placed.pk]))
    placed.refresh_from_db()
    assert placed.state == "closed"
    assert "Close: nothing more is coming" not in page_of(client, "order-detail", placed.pk)


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
        "order-take-back": order.pk,
        "order-line-skip": line.pk,
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


@pytest.mark.parametrize("name", ["order-detail", "order-store", "order-receive"])
def test_heavy_load_says_so_where_it_is_bought_and_carried(client, placed, name):
    assert "This load is heavy" in page_of(client, name, placed.pk)


def test_light_load_says_nothing_of_its_weight(client, house):
    assert "This load is heavy" not in page_of(client, "order-detail", draft_of(house, "taping").pk)
