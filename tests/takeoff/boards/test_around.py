"""Plans around boards that hang: they stay, the rest follows, and what is amiss is told apart."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from takeoff.boards.check import examine_plan
from takeoff.boards.first_plan import plan_pool
from takeoff.boards.hung import place, recut
from takeoff.boards.plan import AsBuilt, BoardPlan
from takeoff.boards.problem import Pool, formulate
from takeoff.choices import JointMode, SurfaceKind
from takeoff.errors import CannotBoard
from takeoff.framing.members import FramedSurface, frame
from takeoff.rules import Rules
from takeoff.units import FOOT, INCH, Nm
from tests.takeoff.boards.half_hung import around, built_of, examined, of_row, pieces_on, rest_of
from tests.takeoff.boards.hand import (
    CATALOGUE,
    CUTTING,
    PLAIN,
    SHEETS,
    framed,
    inches,
    opening,
    outline,
    sheet,
    stated,
)

WALL = framed(168, 96)
TWO_ROWS = stated(WALL)


def hung(codes: set[str], before: Pool = TWO_ROWS, *, cut: bool = True) -> AsBuilt:
    """Those pieces of the first plan of a pool, with or without the sheets they came from."""
    built = built_of(plan_pool(before), before, codes)
    return built if cut else replace(built, sheets=())


def joints_of(plan: BoardPlan, row: int) -> list[float]:
    return [joint.at / INCH for joint in plan.surfaces[0].joints if joint.row == row]


def amiss(plan: BoardPlan, rest: Pool, built: AsBuilt) -> set[str]:
    """The rules that boards which hang are amiss of; nothing may be broken."""
    found = examined(plan, rest, built)
    assert found.broken == ()
    return {breach.rule for breach in found.amiss}


def test_boards_that_hang_are_in_the_plan_as_they_were_and_the_rest_is_planned():
    before = plan_pool(TWO_ROWS)
    built = hung(of_row(before, 0))
    rest = around(built, WALL)
    plan = plan_pool(rest)
    kept = {piece.code: piece for piece in plan.surfaces[0].pieces}
    for piece in before.surfaces[0].pieces:
        if piece.row == 0:
            assert kept[piece.code] == piece
    assert {piece.row for piece in rest_of(plan, built)} == {1}
    assert amiss(plan, rest, built) == set()


def test_new_pieces_and_sheets_take_no_mark_that_was_used():
    built = replace(hung({"R-A1"}), taken=("R-A2", "R3"))
    rest = around(built, WALL)
    plan = plan_pool(rest)
    assert next(piece.code for piece in rest_of(plan, built)) == "R-A3"
    cut = {one.code for one in built.sheets}
    assert not {one.code for one in plan.sheets if one.code not in cut} & (rest.taken - cut)


def test_plan_without_anything_hung_is_the_plan_there_was():
    assert plan_pool(around(AsBuilt(), WALL)) == plan_pool(TWO_ROWS)


def test_surface_that_all_hangs_needs_nothing_more():
    before = plan_pool(TWO_ROWS)
    built = hung({piece.code for piece in before.surfaces[0].pieces})
    rest = around(built, WALL, rules=replace(PLAIN, sheets=()))
    plan = plan_pool(rest)
    assert plan.money == before.money
    assert plan.surfaces[0].joints == before.surfaces[0].joints
    assert amiss(plan, rest, built) == set()


def test_joints_of_the_rest_keep_apart_from_those_of_boards_that_hang():
    (top,) = place(plan_pool(TWO_ROWS).surfaces[0], WALL.surface, {"R-A1"})
    for end in range(48, 128, 16):
        built = AsBuilt(boards=(recut(top, end=inches(end)),))
        rest = around(built, WALL)
        plan = plan_pool(rest)
        assert end in joints_of(plan, 0)
        assert all(abs(at - end) >= 16 for at in joints_of(plan, 1))
        assert amiss(plan, rest, built) == set()


def test_two_boards_that_hang_too_near_each_other_break_nothing():
    top, below = place(plan_pool(TWO_ROWS).surfaces[0], WALL.surface, {"R-A1", "R-A3"})
    built = AsBuilt(boards=(recut(top, end=inches(96)), recut(below, end=inches(96))))
    rest = around(built, WALL)
    assert amiss(plan_pool(rest), rest, built) == {"stagger"}


def test_open_joint_too_near_to_a_board_that_hangs_is_broken():
    (top,) = place(plan_pool(TWO_ROWS).surfaces[0], WALL.surface, {"R-A1"})
    built = AsBuilt(boards=(recut(top, end=inches(96)),))
    close = around(built, WALL, rules=replace(PLAIN, stagger=Nm(0)))
    plan = next(
        plan
        for at in (80, 96)
        for plan in [plan_pool(without_other_joints(close, at))]
        if abs(joints_of(plan, 1)[0] - 96) < 24
    )
    framed_surfaces = [problem.framed for problem in close.surfaces]
    rules = replace(PLAIN, stagger=inches(24))
    found = examine_plan(plan, framed_surfaces, rules, CATALOGUE, built=built)
    assert {breach.rule for breach in found.broken} == {"stagger"}


def without_other_joints(pool: Pool, at: float) -> Pool:
    """The pool with the lower row's joint at one place."""
    (problem,) = pool.surfaces
    (layout,) = problem.layouts
    upper, lower = layout.courses
    segments = tuple(
        replace(segment, points=tuple(p for p in segment.points if p.at == inches(at)))
        for segment in lower.segments
    )
    courses = (upper, replace(lower, segments=segments))
    layouts = (replace(layout, courses=courses),)
    return replace(pool, surfaces=(replace(problem, layouts=layouts),))


