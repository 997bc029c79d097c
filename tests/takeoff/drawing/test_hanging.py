import re

import pytest

from takeoff.cards.hanging import HangKind, hanging_order
from takeoff.choices import CeilingKind, Runs, SurfaceKind
from takeoff.errors import BadValue
from takeoff.house import Ceiling, Framing, House, Outline, QuickRoom, Room, Wall
from takeoff.job import take_off
from takeoff.units import INCH
from tests.takeoff.drawing.house import CATALOGUE, inches, takeoff


def steps(room="loft"):
    return hanging_order(takeoff(), room)


def test_every_board_of_the_room_is_hung_once():
    planned = [
        (p.surface, p.code)
        for plan in takeoff().surface_plans
        if plan.room == "loft"
        for p in plan.pieces
    ]
    hung = [(step.surface, step.pieces[0]) for step in steps() if step.kind is HangKind.PIECE]
    assert sorted(hung) == sorted(planned)


def test_steps_are_numbered_and_each_has_a_reason():
    assert [step.number for step in steps()] == list(range(1, len(steps()) + 1))
    assert all(step.what and step.reason for step in steps())


def test_ceiling_comes_before_walls_and_the_lift_leaves_between():
    made = takeoff()
    kinds = {surface.id: surface.kind for room in made.rooms for surface in room.surfaces}
    order = [kinds[step.surface] for step in steps() if step.kind is HangKind.PIECE]
    ceilings = order.count(SurfaceKind.CEILING)
    assert all(kind is SurfaceKind.CEILING for kind in order[:ceilings])
    gone = next(step.number for step in steps() if step.kind is HangKind.LIFT)
    pieces = [step for step in steps() if step.kind is HangKind.PIECE]
    assert pieces[ceilings - 1].number < gone < pieces[ceilings].number


def test_nothing_is_put_in_after_the_first_board():
    first = next(step.number for step in steps() if step.kind is HangKind.PIECE)
    before = [step for step in steps() if step.kind is HangKind.BEFORE]
    assert before
    assert all(step.number < first for step in before)
    assert any("Rail blocking (2x6 blocking)" in step.what for step in before)
    assert any("nailer" in step.what for step in before)
    assert any("seam backer" in step.what for step in before)


def test_corners_with_the_same_to_be_done_are_one_step_that_names_each_once():
    (corners,) = (step.what for step in steps("odd") if "corner" in step.what)
    assert corners.endswith(
        "Wall A and Wall B, both sides; Wall A and Wall D, both sides; Wall B and Wall C, both "
        "sides; "
        "Wall C and Wall D, both sides"
    )


def test_walls_go_up_from_the_top_down():
    made = takeoff()
    plan = next(plan for plan in made.surface_plans if plan.surface == "loft/B")
    rows = {
        piece.code: next(row.low for row in plan.rows if row.index == piece.row)
        for piece in plan.pieces
    }
    lows = [
        rows[step.pieces[0]]
        for step in steps()
        if step.surface == "loft/B" and step.kind is HangKind.PIECE
    ]
    assert lows == sorted(lows, reverse=True)
    assert len(set(lows)) > 1


def test_lower_row_is_raised_to_the_one_above():
    reasons = [step.reason for step in steps() if step.surface == "loft/B"]
    assert any("raised tight to the row above with a foot lift" in reason for reason in reasons)


def test_wall_whose_ends_are_lapped_goes_first_and_says_so():
    order = list(dict.fromkeys(step.surface for step in steps() if step.kind is HangKind.PIECE))
    assert order.index("loft/A") < order.index("loft/B")
    first = next(
        step for step in steps() if step.surface == "loft/A" and step.kind is HangKind.PIECE
    )
    assert "before Wall B and Wall D, whose board laps its ends" in first.reason


