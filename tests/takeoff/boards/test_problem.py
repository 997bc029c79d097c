"""The board problem of a surface: courses, segments, allowed joints, and what is refused."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from takeoff.boards.check import check_plan
from takeoff.boards.first_plan import plan_pool
from takeoff.boards.plan import JointKind
from takeoff.boards.problem import formulate
from takeoff.choices import (
    CeilingRows,
    CutoutKind,
    JointMode,
    OpeningKind,
    Orientation,
    Runs,
    SurfaceKind,
)
from takeoff.errors import BadValue, CannotBoard
from takeoff.geometry.surface import PlacedCutout
from takeoff.units import Nm
from tests.takeoff.boards import corners
from tests.takeoff.boards.hand import (
    CATALOGUE,
    CUTTING,
    PLAIN,
    framed,
    inches,
    member,
    only,
    opening,
    outline,
    sheet,
    stated,
)


def in_inches(*values: Nm) -> list[float]:
    return [value / 25_400_000 for value in values]


def joints(row, kind: JointKind | None = None) -> list[float]:
    return [
        point.at / 25_400_000
        for segment in row.segments
        for point in segment.points
        if kind is None or point.kind is kind
    ]


def test_wall_rows_count_from_the_ceiling_down():
    layout = only(formulate(framed(120, 100), PLAIN, CATALOGUE))
    assert [in_inches(row.low, row.high) for row in layout.courses] == [[52, 100], [4, 52], [0, 4]]
    assert [row.full for row in layout.courses] == [True, True, False]


def test_last_row_keeps_its_factory_edge_against_its_neighbour():
    last = only(formulate(framed(120, 100), PLAIN, CATALOGUE)).courses[-1]
    assert (last.factory_low, last.factory_high) == (False, True)


def test_remainder_no_higher_than_the_largest_floor_gap_is_gap():
    inner = outline((0, 1), (120, 1), (120, 97), (0, 97))
    wall = framed(120, 97, inner_area=inner)
    layout = only(formulate(wall, PLAIN, CATALOGUE))
    assert [in_inches(row.low, row.high) for row in layout.courses] == [[49, 97], [1, 49]]
    assert layout.notes[0].rule == "largest_floor_gap"


def test_narrow_strip_is_pointed_out_with_the_price_of_the_wider_sheet():
    rules = replace(PLAIN, sheets=(*CATALOGUE.sheets, sheet(12, 2300, width=54)))
    first = formulate(framed(120, 102), rules, CATALOGUE).layouts[0]
    (note,) = first.notes
    assert note.rule == "narrow_strip"
    assert "$23.00" in note.text


def test_joints_on_framing_stand_at_member_centres():
    layout = only(formulate(framed(120, 96), PLAIN, CATALOGUE))
    assert joints(layout.courses[0]) == [16, 32, 48, 64, 80, 96, 112]


def test_joint_closer_than_the_clearance_to_an_opening_is_not_allowed_and_at_it_is():
    surface = framed(160, 96, openings=(opening(56, 30, 88, 80),))
    layout = only(formulate(surface, PLAIN, CATALOGUE))
    # 48 and 96 are exactly 8 in away and 64, 80 exactly 8 in inside
    assert joints(layout.courses[0]) == [16, 32, 48, 64, 80, 96, 112, 128, 144]
    tighter = only(formulate(surface, replace(PLAIN, opening_clearance=inches(8.125)), CATALOGUE))
    assert joints(tighter.courses[0]) == [16, 32, 112, 128, 144]


@pytest.mark.parametrize(("width", "beside"), [(48, True), (46, False)])
def test_seams_come_close_to_large_openings_only_where_the_rules_split_boards_there(width, beside):
    surface = framed(192, 96, openings=(opening(76, 60, 76 + width, 80),))
    split = replace(PLAIN, split_at_large_openings=True)
    kept, freed = (
        joints(only(formulate(surface, rules, CATALOGUE)).courses[0]) for rules in (PLAIN, split)
    )
    assert 80 not in kept
    assert (80 in freed) is beside
    plan = plan_pool(stated(surface, rules=split))
    assert not check_plan(plan, [surface], split, CATALOGUE)


def test_row_inside_an_opening_is_split_and_others_are_boarded_over():
    surface = framed(160, 96, openings=(opening(60, 0, 98, 82.5, OpeningKind.DOOR),))
    top, bottom = only(formulate(surface, PLAIN, CATALOGUE)).courses
    assert [in_inches(s.start, s.end) for s in top.segments] == [[0, 160]]
    assert [in_inches(s.start, s.end) for s in bottom.segments] == [[0, 60], [98, 160]]


def test_seam_leaves_out_openings_that_strictly_contain_it():
    surface = framed(160, 96, openings=(opening(56, 60, 104, 80),))
    (point,) = [
        p
        for p in only(formulate(surface, CUTTING, CATALOGUE)).courses[0].segments[0].points
        if p.at == inches(80)
    ]
    assert point.seam == inches(48 - 20)
    assert point.seam_cost == Fraction(100 * 28, 12)


def test_member_that_stops_short_of_the_seam_bears_no_joint():
    members = tuple(member(k * 16, 0, 60 if k == 3 else 96) for k in range(8))
    layout = only(formulate(framed(112, 96, members=members), PLAIN, CATALOGUE))
    assert joints(layout.courses[0]) == [16, 32, 64, 80, 96]
    assert joints(layout.courses[1]) == [16, 32, 48, 64, 80, 96]


def test_floating_joints_stand_at_mid_bay():
    layout = only(formulate(framed(64, 96, joint_mode=JointMode.FLOATING), PLAIN, CATALOGUE))
    assert joints(layout.courses[0]) == [8, 24, 40, 56]
    assert {point.kind for point in layout.courses[0].segments[0].points} == {JointKind.FLOATING}


def test_odd_mid_bay_is_rounded_half_to_even():
    members = (member(0, 0, 96), member(16, 0, 96), member(32, 0, 96))
    odd = (members[0], replace(members[1], centre=Nm(members[1].centre + 1)), members[2])
    layout = only(
        formulate(framed(32, 96, members=odd, joint_mode=JointMode.FLOATING), PLAIN, CATALOGUE)
    )
    assert [point.at for point in layout.courses[0].segments[0].points] == [
        203_200_000,
        609_600_000,
    ]


def test_bay_narrower_than_the_clear_bay_takes_no_floating_joint():
    surface = framed(48, 96, spacing=12, joint_mode=JointMode.EITHER)
    assert joints(only(formulate(surface, PLAIN, CATALOGUE)).courses[0], JointKind.FLOATING) == [
        6,
        18,
        30,
        42,
    ]
    surface = framed(48, 96, spacing=11.875, joint_mode=JointMode.EITHER)
    assert joints(only(formulate(surface, PLAIN, CATALOGUE)).courses[0], JointKind.FLOATING) == []


def test_box_in_the_backers_place_takes_the_floating_joint():
    box = PlacedCutout(
        "b", "box", CutoutKind.BOX, inches(26), inches(60), inches(28.25), inches(64)
    )
    surface = framed(64, 96, joint_mode=JointMode.FLOATING, cutouts=(box,))
    top, bottom = only(formulate(surface, PLAIN, CATALOGUE)).courses
    assert joints(top) == [8, 40, 56]
    assert joints(bottom) == [8, 24, 40, 56]


@pytest.mark.parametrize("fields", [{"rated": "U305"}, {"wet": True}, {"braces": True}])
def test_rated_wet_and_bracing_surfaces_take_no_floating_joint(fields):
    surface = framed(64, 96, joint_mode=JointMode.EITHER, **fields)
    assert joints(only(formulate(surface, PLAIN, CATALOGUE)).courses[0], JointKind.FLOATING) == []


def test_backers_are_one_for_each_four_feet_or_part_of_seam():
    rules = replace(PLAIN, sheets=tuple(replace(s, width=inches(54)) for s in CATALOGUE.sheets))
    layout = only(formulate(framed(64, 54, joint_mode=JointMode.FLOATING), rules, CATALOGUE))
    assert layout.courses[0].segments[0].points[0].backer_cost == 2 * (350 + 2 * 15)


def test_ceiling_rows_run_across_the_joists():
    surface = framed(144, 96, kind=SurfaceKind.CEILING, runs=Runs.ALONG)
    layout = only(formulate(surface, replace(PLAIN, ceiling_rows=CeilingRows.SIDE_A), CATALOGUE))
    assert layout.rows_run is Runs.ACROSS
    assert [in_inches(row.low, row.high) for row in layout.courses] == [
        [0, 48],
        [48, 96],
        [96, 144],
    ]
    assert joints(layout.courses[0]) == [16, 32, 48, 64, 80]


def test_ceiling_rows_from_either_side_give_two_layouts():
    surface = framed(144, 100, kind=SurfaceKind.CEILING)
    a, b = formulate(surface, PLAIN, CATALOGUE).layouts
    assert [in_inches(row.low, row.high) for row in a.courses] == [[0, 48], [48, 96], [96, 100]]
    assert [in_inches(row.low, row.high) for row in b.courses] == [[52, 100], [4, 52], [0, 4]]


def test_edge_rows_share_the_rip_where_the_rule_says_so():
    surface = framed(144, 100, kind=SurfaceKind.CEILING)
    shared = formulate(surface, replace(PLAIN, shared_edge_rip=True), CATALOGUE).layouts[-1]
    assert [in_inches(row.low, row.high) for row in shared.courses] == [
        [0, 26],
        [26, 74],
        [74, 100],
    ]
    assert [(row.factory_low, row.factory_high) for row in shared.courses] == [
        (False, True),
        (True, True),
        (True, False),
    ]


def test_standing_boards_have_their_long_edges_on_members():
    surface = framed(100, 96, orientation=Orientation.ALONG, spacing=19.25)
    layout = formulate(surface, PLAIN, CATALOGUE).layouts[0]
    assert layout.rows_run is Runs.ACROSS
    assert [in_inches(row.low, row.high) for row in layout.courses] == [
        [0, 38.5],
        [38.5, 77],
        [77, 100],
    ]
    assert not any(row.full for row in layout.courses)


def test_standing_board_longer_than_a_sheet_has_butt_ends_whole_sheets_from_either_end():
    surface = framed(96, 168, orientation=Orientation.ALONG)
    layout = formulate(surface, PLAIN, CATALOGUE).layouts[0]
    assert {48, 72, 96, 120, 144} <= set(joints(layout.courses[0]))


def test_sloping_top_counts_from_the_eave_or_from_the_floor():
    shape = outline((0, 0), (120, 0), (120, 154), (0, 100))
    layout, from_the_floor = formulate(framed(120, 154, shape=shape), PLAIN, CATALOGUE).layouts
    assert [in_inches(row.low, row.high) for row in from_the_floor.courses] == [
        [144, 154],
        [96, 144],
        [48, 96],
        [0, 48],
    ]
    assert [in_inches(row.low, row.high) for row in layout.courses] == [
        [148, 154],
        [100, 148],
        [52, 100],
        [4, 52],
        [0, 4],
    ]
    assert in_inches(layout.courses[1].segments[0].start, layout.courses[1].segments[0].end) == [
        0,
        120,
    ]


def test_l_shaped_ceiling_has_a_segment_for_each_part_of_a_row():
    shape = outline((0, 0), (240, 0), (240, 96), (144, 96), (144, 48), (96, 48), (96, 96), (0, 96))
    surface = framed(240, 96, kind=SurfaceKind.CEILING, shape=shape)
    layout = formulate(surface, PLAIN, CATALOGUE).layouts[0]
    assert [in_inches(s.start, s.end) for s in layout.courses[1].segments] == [[0, 96], [144, 240]]


def test_surface_without_board_has_no_problem():
    surface = framed(96, 96)
    with pytest.raises(BadValue, match="gets no board"):
        formulate(
            replace(surface, surface=replace(surface.surface, board_area=())), PLAIN, CATALOGUE
        )


def test_bay_wider_than_the_longest_sheet_names_row_and_rule():
    members = (member(0, 0, 48), member(8, 0, 48), member(192, 0, 48), member(200, 0, 48))
    with pytest.raises(CannotBoard) as refusal:
        formulate(framed(200, 48, members=members), PLAIN, CATALOGUE)
    assert refusal.value.surface == "r1/a"
    assert refusal.value.row == 0
    assert refusal.value.rule == "joint_mode"


def test_stagger_that_cannot_be_kept_is_named():
    members = tuple(member(k, 0, 96) for k in (0, 96, 104, 200))
    with pytest.raises(CannotBoard) as refusal:
        formulate(framed(200, 96, members=members, wet=True), PLAIN, CATALOGUE)
    assert refusal.value.rule == "stagger"
    assert "row 2" in str(refusal.value)


def test_no_joint_stands_where_a_row_forks_into_two_boards():
    # a notch 24 to 40 in up, from 96 in on: right of it the course is two arms
    shape = outline((0, 0), (200, 0), (200, 24), (96, 24), (96, 40), (200, 40), (200, 48), (0, 48))
    surface = framed(200, 48, kind=SurfaceKind.CEILING, shape=shape)
    with pytest.raises(CannotBoard):
        formulate(surface, replace(PLAIN, sheets=(sheet(8, 1200),)), CATALOGUE)
    longer = replace(PLAIN, sheets=(sheet(12, 1200),))
    assert joints(formulate(surface, longer, CATALOGUE).layouts[0].courses[0])[-1] == 80


def test_no_row_is_thin_where_as_few_can_all_be_wider():
    # 9 ft 2 in of board could be 54, 54 and 2 in, in sheets of both widths.
    high = corners.room(inches(168), inches(105), inches(110.875))
    _, _, wall = corners.planned(high, "A")
    layouts = formulate(wall, corners.RULES, corners.CATALOGUE).layouts
    assert [in_inches(*(row.high - row.low for row in one.courses)) for one in layouts] == [
        [48, 48, 13.875]
    ]
