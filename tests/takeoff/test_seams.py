"""Seams counted by hand: a 12 ft x 10 ft room, 8 ft high, with a door and a window, and odd shapes
beside it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import pytest

from takeoff.boards.plan import Course, Joint, JointKind, SurfacePlan
from takeoff.catalogue import BoardEdges, BoardKind, Catalogue
from takeoff.choices import Action, OpeningEdge, OpeningKind, Runs, SurfaceKind
from takeoff.framing.members import FramedSurface
from takeoff.geometry.rooms import Corner, RoomGeometry
from takeoff.geometry.surface import Edge, EdgeKind, PlacedOpening, Point, Surface
from takeoff.house import Framing
from takeoff.rules import BoardChoice
from takeoff.seams import Seam, SeamKind, seams_of
from takeoff.units import INCH, Nm

CATALOGUE = Catalogue(
    boards=(
        BoardKind(id="regular", name="Regular"),
        BoardKind(id="backer", name="Tile backer", edges=BoardEdges.SQUARE, tile_backer=True),
    )
)


def inches(value: float) -> Nm:
    return Nm(int(value * 64) * INCH // 64)


def box(start: float, end: float, low: float, high: float) -> tuple[Point, ...]:
    return tuple(
        (inches(u), inches(v)) for u, v in ((start, low), (end, low), (end, high), (start, high))
    )


def opening(
    kind: OpeningKind, start: float, bottom: float, end: float, top: float
) -> PlacedOpening:
    sides = (inches(start), inches(bottom), inches(end), inches(top))
    return PlacedOpening(str(kind), str(kind), kind, *sides, edge=OpeningEdge.CASED)


DOOR = opening(OpeningKind.DOOR, 40, 0, 72, 80)
WINDOW = opening(OpeningKind.WINDOW, 30, 36, 66, 84)


def surface(
    name: str, width: float, high: float, *openings: PlacedOpening, **changes: object
) -> Surface:
    """A wall `high` inches, its board from a half-inch floor gap up to the ceiling's half-inch
    board; or a ceiling."""
    ceiling = name == "ceiling"
    made = Surface(
        id=f"r/{name}",
        room="r",
        name=name,
        kind=SurfaceKind.CEILING if ceiling else SurfaceKind.WALL,
        outline=box(0, width, 0, high),
        edges=(Edge(EdgeKind.WALL),) * 4,
        board_area=box(0, width, 0, high) if ceiling else box(0, width, 0.5, high - 0.5),
        openings=openings,
        board=BoardChoice(kind="regular", thickness=inches(0.5)),
        framing=Framing(spacing=inches(16)),
    )
    return replace(made, **changes)  # type: ignore[arg-type]


def row(
    index: int, low: float, high: float, *segments: tuple[float, float], factory: str = "both"
) -> Course:
    return Course(
        index=index,
        low=inches(low),
        high=inches(high),
        sheet_width=inches(48),
        factory_low=factory in ("both", "low"),
        factory_high=factory in ("both", "high"),
        segments=tuple((inches(start), inches(end)) for start, end in segments),
    )


def laid(
    of: Surface, *rows: Course, joints: Sequence[Joint] = (), runs: Runs = Runs.ALONG
) -> SurfacePlan:
    return SurfacePlan(
        surface=of.id,
        room="r",
        board=of.board.kind,
        thickness=of.board.thickness,
        rows_run=runs,
        along_framing=False,
        rows=rows,
        joints=tuple(joints),
        pieces=(),
    )


def wall_plan(of: Surface, width: float) -> SurfacePlan:
    """Two rows: a whole one under the ceiling, one ripped to 47 in at the floor."""
    return laid(of, row(0, 47.5, 95.5, (0, width)), row(1, 0.5, 47.5, (0, width), factory="high"))


def room(surfaces: Sequence[Surface], corners: Sequence[Corner] = ()) -> RoomGeometry:
    return RoomGeometry(
        room="r",
        name="Room",
        plan=box(0, 144, 0, 120),
        closing_error=Nm(0),
        floor_area=0,
        surfaces=tuple(surfaces),
        corners=tuple(corners),
        hang_order=(),
    )


def seams(
    surfaces: Sequence[Surface], plans: Sequence[SurfacePlan], corners: Sequence[Corner] = ()
) -> tuple[Seam, ...]:
    framed = [
        FramedSurface(
            surface=surface, members=(), provisional=False, start_backed=None, end_backed=None
        )
        for surface in surfaces
    ]
    return seams_of(room(surfaces, corners), framed, plans, CATALOGUE)


def corner(first: str, second: str, length: float, *, inside: bool = True) -> Corner:
    return Corner(inside=inside, first=f"r/{first}", second=f"r/{second}", length=inches(length))


WIDTHS = {"a": 144, "b": 120, "c": 144, "d": 120}
WALLS = {
    "a": surface("a", 144, 96, DOOR),
    "b": surface("b", 120, 96, WINDOW),
    "c": surface("c", 144, 96),
    "d": surface("d", 120, 96),
}
BLANK = {letter: replace(wall, openings=()) for letter, wall in WALLS.items()}
CEILING = surface("ceiling", 144, 120, finish_level=4)
CEILING_PLAN = laid(
    CEILING,
    row(0, 0, 48, (0, 144)),
    row(1, 48, 96, (0, 144)),
    row(2, 96, 120, (0, 144), factory="low"),
)
CORNERS = (
    *(corner(one, other, 95.5) for one, other in ("ab", "bc", "cd", "da")),
    *(corner(name, "ceiling", width) for name, width in WIDTHS.items()),
)


def test_twelve_by_ten_by_eight_room_has_the_seams_counted_by_hand():
    plans = [CEILING_PLAN, *(wall_plan(WALLS[name], width) for name, width in WIDTHS.items())]
    room_seams = seams([*WALLS.values(), CEILING], plans, CORNERS)
    total: Counter[SeamKind] = Counter()
    for seam in room_seams:
        total[seam.kind] += seam.length
    assert dict(total) == {
        # Ceiling: two seams of 12 ft. Walls at 47 1/2 up: 144 less a 32 in door, 120 less a 36 in
        # window, 144, 120.
        SeamKind.TAPERED: inches(2 * 144 + 112 + 84 + 144 + 120),
        # Four corners from floor to ceiling board; once round the ceiling.
        SeamKind.INSIDE_CORNER: inches(4 * 95.5 + 528),
        # Door: 32 over it, 80 less the floor gap at each side. Window: 36 and 48, twice each.
        SeamKind.OPENING_EDGE: inches(32 + 2 * 79.5 + 2 * 36 + 2 * 48),
    }


def test_seams_come_surface_by_surface_then_corner_by_corner():
    plans = [CEILING_PLAN, wall_plan(WALLS["a"], 144)]
    listed = seams([WALLS["a"], CEILING], plans, CORNERS[4:5])
    assert [(seam.kind, seam.surfaces, seam.row) for seam in listed] == [
        (SeamKind.TAPERED, ("r/a",), 1),
        (SeamKind.OPENING_EDGE, ("r/a",), None),
        (SeamKind.TAPERED, ("r/ceiling",), 0),
        (SeamKind.TAPERED, ("r/ceiling",), 1),
        (SeamKind.INSIDE_CORNER, ("r/a", "r/ceiling"), None),
    ]


def test_butt_seams_keep_the_kind_and_length_of_their_joints():
    joints = (
        Joint(row=0, at=inches(64), kind=JointKind.FRAMING, length=inches(48)),
        Joint(row=1, at=inches(88), kind=JointKind.FLOATING, length=inches(47)),
    )
    made = replace(wall_plan(WALLS["c"], 144), joints=joints)
    butts = [(seam.kind, seam.length, seam.row) for seam in seams([WALLS["c"]], [made])][1:]
    assert butts == [
        (SeamKind.BUTT_ON_FRAMING, inches(48), 0),
        (SeamKind.FLOATING_BUTT, inches(47), 1),
    ]


def test_cut_edge_against_a_factory_edge_is_no_tapered_seam():
    made = laid(
        WALLS["c"], row(0, 47.5, 95.5, (0, 144)), row(1, 0.5, 47.5, (0, 144), factory="low")
    )
    assert [seam.kind for seam in seams([WALLS["c"]], [made])] == [SeamKind.CUT_EDGE]


def test_square_edged_board_has_no_tapered_seam_and_its_seams_are_bedded_in_mortar():
    tiled = surface(
        "c", 144, 96, board=BoardChoice(kind="backer", thickness=inches(0.5)), finish_level=0
    )
    tile_seams = seams([tiled], [wall_plan(tiled, 144)])
    assert [(seam.kind, seam.mortar, seam.level) for seam in tile_seams] == [
        (SeamKind.CUT_EDGE, True, 0)
    ]


def test_opening_whose_top_is_the_line_between_rows_ends_the_seam():
    level = surface("a", 144, 96, opening(OpeningKind.PASSAGE, 40, 0, 72, 47.5))
    made = laid(
        level, row(0, 47.5, 95.5, (0, 144)), row(1, 0.5, 47.5, (0, 40), (72, 144), factory="high")
    )
    assert seams([level], [made])[0].length == inches(112)


def test_opening_clear_of_the_line_between_rows_takes_nothing_from_the_seam():
    high = surface("a", 144, 96, opening(OpeningKind.WINDOW, 40, 60, 72, 84))
    assert seams([high], [wall_plan(high, 144)])[0].length == inches(144)


def test_seam_of_a_stepped_ceiling_is_where_both_rows_have_board():
    step = ((0, 0), (144, 0), (144, 48), (96, 48), (96, 80), (0, 80))
    area = tuple((inches(u), inches(v)) for u, v in step)
    stepped = surface(
        "ceiling", 144, 80, outline=area, board_area=area, edges=(Edge(EdgeKind.WALL),) * 6
    )
    made = laid(stepped, row(0, 0, 48, (0, 144)), row(1, 48, 80, (0, 96), factory="low"))
    assert [seam.length for seam in seams([stepped], [made])] == [inches(96)]


def test_seam_under_a_sloping_top_ends_at_the_slope():
    area = tuple((inches(u), inches(v)) for u, v in ((0, 0), (96, 0), (96, 72), (0, 24)))
    sloping = surface("a", 96, 72, outline=area, board_area=area)
    # The top rises 48 in over 96, so it passes 48 in half way along.
    made = laid(sloping, row(0, 48, 72, (48, 96), factory="low"), row(1, 0, 48, (0, 96)))
    assert [seam.length for seam in seams([sloping], [made])] == [inches(48)]


def test_standing_boards_have_upright_seams():
    wall = surface("a", 96, 97, DOOR)
    made = laid(wall, row(0, 0, 48, (0.5, 96.5)), row(1, 48, 96, (0.5, 96.5)), runs=Runs.ACROSS)
    # The line at 48 in passes the door, which ends 80 in up.
    assert seams([wall], [made])[0].length == inches(96.5 - 80)


def test_door_and_passage_with_a_sill_differ_at_the_bottom():
    passage = surface("c", 144, 96, opening(OpeningKind.PASSAGE, 40, 36, 72, 80))
    door = surface("c", 144, 96, opening(OpeningKind.DOOR, 40, 36, 72, 80))
    lengths = [seams([wall], [wall_plan(wall, 144)])[1].length for wall in (passage, door)]
    assert lengths == [inches(2 * 44 + 2 * 32), inches(2 * 44 + 32)]


def test_opening_edge_says_how_the_board_ends_there():
    bead = surface("a", 144, 96, replace(DOOR, edge=OpeningEdge.BEAD))
    edge = seams([bead], [wall_plan(bead, 144)])[1]
    assert (edge.edge, edge.opening) == (OpeningEdge.BEAD, "door")


def test_opening_at_the_end_of_a_wall_has_no_board_beyond_that_side():
    end = surface("a", 144, 96, opening(OpeningKind.PASSAGE, 100, 0, 144, 80))
    assert seams([end], [wall_plan(end, 144)])[1].length == inches(79.5 + 44)


def test_corner_is_a_seam_where_one_side_is_left_and_none_where_both_are():
    untouched = {"action": Action.LEAVE, "board_area": ()}
    a, b, c = BLANK["a"], replace(WALLS["b"], **untouched), replace(WALLS["c"], **untouched)
    at_corners = seams([a, b, c], [laid(a)], [corner("a", "b", 95.5), corner("b", "c", 95.5)])
    assert [seam.surfaces for seam in at_corners] == [("r/a", "r/b")]


def test_corner_of_a_surface_that_was_refused_is_a_seam_only_where_the_other_side_is_boarded():
    a, b, c = BLANK["a"], BLANK["b"], BLANK["c"]
    at_corners = seams([a, b, c], [laid(a)], [corner("a", "b", 95.5), corner("b", "c", 95.5)])
    assert [seam.surfaces for seam in at_corners] == [("r/a", "r/b")]


def test_surface_that_is_left_has_no_seams_of_its_own():
    assert seams([replace(WALLS["a"], action=Action.LEAVE, board_area=())], []) == ()


@pytest.mark.parametrize(
    ("between", "inside", "kind"),
    [
        (("a", "b"), True, SeamKind.INSIDE_CORNER),
        (("a", "b"), False, SeamKind.OUTSIDE_CORNER),
        (("ceiling", "ceiling-2"), True, SeamKind.RIDGE),
        (("a", "ceiling"), True, SeamKind.INSIDE_CORNER),
    ],
)
def test_corner_kind_is_told_by_what_meets(between, inside, kind):
    far = replace(CEILING, id="r/ceiling-2")
    sides = [BLANK["a"], BLANK["b"], CEILING, far]
    at_corners = seams(
        sides, [laid(side) for side in sides], [corner(*between, 95.5, inside=inside)]
    )
    assert [(seam.kind, seam.length) for seam in at_corners] == [(kind, inches(95.5))]


def test_corner_takes_the_higher_level_of_its_sides_and_mortar_where_one_is_tile_backer():
    backer = BoardChoice(kind="backer", thickness=inches(0.5))
    low = replace(BLANK["a"], finish_level=0, board=backer)
    high = replace(CEILING, finish_level=5)
    (seam,) = seams([low, high], [laid(low), laid(high)], [corner("a", "ceiling", 144)])
    assert (seam.level, seam.mortar) == (5, True)


def test_seams_of_other_rooms_are_not_counted():
    other = replace(WALLS["c"], id="q/c", room="q")
    framed = [
        FramedSurface(
            surface=other, members=(), provisional=False, start_backed=None, end_backed=None
        )
    ]
    assert (
        seams_of(room([]), framed, [replace(wall_plan(other, 144), surface="q/c")], CATALOGUE) == ()
    )