def test_backer_goes_up_between_the_boards_of_its_seam():
    made = takeoff()
    plan = next(plan for plan in made.surface_plans if plan.surface == "loft/A")
    ends = {piece.code: piece for piece in plan.pieces}
    backers = [step for step in steps() if step.kind is HangKind.BACKER]
    assert len(backers) == len(plan.joints)
    for step in backers:
        piece = ends[step.pieces[0]]
        after = next(p for p in plan.pieces if p.row == piece.row and p.start == piece.end)
        hung = next(
            step.number
            for step in steps()
            if step.kind is HangKind.PIECE
            and step.pieces == (after.code,)
            and step.surface == "loft/A"
        )
        assert step.number < hung


def test_lift_stands_under_the_middle_of_a_ceilings_board():
    made = takeoff()
    plan = next(plan for plan in made.surface_plans if plan.surface == "odd/ceiling")
    for step in hanging_order(made, "odd"):
        if step.surface == "odd/ceiling" and step.kind is HangKind.PIECE:
            piece = next(p for p in plan.pieces if p.code == step.pieces[0])
            along, square = (piece.start + piece.end) // 2, (piece.low + piece.high) // 2
            assert set(step.lift) == {along, square}


def test_lift_under_a_slope_stands_nearer_than_the_tape_on_the_slope_says():
    made = takeoff()
    # 33 in up in 75 in: one inch of floor is sqrt(75^2 + 33^2) / 75 = 1.0925 in of slope
    plan = next(plan for plan in made.surface_plans if plan.surface == "loft/ceiling-near")
    for step in steps():
        if step.surface == "loft/ceiling-near" and step.kind is HangKind.PIECE:
            piece = next(p for p in plan.pieces if p.code == step.pieces[0])
            slope = (piece.low + piece.high) / 2
            assert abs(step.lift[1] * 81.9390 / 75 - slope) < INCH / 100


def test_unknown_room_is_refused():
    with pytest.raises(BadValue, match="No room"):
        hanging_order(takeoff(), "cellar")


def test_lift_is_told_by_the_walls_it_stands_from():
    made = takeoff()
    told = [
        step.what
        for step in hanging_order(made, "odd")
        if step.lift and step.surface == "odd/ceiling"
    ]
    assert told
    for what in told:
        assert re.search(r": center the drywall lift .+ from Wall D and .+ from Wall A$", what), (
            what
        )


def corner_room():
    """An L: 120 x 100 in with a corner of 40 x 40 taken out at the far right."""
    sides = ((120, 90), (60, 90), (40, -90), (40, 90), (80, 90), (100, 90))
    return Room(
        id="r",
        name="Room",
        shape=Outline(
            walls=tuple(
                Wall(id=letter, name=f"Wall {letter}", length=inches(long), turn=turn)
                for letter, (long, turn) in zip("ABCDEF", sides, strict=True)
            )
        ),
        ceiling_framing=Framing(spacing=inches(16), first=inches(4), runs=Runs.ACROSS),
    )


def test_no_step_before_the_first_sheet_is_told_twice():
    made = take_off(House(id="h", name="H", rooms=(corner_room(),), catalogue=CATALOGUE))
    before = [step.what for step in hanging_order(made, "r") if step.kind is HangKind.BEFORE]
    starts = [what.rpartition(":")[0] for what in before]
    assert len(starts) == len(set(starts))


def test_members_of_a_sloped_ceiling_are_called_rafters():
    made = take_off(
        House(
            id="h",
            name="H",
            rooms=(
                Room(
                    id="r",
                    name="Attic",
                    shape=QuickRoom(length=inches(140), width=inches(110)),
                    ceiling=Ceiling(
                        kind=CeilingKind.SLOPE,
                        height=inches(80),
                        high=inches(110),
                        low_wall="A",
                    ),
                    ceiling_framing=Framing(spacing=inches(16), first=inches(4)),
                ),
            ),
            catalogue=CATALOGUE,
        )
    )
    texts = [edge.text for edge in made.unsupported_edges if "ceiling" in edge.surface]
    assert texts
    assert all("the rafters run along" in text for text in texts)
