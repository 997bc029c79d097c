"""What is handed to a renewal, and what comes of it."""

from __future__ import annotations

from dataclasses import dataclass

from takeoff.boards.plan import Piece, PlacedBoard, Sheet
from takeoff.catalogue import OwnedSheet
from takeoff.job import Takeoff

__all__ = ["NOTHING_DONE", "Done", "Fallen", "Renewal", "is_at", "marks_on"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What is done already, whatever is planned.

    `boards` are the pieces that are cut, in the places they are cut for or hang in; `hung` are the
    marks of those that hang, and `off_plan` of those that no plan of then had there: what is
    planned goes around them. `sheets` are those begun, as they were planned; where a plan has one
    of them, it is as the plan has it. `cut` are the marks of all pieces that are cut of these: a
    piece that was cut wrong is among them and not among the boards, and a board that was cut from
    something else is not. `told` are the codes of those of the `sheets` that were cut otherwise
    than planned: they are as they are here, and what is on them is on no other sheet, whatever the
    plans say. `gone` are the marks of offcuts that are no more: thrown out, or cut up elsewhere.
    `taken` are marks that were used before.
    """

    boards: tuple[PlacedBoard, ...] = ()
    hung: frozenset[str] = frozenset()
    off_plan: frozenset[str] = frozenset()
    sheets: tuple[Sheet, ...] = ()
    cut: frozenset[str] = frozenset()
    told: frozenset[str] = frozenset()
    gone: frozenset[str] = frozenset()
    taken: frozenset[str] = frozenset()


NOTHING_DONE = Done()


@dataclass(frozen=True, slots=True, kw_only=True)
class Fallen:
    """Why a surface could not stand: the rule in the way, and a sentence."""

    surface: str
    rule: str
    message: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Renewal:
    """The takeoff of a house as it is now, and what is other in it than in the plans there were.

    A plan with nothing to change is the same object as before. `takeoff.built` tells what is done,
    and also the sheets and surfaces that stay as they were planned. `struck` are pieces that are no
    more and were not cut, `dissolved` sheets that are no more and were not begun. `spare` are the
    pieces that are cut and whose place fell: offcuts under their marks; `waste` are those of which
    no offcut is left. `recut` pieces stay where they are, and come out of another sheet than
    before. `leaning` are the surfaces of the plans that stand only as long as what hangs or is cut
    there does: a seam off its stud is amiss between two boards that hang, and impossible once one
    of them is open.
    """

    takeoff: Takeoff
    fallen: tuple[Fallen, ...] = ()
    struck: tuple[str, ...] = ()
    dissolved: tuple[str, ...] = ()
    spare: tuple[OwnedSheet, ...] = ()
    waste: tuple[str, ...] = ()
    recut: tuple[str, ...] = ()
    leaning: tuple[str, ...] = ()


def marks_on(sheet: Sheet) -> tuple[str, ...]:
    """The marks of the pieces of a sheet."""
    placed = (*sheet.crosscuts, *(piece for strip in sheet.strips for piece in strip.pieces))
    return tuple(piece.piece for piece in placed)


def is_at(piece: Piece, board: PlacedBoard) -> bool:
    """Whether a board is where a plan has the piece, and of the same outline."""
    return (piece.start, piece.end, piece.low, piece.high, piece.outline) == (
        board.start,
        board.end,
        board.low,
        board.high,
        board.outline,
    )
