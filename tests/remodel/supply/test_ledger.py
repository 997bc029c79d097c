"""The ledger only grows; what is on hand is the sum of what moved."""

import pytest
from django.utils import timezone

from remodel.bridge.lengths import FOOT, amount
from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.supply.estimates import estimate, live
from remodel.supply.ledger import (
    balances,
    carry,
    count_left,
    count_sticks,
    find_missing,
    here_of,
    move,
    on_hand,
    reverse,
    run_out,
)
from remodel.supply.models import Material, Movement
from tests.remodel.factories import HouseFactory, ada, room_add_line

pytestmark = pytest.mark.django_db


@pytest.fixture
def house(by):
    return HouseFactory(owner=by.person)


@pytest.fixture
def room(by, house):
    """A room of the house, with the phases that every room has."""
    return room_add_line(by=by, house=house, name="Kitchen", line="12' x 10' x 8'")


def test_what_is_on_hand_is_what_came_less_what_went(by, house):
    for kind, value in (("received", 10), ("used", 3), ("spoiled", 1), ("returned", 2)):
        move(by=by, house=house, item="screws", kind=kind, amount=amount(value, "each"))
    assert on_hand(house, "screws", "each") == amount(4, "each")


def test_amounts_add_up_exactly_over_many_movements(by, house):
    for _ in range(30):
        move(by=by, house=house, item="mud", kind="received", amount=amount("1/3", "gal"))
    assert on_hand(house, "mud", "gal") == amount(10, "gal")


def test_count_writes_the_movement_that_makes_it_true(by, house):
    move(by=by, house=house, item="mud", kind="received", amount=amount("9/2", "gal"))
    movement = count_left(by=by, house=house, item="mud", remaining=amount(1, "gal"))
    assert (movement.kind, movement.amount) == ("used", amount("-7/2", "gal"))
    assert count_left(by=by, house=house, item="mud", remaining=amount(1, "gal")) is None


def test_count_of_more_than_the_ledger_knows_finds_the_rest(by, house):
    movement = count_left(by=by, house=house, item="mud", remaining=amount(2, "gal"))
    assert (movement.kind, movement.count, movement.amount) == ("found", True, amount(2, "gal"))


def test_what_ran_out_is_counted_as_zero(by, house):
    move(by=by, house=house, item="mud", kind="received", amount=amount("9/2", "gal"))
    movement = run_out(by=by, house=house, item="mud")
    assert (movement.kind, movement.count) == ("used", True)
    assert on_hand(house, "mud", "gal").value == 0


def test_what_nobody_knows_of_cannot_run_out(by, house):
    with pytest.raises(Refused, match="Nothing of this"):
        run_out(by=by, house=house, item="mud")


def test_fact_is_not_refused_for_want_of_stock(by, house):
    move(by=by, house=house, item="mud", kind="used", amount=amount(3, "gal"))
    assert here_of(house)["mud"].amount == -3
    assert balances(house) == []


def test_missing_stock_is_found_by_as_much_as_it_is_under_zero(by, house):
    move(by=by, house=house, item="mud", kind="used", amount=amount(3, "gal"))
    movement = find_missing(by=by, house=house, item="mud")
    assert (movement.kind, movement.amount) == ("found", amount(3, "gal"))
    assert on_hand(house, "mud", "gal").value == 0


def test_stock_that_is_not_under_zero_is_not_found_without_an_amount(by, house):
    move(by=by, house=house, item="mud", kind="received", amount=amount(3, "gal"))
    with pytest.raises(Refused, match="not under zero"):
        find_missing(by=by, house=house, item="mud")
    find_missing(by=by, house=house, item="mud", amount=amount(1, "gal"))
    assert on_hand(house, "mud", "gal") == amount(4, "gal")


def test_count_below_zero_is_refused(by, house):
    with pytest.raises(Refused):
        count_left(by=by, house=house, item="mud", remaining=amount(-1, "gal"))


def test_amount_that_is_measured_otherwise_is_refused(by, house):
    move(by=by, house=house, item="mud", kind="received", amount=amount(3, "gal"))
    with pytest.raises(Refused, match="gal"):
        move(by=by, house=house, item="mud", kind="used", amount=amount(3, "lb"))


