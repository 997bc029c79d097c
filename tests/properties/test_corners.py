"""A little over a module is a module: boards of rooms measured sixteenth by sixteenth around the
lengths and widths that sheets are sold in."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from takeoff.boards.check import check_plan
from takeoff.boards.plan import BoardPlan
from takeoff.choices import OpeningKind, Orientation, Runs
from takeoff.house import Opening, Outline, Room, Wall
from takeoff.rules import Rules
from takeoff.units import INCH, Nm
from tests.takeoff.boards.corners import has_core, off_sheets, planned, room
from tests.takeoff.needs_room import CATALOGUE

# The lengths that the demo catalogue sells. Past them each row has a joint on a member, so only one
# of its ends can give way.
FEET = (8, 9, 10, 12)
WIDTHS = (96, 144, 192)
TWO = Nm(2 * INCH)
# From half an inch under a module to an inch and a half over, in sixteenths.
AROUND = range(-8, 25)
STEP = 3  # of these, every third in the quick run; all of them in the deep one


def inches(whole: float, sixteenths: int = 0) -> Nm:
    return Nm(round(whole * 16 + sixteenths) * INCH // 16)


def window(width: Nm) -> Opening:
    return Opening(
        id="w",
        name="Window",
        kind=OpeningKind.WINDOW,
        wall="A",
        left=Nm((width - 40 * INCH) // 2 // INCH * INCH),
        sill=inches(34),
        width=inches(40),
        height=inches(46),
    )


def counted(plan: BoardPlan) -> tuple[int, int]:
    return len(plan.sheets), sum(len(surface.joints) for surface in plan.surfaces)


def steps(deep: bool) -> list[int]:
    return [step for step in AROUND if deep or step % STEP == 0]


QUICK_AND_DEEP = pytest.mark.parametrize(
    "deep", [False, pytest.param(True, marks=pytest.mark.deep)], ids=["quick", "all"]
)


@QUICK_AND_DEEP
@pytest.mark.parametrize("feet", FEET)
def test_ceiling_just_over_a_length_takes_the_boards_of_that_length(feet: int, deep: bool) -> None:
    module = counted(planned(room(inches(12 * feet), inches(144), inches(97)), "ceiling")[0])
    for step in steps(deep):
        plan, surface, framed = planned(
            room(inches(12 * feet, step), inches(144), inches(97)), "ceiling"
        )
        if 0 <= step <= 8:
            assert counted(plan) <= module, step
        assert all(has_core(piece, framed, TWO) for piece in surface.pieces)


@QUICK_AND_DEEP
@pytest.mark.parametrize("width", WIDTHS)
def test_ceiling_just_over_whole_rows_takes_whole_rows(width: int, deep: bool) -> None:
    module = counted(planned(room(inches(120), inches(width), inches(97)), "ceiling")[0])
    for step in steps(deep):
        plan, surface, framed = planned(
            room(inches(120), inches(width, step), inches(97)), "ceiling"
        )
        if 0 <= step <= 8:
            assert counted(plan) <= module, step
            assert not list(off_sheets(surface)), step
        assert all(row.high - row.low >= TWO for row in surface.rows), step
        assert all(has_core(piece, framed, TWO) for piece in surface.pieces)
        for off in off_sheets(surface):
            assert off >= TWO or any(note.rule == "hair_rip" for note in surface.notes), step


@QUICK_AND_DEEP
@pytest.mark.parametrize("opened", [False, True], ids=["plain", "window"])
@pytest.mark.parametrize("feet", FEET)
def test_wall_hung_first_just_over_a_length(feet: int, opened: bool, deep: bool) -> None:
    def of(step: int):
        length = inches(12 * feet, step)
        openings = (window(length),) if opened else ()
        return planned(room(length, inches(120), inches(97.125), openings=openings), "A")

    module = counted(of(0)[0])
    for step in steps(deep):
        plan, surface, framed = of(step)
        if 0 <= step <= 8:
            assert counted(plan) <= module, step
        assert all(has_core(piece, framed, TWO) for piece in surface.pieces)


@QUICK_AND_DEEP
@pytest.mark.parametrize("orientation", [Orientation.ACROSS, Orientation.ALONG])
def test_wall_height_around_two_rows(orientation: Orientation, deep: bool) -> None:
    rules = replace(Rules(), orientation=orientation)
    # The ceiling's board and the floor gap come off the framing.
    for step in range(-8, 40) if deep else range(-8, 40, STEP):
        plan, surface, framed = planned(
            room(inches(144), inches(120), inches(96.5, step)), "A", rules
        )
        assert all(row.high - row.low >= TWO for row in surface.rows), step
        assert all(has_core(piece, framed, TWO) for piece in surface.pieces)
        if 4 <= step <= 26:
            # Two rows of 48 in, or sheets of 8 ft on end, leave a gap of 1/4 to 1-1/2 in at the
            # floor, and up to 1/8 in at the ceiling.
            assert {sheet.length for sheet in plan.sheets} <= {inches(96), inches(144)}
            assert not surface.joints


def least_board(height: int) -> int:
    """The fewest inches that rows of 48 and 54 in add up to, to cover so much: every mix tried."""
    return min(
        48 * narrow + 54 * wide
        for narrow in range(6)
        for wide in range(6)
        if (48 * narrow + 54 * wide) * INCH >= height
    )


@QUICK_AND_DEEP
def test_wall_takes_the_least_board_that_its_gaps_leave_to_cover(deep: bool) -> None:
    # 1/2 in of ceiling board come off the framing, 1/8 in of gap there and 1-1/2 in at the floor.
    for step in range(0, 16 * 18, 1 if deep else 11):
        framing = inches(95, step)
        _, surface, _ = planned(room(inches(144), inches(120), framing), "A")
        taken = sum(row.sheet_width for row in surface.rows)
        assert taken == least_board(framing - inches(2, 2)) * INCH, step


@QUICK_AND_DEEP
def test_ceiling_takes_the_least_board_that_its_gaps_leave_to_cover(deep: bool) -> None:
    # Its edges are covered by the walls, so each may stay 3/8 in off.
    for step in range(0, 16 * 60, 3 if deep else 41):
        width = inches(138, step)
        _, surface, _ = planned(room(inches(120), width, inches(97)), "ceiling")
        taken = sum(row.sheet_width for row in surface.rows)
        assert taken == least_board(width - inches(0, 12)) * INCH, step


@QUICK_AND_DEEP
@pytest.mark.parametrize("feet", [8, 10, 12])
def test_columns_are_never_slivers(feet: int, deep: bool) -> None:
    rules = replace(Rules(), orientation=Orientation.ALONG)
    for step in steps(deep):
        for only in ("A", "B"):
            length, width = inches(12 * feet, step), inches(120)
            if only == "B":
                length, width = width, length
            _, surface, framed = planned(room(length, width, inches(97.125)), only, rules)
            assert all(row.high - row.low >= TWO for row in surface.rows), (only, step)
            assert all(has_core(piece, framed, TWO) for piece in surface.pieces)
            for off in off_sheets(surface):
                assert off >= TWO or any(note.rule == "hair_rip" for note in surface.notes)


@QUICK_AND_DEEP
def test_window_at_a_seam_leaves_no_tongues(deep: bool) -> None:
    """Sill and head a little off the seams of the rows: the row is parted where less than two
    inches are left above and below, and no piece is all tongues."""
    # The upper row goes from 51-1/2 to 99-1/2 in.
    for step in range(-32, 24, 1 if deep else 4):
        for height in (44, 46):
            opening = replace(window(inches(144)), sill=inches(52, step), height=inches(height))
            _, surface, framed = planned(
                room(inches(144), inches(120), inches(100), openings=(opening,)), "A"
            )
            assert all(has_core(piece, framed, TWO) for piece in surface.pieces), (step, height)


@QUICK_AND_DEEP
def test_ceiling_of_columns(deep: bool) -> None:
    rules = replace(Rules(), orientation=Orientation.ALONG)
    for step in steps(deep):
        _, surface, framed = planned(
            room(inches(144, step), inches(120), inches(97), runs=Runs.ACROSS), "ceiling", rules
        )
        assert all(row.high - row.low >= TWO for row in surface.rows), step
        assert all(has_core(piece, framed, TWO) for piece in surface.pieces)


def ell(step: int, feet: int) -> Room:
    """An L whose inner wall stands 12 ft and `step` sixteenths from wall A, four rows in all."""
    leg, past = inches(144, step), inches(48)
    lengths = (inches(12 * feet + 96), leg, inches(12 * feet), past, inches(96), Nm(leg + past))
    walls = tuple(
        Wall(id=key, name=key, length=length, turn=Decimal(-90 if key == "C" else 90))
        for key, length in zip("ABCDEF", lengths, strict=True)
    )
    square = room(inches(240), inches(192), inches(97))
    return replace(square, shape=Outline(walls=walls), hang_first=())


@QUICK_AND_DEEP
@pytest.mark.parametrize("feet", [8, 12])
def test_ceiling_of_an_l_just_over_its_rows_takes_whole_rows(feet: int, deep: bool) -> None:
    module = counted(planned(ell(0, feet), "ceiling")[0])
    for step in range(-8, 13, 1 if deep else STEP):
        plan, surface, framed = planned(ell(step, feet), "ceiling")
        assert not check_plan(plan, (framed,), Rules(), CATALOGUE), step
        if 0 <= step <= 12:
            # Four rows have a corner gap of 3/8 in at most on either side.
            assert counted(plan) <= module, step
            assert not list(off_sheets(surface)), step
        assert len(surface.pieces) <= 7, step
