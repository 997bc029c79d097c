"""What the hours of a plan are worth: worked out by hand, held by the checker, and what they make
of a plan."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from takeoff import codec
from takeoff.boards import hours
from takeoff.boards.check import check_plan
from takeoff.boards.first_plan import plan_pool
from takeoff.boards.plan import BoardPlan, JointKind
from takeoff.choices import CutoutKind, Runs, SurfaceKind
from takeoff.errors import BadValue
from takeoff.framing.members import FramedSurface, frame
from takeoff.geometry.surface import PlacedCutout
from takeoff.rules import Minutes, Rules
from takeoff.solve.best import Effort, improve
from takeoff.units import FOOT
from tests.takeoff.boards.hand import (
    CATALOGUE,
    CUTTING,
    PLAIN,
    framed,
    inches,
    opening,
    outline,
    stated,
)

CENTS = 25  # a minute at 15.00 an hour


def best(*surfaces: FramedSurface, rules: Rules = PLAIN) -> BoardPlan:
    effort = Effort(parts=5, patterns=100, nodes=20)
    plan = list(improve(stated(*surfaces, rules=rules), effort=effort))[-1].plan
    assert check_plan(plan, surfaces, rules, CATALOGUE) == ()
    return plan


def ceiling(width: float, height: float, **fields: object) -> FramedSurface:
    return framed(
        width,
        height,
        kind=SurfaceKind.CEILING,
        id="r1/ceiling",
        **fields,  # type: ignore[arg-type]
    )


def box(left: float, bottom: float) -> PlacedCutout:
    return PlacedCutout(
        id=f"box {left}",
        name="box",
        kind=CutoutKind.BOX,
        left=inches(left),
        bottom=inches(bottom),
        right=inches(left + 2),
        top=inches(bottom + 4),
    )


def piece(worth: hours.Worth, length: float, width: float, **given: object) -> int:
    settings = {"on_sale": False, "boxes": 0} | given
    return hours.piece_cents(
        worth,
        length=inches(length),
        width=inches(width),
        sheet_width=inches(48),
        **settings,  # type: ignore[arg-type]
    )


@pytest.mark.parametrize(
    ("length", "width", "given", "minutes"),
    [
        (96, 48, {"on_sale": True}, 12),
        (90, 48, {}, 12 + 3),
        (96, 30, {"on_sale": True}, 12 + 5),
        (90, 30, {}, 12 + 5 + 3),
        (90, 46.5, {}, 12 + 8 + 3),
        (23.875, 48, {}, 12 + 5 + 3),
        (24, 48, {}, 12 + 3),
        (90, 48, {"boxes": 2}, 12 + 3 + 2 * 6),
    ],
)
def test_piece_on_a_wall(length, width, given, minutes):
    worth = hours.worth_of(Rules(), overhead=False)
    assert piece(worth, length, width, **given) == CENTS * minutes


def test_overhead_all_but_cuts_takes_half_as_long_again():
    worth = hours.worth_of(Rules(), overhead=True)
    # 12 x 1.5, a crosscut, a rip, and a box
    assert piece(worth, 90, 30, boxes=1) == CENTS * (18 + 3 + 5 + 6)
    assert piece(worth, 20, 48) == round(CENTS * (1.5 * 17 + 3))
    floating = hours.joint_cents(
        worth, seam=inches(48), kind=JointKind.FLOATING, in_middle=False, at_corner=False
    )
    assert floating == CENTS * 1.5 * (4 * 12 + 6)


def test_each_amount_is_rounded_once_half_to_even():
    worth = hours.worth_of(
        Rules(hour=Decimal("0.30"), minutes=Minutes(piece=Decimal(5))), overhead=False
    )
    # half a cent a minute: 2.5 cents, then 5 + 3 minutes are 4 cents, and a box 3 by itself
    assert piece(worth, 96, 48, on_sale=True) == 2
    assert piece(worth, 90, 48, boxes=1) == 4 + 3


def test_plan_adds_up_its_pieces_and_seams():
    # 12 + 2 and 6 + 8 ft: four pieces, two of them crosscut; two butts, and 14 ft tapered.
    plan = plan_pool(stated(framed(168, 96)))
    assert sorted((one.end - one.start) // FOOT for one in plan.surfaces[0].pieces) == [2, 6, 8, 12]
    assert plan.work_cost == CENTS * (4 * 12 + 2 * 3 + 2 * 4 * 12 + 14 * 5)
    assert plan.total == plan.money + plan.work_cost


def test_seam_at_a_cut_edge_takes_as_long_as_a_butt():
    square = CATALOGUE.boards[0]
    kinds = replace(CATALOGUE, boards=(replace(square, edges=type(square.edges)("square")),))
    wall = framed(96, 96)
    tapered = plan_pool(stated(wall))
    cut = plan_pool(stated(wall, catalogue=kinds))
    assert cut.work_cost - tapered.work_cost == CENTS * 8 * (12 - 5)


def test_hour_of_zero_is_the_aim_of_sheets_and_seams():
    walls = framed(168, 96), ceiling(130, 100)
    plan = plan_pool(stated(*walls, rules=CUTTING))
    assert plan.work_cost == 0
    assert plan.total == plan.sheet_cost + plan.seam_cost + plan.backer_cost
    # Whatever the minutes are.
    slow = replace(CUTTING, minutes=Minutes(piece=Decimal(500)))
    assert plan_pool(stated(*walls, rules=slow)) == plan


def test_hours_leave_a_ceiling_fewer_pieces_and_butts():
    # 12' 6 1/2" by 16' 3", joists along the short side.
    wide = ceiling(195, 150.5, runs=Runs.ACROSS)
    by_sheets, by_hours = (plan_pool(stated(wide, rules=rules)) for rules in (CUTTING, PLAIN))
    assert len(by_hours.surfaces[0].pieces) < len(by_sheets.surfaces[0].pieces)
    assert len(by_hours.surfaces[0].joints) < len(by_sheets.surfaces[0].joints)
    assert by_hours.sheet_cost > by_sheets.sheet_cost


def test_box_within_a_piece_is_cut_out_in_every_plan_and_counts_for_nothing():
    bare = plan_pool(stated(framed(168, 96)))
    within = plan_pool(stated(framed(168, 96, cutouts=(box(20, 20), box(150, 60)))))
    assert within.work_cost == bare.work_cost
    # One that two rows share is cut out of two pieces.
    shared = plan_pool(stated(framed(168, 96, cutouts=(box(20, 46),))))
    assert shared.work_cost == bare.work_cost + CENTS * 6


def test_butts_keep_out_of_the_middle_third_of_a_ceiling():
    # One row of three is in the middle third across; along it the third is 64 to 128 in.
    wide = ceiling(192, 144)
    (middle,) = (row for row in best(wide).surfaces[0].rows if row.low == inches(48))
    ats = [joint.at for joint in best(wide).surfaces[0].joints if joint.row == middle.index]
    assert ats
    assert all(at <= inches(64) or at >= inches(128) for at in ats)
    work = stated(wide).surfaces[0].layouts[0].work
    seam, kind = inches(48), JointKind.FRAMING
    inside, outside = (work.joint(middle, inches(at), seam, kind) for at in (96, 48))
    assert inside - outside == CENTS * 10
    outer = replace(middle, low=inches(0), high=inches(48))
    assert work.joint(outer, inches(96), seam, kind) == outside


def test_butt_at_a_corner_that_the_surface_turns_about_counts_more():
    shape = outline((0, 0), (192, 0), (192, 96), (96, 96), (96, 144), (0, 144))
    layout = stated(ceiling(192, 144, shape=shape)).surfaces[0].layouts[0]
    lower, upper = (
        next(course for course in layout.courses if course.low == inches(low)) for low in (48, 0)
    )
    seam, kind = inches(48), JointKind.FRAMING
    assert layout.work.joint(lower, inches(96), seam, kind) == round(CENTS * (1.5 * 48 + 20 + 10))
    assert layout.work.joint(lower, inches(98.125), seam, kind) == round(CENTS * (1.5 * 48 + 10))
    assert layout.work.joint(upper, inches(96), seam, kind) == CENTS * 1.5 * 48


@pytest.mark.parametrize("fault", ["crosscut", "overhead", "butt", "box"])
def test_checker_finds_hours_that_the_planner_gets_wrong(fault, monkeypatch):
    surfaces = [framed(168, 96, cutouts=(box(20, 46),)), ceiling(130, 100)]
    right = hours.piece_cents, hours.joint_cents, hours.worth_of

    if fault == "crosscut":
        monkeypatch.setattr(
            hours, "piece_cents", lambda worth, **k: right[0](worth, **k | {"on_sale": True})
        )
    elif fault == "box":
        monkeypatch.setattr(
            hours, "piece_cents", lambda worth, **k: right[0](worth, **k | {"boxes": 0})
        )
    elif fault == "butt":
        monkeypatch.setattr(hours, "joint_cents", lambda worth, **k: right[1](worth, **k) - 1)
    else:
        monkeypatch.setattr(hours, "worth_of", lambda rules, **_: right[2](rules, overhead=False))
    plan = plan_pool(stated(*surfaces))
    assert {breach.rule for breach in check_plan(plan, surfaces, PLAIN, CATALOGUE)} == {"work_cost"}


def test_plan_stored_before_hours_counted_is_read_without_any():
    plan = plan_pool(stated(framed(168, 96), rules=CUTTING))
    written = codec.write(plan)
    del written["work_cost"]
    assert codec.read(BoardPlan, written) == plan


@pytest.mark.parametrize(
    "wrong",
    [
        {"hour": Decimal(-1)},
        {"hour": Decimal("NaN")},
        {"hour": Decimal(10_001)},
    ],
)
def test_hour_that_is_no_price_is_refused_with_an_example(wrong):
    with pytest.raises(BadValue, match=r"for example 15\.00"):
        Rules(**wrong)


def test_minutes_that_are_none_are_refused_with_an_example():
    with pytest.raises(BadValue, match="for example 12"):
        Minutes(rip=Decimal(-1))


def test_sloped_wall_is_added_up_alike():
    shape = outline((0, 0), (168, 0), (168, 131), (0, 84))
    wall = frame(framed(168, 84, shape=shape).surface, PLAIN)
    plan = plan_pool(stated(wall))
    assert plan.work_cost
    assert check_plan(plan, [wall], PLAIN, CATALOGUE) == ()


@pytest.mark.parametrize(("left", "top", "tongues"), [(60, 90, 0), (60, 95, 1), (1, 95, 2)])
def test_tongue_beside_an_opening_costs_a_cut_more(left, top, tongues):
    # One piece a row; what is left of the upper one above the window, and at its left end, is 1 in.
    wall = framed(144, 96, openings=(opening(left, 52, 100, top),))
    bare = plan_pool(stated(framed(144, 96)))
    plan = plan_pool(stated(wall))
    assert check_plan(plan, (wall,), PLAIN, CATALOGUE) == ()
    assert plan.work_cost == bare.work_cost + CENTS * 3 * tongues
    if tongues:
        less = replace(plan, work_cost=plan.work_cost - CENTS * 3)
        assert {breach.rule for breach in check_plan(less, (wall,), PLAIN, CATALOGUE)} == {
            "work_cost"
        }
