"""Where the pieces of a room hang, and which sheets are cut in it: what a tick of a piece or a
sheet is looked up by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from takeoff.boards.plan import BoardPlan, Piece, Sheet
from takeoff.needs.areas import shape_area
from takeoff.needs.materials import sheet_id
from takeoff.units import MM

__all__ = ["PiecePlace", "PlannedSheet", "piece_key", "places_of", "sheets_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PiecePlace:
    """One piece of a room's board: its key, the code of its sheet, and where it hangs.

    `plan` names the board plan it is of, whose kind of board and thickness (nanometres) it has.
    `sheet` is empty where no sheet of the plan holds it. `box` is the smallest upright rectangle
    about its outline, (u0, v0, u1, v1) on its surface in nanometres. `area` is of its outline, in
    square millimetres, half to even.
    """

    key: str
    sheet: str
    plan: str
    board: str
    thickness: int
    box: tuple[int, int, int, int]
    area: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedSheet:
    """One sheet that is cut in `room`, and the pieces that come out of it, by room and key.

    `source` is None for a sheet that is bought, else the id of the owned sheet or the offcut it
    is. `item` is the id that a bought sheet of its size has in needs and supply.
    """

    code: str
    room: str
    source: str | None
    item: str
    board: str
    thickness: int
    plan: str
    pieces: tuple[tuple[str, str], ...]


def piece_key(piece: Piece) -> str:
    """Return the key of a piece in its room: its surface's key there and its mark.

    >>> piece_key(Piece(code="A-01", surface="kitchen/A", row=0, start=0, end=1, low=0, high=1,
    ...                 outline=()))
    'A.A-01'
    """
    return f"{piece.surface.partition('/')[2]}.{piece.code}"


def places_of(
    plans: Sequence[BoardPlan], plan_names: Sequence[str], room: str
) -> tuple[PiecePlace, ...]:
    """Return the place of every piece of `room`, plan by plan. `plan_names` are the names of the
    plans, in their order."""
    return tuple(
        _place(piece, sheets.get(piece.code, ""), board_plan, name)
        for board_plan, name in zip(plans, plan_names, strict=True)
        for sheets in [_sheet_of_each(board_plan)]
        for surface in board_plan.surfaces
        if surface.room == room
        for piece in surface.pieces
    )


def sheets_of(
    plans: Sequence[BoardPlan], plan_names: Sequence[str], room: str
) -> tuple[PlannedSheet, ...]:
    """Return every sheet that is cut in `room`, plan by plan, in the order they are cut. Pieces of
    theirs may hang in other rooms."""
    sheets: list[PlannedSheet] = []
    for board_plan, name in zip(plans, plan_names, strict=True):
        where = {
            piece.code: (surface.room, piece_key(piece))
            for surface in board_plan.surfaces
            for piece in surface.pieces
        }
        sheets += [
            PlannedSheet(
                code=sheet.code,
                room=room,
                source=sheet.source,
                item=sheet_id(sheet.board, sheet.thickness, sheet.width, sheet.length),
                board=sheet.board,
                thickness=sheet.thickness,
                plan=name,
                # A piece that was cut wrong or taken down is on its sheet and on no surface.
                pieces=tuple(where[code] for code in _codes_on(sheet) if code in where),
            )
            for sheet in board_plan.sheets
            if sheet.room == room
        ]
    return tuple(sheets)


def _codes_on(sheet: Sheet) -> list[str]:
    placed = [*sheet.crosscuts, *(piece for strip in sheet.strips for piece in strip.pieces)]
    return [piece.piece for piece in placed]


def _sheet_of_each(plan: BoardPlan) -> dict[str, str]:
    return {code: sheet.code for sheet in plan.sheets for code in _codes_on(sheet)}


def _place(piece: Piece, sheet: str, plan: BoardPlan, name: str) -> PiecePlace:
    us, vs = zip(*piece.outline, strict=True)
    return PiecePlace(
        key=piece_key(piece),
        sheet=sheet,
        plan=name,
        board=plan.surfaces[0].board,
        thickness=plan.surfaces[0].thickness,
        box=(min(us), min(vs), max(us), max(vs)),
        area=round(shape_area(piece.outline) / MM**2),
    )
