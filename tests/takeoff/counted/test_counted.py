"""Rooms of which every item was counted by hand: README.md beside this file has the sums."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from math import sqrt
from pathlib import Path

import pytest

from takeoff.housefile import read_house
from takeoff.job import Takeoff, take_off
from takeoff.units import UnitSystem
from tests.takeoff.houses import default_catalogue

HERE = Path(__file__).parent

# What a coat, a seam and a corner take across, in square inches; a screw in three coats, in cubic.
SEAM = Fraction(4, 16) + Fraction(10, 64) + Fraction(16, 128)
CORNER = Fraction(4, 16) + Fraction(6, 64)
SCREW = Fraction(2 * 2 * 3, 64)
A_TENTH_MORE = Fraction(11, 10)
SQUARE_FEET = 1 / Fraction(3048, 10000) ** 2  # of a square meter


def gallons(seams: Fraction, corners: Fraction, screws: int) -> Fraction:
    """The compound for so many inches of seam and corner, and screws in the field."""
    return (seams * SEAM + corners * CORNER + screws * SCREW) / 231


SEAMS, CORNERS = Fraction(571, 2), Fraction(4 * 143)  # inches
FLAT_SEAMS, FLAT_CORNERS = 3 * Fraction("2475.5") / Fraction("25.4"), 8550 / Fraction("25.4")
GARAGE = {
    ("hanging", "sheet-fire-rated-0.625x48x144in"): Fraction(3),
    ("hanging", "screw-coarse-1.25"): Fraction(284),
    ("taping", "tape-paper"): (SEAMS + CORNERS) / 12 * A_TENTH_MORE,
    ("taping", "compound-drying"): gallons(SEAMS, CORNERS, 8 * 7 * 3) * A_TENTH_MORE,
    ("finishing", "sanding-sheet"): (SEAMS + CORNERS) / 12 / 100,
    ("finishing", "primer"): Fraction(144, 250),
    ("finishing", "paint-ceiling"): Fraction(144, 300),
    ("finishing", "paint-wall-harbor-fog-satin"): Fraction(4 * 12 * 8, 300),
    ("own-floor", "sheeting"): 144 * A_TENTH_MORE,
}
STUDY = {
    ("hanging", "sheet-regular-12.5x1200x2700mm"): Fraction(3),
    ("hanging", "screw-fine-1"): Fraction(105),
    ("taping", "tape-paper"): (FLAT_SEAMS + FLAT_CORNERS) / 12 * A_TENTH_MORE,
    ("taping", "compound-drying"): gallons(FLAT_SEAMS, FLAT_CORNERS, 2 * 8) * A_TENTH_MORE,
    ("finishing", "sanding-sheet"): (FLAT_SEAMS + FLAT_CORNERS) / 12 / 100,
    ("finishing", "primer"): 9 * SQUARE_FEET / 250,
    ("finishing", "paint-wall"): 30 * SQUARE_FEET / 300,
    ("finishing", "paint-ceiling"): Fraction("8.64") * SQUARE_FEET / 300,
}


PATCHED = 2 * 2 * (24 + 16)  # inches of edge
LOFT = {
    ("hanging", "sheet-regular-0.625x48x96in"): Fraction(2 * 24 * 16, 48 * 96),
    ("hanging", "1x3"): Fraction(4 * 30, 12),
    ("hanging", "shim-strip"): Fraction(4 * 4 * 24, 12),
    ("hanging", "screw-coarse-1.625"): Fraction(47),
    ("taping", "tape-paper"): Fraction(PATCHED, 12) * A_TENTH_MORE,
    ("taping", "compound-drying"): PATCHED
    * (Fraction(4, 16) + Fraction(12, 40) + Fraction(20, 64))
    / 231
    * A_TENTH_MORE,
    ("finishing", "sanding-sheet"): Fraction(PATCHED, 12 * 100),
    ("finishing", "primer"): Fraction(2 * 44 * 36, 144 * 250),
    ("finishing", "paint-wall"): Fraction(12 * 5 + 12 * 10 + 2 * 9 * 15 // 2, 300),
    # The slope is rounded to a nanometer.
    ("finishing", "paint-ceiling"): pytest.approx(12 * sqrt(9 * 9 + 5 * 5) / 300, rel=1e-9),
}
COUNTED = [
    ("bungalow", "garage", GARAGE),
    ("flat", "study", STUDY),
    ("narrow", "loft", LOFT),
]


@cache
def counted(name: str) -> Takeoff:
    return take_off(
        read_house(
            (HERE / f"{name}.json").read_bytes(),
            catalogue=default_catalogue(),
            metric_catalogue=default_catalogue(UnitSystem.MILLIMETRE),
        )
    )


@pytest.mark.parametrize(("house", "room", "by_hand"), COUNTED, ids=["garage", "study", "loft"])
def test_a_room_takes_what_was_counted_by_hand_and_nothing_else(house, room, by_hand):
    needs = {
        (str(need.phase), need.material): need.amount.value
        for need in counted(house).needs
        if need.room == room
    }
    assert needs == by_hand


@pytest.mark.parametrize("house", [house for house, _, _ in COUNTED])
def test_everything_it_takes_is_on_sale(house):
    assert not counted(house).supply.unmet
