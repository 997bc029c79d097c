import pytest

from takeoff.cards.troubles import TroubleKind, troubles
from takeoff.errors import BadValue
from takeoff.house import House, QuickRoom, Room
from takeoff.job import take_off
from tests.takeoff.drawing.house import CATALOGUE, HOSTILE, box, inches, takeoff


def texts(surface):
    return {(trouble.kind, trouble.thing): trouble.text for trouble in troubles(takeoff(), surface)}


def test_box_in_an_opening_is_told():
    assert "Box in the door lies in" in texts("odd/A")[(TroubleKind.IN_OPENING, "in-door")]


def test_box_over_a_seam_is_told_with_both_boards():
    text = texts("odd/B")[(TroubleKind.OVER_SEAM, "seam")]
    assert "Box on the seam lies over the seam of" in text
    assert "cut it in place" in text


def test_boxes_that_overlap_are_told_once():
    overlaps = texts("odd/C")
    assert list(overlaps) == [(TroubleKind.OVERLAPS, "one")]
    assert "One overlaps Two" in overlaps[(TroubleKind.OVERLAPS, "one")]


def test_box_that_reaches_into_the_floor_gap_is_told_with_how_far():
    text = texts("odd/D")[(TroubleKind.OUTSIDE, "low")]
    assert "reaches past the edge of the board" in text
    assert '1/2"' in text or '9/16"' in text


def test_long_and_hostile_names_are_told_safely():
    text = texts("odd/A")[(TroubleKind.LONG_NAME, "gap")]
    assert f"{len(HOSTILE[:200])} characters" in text
    assert not {"\u202e", "\x07"} & set(text)


def test_surface_in_order_has_no_trouble():
    assert not troubles(takeoff(), "loft/A")
    assert not troubles(takeoff(), "loft/C")


def test_box_outside_its_wall_is_refused_with_the_house():
    room = Room(
        id="r",
        name="Room",
        shape=QuickRoom(length=inches(100), width=inches(100)),
        cutouts=(box("b", "A", 99, 60, name="Box"),),
    )
    with pytest.raises(BadValue, match="Box: it would reach from"):
        take_off(House(id="h", name="H", rooms=(room,), catalogue=CATALOGUE))
