"""Which board may span which framing, and how it is fastened, against the tables that were seen.

Framing limits: USG panel specification p. 2 (3/8 in ceiling 16; 1/2 in ceiling across 24, along 16;
1/2 in wall 24; 5/8 in ceiling across 24; 5/8 in wall 24). Fasteners: USG FAQ 1595 (nails 7 ceiling,
8 wall; screws 12, 16). CMHC as quoted at oncodes.ca: screws 16 in apart on walls only on framing at
most 16 in apart. The rest of the residential code's table R702.3.5 is from memory.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from takeoff.reference import Place, Status, allowed_rows, board_rows, row_for
from takeoff.units import INCH, MM, Nm


def row(thickness: str, place: str, *, across: bool, spacing: int, adhesive: bool = False):
    return row_for(
        thickness=Nm(int(Fraction(thickness) * INCH)),
        place=Place(place),
        across=across,
        spacing=Nm(spacing * INCH),
        adhesive=adhesive,
    )


@pytest.mark.parametrize(
    ("thickness", "place", "across", "spacing"),
    [
        ("3/8", "ceiling", True, 16),
        ("1/2", "ceiling", True, 24),
        ("1/2", "ceiling", False, 16),
        ("1/2", "wall", True, 24),
        ("1/2", "wall", False, 24),
        ("5/8", "ceiling", True, 24),
        ("5/8", "wall", True, 24),
        ("5/8", "wall", False, 24),
    ],
)
def test_board_is_allowed_up_to_the_makers_limit_and_no_further(thickness, place, across, spacing):
    assert row(thickness, place, across=across, spacing=spacing) is not None
    assert row(thickness, place, across=across, spacing=spacing + 1) is None


def test_three_eighths_may_not_lie_along_ceiling_framing():
    assert row("3/8", "ceiling", across=False, spacing=16) is None


@pytest.mark.parametrize("thickness", ["1/2", "5/8"])
def test_screws_sixteen_inches_apart_need_framing_at_sixteen(thickness):
    assert row(thickness, "wall", across=True, spacing=16).screws == 16 * INCH
    assert row(thickness, "wall", across=True, spacing=17).screws == 12 * INCH


@pytest.mark.parametrize("spacing", [16, 24])
def test_ceiling_fasteners(spacing):
    fastener = row("1/2", "ceiling", across=True, spacing=spacing)
    assert (fastener.nails, fastener.screws) == (7 * INCH, 12 * INCH)


def test_wall_nails_are_eight_inches_apart():
    assert {
        board_row.nails
        for board_row in board_rows()
        if board_row.place is Place.WALL and not board_row.adhesive
    } == {8 * INCH}


def test_adhesive_spreads_screws_on_walls_only():
    # One maker (GP ToughRock manual p. 4) allows no adhesive with few nails on ceilings.
    assert row("1/2", "wall", across=True, spacing=16, adhesive=True).screws == 24 * INCH
    assert row("1/2", "ceiling", across=True, spacing=16, adhesive=True).id == "GB-03"


def test_metric_board_counts_as_the_inch_board_it_stands_for():
    fastener = row_for(
        thickness=Nm(25 * MM // 2), place=Place.WALL, across=True, spacing=Nm(600 * MM)
    )
    assert fastener.id == "GB-05"


def test_quarter_inch_board_has_no_row():
    assert (
        allowed_rows(thickness=Nm(INCH // 4), place=Place.WALL, across=True, spacing=Nm(16 * INCH))
        == ()
    )


def test_no_row_is_shown_as_what_the_code_says():
    # The table itself was not seen, so every row is shown as "check your local code".
    assert {board_row.status for board_row in board_rows()} == {Status.MEMORY}
    assert Status.MEMORY.caution == "check your local code"
