"""Money in three parts that never overlap, to the cent."""

import pytest

from remodel.bridge.lengths import amount
from remodel.supply import orders
from remodel.supply.ledger import move
from remodel.supply.models import Pack, SheetOnSale
from remodel.supply.money import HOUSE, Parts, _spread
from remodel.supply.services import prices_confirm
from tests.remodel.site import with_partition
from tests.remodel.supply.steps import (
    BOARD_WORK,
    coat,
    draft,
    finish,
    hang,
    job_of,
    money_now,
    order_all,
    place,
    receive,
    standing_now,
)

pytestmark = pytest.mark.django_db


def forecast(house):
    return money_now(house).all.forecast


def spread(cents, *weights):
    rows = {}
    _spread(rows, 0, cents, list(enumerate(weights)))
    return [row[0] for row in rows.values()]


def log_the_estimate(by, house, room, phase):
    """Log exactly what a phase of a room takes."""
    standing = standing_now(house)
    for item, needs in standing.needs.items():
        for need in needs:
            if need.job == job_of(room, phase).pk and not standing.shop.is_cut(item):
                move(
                    by=by,
                    house=house,
                    item=item,
                    kind="used",
                    amount=amount(need.amount, need.unit),
                    room=room,
                    phase=phase,
                )


def test_forecast_stays_to_the_cent_from_the_order_to_the_last_coat(by, house, room, dining):
    before = forecast(house)
    order = order_all(by, room, phases=BOARD_WORK)
    assert forecast(house) == before
    receive(by, order)
    assert forecast(house) == before
    hang(by, room)
    assert forecast(house) == before
    coat(by, room, "taped", "second", "third", "sanded", "primed", "painted")
    assert forecast(house) == before
    finish(by, room, *BOARD_WORK)
    assert forecast(house) == before
    receive(by, order_all(by, dining, phases=BOARD_WORK))
    assert forecast(house) == before


def test_logging_exactly_the_estimate_leaves_the_forecast_as_it_is(by, house, room):
    receive(by, order_all(by, room, phases=["taping"]))
    before = forecast(house)
    log_the_estimate(by, house, room, "taping")
    assert standing_now(house).dealt("tape-paper").short > 0
    coat(by, room, "taped", "second", "third")
    finish(by, room, "taping")
    assert forecast(house) == before


def test_done_without_ticks_or_logs_leaves_the_forecast_as_it_is(by, house, room):
    receive(by, order_all(by, room, phases=BOARD_WORK))
    before = forecast(house)
    finish(by, room, *BOARD_WORK)
    assert forecast(house) == before


def test_sticks_leave_the_forecast_as_it_is_from_the_order_to_done(by, house, room, dining):
    for each in (room, dining):
        with_partition(each, by.person)
    before = forecast(house)
    order = order_all(by, room, phases=["partitions"])
    assert any(standing_now(house).shop.is_cut(line.item) for line in order.lines.all())
    assert forecast(house) == before
    receive(by, order)
    assert forecast(house) == before
    finish(by, room, "partitions")
    assert forecast(house) == before
    order_all(by, dining, phases=["partitions"])
    assert forecast(house) == before


def test_part_of_an_order_that_came_moves_from_its_way_to_spent(by, house, room):
    order = order_all(by, room)
    before = money_now(house).all
    line = order.lines.exclude(pack="").first()
    orders.order_receive(by=by, line=line, packs=1)
    after = money_now(house).all
    assert (after.spent, after.on_its_way, after.to_buy) == (
        line.price,
        before.on_its_way - line.price,
        before.to_buy,
    )


def test_what_came_dearer_raises_the_forecast_by_as_much(by, house, room):
    order = order_all(by, room)
    before = forecast(house)
    line = order.lines.exclude(pack="").first()
    orders.order_receive(by=by, line=line, packs=1, paid=line.price + 250)
    assert forecast(house) == before + 250


def test_delivery_of_some_is_not_booked_as_delivery_of_all(by, house, room):
    line = order_all(by, room).lines.filter(packs__gte=2).first()
    orders.order_receive(by=by, line=line, packs=line.packs - 1)
    assert money_now(house).all.spent == (line.packs - 1) * line.price


def test_rows_of_the_jobs_and_of_the_house_add_up(by, house, room, dining):
    receive(by, order_all(by, room, phases=["hanging", "taping"]))
    order_all(by, dining, phases=["hanging"])
    money = money_now(house)
    assert sum(money.rows.values(), Parts()) == money.all
    assert {job_of(room).pk, job_of(dining).pk, HOUSE} <= set(money.rows)
    assert all(min(row.spent, row.on_its_way, row.to_buy) >= 0 for row in money.rows.values())


def test_sheets_of_a_room_are_paid_by_that_room(by, house, room, dining):
    order = order_all(by, room)
    board = sum(line.cost for line in order.lines.all() if line.item.startswith("sheet-"))
    rows = money_now(house).rows
    assert rows[job_of(room).pk].on_its_way >= board
    assert job_of(dining).pk not in {
        job for job, row in rows.items() if row.on_its_way or row.spent
    }


def test_what_is_added_by_hand_is_the_house_s(by, house, room):
    order = draft(by, room, phases=["hanging"])
    pack = Pack.objects.get(material__house=house, material__key="2x2")
    before = money_now(house)
    orders.order_line_add(by=by, order=order, pack=pack, packs=3, reason="For the garage")
    place(by, order)
    after = money_now(house)
    assert after.all.forecast == before.all.forecast + 3 * pack.price
    assert after.rows[HOUSE].forecast >= before.rows[HOUSE].forecast + 3 * pack.price


def test_packs_beyond_what_was_worked_out_are_the_house_s(by, house, room):
    order = draft(by, room)
    line = next(line for line in order.lines.all() if line.item.startswith("sheet-"))
    orders.order_line_set(by=by, line=line, packs=line.packs + 2, reason="Two spare")
    before = money_now(house)
    place(by, order)
    after = money_now(house)
    assert after.rows[HOUSE].on_its_way >= 2 * line.price
    assert after.all.forecast == before.all.forecast + 2 * line.price


def test_cents_go_to_the_largest_remainders():
    assert spread(100, 1, 1, 1) == [34, 33, 33]
    assert spread(10, 2, 3, 2) == [3, 4, 3]
    assert spread(1, 1, 5) == [0, 1]
    assert spread(-10, 1, 2) == [-3, -7]


@pytest.mark.parametrize("cents", [1, 99, 1234, -777])
def test_no_cent_is_lost_or_made_in_sharing(cents):
    for weights in ((1,), (1, 2, 3), (7, 7, 7, 7, 1), (1000, 1)):
        assert sum(spread(cents, *weights)) == cents


def test_prices_nobody_confirmed_are_told_apart(by, house, room):
    money = money_now(house)
    assert money.sample == money.all.to_buy > 0
    sheets = [*SheetOnSale.objects.filter(house=house)]
    prices_confirm(by=by, house=house, priced=sheets)
    assert 0 < money_now(house).sample < money.sample
    prices_confirm(by=by, house=house, priced=[*sheets, *Pack.objects.all()])
    house.refresh_from_db()
    assert money_now(house).sample == 0


def test_what_nothing_on_sale_meets_is_named_and_costs_nothing(by, house, room):
    before = money_now(house)
    Pack.objects.filter(material__house=house, material__key="tape-paper").delete()
    after = money_now(house)
    assert len(after.unmet) == 1
    assert after.all.to_buy < before.all.to_buy


def test_draft_costs_nothing_yet(by, house, room):
    before = money_now(house).all
    draft(by, room)
    assert money_now(house).all == before