def test_piece_between_boards_that_hang_may_be_as_short_as_its_stretch():
    first, second = place(plan_pool(TWO_ROWS).surfaces[0], WALL.surface, {"R-A1", "R-A2"})
    built = AsBuilt(boards=(recut(first, end=inches(80)), recut(second, start=inches(86))))
    rest = around(built, WALL)
    plan = plan_pool(rest)
    short = [piece for piece in rest_of(plan, built) if piece.row == 0]
    assert [(piece.start, piece.end) for piece in short] == [(inches(80), inches(86))]
    assert "shortest_piece" not in amiss(plan, rest, built)


@pytest.mark.parametrize(("gap", "pieces"), [(0.0625, 0), (0.5, 0), (0.5625, 1), (3, 1)])
def test_sliver_beside_a_board_that_hangs_is_filled_and_not_boarded(gap, pieces):
    built = hung(of_row(plan_pool(TWO_ROWS), 0))
    longer = framed(168 + gap, 96)
    rest = around(built, longer)
    plan = plan_pool(rest)
    row = [piece for piece in rest_of(plan, built) if piece.row == 0]
    assert len(row) == pieces
    assert ("cover" in amiss(plan, rest, built)) == (not pieces)


def test_half_cut_sheet_gives_what_is_left_of_it_at_no_price():
    # A sheet of 12 ft gives 8 ft of one wall and 4 ft of the other.
    rules = replace(CUTTING, sheets=(sheet(12, 1800),))
    walls = framed(96, 48), framed(48, 48, id="r1/b")
    before = stated(*walls, rules=rules)
    first = plan_pool(before)
    assert [pieces_on(one) for one in first.sheets] == [["R-A1", "R-B1"]]
    built = built_of(first, before, {"R-A1"})
    rest = around(built, *walls, rules=rules)
    plan = plan_pool(rest)
    assert [(one.source, one.price) for one in plan.sheets] == [(None, 1800), ("R1.1", 0)]
    assert plan.total == first.total == 1800
    assert amiss(plan, rest, built) == set()


def test_longest_board_set_below_a_board_that_hangs():
    wall = framed(264, 96)
    before = stated(wall)
    long = {
        piece.code
        for piece in plan_pool(before).surfaces[0].pieces
        if piece.end - piece.start > 8 * FOOT and piece.row == 0
    }
    built = hung(long, before)
    assert built.boards
    rest = around(built, wall, rules=replace(PLAIN, longest_board=Nm(8 * FOOT)))
    plan = plan_pool(rest)
    assert all(piece.end - piece.start <= 8 * FOOT for piece in rest_of(plan, built))
    assert amiss(plan, rest, built) == {"longest_board"}


def test_studs_that_stand_elsewhere_than_a_joint_that_hangs():
    built = hung({"R-A1"})
    surface = replace(WALL.surface, framing=replace(WALL.surface.framing, first=inches(5)))
    rest = around(built, frame(surface, PLAIN))
    plan = plan_pool(rest)
    given = built.boards[0].end
    open_joints = [joint.at for joint in plan.surfaces[0].joints if joint.at != given]
    assert open_joints
    assert all((at - inches(5)) % inches(16) == 0 for at in open_joints)
    assert amiss(plan, rest, built) == {"on_framing"}


