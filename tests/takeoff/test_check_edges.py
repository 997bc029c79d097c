"""Where the checker lets the edges of board lie: anywhere between the outer and the inner shape
of a surface, and no sixteenth of an inch beyond."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from takeoff.boards.check import examine_plan
from takeoff.boards.hung import place
from takeoff.boards.plan import AsBuilt, BoardPlan, Course
from takeoff.catalogue import SheetOnSale
from takeoff.framing.members import FramedSurface
from takeoff.quantities import Cents
from takeoff.units import Nm
from tests.takeoff import hand_plan
from tests.takeoff.hand_plan import CATALOGUE, RULES, framed, inches, plan, stud
from tests.takeoff.test_check import (
    ceiling,
    ceiling_plan,
    rectangle,
    row,
    rules_broken,
    with_piece,
    with_surface,
)

SIXTEENTH = 0.0625
# The wall's board as cut is 168 in from 1/2 to 112 1/2 in high; its edges may lie this far out and
# in.
OUTER, INNER = (-0.25, 168.25, 0.25, 112.5), (0.375, 167.625, 1.5, 112.125)
GIVEN = framed(outer_area=rectangle(*OUTER), inner_area=rectangle(*INNER))


def edged(
    left: Sequence[float] = (0, 0, 0),
    right: Sequence[float] = (168, 168, 168),
    *,
    low: float = 0.5,
    high: float = 112.5,
) -> BoardPlan:
    """The wall's plan with the ends of its three rows at these places, and its rows from `high`
    down to `low`; every piece from a sheet of its own."""
    edges = [high, high - 48, high - 96, low]
    rows = []
    for index, course in enumerate(hand_plan.ROWS):
        segments = [
            (inches(left[index]), course.segments[0][1]),
            *course.segments[1:],
        ]
        segments[-1] = (segments[-1][0], inches(right[index]))
        rows.append(
            replace(
                course,
                low=inches(edges[index + 1]),
                high=inches(edges[index]),
                segments=tuple(segments),
            )
        )
    return plan({0: (96,), 1: (64,), 2: ()}, rows=rows)


def test_edges_may_lie_anywhere_between_outer_and_inner():
    assert rules_broken(edged(), GIVEN) == set()
    assert rules_broken(edged(left=[-0.25] * 3, right=[168.25] * 3), GIVEN) == set()
    assert rules_broken(edged(left=[0.375] * 3, right=[167.625] * 3), GIVEN) == set()
    # Every end piece has a gap of its own.
    assert rules_broken(edged(left=(0.375, -0.25, 0), right=(168, 167.75, 168.25)), GIVEN) == set()


@pytest.mark.parametrize(
    ("low", "high", "broken"),
    [
        (-0.25, 80.25, set()),
        (0.375, 79.625, set()),
        (-0.25 - SIXTEENTH, 80, {"rows", "outline"}),
        (0.375 + SIXTEENTH, 80, {"rows"}),
        (0, 80.25 + SIXTEENTH, {"rows", "outline"}),
        (0, 79.625 - SIXTEENTH, {"rows"}),
    ],
)
def test_outer_rows_of_a_ceiling_lie_between_outer_and_inner(low, high, broken):
    rows = (row(0, low, low + 48, 96), row(1, low + 48, high, 96, factory="low"))
    surface = ceiling(
        96,
        80,
        16,
        outer_area=rectangle(-0.25, 96.25, -0.25, 80.25),
        inner_area=rectangle(0.375, 95.625, 0.375, 79.625),
    )
    assert rules_broken(ceiling_plan(rows), surface) == broken


@pytest.mark.parametrize("number", [0, 1, 2])
def test_end_a_sixteenth_too_far_from_a_corner_is_a_breach(number):
    left, right = [0.0] * 3, [168.0] * 3
    left[number] = INNER[0] + SIXTEENTH
    assert rules_broken(edged(left=left), GIVEN) == {"segments", "cover"}
    right[number] = INNER[1] - SIXTEENTH
    assert rules_broken(edged(right=right), GIVEN) == {"segments", "cover"}


@pytest.mark.parametrize("number", [0, 1, 2])
def test_end_a_sixteenth_past_a_corner_is_a_breach(number):
    left, right = [0.0] * 3, [168.0] * 3
    left[number] = OUTER[0] - SIXTEENTH
    assert rules_broken(edged(left=left), GIVEN) == {"segments", "outline"}
    right[number] = OUTER[1] + SIXTEENTH
    assert rules_broken(edged(right=right), GIVEN) == {"segments", "outline"}


def test_top_edge_may_lie_between_outer_and_inner_and_no_farther():
    # The rows move with their upper edge, and the lowest is ripped to the same floor gap.
    assert rules_broken(edged(high=112.125), GIVEN) == set()
    assert rules_broken(edged(high=112.125 - SIXTEENTH), GIVEN) == {"rows"}
    assert rules_broken(edged(high=112.5 + SIXTEENTH), GIVEN) == {"rows", "outline"}


def test_floor_gap_lies_between_the_least_and_the_largest():
    assert rules_broken(edged(low=0.25), GIVEN) == set()
    assert rules_broken(edged(low=1.5), GIVEN) == set()
    assert rules_broken(edged(low=1.5 + SIXTEENTH), GIVEN) == {"largest_floor_gap"}
    assert rules_broken(edged(low=0.25 - SIXTEENTH), GIVEN) == {"least_floor_gap", "outline"}


def test_piece_that_leaves_some_of_the_inner_shape_open_is_a_breach():
    made = edged()
    nicked = (
        (Nm(0), inches(64.5)),
        (inches(96), inches(64.5)),
        (inches(96), inches(112.5)),
        (inches(0.5), inches(112.5)),
        (inches(0.5), inches(112)),
        (Nm(0), inches(112)),
    )
    assert rules_broken(with_piece(made, "A", outline=nicked), GIVEN) == {"outline", "cover"}
    # What lies between the two shapes may be there or not.
    nicked = (*nicked[:3], (inches(0.25), inches(112.5)), (inches(0.25), inches(112)), nicked[5])
    assert rules_broken(with_piece(made, "A", outline=nicked), GIVEN) == set()


def test_seam_is_as_long_as_its_two_pieces_meet():
    made = with_piece(
        edged(high=112.5),
        "B",
        high=inches(112.25),
        outline=rectangle(96, 168, 64.5, 112.25),
    )
    assert rules_broken(made, GIVEN) == {"seam_length", "piece_size"}
    joints = made.surfaces[0].joints
    shorter = replace(joints[0], length=inches(47.75))
    assert "seam_length" not in rules_broken(
        with_surface(made, joints=(shorter, *joints[1:])), GIVEN
    )


# --- rows of more than one width, shared rips, slopes ---

WIDE = SheetOnSale(
    board="regular",
    thickness=hand_plan.HALF,
    width=inches(54),
    length=Nm(96 * 25_400_000),
    price=Cents(1500),
)
WIDTHS = replace(RULES, sheets=(*(RULES.sheets or ()), WIDE))


def of_widths(rows: Sequence[Course]) -> BoardPlan:
    """A ceiling's plan whose rows of 54 in sheets are cut from such."""
    made = ceiling_plan(rows)
    wide = {
        f"S-{piece.code}"
        for piece, course in zip(made.surfaces[0].pieces, rows, strict=True)
        if course.sheet_width == WIDE.width
    }
    sheets = tuple(
        replace(sheet, width=WIDE.width, price=WIDE.price) if sheet.code in wide else sheet
        for sheet in made.sheets
    )
    whole = {
        piece.code for piece in made.surfaces[0].pieces if piece.high - piece.low == WIDE.width
    }
    sheets = tuple(
        replace(sheet, crosscuts=sheet.strips[0].pieces, rip_at=None, strips=())
        if sheet.strips and sheet.strips[0].pieces[0].piece in whole
        else sheet
        for sheet in sheets
    )
    return replace(made, sheets=sheets, sheet_cost=Cents(sum(sheet.price for sheet in sheets)))


