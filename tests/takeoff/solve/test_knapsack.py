"""Patterns and their worth, against plain enumeration."""

from __future__ import annotations

from itertools import combinations_with_replacement
from random import Random

import pytest

from takeoff.rules import Rules
from takeoff.solve.bound import settle
from takeoff.solve.knapsack import Pricer, families, fill, strip_takes
from takeoff.solve.network import MONEY, Network, compile_pool
from takeoff.solve.patterns import patterns_within
from takeoff.solve.relaxation import Relaxation
from takeoff.units import Nm
from tests.takeoff.boards.hand import framed, sheet, stated


def network() -> Network:
    """A wall of two rows, the lower ripped to 24 in, and a low wall ripped to 20 in."""
    rules = Rules(floor_gap=Nm(0), fitting=Nm(0), sheets=(sheet(6, 1000), sheet(8, 1300)))
    return compile_pool(stated(framed(110, 72, spacing=24), framed(84, 20, spacing=24, id="r1/b"), rules=rules))


def every_filling(lengths: dict[int, int], room: int) -> list[tuple[int, ...]]:
    most = room // min(lengths.values()) if lengths else 0
    found: list[tuple[int, ...]] = [()]
    for count in range(1, most + 1):
        found += [
            each
            for each in combinations_with_replacement(sorted(lengths), count)
            if sum(lengths[i] for i in each) <= room
        ]
    return found


def worth_by_trying_everything(net: Network, stock: int, values: list[int]) -> int:
    length = {i: size.length for i, size in enumerate(net.sizes)}
    room = net.stock[stock].length
    best = 0
    full = {i: length[i] for i, size in enumerate(net.sizes) if size.full}
    widths = sorted({size.width for size in net.sizes if not size.full})
    for held in every_filling(full, room):
        left = room - sum(length[i] for i in held)
        for low in (*widths, net.stock[stock].width):
            strips = [
                max(
                    (
                        sum(values[i] for i in each)
                        for each in every_filling(
                            {i: length[i] for i, size in enumerate(net.sizes) if not size.full and size.width <= width},
                            left,
                        )
                    ),
                    default=0,
                )
                for width in (low, net.stock[stock].width - low)
            ]
            best = max(best, sum(values[i] for i in held) + sum(strips))
    return best


def test_fill_uses_a_length_as_often_as_fits():
    assert fill(10, [(3, 5), (4, 7)]).tolist() == [0, 0, 0, 5, 7, 7, 10, 12, 14, 15, 17]


@pytest.mark.parametrize("seed", range(4))
def test_best_pattern_is_worth_what_trying_everything_finds(seed):
    net = network()
    random = Random(seed)
    values = [random.randrange(1, 1000) for _ in net.sizes]
    (family,) = families(net)
    pricer = Pricer(net, family, values, up=True)
    for stock in family.stock:
        assert pricer.value(stock) == worth_by_trying_everything(net, stock, values)
        pattern = pricer.pattern(stock)
        assert sum(values[i] for i in pattern.sizes) == pricer.value(stock)
        assert sum(net.sizes[i].length for i in pattern.full) <= net.stock[stock].length


def test_ripped_strips_of_a_pattern_fit_side_by_side():
    net = network()
    (family,) = families(net)
    values = [size.length * size.width // 10**12 for size in net.sizes]
    pattern = Pricer(net, family, values, up=True).pattern(family.stock[-1])
    if len(pattern.strips) == 2:
        assert pattern.rip is not None
        rest = Nm(net.stock[pattern.stock].width - pattern.rip)
        for strip, width in zip(pattern.strips, (pattern.rip, rest), strict=True):
            assert all(strip_takes(net.sizes[i], (width, 1)) for i in strip)


def test_settled_prices_make_no_pattern_worth_more_than_its_sheet():
    net = network()
    relaxation = Relaxation(net)
    dual = relaxation.solve()
    assert dual is not None
    for stock, one in enumerate(net.stock):
        assert worth_by_trying_everything(net, stock, list(dual.prices.sizes)) <= one.price * MONEY


def test_prices_set_too_high_are_brought_down_to_a_true_bound():
    net = network()
    relaxation = Relaxation(net)
    good = relaxation.solve()
    assert good is not None
    wild = type(good.prices)(tuple(3 * price for price in good.prices.sizes), good.prices.clashes)
    dual = settle(net, relaxation.groups, wild)
    assert dual is not None
    assert dual.value <= good.value


def test_patterns_within_a_gap_are_all_that_cannot_be_improved():
    net = network()
    relaxation = Relaxation(net)
    dual = relaxation.solve()
    assert dual is not None
    gap = 150 * MONEY
    found = patterns_within(net, relaxation.groups, dual, relaxation.links, gap, most=5000)
    listed = {(pattern.stock, pattern.sizes) for pattern in found}
    costs = [dual.stock[p.stock] - sum(dual.prices.sizes[i] for i in p.sizes) for p in found]
    assert all(0 <= cost <= gap for cost in costs)
    # Every column of the programme within the gap is listed, or is a lesser form of one that is.
    below: dict[int, set[int]] = {i: {i} for i in range(len(net.sizes))}
    for larger, smaller in reversed(relaxation.upward):
        below[larger].add(smaller)
    for _ in net.sizes:
        for larger in below:
            below[larger] |= {x for i in below[larger] for x in below[i]}

    def covers(big: tuple[int, ...], small: tuple[int, ...]) -> bool:
        if not small:
            return True
        return any(small[0] in below[one] and covers(big[:k] + big[k + 1 :], small[1:]) for k, one in enumerate(big))

    for pattern in relaxation.patterns:
        if dual.stock[pattern.stock] - sum(dual.prices.sizes[i] for i in pattern.sizes) <= gap:
            assert (pattern.stock, pattern.sizes) in listed or any(
                stock == pattern.stock and covers(sizes, pattern.sizes) for stock, sizes in listed
            )
