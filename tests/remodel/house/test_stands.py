"""A room's needs say how far they are met, from the same figures as orders and stock."""

import pytest

from remodel.pages.house.stands import stands_of
from remodel.supply import orders
from remodel.supply.ledger import move
from tests.remodel.supply.steps import hang

pytestmark = pytest.mark.django_db


def placed(by, house, room):
    order = orders.order_make(by=by, house=house, phases=["hanging"], rooms=[room])
    return orders.order_place(by=by, order=order, without_prices=True, unseen_framing=True)


def test_nothing_is_said_of_a_house_in_which_nothing_was_bought(house, room):
    assert stands_of(room) == {}


def test_what_is_ordered_is_on_its_way_and_then_here(by, house, room):
    line = placed(by, house, room).lines.filter(item__startswith="sheet-").first()
    assert stands_of(room)["hanging", line.item] == f"{line.packs} on its way"
    orders.order_receive(by=by, line=line, packs=line.packs)
    assert stands_of(room)["hanging", line.item] == f"{line.packs} here for it"


def test_what_hangs_is_in_place_and_what_is_spoiled_is_short(by, house, room):
    line = placed(by, house, room).lines.filter(item__startswith="sheet-").first()
    orders.order_receive(by=by, line=line, packs=line.packs)
    move(by=by, house=house, item=line.item, kind="spoiled", amount=line.pack_amount)
    short = stands_of(room)["hanging", line.item]
    assert short == f"{line.packs - 1} here for it, 1 short"
    hang(by, room)
    assert stands_of(room)["hanging", line.item] == "All of it is in place"
