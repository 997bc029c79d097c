"""What the demo houses take, as a whole."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from takeoff.catalogue import Catalogue
from takeoff.choices import Action, Runs
from takeoff.framing.members import run_ends
from takeoff.geometry.surface import EdgeKind
from takeoff.house import Finish, House, QuickRoom, Room, SurfaceChoice
from takeoff.housefile import read_catalogue, read_house
from takeoff.job import take_off
from takeoff.needs.hanging import surface_lines
from takeoff.needs.materials import DRYING_COMPOUND, PAPER_TAPE, SANDING
from takeoff.needs.need import Phase
from takeoff.quantities import add, subtract
from takeoff.reference import figures
from takeoff.rules import BoardChoice
from takeoff.units import INCH, Nm
from tests.takeoff.needs_room import assert_reasons_add_up

FIXTURES = Path(__file__).parents[2] / "fixtures"


def test_reasons_add_up_to_every_need(takeoff):
    assert takeoff.needs
    assert_reasons_add_up(takeoff.needs)


def test_every_reason_says_something_and_rests_on_known_figures(takeoff):
    for need in takeoff.needs:
        for reason in need.reasons:
            assert reason.text.strip()
            assert set(reason.figures) <= set(figures.by_id())


def test_boards_are_screwed_along_every_corner_that_has_a_member(takeoff):
    assert _corners_with_screws(takeoff) > 20


def test_boards_of_a_room_with_nothing_said_of_its_first_member_are_screwed_along_its_corners():
    assert _corners_with_screws(take_off(house(room()))) == 4 * 2 + 2


def test_surface_that_cannot_be_boarded_takes_nothing_for_board_or_finish():
    wall = SurfaceChoice(of="A", board=BoardChoice(kind="regular", thickness=Nm(INCH)))
    bare = room(
        surfaces=(SurfaceChoice(of="A", action=Action.LEAVE),), finish=Finish(paint_coats=0)
    )
    refused = take_off(house(replace(bare, surfaces=(wall,))))
    untouched = take_off(house(bare))
    assert [refusal.surface for refusal in refused.refused] == ["room/A"]
    on_it = {
        need.material
        for need in refused.needs
        if any(reason.surface == "room/A" for reason in need.reasons)
    }
    # of the corners that other board makes with it
    assert on_it <= {material.id for material in (PAPER_TAPE, DRYING_COMPOUND, SANDING)}
    assert [(seam.kind, seam.surfaces) for seam in refused.seams] == [
        (s.kind, s.surfaces) for s in untouched.seams
    ]
    assert {check.material for check in refused.cross_checks} == {
        check.material for check in untouched.cross_checks
    }


def room(**changes) -> Room:
    return Room(
        id="room",
        name="Room",
        shape=QuickRoom(length=Nm(144 * INCH), width=Nm(120 * INCH)),
        **changes,
    )


def house(*rooms: Room) -> House:
    catalogue = read_catalogue((FIXTURES / "catalogue.json").read_text())
    return House(id="house", name="House", rooms=rooms, catalogue=catalogue)


def _corners_with_screws(takeoff) -> int:
    """How many board edges along members lie in a corner; each must have its line of screws."""
    framed = {framed_surface.surface.id: framed_surface for framed_surface in takeoff.framed}
    ends = 0
    for plan in takeoff.surface_plans:
        framed_surface = framed[plan.surface]
        lines = surface_lines(
            framed_surface, plan, rules=takeoff.house.rules, catalogue=takeoff.house.catalogue
        )
        for end in run_ends(framed_surface.surface):
            if end.backed is False or end.kind not in (EdgeKind.INSIDE_CORNER, EdgeKind.WALL):
                continue
            axis = 0 if framed_surface.members[0].runs is Runs.ACROSS else 1
            beyond = [
                (point[axis] - end.at) * end.inward for point in framed_surface.surface.board_area
            ]
            if 0 <= min(beyond) < INCH:
                ends += 1
                along_end = [
                    line for line in lines if 0 <= (line.at - end.at) * end.inward < 3 * INCH
                ]
                assert along_end, f"{framed_surface.surface.name} at {end.at / INCH}"
    return ends


def test_everything_needed_is_on_sale(takeoff):
    assert takeoff.supply.unmet == ()


def test_lines_take_all_needs_and_no_more(takeoff):
    for line in takeoff.supply.lines:
        needs = [n for n in takeoff.needs if n.phase == line.phase and n.material == line.material]
        assert add(*(need.amount for need in needs)) == line.need


def test_packs_and_stock_make_need_and_left_over(takeoff):
    sticks = {need.material for need in takeoff.needs if need.lengths}
    for line in takeoff.supply.lines:
        bought = [replace(pack.holds, value=pack.holds.value * pack.count) for pack in line.packs]
        there = add(line.on_hand, *bought)
        assert line.left_over == subtract(there, line.need), line.material
        assert line.left_over.value >= 0
        assert line.material not in sticks or line.bound <= line.cost


def test_sheets_needed_are_the_sheets_the_plans_buy(takeoff):
    planned = sum(sheet.source is None for sheet in takeoff.sheets)
    needed = sum(need.amount.value for need in takeoff.needs if need.material.startswith("sheet-"))
    assert needed == planned


def test_sheets_cost_what_the_plans_say(takeoff):
    on_list = sum(line.cost for line in takeoff.supply.lines if line.material.startswith("sheet-"))
    assert on_list == sum(plan.sheet_cost for plan in takeoff.plans)


def test_phases_that_nobody_has_to_ask_for_take_something_in_every_boarded_house(takeoff):
    phases = {need.phase for need in takeoff.needs}
    assert (
        set(Phase)
        - {
            Phase.TEAR_OUT,
            Phase.ROUGH_IN,
            Phase.INSULATION,
            Phase.PARTITIONS,
        }
        <= phases
    )


def test_metric_reasons_tell_no_inches():
    house = read_house((FIXTURES / "quay-flat.json").read_text())
    if house.catalogue == Catalogue():
        house = replace(house, catalogue=read_catalogue((FIXTURES / "catalogue.json").read_text()))
    texts = [reason.text for need in take_off(house).needs for reason in need.reasons]
    assert texts
    assert not [text for text in texts if '"' in text]
