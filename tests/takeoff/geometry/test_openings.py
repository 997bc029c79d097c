"""Openings, boxes and hidden things, placed as one measures."""

from dataclasses import replace

import pytest

from takeoff.choices import (
    CeilingKind,
    CutoutKind,
    HiddenKind,
    MeasuredTo,
    MeasureTo,
    OpeningGiven,
    OpeningKind,
    SurfaceKind,
)
from takeoff.errors import BadValue
from takeoff.geometry.rooms import room_shapes
from takeoff.house import (
    Ceiling,
    Cutout,
    HiddenItem,
    Measure,
    Opening,
    PlainSurface,
    Room,
    SurfaceList,
)
from takeoff.units import INCH, UnitSystem

from .rooms import house, inches, outline, quick, rectangle, shape, surface


def window(at=36, sill=36, width=30, height=40, **more) -> Opening:
    return Opening(
        **{"id": "win", "name": "Window", "kind": OpeningKind.WINDOW, "wall": "A"}
        | {
            "left": inches(at),
            "sill": inches(sill),
            "width": inches(width),
            "height": inches(height),
        }
        | more
    )


def box(across, up, surface="A", size=(2, 4), **more) -> Cutout:
    return Cutout(
        **{"id": "box", "name": "Box", "kind": CutoutKind.BOX, "surface": surface}
        | {"across": across, "up": up, "width": inches(size[0]), "height": inches(size[1])}
        | more
    )


def light(across, up, surface="ceiling") -> Cutout:
    return Cutout(
        id="light",
        name="Light",
        kind=CutoutKind.ROUND,
        surface=surface,
        across=across,
        up=up,
        width=inches(6),
    )


def tape(origin, distance, to=MeasureTo.CENTRE) -> Measure:
    return Measure(origin=origin, distance=inches(distance), to=to)


def place(thing) -> list[tuple[float, float]]:
    return rectangle(*(edge / INCH for edge in (thing.left, thing.bottom, thing.right, thing.top)))


def test_opening_is_placed_from_the_left_end_and_the_floor():
    (placed,) = surface(shape(quick(openings=(window(),))), "A").openings
    assert place(placed) == rectangle(36, 36, 66, 76)


def test_allowance_of_a_window_lies_half_on_every_side_of_it():
    (placed,) = surface(shape(quick(openings=(window(given=OpeningGiven.UNIT),))), "A").openings
    assert place(placed) == rectangle(35, 35, 67, 77)


def test_allowance_of_a_door_lies_half_on_either_side_and_all_above():
    door = window(kind=OpeningKind.DOOR, sill=0, height=80, given=OpeningGiven.UNIT)
    (placed,) = surface(shape(quick(openings=(door,))), "A").openings
    assert place(placed) == rectangle(35, 0, 67, 82)


@pytest.mark.parametrize("place_of", [{"at": 115}, {"sill": 57}, {"width": 150}])
def test_opening_off_its_wall_is_refused_with_the_limits(place_of):
    with pytest.raises(BadValue, match=r"Wall A, Window: .*0\" to 12' 0\".*0\" to 8' 0\""):
        shape(quick(openings=(window(**place_of),)))


def test_opening_through_a_raked_top_is_refused():
    gable = Ceiling(kind=CeilingKind.GABLE, height=inches(60), high=inches(120), low_wall="A")
    high = window(at=50, sill=60, width=20, wall="B")
    shape(quick(ceiling=gable, openings=(high,)))
    with pytest.raises(BadValue, match="under its slope"):
        shape(quick(ceiling=gable, openings=(window(at=5, sill=60, width=20, wall="B"),)))


def test_overlapping_openings_are_refused_and_touching_ones_are_not():
    shape(quick(openings=(window(), window(at=66, id="other", name="Other"))))
    both = (window(), window(at=65, id="other", name="Other"))
    with pytest.raises(
        BadValue, match=r"Kitchen, Wall A: Other \(from 5' 5\" to .*\) and Window \(from .* overlap"
    ):
        shape(quick(openings=both))
    with pytest.raises(BadValue, match=r"Other \(from 1651 mm to"):
        room_shapes(replace(house(quick(openings=both)), units=UnitSystem.MILLIMETRE))


def test_everything_wrong_in_every_room_is_said_at_once():
    wide = window(width=200)
    kitchen = quick(openings=(wide, window(wall="Q", id="q", name="Hatch")))
    open_room = replace(
        outline(("A", 144), ("B", 120), ("C", 100), ("D", 120)), id="den", name="Den"
    )
    with pytest.raises(BadValue) as caught:
        room_shapes(house(kitchen, open_room))
    first, second, third = str(caught.value).splitlines()
    assert first.startswith("Kitchen, Wall A, Window:")
    assert second.startswith("Kitchen, Hatch: 'Q' is no wall")
    assert third.startswith("Den does not close")


def test_opening_in_an_unknown_wall_is_refused():
    with pytest.raises(BadValue, match="'Q' is no wall of the room; it has A, B, C, D"):
        shape(quick(openings=(window(wall="Q"),)))


