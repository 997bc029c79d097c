"""What a draft buys, how it follows what happens, and what placing it makes of it."""

from decimal import Decimal

import pytest

from remodel.bridge.lengths import FOOT, amount
from remodel.bridge.let_in import insulation_entered
from remodel.bridge.supply import sheet_key
from remodel.history.errors import Refused
from remodel.house.services import room_change
from remodel.house.things import surface_choice_set
from remodel.supply import orders
from remodel.supply.ledger import move
from remodel.supply.models import OrderLine, Pack, SheetOnSale
from remodel.supply.services import pack_change, sheet_remove
from remodel.work.services import phase_set_state
from tests.remodel.supply.steps import (
    draft,
    finish,
    in_packs,
    job_of,
    order_all,
    place,
    receive,
    sheets_of,
    standing_now,
)

pytestmark = pytest.mark.django_db
TAPE = "tape-paper"


def tape_lines(order):
    return list(order.lines.filter(item=TAPE))


def spoil(by, house, item, value, unit="each"):
    move(by=by, house=house, item=item, kind="spoiled", amount=amount(value, unit))


def board_here(house):
    """A size of sheet of which some are here."""
    standing = standing_now(house)
    return next(item for item in sheets_of(standing) if standing.supply[item].here >= 1)


def test_draft_tells_how_much_of_its_need_is_here_and_on_its_way(by, house, room):
    move(by=by, house=house, item=TAPE, kind="found", amount=amount(30, "ft"))
    line = tape_lines(draft(by, room, phases=["taping"]))[0]
    assert (line.on_hand, line.on_the_way) == ("30", "0")


def test_spoiled_goods_of_a_room_ordered_before_are_bought_with_the_next_order(
    by, house, room, dining
):
    receive(by, order_all(by, room))
    item = board_here(house)
    spoil(by, house, item, 1)
    lines = list(draft(by, dining).lines.filter(item=item))
    earlier = [line for line in lines if line.for_earlier]
    assert [(line.packs, line.why) for line in earlier] == [(1, "Kitchen, hanging is 1 short")]


def test_spoiled_goods_are_bought_by_an_order_for_the_same_room(by, house, room):
    receive(by, order_all(by, room))
    item = board_here(house)
    spoil(by, house, item, 1)
    assert in_packs(draft(by, room).lines.all(), item) == 1


def test_line_for_earlier_that_is_skipped_leaves_the_room_short(by, house, room, dining):
    receive(by, order_all(by, room))
    item = board_here(house)
    spoil(by, house, item, 1)
    order = draft(by, dining)
    line = orders.order_line_skip(
        by=by, line=order.lines.get(item=item, for_earlier=True), skipped=True
    )
    assert (line.packs, line.skipped) == (0, True)
    place(by, order)
    assert standing_now(house).dealt(item).short == 1


def test_skipped_line_stays_skipped_when_the_draft_is_brought_up_to_date(by, house, room, dining):
    receive(by, order_all(by, room))
    item = board_here(house)
    spoil(by, house, item, 1)
    order = draft(by, dining)
    orders.order_line_skip(by=by, line=order.lines.get(item=item, for_earlier=True), skipped=True)
    spoil(by, house, board_here(house), 1)
    orders.order_refresh(by=by, order=order)
    line = order.lines.get(item=item, for_earlier=True)
    assert (line.packs, line.skipped) == (0, True)


def test_skipped_line_is_taken_in_again(by, house, room, dining):
    receive(by, order_all(by, room))
    item = board_here(house)
    spoil(by, house, item, 1)
    line = draft(by, dining).lines.get(item=item, for_earlier=True)
    for skipped in (True, False):
        line = orders.order_line_skip(by=by, line=line, skipped=skipped)
    assert (line.packs, line.skipped) == (1, False)


def test_order_s_own_line_cannot_be_skipped(by, room):
    line = draft(by, room).lines.exclude(pack="").first()
    with pytest.raises(Refused):
        orders.order_line_skip(by=by, line=line, skipped=True)


def test_stock_under_zero_is_bought_beside_what_is_needed(by, house, room):
    item = sheets_of(standing_now(house))[0]
    before = in_packs(draft(by, room).lines.all(), item)
    move(by=by, house=house, item=item, kind="used", amount=amount(2, "each"))
    assert in_packs(draft(by, room).lines.all(), item) == before + 2


