"""The solver on tiny surfaces against the best there is, found by trying everything."""

from __future__ import annotations

from hypothesis import given, settings

from takeoff.boards.check import check_plan
from takeoff.framing.members import frame
from takeoff.solve.best import improve
from tests.properties.test_boards_optimum import CATALOGUE, pool, tiny
from tests.takeoff.exhaustive import least_cost


@settings(max_examples=40)
@given(tiny())
def test_solver_finds_the_least_cost_and_its_bounds_never_pass_it(case):
    surfaces, rules = case
    framed = [frame(surface, rules) for surface in surfaces]
    best = least_cost(framed, rules)
    if best is None:
        return
    steps = list(improve(pool(framed, rules)))
    assert all(step.bound <= best for step in steps)
    assert steps[-1].value == best
    assert all(check_plan(step.plan, framed, rules, CATALOGUE) == () for step in steps)
