"""Holes in each other's place: what counts as one, and which readings are free."""

from dataclasses import replace

import pytest

from takeoff.choices import CutoutKind, MeasuredTo, MeasureTo, OpeningKind, Side, SurfaceKind
from takeoff.geometry.overlaps import free_readings, overlaps
from takeoff.geometry.rooms import house_geometry
from takeoff.house import (
    BehindPartition,
    Cutout,
    Measure,
    Opening,
    Partition,
    PlainSurface,
    Room,
    SurfaceList,
)
from takeoff.units import INCH, SIXTEENTH, SIXTY_FOURTH, Nm

from .rooms import house, inches, quick, shape


def tape(origin, distance, to=MeasureTo.CENTRE) -> Measure:
    return Measure(origin=origin, distance=inches(distance), to=to)


def box(id_, distance, bottom, size=(2, 4), *, surface="A", from_="left", **more) -> Cutout:
    """A box by its near edges, in inches."""
    return Cutout(
        **{"id": id_, "name": id_.capitalize(), "kind": CutoutKind.BOX, "surface": surface}
        | {
            "across": tape(from_, distance, MeasureTo.NEAR),
            "up": tape("floor", bottom, MeasureTo.NEAR),
        }
        | {"width": inches(size[0]), "height": inches(size[1])}
        | more
    )


def light(id_, across, up, width=6, *, surface="A", from_=("left", "floor")) -> Cutout:
    """A round light by its center, in inches."""
    return Cutout(
        id=id_,
        name=id_.capitalize(),
        kind=CutoutKind.ROUND,
        surface=surface,
        across=tape(from_[0], across),
        up=tape(from_[1], up),
        width=inches(width),
    )


def door(at=36, width=30, height=80, **more) -> Opening:
    return Opening(
        **{"id": "door", "name": "Door", "kind": OpeningKind.DOOR, "wall": "A"}
        | {"left": inches(at), "sill": Nm(0), "width": inches(width), "height": inches(height)}
        | more
    )


def pairs(*rooms, partitions=()) -> list[tuple[str, str]]:
    geometry = house_geometry(house(*rooms, partitions=partitions))
    return [
        (overlap.cutout.id, overlap.other.id)
        for placed in geometry.placed
        for overlap in overlaps(placed)
    ]


def test_two_boxes_in_one_spot_overlap():
    assert pairs(quick(cutouts=(box("one", 20, 12), box("two", 20, 12)))) == [("two", "one")]


def test_a_box_in_a_door_overlaps_it_wholly_or_in_part():
    inside, across_its_jamb = box("inside", 40, 40), box("jamb", 35, 40)
    assert pairs(quick(openings=(door(),), cutouts=(inside, across_its_jamb))) == [
        ("inside", "door"),
        ("jamb", "door"),
    ]


def test_boxes_ganged_side_by_side_or_one_on_the_other_do_not_overlap():
    assert (
        pairs(quick(cutouts=(box("one", 20, 12), box("two", 22, 12), box("three", 20, 16)))) == []
    )


def test_boxes_of_one_place_on_two_walls_do_not_overlap():
    assert pairs(quick(cutouts=(box("one", 20, 12), box("two", 20, 12, surface="B")))) == []


def test_holes_measured_from_either_end_are_compared_where_they_are():
    assert pairs(quick(cutouts=(box("one", 20, 12), box("two", 122, 12, from_="right")))) == [
        ("two", "one")
    ]
    assert pairs(quick(cutouts=(box("one", 20, 12), box("two", 120, 12, from_="right")))) == []


def test_round_lights_whose_squares_overlap_may_be_clear_of_each_other():
    # Centers 5 in across and 5 in up are 7.07 in apart: more than the 6 in that two of 6 in need.
    assert pairs(quick(cutouts=(light("one", 20, 20), light("two", 25, 25)))) == []
    assert pairs(quick(cutouts=(light("one", 20, 20), light("two", 24, 24)))) == [("two", "one")]