def wide_row(index: int, low: float, high: float, *, factory: str = "both") -> Course:
    return replace(row(index, low, high, 96, factory=factory), sheet_width=WIDE.width)


def test_rows_of_one_surface_may_be_of_two_widths():
    rows = (row(0, 0, 48, 96), wide_row(1, 48, 102))
    assert rules_broken(of_widths(rows), ceiling(96, 102, 16), WIDTHS) == set()
    ripped = (wide_row(0, 0, 54), row(1, 54, 94, 96, factory="low"))
    assert rules_broken(of_widths(ripped), ceiling(96, 94, 16), WIDTHS) == set()


def test_two_ripped_rows_of_two_widths_are_a_breach_where_they_are_not_alike():
    rows = (wide_row(0, 0, 44, factory="high"), row(1, 44, 84, 96, factory="low"))
    assert rules_broken(of_widths(rows), ceiling(96, 84, 16), WIDTHS) == {"ceiling_rows"}


def level_wall(high: float) -> FramedSurface:
    area = rectangle(0, 96, 0.5, high)
    return framed(
        outline=rectangle(0, 96, 0, high),
        board_area=area,
        openings=(),
        members=[stud(at, high=high) for at in range(0, 97, 16)],
    )


def test_edge_rows_of_a_wall_may_share_the_rip():
    rows = (row(0, 40.5, 80.5, 96, factory="low"), row(1, 0.5, 40.5, 96, factory="high"))
    assert rules_broken(plan({0: (), 1: ()}, rows=rows), level_wall(80.5)) == set()
    rows = (row(0, 41.5, 80.5, 96, factory="low"), row(1, 0.5, 41.5, 96, factory="high"))
    assert rules_broken(plan({0: (), 1: ()}, rows=rows), level_wall(80.5)) == {"rows"}


