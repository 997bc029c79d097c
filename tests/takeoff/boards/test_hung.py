"""Boards put down as they hang, surfaces measured anew, and what is left of begun sheets."""

from __future__ import annotations

from dataclasses import replace

import pytest

from takeoff import codec
from takeoff.boards.check import check_plan
from takeoff.boards.first_plan import plan_pool
from takeoff.boards.hung import begun, on_surface, place, recut, rests_of
from takeoff.boards.plan import AsBuilt, BoardPlan, Offcut, PlacedPiece, Sheet
from takeoff.choices import CeilingRows, SurfaceKind
from takeoff.rules import Rules
from takeoff.units import INCH, Nm
from tests.takeoff import hand_plan
from tests.takeoff.boards.half_hung import pieces_on
from tests.takeoff.boards.hand import PLAIN, framed, inches, stated

WALL = framed(144, 96)


def planned(surface=WALL, rules: Rules = PLAIN) -> BoardPlan:
    return plan_pool(stated(surface, rules=rules))


def placed(codes: set[str], surface=WALL, rules: Rules = PLAIN, already=()):
    (plan,) = planned(surface, rules).surfaces
    return {board.mark: board for board in place(plan, surface.surface, codes, already)}


def moved(boards, width: float, height: float, **fields):
    """Where the boards lie on the surface at another size."""
    surface = framed(width, height, **fields).surface
    return {board.mark: board for board in on_surface(tuple(boards.values()), surface)}


def test_board_keeps_its_piece_s_place_row_and_joints():
    (plan,) = hand_plan.plan().surfaces
    (board,) = place(plan, hand_plan.WALL, {"C"})
    piece = next(piece for piece in plan.pieces if piece.code == "C")
    assert (board.mark, board.start, board.end, board.outline) == (
        "C",
        piece.start,
        piece.end,
        piece.outline,
    )
    assert (board.row_low, board.row_high) == (inches(16.5), inches(64.5))
    assert (board.factory_low, board.factory_high) == (True, True)


def test_board_stays_below_the_ceiling_where_the_wall_turns_out_higher():
    boards = placed({"R-A1"})
    now = moved(boards, 144, 97)
    assert now["R-A1"].high == inches(97)
    assert now["R-A1"].outline[0] == (0, inches(49))


def test_board_stays_where_it_is_on_the_surface_it_was_planned_on():
    boards = placed({"R-A1", "R-A2"})
    assert moved(boards, 144, 96) == boards


def test_run_from_the_left_corner_stays_there_and_one_at_the_right_corner_goes_with_it():
    (plan,) = hand_plan.plan().surfaces
    wider = replace(
        hand_plan.WALL,
        outline=tuple((Nm(u + INCH) if u else u, v) for u, v in hand_plan.WALL.outline),
    )

    def starts(*codes: str) -> list[Nm]:
        boards = place(plan, hand_plan.WALL, set(codes))
        return [board.start for board in on_surface(boards, wider)]

    assert starts("A", "B") == [0, inches(96)]
    assert starts("B") == [inches(97)]
    assert starts("G") == [inches(137)]


def test_board_that_goes_on_from_a_run_is_measured_as_the_run_is():
    (plan,) = hand_plan.plan().surfaces
    first = place(plan, hand_plan.WALL, {"B"})
    assert first[0].from_right
    (second,) = place(plan, hand_plan.WALL, {"A"}, first)
    assert second.from_right


def test_lowest_row_hung_alone_stays_at_the_floor():
    (plan,) = hand_plan.plan().surfaces
    (alone,) = place(plan, hand_plan.WALL, {"F"})
    assert not alone.from_top
    with_the_row_above = place(plan, hand_plan.WALL, {"C", "F"})
    assert [board.from_top for board in with_the_row_above] == [True, True]


def test_ceiling_counted_from_its_far_side_is_measured_from_there():
    ceiling = framed(96, 80, kind=SurfaceKind.CEILING)
    near = placed({"R-A1"}, ceiling, replace(PLAIN, ceiling_rows=CeilingRows.SIDE_A))
    far = placed({"R-A1"}, ceiling, replace(PLAIN, ceiling_rows=CeilingRows.SIDE_B))
    assert [board.from_top for board in (*near.values(), *far.values())] == [False, True]


def test_recut_board_ends_where_it_was_told_to():
    board = placed({"R-A1"})["R-A1"]
    shorter = recut(board, end=Nm(board.end - 7 * INCH))
    assert shorter.outline == (
        (0, board.low),
        (board.end - 7 * INCH, board.low),
        (board.end - 7 * INCH, board.high),
        (0, board.high),
    )


def sheet(*crosscuts: PlacedPiece, **changes: object) -> Sheet:
    return replace(hand_plan.sheet("S1", 12), crosscuts=crosscuts, **changes)  # type: ignore[arg-type]


