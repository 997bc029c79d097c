"""Pieces that are cut or hang, as values that are stored: where they lie, the sheets they came
from, and the marks of a plan."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from remodel.bridge.plans import BoardPlan
from takeoff import codec
from takeoff.boards.hung import place, recut
from takeoff.boards.plan import Offcut, PlacedBoard, PlacedPiece, Sheet
from takeoff.boards.renewal import NOTHING_DONE, Done
from takeoff.boards.spares import spare_of
from takeoff.catalogue import OwnedSheet
from takeoff.choices import SurfaceKind
from takeoff.framing.members import FramedSurface
from takeoff.geometry.surface import Point
from takeoff.units import Nm

__all__ = [
    "NOTHING_DONE",
    "Done",
    "Offcut",
    "OwnedSheet",
    "PlacedBoard",
    "Sheet",
    "as_planned",
    "marks_in",
    "offcuts_of",
    "outer_shapes",
    "pieces_in",
    "read_board",
    "read_sheet",
    "recut_board",
    "shapes_of",
    "sheet_in",
    "with_new_marks",
    "write_board",
    "write_sheet",
]


@dataclass(frozen=True, slots=True)
class _Shape:
    """What has to be known of a surface to say where a piece of its plan was measured from."""

    kind: SurfaceKind
    outline: tuple[Point, ...]


def shapes_of(plan: BoardPlan, framed: Sequence[FramedSurface]) -> dict[str, Any]:
    """The surfaces that a plan was made for, by their ids, as they are stored with it."""
    by_id = {one.surface.id: one.surface for one in framed}
    return {
        surface.surface: codec.write(
            _Shape(by_id[surface.surface].kind, by_id[surface.surface].outline)
        )
        for surface in plan.surfaces
        if surface.surface in by_id
    }


def outer_shapes(plan: BoardPlan) -> dict[str, Any]:
    """The surfaces of a plan as far as its boards cover them, where nothing else is known of
    them."""
    shapes = {}
    for surface in plan.surfaces:
        us, vs = zip(*(point for piece in surface.pieces for point in piece.outline), strict=True)
        left, right, low, high = min(us), max(us), min(vs), max(vs)
        corners = ((left, low), (right, low), (right, high), (left, high))
        shapes[surface.surface] = codec.write(_Shape(SurfaceKind.WALL, corners))
    return shapes


def as_planned(
    plan: BoardPlan,
    shapes: Mapping[str, Any],
    marks: Collection[str],
    already: Sequence[PlacedBoard] = (),
) -> dict[str, PlacedBoard]:
    """The pieces with these marks where the plan has them, by mark. `shapes` are of `shapes_of`,
    and `already` are the boards that are in their places. A piece whose surface has no shape is
    left out."""
    boards: dict[str, PlacedBoard] = {}
    for surface in plan.surfaces:
        mine = {piece.code for piece in surface.pieces if piece.code in marks}
        if not mine or surface.surface not in shapes:
            continue
        shape = codec.read(_Shape, shapes[surface.surface])
        others = [board for board in already if board.surface == surface.surface]
        boards |= {board.mark: board for board in place(surface, shape, mine, others)}
    return boards


def recut_board(board: PlacedBoard, *, start: int | None, end: int | None) -> PlacedBoard:
    """The board with its ends where they really are, in nanometers along its course."""
    return recut(
        board,
        start=None if start is None else Nm(start),
        end=None if end is None else Nm(end),
    )


def offcuts_of(board: PlacedBoard) -> tuple[OwnedSheet, ...]:
    """What a board that is taken down is good for: an offcut under its mark, or nothing."""
    return spare_of(board)


def marks_in(plan: BoardPlan) -> Iterator[tuple[str, str]]:
    """Every mark of a plan with the key of the room it is used in: pieces, sheets, offcuts."""
    for surface in plan.surfaces:
        for piece in surface.pieces:
            yield surface.room, piece.code
    for sheet in plan.sheets:
        yield sheet.room, sheet.code
        for offcut in sheet.offcuts:
            yield sheet.room, offcut.id


def with_new_marks(plan: BoardPlan, taken: Collection[str]) -> BoardPlan:
    """The plan with another number in each mark that is `taken`, and otherwise the same."""
    mine = [mark for _, mark in marks_in(plan)]
    if not set(mine) & set(taken):
        return plan
    used = set(taken) | set(mine)
    new: dict[str, str] = {}
    for surface in plan.surfaces:
        for piece in surface.pieces:
            if piece.code in taken:
                new[piece.code] = _free_mark(piece.code, used)
    for sheet in plan.sheets:
        if sheet.code in taken:
            new[sheet.code] = _free_mark(sheet.code, used)
        for offcut in sheet.offcuts:
            if sheet.code in new and offcut.id.startswith(f"{sheet.code}."):
                new[offcut.id] = new[sheet.code] + offcut.id.removeprefix(sheet.code)
            elif offcut.id in taken:
                new[offcut.id] = _free_mark(offcut.id, used)

    def cut(pieces: Sequence[PlacedPiece]) -> tuple[PlacedPiece, ...]:
        return tuple(replace(one, piece=new.get(one.piece, one.piece)) for one in pieces)

    own = {offcut.id for sheet in plan.sheets for offcut in sheet.offcuts}
    return replace(
        plan,
        surfaces=tuple(
            replace(
                surface,
                pieces=tuple(
                    replace(piece, code=new.get(piece.code, piece.code)) for piece in surface.pieces
                ),
            )
            for surface in plan.surfaces
        ),
        sheets=tuple(
            replace(
                sheet,
                code=new.get(sheet.code, sheet.code),
                source=new.get(sheet.source, sheet.source) if sheet.source in own else sheet.source,
                crosscuts=cut(sheet.crosscuts),
                strips=tuple(replace(strip, pieces=cut(strip.pieces)) for strip in sheet.strips),
                offcuts=tuple(
                    replace(offcut, id=new.get(offcut.id, offcut.id)) for offcut in sheet.offcuts
                ),
            )
            for sheet in plan.sheets
        ),
    )


def _free_mark(mark: str, used: set[str]) -> str:
    """The next mark after one that is not `used`, which it is then."""
    found = re.fullmatch(r"(.*?)(\d*)", mark)
    assert found is not None
    stem, digits = found.groups()
    number = int(digits or 1)
    while (new := f"{stem}{number:0{len(digits)}d}") in used:
        number += 1
    used.add(new)
    return new


def pieces_in(plan: BoardPlan) -> dict[str, tuple[str, str, str]]:
    """The room's key, the surface's key and the sheet's code of each piece, by its mark."""
    sheets = {code: sheet.code for sheet in plan.sheets for code in _codes_on(sheet)}
    return {
        piece.code: (
            surface.room,
            surface.surface.partition("/")[2],
            sheets.get(piece.code, ""),
        )
        for surface in plan.surfaces
        for piece in surface.pieces
    }


def sheet_in(plan: BoardPlan, code: str) -> Sheet | None:
    return next((sheet for sheet in plan.sheets if sheet.code == code), None)


def _codes_on(sheet: Sheet) -> list[str]:
    placed = [*sheet.crosscuts, *(piece for strip in sheet.strips for piece in strip.pieces)]
    return [piece.piece for piece in placed]


def write_board(board: PlacedBoard) -> Any:
    return codec.write(board)


def read_board(raw: Any) -> PlacedBoard:
    board: PlacedBoard = codec.read(PlacedBoard, raw)
    return board


def write_sheet(sheet: Sheet) -> Any:
    return codec.write(sheet)


def read_sheet(raw: Any) -> Sheet:
    sheet: Sheet = codec.read(Sheet, raw)
    return sheet