def test_no_more_is_carried_than_is_here(by, house):
    move(by=by, house=house, item="mud", kind="received", amount=amount(3, "gal"))
    with pytest.raises(Refused, match="not so much here"):
        carry(by=by, house=house, item="mud", amount=amount(4, "gal"), to="Garage")
    carry(by=by, house=house, item="mud", amount=amount(3, "gal"), to="Garage")
    assert on_hand(house, "mud", "gal") == amount(3, "gal")


def test_reversal_counts_as_the_negative_of_what_it_reverses(by, house):
    movement = move(by=by, house=house, item="mud", kind="spoiled", amount=amount(2, "gal"))
    back = reverse(by=by, movement=movement)
    assert (back.kind, back.amount) == ("spoiled", amount(2, "gal"))
    with pytest.raises(Refused):
        reverse(by=by, movement=back)


def test_sticks_are_on_hand_length_by_length(by, house):
    Material.objects.create(house=house, key="2x4", name="2x4", cut=True)
    move(by=by, house=house, item="2x4", kind="received", amount=amount(8, "ft"), pieces=5)
    move(by=by, house=house, item="2x4", kind="received", amount=amount(12, "ft"), pieces=2)
    move(by=by, house=house, item="2x4", kind="used", amount=amount(8, "ft"), pieces=4)
    assert balances(house) == [("2x4", amount(8, "ft"), 1), ("2x4", amount(12, "ft"), 2)]
    with pytest.raises(Refused):
        count_left(by=by, house=house, item="2x4", remaining=amount(8, "ft"))


def test_sticks_that_are_counted_leave_other_lengths_alone(by, house):
    Material.objects.create(house=house, key="2x4", name="2x4", cut=True)
    move(by=by, house=house, item="2x4", kind="received", amount=amount(8, "ft"), pieces=5)
    move(by=by, house=house, item="2x4", kind="received", amount=amount(12, "ft"), pieces=2)
    count_sticks(by=by, house=house, item="2x4", remaining={8 * FOOT: 3, 10 * FOOT: 1})
    assert here_of(house, "2x4")["2x4"].sticks == {8 * FOOT: 3, 10 * FOOT: 1, 12 * FOOT: 2}
    stands = {8 * FOOT: 3}
    assert count_sticks(by=by, house=house, item="2x4", remaining=stands) is None
    with pytest.raises(Refused):
        count_sticks(by=by, house=house, item="2x4", remaining={8 * FOOT: -1})
    with pytest.raises(Refused):
        count_sticks(by=by, house=house, item="tape", remaining=stands)


def test_count_of_sticks_makes_facts_of_what_was_estimated(by, house, room):
    Material.objects.update_or_create(house=house, key="2x4", defaults={"name": "2x4", "cut": True})
    move(by=by, house=house, item="2x4", kind="received", amount=amount(8, "ft"), pieces=5)
    job = room.phases.get(key="framing")
    job.state, job.done_on = "done", timezone.localdate()
    job.save()
    estimate(job, [("2x4", 16_000, "ft")], sticks={"2x4": {8 * FOOT: 2}})
    assert here_of(house, "2x4")["2x4"].sticks == {8 * FOOT: 3}
    count_sticks(by=by, house=house, item="2x4", remaining={8 * FOOT: 3})
    assert not live(house).exists()
    assert here_of(house, "2x4")["2x4"].sticks == {8 * FOOT: 3}
    assert Movement.objects.get(kind="used").pieces == 2


def test_wrong_movement_is_taken_back_by_its_opposite_once(by, house):
    movement = move(by=by, house=house, item="screws", kind="used", amount=amount(3, "each"))
    reverse(by=by, movement=movement)
    assert on_hand(house, "screws", "each").value == 0
    assert Movement.objects.count() == 2
    with pytest.raises(Refused):
        reverse(by=by, movement=movement)


def test_movement_of_nothing_is_refused(by, house):
    with pytest.raises(Refused):
        move(by=by, house=house, item="screws", kind="used", amount=amount(0, "each"))


def test_movement_sent_twice_is_one(house):
    once = By(ada(), "posted-twice")
    for _ in range(2):
        move(by=once, house=house, item="screws", kind="received", amount=amount(3, "each"))
    assert Movement.objects.count() == 1
