"""Choices written onto surfaces."""

from decimal import Decimal

import pytest

from takeoff.choices import Action, JointMode, Orientation, Runs
from takeoff.errors import BadValue
from takeoff.house import Finish, Framing, SurfaceChoice
from takeoff.rules import BoardChoice
from takeoff.units import Nm

from .rooms import inches, quick, shape, surface

THICK = BoardChoice(kind="type x", thickness=inches(0.625))
WET = BoardChoice(kind="moisture resistant", thickness=inches(0.5))


def test_surface_choice_goes_over_the_room_and_the_room_over_the_rules():
    own = SurfaceChoice(
        of="A", board=THICK, joint_mode=JointMode.FLOATING, orientation=Orientation.ALONG
    )
    geometry = shape(quick(surfaces=(own,), wall_board=WET), joint_mode=JointMode.EITHER)
    a, b, ceiling = (surface(geometry, name) for name in ("A", "B", "ceiling"))
    assert (a.board, a.joint_mode, a.orientation) == (THICK, JointMode.FLOATING, Orientation.ALONG)
    assert (b.board, b.joint_mode, b.orientation) == (WET, JointMode.EITHER, Orientation.ACROSS)
    assert ceiling.board == BoardChoice(kind="regular", thickness=inches(0.5))


def test_studs_stand_upright_where_nobody_said():
    wall = surface(shape(quick()), "A")
    assert (wall.framing.spacing, wall.framing.runs, wall.runs_known) == (None, Runs.ACROSS, True)


@pytest.mark.parametrize(
    ("length", "width", "runs"), [(144, 120, Runs.ACROSS), (120, 144, Runs.ALONG)]
)
def test_joists_are_taken_over_the_shorter_way_but_not_as_known(length, width, runs):
    ceiling = surface(shape(quick(length, width)), "ceiling")
    assert (ceiling.framing.runs, ceiling.runs_known) == (runs, False)


def test_joists_that_were_looked_at_are_known():
    known = Framing(spacing=inches(24), runs=Runs.ALONG)
    ceiling = surface(shape(quick(ceiling_framing=known)), "ceiling")
    assert (ceiling.framing, ceiling.runs_known) == (known, True)


def test_finish_levels_and_texture_reach_their_surfaces():
    geometry = shape(quick(finish=Finish(wall_level=3, ceiling_level=5, texture=True)))
    wall, ceiling = surface(geometry, "A"), surface(geometry, "ceiling")
    assert (wall.finish_level, wall.water_texture) == (3, False)
    assert (ceiling.finish_level, ceiling.water_texture) == (5, True)


def test_shorter_limit_of_room_and_house_holds():
    geometry = shape(
        quick(longest_board=inches(120), heaviest_lift=Decimal(80)),
        longest_board=inches(144),
        heaviest_lift=Decimal(60),
    )
    wall = surface(geometry, "A")
    assert (wall.longest_board, wall.heaviest_lift) == (inches(120), Decimal(60))


def test_old_lining_of_unknown_thickness_is_taken_as_half_an_inch_and_told():
    geometry = shape(quick(surfaces=(SurfaceChoice(of="A", action=Action.LEAVE),)))
    assert surface(geometry, "A").lining == inches(0.5)
    assert surface(geometry, "B").lining == Nm(0)
    assert "lining of Wall A is taken as" in geometry.notes[0].text


@pytest.mark.parametrize("more", [{"surfaces": (SurfaceChoice(of="Q"),)}, {"hang_first": ("Q",)}])
def test_choice_for_no_surface_of_the_room_is_refused(more):
    with pytest.raises(
        BadValue, match="'Q' is no surface of the room; there are A, B, C, D, ceiling"
    ):
        shape(quick(**more))
