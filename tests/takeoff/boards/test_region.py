"""The region to board in course coordinates: parts, upright sections, extents, eaves."""

from __future__ import annotations

from takeoff.boards.region import eave, extent_within, in_course_axes, is_rectangle, parts, section
from takeoff.choices import Runs
from takeoff.units import Nm

# an L: 10 wide and 4 high, with its left 4 going up to 10
L_SHAPE = ((0, 0), (10, 0), (10, 4), (4, 4), (4, 10), (0, 10))
SLOPE = ((0, 0), (10, 0), (10, 3), (0, 8))


def test_rectangle_is_known_whatever_corner_it_starts_from():
    assert is_rectangle(((0, 0), (2, 0), (2, 1), (0, 1)))
    assert is_rectangle(((2, 1), (0, 1), (0, 0), (2, 0)))
    assert not is_rectangle(SLOPE)


def test_turned_region_stays_counter_clockwise_and_turns_back():
    turned = in_course_axes(L_SHAPE, Runs.ACROSS)
    assert (
        sum(
            x0 * y1 - x1 * y0
            for (x0, y0), (x1, y1) in zip(turned, (*turned[1:], turned[0]), strict=True)
        )
        > 0
    )
    assert in_course_axes(turned, Runs.ACROSS) == L_SHAPE


def test_section_at_a_step_is_what_both_hands_share():
    assert section(L_SHAPE, Nm(3), Nm(0), Nm(10)) == ((0, 10),)
    assert section(L_SHAPE, Nm(4), Nm(0), Nm(10)) == ((0, 4),)
    assert section(L_SHAPE, Nm(4), Nm(5), Nm(10)) == ()


def test_section_on_a_slope_is_rounded_half_to_even():
    assert section(SLOPE, Nm(1), Nm(0), Nm(100)) == ((0, 8),)  # 7.5
    assert section(SLOPE, Nm(3), Nm(0), Nm(100)) == ((0, 6),)  # 6.5


def test_extent_beyond_a_step_does_not_reach_up_its_side():
    assert extent_within(L_SHAPE, Nm(4), Nm(10)) == (0, 4)
    assert extent_within(L_SHAPE, Nm(3), Nm(10)) == (0, 10)


def test_parts_of_a_row_are_found_from_the_left():
    u_shape = ((0, 0), (10, 0), (10, 6), (7, 6), (7, 3), (3, 3), (3, 6), (0, 6))
    assert [(part.start, part.end, part.area) for part in parts(u_shape, Nm(3), Nm(6))] == [
        (0, 3, ()),
        (7, 10, ()),
    ]
    assert [(part.start, part.end) for part in parts(u_shape, Nm(0), Nm(4))] == [(0, 10)]


def test_eave_is_the_lower_end_of_the_upper_side():
    assert eave(SLOPE) == 3
    assert eave(((0, 0), (10, 0), (10, 5), (5, 9), (0, 6))) == 5
    assert eave(L_SHAPE) == 4


def test_pocket_in_the_upper_side_is_no_eave():
    assert eave(((0, 0), (10, 0), (10, 8), (6, 8), (6, 5), (4, 5), (4, 8), (0, 8))) == 8