def test_round_lights_that_touch_on_the_slant_do_not_overlap():
    # 3-4-5: centers exactly 10 in apart, for two of 10 in; 1/64 in nearer, they overlap.
    one, two = light("one", 20, 20, width=10), light("two", 26, 28, width=10)
    assert pairs(quick(cutouts=(one, two))) == []
    nearer = replace(two, across=replace(two.across, distance=Nm(inches(26) - SIXTY_FOURTH)))
    assert pairs(quick(cutouts=(one, nearer))) == [("two", "one")]


def test_round_light_beside_the_corner_of_a_box_is_clear_of_it():
    # The box's corner is 3 in across and 4 in up from the center: a light of 10 in touches it, a
    # larger one cuts it.
    corner = box("box", 23, 24)
    assert pairs(quick(cutouts=(corner, light("light", 20, 20, width=10)))) == []
    assert pairs(quick(cutouts=(corner, light("light", 20, 20, width=10 + 1 / 64)))) == [
        ("light", "box")
    ]


def test_pipe_through_a_box_and_a_light_round_a_box_overlap_it():
    pipe = replace(light("pipe", 21, 14, width=1), kind=CutoutKind.PIPE)
    assert pairs(quick(cutouts=(box("box", 20, 12), pipe))) == [("pipe", "box")]
    assert pairs(quick(cutouts=(box("box", 20, 12), light("light", 21, 14, width=12)))) == [
        ("light", "box")
    ]


def test_lights_on_a_ceiling_are_compared_there():
    on_ceiling = {"surface": "ceiling", "from_": ("B", "C")}
    one, two = light("one", 24, 36, **on_ceiling), light("two", 27, 36, **on_ceiling)
    beside = light("beside", 30, 36, **on_ceiling)
    assert pairs(quick(cutouts=(one, two))) == [("two", "one")]
    assert pairs(quick(cutouts=(one, beside))) == []


def test_things_of_a_plain_list_are_compared_too():
    plain = PlainSurface(
        id="A", name="North wall", kind=SurfaceKind.WALL, width=inches(120), height=inches(96)
    )
    room = Room(
        id="kitchen",
        name="Kitchen",
        shape=SurfaceList(surfaces=(plain,)),
        openings=(door(),),
        cutouts=(box("box", 40, 40),),
    )
    assert pairs(room) == [("box", "door")]
    assert any('"Box" lies in the opening of "Door"' in note.text for note in shape(room).notes)


def closet(*cutouts) -> Room:
    return Room(
        id="closet", name="Closet", shape=BehindPartition(partition="wall"), cutouts=cutouts
    )


def closet_wall(*openings) -> Partition:
    """A partition 120 in long, which cuts the closet off the kitchen's right end."""
    return Partition(
        id="wall",
        name="Closet wall",
        room="kitchen",
        wall="A",
        at=inches(108),
        side=Side.RIGHT,
        openings=openings,
    )


def test_a_box_in_a_partitions_door_is_found_from_either_room():
    wall = closet_wall(door(wall="wall", width=20))
    kitchen = quick(cutouts=(box("seen", 40, 40, surface="wall"),))
    behind = closet(box("own", 74, 40, surface="wall"), box("beside", 40, 40, surface="wall"))
    assert pairs(kitchen, behind, partitions=(wall,)) == [("seen", "door"), ("own", "door")]


def test_boxes_back_to_back_in_a_partition_do_not_overlap():
    behind = closet(
        box("back", 20, 40, surface="wall"), box("same-reading", 98, 40, surface="wall")
    )
    kitchen = quick(cutouts=(box("seen", 98, 40, surface="wall"),))
    assert pairs(kitchen, behind, partitions=(closet_wall(),)) == []


def test_note_says_which_two_and_where_the_tape_finds_them():
    cutouts = (box("one", 20, 12), box("two", 21, 12))
    geometry = shape(quick(cutouts=cutouts, measured_to=MeasuredTo.FINISHED))
    (note,) = (note for note in geometry.notes if note.place == "two")
    assert note.text == (
        'Kitchen, Wall A: "Two" lies in the place of "One", 1\' 9" to 1\' 11" from the left end; '
        "move or remove one of them"
    )