@pytest.mark.parametrize(
    ("across", "up", "expected"),
    [
        (tape("left", 20), tape("floor", 16), rectangle(19, 14, 21, 18)),
        (
            tape("left", 20, MeasureTo.NEAR),
            tape("floor", 16, MeasureTo.NEAR),
            rectangle(20, 16, 22, 20),
        ),
        (
            tape("left", 20, MeasureTo.FAR),
            tape("floor", 16, MeasureTo.FAR),
            rectangle(18, 12, 20, 16),
        ),
        (tape("right", 20), tape("ceiling", 16), rectangle(123, 78, 125, 82)),
        (
            tape("right", 20, MeasureTo.NEAR),
            tape("ceiling", 16, MeasureTo.NEAR),
            rectangle(122, 76, 124, 80),
        ),
        (
            tape("right", 20, MeasureTo.FAR),
            tape("ceiling", 16, MeasureTo.FAR),
            rectangle(124, 80, 126, 84),
        ),
    ],
)
def test_box_is_placed_from_either_side_and_to_any_part(across, up, expected):
    (placed,) = surface(shape(quick(cutouts=(box(across, up),))), "A").cutouts
    assert place(placed) == expected


def test_readings_start_at_the_old_finished_faces_where_those_were_measured():
    things = (
        box(tape("left", 20), tape("floor", 16)),
        box(tape("right", 20), tape("ceiling", 16), id="b", name="B"),
    )
    first, second = surface(
        shape(quick(cutouts=things, measured_to=MeasuredTo.FINISHED)), "A"
    ).cutouts
    assert place(first) == rectangle(19.5, 14, 21.5, 18)
    # the ceiling it was measured from was 96 up
    assert place(second) == rectangle(123.5, 78, 125.5, 82)


def test_reading_from_a_sloped_ceiling_goes_plumb_from_over_the_box():
    slope = Ceiling(kind=CeilingKind.SLOPE, height=inches(84), high=inches(114), low_wall="A")
    (placed,) = surface(
        shape(
            quick(ceiling=slope, cutouts=(box(tape("left", 40), tape("ceiling", 10), surface="B"),))
        ),
        "B",
    ).cutouts
    assert place(placed) == rectangle(39, 82, 41, 86)  # 94 up over 40 in


def test_box_off_its_surface_is_refused_with_the_place():
    with pytest.raises(BadValue, match="Kitchen, Wall A, Box: it would reach from 11' 11\" to"):
        shape(quick(cutouts=(box(tape("right", 0), tape("floor", 16)),)))


def test_wall_reading_from_a_wall_is_refused():
    with pytest.raises(BadValue, match="measure across from 'left' or 'right'"):
        shape(quick(cutouts=(box(tape("B", 20), tape("floor", 16)),)))


def test_light_is_placed_square_to_two_walls():
    (placed,) = surface(
        shape(quick(cutouts=(light(tape("B", 24), tape("C", 36)),))), "ceiling"
    ).cutouts
    assert place(placed) == rectangle(117, 81, 123, 87)


def test_light_measured_from_parallel_walls_is_refused():
    with pytest.raises(BadValue, match="are parallel"):
        shape(quick(cutouts=(light(tape("A", 24), tape("C", 36)),)))


def test_light_measured_from_no_wall_is_refused():
    with pytest.raises(BadValue, match="'floor' is no wall"):
        shape(quick(cutouts=(light(tape("A", 24), tape("floor", 36)),)))


def test_light_under_a_gable_is_on_the_slope_that_meets_its_wall_and_measured_along_it():
    # 45 in 60
    gable = Ceiling(kind=CeilingKind.GABLE, height=inches(96), high=inches(141), low_wall="A")
    geometry = shape(quick(144, 120, ceiling=gable, cutouts=(light(tape("B", 24), tape("C", 36)),)))
    (placed,) = surface(geometry, "ceiling-far").cutouts
    assert place(placed) == rectangle(21, 33, 27, 39)


def test_light_that_could_be_on_either_slope_must_say_which():
    gable = Ceiling(kind=CeilingKind.GABLE, height=inches(96), high=inches(141), low_wall="B")
    with pytest.raises(BadValue, match="say which slope"):
        shape(quick(144, 120, ceiling=gable, cutouts=(light(tape("A", 24), tape("C", 36)),)))


def test_box_in_the_place_of_a_window_is_noted():
    geometry = shape(
        quick(openings=(window(),), cutouts=(box(tape("left", 40), tape("floor", 40)),))
    )
    (note,) = geometry.notes
    assert (note.place, '"Box" lies in the opening of "Window"' in note.text) == ("box", True)


def test_duct_behind_a_box_is_noted_and_a_cable_is_not():
    def hidden(kind):
        return HiddenItem(
            id="run",
            name="Run",
            kind=kind,
            surface="A",
            across=tape("left", 40),
            up=tape("floor", 40),
            width=inches(4),
            height=inches(60),
        )

    boxes = (box(tape("left", 40), tape("floor", 40)),)
    assert len(shape(quick(cutouts=boxes, hidden=(hidden(HiddenKind.DUCT),))).notes) == 1
    assert shape(quick(cutouts=boxes, hidden=(hidden(HiddenKind.CABLE),))).notes == ()


def test_things_of_a_plain_list_stand_on_its_rectangles():
    plain = PlainSurface(
        id="A", name="North wall", kind=SurfaceKind.WALL, width=inches(120), height=inches(96)
    )
    room = Room(
        id="kitchen",
        name="Kitchen",
        shape=SurfaceList(surfaces=(plain,)),
        openings=(window(),),
        cutouts=(box(tape("right", 20), tape("ceiling", 20)),),
    )
    wall = surface(shape(room), "A")
    assert place(wall.openings[0]) == rectangle(36, 36, 66, 76)
    assert place(wall.cutouts[0]) == rectangle(99, 74, 101, 78)
