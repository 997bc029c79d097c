"""Plans that stand: joints stay, boards are cut anew, and what is impossible lets them fall."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from takeoff.boards.check import examine_plan
from takeoff.boards.first_plan import plan_pool
from takeoff.boards.hung import place
from takeoff.boards.plan import AsBuilt, BoardPlan
from takeoff.boards.standing import standing_layout
from takeoff.catalogue import OwnedSheet
from takeoff.errors import CannotBoard
from takeoff.framing.members import frame
from takeoff.job import take_off
from takeoff.solve.best import improve
from takeoff.units import FOOT, INCH, Nm
from tests.bench.rooms import seeded_house
from tests.takeoff.boards.half_hung import (
    around,
    built_of,
    built_of_takeoff,
    chosen_at_random,
    examined,
    of_row,
    pieces_on,
)
from tests.takeoff.boards.hand import (
    CATALOGUE,
    CUTTING,
    HALF,
    PLAIN,
    SHEETS,
    framed,
    outline,
    sheet,
    stated,
)
from tests.takeoff.exhaustive import cutting_cost

WALL = framed(168, 96)
FIRST = plan_pool(stated(WALL))
STANDS = AsBuilt(standing=FIRST.surfaces)


def owned(feet: int) -> OwnedSheet:
    return OwnedSheet(
        id="found", board="regular", thickness=HALF, width=Nm(48 * INCH), length=Nm(feet * FOOT)
    )


def test_joints_and_pieces_stay_and_a_sheet_that_was_found_is_used():
    rules = replace(PLAIN, owned=(owned(12),))
    rest = around(STANDS, WALL, rules=rules)
    plan = plan_pool(rest)
    assert plan.surfaces == FIRST.surfaces
    assert "found" in {one.source for one in plan.sheets}
    assert plan.total < FIRST.total
    assert examined(plan, rest, STANDS).broken == ()


def test_boards_of_a_length_that_is_no_longer_sold_are_cut_from_another():
    first_sheets = {one.length // FOOT for one in FIRST.sheets}
    rest = around(STANDS, WALL, rules=replace(PLAIN, sheets=SHEETS[1:]))
    plan = plan_pool(rest)
    assert 8 in first_sheets
    assert 8 not in {one.length // FOOT for one in plan.sheets}
    assert plan.surfaces[0].pieces == FIRST.surfaces[0].pieces
    assert examined(plan, rest, STANDS).broken == ()


def test_piece_that_no_sheet_is_long_enough_for_is_said():
    wall = framed(144, 96)
    first = plan_pool(stated(wall))
    with pytest.raises(CannotBoard, match=r"piece R-A1, 12' 0\" long"):
        around(AsBuilt(standing=first.surfaces), wall, rules=replace(PLAIN, sheets=SHEETS[:1]))


@pytest.mark.parametrize("width", [100, 140, 168, 200])
def test_pieces_are_cut_for_the_least_there_is(width):
    sheets = (sheet(6, 1000), sheet(8, 1300), sheet(12, 1900))
    wall, rules = framed(width, 60), replace(CUTTING, sheets=SHEETS)
    first = plan_pool(stated(wall, rules=rules))
    rest = around(AsBuilt(standing=first.surfaces), wall, rules=replace(CUTTING, sheets=sheets))
    end = list(improve(rest))[-1]
    pieces = tuple(
        sorted(
            (
                (piece.end - piece.start, piece.high - piece.low)
                for piece in first.surfaces[0].pieces
            ),
            reverse=True,
        )
    )
    assert end.value == end.bound == cutting_cost(pieces, sheets) + first.seam_cost
    assert end.plan.surfaces == first.surfaces


def test_boards_that_hang_keep_their_sheet_and_the_others_their_joints():
    before = stated(WALL)
    built = replace(built_of(FIRST, before, of_row(FIRST, 0)), standing=FIRST.surfaces)
    rest = around(built, WALL)
    plan = plan_pool(rest)
    assert plan.surfaces == FIRST.surfaces
    assert {one.code for one in built.sheets} <= {one.code for one in plan.sheets}
    assert plan.total <= FIRST.total
    assert examined(plan, rest, built).broken == ()


def test_boards_that_overlap_stay_in_the_order_of_their_plan():
    plan = FIRST.surfaces[0]
    first, *others = plan.pieces
    second = replace(first, code="R-A9", end=Nm(first.end - INCH))
    both = replace(plan, pieces=(first, second, *others))
    boards = place(both, WALL.surface, {first.code, "R-A9"})
    for hung in (boards, boards[::-1]):
        layout = standing_layout(WALL.surface, both, hung, SHEETS, (), PLAIN)
        assert [board.mark for board in layout.courses[0].boards] == [first.code, "R-A9"]


def test_sloped_pieces_keep_their_outline():
    sloped = framed(168, 84, shape=outline((0, 0), (168, 0), (168, 110), (0, 84)))
    wall = frame(sloped.surface, PLAIN)
    first = plan_pool(stated(wall))
    built = AsBuilt(standing=first.surfaces)
    rest = around(built, wall)
    plan = plan_pool(rest)
    assert plan.surfaces == first.surfaces
    assert examined(plan, rest, built).broken == ()


def findings(surface=WALL, plan: BoardPlan = FIRST, **rules: object):
    return examine_plan(
        plan,
        [surface],
        replace(PLAIN, **rules),  # type: ignore[arg-type]
        CATALOGUE,
        built=AsBuilt(standing=FIRST.surfaces),
    )


def test_rule_that_asks_more_of_joints_is_amiss_where_a_plan_stands():
    found = findings(stagger=Nm(60 * INCH), shortest_piece=Nm(90 * INCH))
    assert {breach.rule for breach in found.amiss} == {"stagger", "shortest_piece"}
    assert found.broken == ()


def test_studs_that_stand_elsewhere_let_a_plan_fall():
    surface = WALL.surface
    moved = replace(surface, framing=replace(surface.framing, first=Nm(5 * INCH)))
    assert {breach.rule for breach in findings(frame(moved, PLAIN)).broken} == {"on_framing"}


def test_wall_of_another_size_lets_a_plan_fall():
    assert {breach.rule for breach in findings(framed(180, 96)).broken} >= {"segments"}
    assert "rows" in {breach.rule for breach in findings(framed(168, 100)).broken}


def test_plan_with_other_joints_is_none_of_a_plan_that_stands():
    (surface,) = FIRST.surfaces
    other = plan_pool(stated(WALL, rules=replace(PLAIN, sheets=(sheet(12, 1800),))))
    assert other.surfaces[0].joints != surface.joints
    rules = {"sheets": (sheet(12, 1800),)}
    assert "placed" in {breach.rule for breach in findings(plan=other, **rules).broken}


def some_fall(seed: int) -> None:
    """In a room half hung, every other surface is planned anew and the rest stand."""
    house = seeded_house(seed)
    first = take_off(house)
    pieces = [piece for surface in first.surface_plans for piece in surface.pieces]
    built = built_of_takeoff(first, chosen_at_random(pieces, Random(seed), 0.3))
    # What is planned on a sheet that is begun stays on it.
    begun = {
        code
        for one in first.sheets
        if one.code in {cut.code for cut in built.sheets}
        for code in pieces_on(one)
    }
    built = built_of_takeoff(first, begun)
    built = replace(built, standing=tuple(first.surface_plans[::2]))
    again = take_off(house, built=built)
    assert again.refused == first.refused
    stood = {plan.surface: plan for plan in again.surface_plans}
    for plan in first.surface_plans[::2]:
        assert stood[plan.surface].pieces == plan.pieces
        assert stood[plan.surface].joints == plan.joints
    marks = [piece.code for surface in again.surface_plans for piece in surface.pieces]
    assert len(marks) == len(set(marks))


@pytest.mark.parametrize(
    "seed", [4, 6, *(pytest.param(seed, marks=pytest.mark.deep) for seed in range(8, 38))]
)
def test_fallen_surfaces_are_planned_in_one_programme_with_those_that_stand(seed):
    some_fall(seed)
