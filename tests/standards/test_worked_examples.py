"""Worked examples that were seen in print, each by the rounding its source uses.

Numbers are those of our reference notes, "Consumption, drying times, labour rates and worked
examples", section 5. Those of studs and plates that the product counts itself are in
`test_stud_counts`.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from takeoff.reference.handbook import (
    bags,
    board_area_of_house,
    by_area,
    paint_gallons,
    paint_quarts,
    plate_sticks,
    roll_insulation,
    rolls,
    sheets_for_area,
    standing_sheets,
    studs_by_foot,
    with_waste,
)

# Estimating in Building Construction (Dagostino/Peterson), chapters 13 and 16.


def test_book_sheathing_rounds_up_once():
    # P. 163: 1,184 sq ft of wall and 72 of gable in 4 x 8 sheets.
    assert sheets_for_area(1184 + 72, 32) == 40


@pytest.mark.parametrize(("area", "sheets"), [(148 * 8, 37), (149 * 8 * 2, 75), (24 * 50, 38)])
def test_book_board_rounds_up_by_surface(area, sheets):
    # Example 16-3, p. 203: no opening taken off.
    assert sheets_for_area(area, 32) == sheets


def test_book_board_adds_like_sheets_then_five_percent_then_rounds_up():
    # Example 16-3, p. 203: 118 of 1/2 in and 40 of 5/8 in.
    assert with_waste(sheets_for_area(148 * 8, 32) + sheets_for_area(149 * 8 * 2, 32)) == 118
    assert with_waste(sheets_for_area(24 * 50, 32)) == 40


def test_book_partition_accessories_by_area():
    # P. 203: 346 ft x 10 ft x 2 faces, "use 7,000 sq ft".
    assert by_area("CN-tape", 7000).value == 2660
    assert by_area("CN-compound-book", 7000).value == 35
    assert by_area("CN-screws", 7000).value == 7000


def test_book_tape_adds_ten_percent_then_rounds_rolls_up():
    # P. 203: rolls of 50 ft.
    assert rolls(by_area("CN-tape", 7000).value, 50) == 59


def test_book_standing_sheets_round_up_by_face_then_with_waste():
    # P. 203 prints 183 for 346 ft, two faces; the steps are inferred.
    assert standing_sheets(346, 4, 2) == 183


# Modern Carpentry (Goodheart-Willcox, 2022), section 11.15.1.


def test_carpentry_text_studs_by_the_foot():
    # P. 269: 240 ft, 12 corners, 10 intersections, 20 openings, two more each.
    assert studs_by_foot(240, 16, corners=12, tees=10, openings=20) == 264


def test_carpentry_text_plates_with_ten_percent():
    # P. 269: three plates of 240 ft, 14 ft pieces.
    assert plate_sticks(240, 3, 14) == (792, 57)


def test_carpentry_text_sheathing():
    # P. 270: 1,060 sq ft net.
    assert sheets_for_area(1060, 32) == 34


# Web pages: a home inspector's, a house-building book's chapter, builders' pages, painters' pages.


def test_house_board_by_floor_area():
    # House-building book, ordering drywall: 24 x 36 ft, factor 3.5, 4 x 12 sheets.
    assert board_area_of_house(24 * 36) == 3024
    assert sheets_for_area(board_area_of_house(24 * 36), 48) == 63


def test_builder_walls_only():
    # howtobuildplans.com: 135 ft x 8 ft.
    assert sheets_for_area(135 * 8, 32) == 34


@pytest.mark.parametrize(("sheet", "count"), [(32, 32), (40, 25), (48, 21)])
def test_thousand_square_feet_by_sheet_size(sheet, count):
    # firstlinesales.com, estimating page 9.
    assert sheets_for_area(1000, sheet) == count


# Square feet a gallon, as these pages all take it; ours is lower, so that a can is not short.
PAGES = 350


def test_painted_room_in_gallons_and_quarts():
    # reference.com: 10 x 15 x 9 ft, one door, one window; "1.2 gal, buy 1 gal + 1 qt"; ceiling
    # "0.43 gal, 2 qt".
    walls = paint_gallons(2 * (10 + 15) * 9, doors=1, windows=1, coverage=PAGES)
    assert round(walls, 1) == Fraction(12, 10)
    assert divmod(paint_quarts(walls), 4) == (1, 1)
    ceiling = paint_gallons(10 * 15, coverage=PAGES)
    assert round(ceiling, 2) == Fraction(43, 100)
    assert paint_quarts(ceiling) == 2


@pytest.mark.parametrize(("coats", "gallons"), [(1, 2), (2, 4)])
def test_painted_walls_round_up_to_whole_gallons(coats, gallons):
    # esppainting.com: 700 sq ft less one door and two windows.
    exact = paint_gallons(700, doors=1, windows=2, coats=coats, coverage=PAGES)
    assert -(-exact // 1) == gallons


def test_painted_walls_with_measured_openings():
    # bubbajuju.com: 67 ft 9 in x 7 ft 2 in less 59.42 sq ft, "1.22 gal" (its 7.17 ft stands for 7
    # ft 2 in).
    area = Fraction(271, 4) * Fraction(43, 6) - Fraction("59.42")
    exact = paint_gallons(area, coverage=PAGES)
    assert abs(exact - Fraction("1.22")) < Fraction("0.005")


def test_painted_walls_under_one_gallon():
    # living.thebump.com: 480 sq ft less 212 of openings.
    assert -(-paint_gallons(480 - 212, coverage=PAGES) // 1) == 1


def test_insulation_rolls_count_the_framing_in():
    # Estimating text, problems 21 and 22 (answers computed): 123 ft x 8 ft, 15 in rolls of 32 ft,
    # no waste.
    assert 123 * 8 == 984
    assert roll_insulation(984, spacing=16, roll=32) == 24


def test_blown_insulation_bags():
    # Estimating text, problem 23 (answer computed): 2,356 sq ft at 41 bags per 1,000.
    assert bags("IN-roll-framing", 2356) == 97


@pytest.mark.parametrize(
    ("figure", "amount"),
    [
        ("CN-compound-lb", 140),
        ("CN-tape-page", 480),
        ("CN-powder", 90),
        ("CN-nails", 5),
        ("CN-screws-page", 1125),
    ],
)
def test_inspector_multipliers_on_a_thousand_square_feet(figure, amount):
    # vbhomerepair.com: .14, .48, .09, .005 and 1.125 a square foot.
    assert by_area(figure, 1000).value == amount
