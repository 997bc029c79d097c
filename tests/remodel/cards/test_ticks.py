"""What ticks do to stock: sheets leave and come back, estimates are used, undo and removal are
refused."""

from __future__ import annotations

from fractions import Fraction

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from remodel.board.queries import takes_of_house
from remodel.bridge.lengths import FOOT, INCH, amount
from remodel.cards.models import DoneMark
from remodel.history.errors import Refused
from remodel.history.queries import last_group
from remodel.history.services import undo
from remodel.house.models import Room
from remodel.house.services import room_remove, room_resize
from remodel.logbook import day_log_add
from remodel.supply.estimates import rough_by_item
from remodel.supply.ledger import here_of, move
from remodel.supply.ledger import reverse as take_back_movement
from remodel.supply.models import CutSheet, Estimate, Movement
from remodel.ticks import Ticked, tick, tick_all
from remodel.work.models import DayLog
from remodel.work.services import phase_set_state

pytestmark = pytest.mark.django_db


def takes(room):
    return takes_of_house(room.house_id)[room.pk]


def sheet_with_pieces(room, least=2):
    """A sheet bought whole that so many pieces are cut from."""
    return next(
        sheet for sheet in takes(room).sheets if sheet.source is None and len(sheet.pieces) >= least
    )


def here(room, item):
    found = here_of(room.house, item).get(item)
    return found.amount if found else Fraction(0)


@pytest.fixture
def longer(room, by):
    """The kitchen, longer than any sheet, so that some give two pieces."""
    room_resize(by=by, room=room, length=16 * FOOT, width=10 * FOOT)
    return Room.objects.get(pk=room.pk)


def test_sheet_leaves_the_stock_with_its_first_piece_and_comes_back_with_its_last(longer, by):
    room = longer
    item = sheet_with_pieces(room).item
    move(by=by, house=room.house, item=item, kind="received", amount=amount(9, "each"))
    # What is here may change the plan.
    sheet = sheet_with_pieces(room)
    (_, first), (_, second), *_ = sheet.pieces
    balances = []
    for piece, done in ((first, True), (second, True), (first, False), (second, False)):
        tick(by=by, room=room, kind="cut", item=piece, done=done)
        balances.append(here(room, sheet.item))

    assert balances == [8, 8, 8, 9]
    assert not CutSheet.objects.exists()


def test_cut_of_a_board_that_hangs_is_not_taken_back(room, by):
    place = takes(room).places[0]
    tick(by=by, room=room, kind="hung", item=place.key)
    with pytest.raises(Refused, match="hangs, so it was cut"):
        tick(by=by, room=room, kind="cut", item=place.key, done=False)
    tick(by=by, room=room, kind="hung", item=place.key, done=False)
    tick(by=by, room=room, kind="cut", item=place.key, done=False)

    assert not DoneMark.objects.filter(done=True).exists()
    assert not rough_by_item(room.house)


def test_several_ticks_are_refused_as_a_whole(room, by):
    one, two, *_ = takes(room).places
    tick(by=by, room=room, kind="hung", item=two.key)
    tick(by=by, room=room, kind="cut", item=one.key)
    ticks = [Ticked("cut", place.key) for place in (one, two)]
    with pytest.raises(Refused):
        tick_all(by=by, room=room, ticks=ticks, done=False)

    assert DoneMark.objects.filter(kind="cut", done=True).count() == 2


def test_all_that_hangs_uses_what_its_takes_add_up_to(room, by):
    mine = takes(room)
    tick_all(by=by, room=room, ticks=[Ticked("hung", place.key) for place in mine.places])
    wanted: dict[str, int] = {}
    for take in mine.takes:
        if take.kind == "hung":
            wanted[take.item] = wanted.get(take.item, 0) + take.amount

    used = {item: rough.amount * 1000 for item, rough in rough_by_item(room.house).items()}
    assert wanted
    assert used == wanted


def test_board_cut_by_a_plan_that_fell_stays_cut_and_its_sheet_is_put_back_with_its_tick(room, by):
    place = takes(room).places[0]
    tick(by=by, room=room, kind="cut", item=place.key)
    room_resize(by=by, room=room, length=12 * FOOT + INCH, width=11 * FOOT)
    assert CutSheet.objects.count() == 1
    tick(by=by, room=room, kind="cut", item=place.key, done=False)
    assert not CutSheet.objects.exists()
    tick(by=by, room=room, kind="cut", item=place.key)
    assert CutSheet.objects.count() == 1


def test_coat_that_no_surface_asks_for_is_refused(room, by):
    with pytest.raises(Refused, match="does not ask"):
        tick(by=by, room=room, kind="second", item="Z")
    assert not DoneMark.objects.exists()


def test_log_of_sheets_replaces_what_ticks_cut_and_taking_it_back_restores_them(longer, by):
    room = longer
    sheet = sheet_with_pieces(room)
    move(by=by, house=room.house, item=sheet.item, kind="received", amount=amount(9, "each"))
    tick(by=by, room=room, kind="cut", item=sheet.pieces[0][1])
    hanging = room.phases.get(key="hanging")
    used = [(sheet.item, amount(3, "each"), 1)]
    day_log_add(by=by, room=room, phase=hanging, used=used)
    assert here(room, sheet.item) == 6
    told = Movement.objects.get(kind="used")
    assert told.log == DayLog.objects.get()
    take_back_movement(by=by, movement=told)

    assert here(room, sheet.item) == 8
    assert CutSheet.objects.get().movement is not None


def test_ticks_are_not_undone_from_the_history(room, by):
    place = takes(room).places[0]
    mark = tick(by=by, room=room, kind="hung", item=place.key)
    with pytest.raises(Refused, match="take it back where it was ticked"):
        undo(by=by, group=last_group(mark.pk))

    assert Estimate.objects.exists()


def test_room_with_work_in_it_stays_and_is_closed_instead(room, by):
    tick(by=by, room=room, kind="taped", item="A")
    day_log_add(by=by, room=room, phase=room.phases.get(key="taping"), minutes=90)
    with pytest.raises(Refused, match="set its phases to done"):
        room_remove(by=by, room=room)
    for phase in room.phases.all():
        phase_set_state(by=by, phase=phase, state="done")

    room.refresh_from_db()
    assert room.deleted_at is None
    assert DayLog.objects.get().minutes == 90


def test_one_tick_takes_a_bounded_number_of_queries(room, by):
    places = takes(room).places
    tick(by=by, room=room, kind="hung", item=places[0].key)
    counts = []
    for place in places[1:4]:
        with CaptureQueriesContext(
            connection,
        ) as queries:
            tick(by=by, room=room, kind="hung", item=place.key)
        counts.append(len(queries))

    # PostgreSQL is asked for the turn of writing too.
    assert max(counts) <= (30 if connection.vendor == "postgresql" else 29)
