"""Courses over a height: counted from either side, from the eave, on members, with a shared rip."""

from __future__ import annotations

from takeoff.boards.courses import (
    CourseExtent,
    courses_down,
    courses_from_eave,
    courses_on_members,
    courses_sharing_rip,
    courses_up,
)
from takeoff.units import Nm


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


def test_rows_along_members_end_on_members_and_in_the_corners():
    rows = courses_on_members(Nm(5), Nm(100), Nm(48), [Nm(16 * k) for k in range(7)])
    assert extents(rows) == [(5, 48), (48, 96), (96, 100)]
    assert [(row.factory_low, row.factory_high) for row in rows] == [
        (False, True),
        (True, True),
        (True, False),
    ]


def test_row_ripped_between_members_keeps_the_edge_against_the_row_before_it():
    rows = courses_on_members(Nm(0), Nm(130), Nm(48), [Nm(48), Nm(88), Nm(130)])
    assert extents(rows) == [(0, 48), (48, 88), (88, 130)]
    assert (rows[1].factory_low, rows[1].factory_high) == (True, False)


def test_bay_wider_than_a_sheet_takes_no_rows_along_it():
    assert courses_on_members(Nm(0), Nm(100), Nm(48), [Nm(60)]) == ()
