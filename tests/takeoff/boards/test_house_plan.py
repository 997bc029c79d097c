"""What is written on boards and sheets over a whole house."""

from __future__ import annotations

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


def test_pieces_of_one_surface_share_its_letters_and_no_other_has_them(takeoff):
    letters = [
        {piece.code.partition("-")[0] for piece in plan.pieces} for plan in takeoff.surface_plans
    ]
    assert all(len(letter) == 1 for letter in letters)
    assert len(set.union(*letters)) == len(letters)


def test_sheets_of_one_kind_of_board_share_a_mark_and_are_numbered_on(takeoff):
    for plan in takeoff.plans:
        marks = {sheet.code.rstrip("0123456789") for sheet in plan.sheets}
        assert len(marks) == 1
        assert [int(sheet.code.removeprefix(*marks)) for sheet in plan.sheets] == list(
            range(1, len(plan.sheets) + 1)
        )


def test_sheets_are_told_at_the_surface_they_are_begun_for(takeoff):
    surface_of = {
        piece.code: plan.surface for plan in takeoff.surface_plans for piece in plan.pieces
    }
    sheets = {sheet.code: sheet for sheet in takeoff.sheets if sheet.source is None}
    named = set()
    for need in takeoff.needs:
        if need.phase is Phase.HANGING and need.material.startswith("sheet-"):
            for reason in need.reasons:
                for code in reason.text.partition(": ")[2].split(", "):
                    placed = {
                        surface_of[placed_piece.piece] for placed_piece in placed_on(sheets[code])
                    }
                    assert reason.surface in placed
                    assert reason.surface.startswith(f"{need.room}/")
                    named.add(code)
    assert named == set(sheets)
