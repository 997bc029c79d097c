"""The store has none: other sizes are planned and ordered, or another package, and undone."""

from __future__ import annotations

from collections import Counter

import pytest
from django.urls import reverse

from remodel.board.models import Plan
from remodel.board.queries import pile_result_of
from remodel.bridge.lengths import FOOT, INCH
from remodel.bridge.supply import size_of_sheet
from remodel.history.errors import Refused
from remodel.history.models import Change
from remodel.history.services import By, undo
from remodel.pages.supply.empty_shelf import other_packs, other_sizes
from remodel.supply.empty_shelf import (
    is_missing,
    other_plans,
    pack_take,
    sizes_back,
    sizes_take,
)
from remodel.supply.ledger import balances
from remodel.supply.models import Order, OrderLine
from remodel.supply.orders import order_line_tick, order_make, order_place, order_receive
from tests.remodel.factories import ada, ben, cy
from tests.remodel.page_forms import forms_of
from tests.remodel.site import browser
from tests.remodel.supply.steps import adds_up, hang, money_now, standing_now

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]

LOOSE = {"without_prices": True, "without_unmet": True, "unseen_framing": True}


@pytest.fixture
def order(by, house, room) -> Order:
    """The kitchen's board and taping, placed."""
    made = order_make(by=by, house=house, phases=["hanging", "taping"], rooms=[room])
    return order_place(by=by, order=made, **LOOSE)


def board_lines(order: Order) -> list[OrderLine]:
    return [
        line
        for line in OrderLine.objects.filter(order=order)
        if line.item.startswith("sheet-regular")
    ]


def to_miss(order: Order) -> OrderLine:
    """The board of which most sheets are bought."""
    return max(board_lines(order), key=lambda line: line.packs)


def take(by: By, line: OrderLine) -> Order:
    return sizes_take(by=by, line=line, made=other_plans(line, list(other_sizes(line))))


def planned(room) -> Counter[str]:
    """The whole sheets that the room's plans cut, by item, as the engine's result has them."""
    result = pile_result_of(room)
    return Counter(sheet.item for pool in result.pools for sheet in pool.plan.sheets)


def on_order(order: Order) -> Counter[str]:
    lines = OrderLine.objects.filter(order=order, packs__gt=0)
    found: Counter[str] = Counter()
    for line in lines:
        if size_of_sheet(line.item):
            found[line.item] += line.packs
    return found


def test_plan_and_order_go_without_the_size_and_agree_sheet_by_sheet(by, room, order):
    line = to_miss(order)
    assert planned(room) == on_order(order)

    take(by, line)

    assert line.item not in planned(room)
    assert planned(room) == on_order(order)
    plan = Plan.objects.get(room=room, board="regular", state=Plan.State.ORDERED)
    assert plan.why == Plan.Why.ORDERED
    line.refresh_from_db()
    assert is_missing(line)
    assert line.packs == 0


def test_claimed_and_free_are_the_supply_and_nobody_is_short(by, house, room, order):
    take(by, to_miss(order))
    standing = standing_now(house)

    for item in on_order(order):
        dealt = standing.dealt(item)
        assert adds_up(dealt)
        assert [share.short for share in dealt.shares if share.short] == []
        assert dealt.free_coming == 0


def test_money_on_its_way_is_what_the_order_costs_and_no_board_is_still_to_buy(by, house, order):
    before = money_now(house).all
    take(by, to_miss(order))
    after = money_now(house).all
    lines = OrderLine.objects.filter(order=order)

    assert after.on_its_way == sum(line.packs * line.price for line in lines)
    assert after.spent == before.spent == 0
    board = [item for item in standing_now(house).still_to_buy if item.startswith("sheet-regular")]
    assert board == []
    assert after.forecast == after.spent + after.on_its_way + after.to_buy


def test_what_came_and_what_is_in_the_cart_stays_and_is_planned_with(by, house, room, order):
    line = to_miss(order)
    order_receive(by=by, line=line, packs=1)
    others = [one for one in board_lines(order) if one.pk != line.pk and one.packs]
    cart = {one.item: one.packs for one in others}
    for one in others:
        order_line_tick(by=by, line=one, ticked=True)
    line = OrderLine.objects.get(pk=line.pk)

    take(by, line)

    line.refresh_from_db()
    assert line.packs == 1
    assert planned(room)[line.item] <= 1
    for item, packs in cart.items():
        assert on_order(order)[item] >= packs
        assert OrderLine.objects.get(order=order, item=item, packs__gt=0, ticked=True)
    here = {item: count for item, _, count in balances(house)}
    assert here[line.item] == 1


