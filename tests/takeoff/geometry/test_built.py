"""Soffits, chases, skylight wells and stairs: what they add to a room, and what they take off it.

Each size is worked out by hand from the sizes given, with 1/2 in board on every face.
"""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction

import pytest

from takeoff.built_in import BuiltIn
from takeoff.choices import BuiltKind, CeilingKind, Side
from takeoff.errors import BadValue, HouseFileError
from takeoff.geometry.rooms import house_geometry
from takeoff.house import (
    BehindPartition,
    Ceiling,
    Cutout,
    CutoutKind,
    Framing,
    House,
    Measure,
    Opening,
    OpeningKind,
    Outline,
    Partition,
    QuickRoom,
    Room,
    Wall,
)
from takeoff.housefile import read_house, write_house
from takeoff.job import take_off
from takeoff.units import FOOT, INCH, Nm
from tests.takeoff.houses import default_catalogue

SOFFIT = BuiltIn(
    id="soffit",
    name="Soffit",
    kind=BuiltKind.SOFFIT,
    wall="A",
    width=Nm(12 * FOOT),
    depth=Nm(13 * INCH),
    height=Nm(12 * INCH),
)
CHASE = BuiltIn(
    id="chase",
    name="Chase",
    kind=BuiltKind.CHASE,
    wall="B",
    left=Nm(4 * FOOT),
    width=Nm(16 * INCH),
    depth=Nm(8 * INCH),
)
WELL = BuiltIn(
    id="well",
    name="Skylight",
    kind=BuiltKind.WELL,
    wall="A",
    left=Nm(5 * FOOT),
    width=Nm(22 * INCH),
    away=Nm(4 * FOOT),
    depth=Nm(46 * INCH),
    height=Nm(18 * INCH),
)
STAIRS = BuiltIn(
    id="stairs",
    name="Stairs",
    kind=BuiltKind.STAIRS,
    wall="C",
    left=Nm(2 * FOOT),
    width=Nm(5 * FOOT),
    height=Nm(4 * FOOT),
    climbs=Side.RIGHT,
)


def house(*built, room=None, **changes):
    """A house of one room, 12 by 10 ft and 8 ft high, with these built in."""
    kitchen = Room(
        id="k",
        name="Kitchen",
        shape=QuickRoom(length=Nm(12 * FOOT), width=Nm(10 * FOOT)),
        wall_framing=Framing(spacing=Nm(16 * INCH), first=Nm(16 * INCH)),
        ceiling_framing=Framing(spacing=Nm(16 * INCH), first=Nm(16 * INCH)),
        built=built,
    )
    return House(
        id="h",
        name="A house",
        catalogue=default_catalogue(),
        rooms=(replace(room or kitchen, **changes),),
    )


def surfaces(*built, **changes):
    (room,) = house_geometry(house(*built, **changes)).rooms
    return {surface.id.removeprefix("k/"): surface for surface in room.surfaces}


def outline(surface):
    return [(Fraction(u, INCH), Fraction(v, INCH)) for u, v in surface.outline]


def corners(*built, **changes):
    (room,) = house_geometry(house(*built, **changes)).rooms
    return {
        (corner.first.removeprefix("k/"), corner.second.removeprefix("k/")): (
            corner.inside,
            Fraction(corner.length, INCH),
        )
        for corner in room.corners
    }


def test_soffit_along_a_whole_wall_takes_its_height_off_that_wall_and_its_depth_off_the_ceiling():
    drawn = surfaces(SOFFIT)

    assert outline(drawn["A"]) == [(0, 0), (144, 0), (144, 84), (0, 84)]
    assert outline(drawn["B"]) == [(0, 0), (120, 0), (120, 96), (13, 96), (13, 84), (0, 84)]
    assert outline(drawn["D"]) == [(0, 0), (120, 0), (120, 84), (107, 84), (107, 96), (0, 96)]
    assert outline(drawn["ceiling"]) == [(0, 0), (144, 0), (144, 107), (0, 107)]
    assert outline(drawn["soffit-front"]) == [(0, 0), (144, 0), (144, 12), (0, 12)]
    assert outline(drawn["soffit-under"]) == [(0, 0), (144, 0), (144, 13), (0, 13)]
    assert "soffit-left" not in drawn
    assert "soffit-right" not in drawn


