"""Rooms bought together: one plan, and what it may never cost."""

from __future__ import annotations

from dataclasses import replace

import pytest

from takeoff.boards import pooled
from takeoff.boards.check import Breach, check_plan
from takeoff.boards.first_plan import plan_pool
from takeoff.boards.pooled import PlanCache, plan_pile
from takeoff.boards.together import merge_plans
from takeoff.catalogue import OwnedSheet
from takeoff.solve.best import Effort, improve
from takeoff.units import FOOT, INCH, Nm
from tests.takeoff.boards.hand import CATALOGUE, CUTTING, HALF, PLAIN, framed, stated

# walls of 5 ft: two come out of a sheet of 10 ft, which is cheaper than two of 8 ft
TWO_ROOMS = (framed(60, 48, id="r1/a"), framed(60, 48, id="r2/a"))
APART = (("r1",), ("r2",))


def part(pool, room):
    return replace(
        pool,
        surfaces=tuple(surface for surface in pool.surfaces if surface.framed.surface.room == room),
    )


def planned(pool, warm_start=(), pile=APART):
    plan, refused = plan_pile(pool, pile, CATALOGUE, PlanCache(), warm_start)
    assert refused == []
    return plan


def test_offcut_of_the_first_room_serves_the_second():
    pool = stated(*TWO_ROOMS)
    plan = planned(pool)
    (sheet,) = plan.sheets
    assert (sheet.room, sheet.length) == ("r1", 10 * FOOT)
    assert plan.total < plan_pool(part(pool, "r1")).total + plan_pool(part(pool, "r2")).total


def test_offcuts_thrown_away_after_each_room_leave_each_its_own_sheets():
    pool = stated(*TWO_ROOMS, rules=replace(PLAIN, keep_offcuts=False))
    assert [(sheet.room, sheet.length) for sheet in planned(pool).sheets] == [
        ("r1", 8 * FOOT),
        ("r2", 8 * FOOT),
    ]


def test_plans_taken_together_cost_what_they_cost_apart_and_keep_every_rule():
    pool = stated(*TWO_ROOMS)
    plans = [plan_pool(part(pool, room)) for room in ("r1", "r2")]
    plan = merge_plans(pool, plans)
    assert plan.total == sum(plan.total for plan in plans)
    assert check_plan(plan, [surface.framed for surface in pool.surfaces], PLAIN, CATALOGUE) == ()
    assert [sheet.code for sheet in plan.sheets] == ["R1", "S1"]
    assert [surface.pieces[0].code for surface in plan.surfaces] == ["R-A1", "S-A1"]


def test_plans_that_leave_a_surface_out_are_no_plan_of_the_pool():
    pool = stated(*TWO_ROOMS)
    assert merge_plans(pool, [plan_pool(part(pool, "r1"))]) is None


def test_plans_that_both_take_the_last_owned_sheet_are_no_plan_of_the_pool():
    owned = OwnedSheet(
        id="o", board="regular", thickness=HALF, width=Nm(48 * INCH), length=Nm(6 * FOOT), count=1
    )
    pool = stated(*TWO_ROOMS, rules=replace(PLAIN, owned=(owned,)))
    plans = [plan_pool(part(pool, room)) for room in ("r1", "r2")]
    assert [plan.sheets[0].source for plan in plans] == ["o", "o"]
    assert merge_plans(pool, plans) is None


def only_the_longest(pool):
    """A poor planner of several rooms, which sees the longest sheets on sale alone."""
    if len({surface.framed.surface.room for surface in pool.surfaces}) > 1:
        pool = replace(
            pool,
            surfaces=tuple(
                replace(surface, sheets=surface.sheets[-1:]) for surface in pool.surfaces
            ),
        )
    return plan_pool(pool)


