"""Board edges with nothing behind them."""

from dataclasses import replace

from takeoff.choices import Action, FramedWhen, Runs, SurfaceKind
from takeoff.framing.edges import Support, UnsupportedEdgeKind, tee_edges, unsupported_edges
from takeoff.framing.members import frame
from takeoff.geometry.rooms import PartitionShape, RoomGeometry
from takeoff.geometry.surface import Edge, EdgeKind, Surface
from takeoff.house import Framing
from takeoff.rules import BoardChoice, Rules
from takeoff.units import INCH, Nm

STUDS = Framing(spacing=Nm(16 * INCH), runs=Runs.ACROSS)


def inch_outline(*corners: tuple[float, float]):
    return tuple((Nm(round(u * INCH)), Nm(round(v * INCH))) for u, v in corners)


def rectangle(width: float, height: float):
    return inch_outline((0, 0), (width, 0), (width, height), (0, height))


def wall(framing=STUDS, outline=None, kinds=None, **others):
    outline = outline or rectangle(100, 97)
    kinds = kinds or (
        EdgeKind.FLOOR,
        EdgeKind.INSIDE_CORNER,
        EdgeKind.CEILING,
        EdgeKind.INSIDE_CORNER,
    )
    return Surface(
        id="den/a",
        room="den",
        name="Den, wall A",
        kind=SurfaceKind.WALL,
        outline=outline,
        edges=tuple(
            Edge(kind, "den/b" if kind is EdgeKind.INSIDE_CORNER else None) for kind in kinds
        ),
        board_area=outline,
        board=BoardChoice(kind="regular", thickness=Nm(INCH // 2)),
        framing=framing,
        **others,
    )


def ceiling(framing=STUDS, outline=None, kind=EdgeKind.WALL, **others):
    kinds = (kind,) * len(outline or "four")
    return replace(
        wall(framing, outline or rectangle(104, 96), kinds, **others),
        id="den/ceiling",
        name="Den, ceiling",
        kind=SurfaceKind.CEILING,
    )


def edges_of(*surfaces: Surface, rules: Rules | None = None):
    named = (*surfaces, replace(wall(), id="den/b", name="Den, wall B"))
    room = RoomGeometry(
        room="den",
        name="Den",
        plan=(),
        closing_error=Nm(0),
        floor_area=0,
        surfaces=named,
        corners=(),
        hang_order=(),
    )
    rules = rules or Rules()
    return unsupported_edges(room, [frame(surface, rules) for surface in surfaces], rules)


def summary(edges):
    return [(edge.kind, edge.length / INCH, edge.support, edge.certain) for edge in edges]


def test_ceiling_side_along_the_joists_without_one_needs_a_nailer():
    assert summary(edges_of(ceiling())) == [
        (UnsupportedEdgeKind.CEILING_ALONG_JOISTS, 96, Support.NAILER, True)
    ]


def test_ceiling_sides_across_the_joists_need_none():
    along = replace(STUDS, runs=Runs.ALONG)
    # 96 in is six spacings, so joists lie at both sides along them
    assert edges_of(ceiling(along)) == ()


def test_joist_within_reach_of_the_side_holds_the_board():
    assert edges_of(ceiling(outline=rectangle(98.25, 96))) == ()
    assert len(edges_of(ceiling(outline=rectangle(98.5, 96)))) == 1


def test_ceiling_side_found_backed_needs_none():
    assert edges_of(ceiling(replace(STUDS, end_backed=True))) == ()


def test_assumed_joists_leave_the_side_to_be_looked_at():
    assert summary(edges_of(ceiling(Framing(runs=Runs.ACROSS)))) == [
        (UnsupportedEdgeKind.CEILING_ALONG_JOISTS, 96, Support.NAILER, False)
    ]


def test_ceiling_edge_of_a_plain_list_is_to_be_looked_at():
    assert [edge.certain for edge in edges_of(ceiling(kind=EdgeKind.FREE))] == [False]


def test_every_side_of_a_stepped_ceiling_is_looked_at_by_itself():
    outline = inch_outline((0, 0), (120, 0), (120, 60), (72, 60), (72, 144), (0, 144))
    assert [edge.length / INCH for edge in edges_of(ceiling(outline=outline))] == [60, 84]


def test_corner_found_unbacked_takes_what_the_rules_say():
    unsupported = wall(replace(STUDS, start_backed=True, end_backed=False))
    for support in ("nailer", "stud", "clip"):
        edges = edges_of(unsupported, rules=Rules(edge_support=support))
        assert summary(edges) == [(UnsupportedEdgeKind.INSIDE_CORNER, 97, Support(support), True)]


def test_corner_nobody_looked_at_is_listed_as_uncertain():
    edges = edges_of(wall())
    assert [(edge.kind, edge.certain) for edge in edges] == [
        (UnsupportedEdgeKind.INSIDE_CORNER, False)
    ] * 2
    assert "look whether there is something to screw to at the corner with wall B" in edges[0].text


def test_backed_corners_and_outside_corners_are_not_listed():
    kinds = (EdgeKind.FLOOR, EdgeKind.OUTSIDE_CORNER, EdgeKind.CEILING, EdgeKind.INSIDE_CORNER)
    assert edges_of(wall(replace(STUDS, start_backed=True), kinds=kinds)) == ()


def test_sloping_top_is_to_be_looked_at_along_its_length():
    outline = inch_outline((0, 0), (96, 0), (96, 96), (48, 132), (0, 96))
    kinds = (
        EdgeKind.FLOOR,
        EdgeKind.OUTSIDE_CORNER,
        EdgeKind.CEILING,
        EdgeKind.CEILING,
        EdgeKind.OUTSIDE_CORNER,
    )
    assert summary(edges_of(wall(outline=outline, kinds=kinds))) == [
        (UnsupportedEdgeKind.WALL_TOP, 120, Support.NAILER, False)
    ]


def test_furred_wall_without_a_top_strip_is_listed():
    furred = Framing(spacing=Nm(24 * INCH), runs=Runs.ALONG, end_backed=False)
    assert summary(edges_of(wall(furred))) == [
        (UnsupportedEdgeKind.WALL_TOP, 100, Support.NAILER, True)
    ]


def test_surface_without_new_board_has_no_loose_edges():
    assert edges_of(wall(action=Action.LEAVE), ceiling(action=Action.PATCH)) == ()


def test_edges_come_in_the_order_of_the_rooms_surfaces():
    edges = edges_of(ceiling(), wall())
    assert [edge.surface for edge in edges] == ["den/ceiling", "den/a", "den/a"]


def shape(framed):
    return PartitionShape(
        id="p",
        partition="p",
        name="Closet wall",
        room="den",
        framed=framed,
        outline=rectangle(60, 96),
        openings=(),
        stud="2x4",
        spacing=Nm(16 * INCH),
        tees=2,
        faces=("den/p", "closet/a"),
    )


def test_tee_of_a_partition_framed_first_leaves_both_rooms_boards_loose():
    edges = tee_edges(shape(FramedWhen.BEFORE), Rules())
    assert summary(edges) == [(UnsupportedEdgeKind.TEE, 96, Support.STUD, True)] * 2


def test_clips_at_a_tee_are_hung_by_both_rooms():
    edges = tee_edges(shape(FramedWhen.BEFORE), Rules(edge_support="clip"))
    assert summary(edges) == [(UnsupportedEdgeKind.TEE, 96, Support.CLIP, True)] * 4
    assert [edge.surface for edge in edges] == ["den/p", "den/p", "closet/a", "closet/a"]


def test_each_tee_names_its_wall():
    edges = tee_edges(replace(shape(FramedWhen.BEFORE), tee_walls=("Wall B", "Wall D")), Rules())
    assert [edge.text.partition(" without")[0] for edge in edges] == [
        "Closet wall meets Wall B",
        "Closet wall meets Wall D",
    ]


def test_edge_nobody_looked_at_is_counted_where_nothing_is_behind_it_and_says_so():
    unknown = edges_of(ceiling(replace(STUDS, spacing=None), outline=rectangle(103, 96)))
    assert unknown
    assert all(edge.counted and not edge.certain for edge in unknown)
    assert all("counted as a nailer until you look" in edge.text for edge in unknown)
    corners = edges_of(wall())
    assert not any(edge.counted or edge.certain for edge in corners)
    assert all("nothing is counted for it" in edge.text for edge in corners)


def test_wall_runs_through_behind_a_partition_framed_after_board():
    assert tee_edges(shape(FramedWhen.AFTER), Rules()) == ()


def test_ceiling_that_braces_is_blocked_bay_by_bay_where_its_joists_end():
    """Joists at 0 (moved in), 16, 32 ... 96 and the end of a ceiling 104 in wide: seven bays."""
    edges = [
        edge
        for edge in edges_of(ceiling(braces=True))
        if edge.kind is UnsupportedEdgeKind.BRACED_PERIMETER
    ]
    assert [edge.length / INCH for edge in edges] == [104, 104]
    assert [block / INCH for block in edges[0].blocks] == [13.75, *[14.5] * 5, 5.75]
    assert edges[0].blocks == edges[1].blocks
    assert {edge.support for edge in edges} == {Support.BLOCKING}


def test_ceiling_that_does_not_brace_has_no_blocked_perimeter():
    kinds = {edge.kind for edge in edges_of(ceiling())}
    assert UnsupportedEdgeKind.BRACED_PERIMETER not in kinds