def test_soffit_that_ends_in_the_room_has_two_ends_and_leaves_the_wall_on_either_side():
    drawn = surfaces(replace(SOFFIT, left=Nm(2 * FOOT), width=Nm(6 * FOOT)))

    assert outline(drawn["A"])[2:] == [
        *[(144, 96), (96, 96), (96, 84), (24, 84), (24, 96), (0, 96)],
    ]
    assert outline(drawn["ceiling"]) == [
        *[(0, 0), (24, 0), (24, 13), (96, 13), (96, 0), (144, 0), (144, 120), (0, 120)],
    ]
    for side in ("left", "right"):
        assert outline(drawn[f"soffit-{side}"]) == [(0, 0), (13, 0), (13, 12), (0, 12)]


def test_every_corner_of_a_soffit_is_told_once_and_its_lower_edge_is_beaded():
    told = corners(SOFFIT)

    # Between finished faces: 12 ft less 1/2 in at both ends.
    assert told["soffit-front", "soffit-under"] == (False, 143)
    assert told["soffit-front", "ceiling"] == (True, 143)
    assert told["A", "soffit-under"] == (True, 143)
    # The board of the front goes down over that of the underside: 12 in again.
    assert told["soffit-front", "B"] == told["soffit-front", "D"] == (True, 12)
    # 13 in less 1/2 in at the wall, and 1/2 in of board on the front.
    assert told["B", "soffit-under"] == told["D", "soffit-under"] == (True, 13)
    # The wall above the soffit is gone: 96 - 12 - 1/2 in.
    assert told["A", "B"] == (True, Fraction(167, 2))
    # Four upright corners of the walls; the ceiling on three walls and the front; the underside on
    # three walls; and the front with the underside and two walls.
    assert len(told) == 4 + 4 + 3 + 3


def test_chase_steps_the_walls_the_ceiling_and_the_floor():
    drawn = surfaces(CHASE)
    (room,) = house_geometry(house(CHASE)).rooms

    assert outline(drawn["B"])[2] == (48, 96)
    assert outline(drawn["B-2"])[2] == (56, 96)
    assert outline(drawn["chase-front"])[2] == (16, 96)
    assert outline(drawn["chase-left"])[2] == outline(drawn["chase-right"])[2] == (8, 96)
    assert Fraction(room.floor_area, INCH * INCH) == 144 * 120 - 16 * 8
    told = corners(CHASE)
    assert told["chase-left", "chase-front"] == told["chase-front", "chase-right"]
    assert told["chase-left", "chase-front"] == (False, Fraction(191, 2))
    assert told["chase-front", "ceiling"] == (True, 17)


def test_chase_in_a_corner_has_two_faces():
    drawn = surfaces(replace(CHASE, left=Nm(0)))

    assert [name for name in drawn if name.startswith("chase")] == ["chase-front", "chase-right"]
    assert outline(drawn["A"])[2] == (144 - 8, 96)
    assert outline(drawn["B"])[2] == (120 - 16, 96)


def test_chase_that_ends_at_the_far_corner_is_measured_to_it():
    drawn = surfaces(replace(CHASE, left=Nm(104 * INCH)))

    assert [name for name in drawn if name.startswith("chase")] == ["chase-left", "chase-front"]
    assert outline(drawn["C"])[2] == (144 - 8, 96)


def test_opening_beyond_a_chase_stays_where_it_was_measured():
    window = Opening(
        id="w",
        name="Window",
        kind=OpeningKind.WINDOW,
        wall="B",
        left=Nm(76 * INCH),
        sill=Nm(36 * INCH),
        width=Nm(30 * INCH),
        height=Nm(40 * INCH),
    )

    (placed,) = surfaces(CHASE, openings=(window,))["B-2"].openings

    # The part begins 4 ft and 16 in along the wall: 76 - 64 in.
    assert placed.left == 12 * INCH


def test_skylight_well_is_a_hole_in_the_ceiling_with_four_faces():
    drawn = surfaces(replace(WELL, far_height=Nm(30 * INCH)))

    (hole,) = drawn["ceiling"].openings
    assert (hole.left, hole.bottom) == (60 * INCH, 48 * INCH)
    assert (hole.right, hole.top) == (82 * INCH, 94 * INCH)
    assert outline(drawn["well-near"]) == [(0, 0), (22, 0), (22, 18), (0, 18)]
    assert outline(drawn["well-far"]) == [(0, 0), (22, 0), (22, 30), (0, 30)]
    # One faces the right side with the near side at one's left.
    assert outline(drawn["well-right"]) == [(0, 0), (46, 0), (46, 30), (0, 18)]
    assert outline(drawn["well-left"]) == [(0, 0), (46, 0), (46, 18), (0, 30)]


def test_well_keeps_its_place_where_a_soffit_shortens_the_ceiling():
    (hole,) = surfaces(SOFFIT, WELL)["ceiling"].openings

    assert (hole.bottom, hole.top) == (35 * INCH, 81 * INCH)


