"""Strips beside openings that are too narrow for board: which are filled, and what that takes."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from takeoff.boards.fillers import fillers
from takeoff.cards.hanging import hanging_order
from takeoff.choices import OpeningEdge, OpeningKind
from takeoff.geometry.surface import PlacedOpening
from takeoff.house import Ceiling, House, Opening
from takeoff.job import take_off
from takeoff.needs import taping
from takeoff.needs.need import Phase
from takeoff.needs.shares import Tick, takes_of
from takeoff.reference import figures
from takeoff.units import INCH, Nm, UnitSystem
from tests.takeoff.boards.corners import room
from tests.takeoff.needs_room import (
    CATALOGUE,
    RULES,
    boarded,
    by_material,
    face,
    framed,
    inches,
    room_of,
)

SETTING = "compound-setting"


def opening(left, bottom, right, top, *, edge=OpeningEdge.CASED, name="Window") -> PlacedOpening:
    return PlacedOpening(
        id=name,
        name=name,
        kind=OpeningKind.WINDOW,
        left=inches(left),
        bottom=inches(bottom),
        right=inches(right),
        top=inches(top),
        edge=edge,
    )


def found(*openings: PlacedOpening) -> list[tuple[str, Fraction, Fraction]]:
    """Where each filler of a wall of two rows of 48 in lies, its width and length in inches."""
    wall = face(openings=openings)
    plan = boarded(wall)
    return [
        (filler.where, Fraction(filler.width, INCH), Fraction(filler.run, INCH))
        for filler in fillers(wall, plan.rows_run, plan.rows)
    ]


def test_strip_over_a_door_is_a_filler():
    assert found(opening(40, 0, 72, 95)) == [("above it", 1, 32)]


@pytest.mark.parametrize(("top", "filled"), [("381/4", False), ("1523/16", True), (94, False)])
def test_casing_covers_three_quarters_of_an_inch_and_board_fits_from_two_on(top, filled):
    assert bool(found(opening(40, 0, 72, top))) == filled


@pytest.mark.parametrize("edge", [OpeningEdge.BEAD, OpeningEdge.RETURN])
def test_no_casing_covers_the_strip_beside_a_bead_or_a_return(edge):
    assert found(opening(40, 0, 72, "383/4", edge=edge)) == [("above it", Fraction(1, 4), 32)]


def test_window_across_a_row_leaves_strips_above_and_below():
    assert found(opening(40, 49, 80, "94.5")) == [
        ("below it", 1, 40),
        ("above it", Fraction(3, 2), 40),
    ]


def test_strip_between_an_opening_and_the_end_of_its_row_is_as_high_as_the_row():
    assert found(opening(1, 48, 40, 96)) == [("to its left", 1, 48)]
    assert found(opening(100, 48, 143, 96)) == [("to its right", 1, 48)]


def test_strip_beside_a_door_goes_through_all_its_rows():
    assert found(opening(1, 0, 40, 96)) == [("to its left", 1, 96)]


def test_strip_between_two_openings_is_one_filler():
    two = (opening(20, 48, 60, 96), opening(61, 48, 100, 96, name="Other"))
    assert found(*two) == [("to its left", 1, 48)]


def test_opening_that_is_cut_out_of_board_has_no_fillers():
    assert found(opening(40, 20, 72, 60)) == []


def test_board_that_hangs_in_a_strip_leaves_nothing_to_fill():
    wall = face(openings=(opening(40, 0, 72, 95),))
    plan = boarded(wall)
    assert not fillers(wall, plan.rows_run, plan.rows, plan.pieces)


def taken(wall) -> dict:
    plan = replace(boarded(wall), pieces=())
    return by_material(
        taping.needs(
            room_of(wall),
            HOUSE.room("room").finish,
            [framed(wall)],
            [plan],
            [],
            rules=RULES,
            catalogue=CATALOGUE,
            units=UnitSystem.INCH,
        )
    )


# The rows go down from the ceiling's board, at 96-1/2 in: the door leaves 1-1/2 in of the upper.
HOUSE = House(
    id="h",
    name="House",
    rooms=(
        replace(
            room(
                inches(120),
                inches(100),
                inches(97),
                openings=(
                    Opening(
                        id="d",
                        name="Door",
                        kind=OpeningKind.DOOR,
                        wall="A",
                        left=inches(40),
                        sill=Nm(0),
                        width=inches(34),
                        height=inches(95),
                    ),
                ),
            ),
            ceiling=Ceiling(height=inches(97)),
        ),
    ),
    catalogue=CATALOGUE,
)


def test_filler_is_setting_compound_by_its_volume():
    need = taken(face(openings=(opening(40, 0, 72, 95),)))[SETTING]
    gallons = Fraction(32 * 1, 2 * 231)  # 1/2 in deep; 231 cu in to the gallon
    assert need.amount.value == gallons * figures.number("CM-powder")
    (reason,) = need.reasons
    assert reason.figures == ("HL-core", "HL-filler", "CM-powder")
    assert '1" wide and 2\' 8" long above it' in reason.text


@pytest.mark.parametrize("changes", [{"tiled": True}, {"finish_level": 0}], ids=["tiled", "bare"])
def test_wall_that_gets_no_compound_gets_none_beside_openings(changes):
    assert SETTING not in taken(face(openings=(opening(40, 0, 72, 95),), **changes))


def test_filler_of_a_planned_room_is_noted_bought_hung_past_and_used_by_its_first_coat():
    done = take_off(HOUSE)
    (wall,) = (plan for plan in done.surface_plans if plan.surface == "room/A")
    (note,) = (note for note in wall.notes if note.rule == "filler")
    assert note.text.startswith('Door: a strip 1 1/2" wide and 2\' 10" long is left above it')
    need = next(need for need in done.needs if need.material == SETTING)
    assert need.phase is Phase.TAPING
    assert any(line.material == SETTING for line in done.supply.lines)
    steps = [step.what for step in hanging_order(done, "room") if "strips" in step.what]
    assert len(steps) == 1
    assert 'Door, above it: 1 1/2" by 2\' 10"' in steps[0]
    takes = [take for take in takes_of(done, "room", ["plan"]) if take.item == SETTING]
    assert [(take.kind, take.name) for take in takes] == [(Tick.TAPED, "A")]
    assert not any(check.material == SETTING for check in done.cross_checks)
