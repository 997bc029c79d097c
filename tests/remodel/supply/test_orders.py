"""Orders: edited, placed, received, returned, closed and taken back."""

from datetime import timedelta

import pytest
from django.utils import timezone

from remodel.board.models import Plan
from remodel.bridge import lengths
from remodel.bridge.lengths import FOOT, amount
from remodel.history.errors import AlreadyUndone, CannotUndo, Refused, Stale
from remodel.history.queries import last_group
from remodel.history.seen import Seen
from remodel.history.services import By, undo
from remodel.house.services import room_change
from remodel.supply import orders
from remodel.supply.comparing import compare_order
from remodel.supply.ledger import move, on_hand, reverse
from remodel.supply.models import Movement, Order, OrderLine, Pack, Returned, SheetOnSale
from remodel.supply.queries import needs_of, use_of
from remodel.supply.services import pack_change, prices_confirm
from tests.remodel.supply.steps import (
    draft,
    hang,
    money_now,
    order_all,
    place,
    receive,
    sheets_of,
    standing_now,
)

pytestmark = pytest.mark.django_db
PAST = timezone.localdate() - timedelta(days=3)


def taping(by, room):
    return draft(by, room, phases=["taping"])


def placed(by, room, *phases):
    return order_all(by, room, phases=phases or ["taping"])


def first_line(order):
    return order.lines.exclude(pack="").first()


def confirm_all(by, house):
    prices_confirm(by=by, house=house, priced=[*SheetOnSale.objects.all(), *Pack.objects.all()])


def test_draft_has_a_line_for_every_item_it_needs(by, house, room):
    order = taping(by, room)
    needed = {line.item for line in needs_of(house, phases=["taping"], rooms=["kitchen"])}
    assert {line.item for line in order.lines.all()} == needed
    assert all(line.packs == line.worked_out for line in order.lines.all())
    assert all(line.sample_price for line in order.lines.all() if line.pack)


def test_what_is_here_is_not_bought(by, house, room):
    move(by=by, house=house, item="tape-paper", kind="found", amount=amount(5000, "ft"))
    line = taping(by, room).lines.get(item="tape-paper")
    assert (line.packs, line.pack, line.on_hand) == (0, "", line.need)


@pytest.mark.parametrize("field", ["phases", "rooms"])
def test_phases_and_rooms_must_be_chosen(by, house, room, field):
    chosen = {"phases": ["taping"], "rooms": [room]} | {field: []}
    with pytest.raises(Refused) as refused:
        orders.order_make(by=by, house=house, **chosen)
    assert refused.value.field == field


def test_other_amount_takes_a_reason(by, room):
    line = first_line(taping(by, room))
    with pytest.raises(Refused) as refused:
        orders.order_line_set(by=by, line=line, packs=line.worked_out + 1)
    assert refused.value.field == "reason"


def test_amount_edited_on_an_old_page_is_stale(by, room):
    line = first_line(taping(by, room))
    stale = By(by.person, seen=Seen.of(line))
    orders.order_line_set(by=stale, line=line, packs=line.worked_out + 1, reason="One spare")
    with pytest.raises(Stale):
        orders.order_line_set(by=stale, line=line, packs=9, reason="More")


def test_edited_amount_of_a_draft_is_undone(by, room):
    line = first_line(taping(by, room))
    orders.order_line_set(by=by, line=line, packs=line.worked_out + 1, reason="One spare")
    undo(by=by, group=last_group(line.pk))
    line.refresh_from_db()
    assert (line.packs, line.reason) == (line.worked_out, "")


def test_edit_of_a_line_is_not_undone_once_its_order_is_placed(by, room):
    order = taping(by, room)
    line = first_line(order)
    orders.order_line_set(by=by, line=line, packs=line.worked_out + 1, reason="One spare")
    group = last_group(line.pk)
    place(by, order)
    with pytest.raises(Refused, match="placed"):
        undo(by=by, group=group)


def test_tick_made_in_the_store_is_undone_of_a_placed_order_too(by, room):
    line = first_line(placed(by, room))
    orders.order_line_tick(by=by, line=line, ticked=True)
    undo(by=by, group=last_group(line.pk))
    assert not OrderLine.objects.get(pk=line.pk).ticked


def test_placing_is_not_undone(by, room):
    order = placed(by, room)
    with pytest.raises(Refused, match="undo “ordered”"):
        undo(by=by, group=last_group(order.pk))


def test_taking_back_is_not_undone(by, room):
    order = placed(by, room)
    orders.order_take_back(by=by, order=order)
    with pytest.raises(Refused, match="draft it again"):
        undo(by=by, group=last_group(order.pk))


