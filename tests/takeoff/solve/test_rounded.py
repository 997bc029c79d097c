"""Bounds of programmes whose lengths are too fine to be measured exactly."""

from __future__ import annotations

from takeoff.solve import compile_network
from takeoff.solve.compile_network import compile_pool
from takeoff.solve.effort import Effort
from takeoff.solve.tree import Tree
from takeoff.units import FOOT, INCH
from tests.bench.rooms import seeded_house
from tests.bench.run import pool_of


def root_of(pool):
    network = compile_pool(pool, framing_only=True)
    tree = Tree(network, Effort())
    return network, tree.solve_root(), tree.relaxation


def test_bound_over_rounded_lengths_is_true_and_near_the_programmes_value(monkeypatch):
    pool = pool_of(seeded_house(5, rooms=2))
    network, exact, programme = root_of(pool)
    assert network.exact
    # Marks of 1/8 in and no finer, where this room has lengths in sixteenths.
    monkeypatch.setattr(compile_network, "_MOST_STEPS", 16 * FOOT // (INCH // 8))
    rough_network, rough, _ = root_of(pool)
    assert not rough_network.exact
    # Over more patterns than there are it is lower. By one that is a hair too long for its sheet
    # all prices would come down, by 3 percent here; as each is mended it loses a quarter percent.
    value = programme.value * compile_network.MONEY
    assert rough.value <= value
    assert rough.value > 0.995 * exact.value