def test_draft_is_up_to_date_until_something_happens(by, house, room):
    order = draft(by, room, phases=["taping"])
    assert orders.line_differences(order) == []
    move(by=by, house=house, item=TAPE, kind="found", amount=amount(5000, "ft"))
    changed = orders.line_differences(order)
    assert [(one.before > 0, one.after) for one in changed] == [(True, 0)] * len(changed)
    assert {one.name for one in changed} == {tape_lines(order)[0].name}


@pytest.mark.parametrize("happens", ["edit", "order", "stock", "done"])
def test_old_draft_is_worked_out_again_when_it_is_placed(by, house, room, dining, happens):
    receive(by, order_all(by, room, phases=["hanging"]))
    order = draft(by, dining, room, phases=["hanging", "taping"])
    if happens == "edit":
        room_change(by=by, room=dining, ceiling_height=9 * FOOT)
    elif happens == "order":
        order_all(by, room, phases=["taping"])
    elif happens == "stock":
        move(by=by, house=house, item=TAPE, kind="found", amount=amount(500, "ft"))
    else:
        finish(by, dining, "taping")
    wanted = [
        (line.item, line.pack, line.packs)
        for line in draft(by, dining, room, phases=["hanging", "taping"]).lines.all()
    ]
    placed = place(by, order)
    assert placed.changed
    assert [(line.item, line.pack, line.packs) for line in placed.lines.all()] == wanted


def test_two_drafts_of_two_rooms_buy_what_is_free_once(by, house, room, dining):
    move(by=by, house=house, item=TAPE, kind="found", amount=amount(300, "ft"))
    first, second = (draft(by, each, phases=["taping"]) for each in (room, dining))
    place(by, first)
    placed = place(by, second)
    assert placed.changed
    assert standing_now(house).dealt(TAPE).short == 0


def test_two_drafts_of_one_room_buy_it_once(by, house, room):
    first, second = draft(by, room), draft(by, room)
    place(by, first)
    assert [line for line in place(by, second).lines.all() if line.packs] == []


def test_amount_changed_by_hand_stays_when_the_draft_is_placed(by, house, room):
    order = draft(by, room, phases=["taping"])
    line = next(line for line in tape_lines(order) if line.packs)
    orders.order_line_set(by=by, line=line, packs=7, reason="For the garage too")
    room_change(by=by, room=room, ceiling_height=9 * FOOT)
    placed = place(by, order)
    assert [(line.packs, line.reason) for line in tape_lines(placed) if line.pack] == [
        (7, "For the garage too")
    ]


def test_amount_changed_by_hand_stays_where_nothing_is_needed_any_more(by, house, room):
    order = draft(by, room, phases=["taping"])
    line = next(line for line in tape_lines(order) if line.packs)
    orders.order_line_set(by=by, line=line, packs=line.packs + 1, reason="One spare")
    move(by=by, house=house, item=TAPE, kind="found", amount=amount(5000, "ft"))
    placed = place(by, order)
    kept = placed.lines.get(item=TAPE, pack=line.pack)
    assert (kept.packs, kept.worked_out, kept.reason) == (line.packs, 0, "One spare")


def test_line_added_by_hand_stays(by, house, room):
    order = draft(by, room, phases=["taping"])
    pack = Pack.objects.get(material__house=house, material__key="2x2")
    orders.order_line_add(by=by, order=order, pack=pack, packs=2, reason="For the garage")
    move(by=by, house=house, item=TAPE, kind="found", amount=amount(5000, "ft"))
    assert place(by, order).lines.get(item="2x2").packs == 2


def test_price_changed_after_the_draft_is_the_price_it_is_placed_at(by, house, room):
    order = draft(by, room, phases=["taping"])
    line = next(line for line in tape_lines(order) if line.packs)
    pack = Pack.objects.get(material__house=house, material__key=TAPE, name=line.pack)
    pack_change(by=by, pack=pack, price=line.price + 1)
    placed = place(by, order).lines.get(item=TAPE, pack=line.pack)
    assert (placed.price, placed.sample_price) == (line.price + 1, False)


def test_tick_made_in_the_store_stays_when_the_draft_is_brought_up_to_date(by, house, room):
    order = draft(by, room, phases=["taping"])
    line = order.lines.exclude(pack="").exclude(item=TAPE).first()
    orders.order_line_tick(by=by, line=line, ticked=True)
    move(by=by, house=house, item=TAPE, kind="found", amount=amount(5000, "ft"))
    orders.order_refresh(by=by, order=order)
    assert OrderLine.objects.get(pk=line.pk).ticked


