"""From needs to an order, its receipts and returns, and what a later change of the room means for
it."""

import pytest
from remodel.supply.since import compare_order

from remodel.board.models import Plan
from remodel.bridge.lengths import FOOT, amount
from remodel.history.errors import Refused, Stale
from remodel.history.queries import last_group
from remodel.history.seen import Seen
from remodel.history.services import By, undo
from remodel.house.services import room_change
from remodel.supply import orders
from remodel.supply.ledger import move, on_hand
from remodel.supply.models import Order, Pack, SheetOnSale
from remodel.supply.queries import money_of, needs_of, use_of
from remodel.supply.services import pack_change, prices_confirm

pytestmark = pytest.mark.django_db


def taping(by, house, room):
    return orders.order_make(by=by, house=house, phases=["taping"], rooms=[room])


def placed(by, house, room, phases=("taping",)):
    order = orders.order_make(by=by, house=house, phases=phases, rooms=[room])
    return orders.order_place(by=by, order=order, without_prices=True)


def confirm_all(by, house):
    prices_confirm(by=by, house=house, priced=[*SheetOnSale.objects.all(), *Pack.objects.all()])


def test_draft_has_a_line_for_every_pack_to_buy(by, house, room):
    order = taping(by, house, room)
    needed = {line.item for line in needs_of(house, phases=["taping"], rooms=["kitchen"])}
    assert {line.item for line in order.lines.all()} == needed
    assert all(line.packs == line.worked_out for line in order.lines.all())
    assert all(line.sample_price for line in order.lines.all() if line.pack)


def test_what_is_on_hand_is_not_bought(by, house, room):
    move(by=by, house=house, item="tape-paper", kind="received", amount=amount(5000, "ft"))
    line = taping(by, house, room).lines.get(item="tape-paper")
    assert (line.packs, line.pack, line.on_hand) == (0, "", "5000")


def test_phases_and_rooms_must_be_chosen(by, house, room):
    for phases, rooms, field in ((["rough-in"], [room], "phases"), (["taping"], [], "rooms")):
        with pytest.raises(Refused) as refused:
            orders.order_make(by=by, house=house, phases=phases, rooms=rooms)
        assert refused.value.field == field


def test_other_amount_takes_a_reason(by, house, room):
    line = taping(by, house, room).lines.exclude(pack="").first()
    with pytest.raises(Refused) as refused:
        orders.order_line_set(by=by, line=line, packs=line.worked_out + 1)
    assert refused.value.field == "reason"
    stale = By(by.person, seen=Seen.of(line))
    orders.order_line_set(by=stale, line=line, packs=line.worked_out + 1, reason="One spare")
    with pytest.raises(Stale):
        orders.order_line_set(by=stale, line=line, packs=9, reason="More")
    undo(by=by, group=last_group(line.pk))
    line.refresh_from_db()
    assert (line.packs, line.reason) == (line.worked_out, "")


def test_refreshed_draft_keeps_amounts_edited_by_hand(by, house, room):
    order = taping(by, house, room)
    line = order.lines.get(item="tape-paper")
    orders.order_line_set(by=by, line=line, packs=7, reason="For the garage too")
    orders.order_refresh(by=by, order=order)
    assert order.lines.get(item="tape-paper", pack=line.pack).packs == 7


def test_order_with_sample_prices_is_placed_only_when_the_person_says_so(by, house, room):
    order = taping(by, house, room)
    with pytest.raises(Refused, match="samples"):
        orders.order_place(by=by, order=order)
    assert orders.order_place(by=by, order=order, without_prices=True).without_prices


def test_order_with_confirmed_prices_is_placed_and_freezes_its_estimate(by, house, room):
    confirm_all(by, house)
    order = orders.order_place(by=by, order=taping(by, house, room))
    before = order.frozen["needs"]
    room_change(by=by, room=room, ceiling_height=9 * FOOT)
    order.refresh_from_db()
    assert order.frozen["needs"] == before
    assert order.frozen["schema"] == 2
    with pytest.raises(Refused, match="frozen"):
        orders.order_refresh(by=by, order=order)
    with pytest.raises(Refused):
        orders.order_remove(by=by, order=order)


