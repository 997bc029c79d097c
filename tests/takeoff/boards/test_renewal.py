"""Plans are kept until a piece that is open is impossible; then only what fell is planned anew."""

from __future__ import annotations

from random import Random

import pytest

from takeoff.boards.renewal import NOTHING_DONE, Done, renew
from takeoff.job import Takeoff, take_off
from tests.bench.rooms import seeded_house
from tests.takeoff.boards.half_hung import chosen_at_random
from tests.takeoff.boards.renewed import assert_sound, done_of, measured

HOUSE = seeded_house(4)
FIRST = take_off(HOUSE)


def half_hung(takeoff: Takeoff, seed: int, share: float = 0.5) -> Done:
    pieces = [piece for plan in takeoff.surface_plans for piece in plan.pieces]
    return done_of(takeoff, chosen_at_random(pieces, Random(seed), share))


@pytest.mark.parametrize("done", [NOTHING_DONE, half_hung(FIRST, 1)], ids=["nothing", "half"])
def test_plans_of_a_house_that_nothing_changed_in_are_the_same(done):
    renewal = renew(HOUSE, FIRST.plans, done)
    assert all(one is other for one, other in zip(renewal.takeoff.plans, FIRST.plans, strict=True))
    assert renewal.takeoff.supply == FIRST.supply
    assert renewal.takeoff.needs == FIRST.needs
    assert (renewal.fallen, renewal.struck, renewal.dissolved) == ((), (), ())
    assert renewal.takeoff.amiss == ()


@pytest.mark.parametrize("longer", [-32, -1, 1, 32])
def test_only_the_walls_that_are_of_another_length_fall(longer):
    done = half_hung(FIRST, 1)
    renewal = renew(measured(HOUSE, wider=longer), FIRST.plans, done)
    assert {one.surface for one in renewal.fallen} <= {"r1/B", "r1/D", "r1/ceiling"}
    assert renewal.fallen
    assert_sound(renewal, FIRST.plans, done)
