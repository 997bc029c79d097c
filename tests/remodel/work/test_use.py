"""Estimate against use: what is begun, board as sheets and area, and the largest differences."""

from __future__ import annotations

from fractions import Fraction

from remodel.bridge.lengths import Amount
from remodel.pages.work.use import begun_lines, use_table, use_totals, why_it_differs
from remodel.supply.queries import UseLine

LONG = "sheet-regular-0.5x48x144in"
SHORT = "sheet-regular-0.5x48x96in"
NAMES = {
    LONG: "Regular gypsum board, 1/2 in, 48 in x 12 ft",
    SHORT: "Regular gypsum board, 1/2 in, 48 in x 8 ft",
    "tape": "Paper joint tape",
    "mud": "Ready-mix joint compound",
    "screw": "Drywall screw",
    "bead": "Corner bead",
}
COSTS = {
    LONG: (Fraction(2400), "each"),
    SHORT: (Fraction(1600), "each"),
    "tape": (Fraction(2), "ft"),
    "mud": (Fraction(600), "gal"),
    "screw": (Fraction(1), "each"),
    "bead": (Fraction(40), "ft"),
}


def line(item, estimate, used, unit="each", *, room="kitchen", phase="hanging", spoiled=None):
    def amount(value):
        return None if value is None else Amount(Fraction(value), unit)

    return UseLine(
        room=room,
        phase=phase,
        item=item,
        estimate=amount(estimate),
        used=amount(used),
        spoiled=amount(spoiled),
    )


def test_only_work_that_is_done_or_begun_is_told_and_each_apart():
    lines = [
        line("screw", 100, 90),
        line("screw", 100, None, room="bath"),
        line("screw", 100, None, room="hall"),
        line("screw", None, 5, room="", phase=""),
    ]
    states = {
        ("kitchen", "hanging"): "done",
        ("bath", "hanging"): "in progress",
        ("hall", "hanging"): "not started",
    }
    done, going = begun_lines(lines, states)

    assert [one.room for one in done] == ["kitchen", ""]
    assert [one.room for one in going] == ["bath"]


def test_sheets_of_one_board_are_one_line_with_their_number_and_area():
    totals = use_totals([line(LONG, 3, 2), line(SHORT, 2, 4), line("screw", 10, 10)], NAMES)
    table = use_table(totals, id="x", caption="x", units="in")

    # 3 x 48 + 2 x 32 sq ft, and 2 x 48 + 4 x 32
    assert [list(row)[:3] for row in table.rows] == [
        ["Drywall screw", "10", "10"],
        ["Regular gypsum board, 1/2 in", "5 sheets, 208 sq ft", "6 sheets, 224 sq ft"],
    ]
    assert table.rows[1][-1] == "16 sq ft more (8%)"


def test_board_of_a_metric_house_is_told_in_square_meters():
    item = "sheet-regular-12.5x1200x2400mm"
    names = {item: "Gypsum board, 12.5 x 1200 x 2400 mm"}
    totals = use_totals([line(item, 10, 5)], names)
    row = use_table(totals, id="x", caption="x", units="mm").rows[0]

    assert row[0] == "Gypsum board, 12.5 mm"
    assert row[1:3] == ["10 sheets, 28.8 m2", "5 sheets, 14.4 m2"]


def test_three_largest_differences_are_told_by_what_they_cost():
    totals = use_totals(
        [
            line("tape", 300, 250, "ft"),  # a dollar less
            line("mud", 10, 12, "gal", spoiled=1),  # twelve dollars more
            line(LONG, 3, 4),  # twenty-four more
            line("screw", 100, 90),  # ten cents
            line("bead", 20, 20, "ft"),
        ],
        NAMES,
    )

    assert why_it_differs(totals, COSTS, "in") == (
        "What made the largest difference in work that is done: Regular gypsum board, 1/2 in, "
        "48 sq ft more than estimated; Ready-mix joint compound, 2 gal more than estimated "
        "(1 gal wasted); Paper joint tape, 50 ft less than estimated. 1 more differs by less."
    )
    assert why_it_differs(totals[:0], COSTS, "in") == ""
    even = use_totals([line("bead", 20, 20, "ft")], NAMES)
    assert why_it_differs(even, COSTS, "in") == "What is done took what was estimated."
