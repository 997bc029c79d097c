"""The bound by area is never above a plan, also where boards may end short of a corner."""

from __future__ import annotations

from takeoff.boards.check import check_plan
from takeoff.units import FOOT, INCH, Nm
from tests.takeoff.boards.corners import CATALOGUE, RULES, planned, room


def test_a_ceiling_that_its_corners_let_one_board_cover():
    # Half an inch over the longest sheet: a board of 12 ft covers it, its ends under the walls'.
    longest = max(sheet.length for sheet in CATALOGUE.sheets)
    length = Nm(longest + INCH // 2)
    plan, laid, framed = planned(room(length, Nm(12 * FOOT + INCH // 2), Nm(8 * FOOT)), "ceiling")
    assert len(laid.pieces) == len(laid.rows)
    assert {piece.end - piece.start for piece in laid.pieces} == {longest}
    assert plan.bound.value <= plan.total
    assert check_plan(plan, [framed], RULES, CATALOGUE) == ()
