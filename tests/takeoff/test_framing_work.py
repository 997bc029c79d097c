"""Lumber, shims and clips on framing that stands."""

from dataclasses import replace

import pytest

from takeoff.choices import HiddenKind, Remedy, Runs, SurfaceKind
from takeoff.errors import BadValue
from takeoff.framing.edges import LooseEdge, LooseEdgeKind, Support
from takeoff.framing.members import frame
from takeoff.framing.work import WorkKind, blocking, edge_support, uneven_work
from takeoff.geometry.surface import Edge, EdgeKind, PlacedHidden, Surface
from takeoff.house import Framing, UnevenMember
from takeoff.rules import BoardChoice, Rules
from takeoff.units import INCH, Nm

STUDS = Framing(spacing=Nm(16 * INCH), runs=Runs.ACROSS)


def nm(inches: float) -> Nm:
    return Nm(round(inches * INCH))


def framed(framing=STUDS, hidden=(), width=96, height=96):
    outline = ((Nm(0), Nm(0)), (nm(width), Nm(0)), (nm(width), nm(height)), (Nm(0), nm(height)))
    wall = Surface(
        id="den/a",
        room="den",
        name="Den, wall A",
        kind=SurfaceKind.WALL,
        outline=outline,
        edges=(Edge(EdgeKind.FREE),) * 4,
        board_area=outline,
        hidden=hidden,
        board=BoardChoice(kind="regular", thickness=nm(0.5)),
        framing=framing,
    )
    return frame(wall, Rules())


def uneven(at: float, out_by: float, remedy: Remedy):
    return uneven_work(framed(replace(STUDS, uneven=(UnevenMember(at=nm(at), out_by=nm(out_by), remedy=remedy),))))


def hidden(left, bottom, right, top, *, planned=True, kind=HiddenKind.BLOCKING, lumber="2x6"):
    return PlacedHidden("grab", "Grab bar blocking", kind, nm(left), nm(bottom), nm(right), nm(top), planned, lumber)


def sticks(work):
    return [(each.lumber, each.length / INCH, each.count) for each in work]


def edge(length, support=Support.NAILER, *, certain=True, kind=LooseEdgeKind.INSIDE_CORNER):
    return LooseEdge(kind=kind, surface="den/a", length=nm(length), support=support, certain=certain, text="loose")


def test_shims_are_as_thick_as_the_member_stands_back_at_every_place():
    [work] = uneven(32, 0.25, Remedy.SHIM)
    assert (work.kind, work.count) == (WorkKind.SHIM, 7 * 4)  # places 16 in apart over 96 in; 1/16 in a layer


def test_part_of_a_layer_takes_a_whole_shim():
    [work] = uneven(32, 0.25 + 1 / 64, Remedy.SHIM)
    assert work.count == 7 * 5


def test_sister_and_furring_are_as_long_as_the_member():
    assert sticks(uneven(32, 0.5, Remedy.SISTER)) == [("2x4", 96, 1)]
    assert sticks(uneven(32, 0.5, Remedy.FURRING)) == [("1x2", 96, 1)]


def test_place_near_a_member_means_that_member():
    assert sticks(uneven(33, 0.5, Remedy.SISTER)) == [("2x4", 96, 1)]


def test_place_without_a_member_is_refused_with_one_that_is_there():
    with pytest.raises(BadValue, match=r"no member stands at 40.; enter one's centre, like (32|48)"):
        uneven(40, 0.5, Remedy.SISTER)


def test_sister_longer_than_a_stick_comes_in_even_parts():
    tall = framed(replace(STUDS, uneven=(UnevenMember(at=nm(32), out_by=nm(0.5), remedy=Remedy.SISTER),)), height=200)
    assert sticks(uneven_work(tall)) == [("2x4", 100, 1)] * 2


def test_blocking_is_cut_to_fill_each_bay_it_reaches_into():
    work = blocking(framed(hidden=(hidden(20, 33, 50, 38.5),)))
    # bays 16-32, 32-48 and 48-64, each 14-1/2 in clear
    assert sticks(work) == [("2x6", 14.5, 1)] * 3


def test_blocking_higher_than_its_lumber_takes_more_rows():
    work = blocking(framed(hidden=(hidden(18, 30, 30, 46),)))
    assert sticks(work) == [("2x6", 14.5, 3)]  # 16 in of height in rows of 5-1/2 in


def test_blocking_past_the_last_member_goes_to_the_end_of_the_surface():
    work = blocking(framed(replace(STUDS, first=nm(12), start_backed=True), hidden=(hidden(3, 30, 5, 35),)))
    assert sticks(work) == [("2x6", 12 - 0.75 - 1.5, 1)]


def test_blocking_in_place_and_cables_need_nothing():
    assert blocking(framed(hidden=(hidden(20, 30, 30, 35, planned=False),))) == ()
    assert blocking(framed(hidden=(hidden(20, 30, 30, 35, kind=HiddenKind.CABLE),))) == ()


def test_blocking_between_furring_stands_upright():
    furred = Framing(spacing=nm(24), runs=Runs.ALONG)
    assert sticks(blocking(framed(furred, hidden=(hidden(30, 30, 34, 40, lumber="1x3"),)))) == [("1x3", 22.5, 2)]


def test_loose_edge_takes_a_nailer_or_a_stud_of_its_length():
    work = edge_support([edge(96), edge(97, Support.STUD)])
    assert [(each.kind, each.lumber, each.length / INCH) for each in work] == [
        (WorkKind.NAILER, "2x4", 96),
        (WorkKind.STUD, "2x4", 97),
    ]


def test_clips_are_at_most_16_in_apart_with_one_at_the_end():
    [work] = edge_support([edge(97, Support.CLIP)])
    assert (work.kind, work.count, work.lumber) == (WorkKind.CLIP, 8, None)


def test_nailer_longer_than_a_stick_comes_in_even_parts():
    assert sticks(edge_support([edge(200)])) == [("2x4", 100, 1)] * 2


def test_edges_to_be_looked_at_are_counted_only_when_asked():
    assert edge_support([edge(96, certain=False)]) == ()
    assert len(edge_support([edge(96, certain=False)], uncertain=True)) == 1


def test_tees_are_left_to_the_partition():
    assert edge_support([edge(96, kind=LooseEdgeKind.TEE)]) == ()
