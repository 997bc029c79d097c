"""Surfaces that take two layers of board, counted by hand through a whole house."""

from dataclasses import replace
from fractions import Fraction

import pytest

from takeoff.boards.first_layers import joints_in_line
from takeoff.boards.plan import Joint, JointKind
from takeoff.choices import Action
from takeoff.errors import BadValue
from takeoff.hours import hours_of_rooms
from takeoff.house import SurfaceChoice
from takeoff.job import take_off
from takeoff.needs.need import Phase
from tests.takeoff.needs_room import assert_reasons_add_up, boarded, face, inches
from tests.takeoff.test_needs_let_in import den, house, of_reasons

TWO = SurfaceChoice(of="A", action=Action.BOARD, layers=2)


@pytest.fixture(scope="module")
def layered():
    made = take_off(house(den(TWO)))
    assert_reasons_add_up(made.needs)
    return made


def need(made, item: str):
    (found,) = (n for n in made.needs if (n.phase, n.material) == (Phase.HANGING, item))
    return found


def test_second_layer_lies_across_and_the_first_stands_along_the_studs(layered):
    # Second: two courses of one 12 ft board. First: studs at 3/4 in and every 16 in, so boards
    # 32-3/4, 48, 48 and 15-1/4 in wide; the narrow ones are two parts of one sheet.
    assert need(layered, "sheet-regular-0.5x48x144in").amount.value == 2
    assert need(layered, "sheet-regular-0.5x48x96in").amount.value == 3
    assert any("Hang the first along the framing" in text for text in layered.warnings)


def test_screws_of_the_second_layer_go_through_both_into_the_stud(layered):
    # 1 in of board and 5/8 in of wood. 10 studs under each course, 4 screws at most 16 in apart.
    screws = need(layered, "screw-coarse-1.625")
    assert of_reasons(screws, 'over 1/2" of a first layer') == 2 * 10 * 4


def test_screws_of_the_first_layer_are_by_its_own_boards(layered):
    # Studs under its four boards: 3, 4, 4 and 2, each with 7 screws on 95 in.
    assert of_reasons(need(layered, "screw-coarse-1.25"), "first layer") == (3 + 4 + 4 + 2) * 7


def test_first_layer_takes_hours_to_hang_and_none_to_finish(layered):
    """By hand, by the minutes of the house (HR-piece 12, HR-crosscut 3, HR-rip 5, HR-area 1/2):
    four boards of 95 in, all cut off sheets of 96, two of them ripped; 95 by 142 3/4 in in all."""
    once = take_off(house(den(replace(TWO, layers=1))))
    two, one = (hours_of_rooms(made)["den"] for made in (layered, once))

    minutes = 4 * (12 + 3) + 2 * 5 + Fraction(95 * 571, 4 * 144 * 2)
    assert (two.hanging - one.hanging) * 60 == minutes
    assert two.finishing == one.finishing


def test_only_the_second_layer_is_taped(layered):
    once = take_off(house(den(replace(TWO, layers=1))))
    for item in ("tape-paper", "compound-drying"):
        tape, single = (
            next(n.amount.value for n in made.needs if n.material == item)
            for made in (layered, once)
        )
        assert tape == single


def test_both_layers_come_off_the_wall_that_is_hung_after():
    other = SurfaceChoice(of="B", action=Action.BOARD)
    widths = []
    for layers in (1, 2):
        made = take_off(house(den(replace(TWO, layers=layers), other)))
        surface = next(s for s in made.rooms[0].surfaces if s.id == "den/B")
        places = [u for u, _ in surface.board_area]
        widths.append(max(places) - min(places))
    assert widths[0] - widths[1] == inches("1/2")


def test_joints_closer_than_ten_inches_that_run_the_same_way_are_in_line():
    plain = boarded(face())  # one long seam at 48 in, 144 in long
    assert joints_in_line(plain, plain) == inches(144)
    butt = replace(
        plain,
        rows=tuple(replace(row, high=inches(96)) for row in plain.rows[:1]),
        joints=(Joint(row=0, at=inches(64), kind=JointKind.FRAMING, length=inches(96)),),
    )
    assert joints_in_line(butt, plain) == 0  # they cross
    for at, in_line in ((73, 96), (74, 0), (55, 96), (54, 0)):
        moved = replace(butt, joints=(replace(butt.joints[0], at=inches(at)),))
        assert joints_in_line(butt, moved) == inches(Fraction(in_line))


def test_layers_are_one_or_two():
    with pytest.raises(BadValue, match="layers must be 1 or 2"):
        replace(TWO, layers=3)
