"""Other ways to board a room: each is a whole plan of its own, or says why there is none."""

from __future__ import annotations

from dataclasses import replace

import pytest

from takeoff.boards.check import check_plan
from takeoff.boards.plan import JointKind
from takeoff.boards.ways import Way, plan_way
from takeoff.catalogue import OwnedSheet, sheet_id
from takeoff.choices import Action, JointMode, SurfaceKind
from takeoff.house import Framing
from takeoff.job import Takeoff, take_off
from takeoff.plan_figures import figures_of, figures_of_rooms
from takeoff.rules import BoardChoice
from takeoff.units import INCH, Nm
from tests.bench.rooms import seeded_house
from tests.takeoff.boards.hand import HALF, sheet
from tests.takeoff.boards.renewed import small_house, with_room
from tests.takeoff.houses import demo_takeoff


def tried(takeoff: Takeoff, way: Way, at: int = 0):
    room = takeoff.rooms[at]
    members = {framed.surface.id: framed for framed in takeoff.framed}
    now = [plan for plan in takeoff.surface_plans if plan.room == room.room]
    return plan_way(takeoff.house, room, members, way, now)


def figures(takeoff: Takeoff, found, at: int = 0):
    sheets = [sheet for plan in found.plans for sheet in plan.sheets]
    return figures_of(takeoff.house, takeoff.rooms[at], takeoff.framed, found.surfaces, sheets)


def named(found, surface: str):
    return next(plan for plan in found.surfaces if plan.surface.endswith(f"/{surface}"))


def with_ceiling(house, joists: int = 16):
    """The small house with its ceilings boarded as well."""
    framing = Framing(spacing=Nm(joists * INCH), start_backed=True, end_backed=True)

    def change(room):
        return replace(
            room,
            surfaces=tuple(
                replace(one, action=Action.BOARD, framing=framing) if one.of == "ceiling" else one
                for one in room.surfaces
            ),
        )

    return with_room(house, change)


def test_by_the_rules_a_room_alone_has_the_plan_of_its_house():
    takeoff = take_off(small_house((168, 128)))
    assert tried(takeoff, Way.RULES).surfaces == takeoff.surface_plans


def test_rows_of_a_ceiling_from_the_other_side():
    # 128 in across: two sheets and 32 in, which is ripped on the one side or on the other.
    takeoff = take_off(with_ceiling(small_house((168, 128))))
    now = next(plan for plan in takeoff.surface_plans if plan.surface.endswith("ceiling"))
    other = named(tried(takeoff, Way.OTHER_SIDE), "ceiling")

    def heights(plan):
        rows = sorted(plan.rows, key=lambda row: row.low)
        return [(row.high - row.low) < row.sheet_width for row in rows]

    assert heights(now) == heights(other)[::-1]
    assert sorted(heights(now)) == [False, False, True]


def test_walls_have_no_other_side():
    found = tried(take_off(small_house((168, 128))), Way.OTHER_SIDE)
    assert not found.plans
    assert "count from the ceiling down" in found.why_not


def test_a_ceiling_of_whole_sheets_is_the_same_from_either_side():
    found = tried(take_off(with_ceiling(small_house((168, 144)))), Way.OTHER_SIDE)
    assert found.why_not == "Ceiling: its rows are the same counted from either side"


def test_along_the_framing_where_the_table_lets_boards_lie_so():
    # 1/2 in board may not lie along joists at 24 in, so the ceiling stays across them.
    takeoff = take_off(with_ceiling(small_house((168, 128)), joists=24))
    found = tried(takeoff, Way.ALONG)
    assert all(plan.along_framing == ("ceiling" not in plan.surface) for plan in found.surfaces)
    ((name, why),) = found.stays
    assert name == "Ceiling"
    assert "does not let" in why


def test_floating_where_no_rule_forbids_it():
    def wet(room):
        return replace(
            room,
            surfaces=tuple(
                replace(one, wet=True) if one.of == "A" else one for one in room.surfaces
            ),
        )

    takeoff = take_off(with_room(small_house((236, 128)), wet))
    found = tried(takeoff, Way.FLOATING)
    kinds = {
        plan.surface.rpartition("/")[2]: {joint.kind for joint in plan.joints}
        for plan in found.surfaces
        if plan.joints
    }
    assert kinds == {"A": {JointKind.FRAMING}, "C": {JointKind.FLOATING}}
    assert found.stays == (("Wall A", "a wet or tiled surface has no floating seam"),)
    assert figures(takeoff, found).backers


def test_narrow_sheets_alone():
    sheets = (sheet(12, 1800), sheet(12, 2100, width=54))
    house = small_house((140, 128), sheets=sheets)
    higher = with_room(
        house, lambda room: replace(room, ceiling=replace(room.ceiling, height=Nm(108 * INCH)))
    )
    takeoff = take_off(higher)
    assert {sheet.width for sheet in takeoff.sheets} == {54 * INCH}
    found = tried(takeoff, Way.NARROW)
    assert {sheet.width for plan in found.plans for sheet in plan.sheets} == {48 * INCH}
    # Three rows a wall in place of two, the third one ripped.
    assert figures(takeoff, found).pieces == 12
    assert figures(takeoff, found).rips >= 4


