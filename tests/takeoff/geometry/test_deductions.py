"""From the framing face to the size to board."""

import pytest

from takeoff.choices import Action, MeasuredTo, SurfaceKind
from takeoff.house import PlainSurface, Room, SurfaceChoice, SurfaceList
from takeoff.rules import BoardChoice
from takeoff.units import Nm

from .rooms import L_WALLS, corners, in_inches, inches, outline, quick, rectangle, shape, surface


def test_ceiling_goes_first_and_loses_the_fitting_only():
    geometry = shape(quick())
    assert in_inches(surface(geometry, "ceiling").board_area) == rectangle(
        0.125, 0.125, 143.875, 119.875
    )
    assert geometry.hang_order[0] == "kitchen/ceiling"


def test_longest_walls_are_hung_first_and_lap():
    geometry = shape(quick())
    assert geometry.hang_order[1:] == ("kitchen/A", "kitchen/C", "kitchen/B", "kitchen/D")
    assert in_inches(surface(geometry, "A").board_area) == rectangle(0.125, 0.5, 143.875, 95.5)
    assert in_inches(surface(geometry, "B").board_area) == rectangle(0.625, 0.5, 119.375, 95.5)


def test_walls_named_to_hang_first_come_before_longer_ones():
    geometry = shape(quick(hang_first=("D",)))
    assert geometry.hang_order[1:] == ("kitchen/D", "kitchen/A", "kitchen/C", "kitchen/B")
    assert in_inches(surface(geometry, "D").board_area) == rectangle(0.125, 0.5, 119.875, 95.5)
    assert in_inches(surface(geometry, "A").board_area) == rectangle(0.625, 0.5, 143.875, 95.5)


def test_nothing_comes_off_where_every_allowance_is_zero():
    geometry = shape(quick(), thickness_deduction=False, floor_gap=Nm(0), fitting=Nm(0))
    assert all(surface.board_area == surface.outline for surface in geometry.surfaces)


def test_without_thickness_only_gap_and_fitting_come_off():
    geometry = shape(quick(), thickness_deduction=False)
    assert in_inches(surface(geometry, "B").board_area) == rectangle(0.125, 0.5, 119.875, 96)
    assert corners(geometry)["kitchen/A", "kitchen/ceiling"] == 144


def test_left_surface_gets_no_board_but_its_lining_counts():
    wall_a = SurfaceChoice(of="A", action=Action.LEAVE, lining=inches(0.75))
    geometry = shape(quick(surfaces=(wall_a,)))
    assert surface(geometry, "A").board_area == ()
    assert in_inches(surface(geometry, "B").board_area) == rectangle(0.875, 0.5, 119.375, 95.5)
    assert in_inches(surface(geometry, "ceiling").board_area) == rectangle(
        0.125, 0.875, 143.875, 119.875
    )


def test_board_over_counts_the_old_lining_and_the_new_board():
    over = SurfaceChoice(of="A", action=Action.BOARD_OVER, lining=inches(0.75))
    geometry = shape(quick(surfaces=(over,)))
    # A is hung before B and D: B ends at A's lining and its new board.
    assert in_inches(surface(geometry, "B").board_area) == rectangle(1.375, 0.5, 119.375, 95.5)
    assert in_inches(surface(geometry, "ceiling").board_area) == rectangle(
        0.125, 0.875, 143.875, 119.875
    )


def test_stripped_lining_does_not_count():
    geometry = shape(
        quick(surfaces=(SurfaceChoice(of="A", action=Action.STRIP_AND_BOARD, lining=inches(1)),))
    )
    assert in_inches(surface(geometry, "B").board_area) == rectangle(0.625, 0.5, 119.375, 95.5)


def test_thick_ceiling_board_comes_off_the_walls():
    geometry = shape(quick(ceiling_board=BoardChoice(kind="regular", thickness=inches(0.625))))
    assert in_inches(surface(geometry, "A").board_area)[2] == (143.875, 95.375)


def test_later_wall_runs_past_an_outside_corner_and_the_first_is_flush():
    geometry = shape(outline(*L_WALLS))
    assert in_inches(surface(geometry, "D").board_area) == rectangle(0, 0.5, 59.375, 95.5)
    assert in_inches(surface(geometry, "C").board_area) == rectangle(0.625, 0.5, 48.5, 95.5)


def test_slanted_inside_corner_keeps_board_ends_clear_of_the_neighbours_face():
    geometry = shape(
        outline(("A", 100), ("B", 100, 45), ("C", 70.710678, 45), ("D", 50), ("E", 150))
    )
    # Half an inch square to a wall at 135 degrees is 1/2 over the sine of 45 along its neighbour.
    assert surface(geometry, "C").board_area[0][0] == pytest.approx(
        inches(0.5 / 0.5**0.5 + 0.125), abs=2
    )


def test_room_that_is_finished_is_left_as_it_is():
    geometry = shape(quick(finished=True))
    assert {surface.action for surface in geometry.surfaces} == {Action.LEAVE}
    assert geometry.corners == ()
    assert geometry.notes == ()


def test_corners_are_told_once_with_their_finished_lengths():
    lengths = corners(shape(quick()))
    assert len(lengths) == 8
    assert lengths["kitchen/A", "kitchen/B"] == 95.5
    assert lengths["kitchen/A", "kitchen/ceiling"] == 143
    assert lengths["kitchen/D", "kitchen/A"] == 95.5


def test_outside_corner_is_told_as_one():
    outside = [corner for corner in shape(outline(*L_WALLS)).corners if not corner.inside]
    assert [(corner.first, corner.second) for corner in outside] == [("kitchen/C", "kitchen/D")]


def test_corner_between_left_surfaces_is_not_told():
    kept_walls = tuple(SurfaceChoice(of=wall, action=Action.LEAVE) for wall in "AB")
    lengths = corners(shape(quick(surfaces=kept_walls)))
    assert ("kitchen/A", "kitchen/B") not in lengths
    assert ("kitchen/B", "kitchen/C") in lengths


def test_closet_too_small_to_board_says_so():
    geometry = shape(quick(144, 1))
    assert surface(geometry, "B").board_area == ()
    assert any(note.text.startswith("Wall B is too small to board") for note in geometry.notes)


def test_finished_faces_of_a_boarded_over_room_are_where_they_were_measured():
    over = tuple(
        SurfaceChoice(of=of, action=Action.STRIP_AND_BOARD)
        for of in ("A", "B", "C", "D", "ceiling")
    )
    geometry = shape(quick(measured_to=MeasuredTo.FINISHED, surfaces=over))
    assert corners(geometry)["kitchen/A", "kitchen/ceiling"] == 144
    assert corners(geometry)["kitchen/A", "kitchen/B"] == 96


def test_plain_list_takes_fitting_off_the_ends_and_the_gap_off_the_floor():
    plain = (
        PlainSurface(
            id="w", name="North wall", kind=SurfaceKind.WALL, width=inches(120), height=inches(96)
        ),
        PlainSurface(
            id="c", name="Ceiling", kind=SurfaceKind.CEILING, width=inches(120), height=inches(100)
        ),
    )
    geometry = shape(Room(id="kitchen", name="Kitchen", shape=SurfaceList(surfaces=plain)))
    assert in_inches(surface(geometry, "w").board_area) == rectangle(0.125, 0.5, 119.875, 96)
    assert in_inches(surface(geometry, "c").board_area) == rectangle(0.125, 0.125, 119.875, 99.875)
    assert geometry.hang_order == ("kitchen/c", "kitchen/w")
    assert (geometry.plan, geometry.corners) == ((), ())