def test_drafting_is_not_undone_once_the_order_is_placed(by, room):
    order = taping(by, room)
    group = last_group(order.pk)
    place(by, order)
    with pytest.raises((Refused, CannotUndo)):
        undo(by=by, group=group)
    assert Order.objects.filter(pk=order.pk, state="placed").exists()


def test_removed_draft_is_brought_back_by_undo(by, room):
    order = taping(by, room)
    orders.order_remove(by=by, order=order)
    assert not Order.objects.exists()
    undo(by=by, group=last_group(order.pk))
    assert first_line(Order.objects.get()).packs


def test_undone_edit_of_a_room_needs_and_drafts_what_it_did_before(by, house, room):
    order = taping(by, room)
    before = standing_now(house).needs
    room_change(by=by, room=room, ceiling_height=16 * FOOT)
    assert orders.line_differences(order)
    undo(by=by, group=last_group(room.pk))
    assert standing_now(house).needs == before
    assert orders.line_differences(order) == []


def test_edit_is_undone_once(by, room):
    room_change(by=by, room=room, ceiling_height=9 * FOOT)
    group = last_group(room.pk)
    undo(by=by, group=group)
    with pytest.raises(AlreadyUndone):
        undo(by=by, group=group)


def test_order_with_sample_prices_is_placed_only_when_the_person_says_so(by, room):
    order = taping(by, room)
    with pytest.raises(Refused, match="samples"):
        orders.order_place(by=by, order=order)
    assert orders.order_place(by=by, order=order, without_prices=True).without_prices


def test_order_with_confirmed_prices_is_placed_and_freezes_its_estimate(by, house, room):
    confirm_all(by, house)
    order = orders.order_place(by=by, order=taping(by, room))
    before = order.frozen["needs"]
    room_change(by=by, room=room, ceiling_height=9 * FOOT)
    order.refresh_from_db()
    assert order.frozen["needs"] == before
    assert order.frozen["schema"] == orders.FROZEN_SCHEMA


@pytest.mark.parametrize("service", [orders.order_refresh, orders.order_remove])
def test_placed_order_is_frozen(by, room, service):
    with pytest.raises(Refused, match="frozen"):
        service(by=by, order=placed(by, room))


def test_placing_twice_is_placing_once(by, room):
    order = placed(by, room)
    when = order.placed_at
    orders.order_place(by=by, order=order, without_prices=True)
    assert Order.objects.get().placed_at == when


def test_ordered_board_plans_stand(by, room):
    placed(by, room, "hanging")
    assert set(Plan.objects.values_list("state", flat=True)) == {"ordered"}


def test_plans_of_an_order_that_is_taken_back_may_be_left_again(by, room):
    orders.order_take_back(by=by, order=placed(by, room, "hanging"))
    assert set(Plan.objects.values_list("state", flat=True)) == {"accepted"}


def test_plans_stay_ordered_where_another_order_of_board_stands(by, room):
    first = placed(by, room, "hanging")
    placed(by, room, "hanging")
    orders.order_take_back(by=by, order=first)
    assert set(Plan.objects.values_list("state", flat=True)) == {"ordered"}


def test_order_taken_back_brings_nothing_and_costs_nothing(by, house, room):
    before = money_now(house).all
    order = placed(by, room)
    orders.order_take_back(by=by, order=order)
    assert money_now(house).all == before
    assert all(supply.coming == 0 for supply in standing_now(house).supply.values())


def test_order_of_which_something_came_is_not_taken_back(by, room):
    order = placed(by, room)
    receipt = orders.order_receive(by=by, line=first_line(order), packs=1)
    with pytest.raises(Refused, match="came"):
        orders.order_take_back(by=by, order=order)
    orders.receipt_take_back(by=by, receipt=receipt)
    assert orders.order_take_back(by=by, order=order).state == "taken back"


def test_draft_is_not_taken_back(by, room):
    with pytest.raises(Refused, match="removed"):
        orders.order_take_back(by=by, order=taping(by, room))


def test_order_taken_back_receives_and_returns_nothing(by, room):
    order = placed(by, room)
    orders.order_take_back(by=by, order=order)
    line = first_line(order)
    with pytest.raises(Refused, match="was undone"):
        orders.order_receive(by=by, line=line, packs=1)
    with pytest.raises(Refused, match="was undone"):
        orders.order_return(by=by, line=line, packs=1, refund=0)


def test_what_does_not_come_with_a_closed_order_is_short(by, house, room):
    order = placed(by, room)
    orders.order_close(by=by, order=order)
    standing = standing_now(house)
    assert standing.dealt("tape-paper").short == standing.dealt("tape-paper").shares[0].need
    assert money_now(house).all.on_its_way == 0


