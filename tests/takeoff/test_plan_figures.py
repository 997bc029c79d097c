"""The figures by which plans are compared: one small room by hand, and that they add up."""

from __future__ import annotations

from dataclasses import fields, replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.boards.ways import Way, plan_way
from takeoff.choices import JointMode, SurfaceKind
from takeoff.job import take_off
from takeoff.plan_figures import FIGURE_LINES, PlanFigures, figures_of, figures_of_rooms
from takeoff.reference import figures
from takeoff.rules import Minutes
from takeoff.seams import SeamKind
from takeoff.units import FOOT, INCH
from tests.bench.rooms import seeded_house
from tests.takeoff.boards.renewed import small_house
from tests.takeoff.houses import demo_takeoff

NOTHING = {one.name: Decimal(0) for one in fields(Minutes)}


def test_walls_of_a_small_room():
    # 144 x 96 in, 95-1/2 in under the ceiling: two rows a wall, no butt seam. Walls A and C are as
    # long as a sheet, B and D half an inch short of theirs at each corner.
    takeoff = take_off(small_house((144, 96)))
    (found,) = figures_of_rooms(takeoff).values()
    assert found.pieces == 8
    # Both rows of B and D are crosscut; the lower row of every wall gives two inches of its width.
    assert (found.crosscuts, found.rips, found.cutouts) == (4, 4, 0)
    assert (found.sheets_bought, found.sheets_here) == (8, 0)
    assert found.sheet_cost == 4 * 1800 + 4 * 1200
    assert (found.backers, found.backer_cost, found.money) == (0, 0, 12000)
    # One flat seam a wall, from corner to corner: its lower edge is the sheet's own.
    assert found.tapered == 2 * (144 + 95) * INCH
    assert (found.butt, found.cut_edge) == (0, 0)
    # Between finished faces, half an inch inside the studs: four corners under the ceiling, which
    # stays, and all round it.
    assert found.corner == 4 * 191 * INCH // 2 + 2 * (143 + 95) * INCH
    area = Fraction(2 * (144 + 95)) * Fraction(191, 2) / 144
    assert found.hanging * 60 == 8 * 12 + 4 * 3 + 4 * 5 + area / 2
    feet = Fraction(found.tapered, FOOT), Fraction(found.corner, FOOT)
    assert found.finishing * 60 == 5 * feet[0] + 6 * feet[1] + area * 3 / 10
    assert found.hours == found.hanging + found.finishing


def test_backers_of_floating_seams_are_money():
    house = small_house((236, 128), joint_mode=JointMode.FLOATING)
    (found,) = figures_of_rooms(take_off(house)).values()
    seams = 4
    assert found.butt > 0
    assert found.backers >= seams
    a_backer = 100 * Fraction(house.rules.backer_price) + 100 * figures.count(
        "BB-shims"
    ) * Fraction(house.rules.shim_price)
    assert found.backer_cost == found.backers * a_backer
    assert found.money == found.sheet_cost + found.backer_cost


def test_an_hour_that_is_worth_nothing_changes_no_figure():
    takeoff = take_off(seeded_house(3))
    free = replace(
        takeoff, house=replace(takeoff.house, rules=replace(takeoff.house.rules, hour=Decimal(0)))
    )
    assert figures_of_rooms(free) == figures_of_rooms(takeoff)


def test_figures_of_rooms_add_up_to_their_house():
    takeoff = demo_takeoff("hollow-lane")
    found = figures_of_rooms(takeoff).values()
    assert sum(one.sheets for one in found) == len(takeoff.sheets)
    assert sum(one.sheet_cost for one in found) == sum(plan.sheet_cost for plan in takeoff.plans)
    assert sum(one.backer_cost for one in found) == sum(plan.backer_cost for plan in takeoff.plans)


def minutes_of(takeoff, surfaces, sheets, **minutes) -> Fraction:
    """The minutes that hanging and finishing take where only these parts take any."""
    rules = replace(takeoff.house.rules, minutes=Minutes(**NOTHING | minutes))
    found = figures_of(
        replace(takeoff.house, rules=rules), takeoff.rooms[0], takeoff.framed, surfaces, sheets
    )
    return found.hours * 60


@settings(max_examples=8)
@given(seed=st.integers(0, 200), way=st.sampled_from([Way.RULES, Way.LONGEST, Way.LEAST]))
def test_counts_add_up_to_the_hours_of_each_part(seed, way):
    takeoff = take_off(seeded_house(seed))
    members = {framed.surface.id: framed for framed in takeoff.framed}
    planned = plan_way(takeoff.house, takeoff.rooms[0], members, way, takeoff.surface_plans)
    sheets = [sheet for plan in planned.plans for sheet in plan.sheets]
    found: PlanFigures = figures_of(
        takeoff.house, takeoff.rooms[0], takeoff.framed, planned.surfaces, sheets
    )
    one = Decimal(1)

    def told(**minutes):
        return minutes_of(takeoff, planned.surfaces, sheets, **minutes)

    # Cuts take as long on a ceiling as on a wall.
    assert told(crosscut=one) == found.crosscuts
    assert told(rip=one, thin_rip=one) == found.rips
    assert told(opening=one) == found.cutouts
    kinds = {framed.surface.id: framed.surface.kind for framed in takeoff.framed}
    overhead = sum(
        len(plan.pieces) for plan in planned.surfaces if kinds[plan.surface] is SurfaceKind.CEILING
    )
    longer = figures.number("HR-overhead") - 1
    assert told(piece=one) == found.pieces + overhead * longer
    assert found.pieces == sum(
        len(sheet.crosscuts) + sum(len(strip.pieces) for strip in sheet.strips) for sheet in sheets
    )
    assert told(corner_foot=one) == pytest.approx(Fraction(found.corner, FOOT))
    assert found.butt == sum(joint.length for plan in planned.surfaces for joint in plan.joints)
    assert found.sheets_bought == sum(sheet.source is None for sheet in sheets)
    assert found.money == sum(plan.sheet_cost + plan.backer_cost for plan in planned.plans)


def test_seams_of_a_room_are_those_of_its_takeoff():
    takeoff = take_off(seeded_house(7))
    (found,) = figures_of_rooms(takeoff).values()
    by_kind = {
        kind: sum(seam.length for seam in takeoff.seams if seam.kind is kind) for kind in SeamKind
    }
    assert found.tapered == by_kind[SeamKind.TAPERED]
    assert found.cut_edge == by_kind[SeamKind.CUT_EDGE]
    assert found.butt == by_kind[SeamKind.BUTT_ON_FRAMING] + by_kind[SeamKind.FLOATING_BUTT]
    assert found.corner == by_kind[SeamKind.INSIDE_CORNER] + by_kind[SeamKind.RIDGE]


def test_figures_are_compared_in_steps_of_what_is_shown():
    figures = PlanFigures(sheets_bought=2, butt=25_400_000 * 12 * 7, hanging=Fraction(123, 50))
    by_name = {line.name: line for line in FIGURE_LINES}
    assert len(by_name) == 12
    assert by_name["Sheets"].steps(figures, "in") == 2
    # 7 ft are 2.1336 m, and 2.46 hours are shown as 2.5.
    assert by_name["Butt seams"].steps(figures, "in") == 7
    assert by_name["Butt seams"].steps(figures, "mm") == 21
    assert by_name["Hanging"].steps(figures, "in") == 25
