"""What is ordered and has not come yet is not bought again, and is once it is known not to come."""

from fractions import Fraction

import pytest
from remodel.supply.coming import coming_for
from remodel.supply.since import compare_order

from remodel.bridge.lengths import amount
from remodel.history.queries import last_group
from remodel.history.services import undo
from remodel.supply import orders
from remodel.supply.ledger import move
from remodel.supply.models import Order, Pack
from remodel.supply.queries import frozen_needs
from tests.remodel.factories import room_add_line

pytestmark = pytest.mark.django_db
TAPE = "tape-paper"


@pytest.fixture
def kitchen(room):
    return room


@pytest.fixture
def bedroom(by, house, kitchen):
    return room_add_line(by=by, house=house, name="Bedroom", line="14' x 12' x 8'")


@pytest.fixture
def draft(by, house):
    def make(*rooms, phases=("taping",)):
        return orders.order_make(by=by, house=house, phases=phases, rooms=rooms)

    return make


@pytest.fixture
def placed(by, draft):
    def make(*rooms, phases=("taping",)):
        return orders.order_place(by=by, order=draft(*rooms, phases=phases), without_prices=True)

    return make


def tape(order):
    return order.lines.filter(item=TAPE).first()


def to_buy(order):
    return sum(line.packs for line in order.lines.filter(item=TAPE))


def test_same_work_ordered_again_buys_nothing(kitchen, draft, placed):
    first = placed(kitchen)
    line, again = tape(first), tape(draft(kitchen))
    assert (again.packs, again.on_hand) == (0, "0")
    assert Fraction(again.on_the_way) == line.pack_amount.value * line.packs
    assert [(arrival["order"], arrival["packs"]) for arrival in again.coming] == [
        (str(first.pk), line.packs)
    ]


def test_packs_for_another_room_are_not_counted(kitchen, bedroom, draft, placed):
    placed(kitchen)
    line = tape(draft(bedroom))
    assert (line.on_the_way, line.packs) == ("0", line.worked_out)
    assert line.packs > 0


def test_packs_for_another_phase_are_not_counted(kitchen, draft, placed):
    placed(kitchen, phases=("hanging",))
    assert set(draft(kitchen).lines.values_list("on_the_way", flat=True)) == {"0"}


