"""Rooms of which every item was counted by hand: README.md beside this file has the sums."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from takeoff.housefile import read_house
from takeoff.job import Takeoff, take_off
from tests.takeoff.houses import default_catalogue

HERE = Path(__file__).parent

SEAMS, CORNERS = Fraction(571, 2), 4 * 143  # inches
TAPED = SEAMS + CORNERS
COMPOUND = (
    SEAMS * (Fraction(4, 16) + Fraction(10, 64) + Fraction(16, 128))
    + CORNERS * (Fraction(4, 16) + Fraction(6, 64))
    + 8 * 7 * 3 * Fraction(2 * 2 * 3, 64)
) / 231
GARAGE = {
    ("hanging", "sheet-fire-rated-0.625x48x144in"): Fraction(3),
    ("hanging", "screw-coarse-1.25"): Fraction(284),
    ("taping", "tape-paper"): TAPED / 12 * Fraction(11, 10),
    ("taping", "compound-drying"): COMPOUND * Fraction(11, 10),
    ("finishing", "sanding-sheet"): TAPED / 12 / 100,
    ("finishing", "primer"): Fraction(144, 250),
    ("finishing", "paint-ceiling"): Fraction(144, 300),
    ("finishing", "paint-wall-harbor-fog-satin"): Fraction(4 * 12 * 8, 300),
    ("own-floor", "sheeting"): 144 * Fraction(11, 10),
}


@pytest.fixture(scope="module")
def bungalow() -> Takeoff:
    return take_off(
        read_house((HERE / "bungalow.json").read_bytes(), catalogue=default_catalogue())
    )


def test_the_garage_takes_what_was_counted_by_hand_and_nothing_else(bungalow):
    needs = {
        (str(need.phase), need.material): need.amount.value
        for need in bungalow.needs
        if need.room == "garage"
    }
    assert needs == GARAGE


def test_everything_it_takes_is_on_sale(bungalow):
    assert not bungalow.supply.unmet
