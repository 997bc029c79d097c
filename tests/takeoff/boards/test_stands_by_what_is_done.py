"""A plan that was made around what is done stands by it: looking at it again changes nothing."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from takeoff.boards.renewal import Done, Renewal, renew
from takeoff.catalogue import OwnedSheet
from takeoff.choices import CeilingKind, OpeningKind, Orientation
from takeoff.house import Ceiling, House, Opening, Room
from takeoff.job import take_off
from takeoff.needs.materials import sheet_id
from takeoff.units import INCH, Nm
from tests.takeoff.boards.half_hung import chosen_at_random
from tests.takeoff.boards.renewed import done_of, edited, measured, small_house, told, with_room

HOUSE = small_house()
FIRST = take_off(HOUSE)


def done_after(renewal: Renewal, done: Done) -> Done:
    """What is done once a renewal is stored: spare and waste pieces are in no place any more."""
    lost = {one.id for one in renewal.spare} | set(renewal.waste)
    sheets = {sheet.code: sheet for sheet in renewal.takeoff.sheets}
    return replace(
        done,
        boards=tuple(board for board in done.boards if board.mark not in lost),
        sheets=tuple(sheets.get(sheet.code, sheet) for sheet in done.sheets),
    )


def again(renewal: Renewal, done: Done, house: House) -> Renewal:
    owned = (*renewal.spare, *house.rules.owned)
    house = replace(house, rules=replace(house.rules, owned=owned))
    return renew(house, renewal.takeoff.plans, done_after(renewal, done))


@pytest.mark.parametrize("seed", range(24))
def test_plan_made_around_what_is_cut_stands_when_it_is_looked_at_again(seed):
    random = Random(seed)
    pieces = [piece for plan in FIRST.surface_plans for piece in plan.pieces]
    cut = chosen_at_random(pieces, random, 0.4)
    hung = {mark for mark in sorted(cut) if random.random() < 0.3}
    done = done_of(FIRST, hung, cut)
    house = edited(HOUSE, random)
    renewal = renew(house, FIRST.plans, done)
    second = again(renewal, done, house)
    assert [(one.surface, one.rule) for one in second.fallen] == []
    assert second.spare == ()


def test_board_put_where_no_plan_had_it_keeps_the_joint_beside_it():
    done = told(done_of(FIRST, set(), {"R-A3"}), "R-A3", 7)
    done = replace(done, off_plan=frozenset({"R-A3"}))
    renewal = renew(HOUSE, FIRST.plans, done)
    assert renewal.spare == ()
    second = again(renewal, done, HOUSE)
    assert (second.fallen, second.spare) == ((), ())


def test_surface_leans_on_what_hangs_there_where_its_studs_stand_elsewhere():
    def moved(room: Room) -> Room:
        wall, *others = room.surfaces
        wall = replace(wall, framing=replace(wall.framing, first=Nm(5 * INCH)))
        return replace(room, surfaces=(wall, *others))

    (wall,) = [plan for plan in FIRST.surface_plans if plan.surface == "r1/A"]
    done = done_of(FIRST, {piece.code for piece in wall.pieces})
    assert renew(HOUSE, FIRST.plans, done).leaning == ()
    renewal = renew(with_room(HOUSE, moved), FIRST.plans, done)
    assert (renewal.fallen, renewal.leaning) == ((), ("r1/A",))
    # Boards that plans go around already are no news.
    done = replace(done, off_plan=done.hung)
    assert renew(with_room(HOUSE, moved), FIRST.plans, done).leaning == ()


def test_column_beside_a_cut_board_stands_though_its_long_edge_is_on_no_member():
    def upright(room: Room) -> Room:
        (wall,) = [one for one in room.surfaces if one.of == "A"]
        wall = replace(wall, orientation=Orientation.ALONG)
        return replace(room, surfaces=(wall, *(s for s in room.surfaces if s.of != "A")))

    def moved(room: Room) -> Room:
        wall, *others = room.surfaces
        wall = replace(wall, framing=replace(wall.framing, first=Nm(5 * INCH)))
        return replace(room, surfaces=(wall, *others))

    house = with_room(HOUSE, upright)
    first = take_off(house)
    done = done_of(first, set(), {"R-A1"})
    house = with_room(house, moved)
    renewal = renew(house, first.plans, done)
    assert [one.surface for one in renewal.fallen] == ["r1/A"]
    assert renewal.spare == ()
    assert "long_edges" in {breach.rule for breach in renewal.takeoff.amiss}
    second = again(renewal, done, house)
    assert (second.fallen, second.spare) == ((), ())


def test_cut_board_with_a_door_in_its_middle_has_lost_its_place():
    (wall,) = [plan for plan in FIRST.surface_plans if plan.surface == "r1/A"]
    low = min(row.low for row in wall.rows)
    board = max(
        (piece for piece in wall.pieces if piece.low == low),
        key=lambda piece: piece.end - piece.start,
    )
    assert board.end - board.start > 60 * INCH
    door = Opening(
        id="door",
        name="Door",
        kind=OpeningKind.DOOR,
        wall="A",
        left=Nm(board.start + 16 * INCH),
        sill=Nm(0),
        width=Nm(30 * INCH),
        height=Nm(80 * INCH),
    )
    house = with_room(HOUSE, lambda room: replace(room, openings=(door,)))
    renewal = renew(house, FIRST.plans, done_of(FIRST, set(), {board.code}))
    assert [one.id for one in renewal.spare] == [board.code]


def test_board_cut_for_a_wall_that_a_door_took_up_is_spare():
    wide = Opening(
        id="door",
        name="Door",
        kind=OpeningKind.DOOR,
        wall="A",
        left=Nm(0),
        sill=Nm(0),
        width=Nm(168 * INCH),
        height=Nm(96 * INCH),
    )
    house = with_room(HOUSE, lambda room: replace(room, openings=(wide,)))
    renewal = renew(house, FIRST.plans, done_of(FIRST, set(), {"R-A1"}))
    assert [one.id for one in renewal.spare] == ["R-A1"]


def test_rows_may_count_from_a_board_that_was_taken_down_since():
    (wall,) = [plan for plan in FIRST.surface_plans if plan.surface == "r1/B"]
    low = min(row.low for row in wall.rows)
    hung = {piece.code for piece in wall.pieces if piece.low == low}
    higher = measured(HOUSE, higher=16)
    around = renew(higher, FIRST.plans, done_of(FIRST, hung))
    assert "r1/B" in {one.surface for one in around.fallen}
    assert renew(higher, around.takeoff.plans).fallen == ()


def test_sheet_planned_from_stock_comes_before_those_that_are_bought():
    sizes = [(s.width, s.length) for s in FIRST.sheets if s.source is None]
    size = max(set(sizes), key=sizes.count)
    assert sizes.count(size) > 1
    mine = [sheet for sheet in FIRST.sheets if (sheet.width, sheet.length) == size]
    last = mine[-1]
    item = sheet_id(last.board, last.thickness, last.width, last.length)
    (plan,) = FIRST.plans
    plan = replace(
        plan,
        sheets=tuple(
            replace(sheet, source=item, price=0) if sheet is last else sheet
            for sheet in plan.sheets
        ),
    )
    # One is here: it is for the pieces that were planned from it, and the others are bought.
    here = OwnedSheet(
        id=item,
        board=last.board,
        thickness=last.thickness,
        width=last.width,
        length=last.length,
        count=1,
    )
    stock = replace(HOUSE, rules=replace(HOUSE.rules, owned=(here,)))
    renewal = renew(stock, (plan,))
    assert (renewal.fallen, renewal.dissolved) == ((), ())


def test_cut_piece_of_which_no_rectangle_is_left_is_waste():
    rising = with_room(
        HOUSE,
        lambda room: replace(
            room,
            ceiling=Ceiling(
                kind=CeilingKind.SLOPE,
                height=Nm(96 * INCH),
                low_wall="A",
                high=Nm(110 * INCH),
            ),
        ),
    )
    first = take_off(rising)
    corners = {
        piece.code: piece
        for plan in first.surface_plans
        for piece in plan.pieces
        if len(piece.outline) == 3
    }
    code = sorted(corners)[0]
    wider = measured(rising, wider=-32)
    renewal = renew(wider, first.plans, done_of(first, set(), {code}))
    assert (renewal.spare, renewal.waste) == ((), (code,))