def test_order_of_two_rooms_keeps_what_the_other_room_needs(house, kitchen, bedroom, placed):
    order = placed(kitchen, bedroom)
    line = tape(order)
    need = next(
        frozen_need.amount.value
        for frozen_need in frozen_needs(order)
        if frozen_need.item == TAPE and frozen_need.need.room == "bedroom"
    )
    kept = -(-need // line.pack_amount.value)
    packs = {
        arrival.item: arrival.packs
        for arrival in coming_for(house, phases=["taping"], rooms=["kitchen"])
    }
    assert packs.get(TAPE, 0) == line.packs - kept


def test_what_the_other_room_used_is_no_longer_kept_for_it(by, house, kitchen, bedroom, placed):
    order = placed(kitchen, bedroom)
    need = next(
        frozen_need.amount
        for frozen_need in frozen_needs(order)
        if frozen_need.item == TAPE and frozen_need.need.room == "bedroom"
    )
    move(by=by, house=house, item=TAPE, kind="used", amount=need, room=bedroom, phase="taping")
    packs = {
        arrival.item: arrival.packs
        for arrival in coming_for(house, phases=["taping"], rooms=["kitchen"])
    }
    assert packs[TAPE] == tape(order).packs


def test_what_was_added_by_hand_serves_something_else(by, house, kitchen, draft):
    order = draft(kitchen)
    pack = Pack.objects.filter(material__house=house, material__key="primer").first()
    orders.order_line_add(by=by, order=order, pack=pack, packs=2, reason="For the garage")
    orders.order_place(by=by, order=order, without_prices=True)
    assert "primer" not in {
        arrival.item for arrival in coming_for(house, phases=["taping"], rooms=["kitchen"])
    }


def test_draft_made_before_follows_an_order_that_is_placed(kitchen, draft, placed):
    waiting = draft(kitchen)
    assert to_buy(waiting) > 0
    placed(kitchen)
    assert to_buy(waiting) == 0


def test_part_receipt_moves_from_on_its_way_to_on_hand(by, kitchen, draft, placed):
    first = placed(kitchen)
    waiting, line = draft(kitchen), tape(first)
    orders.order_receive(by=by, line=line, packs=1, paid=100)
    now = tape(waiting)
    assert Fraction(now.on_hand) == line.pack_amount.value
    assert Fraction(now.on_the_way) == line.pack_amount.value * (line.packs - 1)
    assert to_buy(waiting) == 0


def test_receipt_taken_back_is_on_its_way_again(by, kitchen, draft, placed):
    line = tape(placed(kitchen))
    waiting = draft(kitchen)
    before = tape(waiting).on_the_way
    receipt = orders.order_receive(by=by, line=line, packs=1, paid=100)
    orders.receipt_take_back(by=by, receipt=receipt)
    assert (tape(waiting).on_the_way, Fraction(tape(waiting).on_hand)) == (before, 0)


def test_order_that_brings_nothing_more_is_bought_for_again(by, kitchen, draft, placed):
    first = placed(kitchen)
    waiting = draft(kitchen)
    orders.order_close(by=by, order=first)
    assert to_buy(waiting) == sum(line.packs for line in first.lines.filter(item=TAPE))


def test_closing_taken_back_counts_again(by, kitchen, draft, placed):
    first = placed(kitchen)
    waiting = draft(kitchen)
    orders.order_close(by=by, order=first)
    undo(by=by, group=last_group(first.pk))
    assert to_buy(waiting) == 0


def test_draft_that_counts_nothing_else_is_left_alone(by, kitchen, bedroom, draft, placed):
    waiting = draft(bedroom)
    line = tape(waiting)
    placed(kitchen)
    line.refresh_from_db()
    assert (line.deleted_at, line.version) == (None, 1)


def test_amount_edited_by_hand_outlives_the_following(by, kitchen, draft, placed):
    line = tape(placed(kitchen))
    waiting = draft(kitchen)
    pack = Pack.objects.filter(material__house=kitchen.house_id, material__key="primer").first()
    orders.order_line_add(by=by, order=waiting, pack=pack, packs=2, reason="For the garage")
    orders.order_receive(by=by, line=line, packs=1, paid=100)
    assert waiting.lines.get(item="primer").packs == 2


@pytest.fixture
def relying(by, kitchen, bedroom, placed):
    """The kitchen is on its way when both rooms are ordered."""
    return placed(kitchen), placed(kitchen, bedroom)


def test_what_one_order_counts_on_is_not_counted_twice(house, relying):
    """The kitchen's packs come with the first; the second brings the bedroom's alone."""
    lines = {str(line.pk) for line in relying[1].lines.filter(item=TAPE)}
    kitchen = coming_for(house, phases=["taping"], rooms=["kitchen"])
    bedroom = coming_for(house, phases=["taping"], rooms=["bedroom"])
    assert [arrival for arrival in kitchen if arrival.line in lines] == []
    assert {arrival.line for arrival in bedroom if arrival.item == TAPE} <= lines


def test_placed_order_counts_on_what_was_coming(relying):
    assert [difference.more for difference in compare_order(relying[1]) if difference.more] == []


def test_placed_order_says_buy_more_once_the_other_brings_nothing(by, relying):
    first, second = relying
    before = dict(second.frozen)
    orders.order_close(by=by, order=first)
    assert TAPE in {difference.item for difference in compare_order(second) if difference.more}
    second.refresh_from_db()
    assert second.frozen == before


def test_placed_order_is_content_with_what_came_before_the_other_was_closed(by, relying):
    first, second = relying
    for line in first.lines.filter(packs__gte=1):
        orders.order_receive(by=by, line=line, packs=line.packs, paid=0)
    orders.order_close(by=by, order=first)
    assert [difference.more for difference in compare_order(second) if difference.more] == []


def test_estimate_frozen_before_orders_counted_on_each_other_is_read(kitchen, placed):
    order = placed(kitchen)
    del order.frozen["coming"]
    Order.objects.filter(pk=order.pk).update(frozen=order.frozen)
    assert compare_order(Order.objects.get(pk=order.pk)) == ()


def test_on_hand_goes_before_what_is_on_its_way(by, house, kitchen, draft, placed):
    placed(kitchen)
    move(by=by, house=house, item=TAPE, kind="received", amount=amount(5000, "ft"))
    line = tape(draft(kitchen))
    assert (line.on_hand, line.packs) == ("5000", 0)
