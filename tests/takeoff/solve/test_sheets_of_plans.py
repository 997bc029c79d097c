"""The programme's prices and lists against every sheet that every plan of a small room can be cut
from."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from random import Random

import pytest

from takeoff.framing.members import Member
from takeoff.solve.compatible import Compatible
from takeoff.solve.compile_network import compile_pool
from takeoff.solve.network import MONEY, Network
from takeoff.solve.pattern_sources import ByKnapsack, BySearch
from takeoff.solve.patterns import TooMany, patterns_within
from takeoff.solve.relaxation import Relaxation, links
from tests.takeoff.boards.hand import CUTTING, framed, member, sheet, stated
from tests.takeoff.solve.plans import sheets_of

# two or three small walls each; some with strips that would share too much
SEEDS = (10, 12, 17, 18, 21, 22, 29, 36)


@cache
def drawn(seed: int) -> Network:
    """Walls of one room with members anywhere, full rows and ripped ones."""
    random = Random(seed)
    prices = sheet(6, random.randrange(800, 1100)), sheet(8, random.randrange(1100, 1500))

    def wall(name: str, heights: tuple[int, ...]):
        width, height, first = (
            random.randrange(50, 112),
            random.choice(heights),
            random.randrange(3, 24),
        )
        places = sorted({0, *range(first, width, 24), width})
        members: tuple[Member, ...] = tuple(member(at, 0, height) for at in places)
        return framed(width, height, id=f"r1/{name}", members=members)

    walls = [wall("a", (20, 30, 48, 60, 68, 72, 96)), wall("b", (14, 20, 28))]
    if random.random() < 0.5:
        walls.append(wall("c", (14, 20, 28)))
    return compile_pool(stated(*walls, rules=replace(CUTTING, sheets=prices)))


@cache
def sheets(seed: int) -> set[tuple[int, tuple[int, ...]]]:
    return sheets_of(drawn(seed))


def by_knapsack(net: Network) -> Relaxation:
    return Relaxation(net)


def by_search(net: Network) -> Relaxation:
    knapsack, chain = ByKnapsack(net), links(net)
    Relaxation(net, source=knapsack).solve()  # so that the groups that matter are counted
    search = BySearch(knapsack, chain, Compatible(net, chain), most=500, steps=50_000)
    return Relaxation(net, source=search)


@pytest.mark.parametrize("seed", SEEDS)
def test_sizes_on_a_sheet_of_a_plan_go_together(seed):
    net = drawn(seed)
    compatible = Compatible(net, links(net))
    for _, sizes in sheets(seed):
        assert compatible.together(sizes)
        assert compatible.may_stand_for(sizes)


@pytest.mark.parametrize("programme", [by_knapsack, by_search])
@pytest.mark.parametrize("seed", SEEDS)
def test_no_sheet_of_any_plan_is_worth_more_than_it_costs(seed, programme):
    net = drawn(seed)
    dual = programme(net).solve()
    assert dual is not None
    for stock, sizes in sheets(seed):
        assert (
            sum(dual.prices.sizes[i] for i in sizes)
            <= dual.stock[stock]
            == net.stock[stock].price * MONEY
        )


@pytest.mark.parametrize("seed", SEEDS)
def test_bound_from_patterns_of_plans_alone_is_no_less(seed):
    one, other = by_knapsack(drawn(seed)).solve(), by_search(drawn(seed)).solve()
    assert one is not None
    assert other is not None
    assert other.value >= one.value - MONEY


def test_bound_from_patterns_of_plans_alone_can_be_much_more():
    one, other = by_knapsack(drawn(29)).solve(), by_search(drawn(29)).solve()
    assert one is not None
    assert other is not None
    assert other.value > one.value * 1.01


@pytest.mark.parametrize("cents", [1, 80, 300])
@pytest.mark.parametrize("seed", SEEDS)
def test_every_sheet_of_a_plan_within_the_gap_is_listed_or_is_a_lesser_form_of_one_that_is(
    seed, cents
):
    net, gap = drawn(seed), cents * MONEY
    relaxation = by_search(net)
    dual = relaxation.solve()
    assert dual is not None
    source = relaxation.source
    assert isinstance(source, BySearch)
    values = dual.prices.sizes
    listed: dict[int, list[tuple[int, ...]]] = {}
    for pattern in patterns_within(
        net,
        source.knapsack.stock_groups,
        values,
        dual.stock,
        source.links,
        gap,
        most=50_000,
        compatible=source.compatible,
    ):
        assert dual.stock[pattern.stock] - sum(values[i] for i in pattern.sizes) <= gap
        listed.setdefault(pattern.stock, []).append(pattern.sizes)
    below = {i: {i} for i in range(len(net.sizes))}
    for _ in net.sizes:
        for larger, smaller in source.links:
            below[larger] |= below[smaller]

    def covers(big: tuple[int, ...], small: tuple[int, ...]) -> bool:
        if not small:
            return True
        return any(
            small[0] in below[one] and covers(big[:k] + big[k + 1 :], small[1:])
            for k, one in enumerate(big)
        )

    for stock, sizes in sheets(seed):
        if dual.stock[stock] - sum(values[i] for i in sizes) <= gap:
            assert any(covers(pattern, sizes) for pattern in listed.get(stock, ()))


def test_too_many_patterns_are_told_with_those_found_so_far():
    net = drawn(18)
    relaxation = by_search(net)
    dual = relaxation.solve()
    assert dual is not None
    with pytest.raises(TooMany) as stopped:
        patterns_within(
            net,
            ByKnapsack(net).stock_groups,
            dual.prices.sizes,
            dual.stock,
            relaxation.links,
            500 * MONEY,
            most=20,
        )
    assert len(stopped.value.patterns) > 20
