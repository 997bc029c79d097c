"""Members behind a surface."""

from dataclasses import replace

import pytest

from takeoff.choices import OpeningEdge, OpeningKind, Runs, SurfaceKind
from takeoff.errors import BadValue
from takeoff.framing.members import FramedSurface, MemberKind, frame, run_ends
from takeoff.geometry.surface import Edge, EdgeKind, PlacedOpening, Point, Surface
from takeoff.house import Framing
from takeoff.rules import BoardChoice, Rules
from takeoff.units import FOOT, INCH, Nm, UnitSystem

BOARD = BoardChoice(kind="regular", thickness=Nm(INCH // 2))
STUDS = Framing(spacing=Nm(16 * INCH), runs=Runs.ACROSS)


def inches(*values: float) -> list[Nm]:
    return [Nm(round(value * INCH)) for value in values]


def shape(*corners: tuple[float, float]) -> tuple[Point, ...]:
    return tuple((Nm(round(u * INCH)), Nm(round(v * INCH))) for u, v in corners)


def rectangle(width: float, height: float) -> tuple[Point, ...]:
    return shape((0, 0), (width, 0), (width, height), (0, height))


def surface(
    outline: tuple[Point, ...],
    framing: Framing = STUDS,
    *,
    kind=SurfaceKind.WALL,
    openings=(),
    edges=None,
):
    return Surface(
        id="room/a",
        room="room",
        name="Room, wall A",
        kind=kind,
        outline=outline,
        edges=edges or (Edge(EdgeKind.INSIDE_CORNER),) * len(outline),
        board_area=outline,
        openings=openings,
        board=BOARD,
        framing=framing,
    )


def opening(start: float, bottom: float, end: float, top: float) -> PlacedOpening:
    return PlacedOpening(
        "door", "Door", OpeningKind.DOOR, *inches(start, bottom, end, top), OpeningEdge.CASED
    )


def centres(framed: FramedSurface, kind: MemberKind) -> list[float]:
    return sorted({member.centre / INCH for member in framed.members if member.kind is kind})


def extents(framed: FramedSurface, centre: float) -> list[tuple[float, float]]:
    return [
        (m.low / INCH, m.high / INCH) for m in framed.members if m.centre == round(centre * INCH)
    ]


def test_layout_members_stand_at_whole_spacings_and_include_both_edges():
    framed = frame(surface(rectangle(96, 97), edges=(Edge(EdgeKind.FREE),) * 4), Rules())
    assert [m.centre for m in framed.members] == [k * 16 * INCH for k in range(7)]
    assert {m.kind for m in framed.members} == {MemberKind.LAYOUT}
    assert {(m.low, m.high) for m in framed.members} == {(0, 97 * INCH)}


def test_layout_members_on_the_line_of_a_corner_stand_whole_on_their_own_side():
    framed = frame(surface(rectangle(96, 97)), Rules())
    assert centres(framed, MemberKind.LAYOUT) == [16, 32, 48, 64, 80]
    assert centres(framed, MemberKind.END) == [0.75, 95.25]
    ceiling = frame(surface(rectangle(96, 97), kind=SurfaceKind.CEILING), Rules())
    assert centres(ceiling, MemberKind.LAYOUT) == [0.75, 16, 32, 48, 64, 80, 95.25]


def test_layout_member_half_a_width_from_the_corner_stays_and_one_nearer_is_moved():
    at = replace(STUDS, first=Nm(3 * INCH // 4))
    nearer = replace(STUDS, first=Nm(INCH // 2))
    assert centres(frame(surface(rectangle(30, 97), at), Rules()), MemberKind.LAYOUT) == [
        0.75,
        16.75,
    ]
    framed = frame(surface(rectangle(30, 97), nearer), Rules())
    assert centres(framed, MemberKind.LAYOUT) == [16.5]
    assert centres(framed, MemberKind.END) == [0.75, 29.25]


def test_layout_member_at_an_outside_corner_keeps_its_place_for_the_board_comes_to_it():
    edges = tuple(
        Edge(kind)
        for kind in (EdgeKind.FLOOR, EdgeKind.OUTSIDE_CORNER, EdgeKind.CEILING, EdgeKind.FREE)
    )
    framed = frame(surface(rectangle(96, 97), edges=edges), Rules())
    assert centres(framed, MemberKind.LAYOUT) == [0, 16, 32, 48, 64, 80, 96]


def test_end_member_closes_a_run_that_the_layout_does_not_reach():
    framed = frame(surface(rectangle(100, 97)), Rules())
    assert centres(framed, MemberKind.LAYOUT) == [16, 32, 48, 64, 80, 96]
    assert centres(framed, MemberKind.END) == [0.75, 99.25]


def test_layout_that_starts_later_leaves_room_for_an_end_member_at_the_start():
    framed = frame(
        surface(rectangle(96, 97), replace(STUDS, first=Nm(15 * INCH + INCH // 4))), Rules()
    )
    assert centres(framed, MemberKind.END) == [0.75]
    assert centres(framed, MemberKind.LAYOUT) == [15.25, 31.25, 47.25, 63.25, 79.25, 95.25]


def test_unknown_spacing_is_assumed_and_said_to_be_provisional():
    wall = frame(surface(rectangle(96, 97), Framing()), Rules())
    ceiling = frame(surface(rectangle(96, 96), Framing(), kind=SurfaceKind.CEILING), Rules())
    assert wall.provisional
    assert centres(wall, MemberKind.LAYOUT) == [16, 32, 48, 64, 80]
    assert ceiling.provisional
    assert centres(ceiling, MemberKind.LAYOUT) == [0.75, 24, 48, 72, 95.25]
    assert not frame(surface(rectangle(96, 97)), Rules()).provisional


def test_extra_member_is_added_and_one_off_the_surface_is_refused():
    framed = frame(surface(rectangle(96, 97), replace(STUDS, extra=(Nm(24 * INCH),))), Rules())
    assert centres(framed, MemberKind.EXTRA) == [24]
    with pytest.raises(
        BadValue, match=r'extra stud or joist at 97" is off the surface, which ends at 96"'
    ):
        frame(surface(rectangle(96, 97), replace(STUDS, extra=(Nm(97 * INCH),))), Rules())


def test_member_off_the_surface_is_told_in_the_units_of_the_house():
    metric = replace(
        surface(rectangle(96, 97), replace(STUDS, extra=(Nm(97 * INCH),))),
        units=UnitSystem.MILLIMETRE,
    )
    with pytest.raises(
        BadValue, match="extra stud or joist at 2464 mm is off the surface, which ends at 2438 mm"
    ):
        frame(metric, Rules())


def test_missing_member_removes_the_nearest_of_the_layout():
    framed = frame(surface(rectangle(96, 97), replace(STUDS, missing=(Nm(50 * INCH),))), Rules())
    assert centres(framed, MemberKind.LAYOUT) == [16, 32, 64, 80]


def test_missing_member_with_none_near_is_refused():
    framing = replace(STUDS, first=Nm(32 * INCH), missing=(Nm(10 * INCH),))
    with pytest.raises(BadValue, match='within half a spacing of the missing one at 10"'):
        frame(surface(rectangle(96, 97), framing), Rules())


def test_studs_stand_beside_an_opening_full_height():
    framed = frame(surface(rectangle(144, 97), openings=(opening(40, 0, 74, 82),)), Rules())
    assert centres(framed, MemberKind.OPENING) == [39.25, 74.75]
    assert extents(framed, 39.25) == extents(framed, 74.75) == [(0, 97)]


def test_door_leaves_a_cripple_above_and_a_window_one_below_too():
    door = frame(surface(rectangle(144, 97), openings=(opening(40, 0, 74, 82),)), Rules())
    window = frame(surface(rectangle(144, 97), openings=(opening(40, 36, 74, 82),)), Rules())
    assert extents(door, 48) == [(82, 97)]
    assert extents(window, 48) == [(0, 36), (82, 97)]
    assert extents(window, 32) == [(0, 97)]


def test_stud_beside_an_opening_takes_the_place_of_a_layout_stud_it_would_overlap():
    framed = frame(surface(rectangle(144, 97), openings=(opening(33, 0, 67, 82),)), Rules())
    assert centres(framed, MemberKind.OPENING) == [32.25, 67.75]
    assert 32 not in centres(framed, MemberKind.LAYOUT)


def test_opening_at_the_corner_has_one_stud_beside_it():
    framed = frame(surface(rectangle(96, 97), openings=(opening(0, 0, 30, 82),)), Rules())
    assert centres(framed, MemberKind.OPENING) == [30.75]
    assert extents(framed, 0.75) == [(82, 97)]


def test_studs_follow_a_sloped_top():
    framed = frame(surface(shape((0, 0), (96, 0), (96, 144), (0, 96))), Rules())
    assert extents(framed, 16) == [(0, 104)]
    assert extents(framed, 48) == [(0, 120)]
    assert extents(framed, 80) == [(0, 136)]


def test_gable_without_eaves_has_no_members_at_its_points():
    gable = surface(
        shape((0, 0), (96, 0), (48, 48)),
        edges=(Edge(EdgeKind.FLOOR),) + (Edge(EdgeKind.CEILING),) * 2,
    )
    framed = frame(gable, Rules())
    assert run_ends(gable) == ()
    assert centres(framed, MemberKind.LAYOUT) == [16, 32, 48, 64, 80]
    assert extents(framed, 48) == [(0, 48)]
    assert extents(framed, 16) == [(0, 16)]


def test_extent_off_the_grid_is_rounded_to_a_whole_nanometre():
    framed = frame(surface(shape((0, 0), (97, 0), (97, 100), (0, 96))), Rules())
    [stud] = [m for m in framed.members if m.centre == 16 * INCH]
    assert stud.high == round((96 + 64 / 97) * INCH)


def test_furring_that_lies_along_a_wall_is_laid_out_from_the_floor():
    framing = Framing(spacing=Nm(24 * INCH), runs=Runs.ALONG)
    framed = frame(
        surface(rectangle(144, 90), framing, openings=(opening(40, 0, 74, 82),)), Rules()
    )
    assert centres(framed, MemberKind.LAYOUT) == [24, 48, 72]
    assert centres(framed, MemberKind.OPENING) == [82.75]
    assert centres(framed, MemberKind.END) == [0.75, 89.25]
    assert extents(framed, 24) == [(0, 40), (74, 144)]
    assert extents(framed, 82.75) == [(0, 144)]


def test_joists_span_the_shorter_way_and_rafters_run_up_to_the_ridge():
    deep = surface(rectangle(96, 144), Framing(), kind=SurfaceKind.CEILING)
    plane = (Edge(EdgeKind.WALL), Edge(EdgeKind.WALL), Edge(EdgeKind.RIDGE), Edge(EdgeKind.WALL))
    slope = surface(rectangle(96, 144), Framing(), kind=SurfaceKind.CEILING, edges=plane)
    assert {m.runs for m in frame(deep, Rules()).members} == {Runs.ALONG}
    assert {m.runs for m in frame(slope, Rules()).members} == {Runs.ACROSS}


def test_ceiling_side_without_a_joist_gets_a_nailer_and_a_backed_one_an_end():
    loose = frame(surface(rectangle(104, 96), STUDS, kind=SurfaceKind.CEILING), Rules())
    backed = frame(
        surface(rectangle(104, 96), replace(STUDS, end_backed=True), kind=SurfaceKind.CEILING),
        Rules(),
    )
    assert centres(loose, MemberKind.NAILER) == [103.25]
    assert centres(backed, MemberKind.NAILER) == []
    assert centres(backed, MemberKind.END) == [103.25]


def test_ceiling_joist_within_an_inch_and_a_half_of_the_side_holds_the_board():
    near = frame(surface(rectangle(98.25, 96), STUDS, kind=SurfaceKind.CEILING), Rules())
    far = frame(surface(rectangle(98.5, 96), STUDS, kind=SurfaceKind.CEILING), Rules())
    assert centres(near, MemberKind.NAILER) == []
    assert centres(far, MemberKind.NAILER) == [97.75]


def test_wall_end_found_unbacked_gets_a_nailer_or_nothing_where_clips_hold_it():
    loose = surface(rectangle(100, 97), replace(STUDS, end_backed=False))
    assert centres(frame(loose, Rules()), MemberKind.NAILER) == [99.25]
    clipped = frame(loose, Rules(edge_support="clip"))
    assert centres(clipped, MemberKind.NAILER) == []
    assert centres(clipped, MemberKind.END) == [0.75]


def test_ceiling_with_a_step_has_members_of_both_lengths_and_a_nailer_along_the_step():
    step = shape((0, 0), (120, 0), (120, 60), (72, 60), (72, 144), (0, 144))
    framed = frame(surface(step, STUDS, kind=SurfaceKind.CEILING), Rules())
    assert extents(framed, 64) == [(0, 144)]
    assert extents(framed, 80) == [(0, 60)]
    assert extents(framed, 71.25) == [(60, 144)]
    assert centres(framed, MemberKind.NAILER) == [71.25, 119.25]


def test_members_come_in_order_of_centre():
    framed = frame(surface(rectangle(144, 97), openings=(opening(40, 36, 74, 82),)), Rules())
    places = [(m.centre, m.low) for m in framed.members]
    assert places == sorted(places)


def test_wall_a_thousand_feet_long_is_framed_at_the_spacing():
    framed = frame(
        surface(
            (
                (Nm(0), Nm(0)),
                (Nm(1000 * FOOT), Nm(0)),
                (Nm(1000 * FOOT), Nm(8 * FOOT)),
                (Nm(0), Nm(8 * FOOT)),
            )
        ),
        Rules(),
    )
    assert len(framed.members) == 751
