"""Cutting sticks out of lengths on sale."""

from collections import Counter
from random import Random

import pytest

from takeoff.cutting.bounds import attainable, measured_bound
from takeoff.cutting.fill import cheap_cuts
from takeoff.cutting.knapsack import most_valuable
from takeoff.cutting.sticks import StickPlan, StickStock, cut_sticks
from takeoff.errors import BadValue
from takeoff.quantities import Cents
from takeoff.units import FOOT, INCH, SIXTEENTH, Nm

KERF = Nm(INCH // 8)


def ft(feet: float) -> Nm:
    return Nm(round(feet * FOOT))


def inches(*lengths: float) -> list[Nm]:
    return [Nm(round(length * INCH)) for length in lengths]


def sale(**prices: int) -> list[StickStock]:
    """`sale(ft8=398)`: 8 ft sticks at 3.98."""
    return [StickStock(ft(int(name[2:])), Cents(price), name) for name, price in prices.items()]


def bought(plan: StickPlan) -> Counter[float]:
    return Counter(stick.stock.length / FOOT for stick in plan.sticks if not stick.stock.owned)


def test_no_pieces_need_no_sticks():
    assert cut_sticks([], sale(ft8=398), kerf=KERF) == StickPlan(
        sticks=(), cost=Cents(0), bound=Cents(0)
    )


def test_each_stud_takes_its_own_stick_where_no_two_fit():
    plan = cut_sticks(inches(*[92.625] * 12), sale(ft8=398), kerf=KERF)
    assert bought(plan) == {8: 12}
    assert plan.cost == plan.bound == 12 * 398
    assert plan.proven


def test_two_halves_of_a_stick_do_not_fit_with_the_saw_between_them():
    assert bought(cut_sticks(inches(48, 48), sale(ft8=398), kerf=KERF)) == {8: 2}
    assert bought(cut_sticks(inches(48, 48), sale(ft8=398), kerf=Nm(0))) == {8: 1}
    assert bought(cut_sticks(inches(48, 47.875), sale(ft8=398), kerf=KERF)) == {8: 1}


def test_piece_as_long_as_the_stick_needs_no_cut():
    assert bought(cut_sticks(inches(96), sale(ft8=398), kerf=KERF)) == {8: 1}


def test_cheapest_mix_of_lengths_is_chosen():
    # two 5 ft pieces: one 10 ft stick is cheaper than two of 8 ft, and dearer than nothing else
    plan = cut_sticks([ft(5), ft(5), ft(8)], sale(ft8=398, ft10=512, ft16=955), kerf=Nm(0))
    assert bought(plan) == {10: 1, 8: 1}
    assert plan.cost == plan.bound == 910


def test_dear_long_stick_is_left_when_two_short_ones_cost_less():
    plan = cut_sticks([ft(8), ft(8)], sale(ft8=398, ft16=955), kerf=Nm(0))
    assert bought(plan) == {8: 2}


def test_longer_stick_that_costs_less_is_bought_instead():
    assert bought(cut_sticks([ft(8)], sale(ft8=500, ft10=400), kerf=Nm(0))) == {10: 1}


def test_owned_sticks_are_used_first_and_are_free():
    plan = cut_sticks(inches(60, 60, 30), sale(ft8=398), kerf=KERF, owned=inches(96))
    assert plan.cost == plan.bound == 398
    assert [stick.stock.owned for stick in plan.sticks] == [True, False]


def test_owned_stick_that_serves_nothing_is_not_listed():
    plan = cut_sticks(inches(60), sale(ft8=398), kerf=KERF, owned=inches(12))
    assert [stick.stock.length for stick in plan.sticks] == [ft(8)]


def test_owned_sticks_alone_may_be_enough():
    plan = cut_sticks(inches(60), sale(ft8=398), kerf=KERF, owned=inches(70))
    assert plan.cost == plan.bound == 0


def test_piece_longer_than_all_on_sale_comes_out_of_the_owned_stick_that_holds_it():
    plan = cut_sticks(inches(120, 60, 60), sale(ft8=398), kerf=KERF, owned=inches(180, 125))
    assert [stick.pieces for stick in plan.sticks] == [tuple(inches(60, 60)), tuple(inches(120))]
    assert plan.cost == 0


def test_owned_sticks_that_do_not_serve_all_long_pieces_are_refused():
    with pytest.raises(BadValue, match="the sticks on hand are not enough"):
        cut_sticks(inches(120, 120), sale(ft8=398), kerf=KERF, owned=inches(130))
    with pytest.raises(BadValue, match="the sticks on hand are not enough"):
        cut_sticks(inches(120, 60), [], kerf=KERF, owned=inches(130))
    assert cut_sticks(inches(120, 60), [], kerf=KERF, owned=inches(130, 70)).cost == 0


def test_piece_longer_than_every_stick_is_named_and_never_spliced():
    with pytest.raises(
        BadValue,
        match=r"""A piece 16' 1" long cannot be cut without a splice: the longest stick is 16'""",
    ):
        cut_sticks(inches(193, 20), sale(ft8=398, ft16=955), kerf=KERF)
    with pytest.raises(BadValue, match="no stick is on sale"):
        cut_sticks(inches(20), [], kerf=KERF)


@pytest.mark.parametrize(
    ("lengths", "kerf"), [([Nm(0)], 0), ([Nm(-5)], 0), ([ft(2000)], 0), ([ft(1)], -1)]
)
def test_lengths_that_cannot_be_are_refused(lengths, kerf):
    with pytest.raises(BadValue):
        cut_sticks(lengths, sale(ft8=398), kerf=Nm(kerf))


def test_negative_price_is_refused():
    with pytest.raises(BadValue, match="zero or more"):
        StickStock(ft(8), Cents(-1))


def test_free_stock_costs_nothing():
    plan = cut_sticks(inches(40, 40), sale(ft8=0, ft10=512), kerf=KERF)
    assert plan.cost == plan.bound == 0


def test_order_of_the_pieces_changes_nothing():
    lengths = inches(92, 40, 33, 71, 12, 12, 55, 60, 28)
    backwards = cut_sticks(lengths[::-1], sale(ft8=398, ft12=674), kerf=KERF)
    assert cut_sticks(lengths, sale(ft8=398, ft12=674), kerf=KERF) == backwards


def test_sticks_come_owned_first_then_longest_with_their_pieces_longest_first():
    plan = cut_sticks(
        inches(90, 100, 10, 50, 30), sale(ft8=398, ft10=512), kerf=KERF, owned=inches(61)
    )
    sticks = [(not stick.stock.owned, -stick.stock.length) for stick in plan.sticks]
    assert sticks == sorted(sticks)
    assert all(list(stick.pieces) == sorted(stick.pieces, reverse=True) for stick in plan.sticks)


def test_quick_cutting_of_two_hundred_pieces_is_within_two_percent_of_the_bound():
    random = Random(7)
    lengths = [Nm(random.randint(5 * 16, 190 * 16) * SIXTEENTH) for _ in range(200)]
    stock = sale(ft8=398, ft10=512, ft12=674, ft14=812, ft16=955)
    plan = cut_sticks(lengths, stock, kerf=KERF, prove_best=False)
    assert plan.cost <= cut_sticks(lengths, stock, kerf=KERF).bound * 1.02


def test_proving_narrows_the_gap_to_a_fifth_of_a_percent_on_a_mixed_list():
    random = Random(3)
    lengths = inches(
        *(
            random.choice([94, 92, 80, 37, 12, 33, 14, 110, random.randint(20, 190)])
            for _ in range(120)
        )
    )
    stock = sale(ft8=398, ft10=512, ft12=674, ft14=812, ft16=955)
    quick = cut_sticks(lengths, stock, kerf=KERF, prove_best=False)
    best = cut_sticks(lengths, stock, kerf=KERF)
    assert quick.bound <= best.bound <= best.cost <= quick.cost
    assert best.cost <= best.bound * 1.002


def test_bound_counts_pieces_over_half_a_stick_singly():
    assert measured_bound([(6, 5)], [(10, 1)]) == 5
    assert measured_bound([(5, 5)], [(10, 1)]) == 3


def test_bound_sees_what_a_long_piece_leaves_no_room_for():
    # a 7 leaves no room for a 4, so three of each take three sticks and half of three more
    assert measured_bound([(7, 3), (4, 3)], [(10, 1)]) == 5


def test_bound_is_a_sum_of_prices():
    assert attainable(900, [398, 512]) == 910
    assert attainable(0, [398]) == 0
    assert attainable(399, [398]) == 796
    assert attainable(5, [0, 7]) == 5


def test_most_valuable_filling_takes_no_piece_more_than_there_is():
    filling = most_valuable([5, 3, 2], [6, 4, 2], [1, 1, 9], 10, above=0, nodes=1000)
    assert filling.value == filling.limit == 12
    assert filling.takings[-1] == ((0, 1), (1, 1), (2, 1))


def test_stopped_search_for_the_most_valuable_says_what_it_could_have_been():
    filling = most_valuable([5, 4, 3], [50, 40, 31], [1, 2, 3], 10, above=0, nodes=1)
    assert filling.value < 102 <= filling.limit


def test_sticks_of_a_filling_are_as_long_as_their_stock_and_hold_every_piece():
    stock = [(96, 300), (120, 380), (144, 450)]
    wanted = [(90, 3), (50, 4), (30, 5)]
    cuts = cheap_cuts(wanted, stock, [], 0)
    assert [cut.length for cut in cuts] == [stock[cut.stock][0] for cut in cuts]
    assert all(sum(cut.pieces) <= cut.length for cut in cuts)
    assert Counter(piece for cut in cuts for piece in cut.pieces) == dict(wanted)
