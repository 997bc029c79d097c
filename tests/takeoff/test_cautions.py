"""Control joints, and how many sheets a flat stack may hold."""

from dataclasses import replace
from decimal import Decimal

import pytest

from takeoff.cautions import control_joint_notes, stack_notes
from takeoff.choices import Action
from takeoff.geometry.rooms import room_shapes
from takeoff.house import House, SurfaceChoice
from takeoff.job import take_off
from takeoff.units import UnitSystem
from tests.takeoff.geometry.rooms import house, inches, quick
from tests.takeoff.hand_plan import CATALOGUE, sheet
from tests.takeoff.houses import default_catalogue


def notes(*size, **more) -> list[str]:
    rooms, _ = room_shapes(house(quick(*size, **more)))
    return list(control_joint_notes(rooms[0], UnitSystem.INCH))


def test_room_of_thirty_feet_takes_no_control_joint():
    assert notes(360, 120) == []


def test_longer_walls_and_their_ceiling_are_told():
    told = notes(361, 120)
    assert [text.split(" is ")[0] for text in told] == [
        "Kitchen, Wall A",
        "Kitchen, Wall C",
        "Kitchen, ceiling",
    ]
    assert "30' 1\" long: plan a control joint" in told[0]
    assert "no run of board is over 30' 0\"" in told[0]


def test_wall_over_sixty_feet_takes_two():
    assert "plan 2 control joints" in notes(721, 120)[0]


def test_surface_that_gets_no_board_takes_no_joint():
    left = tuple(SurfaceChoice(of=of, action=Action.LEAVE) for of in ("A", "C", "ceiling"))
    assert notes(361, 120, surfaces=left) == []


def test_control_joints_are_bought_with_what_is_behind_them():
    """By hand: walls A and C of 361 in take one joint of 96 in each, the ceiling one of 120 in: 26
    ft. Nails every 12 in through both flanges: 2 x 9, 2 x 9 and 2 x 11. A stud of 96 in more for
    each of the two in a wall."""
    job = take_off(replace(house(quick(361, 120)), catalogue=default_catalogue()))
    taping = {need.material: need for need in job.needs if need.phase == "taping"}
    lumber = next(n for n in job.needs if n.phase == "framing" and n.material == "2x4")

    assert taping["control-joint"].lengths == (inches(120), inches(96), inches(96))
    nails = [r for r in taping["nails-board"].reasons if "control joint" in r.text]
    assert sum(reason.amount.value for reason in nails) == 18 + 18 + 22
    studs = [r for r in lumber.reasons if "control joint" in r.text]
    assert sum(reason.amount.value for reason in studs) == 16
    assert not job.supply.unmet


@pytest.mark.parametrize(("count", "told"), [(18, False), (19, True)])
def test_stack_is_told_from_the_sheet_that_is_too_many_for_a_bedroom(count, told):
    """Of 1.6 psf board 30 / 1.6 = 18.75 sheets make the 30 psf of a bedroom floor, and 40 / 1.6 =
    25 the 40 of another."""
    heavy = replace(CATALOGUE.boards[0], weights=((inches(0.5), Decimal("1.6")),))
    made = House(id="h", name="H", catalogue=replace(CATALOGUE, boards=(heavy,)))
    sheets = [sheet(f"{number}", 12) for number in range(count)]
    told_of = list(stack_notes(made, sheets))
    assert bool(told_of) == told
    if told:
        assert "no more than 18 in one flat stack on the floor of a bedroom" in told_of[0]
        assert "no more than 25 in another room" in told_of[0]
