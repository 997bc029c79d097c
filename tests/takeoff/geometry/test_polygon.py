"""Exact polygons."""

from fractions import Fraction

import pytest

from takeoff.geometry.polygon import (
    area2,
    bounds,
    clip_band,
    clip_half_plane,
    first_crossing,
    holds_rectangle,
    move_sides,
    root,
    rounded,
)

SQUARE = ((0, 0), (10, 0), (10, 10), (0, 10))
U_SHAPE = ((0, 0), (10, 0), (10, 10), (7, 10), (7, 4), (3, 4), (3, 10), (0, 10))


def test_clockwise_corners_have_negative_area():
    assert area2(SQUARE[::-1]) == -200


def test_no_corners_have_no_area():
    assert area2(()) == 0


def test_bounds_are_left_bottom_right_top():
    assert bounds(((3, 7), (5, -2), (4, 9))) == (3, -2, 5, 9)


@pytest.mark.parametrize("value", [0, 1, 144, Fraction(9, 4)])
def test_root_of_a_square_is_exact(value):
    assert root(value) ** 2 == value


def test_root_of_two_is_low_by_less_than_a_step():
    low = root(2)
    assert low**2 < 2 < (low + Fraction(1, 2**128)) ** 2


def test_line_through_a_u_cuts_off_two_legs():
    legs = clip_half_plane(U_SHAPE, 0, 1, -6)
    assert sorted(area2(leg) for leg in legs) == [24, 24]


def test_line_along_the_bottom_of_a_notch_keeps_the_legs_apart():
    assert sorted(area2(leg) for leg in clip_half_plane(U_SHAPE, 0, 1, -4)) == [36, 36]


def test_below_the_notch_is_one_piece():
    (base,) = clip_half_plane(U_SHAPE, 0, -1, 4)
    assert area2(base) == 80


def test_notch_that_reaches_down_to_the_line_leaves_one_corner_touching():
    notched = ((0, 0), (10, 0), (10, 10), (5, 4), (0, 10))
    parts = clip_half_plane(notched, 0, 1, -4)
    assert sum(area2(part) for part in parts) == area2(notched) - 80


def test_tip_that_only_touches_the_line_is_not_cut():
    assert clip_half_plane(((5, 0), (10, 10), (0, 10)), 0, 1, 0) == (((5, 0), (10, 10), (0, 10)),)


def test_line_beside_the_polygon_keeps_all_or_nothing():
    assert clip_half_plane(SQUARE, 1, 0, 0) == (SQUARE,)
    assert clip_half_plane(SQUARE, -1, 0, 0) == ()


def test_slanted_cut_is_exact():
    (part,) = clip_half_plane(((0, 0), (3, 0), (0, 1)), 1, -1, 0)
    assert (Fraction(3, 4), Fraction(3, 4)) in part


def test_band_of_a_u_has_a_part_in_each_leg():
    parts = clip_band(U_SHAPE, 1, 5, 8)
    assert sorted(bounds(part) for part in parts) == [(0, 5, 3, 8), (7, 5, 10, 8)]
    assert [area2(part) for part in parts] == [18, 18]


def test_band_beside_the_polygon_is_empty():
    assert clip_band(SQUARE, 0, 10, 20) == ()
    assert clip_band(SQUARE, 0, 4, 4) == ()


def test_rounding_leaves_out_corners_in_line():
    assert rounded(((0, 0), (5, Fraction(1, 3)), (10, 0), (10, 10), (0, 10))) == SQUARE


def test_half_a_nanometre_goes_to_the_even_one():
    assert rounded(((Fraction(1, 2), 0), (Fraction(21, 2), 0), (4, 9))) == ((0, 0), (10, 0), (4, 9))


def test_moving_all_sides_in_shrinks_a_square():
    assert [corner for _, corner in move_sides(SQUARE, (1, 2, 3, 4))] == [
        (4, 1),
        (8, 1),
        (8, 7),
        (4, 7),
    ]


def test_moving_sides_past_each_other_leaves_nothing():
    assert move_sides(SQUARE, (6, 0, 6, 0)) == ()


def test_side_that_shrinks_away_is_left_out():
    clipped = ((0, 0), (10, 0), (10, 9), (9, 10), (0, 10))
    assert [index for index, _ in move_sides(clipped, (0, 3, 0, 3, 0))] == [0, 1, 3, 4]


def test_sides_in_line_that_move_apart_are_joined_by_a_step():
    split = ((0, 0), (5, 0), (10, 0), (10, 10), (0, 10))
    moved = move_sides(split, (1, 2, 0, 0, 0))
    assert moved[:3] == ((0, (0, 1)), (None, (5, 1)), (1, (5, 2)))


def test_bow_tie_crosses_itself():
    assert first_crossing(((0, 0), (10, 10), (10, 0), (0, 10))) == (0, 2)


def test_side_that_folds_back_on_the_last_one_is_a_crossing():
    assert first_crossing(((0, 0), (10, 0), (4, 0), (4, 8))) is not None


def test_simple_outline_has_no_crossing():
    assert first_crossing(U_SHAPE) is None


def test_rectangle_across_a_notch_is_not_held():
    assert not holds_rectangle(U_SHAPE, 1, 5, 9, 9)
    assert holds_rectangle(U_SHAPE, 0, 0, 10, 4)
