"""Slopes and gables: true shapes of walls and ceiling planes."""

from math import hypot

import pytest

from takeoff.choices import CeilingKind, MeasuredTo
from takeoff.errors import BadValue
from takeoff.geometry.polygon import area2
from takeoff.geometry.surface import EdgeKind
from takeoff.house import Ceiling, SurfaceChoice
from takeoff.units import INCH, Nm

from .rooms import L_WALLS, corners, in_inches, inches, outline, quick, shape, surface

GABLE = Ceiling(kind=CeilingKind.GABLE, height=inches(96), high=inches(132), low_wall="A")
# 45 in 60: a 3-4-5 roof
SLOPE = Ceiling(kind=CeilingKind.SLOPE, height=inches(84), high=inches(129), low_wall="A")


def test_gable_end_wall_has_a_corner_under_the_ridge():
    end = surface(shape(quick(240, 192, ceiling=GABLE)), "B")
    assert in_inches(end.outline) == [(0, 0), (192, 0), (192, 96), (96, 132), (0, 96)]
    assert [edge.neighbour for edge in end.edges] == [
        None,
        "kitchen/C",
        "kitchen/ceiling-far",
        "kitchen/ceiling-near",
        "kitchen/A",
    ]
    assert end.sloped


def test_gable_planes_have_their_true_length_up_the_slope():
    geometry = shape(quick(240, 192, ceiling=GABLE))
    for plane in ("ceiling-near", "ceiling-far"):
        *_, top = in_inches(surface(geometry, plane).outline)
        assert top[1] == pytest.approx(hypot(96, 36), abs=0.001)


def test_near_plane_has_the_low_wall_at_the_bottom_and_the_ridge_at_the_top():
    near = surface(shape(quick(240, 192, ceiling=GABLE)), "ceiling-near")
    assert [(edge.kind, edge.neighbour) for edge in near.edges] == [
        (EdgeKind.WALL, "kitchen/A"),
        (EdgeKind.WALL, "kitchen/B"),
        (EdgeKind.RIDGE, "kitchen/ceiling-far"),
        (EdgeKind.WALL, "kitchen/D"),
    ]


def test_far_plane_is_seen_from_below_with_its_own_eave_at_the_bottom():
    far = surface(shape(quick(240, 192, ceiling=GABLE)), "ceiling-far")
    assert [edge.neighbour for edge in far.edges] == [
        "kitchen/C",
        "kitchen/D",
        "kitchen/ceiling-near",
        "kitchen/B",
    ]


def test_ridge_is_told_as_one_corner():
    lengths = corners(shape(quick(240, 192, ceiling=GABLE)))
    assert lengths["kitchen/ceiling-far", "kitchen/ceiling-near"] == 239


def test_ridge_off_the_middle_with_a_lower_far_eave():
    ceiling = Ceiling(
        kind=CeilingKind.GABLE,
        height=inches(96),
        high=inches(132),
        low_wall="B",
        ridge_at=inches(60),
        far_height=inches(84),
    )
    end = surface(shape(quick(240, 192, ceiling=ceiling)), "A")
    assert in_inches(end.outline) == [(0, 0), (240, 0), (240, 96), (180, 132), (0, 84)]


def test_three_four_five_slope_is_exact():
    geometry = shape(quick(100, 60, ceiling=SLOPE))
    assert surface(geometry, "ceiling").outline[2] == (inches(100), inches(75))
    assert in_inches(surface(geometry, "C").outline)[2] == (100, 129)
    assert in_inches(surface(geometry, "D").outline) == [(0, 0), (60, 0), (60, 84), (0, 129)]


def test_boards_under_a_slope_stay_square_to_its_thickness():
    geometry = shape(quick(100, 60, ceiling=SLOPE), fitting=Nm(0), floor_gap=Nm(0))
    # Level top of the low wall: 1/2 in square to a 3-4-5 slope is 5/8 in plumb.
    assert in_inches(surface(geometry, "A").board_area)[2] == (100, 83.375)
    # High wall: the board's face, 1/2 in into the room, meets the ceiling another 3/8 in lower.
    assert in_inches(surface(geometry, "C").board_area)[2] == (100, 128)
    # Raked top of an end wall: parallel to the slope, so 5/8 in plumb along all of it, less the lap
    # at both ends.
    left_top = in_inches(surface(geometry, "D").board_area)[3]
    assert left_top == (0.5, 129 - 0.625 - 0.375)


