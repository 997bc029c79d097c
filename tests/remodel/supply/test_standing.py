"""Where a house stands: what is here and on its way, for whom, free, and short."""

from fractions import Fraction

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from remodel.bridge.lengths import FOOT, amount
from remodel.bridge.supply import sheet_key
from remodel.house.services import room_change
from remodel.house_files.new import house_add
from remodel.supply.ledger import move
from remodel.supply.models import Movement, SheetOnSale
from remodel.supply.services import sheet_remove
from remodel.work.services import phase_change, phase_set_state
from tests.remodel.factories import room_add_line
from tests.remodel.supply.steps import (
    BOARD_WORK,
    adds_up,
    coat,
    draft,
    finish,
    hang,
    in_packs,
    job_of,
    order_all,
    receive,
    sheets_of,
    standing_now,
)

pytestmark = pytest.mark.django_db


def needed(standing, job):
    """What a job still takes of each size of sheet."""
    return {
        item: need.amount
        for item in sheets_of(standing)
        for need in standing.needs[item]
        if need.job == job.pk
    }


def every_identity_holds(standing):
    assert standing.items
    return all(adds_up(standing.dealt(item)) for item in standing.items)


def test_goods_that_are_here_for_one_room_are_not_here_for_the_next(by, house, room, dining):
    receive(by, order_all(by, room))
    lines = list(draft(by, dining).lines.all())
    takes = needed(standing_now(house), job_of(dining))
    assert takes
    assert {item: in_packs(lines, item) for item in takes} == takes


def test_rooms_ordered_one_after_the_other_buy_every_sheet_they_need(
    by, house, room, dining, living
):
    standing = standing_now(house)
    takes = {
        item: sum(need.amount for need in standing.needs[item]) for item in sheets_of(standing)
    }
    lines = []
    for each in (room, dining, living):
        order = order_all(by, each)
        receive(by, order)
        lines += order.lines.all()
    assert {item: in_packs(lines, item) for item in takes} == takes


def test_what_hangs_is_not_bought_again(by, house, room):
    receive(by, order_all(by, room))
    hang(by, room, 3)
    assert [line for line in draft(by, room).lines.all() if line.packs] == []


def test_board_of_a_room_that_hangs_is_needed_no_more(by, house, room):
    receive(by, order_all(by, room))
    hang(by, room)
    standing = standing_now(house)
    assert sheets_of(standing) == []
    assert {item: standing.supply[item].here for item in standing.supply if "sheet-" in item} == (
        dict.fromkeys([item for item in standing.supply if "sheet-" in item], 0)
    )


def test_fully_hung_house_asks_for_no_board_even_where_none_was_ever_received(by, house, room):
    hang(by, room)
    standing = standing_now(house)
    assert any(here.amount < 0 for item, here in standing.here.items() if "sheet-" in item)
    assert [item for item in standing.still_to_buy if item.startswith("sheet-")] == []


def test_first_tick_of_a_sheet_takes_it_out_of_stock_whole(by, house, room):
    receive(by, order_all(by, room))
    before = standing_now(house)
    hang(by, room, 1)
    after = standing_now(house)
    cut = Movement.objects.get(house=house, kind="cut")
    assert after.supply[cut.item].here == before.supply[cut.item].here - 1


def test_need_and_stock_fall_together_as_boards_hang(by, house, room):
    receive(by, order_all(by, room))
    for count in range(1, 5):
        hang(by, room, count)
        standing = standing_now(house)
        for item in standing.items:
            dealt = standing.dealt(item)
            assert dealt.short == 0, item


def test_log_does_not_lower_what_is_still_needed(by, house, room):
    receive(by, order_all(by, room, phases=["taping"]))
    before = standing_now(house).needs["tape-paper"]
    move(
        by=by,
        house=house,
        item="tape-paper",
        kind="used",
        amount=amount(40, "ft"),
        room=room,
        phase="taping",
    )
    assert standing_now(house).needs["tape-paper"] == before


def test_coat_lowers_what_is_still_needed_by_its_part(by, house, room):
    compound = "compound-drying"
    before = sum(need.amount for need in standing_now(house).needs[compound])
    coat(by, room, "taped")
    first = sum(need.amount for need in standing_now(house).needs[compound])
    coat(by, room, "second", "third")
    assert 0 < first < before
    assert compound not in standing_now(house).needs


def test_done_and_left_out_phases_take_nothing(by, house, room, dining):
    finish(by, room, "hanging")
    phase_change(by=by, phase=job_of(dining), left_out=True)
    assert sheets_of(standing_now(house)) == []


