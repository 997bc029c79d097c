"""Courses over a height: counted from either side, from the eave, on members, with a shared rip."""

from __future__ import annotations

from takeoff.boards.courses import (
    CourseExtent,
    courses_down,
    courses_from_eave,
    courses_on_members,
    courses_sharing_rip,
    courses_up,
    height_of,
    mixed_rows,
)
from takeoff.boards.reach import Reach
from takeoff.units import INCH, Nm


def extents(rows: tuple[CourseExtent, ...]) -> list[tuple[int, int]]:
    return [(row.low, row.high) for row in rows]


def test_height_of_whole_sheets_has_no_ripped_row():
    rows = courses_up(Nm(0), Nm(96), Nm(48))
    assert extents(rows) == [(0, 48), (48, 96)]
    assert all(row.factory_low and row.factory_high for row in rows)


def test_height_under_one_sheet_is_one_ripped_row():
    (row,) = courses_down(Nm(0), Nm(40), Nm(48), largest_rest=Nm(60))
    assert (row.low, row.high) == (0, 40)


def test_rest_just_over_the_largest_is_a_row():
    assert extents(courses_down(Nm(0), Nm(98), Nm(48), largest_rest=Nm(2))) == [(50, 98), (2, 50)]
    assert extents(courses_down(Nm(0), Nm(99), Nm(48), largest_rest=Nm(2))) == [
        (51, 99),
        (3, 51),
        (0, 3),
    ]


def test_rows_from_the_eave_go_both_ways():
    assert extents(courses_from_eave(Nm(0), Nm(60), Nm(150), Nm(48))) == [
        (108, 150),
        (60, 108),
        (12, 60),
        (0, 12),
    ]


def test_shared_rip_is_nothing_where_nothing_is_ripped():
    assert courses_sharing_rip(Nm(0), Nm(96), Nm(48)) == ()
    assert courses_sharing_rip(Nm(0), Nm(40), Nm(48)) == ()


def test_odd_shared_rip_gives_the_far_row_the_odd_nanometre():
    assert extents(courses_sharing_rip(Nm(0), Nm(101), Nm(48))) == [(0, 26), (26, 74), (74, 101)]


def reach(inches: int, *, more: int = 0, less: int = 0) -> Reach:
    return Reach(Nm((inches - less) * INCH), Nm(inches * INCH), Nm((inches + more) * INCH))


def columns(first: Reach, last: Reach, members: list[int]) -> tuple[CourseExtent, ...]:
    return courses_on_members(first, last, Nm(48 * INCH), [Nm(at * INCH) for at in members])


def in_inches(rows: tuple[CourseExtent, ...]) -> list[tuple[int, int]]:
    return [(row.low // INCH, row.high // INCH) for row in rows]


def test_rows_along_members_end_on_members_and_in_the_corners():
    rows = columns(reach(5), reach(100), [16 * k for k in range(7)])
    assert in_inches(rows) == [(5, 32), (32, 80), (80, 100)]
    assert [(row.factory_low, row.factory_high) for row in rows] == [
        (False, True),
        (True, True),
        (True, False),
    ]


def test_row_ripped_between_members_keeps_the_edge_against_the_row_before_it():
    rows = columns(reach(0), reach(130), [48, 88, 130])
    assert in_inches(rows) == [(0, 48), (48, 88), (88, 130)]
    assert (rows[1].factory_low, rows[1].factory_high) == (True, False)


def test_bay_wider_than_a_sheet_takes_no_rows_along_it():
    assert columns(reach(0), reach(100), [60]) == ()


def test_last_column_under_two_inches_moves_the_seam_before_it_back():
    rows = columns(reach(0), reach(97), [16 * k for k in range(7)])
    assert in_inches(rows) == [(0, 48), (48, 80), (80, 97)]


def test_no_column_is_a_narrow_strip_where_as_few_can_be_wider():
    # 39 and 7 in are ripped as well as 23 and 23.
    rows = columns(reach(0), reach(94), [7 + 16 * k for k in range(6)])
    assert in_inches(rows) == [(0, 23), (23, 71), (71, 94)]
    # One more rip would be needed here.
    rows = columns(reach(0), reach(149), [16 * k for k in range(10)])
    assert in_inches(rows) == [(0, 48), (48, 96), (96, 144), (144, 149)]


def test_column_in_a_corner_is_a_whole_sheet_where_its_gap_allows():
    rows = columns(reach(1, less=1), reach(96), [16 * k for k in range(7)])
    assert in_inches(rows) == [(0, 48), (48, 96)]


def test_one_column_keeps_an_edge():
    (row,) = columns(reach(0), reach(40), [16, 32])
    assert (row.factory_low, row.factory_high) == (True, False)


def test_rows_are_whole_sheets_where_the_edges_give_way_so_far():
    first, last = reach(1, less=1, more=2), reach(143, more=1)
    assert height_of(first, last, Nm(48 * INCH)) == (0, Nm(144 * INCH))


def test_rows_that_would_leave_a_strip_are_moved_as_little_as_need_be():
    first, last = reach(0), reach(49, more=1)
    low, high = height_of(first, last, Nm(48 * INCH))
    assert (low, high) == (Nm(0), Nm(50 * INCH))


def test_wide_and_narrow_sheets_make_whole_rows_together():
    rows = mixed_rows(reach(0), reach(102), Nm(54 * INCH), [Nm(48 * INCH), Nm(54 * INCH)])
    assert [(row.low // INCH, row.high // INCH, width // INCH) for row, width in rows[0]] == [
        (0, 54, 54),
        (54, 102, 48),
    ]
