"""Narrow board: the checker finds rows, stretches and pieces under two inches, rips of a hair that
nobody is told of, and board in strips that are to be filled."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import pytest

from takeoff.boards.check import examine_plan
from takeoff.boards.check.shape import box, holds_square
from takeoff.boards.hung import place
from takeoff.boards.plan import AsBuilt, BoardPlan, Course, PlanNote
from takeoff.framing.members import FramedSurface
from takeoff.geometry.surface import PlacedOpening
from takeoff.units import Nm
from tests.takeoff import hand_plan
from tests.takeoff.hand_plan import CATALOGUE, ROWS, RULES, framed, inches, plan
from tests.takeoff.strips import HAIR, arm_ceiling, strip_ceiling, tongue_ceiling
from tests.takeoff.test_check import (
    ceiling,
    ceiling_plan,
    rectangle,
    row,
    rules_broken,
    with_surface,
)

SIXTEENTH = 0.0625


def amiss(made: BoardPlan, surface: FramedSurface, *codes: str) -> tuple[set[str], set[str]]:
    """The rules broken, and those amiss, where these boards of the plan hang."""
    boards = place(made.surfaces[0], surface.surface, set(codes))
    found = examine_plan(made, [surface], RULES, CATALOGUE, built=AsBuilt(boards=tuple(boards)))
    return {one.rule for one in found.broken}, {one.rule for one in found.amiss}


# --- rows and stretches ---


def test_row_is_at_least_two_inches_high():
    surface, made = strip_ceiling(2)
    assert rules_broken(made, surface) == set()
    surface, made = strip_ceiling(2 - SIXTEENTH)
    assert rules_broken(made, surface) == {"narrow", "core"}


def test_stretch_of_a_row_is_at_least_two_inches_long():
    surface, made = arm_ceiling(2)
    assert rules_broken(made, surface) == set()
    surface, made = arm_ceiling(2 - SIXTEENTH)
    assert rules_broken(made, surface) == {"narrow", "core"}


@pytest.mark.parametrize(("width", "depth"), [(96, 1.9375), (1.9375, 40), (1, 1)])
def test_surface_that_is_itself_under_two_inches_is_one_piece(width, depth):
    rows = (row(0, 0, depth, width, factory="low"),)
    assert rules_broken(ceiling_plan(rows), ceiling(width, depth, 16)) == set()


def test_row_beside_one_that_hangs_may_be_what_is_left():
    surface, made = strip_ceiling(2 - SIXTEENTH)
    assert amiss(made, surface, "A") == (set(), {"narrow", "core"})


# --- rips of a hair ---


def told(made: BoardPlan, rule: str) -> BoardPlan:
    note = PlanNote(surface="den/ceiling", rule=rule, text="Score both faces or saw.")
    return with_surface(made, notes=(note,))


def test_rip_of_two_inches_off_a_sheet_is_no_hair():
    rows = (row(0, 0, 48, 96), row(1, 48, 94, 96, factory="low"))
    assert rules_broken(ceiling_plan(rows), ceiling(96, 94, 16)) == set()


@pytest.mark.parametrize("off", [SIXTEENTH, 1, 2 - SIXTEENTH])
def test_rip_of_a_hair_is_told_of(off):
    rows = (row(0, 0, 48, 96), row(1, 48, 96 - off, 96, factory="low"))
    made, surface = ceiling_plan(rows), ceiling(96, 96 - off, 16)
    assert rules_broken(made, surface) == {"hair_rip"}
    assert rules_broken(told(made, "narrow_strip"), surface) == {"hair_rip"}
    assert rules_broken(told(made, "hair_rip"), surface) == set()


def test_row_of_a_hair_that_boards_hang_in_is_amiss():
    made, surface = ceiling_plan(HAIR), ceiling(96, 94.0625, 16)
    assert amiss(made, surface, "B") == (set(), {"hair_rip"})
    assert amiss(made, surface, "A") == ({"hair_rip"}, set())


# --- pieces ---


def test_piece_that_is_a_mere_tongue_is_a_breach():
    surface, made = tongue_ceiling(2)
    assert rules_broken(made, surface) == set()
    surface, made = tongue_ceiling(2 - SIXTEENTH)
    assert rules_broken(made, surface) == {"core"}


def test_tongue_on_a_piece_with_a_core_is_allowed():
    surface, made = tongue_ceiling(SIXTEENTH, joint=False)
    assert rules_broken(made, surface) == set()


def test_hung_tongue_is_amiss():
    surface, made = tongue_ceiling(2 - SIXTEENTH)
    assert amiss(made, surface, "B") == (set(), {"core"})


def square_in(corners: Sequence[tuple[int, int]], *holes: tuple[int, int, int, int]) -> bool:
    """Whether a square of 20 fits in an outline without holes."""
    return holds_square(corners, [box(*hole) for hole in holes], 20 - Fraction(1, 1000))


def test_square_fits_where_openings_leave_one_a_place():
    whole = box(0, 100, 0, 48)
    assert square_in(whole, (10, 90, 10, 38)) is False
    assert square_in(whole, (20, 90, 10, 38)) is True
    assert square_in(whole, (19, 81, 10, 38)) is False
    assert square_in(whole, (10, 90, 10, 28)) is True
    # Two openings that touch at a corner, and two that overlap.
    assert square_in(whole, (0, 50, 0, 24), (50, 100, 24, 48)) is True
    assert square_in(whole, (10, 50, 10, 38), (40, 90, 5, 38)) is False


def test_square_fits_across_parts_that_only_together_hold_it():
    # A cross whose arms are 20 wide and 10 long.
    cross = [(10, 0), (30, 0), (30, 10), (40, 10), (40, 30), (30, 30)]
    cross += [(30, 40), (10, 40), (10, 30), (0, 30), (0, 10), (10, 10)]
    assert square_in(cross)
    assert not square_in(cross, (19, 21, 19, 21))
    step = [(0, 0), (30, 0), (30, 19), (19, 19), (19, 40), (0, 40)]
    assert not square_in(step)


def test_square_fits_in_a_triangle_as_high_as_twice_it():
    # Half its legs is the largest square in the corner of a triangle with a square corner.
    assert square_in([(0, 0), (40, 0), (0, 40)])
    assert not square_in([(0, 0), (40, 0), (0, 39)])
    # And in a gable of the same height and width.
    assert square_in([(0, 0), (40, 0), (20, 40)])
    assert not square_in([(0, 0), (39, 0), (20, 40)])


def test_surface_whose_slope_leaves_no_core_is_one_piece():
    corners = ((0, 0), (96, 0), (96, 2))
    area = tuple((inches(u), inches(v)) for u, v in corners)
    surface = framed(outline=area, board_area=area, openings=())
    made = plan({0: ()}, rows=(row(0, 0, 2, 96, factory="low"),))
    piece = replace(made.surfaces[0].pieces[0], outline=area)
    assert "core" not in rules_broken(with_surface(made, pieces=(piece,)), surface)


# --- strips beside openings ---


def door(**places: float) -> PlacedOpening:
    return replace(hand_plan.DOOR, **{side: inches(at) for side, at in places.items()})  # type: ignore[arg-type]


def parted(*numbers: int, right: bool = True) -> tuple[Course, ...]:
    """The wall's rows, those of these numbers parted at the door; without a stretch on its right
    where there is none."""
    left_part, right_part = (Nm(0), inches(104)), (inches(136), inches(168))
    both = (left_part, right_part) if right else (left_part,)
    return tuple(
        replace(course, segments=both if course.index in numbers else ((Nm(0), inches(168)),))
        for course in ROWS
    )


def beside(end: float) -> tuple[Course, ...]:
    """The wall's rows where the door reaches to this place, with board between it and the wall's
    end."""
    return (
        ROWS[0],
        *(
            replace(course, segments=((Nm(0), inches(104)), (inches(end), inches(168))))
            for course in ROWS[1:]
        ),
    )


JOINTS = {0: (80,), 1: (64,), 2: ()}
THROUGH = {0: (80,), 1: (64,), 2: (80,)}


def test_row_is_parted_where_an_opening_leaves_under_two_inches_above_it():
    low = framed(openings=(door(top=110.5 + SIXTEENTH),))
    assert rules_broken(plan(JOINTS, rows=parted(0, 1, 2)), low) == set()
    assert rules_broken(plan(JOINTS, rows=parted(1, 2)), low) == {"filler"}


def test_row_is_not_parted_where_an_opening_leaves_two_inches_above_it():
    lower = framed(openings=(door(top=110.5),))
    assert rules_broken(plan(JOINTS, rows=parted(1, 2)), lower) == set()
    # The strip is forgotten.
    assert rules_broken(plan(JOINTS, rows=parted(0, 1, 2)), lower) == {"segments", "cover"}


def test_row_is_parted_where_an_opening_leaves_under_two_inches_above_and_below():
    window = door(bottom=66.5 - SIXTEENTH, top=110.5 + SIXTEENTH)
    assert rules_broken(plan(THROUGH, rows=parted(0)), framed(openings=(window,))) == set()
    assert rules_broken(plan(THROUGH, rows=parted()), framed(openings=(window,))) == {"filler"}
    window = door(bottom=66.5, top=110.5 + SIXTEENTH)
    assert rules_broken(plan(THROUGH, rows=parted()), framed(openings=(window,))) == set()
    assert rules_broken(plan(THROUGH, rows=parted(0)), framed(openings=(window,))) == {
        "segments",
        "cover",
    }


def test_strip_under_two_inches_between_an_opening_and_a_corner_gets_no_board():
    wide = framed(openings=(door(right=166 + SIXTEENTH),))
    rows = (ROWS[0], *parted(1, 2, right=False)[1:])
    assert rules_broken(plan(JOINTS, rows=rows), wide) == set()
    assert rules_broken(plan(JOINTS, rows=beside(166 + SIXTEENTH)), wide) == {
        "filler",
        "narrow",
        "core",
    }


def test_strip_of_two_inches_between_an_opening_and_a_corner_is_boarded():
    wide = framed(openings=(door(right=166),))
    rows = (ROWS[0], *parted(1, 2, right=False)[1:])
    assert rules_broken(plan(JOINTS, rows=beside(166)), wide) == set()
    assert rules_broken(plan(JOINTS, rows=rows), wide) == {"segments", "cover"}


def test_strip_that_the_gap_of_the_corner_makes_too_narrow_may_be_left_or_boarded():
    wide = framed(
        openings=(door(right=166),),
        outer_area=rectangle(0, 168.25, 0.5, 112.5),
        inner_area=rectangle(0, 167.75, 0.5, 112.5),
    )
    rows = (ROWS[0], *parted(1, 2, right=False)[1:])
    assert rules_broken(plan(JOINTS, rows=rows), wide) == set()
    assert rules_broken(plan(JOINTS, rows=beside(166)), wide) == set()


@pytest.mark.parametrize(("apart", "board"), [(2 - SIXTEENTH, False), (2, True)])
def test_strip_between_two_openings_is_boarded_from_two_inches_on(apart, board):
    first = door(left=104, right=119)
    second = replace(door(left=119 + apart, right=136), id="door-2", name="Door 2")
    wall = framed(openings=(first, second))
    between = ((inches(119), inches(119 + apart)),)
    filled = (ROWS[0], *parted(1, 2)[1:])
    boarded = (
        ROWS[0],
        *(
            replace(course, segments=(course.segments[0], *between, course.segments[1]))
            for course in ROWS[1:]
        ),
    )
    good, bad = (boarded, filled) if board else (filled, boarded)
    assert rules_broken(plan(JOINTS, rows=good), wall) == set()
    assert rules_broken(plan(JOINTS, rows=bad), wall) == (
        {"segments", "cover"} if board else {"filler", "narrow", "core"}
    )


def test_plan_that_stands_may_have_board_in_a_strip():
    low = framed(openings=(door(top=110.5 + SIXTEENTH),))
    made = plan(JOINTS, rows=parted(1, 2))
    built = AsBuilt(standing=made.surfaces)
    found = examine_plan(made, [low], RULES, CATALOGUE, built=built)
    assert found.broken == ()
    assert {one.rule for one in found.amiss} == {"filler"}
