"""Rooms walked wall by wall."""

from decimal import Decimal

import pytest

from takeoff.choices import MeasuredTo
from takeoff.errors import BadValue
from takeoff.units import INCH

from .rooms import L_WALLS, in_inches, inches, outline, quick, shape


def test_quick_room_has_walls_a_to_d_clockwise_from_the_top():
    geometry = shape(quick(144, 120))
    assert in_inches(geometry.plan) == [(0, 0), (144, 0), (144, 120), (0, 120)]
    assert [surface.id for surface in geometry.surfaces] == [
        "kitchen/A",
        "kitchen/B",
        "kitchen/C",
        "kitchen/D",
        "kitchen/ceiling",
    ]
    assert geometry.surfaces[0].name == "Kitchen, Wall A"
    assert geometry.floor_area == 144 * 120 * INCH * INCH


def test_l_shaped_room_closes_exactly():
    geometry = shape(outline(*L_WALLS))
    assert in_inches(geometry.plan) == [(0, 0), (144, 0), (144, 60), (96, 60), (96, 120), (0, 120)]
    assert geometry.closing_error == 0
    assert geometry.notes == ()


def test_sixty_degree_turns_make_a_triangle():
    geometry = shape(outline(("A", 100, 120), ("B", 100, 120), ("C", 100, 120)))
    # An equilateral triangle's area is the square root of 3, over 4, times its side squared.
    assert geometry.floor_area / (100 * INCH) ** 2 == pytest.approx(3**0.5 / 4, rel=1e-9)
    assert geometry.closing_error <= 2


def test_error_over_the_tolerance_is_refused_with_what_to_measure_again():
    with pytest.raises(BadValue, match=r"Kitchen does not close.* 3\".*Wall A, Wall C") as refused:
        shape(outline(("A", 144), ("B", 120), ("C", 141), ("D", 120)))
    assert "Wall B" not in str(refused.value)
    assert "_" not in str(refused.value), "a key of a house file is no word for people"


def test_error_at_the_tolerance_is_spread_and_told():
    geometry = shape(outline(("A", 144), ("B", 120), ("C", 143), ("D", 120)))
    assert geometry.closing_error == INCH
    assert 'did not close by 1"' in geometry.notes[0].text
    (start, top), (end, _), (_, bottom), _ = geometry.plan
    assert (start, top, bottom) == (0, 0, inches(120))
    # Half of the inch from each of the two walls that disagree, but for their slant.
    assert end / INCH == pytest.approx(143.5, abs=0.01)
    assert geometry.plan[1][0] == geometry.plan[2][0], "right angles stay right"


def test_tolerance_is_a_rule():
    shape(outline(("A", 144), ("B", 120), ("C", 141), ("D", 120)), closing_tolerance=inches(3))


def test_turns_that_do_not_go_round_are_refused():
    with pytest.raises(BadValue, match="add up to 270, not 360"):
        shape(outline(("A", 144), ("B", 120), ("C", 144)))


def test_outline_that_crosses_itself_is_refused():
    # deeper than the room
    notch = (("C", 40), ("D", 150, -90), ("E", 20, -90), ("F", 150), ("G", 40))
    walls = (("A", 100), ("B", 100), *notch, ("H", 100))
    with pytest.raises(BadValue, match="cross or touch"):
        shape(outline(*walls))


def test_decimal_turns_are_exact():
    geometry = shape(
        outline(("A", 100, "90.0"), ("B", 50, Decimal("90.00")), ("C", 100), ("D", 50))
    )
    assert geometry.closing_error == 0


def test_walls_that_run_on_in_line_make_no_corner():
    geometry = shape(outline(("A", 60, 0), ("A2", 84), ("B", 120), ("C", 144), ("D", 120)))
    assert ("kitchen/A", "kitchen/A2") not in {(c.first, c.second) for c in geometry.corners}
    assert any("runs on in line" in note.text for note in geometry.notes)


def test_measured_to_finished_faces_the_framing_is_farther_out_by_each_lining():
    geometry = shape(quick(144, 120, measured_to=MeasuredTo.FINISHED))
    assert in_inches(geometry.plan) == [(-0.5, -0.5), (144.5, -0.5), (144.5, 120.5), (-0.5, 120.5)]
    assert in_inches(geometry.surfaces[0].outline)[2] == (145, 96.5)
    assert 'taken as 1/2" thick' in geometry.notes[0].text