def test_reopened_phase_takes_again_what_is_not_ticked(by, house, room):
    before = standing_now(house).needs
    finish(by, room, "hanging")
    phase_set_state(by=by, phase=job_of(room), state="in progress")
    assert standing_now(house).needs == before


def test_claimed_and_free_are_the_supply_at_every_step(by, house, room, dining):
    assert every_identity_holds(standing_now(house))
    order = order_all(by, room, phases=BOARD_WORK)
    assert every_identity_holds(standing_now(house))
    receive(by, order, items=sheets_of(standing_now(house)))
    hang(by, room, 4)
    assert every_identity_holds(standing_now(house))
    room_change(by=by, room=room, ceiling_height=9 * FOOT)
    assert every_identity_holds(standing_now(house))
    order_all(by, dining, phases=BOARD_WORK)
    assert every_identity_holds(standing_now(house))


def test_larger_room_says_how_much_it_is_short(by, house, room):
    receive(by, order_all(by, room, phases=["taping"]))
    room_change(by=by, room=room, ceiling_height=16 * FOOT)
    dealt = standing_now(house).dealt("tape-paper")
    assert dealt.shares[0].short == dealt.shares[0].need - dealt.supply.here > 0


def test_smaller_room_frees_what_it_no_longer_takes(by, house, room):
    receive(by, order_all(by, room, phases=["taping"]))
    before = standing_now(house).dealt("tape-paper").free_here
    room_change(by=by, room=room, ceiling_height=4 * FOOT)
    dealt = standing_now(house).dealt("tape-paper")
    assert dealt.free_here == dealt.supply.here - dealt.shares[0].need > before


def test_size_that_is_sold_no_more_is_used_up_from_stock(by, house, room):
    receive(by, order_all(by, room))
    standing = standing_now(house)
    item = sheets_of(standing)[0]
    before = standing.dealt(item)
    for sheet in SheetOnSale.objects.filter(house=house):
        if (sheet.board, sheet.width, sheet.length) == _size(item, house):
            sheet_remove(by=by, sheet=sheet)
    after = standing_now(house)
    assert after.dealt(item).supply == before.supply
    assert item not in after.still_to_buy
    assert after.shop.name(item)


def _size(item, house):
    return next(
        (sheet.board, sheet.width, sheet.length)
        for sheet in SheetOnSale.all_objects.filter(house=house)
        if sheet_key(sheet.board, sheet.thickness, sheet.width, sheet.length) == item
    )


def test_what_is_written_in_another_unit_is_counted_in_the_unit_of_the_need(by, house, room):
    move(by=by, house=house, item="tape-paper", kind="found", amount=amount(10, "m"))
    standing = standing_now(house)
    assert standing.units["tape-paper"] == "ft"
    assert standing.supply["tape-paper"].here == Fraction(10_000, 1) / Fraction("304.8")


def test_what_is_measured_otherwise_serves_no_job(by, house, room):
    move(by=by, house=house, item="compound-drying", kind="found", amount=amount(10, "lb"))
    dealt = standing_now(house).dealt_to_all("compound-drying")
    assert dealt.supply.here == 0
    assert dealt.short == dealt.shares[0].need


def test_metric_house_is_dealt_out_exactly_too(by):
    house = house_add(by=by, name="Quay flat", units="mm", currency="EUR")
    rooms = [
        room_add_line(by=by, house=house, name=name, line="3600 x 3000 x 2400")
        for name in ("Study", "Hall")
    ]
    receive(by, order_all(by, rooms[0], phases=BOARD_WORK))
    hang(by, rooms[0], 3)
    coat(by, rooms[0], "taped")
    standing = standing_now(house)
    assert every_identity_holds(standing)
    assert all(standing.dealt(item).short == 0 for item in standing.items)
    lines = list(draft(by, rooms[1]).lines.all())
    takes = needed(standing, job_of(rooms[1]))
    assert {item: in_packs(lines, item) for item in takes} == takes


def test_standing_takes_as_many_queries_however_many_orders_and_rooms(by, house, room, dining):
    with CaptureQueriesContext(connection) as few:
        standing_now(house)
    for each in (room, dining):
        receive(by, order_all(by, each))
    room_add_line(by=by, house=house, name="Living", line="12' x 10' x 8'")
    with CaptureQueriesContext(connection) as many:
        standing_now(house)
    assert len(many) == len(few)
