"""The search around boards that hang: the best plan of the rest, with a bound of the rest."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from random import Random

import pytest

from takeoff.boards.check import check_plan
from takeoff.boards.first_plan import plan_pool
from takeoff.boards.plan import AsBuilt, BoardPlan, BoundBasis
from takeoff.boards.problem import Pool
from takeoff.choices import JointMode
from takeoff.job import SearchOptions, take_off
from takeoff.rules import Rules
from takeoff.solve.best import Effort, Progress, improve
from takeoff.units import FOOT, INCH, Nm
from tests.bench.rooms import seeded_house
from tests.takeoff.boards.half_hung import (
    around,
    built_of,
    built_of_takeoff,
    chosen_at_random,
    examined,
    of_row,
)
from tests.takeoff.boards.hand import CUTTING, framed, sheet, stated
from tests.takeoff.exhaustive import least_cost_around

SMALL = Effort(parts=5, patterns=200, nodes=20)
RULES = Rules(floor_gap=Nm(0), fitting=Nm(0), sheets=(sheet(6, 1000), sheet(8, 1300)))


def last(pool: Pool, effort: Effort | None = None) -> Progress:
    return list(improve(pool, effort=effort))[-1]


def test_boards_that_hang_stay_and_the_bound_is_of_what_is_left():
    rules = replace(CUTTING, sheets=(sheet(8, 1300), sheet(12, 1800)))
    wall = framed(144, 96)
    assert last(stated(wall, rules=rules)).value == 3600  # one 12 ft sheet a row
    # Somebody hung the upper row out of 8 ft sheets.
    eight = stated(wall, rules=replace(CUTTING, sheets=(sheet(8, 1300),)))
    first = plan_pool(eight)
    built = built_of(first, eight, of_row(first, 0))
    paid = sum(one.price for one in built.sheets)
    left = sum(offcut.length for one in built.sheets for offcut in one.offcuts)
    rest = around(built, wall, rules=rules)
    end = last(rest)
    # Of two sheets of 8 ft the row of 12 ft leaves 4 ft, and 8 ft more make the other row; else it
    # takes a sheet of 12 ft.
    assert (paid, left) == (2600, 4 * FOOT)
    assert end.value == end.bound == 2600 + 400 + min(1300 + 400, 1800)
    assert examined(end.plan, rest, built).broken == ()


def test_all_hung_there_is_one_plan_and_nothing_to_search():
    wall = framed(144, 96)
    before = stated(wall, rules=RULES)
    first = plan_pool(before)
    built = built_of(first, before, {piece.code for piece in first.surfaces[0].pieces})
    steps = list(improve(around(built, wall, rules=RULES)))
    assert [(step.value, step.bound, step.finished) for step in steps] == [
        (first.total, first.total, True)
    ]
    assert steps[0].plan.bound.basis is BoundBasis.PROVEN


def hung_walls(seed: int) -> tuple[Pool, AsBuilt, Fraction | None]:
    """One or two small walls half hung, and the least that any plan of them costs."""
    random = Random(seed)
    mode = random.choice(list(JointMode))
    rules = Rules(
        floor_gap=Nm(0),
        fitting=Nm(0),
        joint_mode=mode,
        stagger=Nm(random.choice([8, 16]) * INCH),
        shortest_piece=Nm(24 * INCH),
        sheets=RULES.sheets,
    )
    names = random.choice([["r1/a"], ["r1/a"], ["r1/a", "r1/b"]])
    walls = [
        framed(
            random.randint(5, 11 if len(names) == 1 else 8) * 12,
            random.choice([48, 60, 96, 90] if len(names) == 1 else [30, 48]),
            spacing=24,
            joint_mode=mode,
            id=name,
        )
        for name in names
    ]
    before = stated(*walls, rules=rules)
    first = plan_pool(before)
    pieces = [piece for surface in first.surfaces for piece in surface.pieces]
    built = built_of(first, before, chosen_at_random(pieces, random))
    rest = around(built, *walls, rules=rules)
    return rest, built, least_cost_around(walls, rules, built)


@pytest.mark.parametrize(
    "seed", [*range(10), *(pytest.param(seed, marks=pytest.mark.deep) for seed in range(10, 120))]
)
def test_rest_of_a_small_wall_is_solved_to_the_least_cost_found_by_trying_everything(seed):
    rest, built, best = hung_walls(seed)
    end = last(rest)
    assert end.value == best
    assert end.bound <= end.value
    assert end.gap < Fraction(1, 1000)
    assert examined(end.plan, rest, built).broken == ()


def half_hung_room(seed: int) -> None:
    house = seeded_house(seed)
    first = take_off(house)
    pieces = [piece for surface in first.surface_plans for piece in surface.pieces]
    built = built_of_takeoff(first, chosen_at_random(pieces, Random(seed)))
    steps: list[Progress] = []
    options = SearchOptions(effort=SMALL, on_progress=lambda pool, step: steps.append(step))
    end = take_off(house, built=built, search=options)
    assert end.refused == end.amiss == ()
    # Each plan of the search passes the checker with the boards that hang in it.
    members = list(end.framed)
    rules = house.rules
    for step in steps:
        assert passes(step.plan, members, rules, house, built)
    assert all(one.value >= other.value for one, other in pairwise(steps))
    assert all(one.bound <= other.bound for one, other in pairwise(steps))
    spent = sum(one.price for one in built.sheets)
    assert steps[-1].bound >= spent
    assert steps[-1].plan.bound.basis is not BoundBasis.AREA
    assert steps[-1].gap < Fraction(1, 20)


def passes(plan: BoardPlan, members, rules, house, built: AsBuilt) -> bool:
    surfaces = {surface.surface for surface in plan.surfaces}
    mine = [one for one in members if one.surface.id in surfaces]
    return check_plan(plan, mine, rules, house.catalogue, built=built) == ()


@pytest.mark.parametrize(
    "seed", [5, *(pytest.param(seed, marks=pytest.mark.deep) for seed in range(30) if seed != 5)]
)
def test_rest_of_a_half_hung_room_is_searched_with_a_bound_of_the_rest(seed):
    half_hung_room(seed)