def test_later_plane_stops_at_the_face_of_the_first_at_the_ridge():
    geometry = shape(quick(240, 192, ceiling=GABLE), fitting=Nm(0))
    near, far = surface(geometry, "ceiling-near"), surface(geometry, "ceiling-far")
    assert near.board_area[2][1] == near.outline[2][1]
    lost = (far.outline[2][1] - far.board_area[2][1]) / INCH
    sine = 2 * 36 * 96 / (36**2 + 96**2)  # of twice the slope's angle
    assert lost == pytest.approx(0.5 / sine, abs=1e-6)


def test_l_shaped_room_under_a_gable_keeps_its_floor_area_under_both_planes():
    geometry = shape(outline(*L_WALLS, ceiling=GABLE))
    planes = [surface for surface in geometry.surfaces if surface.id.startswith("kitchen/ceiling")]
    flat = sum(area2(plane.outline) for plane in planes) / 2 * 60 / hypot(60, 36)
    assert flat == pytest.approx(geometry.floor_area, rel=1e-8)


def test_ridge_in_line_with_a_wall_splits_the_side_between_them():
    near = surface(shape(outline(*L_WALLS, ceiling=GABLE)), "ceiling-near")
    assert [edge.neighbour for edge in near.edges] == [
        "kitchen/A",
        "kitchen/B",
        "kitchen/C",
        "kitchen/ceiling-far",
        "kitchen/F",
    ]


def test_u_shaped_room_under_a_gable_has_two_parts_of_a_plane():
    walls = (
        ("A", 240),
        ("B", 192),
        ("C", 80),
        ("D", 110, -90),
        ("E", 80, -90),
        ("F", 110),
        ("G", 80),
        ("H", 192),
    )
    geometry = shape(outline(*walls, ceiling=GABLE))
    assert [surface.id for surface in geometry.surfaces[8:]] == [
        "kitchen/ceiling-near",
        "kitchen/ceiling-far",
        "kitchen/ceiling-far-2",
    ]


def test_one_part_of_a_plane_may_be_chosen_for_by_itself():
    walls = (
        ("A", 240),
        ("B", 192),
        ("C", 80),
        ("D", 110, -90),
        ("E", 80, -90),
        ("F", 110),
        ("G", 80),
        ("H", 192),
    )
    own = SurfaceChoice(of="ceiling-far-2", insulated=True)
    geometry = shape(outline(*walls, ceiling=GABLE, surfaces=(own,)))
    assert [surface.insulated for surface in geometry.surfaces[8:]] == [False, False, True]


def test_slanted_low_wall_works_to_a_nanometre():
    walls = (("A", 100), ("B", 100, 45), ("C", 70.710678, 45), ("D", 50), ("E", 150))
    ceiling = Ceiling(kind=CeilingKind.SLOPE, height=inches(90), high=inches(120), low_wall="C")
    geometry = shape(outline(*walls, ceiling=ceiling))
    low = in_inches(surface(geometry, "C").outline)
    assert (low[2][1], low[3][1]) == (90, 90)
    assert max(v for surface in geometry.surfaces[:5] for _, v in surface.outline) == inches(120)


def test_sloped_ceiling_measured_to_finish_is_higher_by_its_lining_square_to_it():
    geometry = shape(quick(100, 60, ceiling=SLOPE, measured_to=MeasuredTo.FINISHED))
    # The framing corner is 1/2 in lower down the slope (3/8 in) than where the tape stood, and 5/8
    # in above its plane.
    assert in_inches(surface(geometry, "A").outline)[2] == (101, 84 + 0.625 - 0.375)


@pytest.mark.parametrize(
    ("ceiling", "message"),
    [
        (Ceiling(kind=CeilingKind.SLOPE, high=inches(130), low_wall="Z"), "is no wall of the room"),
        (
            Ceiling(kind=CeilingKind.GABLE, high=inches(130), low_wall="A", ridge_at=inches(120)),
            "ridge_at must be less",
        ),
    ],
)
def test_ceiling_that_cannot_stand_on_the_room_is_refused(ceiling, message):
    with pytest.raises(BadValue, match=message):
        shape(quick(144, 120, ceiling=ceiling))


def test_slope_that_comes_down_to_the_floor_behind_its_low_wall_is_refused():
    ceiling = Ceiling(kind=CeilingKind.SLOPE, height=inches(40), high=inches(100), low_wall="C")
    with pytest.raises(BadValue, match="comes down to the floor"):
        shape(outline(*L_WALLS, ceiling=ceiling))
