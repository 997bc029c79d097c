"""What follows where a room does not stay as it was found. Each sum is worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from takeoff.as_found import TakenOut
from takeoff.choices import Action, Found, OldLining, OpeningKind
from takeoff.errors import BadValue
from takeoff.house import Framing, House, Opening, QuickRoom, Room, SurfaceChoice
from takeoff.housefile import read_house, write_house
from takeoff.job import take_off
from takeoff.units import FOOT, INCH, Nm
from tests.takeoff.houses import default_catalogue

WALLS = ("A", "B", "C", "D", "ceiling")
DOOR = Opening(
    id="door",
    name="Old door",
    kind=OpeningKind.DOOR,
    wall="A",
    left=Nm(40 * INCH),
    sill=Nm(0),
    width=Nm(34 * INCH),
    height=Nm(82 * INCH),
)
GONE = TakenOut(
    id="gone",
    name="Pantry wall",
    wall="A",
    at=Nm(5 * FOOT),
    length=Nm(10 * FOOT),
    end="C",
)


def house(*, openings=(), taken_out=(), action=Action.LEAVE, rules=None):
    """A room of 12 by 10 ft, 8 ft high, in old board 1/2 in thick, studs at 16, 32 ... in."""
    room = Room(
        id="k",
        name="Kitchen",
        shape=QuickRoom(length=Nm(12 * FOOT), width=Nm(10 * FOOT)),
        wall_framing=Framing(spacing=Nm(16 * INCH), first=Nm(16 * INCH)),
        openings=openings,
        taken_out=taken_out,
        surfaces=tuple(
            SurfaceChoice(of=wall, action=action, lining=Nm(INCH // 2)) for wall in WALLS
        ),
    )
    made = House(id="h", name="A house", catalogue=default_catalogue(), rooms=(room,))
    return made if rules is None else replace(made, rules=replace(made.rules, **rules))


def framing(job):
    return {need.material: need for need in job.needs if need.phase == "framing"}


def patches(job, wall):
    (room,) = job.rooms
    surface = next(one for one in room.surfaces if one.id == f"k/{wall}")
    return [(patch.width // INCH, patch.height // INCH) for patch in surface.patches]


def test_door_that_is_closed_is_filled_with_studs_and_patched_over():
    """By hand: two plates of 34 in; 34 / 16 = 2.1, so 3 spaces and 4 studs of 82 - 3 in. Nails: 4
    in each plate and 2 into each stud, 4 + 4 + 4 x 2 = 16; 4 toe nails in each stud."""
    job = take_off(house(openings=(replace(DOOR, found=Found.CLOSED),)))

    assert framing(job)["2x4"].lengths == (79 * INCH,) * 4 + (34 * INCH,) * 2
    assert framing(job)["nails-16d"].amount.value == 16
    assert framing(job)["nails-8d"].amount.value == 16
    assert patches(job, "A") == [(34, 82)]
    assert any("On the other side of the wall, give a patch of" in text for text in job.warnings)
    (room,) = job.rooms
    assert not next(one for one in room.surfaces if one.id == "k/A").openings


def test_door_that_is_closed_behind_new_board_needs_no_patch():
    job = take_off(
        house(openings=(replace(DOOR, found=Found.CLOSED),), action=Action.STRIP_AND_BOARD)
    )

    assert patches(job, "A") == []
    assert "2x4" in framing(job)


def test_door_that_is_cut_where_nothing_rests_takes_a_header_and_the_board_off_from_stud_to_stud():
    """By hand: a king of 96 - 3 in on each side, a trimmer of 82 - 1 1/2, a header of 34 + 3. Over
    the header, 82 + 1 1/2 in up, a cripple at each stud of the layout that the door interrupts, 48
    and 64 in: 96 - 1 1/2 - 83 1/2 = 11 in. Beside it a king and a trimmer take 3 in: 40 - 3 = 37,
    so the board comes off from the stud at 32 in; 74 + 3 = 77, up to the one at 80 in."""
    job = take_off(house(openings=(replace(DOOR, found=Found.CUT, nonbearing=True),)))

    inches = [Fraction(length, INCH) for length in framing(job)["2x4"].lengths]
    assert inches == [93, 93, Fraction(161, 2), Fraction(161, 2), 37, 11, 11]
    assert patches(job, "A") == [(8, 96), (6, 96), (34, 14)]


def test_door_cut_into_a_wall_that_may_carry_load_takes_no_header():
    job = take_off(house(openings=(replace(DOOR, found=Found.CUT),)))

    assert "2x4" not in framing(job)
    assert any("an engineer sizes them" in text for text in job.warnings)


def test_wall_taken_out_leaves_strips_on_two_walls_the_ceiling_and_the_floor():
    """By hand: 4 1/2 in by 96 in on both walls, by 120 in on the ceiling; 120 x 4 1/2 in of floor
    are 3 3/4 sq ft."""
    job = take_off(house(taken_out=(GONE,)))
    (room,) = job.rooms
    strips = {
        surface.id: [(patch.width, patch.height) for patch in surface.patches]
        for surface in room.surfaces
        if surface.patches
    }

    wide = 9 * INCH // 2
    assert strips == {
        "k/A": [(wide, 96 * INCH)],
        "k/C": [(wide, 96 * INCH)],
        "k/ceiling": [(wide, 120 * INCH)],
    }
    assert framing(job)["floor-strip"].amount.value == Fraction(15, 4)
    assert not job.supply.unmet


def test_wall_taken_out_counts_as_rubble_on_both_faces():
    """By hand: two faces of 10 by 8 ft, 160 sq ft of plaster at 10 lb (TO-plaster); bags of at most
    50 lb (TO-bag-weight)."""
    job = take_off(
        house(taken_out=(replace(GONE, old_lining=OldLining.PLASTER),), rules={"hand_goods": True})
    )
    bags = next(need for need in job.needs if need.material == "rubble-bag")

    assert bags.amount.value == 160 * 10 // 50


def test_house_file_keeps_what_is_taken_out_cut_and_closed():
    given = house(openings=(replace(DOOR, found=Found.CLOSED),), taken_out=(GONE,))
    read = read_house(write_house(given).encode(), catalogue=default_catalogue())

    assert read.rooms[0].openings == given.rooms[0].openings
    assert read.rooms[0].taken_out == given.rooms[0].taken_out


@pytest.mark.parametrize(
    ("gone", "says"),
    [
        (replace(GONE, wall="Q"), "'Q' is no wall of the room; it has A, B, C, D"),
        (replace(GONE, at=Nm(13 * FOOT)), "enter how far it is from that wall's left end"),
    ],
    ids=["wall", "at"],
)
def test_wall_that_cannot_have_stood_there_is_refused(gone, says):
    with pytest.raises(BadValue, match=says):
        take_off(house(taken_out=(gone,)))


def test_opening_that_stays_is_asked_nothing_of_its_wall():
    with pytest.raises(BadValue, match="leave it out, or set found to 'cut'"):
        replace(DOOR, nonbearing=True)