def sloping(low: float = 40, high: float = 88) -> FramedSurface:
    """A wall 8 ft long whose top rises from its left end to its right one."""
    area = ((Nm(0), Nm(0)), (inches(96), Nm(0)), (inches(96), inches(high)), (Nm(0), inches(low)))
    return framed(
        outline=area, board_area=area, openings=(), members=[stud(at) for at in range(0, 97, 16)]
    )


def on_the_slope(at: float, *, factory: str) -> BoardPlan:
    """The sloping wall in two rows that meet at a height over its low end: the slope crosses it
    two inches along for each inch it is higher."""
    along = 2 * (at - 40)
    upper = replace(row(0, at, 88, 96, factory="low"), segments=((inches(along), inches(96)),))
    made = plan({0: (), 1: ()}, rows=(upper, row(1, 0, at, 96, factory=factory)))
    above = ((along, at), (96, at), (96, 88))
    below = ((0, 0), (96, 0), (96, at), (along, at), (0, 40))
    for code, corners in (("A", above), ("B", below)):
        outline = tuple((inches(x), inches(y)) for x, y in corners)
        made = with_piece(made, code, outline=outline)
    return made


def test_wall_with_a_sloping_top_may_count_from_the_floor_up():
    assert rules_broken(on_the_slope(48, factory="both"), sloping()) == set()


def test_wall_with_a_sloping_top_may_not_count_from_anywhere_else():
    assert rules_broken(on_the_slope(42, factory="high"), sloping()) == {"rows"}
    # But its two edge rows may be ripped alike, as on any wall.
    assert rules_broken(on_the_slope(44, factory="high"), sloping()) == set()


@pytest.mark.parametrize(("nearer", "broken"), [(1, set()), (100, {"segments"})])
def test_slope_that_is_rounded_otherwise_in_each_shape_is_forgiven(nearer, broken):
    made, wall = on_the_slope(48, factory="both"), sloping()
    low, right, peak, eave = wall.surface.board_area
    lower = (low, right, (peak[0], Nm(peak[1] - nearer)), (eave[0], Nm(eave[1] - nearer)))
    surface = replace(wall, surface=replace(wall.surface, outer_area=lower, inner_area=lower))
    # The row begins twice as far off as the slope lies lower.
    assert "segments" not in rules_broken(made, wall)
    assert rules_broken(made, surface) & {"segments"} == broken


# --- boards that hang ---


def hung(made: BoardPlan, surface: FramedSurface, *codes: str) -> tuple[set[str], set[str]]:
    """The rules broken, and those amiss, where these boards of the plan hang."""
    boards = place(made.surfaces[0], surface.surface, set(codes))
    found = examine_plan(made, [surface], RULES, CATALOGUE, built=AsBuilt(boards=tuple(boards)))
    return {one.rule for one in found.broken}, {one.rule for one in found.amiss}


@pytest.mark.parametrize("start", [-0.25, 0, 0.375])
def test_hung_board_may_end_anywhere_between_outer_and_inner(start):
    made = edged(left=(start, 0, 0))
    assert hung(made, GIVEN, "A") == (set(), set())
    # Its row may be said to begin where the rest does.
    rows = (replace(made.surfaces[0].rows[0], segments=((Nm(0), inches(168)),)),)
    said = with_surface(made, rows=(*rows, *made.surfaces[0].rows[1:]))
    assert hung(said, GIVEN, "A") == (set(), set())


def test_hung_board_past_the_outer_edge_is_amiss():
    made = edged(left=(OUTER[0] - SIXTEENTH, 0, 0))
    rows = (replace(made.surfaces[0].rows[0], segments=((inches(-0.25), inches(168)),)),)
    said = with_surface(made, rows=(*rows, *made.surfaces[0].rows[1:]))
    assert hung(said, GIVEN, "A") == (set(), {"outline", "cover"})


def test_hung_board_short_of_the_inner_edge_is_amiss():
    made = edged(left=(INNER[0] + SIXTEENTH, 0, 0))
    rows = (replace(made.surfaces[0].rows[0], segments=((Nm(0), inches(168)),)),)
    said = with_surface(made, rows=(*rows, *made.surfaces[0].rows[1:]))
    assert hung(said, GIVEN, "A") == (set(), {"cover"})
