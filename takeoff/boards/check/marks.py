"""Whether what is written on pieces and sheets tells them apart, and in which room they belong."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from takeoff.boards.check.facts import Breach, Facts
from takeoff.boards.plan import AsBuilt, BoardPlan

__all__ = ["check_marks"]


def check_marks(plan: BoardPlan, surfaces: Sequence[Facts], built: AsBuilt) -> Iterator[Breach]:
    """Breaches of `marks`: a new piece is marked with the code of its room, the letter of its
    surface and a number (K-A1), a new sheet with the code of the room it is first cut in and a
    number (K7), and no mark is on two boards.

    What is cut or hung, or stands as it was planned, has the mark that somebody wrote on it.
    Surfaces without a code are not looked at.
    """
    written = {board.mark for board in built.boards} | {sheet.code for sheet in built.sheets}
    written |= {piece.code for standing in built.standing for piece in standing.pieces}
    codes = {facts.plan.room: facts.surface.code for facts in surfaces if facts.surface.code}

    pieces: set[str] = set()
    for facts in surfaces:
        surface = facts.surface
        begins = f"{surface.code}-{surface.letter}"
        for piece in facts.plan.pieces:
            pieces.add(piece.code)
            if not surface.code or piece.code in written:
                continue
            if not _is_numbered(piece.code, begins):
                yield facts.breach(
                    "marks", f"Piece {piece.code} must be marked {begins} and a number"
                )

    for sheet in plan.sheets:
        if sheet.code in pieces:
            yield Breach(sheet.code, "marks", f"A sheet and a piece are both marked {sheet.code}")
        code = codes.get(sheet.room)
        if code is None or sheet.code in written:
            continue
        if not _is_numbered(sheet.code, code):
            yield Breach(
                sheet.code, "marks", f"Sheet {sheet.code} must be marked {code} and a number"
            )
        for offcut in sheet.offcuts:
            if not _is_numbered(offcut.id, f"{sheet.code}."):
                yield Breach(
                    sheet.code,
                    "marks",
                    f"Offcut {offcut.id} must be marked {sheet.code}, a dot and a number",
                )


def _is_numbered(mark: str, begins: str) -> bool:
    return re.fullmatch(re.escape(begins) + "[1-9][0-9]*", mark) is not None
