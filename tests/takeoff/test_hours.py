"""The hours of a room that people are told: all of them, worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from takeoff.hours import hours_of_rooms
from takeoff.job import take_off
from takeoff.rules import Minutes
from tests.bench.rooms import seeded_house
from tests.takeoff.boards.renewed import small_house

HOUSE = small_house((144, 96))


def test_walls_of_a_small_room():
    takeoff = take_off(HOUSE)
    (room,) = hours_of_rooms(takeoff).values()
    laid = takeoff.surface_plans
    # Walls alone, two rows each. Half an inch is no rip to make, so the lower row gives two inches
    # and leaves the rest to the gap at the floor.
    assert [len(plan.pieces) for plan in laid] == [2, 2, 2, 2]
    assert all(not plan.joints for plan in laid)
    cut = sum(
        piece.end - piece.start not in [sheet.length for sheet in HOUSE.rules.sheets]
        for plan in laid
        for piece in plan.pieces
    )
    # By the wall, as handbooks count board: what the gap at the floor takes is counted with it.
    area = Fraction(2 * (144 + 95)) * Fraction(191, 2) / 144
    seams = Fraction(sum(_long(plan) for plan in laid), 12)
    hanging = 8 * 12 + 3 * cut + 4 * 5 + area / 2
    assert room.hanging == hanging / 60
    # The corners of the walls, and those with the ceiling that is left.
    corners = sum(seam.length for seam in takeoff.seams if seam.kind == "inside corner")
    feet = Fraction(corners, 12 * 25_400_000)
    assert room.finishing == (5 * seams + 6 * feet + Fraction(3, 10) * area) / 60
    assert room.total == room.hanging + room.finishing


def _area(plan):
    inch = 25_400_000
    return sum(
        Fraction((piece.end - piece.start) * (piece.high - piece.low), inch**2)
        for piece in plan.pieces
    )


def _long(plan):
    return Fraction(sum(end - start for start, end in plan.rows[0].segments), 25_400_000)


def test_what_an_hour_is_worth_changes_no_hours():
    one = hours_of_rooms(take_off(HOUSE))
    plans = take_off(HOUSE).surface_plans
    dearer = replace(HOUSE, rules=replace(HOUSE.rules, hour=Decimal(40)))
    assert take_off(dearer).surface_plans == plans
    assert hours_of_rooms(take_off(dearer)) == one


def test_worth_of_keeping_seams_out_of_bad_places_is_no_work():
    free = Minutes(middle_butt=Decimal(0), reentrant_butt=Decimal(0))
    other = replace(HOUSE, rules=replace(HOUSE.rules, minutes=free))
    assert hours_of_rooms(take_off(other)) == hours_of_rooms(take_off(HOUSE))


def test_rooms_come_near_what_finishers_say():
    # About 3.9 h for 100 sq ft of board: common practice, with a wide spread.
    for seed in (1, 3, 5):
        takeoff = take_off(seeded_house(seed))
        (room,) = hours_of_rooms(takeoff).values()
        area = sum(_area(plan) for plan in takeoff.surface_plans) / 144
        assert 2 < room.finishing / area * 100 < 6