def part(piece: str, start: float, end: float, width: float = 48) -> PlacedPiece:
    return hand_plan.placed(piece, start, end, width)


def rests(one: Sheet) -> list[tuple[Nm, Nm, int]]:
    return [(offcut.length, offcut.width, offcut.factory_edges) for offcut in one.offcuts]


def test_place_of_a_piece_not_cut_is_left_of_a_begun_sheet_with_all_beside_it():
    left = begun(sheet(part("A", 0, 64), part("B", 64, 128)), {"A"}, Nm(0), PLAIN)
    assert pieces_on(left) == ["A"]
    assert rests(left) == [(inches(80), inches(48), 2)]


def test_saw_takes_its_kerf_out_of_what_is_left():
    kerf = inches(0.125)
    left = begun(sheet(part("A", 0, 64)), {"A"}, kerf, PLAIN)
    assert rests(left) == [(inches(144 - 64 - 0.125), inches(48), 2)]


def test_sheet_is_not_ripped_before_a_piece_behind_the_rip_is_cut():
    strips = (
        hand_plan.strip(0, 16, part("B", 64, 124, 16)),
        hand_plan.strip(16, 48, part("C", 64, 144, 32)),
    )
    one = sheet(part("A", 0, 64), rip_at=inches(64), strips=strips)
    only_a = begun(one, {"A"}, Nm(0), PLAIN)
    assert (only_a.rip_at, only_a.strips) == (None, ())
    assert rests(only_a) == [(inches(80), inches(48), 2)]
    with_b = begun(one, {"A", "B"}, Nm(0), PLAIN)
    assert rests(with_b) == [(inches(20), inches(16), 1), (inches(80), inches(32), 1)]


def test_offcut_keeps_its_mark_and_a_new_one_gets_a_new_mark():
    offcut = Offcut(id="S1.1", length=inches(80), width=inches(48), factory_edges=2)
    one = sheet(part("A", 0, 64), offcuts=(offcut,))
    assert begun(one, {"A"}, Nm(0), PLAIN).offcuts == (offcut,)
    both = sheet(part("A", 0, 40), part("B", 40, 64), offcuts=(offcut,))
    (longer,) = begun(both, {"A"}, Nm(0), PLAIN).offcuts
    assert (longer.id, longer.length) == ("S1.2", inches(104))


def test_where_an_offcut_is_gone_only_the_places_of_pieces_are_free():
    offcut = Offcut(id="S1.1", length=inches(80), width=inches(48), factory_edges=2)
    both = sheet(part("A", 0, 40), part("B", 40, 64), offcuts=(offcut,))
    (place_of_b,) = begun(both, {"A"}, Nm(0), PLAIN, gone={"S1.1"}).offcuts
    assert (place_of_b.id, place_of_b.length) == ("S1.2", inches(24))


def test_rest_that_another_sheet_was_made_of_is_no_stock():
    offcut = Offcut(id="S1.1", length=inches(80), width=inches(48), factory_edges=2)
    first = sheet(part("A", 0, 64), offcuts=(offcut,))
    second = replace(hand_plan.sheet("S2", 8), source="S1.1")
    assert [rest.id for rest in rests_of(AsBuilt(sheets=(first,)))] == ["S1.1"]
    assert rests_of(AsBuilt(sheets=(first, second))) == ()


def test_what_is_built_is_read_back_as_it_was_stored():
    first = planned()
    built = AsBuilt(
        boards=place(first.surfaces[0], WALL.surface, {"R-A1"}),
        sheets=first.sheets,
        taken=("R-A9",),
        standing=first.surfaces,
    )
    assert codec.read(AsBuilt, codec.write(built)) == built


@pytest.mark.parametrize("length", [81, 80.0625])
def test_checker_refuses_more_of_a_begun_sheet_than_its_pieces_leave(length):
    (plan,) = hand_plan.plan().surfaces
    (board,) = place(plan, hand_plan.WALL, {"C"})
    cut = replace(hand_plan.SHEETS[1], crosscuts=(part("C", 0, 64),))

    def broken(rest: float) -> set[str]:
        offcut = Offcut(id="S2.1", length=inches(rest), width=inches(48), factory_edges=2)
        as_cut = replace(cut, offcuts=(offcut,))
        rest_sheet = replace(
            hand_plan.sheet("S9", 8),
            price=0,
            source="S2.1",
            length=offcut.length,
            crosscuts=(part("B", 0, 72),),
        )
        sheets = (as_cut, rest_sheet, *(one for one in hand_plan.SHEETS if one.code != "S2"))
        made = hand_plan.plan(sheets=sheets)
        built = AsBuilt(boards=(board,), sheets=(as_cut,))
        args = (made, [hand_plan.FRAMED], hand_plan.RULES, hand_plan.CATALOGUE)
        return {breach.rule for breach in check_plan(*args, built=built)}

    assert broken(80) == set()
    assert broken(length) == {"offcut"}