@pytest.mark.parametrize("step", range(-4, 5))
@pytest.mark.parametrize(
    ("kind", "way"),
    [
        (kind, way)
        for kind in ("box beside box", "box beside door", "light beside light", "light beside box")
        for way in ("left of", "right of", "over", "under")
        if (kind, way) != ("box beside door", "under")  # a door stands on the floor
    ],
)
def test_touching_is_the_last_place_that_is_free_a_sixteenth_at_a_time(kind, way, step):
    """`step` sixteenths more than touching are free, none is, and one less is not."""
    gap = step / 16
    size = (6, 6)
    fixed = box("fixed", 60, 40, size) if kind != "light beside light" else light("fixed", 63, 43)
    start, bottom, end, top = 60, 40, 66, 46
    openings = ()
    if kind == "box beside door":
        fixed, openings = None, (door(at=60, width=6, height=46),)
        bottom = 30  # beside the door, at half its height
    place = {
        "left of": (start - 6 - gap, bottom),
        "right of": (end + gap, bottom),
        "over": (start, top + gap),
        "under": (start, bottom - 6 - gap),
    }[way]
    moved = box("moved", *place, size)
    if kind.startswith("light"):
        moved = light("moved", place[0] + 3, place[1] + 3)
    cutouts = (moved,) if fixed is None else (fixed, moved)
    assert bool(pairs(quick(openings=openings, cutouts=cutouts))) is (step < 0)


@pytest.mark.parametrize("width", [INCH + k * SIXTY_FOURTH for k in range(1, 8)])
def test_odd_widths_measured_to_their_centers_still_touch(width):
    """A half of an odd width is no whole nanometre; rounding it must not make an overlap."""
    first = inches(20)
    row = tuple(
        box(
            f"box-{k}",
            0,
            12,
            across=Measure(origin="left", distance=Nm(first + k * width)),
            width=Nm(width),
        )
        for k in range(4)
    )
    assert pairs(quick(cutouts=row)) == []


def placed_on_wall(*cutouts, openings=()):
    (placed,) = house_geometry(house(quick(openings=openings, cutouts=cutouts))).placed
    return placed


def free(placed, id_, at, **more):
    thing = next(cutout for cutout in (*placed.cutouts, *placed.openings) if cutout.id == id_)
    readings = free_readings(
        thing, placed, **{"at": inches(at), "from_right": False, "mark": SIXTEENTH} | more
    )
    return [reading / INCH for reading in readings]


def test_nearest_free_readings_are_those_that_touch_on_either_side():
    assert free(placed_on_wall(box("one", 20, 12), box("two", 21, 12)), "two", 21) == [18, 22]


def test_free_readings_from_the_right_are_as_far_the_other_way():
    placed = placed_on_wall(box("one", 20, 12), box("two", 121, 12, from_="right"))
    assert free(placed, "two", 121, from_right=True) == [120, 124]


def test_free_readings_pass_over_places_that_are_taken_too():
    row = [box(f"box-{k}", 20 + 2 * k, 12) for k in range(5)]
    assert free(placed_on_wall(*row, box("new", 24, 12)), "new", 24) == [18, 30]


def test_free_readings_do_not_leave_the_wall():
    assert free(placed_on_wall(box("one", 0, 12), box("two", 1, 12)), "two", 1) == [2]
    wide = box("wide", 0, 12, size=(143, 4))
    assert free(placed_on_wall(wide, box("two", 70, 12)), "two", 70) == []


def test_free_readings_stand_on_marks_of_the_tape_away_from_the_other():
    odd = box("odd", 20, 12, width=Nm(2 * INCH + SIXTY_FOURTH))
    assert free(placed_on_wall(odd, box("two", 21, 12)), "two", 21) == [18, 22 + 1 / 16]


def test_a_thing_at_another_height_is_not_in_the_way():
    assert free(
        placed_on_wall(box("low", 22, 2), box("one", 20, 12), box("two", 21, 12)), "two", 21
    ) == [18, 22]


def test_free_readings_of_a_door_clear_boxes_and_other_openings():
    window = door(id="window", name="Window", at=71, width=20)
    placed = placed_on_wall(box("box", 40, 40), openings=(door(), window))
    # Right of the box is no room before the window: the next free place is beyond it.
    assert free(placed, "door", 36) == [10, 91]