def test_joint_told_seven_inches_off_is_where_its_neighbour_begins():
    (board,) = hung({"R-A1"}).boards
    told = AsBuilt(boards=(recut(board, end=Nm(board.end - 7 * INCH)),))
    rest = around(told, WALL)
    plan = plan_pool(rest)
    row = sorted((piece.start, piece.end) for piece in plan.surfaces[0].pieces if piece.row == 0)
    assert row[0] == (0, board.end - 7 * INCH)
    assert all(one[1] == other[0] for one, other in pairwise(row))
    assert row[-1][1] == inches(168)
    assert amiss(plan, rest, told) == {"on_framing"}


@pytest.mark.parametrize("sixteenths", [-32, -16, -1, 1, 8, 9, 16, 32])
@pytest.mark.parametrize("row", [0, 1])
def test_wall_that_turns_out_higher_or_lower_moves_the_open_row_only(row, sixteenths):
    wall = framed(168, 84)
    before = stated(wall)
    first = plan_pool(before)
    built = hung(of_row(first, row), before)
    rest = around(built, framed(168, 84 + sixteenths / 16))
    plan = plan_pool(rest)
    amiss(plan, rest, built)
    top = inches(84 + sixteenths / 16)
    rows = {one.index: (one.low, one.high) for one in plan.surfaces[0].rows}
    if row == 0:
        # Hung from the ceiling: the lower row is as much higher or lower.
        assert rows == {0: (top - inches(48), top), 1: (0, top - inches(48))}
    else:
        # Hung at the floor alone, 36 in high: what is above it is boarded from there up.
        assert (0, inches(36)) in rows.values()
        high = max(extent[1] for extent in rows.values())
        assert 0 <= top - high <= inches(0.5)


@pytest.mark.parametrize("sixteenths", [-32, -16, -1, 1, 8, 9, 16, 32])
def test_wall_that_turns_out_longer_or_shorter_moves_no_board(sixteenths):
    first = plan_pool(TWO_ROWS)
    starts = {piece.code for piece in first.surfaces[0].pieces if piece.start == 0}
    built = hung(starts)
    end = inches(168 + sixteenths / 16)
    rest = around(built, framed(168 + sixteenths / 16, 96))
    plan = plan_pool(rest)
    assert amiss(plan, rest, built) <= {"on_framing", "stagger"}
    pieces = {piece.code: piece for piece in plan.surfaces[0].pieces}
    assert all(pieces[code].start == 0 for code in starts)
    assert {
        max(piece.end for piece in rest_of(plan, built) if piece.row == row) for row in (0, 1)
    } == {end}


def test_boards_at_both_corners_leave_the_middle_to_be_as_long_as_it_is():
    wall = framed(240, 48)
    before = stated(wall)
    first = plan_pool(before)
    ends = {piece.code for piece in first.surfaces[0].pieces if piece.end == inches(240)}
    starts = {piece.code for piece in first.surfaces[0].pieces if piece.start == 0}
    boards = tuple(
        board for codes in (starts, ends) for board in place(first.surfaces[0], wall.surface, codes)
    )
    longer = framed(241, 48)
    rest = around(AsBuilt(boards=boards), longer)
    pieces = {piece.code: piece for piece in plan_pool(rest).surfaces[0].pieces}
    (right,) = ends
    assert pieces[right].end == inches(241)