def test_it_is_there_after_all(by, house, room, order):
    line = to_miss(order)
    before = planned(room), on_order(order), money_now(house).all
    marks = {mark for pool in pile_result_of(room).pools for mark in marks_of(pool.plan)}
    take(by, line)

    line.refresh_from_db()
    sizes_back(by=by, line=line)

    line.refresh_from_db()
    assert not is_missing(line)
    assert (planned(room), on_order(order), money_now(house).all) == before
    now = {mark for pool in pile_result_of(room).pools for mark in marks_of(pool.plan)}
    assert now == marks  # cards that are printed are good again


def marks_of(plan) -> list[str]:
    return [sheet.code for sheet in plan.sheets]


def test_draft_is_made_anew_too_and_placed_without_the_size(by, house, room):
    draft = order_make(by=by, house=house, phases=["hanging"], rooms=[room])
    line = to_miss(draft)

    take(by, line)

    assert on_order(draft) == planned(room)
    assert line.item not in on_order(draft)
    placed = order_place(by=by, order=Order.objects.get(pk=draft.pk), **LOOSE)
    assert on_order(placed) == planned(room)


def test_boards_that_are_cut_keep_their_plan_and_the_sentence_says_what_to_do(by, house, room):
    draft = order_make(by=by, house=house, phases=["hanging"], rooms=[room])
    placed = order_place(by=by, order=draft, **LOOSE)
    line = to_miss(placed)
    hang(by, room, 1)

    with pytest.raises(Refused, match="are cut already, so its plan stays"):
        other_plans(line, list(other_sizes(line)))


def test_sizes_that_do_not_do_are_refused_with_what_to_tick(by, order):
    line = to_miss(order)

    with pytest.raises(Refused, match="Tick at least one size"):
        other_plans(line, [])


def test_undo_of_the_lines_alone_is_refused_and_leads_to_the_press_that_does_both(by, order):
    take(by, to_miss(order))
    group = Change.objects.filter(what__startswith="took other sizes").latest("id").group

    with pytest.raises(Refused, match="It is there after all"):
        undo(by=by, group=group)


def test_page_shows_first_and_writes_only_when_told_once(by, house, room, order):
    line = to_miss(order)
    client = browser(ada())
    address = reverse("order-line-instead", args=[line.pk])
    page = client.get(address).content.decode()
    form = next(one for one in forms_of(page, address) if one.action == address)
    before = on_order(order)

    shown = client.post(address, form.data({"show": ["yes"]}))
    text = shown.content.decode()
    assert "Plan now" in text
    assert "The order costs" in text
    assert on_order(order) == before
    assert planned(room) == before

    answer = client.post(address, form.data())
    assert answer.status_code == 302
    after = on_order(order)
    assert after != before
    assert client.post(address, form.data()).status_code == 302
    assert on_order(order) == after
    store = client.get(answer.url).content.decode()
    assert "The store had none" in store
    assert "It is there after all" in store

    there = reverse("order-line-there", args=[line.pk])
    assert client.post(there).status_code == 302
    assert on_order(order) == before
    assert client.post(there).status_code == 302
    assert on_order(order) == before


def test_who_ticked_the_line_meanwhile_is_seen_before_anything_is_planned(by, house, order):
    line = to_miss(order)
    address = reverse("order-line-instead", args=[line.pk])
    client = browser(ada())
    page = client.get(address).content.decode()
    form = next(one for one in forms_of(page, address) if one.action == address)
    order_line_tick(by=By(ben()), line=line, ticked=True)
    before = on_order(order)

    assert client.post(address, form.data()).status_code == 409
    assert on_order(order) == before


def test_strangers_and_who_may_look_only_find_no_page(order):
    line = to_miss(order)
    for name in ("order-line-instead", "order-line-there"):
        assert browser(cy()).post(reverse(name, args=[line.pk])).status_code == 404


def test_another_package_is_bought_in_place_of_one_that_is_gone(by, house, order):
    line = next(
        one
        for one in OrderLine.objects.filter(order=order, item="compound-drying")
        if one.packs and other_packs(one)
    )
    pack, count, words = other_packs(line)[0]
    supply = standing_now(house).supply[line.item].coming
    held = line.pack_amount.value * line.packs

    pack_take(by=by, line=line, pack=pack, packs=count)

    line.refresh_from_db()
    assert line.packs == 0
    assert str(count) in words
    other = OrderLine.objects.get(order=order, item=line.item, pack=pack.name)
    assert other.packs == count
    after = standing_now(house).supply[line.item].coming
    assert after == supply - held + pack.holds * count
    assert after >= supply


def test_size_on_the_page_is_one_that_gets_into_the_house(order):
    line = to_miss(order)
    assert all(length <= 16 * FOOT and width >= 24 * INCH for width, length in other_sizes(line))
