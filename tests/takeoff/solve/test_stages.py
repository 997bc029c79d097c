"""A search of all that costs a little more than the bound, against the least cost found by trying
everything."""

from __future__ import annotations

from fractions import Fraction

import pytest

from takeoff.boards.first_plan import plan_pool
from takeoff.rules import Rules
from takeoff.solve.compile_network import compile_pool
from takeoff.solve.effort import Effort
from takeoff.solve.network import MONEY
from takeoff.solve.translate import to_answer
from takeoff.solve.tree import Tree
from takeoff.units import Nm
from tests.bench.rooms import seeded_house
from tests.takeoff.boards.hand import framed, sheet, stated
from tests.takeoff.exhaustive import least_cost
from tests.takeoff.solve.test_best import pool_of

SHEETS = (sheet(6, 1000), sheet(8, 1300))
RULES = Rules(floor_gap=Nm(0), fitting=Nm(0), sheets=SHEETS)
WALLS = [(120, 96), (150, 60), (118, 70), (134, 62)]


def sharpened(width: int, height: int) -> tuple[Tree, Fraction]:
    """A search of one wall whose root is sharpened, and what the wall costs at least."""
    wall = framed(width, height, spacing=24)
    best = least_cost([wall], RULES)
    assert best is not None
    pool = stated(wall, rules=RULES)
    network = compile_pool(pool)
    tree = Tree(network, Effort(), start=to_answer(network, plan_pool(pool)))
    tree.solve_root()
    tree.sharpen()
    return tree, best


@pytest.mark.parametrize(("width", "height"), WALLS)
def test_sharpened_bound_rises_and_passes_no_plan(width, height):
    tree, best = sharpened(width, height)
    assert tree.root is not None
    before = Tree(compile_pool(stated(framed(width, height, spacing=24), rules=RULES)), Effort())
    root = before.solve_root()
    assert root is not None
    assert root.value - MONEY <= tree.root.value <= best * MONEY


@pytest.mark.parametrize("cents", [1, 40, 200])
@pytest.mark.parametrize(("width", "height"), WALLS)
def test_stage_settles_all_up_to_its_ceiling_and_no_more(width, height, cents):
    tree, best = sharpened(width, height)
    assert tree.root is not None
    stage = tree.stage(cents * MONEY, most=10_000)
    if stage is None:
        assert tree.nothing_left()
        return
    assert stage.ceiling is not None
    for _ in stage.search():
        pass
    assert stage.bound <= best * MONEY
    if best * MONEY < stage.ceiling:
        assert stage.best is not None
        assert stage.best.value == best
    else:
        assert stage.bound >= min(stage.ceiling, tree.root.value + cents * MONEY)
    tree.take(stage)
    assert tree.bound <= best * MONEY


def test_stage_with_more_patterns_than_asked_for_is_not_begun():
    pool = pool_of(seeded_house(15))
    network = compile_pool(pool)
    tree = Tree(network, Effort(), start=to_answer(network, plan_pool(pool)))
    tree.solve_root()
    assert tree.stage(100 * MONEY, most=10) is None
    assert tree.stage(100 * MONEY, most=20_000) is not None