def test_order_that_nothing_on_sale_meets_is_placed_only_when_the_person_says_so(by, house, room):
    order = draft(by, room, phases=["taping"])
    Pack.objects.filter(material__house=house, material__key=TAPE).delete()
    with pytest.raises(Refused) as refused:
        place(by, order)
    assert refused.value.field == "without_unmet"
    placed = place(by, order, without_unmet=True)
    assert [(line.packs, bool(line.unmet)) for line in tape_lines(placed)] == [(0, True)]


def test_what_nothing_on_sale_meets_is_claimed_and_short(by, house, room):
    Pack.objects.filter(material__house=house, material__key=TAPE).delete()
    place(by, draft(by, room, phases=["taping"]), without_unmet=True)
    dealt = standing_now(house).dealt(TAPE)
    assert dealt.shares[0].short == dealt.shares[0].need > 0


def test_size_taken_off_sale_is_planned_anew_and_never_ordered(by, house, room):
    order = draft(by, room)
    item = sheets_of(standing_now(house))[0]
    sheets = SheetOnSale.objects.filter(house=house)
    gone = next(sheet for sheet in sheets if _key(sheet) == item)
    sheet_remove(by=by, sheet=gone)
    placed = place(by, order)
    assert in_packs(placed.lines.all(), item) == 0
    assert [line.name for line in placed.lines.all() if line.unmet] == []


def _key(sheet):
    return sheet_key(sheet.board, sheet.thickness, sheet.width, sheet.length)


def test_rooms_whose_framing_nobody_looked_at_are_ordered_only_when_the_person_says_so(by, room):
    order = draft(by, room)
    with pytest.raises(Refused, match="Kitchen") as refused:
        orders.order_place(by=by, order=order, without_prices=True)
    assert refused.value.field == "unseen_framing"
    placed = orders.order_place(by=by, order=order, without_prices=True, unseen_framing=True)
    assert placed.state == "placed"


def test_framing_matters_only_to_orders_of_board(by, room):
    order = draft(by, room, phases=["taping"])
    assert orders.order_place(by=by, order=order, without_prices=True).state == "placed"


def test_order_for_what_is_done_is_refused(by, room):
    finish(by, room, "taping")
    with pytest.raises(Refused, match="done"):
        draft(by, room, phases=["taping"])


def test_draft_whose_jobs_are_done_meanwhile_is_not_placed(by, room):
    order = draft(by, room, phases=["taping"])
    finish(by, room, "taping")
    with pytest.raises(Refused, match="done by now"):
        place(by, order)


def test_orders_of_single_rooms_buy_parts_of_what_the_whole_house_buys(
    by, house, room, dining, living
):
    item = "compound-drying"
    whole = {pack.name: pack.count for pack in standing_now(house).still_to_buy[item].packs}
    bought = {}
    for each in (room, dining, living):
        for line in order_all(by, each, phases=["taping"]).lines.filter(item=item):
            bought[line.pack] = bought.get(line.pack, 0) + line.packs
    bought.pop("", None)
    prices = dict(
        Pack.objects.filter(material__house=house, material__key=item).values_list("name", "price")
    )
    assert sum(prices[name] * count for name, count in bought.items()) == sum(
        prices[name] * count for name, count in whole.items()
    )


def test_batts_that_were_asked_for_are_drafted_ordered_and_told_on_the_phases_page(by, house, room):
    surface_choice_set(
        by=by,
        room=room,
        surface="A",
        insulation=insulation_entered(Decimal(13), Decimal(60), retarder=True, units="in"),
    )
    phase_set_state(by=by, phase=job_of(room, "insulation"), state="ready")
    order = draft(by, room, phases=["insulation"])
    assert {line.item for line in order.lines.all()} == {"batts-r13", "vapor-sheet"}
    receive(by, place(by, order))
    here = standing_now(house).supply
    # A bag holds 88 sq ft and a roll 250.
    assert (here["batts-r13"].here, here["vapor-sheet"].here) == (88, 250)
    finish(by, room, "insulation")
    here = standing_now(house).supply
    assert (here["batts-r13"].here, here["vapor-sheet"].here) == (28, 184)