def test_length_that_is_no_longer_sold_keeps_its_price_on_the_sheet_that_is_cut():
    wall = framed(144, 96)
    before = stated(wall)
    built = hung({"R-A1"}, before)
    assert [(one.length, one.price) for one in built.sheets] == [(12 * FOOT, 1800)]
    rest = around(built, wall, rules=replace(PLAIN, sheets=SHEETS[:1]))
    plan = plan_pool(rest)
    prices = {(one.length // FOOT, one.price) for one in plan.sheets}
    assert prices == {(12, 1800), (8, 1200)}
    assert amiss(plan, rest, built) == set()


def test_width_that_is_no_longer_sold_leaves_its_row_to_be_made_up_of_two():
    wide = replace(PLAIN, sheets=(sheet(12, 2000, width=54),))
    wall = framed(168, 54)
    before = stated(wall, rules=wide)
    built = hung({"R-A1"}, before)
    rest = around(built, wall)
    plan = plan_pool(rest)
    rows = [(one.low / INCH, one.high / INCH) for one in plan.surfaces[0].rows]
    assert rows == [(6, 54), (0, 6)]
    assert {piece.high - piece.low for piece in rest_of(plan, built)} == {inches(48), inches(6)}
    amiss(plan, rest, built)


def test_row_between_two_that_hang_is_as_high_as_what_they_leave():
    wall = framed(96, 132)
    before = stated(wall)
    first = plan_pool(before)
    boards = tuple(
        board
        for row in (0, 2)
        for board in place(first.surfaces[0], wall.surface, of_row(first, row))
    )
    rest = around(AsBuilt(boards=boards), framed(96, 131))
    plan = plan_pool(rest)
    assert [(one.low / INCH, one.high / INCH) for one in plan.surfaces[0].rows] == [
        (83, 131),
        (36, 83),
        (0, 36),
    ]
    # Its cut edge has to meet a board that hangs.
    assert amiss(plan, rest, AsBuilt(boards=boards)) == {"factory_edges"}


def test_strips_no_wider_than_a_sliver_that_came_to_hang_at_two_heights_are_boarded_once():
    ceiling = framed(168, 96.5625, kind=SurfaceKind.CEILING)
    # No plan has such strips; in an old one they may hang. One was measured from the row beside
    # it, the other from the wall.
    one = replace(
        place(plan_pool(stated(ceiling)).surfaces[0], ceiling.surface, {"R-A1"})[0],
        start=Nm(0),
        end=inches(84),
        low=inches(96),
        high=inches(96.5625),
        row_low=inches(96),
        row_high=inches(96.5625),
        outline=outline((0, 96), (84, 96), (84, 96.5625), (0, 96.5625)),
        factory_high=False,
        from_top=False,
    )
    other = replace(
        one,
        mark="R-A2",
        start=inches(84),
        end=inches(168),
        outline=outline((84, 96), (168, 96), (168, 96.5625), (84, 96.5625)),
        from_top=True,
    )
    boards = (one, other)
    built = AsBuilt(boards=boards)
    rest = around(built, framed(168, 96.625, kind=SurfaceKind.CEILING))
    plan = plan_pool(rest)
    assert examined(plan, rest, built).broken == ()


def test_opening_moved_over_a_board_that_hangs_is_amiss_and_the_rest_is_planned():
    wall = framed(168, 96, openings=(opening(60, 30, 96, 80),))
    before = stated(wall)
    built = hung(of_row(plan_pool(before), 0), before)
    moved = framed(168, 96, openings=(opening(100, 30, 136, 80),))
    rest = around(built, moved)
    assert amiss(plan_pool(rest), rest, built) <= {"opening_clearance", "seam_length", "on_framing"}


def test_no_joint_far_enough_from_those_that_hang_is_said_with_what_to_relax():
    rules = Rules(floor_gap=Nm(0), fitting=Nm(0), sheets=(sheet(8, 1200),))
    wall = framed(112, 96)
    (top, low) = place(plan_pool(stated(wall)).surfaces[0], wall.surface, {"R-A1", "R-A2"})
    assert top.row_low != low.row_low
    built = AsBuilt(boards=(recut(top, end=inches(56)),))
    tight = replace(rules, stagger=inches(60))
    with pytest.raises(CannotBoard) as refused:
        around(built, wall, rules=tight)
    assert refused.value.rule == "stagger"


def test_either_joint_kind_may_stand_in_the_rest():
    wall = framed(168, 96, spacing=24, joint_mode=JointMode.EITHER)
    rules = replace(PLAIN, joint_mode=JointMode.EITHER)
    before = stated(wall, rules=rules)
    first = plan_pool(before)
    built = built_of(first, before, of_row(first, 0))
    rest = around(built, wall, rules=rules)
    assert amiss(plan_pool(rest), rest, built) == set()


def test_placed_boards_of_other_surfaces_are_let_alone():
    built = hung({"R-A1"})
    other = framed(168, 96, id="r1/b")
    problem = formulate(other, PLAIN, CATALOGUE, built.boards)
    assert problem == formulate(other, PLAIN, CATALOGUE)
    assert isinstance(problem.framed, FramedSurface)
