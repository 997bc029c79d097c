"""A part of a mix of packs, so that a mix bought in parts costs what it costs at once."""

from fractions import Fraction
from random import Random

import pytest

from takeoff.catalogue import Pack
from takeoff.packs import cheapest_mix, part_of_mix
from takeoff.quantities import Amount, Cents


def pack(holds, price, unit="gal"):
    amount = Amount(Fraction(holds), unit)
    return Pack(name=f"{holds} {unit}", holds=amount, price=Cents(price))


def gallons(value):
    return Amount(Fraction(value), "gal")


def cost(counts, packs):
    return sum(count * pack.price for count, pack in zip(counts, packs, strict=True))


ONE, FIVE = pack(1, 3000), pack(5, 11000)


def test_part_takes_the_cheapest_packs_of_the_mix_that_hold_enough():
    assert part_of_mix(gallons(1), (ONE, FIVE), (2, 1)) == (1, 0)
    assert part_of_mix(gallons(3), (ONE, FIVE), (2, 1)) == (0, 1)


def test_part_takes_nothing_where_nothing_is_needed():
    assert part_of_mix(gallons(0), (ONE, FIVE), (2, 1)) == (0, 0)


def test_part_is_the_whole_mix_where_the_mix_holds_no_more():
    assert part_of_mix(gallons(7), (ONE, FIVE), (2, 1)) == (2, 1)
    assert part_of_mix(gallons(9), (ONE, FIVE), (2, 1)) == (2, 1)


def test_of_equally_cheap_parts_the_one_with_less_left_over_is_taken():
    small, large = pack(2, 500), pack(3, 500)
    assert part_of_mix(gallons(2), (large, small), (1, 1)) == (0, 1)


@pytest.mark.parametrize("seed", range(40))
def test_mix_bought_in_parts_costs_what_it_costs_at_once(seed):
    random = Random(seed)
    packs = [
        pack(Fraction(random.randint(1, 12), random.choice((1, 2, 4))), random.randint(100, 4000))
        for _ in range(random.randint(1, 4))
    ]
    need = Fraction(random.randint(1, 300), 7)
    whole = cheapest_mix(gallons(need), packs)
    first = need * random.randint(1, 9) / 10
    part = part_of_mix(gallons(first), packs, whole)
    held = sum(count * pack.holds.value for count, pack in zip(part, packs, strict=True))
    assert held >= first
    rest = cheapest_mix(gallons(max(Fraction(0), need - held)), packs)
    assert cost(part, packs) + cost(rest, packs) == cost(whole, packs)