def test_what_did_not_come_is_asked_for_by_the_next_order(by, house, room):
    order = placed(by, room)
    orders.order_close(by=by, order=order)
    wanted = [(line.item, line.packs) for line in order.lines.all()]
    assert [(line.item, line.packs) for line in taping(by, room).lines.all()] == wanted


def test_what_came_is_paid_at_the_ordered_price_where_nothing_is_entered(by, house, room):
    line = first_line(placed(by, room))
    receipt = orders.order_receive(by=by, line=line, packs=1)
    assert receipt.paid == line.price == money_now(house).all.spent


def test_part_of_a_line_that_came_leaves_the_rest_on_its_way(by, house, room):
    line = placed(by, room, "hanging").lines.filter(packs__gte=2).first()
    orders.order_receive(by=by, line=line, packs=line.packs - 1)
    supply = standing_now(house).supply[line.item]
    assert (supply.here, supply.coming) == (line.packs - 1, 1)
    assert orders.to_come(line) == 1


def test_more_than_was_ordered_is_refused_unless_it_is_kept(by, house, room):
    line = first_line(placed(by, room))
    with pytest.raises(Refused, match=f"Only {line.packs}") as refused:
        orders.order_receive(by=by, line=line, packs=line.packs + 1)
    assert refused.value.field == "packs"
    orders.order_receive(by=by, line=line, packs=line.packs + 1, keep_more=True)
    supply = standing_now(house).supply[line.item]
    unit = lengths.convert(line.pack_amount, standing_now(house).units[line.item]).value
    assert (supply.here, supply.coming) == (unit * (line.packs + 1), 0)


def test_what_came_beyond_the_order_is_free(by, house, room):
    line = placed(by, room, "hanging").lines.exclude(pack="").first()
    orders.order_receive(by=by, line=line, packs=line.packs + 2, keep_more=True)
    assert standing_now(house).dealt(line.item).free_here == 2


def test_delivery_is_written_whole_or_not_at_all(by, room):
    order = placed(by, room, "hanging", "taping")
    first, second = order.lines.exclude(pack="")[:2]
    with pytest.raises(Refused):
        orders.order_receive_all(
            by=by, order=order, receipts=[(first, 1, None), (second, second.packs + 1, None)]
        )
    assert not Movement.objects.exists()


def test_draft_receives_nothing(by, room):
    with pytest.raises(Refused, match="Place the order first"):
        orders.order_receive(by=by, line=first_line(taping(by, room)), packs=1, paid=1)


@pytest.mark.parametrize(("packs", "paid"), [(0, 1), (-1, 1), (1, -1)])
def test_nonsense_is_not_received(by, room, packs, paid):
    with pytest.raises(Refused):
        orders.order_receive(by=by, line=first_line(placed(by, room)), packs=packs, paid=paid)


def test_delivery_sent_twice_is_one(by, house, room):
    line = first_line(placed(by, room))
    once = By(by.person, "posted-twice")
    receipt = orders.order_receive(by=once, line=line, packs=1, paid=500)
    assert orders.order_receive(by=once, line=line, packs=1, paid=500) == receipt
    assert money_now(house).all.spent == 500


def test_delivery_taken_back_counts_as_one_that_never_came(by, house, room):
    line = first_line(placed(by, room))
    before = money_now(house).all
    receipt = orders.order_receive(by=by, line=line, packs=1, paid=500)
    orders.receipt_take_back(by=by, receipt=receipt)
    assert money_now(house).all == before
    assert on_hand(house, line.item, line.unit).value == 0
    assert Movement.objects.latest("serial").kind == "received"


def test_delivery_is_taken_back_once(by, room):
    receipt = orders.order_receive(by=by, line=first_line(placed(by, room)), packs=1)
    orders.receipt_take_back(by=by, receipt=receipt)
    with pytest.raises(Refused, match="already"):
        orders.receipt_take_back(by=by, receipt=receipt)


def test_two_equal_deliveries_of_a_past_day_are_each_taken_back(by, house, room):
    line = placed(by, room, "hanging").lines.filter(packs__gte=2).first()
    receipts = [orders.order_receive(by=by, line=line, packs=1, day=PAST) for _ in range(2)]
    for receipt in receipts:
        orders.receipt_take_back(by=by, receipt=receipt)
    assert on_hand(house, line.item, line.unit).value == 0


def test_delivery_is_not_taken_back_on_the_stock_page(by, room):
    receipt = orders.order_receive(by=by, line=first_line(placed(by, room)), packs=1)
    with pytest.raises(Refused, match="order's page"):
        reverse(by=by, movement=receipt.movement)


