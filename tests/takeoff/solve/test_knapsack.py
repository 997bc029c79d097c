"""Patterns and their worth, against plain enumeration."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations_with_replacement, product
from random import Random

import pytest

from takeoff.rules import Rules
from takeoff.solve.bound import settle
from takeoff.solve.compile_network import compile_pool
from takeoff.solve.knapsack import Pricer, fill, stock_groups, strip_takes
from takeoff.solve.network import Network
from takeoff.solve.relaxation import Relaxation
from takeoff.units import Nm
from tests.takeoff.boards.hand import framed, sheet, stated


def network() -> Network:
    """A wall of two rows, the lower ripped to 24 in, and a low wall ripped to 20 in."""
    rules = Rules(floor_gap=Nm(0), fitting=Nm(0), sheets=(sheet(6, 1000), sheet(8, 1300)))
    return compile_pool(
        stated(framed(110, 72, spacing=24), framed(84, 20, spacing=24, id="r1/b"), rules=rules)
    )


def every_filling(lengths: dict[int, int], room: int) -> list[tuple[int, ...]]:
    most = room // min(lengths.values()) if lengths else 0
    fillings: list[tuple[int, ...]] = [()]
    for count in range(1, most + 1):
        fillings += [
            combination
            for combination in combinations_with_replacement(sorted(lengths), count)
            if sum(lengths[i] for i in combination) <= room
        ]
    return fillings


def worth_by_trying_everything(
    net: Network,
    stock: int,
    values: list[int],
    allowed: Callable[[tuple[int, ...]], bool] = lambda sizes: True,
) -> int:
    length = {i: size.length for i, size in enumerate(net.sizes)}
    room = net.stock[stock].length
    best = 0
    full = {i: length[i] for i, size in enumerate(net.sizes) if size.full}
    widths = sorted({size.width for size in net.sizes if not size.full})
    for held in every_filling(full, room):
        remainder = room - sum(length[i] for i in held)
        for low in (*widths, net.stock[stock].width):
            strips = [
                every_filling(
                    {
                        i: length[i]
                        for i, size in enumerate(net.sizes)
                        if not size.full and size.width <= width
                    },
                    remainder,
                )
                for width in (low, net.stock[stock].width - low)
            ]
            side_by_side = max(
                (
                    sum(values[i] for i in one + other)
                    for one, other in product(*strips)
                    if allowed(one + other)
                ),
                default=0,
            )
            best = max(best, sum(values[i] for i in held) + side_by_side)
    return best


def test_fill_uses_a_length_as_often_as_fits():
    assert fill(10, [(3, 5), (4, 7)]).tolist() == [0, 0, 0, 5, 7, 7, 10, 12, 14, 15, 17]


@pytest.mark.parametrize("seed", range(4))
def test_best_pattern_is_worth_what_trying_everything_finds(seed):
    net = network()
    random = Random(seed)
    values = [random.randrange(1, 1000) for _ in net.sizes]
    (stock_group,) = stock_groups(net)
    pricer = Pricer(net, stock_group, values, up=True)
    for stock in stock_group.stock:
        assert pricer.value(stock) == worth_by_trying_everything(net, stock, values)
        pattern = pricer.pattern(stock)
        assert sum(values[i] for i in pattern.sizes) == pricer.value(stock)
        assert sum(net.sizes[i].length for i in pattern.full) <= net.stock[stock].length


def test_ripped_strips_of_a_pattern_fit_side_by_side():
    net = network()
    (stock_group,) = stock_groups(net)
    values = [size.length * size.width // 10**12 for size in net.sizes]
    pattern = Pricer(net, stock_group, values, up=True).pattern(stock_group.stock[-1])
    if len(pattern.strips) == 2:
        assert pattern.rip is not None
        rest = Nm(net.stock[pattern.stock].width - pattern.rip)
        for strip, width in zip(pattern.strips, (pattern.rip, rest), strict=True):
            assert all(strip_takes(net.sizes[i], (width, 1)) for i in strip)


@pytest.mark.parametrize("seed", range(4))
def test_strips_side_by_side_hold_no_more_of_a_shared_group_than_a_plan_does(seed):
    net = network()
    random = Random(seed)
    values = [random.randrange(1, 1000) for _ in net.sizes]
    (stock_group,) = stock_groups(net)
    shared = tuple(sorted({net.ends[i] for i in stock_group.ripped if i in net.ends}))[: seed + 1]
    pricer = Pricer(net, replace(stock_group, shared=shared), values, up=True)

    def allowed(sizes: tuple[int, ...]) -> bool:
        return all(
            sum(net.ends.get(i) == group for i in sizes) <= net.most[group] for group in shared
        )

    for stock in stock_group.stock:
        assert pricer.value(stock) == worth_by_trying_everything(net, stock, values, allowed)
        pattern = pricer.pattern(stock)
        assert sum(values[i] for i in pattern.sizes) == pricer.value(stock)
        assert allowed(tuple(i for strip in pattern.strips for i in strip))


def test_prices_set_too_high_are_brought_down_to_a_true_bound():
    net = network()
    relaxation = Relaxation(net)
    good = relaxation.solve()
    assert good is not None
    wild = type(good.prices)(tuple(3 * price for price in good.prices.sizes), good.prices.clashes)
    dual = settle(net, wild, relaxation.source.worth(wild.sizes))
    assert dual is not None
    assert dual.value <= good.value
