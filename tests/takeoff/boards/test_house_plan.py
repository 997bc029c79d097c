"""What is written on boards and sheets over a whole house."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from takeoff.boards.house_plan import plan_boards
from takeoff.needs.need import Phase


def placed_on(sheet):
    return [*sheet.crosscuts, *(piece for strip in sheet.strips for piece in strip.pieces)]


def test_no_two_boards_of_a_house_carry_the_same_mark(takeoff):
    pieces = [piece.code for plan in takeoff.surface_plans for piece in plan.pieces]
    sheets = [sheet.code for sheet in takeoff.sheets]
    offcuts = [offcut.id for sheet in takeoff.sheets for offcut in sheet.offcuts]
    marks = [*pieces, *sheets, *offcuts]
    assert len(takeoff.plans) > 1
    assert len(set(marks)) == len(marks)


def test_pieces_of_a_surface_are_numbered_under_its_letter(takeoff):
    surfaces = {framed.surface.id: framed.surface for framed in takeoff.framed}
    for plan in takeoff.surface_plans:
        mark = surfaces[plan.surface].mark
        assert [piece.code for piece in plan.pieces] == [
            f"{mark}{number}" for number in range(1, len(plan.pieces) + 1)
        ]


def test_sheets_of_a_room_are_numbered_on_from_one_kind_of_board_to_the_next(takeoff):
    for room in takeoff.rooms:
        codes = [sheet.code for sheet in takeoff.sheets if sheet.room == room.room]
        assert codes == [f"{room.code}{number}" for number in range(1, len(codes) + 1)]


def test_sheets_are_told_at_the_surface_they_are_begun_for(takeoff):
    surface_of = {
        piece.code: plan.surface for plan in takeoff.surface_plans for piece in plan.pieces
    }
    sheets = {sheet.code: sheet for sheet in takeoff.sheets if sheet.source is None}
    named = set()
    for need in takeoff.needs:
        if need.phase == Phase.HANGING and need.material.startswith("sheet-"):
            for reason in need.reasons:
                for code in reason.text.partition(": ")[2].split(", "):
                    placed = {
                        surface_of[placed_piece.piece] for placed_piece in placed_on(sheets[code])
                    }
                    assert reason.surface in placed
                    assert reason.surface.startswith(f"{need.room}/")
                    named.add(code)
    assert named == set(sheets)


def searched(takeoff, improve):
    """The plans of the house where `improve` is the search."""
    members = {framed.surface.id: framed for framed in takeoff.framed}
    plans, _ = plan_boards(takeoff.house, takeoff.rooms, members, improve=improve)
    return plans


def test_plan_that_the_checker_refuses_is_not_taken_from_a_search(takeoff):
    def improve(pool, start, share):
        yield replace(start, sheets=start.sheets[1:])

    assert searched(takeoff, improve) == takeoff.plans


def test_last_plan_that_the_checker_passes_is_taken_from_a_search(takeoff):
    def improve(pool, start, share):
        yield replace(start, bound=replace(start.bound, value=Fraction(1)))
        yield replace(start, bound=replace(start.bound, value=start.total + 1))

    plans = searched(takeoff, improve)
    assert [plan.bound.value for plan in plans] == [1] * len(takeoff.plans)


def test_pools_share_the_work_of_a_search_by_their_surfaces(takeoff):
    shares = {}

    def improve(pool, start, share):
        shares[pool.board, pool.thickness] = share
        yield start

    searched(takeoff, improve)
    surfaces = [len(plan.surfaces) for plan in takeoff.plans]
    assert list(shares.values()) == [Fraction(count, sum(surfaces)) for count in surfaces]
