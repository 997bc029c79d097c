"""Fastener counts and screw lengths by the published penetration and edge distance.

Penetration: ASTM C1002 s. 8.5.2 (5/8 in into wood). Edge distance 3/8 to 1/2 in: National Gypsum
Construction Guide, 12th ed., p. 103. Spacings 7, 8, 12, 16 in: USG FAQ 1595, GP ToughRock manual p.
4. Counts are arithmetic from those.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from takeoff.errors import BadValue
from takeoff.needs.fastening import fasteners_along, lines, screw_length
from takeoff.reference import figures
from takeoff.units import INCH, Nm
from tests.takeoff.needs_room import RULES, boarded, face, framed, framing_of


def inches(text: str) -> Nm:
    return Nm(int(sum(Fraction(part) for part in text.split()) * INCH))


@pytest.mark.parametrize(("spacing", "count"), [(7, 8), (8, 7), (12, 5), (16, 4)])
def test_fasteners_on_one_line_of_a_four_foot_board(spacing, count):
    assert fasteners_along(Nm(48 * INCH), Nm(spacing * INCH)) == count


@pytest.mark.parametrize(
    ("sheet", "framing", "spacing", "count"),
    [
        (8, 16, 16, 28),
        (8, 16, 12, 35),
        (8, 24, 12, 25),
        (8, 16, 7, 56),
        (8, 16, 8, 49),
        (12, 16, 16, 40),
        (12, 16, 12, 50),
        (12, 24, 12, 35),
    ],
)
def test_fasteners_of_a_board_across_framing_with_both_ends_on_it(sheet, framing, spacing, count):
    surface = framing_of(face(width=12 * sheet, height=48), spacing=Nm(framing * INCH))
    on_members = lines(framed(surface), boarded(surface), Nm(spacing * INCH), RULES)
    assert sum(line.screws for line in on_members) == count


@pytest.mark.parametrize(
    ("run", "count"), [("1/2", 0), ("3/4", 1), ("1", 1), ("1 1/64", 2), ("17", 2), ("17 1/64", 3)]
)
def test_short_lines_take_few_fasteners_and_slivers_none(run, count):
    assert fasteners_along(inches(run), Nm(16 * INCH)) == count


@pytest.mark.parametrize(
    ("board", "screw"),
    [
        ("3/8", "1"),
        ("1/2", "1 1/4"),
        ("5/8", "1 1/4"),
        ("7/8", "1 5/8"),  # 3/8 over old 1/2
        ("1", "1 5/8"),  # 1/2 over old 1/2
        ("1 1/4", "2"),  # 5/8 over 5/8
        ("3/4", "1 5/8"),  # 1/4 over old 1/2
    ],
)
def test_screw_goes_five_eighths_into_wood(board, screw):
    assert screw_length("coarse", inches(board), penetration=figures.length("GB-27")) == inches(
        screw
    )


def test_screw_goes_three_eighths_past_steel():
    # IRC R702.3.5.1, from memory.
    assert screw_length("fine", inches("1/2"), penetration=figures.length("GB-28")) == inches("1")


def test_board_too_thick_for_any_screw_is_refused():
    with pytest.raises(BadValue, match="strip a layer"):
        screw_length("coarse", inches("3"), penetration=figures.length("GB-27"))


def test_edge_distance_lies_in_the_published_band():
    assert inches("3/8") <= figures.length("HL-01-layout") <= inches("1/2")
