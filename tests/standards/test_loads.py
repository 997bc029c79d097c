"""Sheet weights, dead loads and stacks, against maker's sheets, ASCE 7-05 table C3-1 and IRC table
R301.5."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from takeoff.errors import BadValue
from takeoff.housefile import read_catalogue
from takeoff.loads import dead_load, flat_stack, longest_round_corner, sheet_weight
from takeoff.needs.control_joints import control_joints
from takeoff.needs.materials import sheet_id
from takeoff.needs.need import Need, Phase
from takeoff.quantities import Amount
from takeoff.reference import figures
from takeoff.supply import order
from takeoff.units import FOOT, INCH, Nm


def feet(text: str) -> Nm:
    return Nm(int(Fraction(text) * FOOT))


CATALOGUE = read_catalogue((Path(__file__).parents[2] / "fixtures" / "catalogue.json").read_text())


@pytest.mark.parametrize(
    ("figure", "width", "long", "pounds"),
    [
        ("WT-03", 48, 8, "51.2"),
        ("WT-03", 48, 12, "76.8"),
        ("WT-04", 48, 8, "70.4"),
        ("WT-04", 48, 12, "105.6"),
        ("WT-05", 48, 8, "41.6"),
        ("WT-05", 48, 12, "62.4"),
        ("WT-05", 54, 12, "70.2"),
        ("WT-08", 36, 5, "43.5"),
        ("WT-08", 48, 8, "92.8"),
    ],
)
def test_sheet_weight_is_psf_times_area(figure, width, long, pounds):
    assert sheet_weight(figures.number(figure), Nm(width * INCH), Nm(long * FOOT)) == Fraction(
        pounds
    )


def test_supply_list_weighs_sheets_so():
    need = Need(
        phase=Phase.HANGING,
        room="r",
        material=sheet_id("regular", Nm(INCH // 2), Nm(48 * INCH), Nm(12 * FOOT)),
        amount=Amount(Fraction(3), "each"),
        reasons=(),
    )
    (line,) = order([need], catalogue=CATALOGUE, kerf=Nm(0)).lines
    assert Fraction(line.weight) == 3 * Fraction("76.8")


def test_catalogue_weights_are_the_reference_ones():
    weights = {
        ("regular", 2): "WT-01",
        ("regular", 3): "WT-02",
        ("regular", 4): "WT-03",
        ("regular", 5): "WT-04",
        ("light", 4): "WT-05",
        ("cement", 4): "WT-08",
        ("cement", 5): "WT-09",
    }
    for (kind, eighths), figure in weights.items():
        assert Fraction(CATALOGUE.board(kind).weight(Nm(eighths * INCH // 8))) == figures.number(
            figure
        )


@pytest.mark.parametrize(("eighths", "psf"), [(2, "1.1"), (3, "1.65"), (4, "2.2"), (5, "2.75")])
def test_design_dead_load_of_board(eighths, psf):
    # ASCE 7-05 table C3-1: 0.55 psf for each 1/8 in.
    assert dead_load(Nm(eighths * INCH // 8)) == Fraction(psf)


def test_second_ceiling_layer_uses_up_what_span_tables_assume():
    assert dead_load(Nm(INCH // 2)) + dead_load(Nm(5 * INCH // 8)) == Fraction("4.95")
    assert (
        figures.number("DL-18") == 5
    )  # what the span tables of IRC R802 count in, with no storage above


@pytest.mark.parametrize(
    ("figure", "rooms", "bedrooms"),
    [("WT-03", 25, 18), ("WT-04", 18, 13), ("WT-05", 30, 23), ("WT-08", 13, 10)],
)
def test_flat_stack_that_reaches_the_live_load(figure, rooms, bedrooms):
    # IRC table R301.5: 40 psf, sleeping rooms 30.
    assert flat_stack("HF-07", figures.number(figure)) == rooms
    assert flat_stack("HF-08", figures.number(figure)) == bedrooms


def test_flat_stack_is_exact_where_binary_floats_lose_a_sheet():
    # 80 lb over 48 sq ft makes exactly 24 sheets at 40 psf.
    assert flat_stack("HF-07", Fraction(80, 48)) == 24


@pytest.mark.parametrize(("feet", "joints"), [(30, 0), (31, 1), (60, 1), (61, 2)])
def test_control_joints_of_a_wall(feet, joints):
    # National Gypsum, "Don't Overlook Control Joints": every 30 ft.
    assert control_joints("HL-16", Nm(feet * FOOT)) == joints


def test_partition_line_load_is_shown_by_both_sources():
    assert (8 * figures.number("DL-08"), 8 * figures.number("DL-09")) == (64, 48)


# The longest stiff piece round a right-angled corner: answers seen in print at socratic.org (3 ft
# into 4 ft), perplexus.info (two equal passages) and shonky.systems (the ladder of 29 ft); (27, 64)
# is exact by arithmetic.


@pytest.mark.parametrize(
    ("first", "second", "printed"),
    [("3", "4", "9.87"), ("1", "1", "2.828"), ("27", "64", "125"), ("8", "12.685", "29")],
)
def test_longest_piece_round_a_corner(first, second, printed):
    longest = Fraction(longest_round_corner(feet(first), feet(second)), FOOT)
    assert abs(longest - Fraction(printed)) < Fraction(5, 1000)


@pytest.mark.parametrize(
    ("first", "second", "thick", "inches"),
    [
        (36, 36, "0", "101.82"),
        (36, 36, "1/2", "100.82"),
        (36, 36, "7/2", "94.82"),
        (36, 42, "1/2", "109.20"),
        (36, 48, "7/2", "111.35"),
        (42, 42, "1/2", "117.79"),
        (32, 36, "0", "96.11"),
        (32, 36, "1/2", "95.11"),
    ],
)
def test_thickness_is_taken_off(first, second, thick, inches):
    # Computed for our reference notes, section 6; for equal passages it is 2 sqrt(2) a - 2 t.
    longest = longest_round_corner(
        Nm(first * INCH), Nm(second * INCH), thickness=Nm(int(Fraction(thick) * INCH))
    )
    assert abs(Fraction(longest, INCH) - Fraction(inches)) < Fraction(1, 100)


def test_eight_foot_sheet_passes_as_a_line_and_sticks_as_a_board():
    passages = Nm(32 * INCH), Nm(36 * INCH)
    assert longest_round_corner(*passages) > 96 * INCH
    assert longest_round_corner(*passages, thickness=Nm(INCH // 2)) < 96 * INCH


def test_piece_thicker_than_the_passage_is_refused():
    with pytest.raises(BadValue, match="thinner"):
        longest_round_corner(Nm(INCH), Nm(36 * INCH), thickness=Nm(2 * INCH))
