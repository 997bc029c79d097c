"""Stick cutting against published bin packing instances: one length on sale at a price of 1, so
cost counts sticks.

Triplets: E. Falkenauer, "A hybrid grouping genetic algorithm for bin packing", Journal of
Heuristics 2 (1996) 5-30. Of each, three pieces fill a stick exactly, so a third of their number is
the least by construction.
"""

from pathlib import Path
from random import Random

import pytest

from takeoff.cutting.sticks import StickPlan, StickStock, cut_sticks
from takeoff.quantities import Cents
from takeoff.units import Nm

FOLDER = Path(__file__).parents[2] / "fixtures" / "binpacking"


def instance(name: str) -> tuple[list[Nm], int, int]:
    """Items, capacity and optimum of a stored instance."""
    rows = [row for row in (FOLDER / name).read_text().splitlines() if not row.startswith("#")]
    capacity, count, optimum = map(int, rows[0].split())
    items = [Nm(int(word)) for row in rows[1:] for word in row.split()]
    assert len(items) == count
    return items, capacity, optimum


def packed(items: list[Nm], capacity: int, *, prove_best: bool = True) -> StickPlan:
    return cut_sticks(
        items, [StickStock(Nm(capacity), Cents(1))], kerf=Nm(0), prove_best=prove_best
    )


def triplets(count: int, seed: int) -> list[Nm]:
    """Falkenauer's recipe: a piece of 38 to 49 % of the stick, one of at least 25 % and at most
    half of what is left, and the rest, itself at least 25 %."""
    random = Random(seed)
    items = []
    for _ in range(count):
        first = random.randint(380, 490)
        second = random.randint(250, (1000 - first) // 2)
        items += [first, second, 1000 - first - second]
    random.shuffle(items)
    return [Nm(item) for item in items]


def test_uniform_instance_of_120_items_is_packed_in_its_known_48():
    items, capacity, optimum = instance("u120_00.txt")
    plan = packed(items, capacity)
    assert plan.bound == plan.cost == optimum == 48


def test_triplets_of_501_items_are_packed_in_their_known_167():
    items, capacity, optimum = instance("t501.txt")
    plan = packed(items, capacity)
    assert plan.bound == plan.cost == optimum == 167


@pytest.mark.parametrize("seed", range(8))
def test_twenty_triplets_fill_twenty_sticks(seed):
    plan = packed(triplets(20, seed), 1000)
    assert plan.bound == plan.cost == 20


@pytest.mark.parametrize("seed", range(3))
def test_forty_triplets_fill_forty_sticks(seed):
    plan = packed(triplets(40, seed), 1000)
    assert plan.bound == plan.cost == 40


@pytest.mark.parametrize(("name", "more"), [("u120_00.txt", 1), ("t501.txt", 2)])
def test_quick_cutting_is_within_two_sticks_of_the_optimum(name, more):
    items, capacity, optimum = instance(name)
    plan = packed(items, capacity, prove_best=False)
    assert plan.bound <= optimum <= plan.cost <= optimum + more