def test_placing_twice_is_placing_once(by, house, room):
    order = placed(by, house, room)
    when = order.placed_at
    orders.order_place(by=by, order=order, without_prices=True)
    assert Order.objects.get().placed_at == when


def test_ordered_board_plans_stand(by, house, room):
    placed(by, house, room, ["hanging"])
    assert set(Plan.objects.values_list("state", flat=True)) == {"ordered"}


def test_part_receipts_and_returns_reach_the_ledger_and_the_money(by, house, room):
    order = placed(by, house, room)
    line = order.lines.get(
        item="compound-drying",
        packs__gte=1,
        position__gte=0,
        pack=order.lines.filter(item="compound-drying").first().pack,
    )
    orders.order_receive(by=by, line=line, packs=1, paid=1850)
    assert on_hand(house, "compound-drying", "gal") == line.pack_amount
    assert money_of(house).spent == 1850
    orders.order_return(by=by, line=line, packs=1, refund=1800)
    assert on_hand(house, "compound-drying", "gal").value == 0
    assert money_of(house).spent == 50
    with pytest.raises(Refused):
        orders.order_return(by=by, line=line, packs=1, refund=0)


def test_receipt_sent_twice_is_one_and_can_be_taken_back_once(by, house, room):
    line = placed(by, house, room).lines.exclude(pack="").first()
    once = By(by.person, "posted-twice")
    receipt = orders.order_receive(by=once, line=line, packs=1, paid=500)
    assert orders.order_receive(by=once, line=line, packs=1, paid=500) == receipt
    orders.receipt_take_back(by=by, receipt=receipt)
    assert money_of(house).spent == 0
    assert on_hand(house, line.item, line.unit).value == 0
    with pytest.raises(Refused):
        orders.receipt_take_back(by=by, receipt=receipt)


def test_draft_receives_nothing(by, house, room):
    line = taping(by, house, room).lines.exclude(pack="").first()
    with pytest.raises(Refused):
        orders.order_receive(by=by, line=line, packs=1, paid=1)


def test_unchanged_room_has_nothing_more_to_buy(by, house, room):
    order = placed(by, house, room, ["framing", "hanging", "taping", "finishing"])
    assert [difference for difference in compare_order(order) if difference.more] == []


def test_larger_room_needs_more_and_a_smaller_one_sends_packs_back(by, house, room):
    order = placed(by, house, room, ["hanging", "taping"])
    room_change(by=by, room=room, ceiling_height=16 * FOOT)
    larger = {difference.item: difference for difference in compare_order(order)}
    assert larger["tape-paper"].today.value > larger["tape-paper"].frozen.value
    assert any(difference.more for item, difference in larger.items() if item.startswith("sheet-"))
    room_change(by=by, room=room, ceiling_height=4 * FOOT)
    smaller = compare_order(order)
    assert any(difference.back for difference in smaller if difference.item.startswith("sheet-"))


def test_use_stands_against_the_frozen_estimate(by, house, room):
    placed(by, house, room)
    move(
        by=by,
        house=house,
        item="tape-paper",
        kind="used",
        amount=amount(100, "ft"),
        room=room,
        phase="taping",
    )
    move(
        by=by,
        house=house,
        item="tape-paper",
        kind="spoiled",
        amount=amount(5, "ft"),
        room=room,
        phase="taping",
    )
    line = next(use for use in use_of(house) if use.item == "tape-paper")
    assert (line.room, line.phase, line.used, line.spoiled) == (
        "kitchen",
        "taping",
        amount(105, "ft"),
        amount(5, "ft"),
    )
    assert line.estimate.value > 0


def test_price_a_person_gives_is_confirmed_and_reaches_the_house(by, house, room):
    confirm_all(by, house)
    house.refresh_from_db()
    assert not house.sample_prices
    pack = Pack.objects.filter(material__key="tape-paper").first()
    assert pack_change(by=by, pack=pack, price=999).price == 999