def test_pool_whose_own_plan_is_dearer_takes_the_plans_of_its_rooms(monkeypatch):
    monkeypatch.setattr("takeoff.boards.pooled.plan_pool", only_the_longest)
    pool = stated(framed(84, 48, id="r1/a"), framed(84, 48, id="r2/a"), rules=CUTTING)
    assert only_the_longest(pool).total == 3600
    assert planned(pool).total == 2400


def test_pool_takes_the_plan_of_connected_rooms_where_that_beats_them_one_by_one(monkeypatch):
    monkeypatch.setattr(
        "takeoff.boards.pooled._planned", lambda pool, _: (only_the_longest(pool), [])
    )
    walls = framed(90, 48, id="r1/a"), framed(36, 48, id="r2/a"), framed(36, 48, id="r3/a")
    pool = stated(*walls, rules=CUTTING)
    connected = merge_plans(
        replace(pool, surfaces=pool.surfaces[1:]),
        [plan_pool(replace(pool, surfaces=pool.surfaces[1:]))],
    )
    assert planned(pool, [connected], pile=(("r1",), ("r2", "r3"))).total == 2400


def test_known_plan_that_breaks_a_rule_now_is_not_begun_with():
    pool = stated(*TWO_ROOMS)
    known = [plan_pool(part(pool, room)) for room in ("r1", "r2")]
    free = [
        replace(plan, sheet_cost=0, sheets=tuple(replace(s, price=0) for s in plan.sheets))
        for plan in known
    ]
    assert planned(pool, free).total == planned(pool).total


def test_search_begins_with_plans_taken_together():
    pool = stated(*TWO_ROOMS)
    together = merge_plans(pool, [plan_pool(part(pool, room)) for room in ("r1", "r2")])
    steps = list(improve(pool, start=together))
    assert steps[0].value == together.total
    assert steps[-1].value == planned(pool).total


@pytest.mark.parametrize("walls", [(150, 170, 131), (203, 97, 118), (99, 245, 162)])
def test_pile_searched_from_the_plans_found_apart_never_costs_more_than_they_do(walls):
    pool = stated(
        *(framed(wall, 96, id=f"r{number // 2}/{number}") for number, wall in enumerate(walls))
    )
    effort = Effort(parts=2, patterns=60, nodes=5)
    apart = [list(improve(part(pool, room), effort=effort))[-1].plan for room in ("r0", "r1")]
    together = planned(pool, apart, pile=(("r0",), ("r1",)))
    searched = list(improve(pool, start=together, effort=effort))[-1].plan
    assert searched.total <= together.total <= sum(plan.total for plan in apart)
    assert (
        check_plan(searched, [surface.framed for surface in pool.surfaces], PLAIN, CATALOGUE) == ()
    )


def test_pile_at_once_is_its_rooms_own_plans_together():
    pool = stated(*TWO_ROOMS)
    plan, _ = plan_pile(pool, APART, CATALOGUE, PlanCache(), without_pooling=True)
    assert [sheet.room for sheet in plan.sheets] == ["r1", "r2"]


def test_connected_rooms_by_themselves_are_planned_as_ever():
    pool = stated(*TWO_ROOMS)
    plan, _ = plan_pile(pool, (("r1", "r2"),), CATALOGUE, PlanCache(), without_pooling=True)
    assert len(plan.sheets) == 1


def test_surface_that_a_plan_breaks_a_rule_on_is_refused_and_the_others_are_planned(monkeypatch):
    found = Breach("r1/a", "overlap", "Pieces overlap")

    def only_where_it_is(plan, pool, catalogue):
        laid = {surface.surface for surface in plan.surfaces}
        return (found,) if "r1/a" in laid else check(plan, pool, catalogue)

    check = pooled.breaches_of
    monkeypatch.setattr(pooled, "breaches_of", only_where_it_is)
    plan, refused = plan_pile(stated(*TWO_ROOMS), APART, CATALOGUE, PlanCache())
    assert [(one.surface, one.rule) for one in refused] == [("r1/a", "overlap")]
    assert [surface.surface for surface in plan.surfaces] == ["r2/a"]