def test_only_narrow_sheets_are_on_sale():
    found = tried(take_off(small_house((140, 128))), Way.NARROW)
    assert found.why_not == 'No other board than 48" wide is on sale for this room'


def test_a_board_that_is_not_sold_narrow_stays():
    board = BoardChoice(kind="regular", thickness=Nm(INCH // 2))
    sheets = (sheet(12, 2100, width=54),)
    house = small_house((140, 128), sheets=sheets, wall_board=board)
    found = tried(take_off(house), Way.NARROW)
    assert 'no 48" wide regular board is on sale' in found.why_not


def test_longest_boards_first():
    # 19 ft 8 in of studs at 16 in: a board of 12 ft, which ends on a stud, then the rest.
    takeoff = take_off(small_house((236, 128)))
    found = tried(takeoff, Way.LONGEST)
    wall = named(found, "A")
    lengths = [
        sorted(piece.end - piece.start for piece in wall.pieces if piece.row == row)
        for row in (0, 1)
    ]
    assert all(len(some) == 2 for some in lengths)
    assert any(some[-1] == 144 * INCH for some in lengths)
    # Its rows keep apart, from one corner and from the other.
    first, second = ({joint.at for joint in wall.joints if joint.row == row} for row in (0, 1))
    assert all(abs(one - other) >= 16 * INCH for one in first for other in second)


def test_least_material_pays_no_more_than_the_plan_that_weighs_hours():
    for seed in (1, 3, 5):
        takeoff = take_off(seeded_house(seed))
        least = figures(takeoff, tried(takeoff, Way.LEAST))
        rules = figures(takeoff, tried(takeoff, Way.RULES))
        assert least.money < rules.money
        assert least.hours > rules.hours


def test_least_material_is_no_dearer_than_the_longest_boards():
    takeoff = demo_takeoff("quay-flat")
    for at in range(len(takeoff.rooms)):
        least = figures(takeoff, tried(takeoff, Way.LEAST, at), at)
        assert least.money <= figures(takeoff, tried(takeoff, Way.LONGEST, at), at).money


def test_whole_sheets_on_hand_make_no_way_cheaper():
    sheets = (sheet(12, 1800),)
    bare = take_off(small_house((140, 128), sheets=sheets))
    here = OwnedSheet(
        id=sheet_id("regular", HALF, Nm(48 * INCH), Nm(144 * INCH)),
        board="regular",
        thickness=HALF,
        width=Nm(48 * INCH),
        length=Nm(144 * INCH),
        count=3,
    )
    stocked = take_off(small_house((140, 128), sheets=sheets, owned=(here,)))
    for way in (Way.RULES, Way.LONGEST, Way.LEAST):
        found = [figures(one, tried(one, way)) for one in (bare, stocked)]
        assert found[0] == found[1]
    # The plan itself has them for nothing, and its figures count them at their price.
    (counted,) = figures_of_rooms(stocked).values()
    assert counted.sheets_here == 3
    assert sum(plan.sheet_cost for plan in stocked.plans) == counted.money - 3 * 1800


def test_looking_changes_no_rule_of_the_house():
    takeoff = take_off(seeded_house(2))
    before = takeoff.house
    for way in Way:
        tried(takeoff, way)
    assert takeoff.house == before
    assert all(framed.surface.joint_mode is JointMode.FRAMING for framed in takeoff.framed)


@pytest.mark.parametrize("way", Way)
@pytest.mark.parametrize("name", ["hollow-lane", "quay-flat"])
def test_every_way_of_the_demo_rooms_is_a_plan_or_a_reason(name, way):
    takeoff = demo_takeoff(name)
    for at, room in enumerate(takeoff.rooms):
        found = tried(takeoff, way, at)
        boarded = {surface.id for surface in room.surfaces if surface.board_area}
        if found.why_not:
            assert not found.plans
            continue
        planned = {plan.surface for plan in found.surfaces}
        assert planned | {one.surface for one in found.refused} == boarded
        counted = figures(takeoff, found, at)
        assert counted.pieces == sum(len(plan.pieces) for plan in found.surfaces)


def test_the_checker_passes_a_way_with_the_surfaces_it_has():
    takeoff = take_off(with_ceiling(small_house((236, 128))))
    members = {framed.surface.id: framed for framed in takeoff.framed}
    for plan in tried(takeoff, Way.OTHER_SIDE).plans:
        framed = [members[surface.surface] for surface in plan.surfaces]
        assert any(one.surface.kind is SurfaceKind.CEILING for one in framed)
        assert check_plan(plan, framed, takeoff.house.rules, takeoff.house.catalogue) == ()