def test_only_what_is_free_goes_back(by, house, room):
    line = placed(by, room, "hanging").lines.exclude(pack="").first()
    orders.order_receive(by=by, line=line, packs=line.packs + 1, keep_more=True)
    with pytest.raises(Refused, match="1 to 1"):
        orders.order_return(by=by, line=line, packs=2, refund=0)
    orders.order_return(by=by, line=line, packs=1, refund=line.price)
    with pytest.raises(Refused, match="None of these packs"):
        orders.order_return(by=by, line=line, packs=1, refund=0)


def test_what_is_on_its_way_cannot_go_back(by, house, room):
    move(by=by, house=house, item="tape-paper", kind="found", amount=amount(1, "ft"))
    order = placed(by, room)
    assert [orders.returnable(line, standing_now(house)) for line in order.lines.all()] == (
        [0] * order.lines.count()
    )


def test_what_hangs_cannot_go_back(by, house, room):
    order = placed(by, room, "hanging")
    receive(by, order)
    hang(by, room)
    standing = standing_now(house)
    boards = [line for line in order.lines.all() if line.item.startswith("sheet-")]
    assert boards
    assert [orders.returnable(line, standing) for line in boards] == [0] * len(boards)


def test_refund_lowers_what_was_spent(by, house, room):
    line = placed(by, room, "hanging").lines.exclude(pack="").first()
    orders.order_receive(by=by, line=line, packs=line.packs + 1, keep_more=True)
    spent = money_now(house).all.spent
    orders.order_return(by=by, line=line, packs=1, refund=700)
    assert money_now(house).all.spent == spent - 700


def test_return_taken_back_is_neither_gone_nor_refunded(by, house, room):
    line = placed(by, room, "hanging").lines.exclude(pack="").first()
    orders.order_receive(by=by, line=line, packs=line.packs + 1, keep_more=True)
    before = (money_now(house).all, standing_now(house).supply[line.item].here)
    orders.order_return(by=by, line=line, packs=1, refund=700)
    reverse(by=by, movement=Movement.objects.get(kind="returned"))
    assert (money_now(house).all, standing_now(house).supply[line.item].here) == before
    assert not Returned.objects.exists()


def test_delivery_of_which_packs_went_back_is_not_taken_back(by, room):
    line = placed(by, room, "hanging").lines.exclude(pack="").first()
    receipt = orders.order_receive(by=by, line=line, packs=line.packs + 1, keep_more=True)
    orders.order_return(by=by, line=line, packs=1, refund=700)
    with pytest.raises(Refused, match="went back"):
        orders.receipt_take_back(by=by, receipt=receipt)


def test_unchanged_room_has_nothing_more_to_buy(by, house, room):
    order = placed(by, room, "framing", "hanging", "taping", "finishing")
    assert compare_order(order, standing_now(house)) == ((), ())


def test_larger_room_has_more_to_buy(by, house, room):
    order = placed(by, room, "hanging", "taping")
    room_change(by=by, room=room, ceiling_height=16 * FOOT)
    more, spare = compare_order(order, standing_now(house))
    short = {line.item: line.short for line in more}
    assert short["tape-paper"] > 0
    assert any(item.startswith("sheet-") for item in short)
    assert spare == ()


def test_smaller_room_leaves_over_whole_packs_that_are_here(by, house, room):
    order = placed(by, room, "hanging")
    receive(by, order)
    room_change(by=by, room=room, ceiling_height=4 * FOOT)
    standing = standing_now(house)
    _, spare = compare_order(order, standing)
    assert {one.line.item: one.packs for one in spare if "sheet-" in one.line.item} == {
        line.item: int(standing.dealt(line.item).free_here)
        for line in order.lines.all()
        if "sheet-" in line.item and standing.dealt(line.item).free_here
    }
    assert spare


def test_sheets_of_a_size_no_job_takes_any_more_are_left_over(by, house, room):
    order = placed(by, room, "hanging")
    receive(by, order)
    item = sheets_of(standing_now(house))[0]
    move(by=by, house=house, item=item, kind="found", amount=amount(3, "each"))
    _, spare = compare_order(order, standing_now(house))
    assert {one.line.item: one.packs for one in spare}[item] == 3


def test_use_stands_against_the_frozen_estimate(by, house, room):
    placed(by, room)
    for kind, feet in (("used", 100), ("spoiled", 5)):
        move(
            by=by,
            house=house,
            item="tape-paper",
            kind=kind,
            amount=amount(feet, "ft"),
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
