"""`improve`: better and better plans, each rule-abiding, each with a bound that holds."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest

from takeoff.boards.check import check_plan
from takeoff.boards.first_plan import plan_pool
from takeoff.boards.plan import BoardPlan, BoundBasis, JointKind
from takeoff.boards.problem import Pool, formulate
from takeoff.catalogue import OwnedSheet
from takeoff.choices import JointMode
from takeoff.errors import CannotBoard
from takeoff.framing.members import frame
from takeoff.geometry.rooms import room_shapes
from takeoff.house import House
from takeoff.rules import Rules
from takeoff.solve import best
from takeoff.solve.best import Effort, Progress, improve
from takeoff.units import FOOT, INCH, Nm
from tests.bench.rooms import seeded_house
from tests.takeoff.boards import corners
from tests.takeoff.boards.hand import CATALOGUE, CUTTING, HALF, framed, opening, sheet, stated
from tests.takeoff.exhaustive import least_cost

SMALL = Effort(parts=5, patterns=200, nodes=20)


def seeds(quick: list[int], large: list[int]) -> list[object]:
    """Seeded houses to try: a few whose searches end in seconds, and with `make deep` those that
    take longer."""
    return [*quick, *(pytest.param(seed, marks=pytest.mark.deep) for seed in large)]


def pool_of(house: House) -> Pool:
    """Every surface of a seeded house in one pool, in hanging order."""
    problems = []
    for room in room_shapes(house)[0]:
        by_id = {surface.id: surface for surface in room.surfaces}
        problems += [
            formulate(frame(by_id[surface_id], house.rules), house.rules, house.catalogue)
            for surface_id in room.hang_order
            if by_id[surface_id].board_area
        ]
    return Pool(
        board="regular",
        thickness=HALF,
        kerf=Nm(0),
        surfaces=tuple(problems),
        owned=house.rules.owned,
        rules=house.rules,
    )


def last(pool: Pool, **settings: object) -> Progress:
    return list(improve(pool, **settings))[-1]  # type: ignore[arg-type]


def breaches(plan: BoardPlan, pool: Pool, house: House | None = None) -> tuple[object, ...]:
    catalogue = house.catalogue if house else CATALOGUE
    surfaces = [problem.framed for problem in pool.surfaces]
    return check_plan(plan, surfaces, pool.rules, catalogue, owned=pool.owned)


@pytest.mark.parametrize("mode", list(JointMode))
@pytest.mark.parametrize(("width", "height"), [(120, 96), (150, 60), (100, 108), (40, 30)])
def test_small_wall_is_solved_to_the_least_cost_found_by_trying_everything(mode, width, height):
    rules = Rules(
        floor_gap=Nm(0), fitting=Nm(0), joint_mode=mode, sheets=(sheet(6, 1000), sheet(8, 1300))
    )
    wall = framed(width, height, spacing=24, joint_mode=mode)
    best = least_cost([wall], rules)
    if best is None:
        with pytest.raises(CannotBoard):
            stated(wall, rules=rules)
        return
    end = last(stated(wall, rules=rules))
    assert end.value == best
    assert end.bound == best
    assert breaches(end.plan, stated(wall, rules=rules)) == ()


def test_two_walls_share_a_sheet():
    # Each wall is a 4 ft piece: one 8 ft sheet serves both, which rooms bought apart could not
    # have.
    rules = replace(CUTTING, sheets=(sheet(6, 1000), sheet(8, 1300)))
    end = last(stated(framed(48, 48), framed(48, 48, id="r2/a"), rules=rules))
    assert end.value == 1300
    assert len(end.plan.sheets) == 1


@pytest.mark.parametrize("seed", seeds([5, 7, 8], [1, 2, 3, 4, 6]))
def test_plans_only_get_better_and_bounds_only_rise(seed):
    house = seeded_house(seed)
    pool = pool_of(house)
    steps = list(improve(pool, effort=SMALL))
    assert steps[0].value == plan_pool(pool).total
    assert all(one.value >= other.value for one, other in pairwise(steps))
    assert all(one.bound <= other.bound for one, other in pairwise(steps))
    assert all(step.bound <= step.value for step in steps)
    assert [step.finished for step in steps] == [False] * (len(steps) - 1) + [True]
    assert all(breaches(step.plan, pool, house) == () for step in steps)


def test_first_bound_of_the_programme_is_proven():
    steps = improve(pool_of(seeded_house(2)), effort=SMALL)
    assert next(steps).plan.bound.basis is BoundBasis.AREA
    assert next(steps).plan.bound.basis is BoundBasis.PROVEN
    steps.close()


def test_same_input_and_effort_give_the_same_plan():
    one, other = (last(pool_of(seeded_house(5)), effort=SMALL) for _ in range(2))
    assert one.plan == other.plan
    assert one.work == other.work


def test_search_can_be_stopped_and_still_ends_with_a_plan():
    asked = []

    def stop() -> bool:
        asked.append(True)
        return len(asked) > 3

    steps = list(improve(pool_of(seeded_house(1)), stop=stop))
    assert steps[-1].finished
    assert steps[-1].value <= steps[0].value


@pytest.mark.parametrize("seed", seeds([5, 8], [1, 2, 3, 4, 6]))
def test_either_mode_is_never_dearer_than_on_framing(seed):
    on_framing = last(pool_of(seeded_house(seed)), effort=SMALL)
    either = last(pool_of(seeded_house(seed, joint_mode=JointMode.EITHER)), effort=SMALL)
    assert either.value <= on_framing.value


def test_either_mode_begun_from_the_plan_on_framing_never_ends_dearer_however_short_the_time():
    on_framing = last(pool_of(seeded_house(7)), effort=SMALL)
    either = pool_of(seeded_house(7, joint_mode=JointMode.EITHER))
    ticks = iter(range(1000))
    end = last(
        either, start=on_framing.plan, effort=Effort(seconds=3), clock=lambda: float(next(ticks))
    )
    assert end.value <= on_framing.value
    assert end.bound <= end.value


def test_nothing_is_printed_by_a_search(capfd):
    last(stated(framed(96, 48)))
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("seed", seeds([7, 8], [1, 3, 4, 6]))
def test_several_rooms_are_cut_from_one_pool_with_a_proven_bound(seed):
    house = seeded_house(seed, rooms=2)
    pool = pool_of(house)
    end = last(pool, effort=SMALL)
    alone = sum(plan_pool(pool_of(replace(house, rooms=(room,)))).total for room in house.rooms)
    assert end.plan.bound.basis is not BoundBasis.AREA
    assert end.bound <= end.value
    assert end.gap < Fraction(1, 50)
    assert end.bound <= alone
    assert breaches(end.plan, pool, house) == ()


def test_earlier_plan_is_where_a_search_begins():
    pool = pool_of(seeded_house(5))
    best = last(pool, effort=SMALL)
    again = next(improve(pool, start=best.plan, effort=SMALL))
    assert again.value == best.value


def test_owned_sheets_are_free_and_in_finite_number():
    owned = OwnedSheet(
        id="left",
        board="regular",
        thickness=HALF,
        width=Nm(48 * INCH),
        length=Nm(8 * FOOT),
        count=1,
    )
    rules = replace(CUTTING, sheets=(sheet(8, 1300),), owned=(owned,))
    pool = stated(framed(96, 96), rules=rules)
    end = last(pool)
    assert end.value == end.bound == 1300
    assert sorted(sheet.source or "" for sheet in end.plan.sheets) == ["", "left"]
    assert breaches(end.plan, pool) == ()


def test_offcut_without_factory_edges_serves_no_row_that_needs_one():
    owned = OwnedSheet(
        id="scrap",
        board="regular",
        thickness=HALF,
        width=Nm(30 * INCH),
        length=Nm(8 * FOOT),
        factory_edges=0,
    )
    rules = replace(CUTTING, sheets=(sheet(8, 1300),), owned=(owned,))
    # Two rows: 48 in and a ripped one of 24 in that meets the other at its factory edge.
    end = last(stated(framed(96, 72), rules=rules))
    assert end.value == 2600
    assert all(sheet.source is None for sheet in end.plan.sheets)


def test_floating_joint_is_taken_where_it_saves_a_sheet():
    rules = Rules(
        floor_gap=Nm(0),
        fitting=Nm(0),
        joint_mode=JointMode.EITHER,
        sheets=(sheet(6, 1000), sheet(8, 1300)),
    )
    pool = stated(framed(168, 48, spacing=24, joint_mode=JointMode.EITHER), rules=rules)
    end = last(pool)
    assert {joint.kind for joint in end.plan.surfaces[0].joints} == {JointKind.FRAMING}
    assert end.value == end.bound


def test_prices_of_zero_leave_the_seams_to_be_least():
    rules = replace(CUTTING, sheets=(sheet(8, 0), sheet(12, 0)))
    end = last(stated(framed(144, 48), rules=rules))
    assert end.value == end.bound == 0


def test_row_with_an_opening_over_its_whole_length_needs_no_board_there():
    wall = framed(96, 96, openings=(opening(0, 0, 96, 48),))
    end = last(stated(wall, rules=CUTTING))
    assert end.value == end.bound == 1200


def test_all_allowances_zero_and_one_length_only():
    rules = Rules(**{name: Nm(0) for name in Rules.ZERO_ALLOWED}, sheets=(sheet(8, 1300),))
    pool = stated(framed(200, 96), rules=rules)
    end = last(pool)
    assert breaches(end.plan, pool) == ()
    assert end.value == end.bound


def test_plain_takeoff_does_not_load_the_solver():
    import subprocess
    import sys

    code = "import takeoff.job, sys; sys.exit('highspy' in sys.modules or 'numpy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_offcut_as_wide_as_a_ripped_piece_is_crosscut():
    owned = OwnedSheet(
        id="strip",
        board="regular",
        thickness=HALF,
        width=Nm(24 * INCH),
        length=Nm(5 * FOOT),
        factory_edges=1,
    )
    sheets = (sheet(8, 1300), sheet(10, 1700))
    rules = replace(CUTTING, sheets=sheets, owned=(owned,))
    # The lower row is ripped to 24 in, and a piece of it comes out of the offcut, uncut in width.
    pool = stated(framed(144, 72), rules=rules)
    for step in improve(pool):
        assert breaches(step.plan, pool) == ()
    (strip,) = (one for one in step.plan.sheets if one.source == "strip")
    assert strip.strips == ()
    assert strip.crosscuts


def test_search_begins_no_dearer_than_sheets_of_one_width_would_be(monkeypatch):
    walls = corners.room(Nm(163 * INCH), Nm(124 * INCH), Nm(90 * INCH))
    house = House(id="h", name="House", rooms=(walls,), rules=Rules(), catalogue=corners.CATALOGUE)
    pool = pool_of(house)
    # All in 48 in, as if 54 in were not on sale beside it.
    narrow = replace(
        pool,
        surfaces=tuple(
            replace(
                problem,
                layouts=tuple(one for one in problem.layouts if one.sheet_width == 48 * INCH),
            )
            for problem in pool.surfaces
        ),
    )
    alone = plan_pool(narrow).total

    def dear_where_free(of, **how):
        """First plans that the choice among widths leads astray."""
        plan = plan_pool(of, **how)
        widths = {one.sheet_width for problem in of.surfaces for one in problem.layouts}
        return replace(plan, sheet_cost=plan.sheet_cost + 10_000) if len(widths) > 1 else plan

    monkeypatch.setattr(best, "plan_pool", dear_where_free)
    assert alone < dear_where_free(pool).total
    assert next(improve(pool)).value <= alone
