"""How supply is dealt out: in the order of claims, first from what is here."""

from collections import Counter
from fractions import Fraction
from random import Random

import pytest

from remodel.supply.dealing import Supply, Want, best_fit, deal
from tests.remodel.supply.steps import adds_up

FOOT = 304_800_000


def shares(dealt):
    return [(share.here, share.coming, share.short) for share in dealt.shares]


def wants(*amounts):
    return [Want(job=place, amount=Fraction(amount)) for place, amount in enumerate(amounts)]


def supply(here, coming=0):
    return Supply(here=Fraction(here), coming=Fraction(coming))


def sticks(*feet):
    return Counter(foot * FOOT for foot in feet)


def cut(jobs, here=(), coming=(), usual=None):
    """Deal sticks of whole feet out; one buys 8 ft sticks where nothing else is said."""
    wanted = [
        Want(
            job=place,
            amount=Fraction(sum(feet)),
            members=tuple(sorted((foot * FOOT for foot in feet), reverse=True)),
        )
        for place, feet in enumerate(jobs)
    ]
    there, way = sticks(*here), sticks(*coming)
    stock = Supply(
        here=Fraction(sum(here)), coming=Fraction(sum(coming)), sticks_here=there, sticks_coming=way
    )
    return deal(wanted, stock, usual=usual or (lambda members: sticks(*(8 for _ in members))))


def test_first_in_line_is_served_first():
    assert shares(deal(wants(4, 4), supply(6))) == [(4, 0, 0), (2, 0, 2)]


def test_job_takes_what_is_here_before_what_is_on_its_way():
    assert shares(deal(wants(4, 4), supply(3, 5))) == [(3, 1, 0), (0, 4, 0)]


def test_job_never_gets_more_than_it_takes_and_the_rest_is_free():
    dealt = deal(wants(2), supply(5, 3))
    assert (shares(dealt), dealt.free_here, dealt.free_coming) == ([(2, 0, 0)], 3, 3)


def test_what_is_on_its_way_fills_stock_under_zero_before_any_job():
    dealt = deal(wants(4), supply(-3, 5))
    assert (shares(dealt), dealt.hole, dealt.missing) == ([(0, 2, 2)], 0, 2)


def test_stock_under_zero_is_missing_beside_what_jobs_lack():
    dealt = deal(wants(4), supply(-3, 1))
    assert (shares(dealt), dealt.hole, dealt.missing) == ([(0, 0, 4)], 2, 6)


def test_shares_and_what_is_free_are_the_supply_whatever_is_dealt():
    random = Random(7)
    for _ in range(300):
        amounts = [Fraction(random.randint(0, 40), 3) for _ in range(random.randint(0, 5))]
        stock = supply(Fraction(random.randint(-30, 60), 2), Fraction(random.randint(0, 60), 7))
        dealt = deal(wants(*amounts), stock)
        assert adds_up(dealt)
        for share, amount in zip(dealt.shares, amounts, strict=True):
            assert share.here + share.coming + share.short == amount


def test_two_supplies_with_as_much_in_all_leave_every_job_as_short():
    here, coming = deal(wants(4, 9), supply(6)), deal(wants(4, 9), supply(1, 5))
    assert [share.short for share in here.shares] == [share.short for share in coming.shares]


def test_sticks_are_dealt_out_whole():
    dealt = cut([(5,), (3,)], here=(8,))
    assert [share.sticks_here for share in dealt.shares] == [sticks(8), Counter()]
    assert dealt.shares[1].lacking == (3 * FOOT,)


def test_sticks_that_one_would_buy_for_a_job_reach_it():
    dealt = cut(
        [(7,), (9,)],
        here=(8, 10),
        usual=lambda members: sticks(*(8 if member <= 8 * FOOT else 10 for member in members)),
    )
    assert [share.sticks_here for share in dealt.shares] == [sticks(8), sticks(10)]


def test_other_sticks_serve_where_the_usual_ones_are_not_there():
    dealt = cut([(5, 4)], here=(10,))
    assert (dealt.shares[0].sticks_here, dealt.shares[0].lacking) == (sticks(10), ())


def test_sticks_that_arrive_go_to_the_job_they_were_coming_for():
    before = cut([(7,), (7,)], here=(8,), coming=(8,))
    after = cut([(7,), (7,)], here=(8, 8))
    assert [share.coming for share in before.shares] == [0, 8]
    assert [share.short for share in before.shares] == [share.short for share in after.shares]


def test_sticks_that_no_job_takes_are_free_by_length():
    dealt = cut([(7,)], here=(8, 12, 12))
    assert (dealt.free_sticks, dealt.free_here) == (sticks(12, 12), 24)


def test_member_longer_than_every_stick_is_lacking():
    dealt = cut([(14,)], here=(12,))
    assert (dealt.shares[0].lacking, dealt.free_here) == ((14 * FOOT,), 12)


def test_saw_takes_its_kerf_between_two_members_of_a_stick():
    members = (4 * FOOT, 4 * FOOT)
    assert best_fit(members, sticks(8), 0) == (sticks(8), ())
    assert best_fit(members, sticks(8), 1) == (sticks(8), (4 * FOOT,))


@pytest.mark.parametrize("seed", range(20))
def test_members_that_fit_take_no_more_than_the_sticks_hold(seed):
    random = Random(seed)
    members = [random.randint(1, 12) * FOOT for _ in range(random.randint(1, 12))]
    there = sticks(*(random.choice((8, 10, 12)) for _ in range(random.randint(0, 8))))
    taken, lacking = best_fit(members, there, FOOT // 100)
    assert taken <= there
    fitted = Counter(members) - Counter(lacking)
    assert sum(fitted.elements()) <= sum(taken.elements())
