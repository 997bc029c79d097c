"""Pieces that came out of another sheet than planned, or were cut wrong."""

from __future__ import annotations

from dataclasses import replace

from takeoff.boards.plan import PlacedPiece
from takeoff.boards.renewal import Done, renew
from takeoff.job import Takeoff, take_off
from takeoff.units import Nm
from tests.bench.rooms import seeded_house
from tests.takeoff.boards.half_hung import pieces_on
from tests.takeoff.boards.renewed import assert_sound, done_of, sheet_of

HOUSE = seeded_house(4)
FIRST = take_off(HOUSE)


def told_sheet(takeoff: Takeoff, done: Done, mark: str) -> Done:
    """What is done, with a piece that hangs cut from a sheet of its own: `T1`."""
    board = next(board for board in done.boards if board.mark == mark)
    size = board.end - board.start, board.high - board.low
    planned = next(sheet for sheet in takeoff.sheets if mark in pieces_on(sheet))
    sheet = replace(
        planned,
        code="T1",
        source=None,
        crosscuts=(PlacedPiece(piece=mark, start=Nm(0), end=Nm(size[0]), width=planned.width),),
        rip_at=None,
        strips=(),
        offcuts=(),
    )
    others = tuple(
        one
        for one in done.sheets
        if one.code != planned.code or (done.cut - {mark}).intersection(pieces_on(one))
    )
    return replace(done, sheets=(*others, sheet), told=frozenset({"T1"}))


def full_width(takeoff: Takeoff) -> list[tuple[str, str]]:
    """Pieces that are crosscut, each with another piece of its sheet."""
    return [
        (sheet.crosscuts[0].piece, next(code for code in pieces_on(sheet)[1:]))
        for sheet in takeoff.sheets
        if sheet.crosscuts and len(pieces_on(sheet)) > 1 and sheet.source is None
    ]


def test_piece_of_another_sheet_leaves_the_planned_one_to_be_cut_anew():
    mark, beside = full_width(FIRST)[0]
    done = told_sheet(FIRST, done_of(FIRST, {mark}), mark)
    renewal = renew(HOUSE, FIRST.plans, done)
    assert renewal.fallen == ()  # it hangs where it was to hang
    assert_sound(renewal, FIRST.plans, done)
    assert sheet_of(renewal.takeoff.plans, mark).code == "T1"
    assert renewal.dissolved == (sheet_of(FIRST.plans, mark).code,)
    assert beside in renewal.recut
    again = renew(HOUSE, renewal.takeoff.plans, replace(done, told=frozenset()))
    assert [id(plan) for plan in again.takeoff.plans] == [id(p) for p in renewal.takeoff.plans]


def test_piece_of_another_sheet_frees_its_place_on_one_that_is_begun():
    mark, beside = full_width(FIRST)[0]
    done = told_sheet(FIRST, done_of(FIRST, {mark, beside}), mark)
    planned = sheet_of(FIRST.plans, mark)
    renewal = renew(HOUSE, FIRST.plans, done)
    assert_sound(renewal, FIRST.plans, done)
    now = next(sheet for sheet in renewal.takeoff.sheets if sheet.code == planned.code)
    assert beside in pieces_on(now)
    assert mark not in pieces_on(now)
    assert sheet_of(renewal.takeoff.plans, mark).code == "T1"


def test_piece_cut_wrong_stays_on_its_sheet_and_gets_another_mark():
    mark, beside = full_width(FIRST)[0]
    whole = done_of(FIRST, {beside}, {mark})
    done = replace(whole, boards=tuple(one for one in whole.boards if one.mark != mark))
    renewal = renew(HOUSE, FIRST.plans, done)
    assert [one.rule for one in renewal.fallen] == ["cut_wrong"]
    assert_sound(renewal, FIRST.plans, done)
    planned = sheet_of(FIRST.plans, mark)
    now = next(sheet for sheet in renewal.takeoff.sheets if sheet.code == planned.code)
    assert {mark, beside} <= set(pieces_on(now))
    laid = {piece.code for one in renewal.takeoff.surface_plans for piece in one.pieces}
    assert mark not in laid