def test_wall_along_stairs_ends_at_them_and_at_the_floor_above():
    assert outline(surfaces(STAIRS)["C"]) == [
        *[(0, 0), (24, 0), (84, 48), (144, 48), (144, 96), (0, 96)],
    ]
    climbs_left = replace(STAIRS, climbs=Side.LEFT)
    assert outline(surfaces(climbs_left)["C"]) == [
        *[(84, 0), (144, 0), (144, 96), (0, 96), (0, 48), (24, 48)],
    ]


def test_wall_that_stands_on_the_upper_floor_alone_is_given_by_stairs_of_no_width():
    upper = replace(STAIRS, left=Nm(0), width=Nm(0))

    assert outline(surfaces(upper)["C"]) == [(0, 48), (144, 48), (144, 96), (0, 96)]


@pytest.mark.parametrize("built", [SOFFIT, CHASE, WELL, STAIRS], ids=lambda one: one.id)
def test_every_face_of_it_is_boarded_and_all_is_on_sale(built):
    job = take_off(house(built))

    planned = {surface.surface for plan in job.plans for surface in plan.surfaces}
    assert planned == {surface.id for room in job.rooms for surface in room.surfaces}
    assert not job.refused
    assert not job.supply.unmet


def test_soffit_is_framed_as_a_ladder_with_a_ledger():
    """By hand: 144 / 16 = 9 spaces, so 10 rungs of 12 - 3 in and 10 pieces of 13 - 3 in; a ledger
    and two rails of 12 ft. Nails: 4 for each of 20 pieces, and along two of 12 ft every 16 in, 10
    each."""
    job = take_off(house(SOFFIT))
    framing = {need.material: need for need in job.needs if need.phase == "framing"}
    sticks = [length for length in framing["2x4"].lengths if length != 143 * INCH]

    counted = [144 * INCH] * 3 + [10 * INCH] * 10 + [9 * INCH] * 10
    reasons = [reason for reason in framing["2x4"].reasons if reason.text.startswith("Soffit")]
    assert sorted(counted, reverse=True) == [length for length in sticks if length in counted]
    assert sum(reason.amount.value for reason in reasons) == Fraction(sum(counted), FOOT)
    nails = [r for r in framing["nails-16d"].reasons if r.text.startswith("Soffit")]
    assert sum(reason.amount.value for reason in nails) == 4 * 20 + 2 * 10


def test_chase_is_framed_as_a_small_partition():
    """By hand: its front has two plates of 16 in, and 16 / 16 + 1 = 2 studs; each side two plates
    of 8 - 3 1/2 in, and one stud at the wall: 4 studs of 96 - 3 in."""
    job = take_off(house(CHASE))
    lumber = next(n for n in job.needs if n.phase == "framing" and n.material == "2x4")
    reasons = [reason for reason in lumber.reasons if reason.text.startswith("Chase")]

    assert (
        sum(reason.amount.value for reason in reasons) == Fraction(2 * 16 + 4 * 4.5 + 4 * 93) / 12
    )


def test_skylight_frame_takes_a_trim_and_the_edge_at_the_ceiling_a_bead():
    job = take_off(house(WELL))
    taping = {n.material: n.amount.value for n in job.needs if n.phase == "taping"}

    assert taping["l-trim"] == Fraction(2 * (22 + 46), 12)
    # Round the hole between finished faces: each side 1 in less.
    assert taping["corner-bead"] == Fraction(2 * (21 + 45), 12)


def test_light_under_a_soffit_is_placed_from_the_wall():
    light = Cutout(
        id="light",
        name="Light",
        kind=CutoutKind.ROUND,
        surface="soffit-under",
        across=Measure(origin="left", distance=Nm(2 * FOOT)),
        up=Measure(origin="floor", distance=Nm(6 * INCH)),
        width=Nm(4 * INCH),
    )

    (placed,) = surfaces(SOFFIT, cutouts=(light,))["soffit-under"].cutouts

    assert (placed.left, placed.bottom) == (22 * INCH, 4 * INCH)


def test_faces_are_lettered_after_the_walls_and_keep_their_letters_in_a_house_file():
    given = house(SOFFIT, CHASE)
    marks = {one.id: one.mark for room in house_geometry(given).rooms for one in room.surfaces}
    read = read_house(write_house(given).encode(), catalogue=default_catalogue())

    assert marks["k/soffit-front"] == "K-E"
    assert marks["k/soffit-under"] == "K-EB"
    assert marks["k/chase-front"] == "K-F"
    assert read.rooms[0].built == given.rooms[0].built


