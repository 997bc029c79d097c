"""Rooms of which every item was counted by hand: README.md beside this file has the sums."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from math import sqrt
from pathlib import Path

import pytest

from takeoff.housefile import read_house
from takeoff.job import Takeoff, take_off
from takeoff.reference import figures
from takeoff.units import UnitSystem
from tests.takeoff.houses import DEMO_HOUSES, default_catalogue, demo_takeoff

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
FLAT_SEAMS, FLAT_CORNERS = 2 * Fraction("2475.5") / Fraction("25.4"), 8550 / Fraction("25.4")
GARAGE = {
    ("hanging", "sheet-fire-rated-0.625x48x144in"): Fraction(3),
    ("hanging", "screw-coarse-1.25"): Fraction(284),
    ("taping", "tape-paper"): (SEAMS + CORNERS) / 12 * A_TENTH_MORE,
    ("taping", "compound-drying"): gallons(SEAMS, CORNERS, 8 * 7 * 3) * A_TENTH_MORE,
    ("finishing", "sanding-sheet"): (SEAMS + CORNERS) / 12 / 100,
    ("finishing", "primer"): Fraction(144, 250),
    ("finishing", "paint-ceiling"): Fraction(144, 300),
    # In square inches: four walls of 144 x 96 less the garage door, the side door and the window.
    ("finishing", "paint-wall-harbor-fog-satin"): Fraction(
        4 * 144 * 96 - 108 * 84 - 34 * 82 - 36 * 36, 144 * 300
    ),
    ("own-floor", "sheeting"): 144 * A_TENTH_MORE,
    ("hanging", "knife-blade"): Fraction(1),
    ("hanging", "lift-day"): Fraction(1),
    ("taping", "mask"): Fraction(1),
    ("taping", "sheeting"): 144 * Fraction(12, 10),
}

BEAD = Fraction(2 * 4, 32) + Fraction(2 * 6, 64) + Fraction(2 * 8, 128)
BUTT = Fraction(4, 16) + Fraction(12, 40) + Fraction(20, 64)
BED_SEAM = Fraction(571, 4) - 36
BED_CORNERS = Fraction(143 + 95.5 + 4 * 4.5) + Fraction(95.5 + 16) + 16 + 143 + (143 + 2 * 12)
BED_ROUND = 2 * (36 + 48)  # the window, its bead and its trim each
BED_PATCH = 2 * (34 + 82)
BEDROOM = {
    ("framing", "2x4"): Fraction(3 * 144 + 10 * 9 + 10 * 13 + 2 * 34 + 4 * 79, 12),
    ("framing", "nails-16d"): Fraction(2 * 10 + 20 * 4 + 8 + 8),
    ("framing", "nails-8d"): Fraction(4 * 4),
    ("insulation", "batts-r13"): Fraction(80),
    ("insulation", "vapor-sheet"): 80 * A_TENTH_MORE,
    ("hanging", "sheet-regular-0.5x48x144in"): Fraction(3),
    ("hanging", "sheet-regular-0.5x48x96in"): (BED_ROUND * Fraction(9, 2) + 34 * 82) / (48 * 96),
    ("hanging", "screw-coarse-1.25"): Fraction(204),
    ("hanging", "knife-blade"): Fraction(1),
    ("hanging", "lift-day"): Fraction(1),
    ("taping", "mask"): Fraction(1),
    ("taping", "sheeting"): 120 * Fraction(12, 10),
    ("taping", "tape-paper"): (BED_SEAM + BED_CORNERS + BED_PATCH) / 12 * A_TENTH_MORE,
    ("taping", "compound-drying"): (
        BED_SEAM * SEAM
        + BED_CORNERS * CORNER
        + (143 + BED_ROUND) * BEAD
        + BED_ROUND * BEAD / 2
        + BED_PATCH * BUTT
        + (32 + 8) * SCREW
    )
    / 231
    * A_TENTH_MORE,
    ("taping", "corner-bead"): Fraction(143 + BED_ROUND, 12),
    ("taping", "l-trim"): Fraction(BED_ROUND, 12),
    ("taping", "nails-board"): Fraction(26 + 36 + 18),
    ("finishing", "sanding-sheet"): (BED_SEAM + BED_CORNERS + 143 + 2 * BED_ROUND + BED_PATCH)
    / 12
    / 100,
}

DEN_SEAM = (36.5 - 0.625) + 63.375
DEN_CORNERS = 95.5 + 36 + (64 + 95.5)
DEN_PATCHES = 2 * (4.5 + 42) + 2 * (4.5 + 60)
DEN = {
    ("framing", "floor-strip"): Fraction(60 * 4.5) / 144,
    ("partitions", "2x4-treated"): Fraction(36 + 60.5) / 12,
    ("partitions", "2x4"): Fraction(36 + 7 * 93 + 60.5 + 7 * 93) / 12,
    ("partitions", "concrete-anchor"): Fraction(2 + 3),
    ("partitions", "nails-16d"): Fraction(4 + 8 + 3 * 5 + 5 + 10 + 2 * 5),
    ("partitions", "nails-8d"): Fraction(4 * (4 + 5)),
    ("hanging", "sheet-regular-0.5x48x108in"): Fraction(2),
    ("hanging", "sheet-regular-0.5x48x96in"): Fraction(4.5 * (42 + 60)) / (48 * 96),
    ("hanging", "screw-coarse-1.25"): Fraction(105),
    ("hanging", "knife-blade"): Fraction(1),
    ("strip-out", "rubble-bag"): Fraction(7),
    ("strip-out", "mask"): Fraction(1),
    ("strip-out", "sheeting"): (120 - 16) * Fraction(12, 10),
    ("taping", "mask"): Fraction(1),
    ("taping", "corner-bead"): Fraction(95, 12),
    ("taping", "nails-board"): Fraction(2 * 9),
    ("taping", "tape-paper"): Fraction(DEN_SEAM + DEN_CORNERS + DEN_PATCHES) / 12 * A_TENTH_MORE,
    ("taping", "compound-drying"): (
        Fraction(DEN_SEAM) * SEAM
        + Fraction(DEN_CORNERS) * CORNER
        + Fraction(95.5) * BEAD
        + Fraction(DEN_PATCHES) * BUTT
        + (16 + 12) * SCREW
    )
    / 231
    * A_TENTH_MORE,
    ("finishing", "sanding-sheet"): Fraction(DEN_SEAM + DEN_CORNERS + 95.5 + DEN_PATCHES)
    / 12
    / 100,
}
STUDY = {
    ("hanging", "sheet-regular-12.5x1200x2700mm"): Fraction(3),
    ("hanging", "screw-fine-1"): Fraction(95),
    ("taping", "tape-paper"): (FLAT_SEAMS + FLAT_CORNERS) / 12 * A_TENTH_MORE,
    ("taping", "compound-drying"): gallons(FLAT_SEAMS, FLAT_CORNERS, 3 * 8) * A_TENTH_MORE,
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
    ("bungalow", "bedroom", BEDROOM),
    ("bungalow", "den", DEN),
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


@pytest.mark.parametrize(
    ("house", "room", "by_hand"), COUNTED, ids=[room for _, room, _ in COUNTED]
)
def test_a_room_takes_what_was_counted_by_hand_and_nothing_else(house, room, by_hand):
    needs = {
        (str(need.phase), need.material): need.amount.value
        for need in counted(house).needs
        if need.room == room
    }
    assert needs == by_hand


def test_partition_of_steel_takes_tracks_studs_and_screws():
    needs = {
        need.material: need
        for need in counted("flat").needs
        if need.phase == "partitions" and need.room == "hall"
    }
    mm = 1_000_000
    assert needs["steel-track-2.5"].lengths == (2400 * mm, 2400 * mm)
    assert needs["steel-stud-2.5"].lengths == (2500 * mm - 6_350_000,) * 9
    assert needs["screw-framing"].amount.value == 9 * 4
    assert needs["screw-coarse-1.625"].amount.value == 5 + 5
    assert set(needs) == {
        "steel-track-2.5",
        "steel-stud-2.5",
        "screw-framing",
        "screw-coarse-1.625",
    }


@pytest.mark.parametrize("house", sorted({house for house, _, _ in COUNTED}))
def test_everything_it_takes_is_on_sale(house):
    assert not counted(house).supply.unmet


def test_every_item_says_which_figures_or_plan_it_rests_on_or_that_it_was_entered():
    jobs = [counted(name) for name in sorted({house for house, _, _ in COUNTED})]
    jobs += [demo_takeoff(name) for name in DEMO_HOUSES]
    bare = {
        reason.text
        for job in jobs
        for need in job.needs
        for reason in need.reasons
        if not reason.figures and "of the board plan begun" not in reason.text
    }
    entered = {need.note for job in jobs for room in job.house.rooms for need in room.added}
    assert {text for text in bare if text.split(": ")[0] not in entered} == set()
    known = figures.by_id()
    assert all(
        figure in known
        for job in jobs
        for need in job.needs
        for reason in need.reasons
        for figure in reason.figures
    )