def test_house_file_names_the_faces_and_leaves_ids_out():
    written = json.loads(write_house(house(SOFFIT, CHASE)))
    (room,) = written["rooms"]
    del room["built"][0]["id"]
    room["surfaces"] = [{"of": "k-soffit-front", "wet": True}, {"of": "B-2", "wet": True}]

    read = read_house(json.dumps(written).encode(), catalogue=default_catalogue())

    assert read.rooms[0].built[0].id == "k-soffit"
    assert [choice.of for choice in read.rooms[0].surfaces] == ["k-soffit-front", "B-2"]
    room["built"][0]["wall"] = "Z"
    with pytest.raises(HouseFileError, match="There is no wall 'Z'; there are A, B, C, D"):
        read_house(json.dumps(written).encode(), catalogue=default_catalogue())


def test_chase_stands_in_a_room_that_a_partition_makes():
    made = Room(id="b", name="Bath", shape=BehindPartition(partition="p"))
    partition = Partition(
        id="p", name="Partition", room="k", wall="A", at=Nm(5 * FOOT), side=Side.RIGHT
    )
    whole = house(replace(CHASE, wall="B"))
    divided = replace(whole, rooms=(*whole.rooms, made), partitions=(partition,))

    _, bath = house_geometry(divided).rooms

    assert "b/chase-front" in {surface.id for surface in bath.surfaces}


@pytest.mark.parametrize(
    ("built", "says"),
    [
        (replace(SOFFIT, wall="Q"), "'Q' is no wall of the room; it has A, B, C, D"),
        (replace(SOFFIT, left=Nm(FOOT)), "no such stretch free of that wall; enter another left"),
        (replace(SOFFIT, height=Nm(9 * FOOT)), "make its height less, or give it as a chase"),
        (replace(CHASE, depth=Nm(13 * FOOT)), "reach into another wall; make its depth less"),
        (replace(WELL, away=Nm(8 * FOOT)), "check away, depth and width"),
        (replace(STAIRS, height=Nm(9 * FOOT)), "measure the ceiling of a stairwell from the floor"),
    ],
    ids=["wall", "stretch", "soffit", "chase", "well", "stairs"],
)
def test_what_has_no_place_is_refused_with_what_to_enter(built, says):
    with pytest.raises(BadValue, match=says):
        house_geometry(house(built))


def test_soffit_under_a_slope_is_refused_with_what_to_give_instead():
    slope = Ceiling(kind=CeilingKind.SLOPE, height=Nm(6 * FOOT), low_wall="A", high=Nm(9 * FOOT))
    with pytest.raises(BadValue, match="a soffit hangs from a flat ceiling; under a slope, list"):
        house_geometry(house(SOFFIT, ceiling=slope))


def test_light_that_a_soffit_would_cover_is_refused():
    light = Cutout(
        id="light",
        name="Light",
        kind=CutoutKind.ROUND,
        surface="ceiling",
        across=Measure(origin="D", distance=Nm(3 * FOOT)),
        up=Measure(origin="A", distance=Nm(6 * INCH)),
        width=Nm(4 * INCH),
    )
    with pytest.raises(BadValue, match="a partition or Soffit would stand on it; move that"):
        house_geometry(house(SOFFIT, cutouts=(light,)))


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"kind": BuiltKind.SOFFIT, "depth": Nm(INCH)}, "needs its height: how far it comes down"),
        ({"kind": BuiltKind.CHASE, "height": Nm(INCH), "depth": Nm(INCH)}, "chase has no height"),
        ({"kind": BuiltKind.STAIRS, "height": Nm(INCH)}, "the way they climb, left or right"),
    ],
    ids=["soffit", "chase", "stairs"],
)
def test_measure_that_is_missing_or_of_another_kind_is_refused(fields, says):
    with pytest.raises(BadValue, match=says):
        BuiltIn(id="x", name="It", wall="A", width=Nm(FOOT), **fields)


def test_walls_that_close_only_nearly_square_take_a_chase_and_a_soffit():
    sides = (("A", 1441), ("B", 1200), ("C", 1440), ("D", 1200))
    walls = tuple(
        Wall(id=name, name=f"Wall {name}", length=Nm(tenths * INCH // 10)) for name, tenths in sides
    )
    room = Room(id="k", name="Kitchen", shape=Outline(walls=walls))

    drawn = surfaces(
        room=room, built=(CHASE, replace(SOFFIT, left=Nm(2 * FOOT), width=Nm(6 * FOOT)))
    )

    assert {"chase-front", "soffit-front"} <= drawn.keys()
