"""A piece hangs differently than planned: it was cut wrong, a joint of it is elsewhere, it came out
of another sheet, or it was taken down. What is planned goes around it from then on.

Each entry keeps what it changed with the piece, so that it can be undone while nothing was cut or
hung since on what it changed.

    pieces    the piece as it stands, and what it can have come out of
    told      an entry written: cut wrong, a joint elsewhere, another sheet, taken down
    undo      the last entry undone, or why it cannot be
    entries   what these share
"""

from remodel.differently.pieces import Piece, Source, ends_to_choose, piece_of, sources_of
from remodel.differently.told import (
    CUT_WRONG,
    ELSEWHERE,
    OTHER_SHEET,
    TAKEN_DOWN,
    cut_wrong,
    joint_elsewhere,
    other_sheet,
    taken_down,
    taken_down_for_edit,
)
from remodel.differently.undo import undo_told, why_not_undone

__all__ = [
    "CUT_WRONG",
    "ELSEWHERE",
    "OTHER_SHEET",
    "TAKEN_DOWN",
    "Piece",
    "Source",
    "cut_wrong",
    "ends_to_choose",
    "joint_elsewhere",
    "other_sheet",
    "piece_of",
    "sources_of",
    "taken_down",
    "taken_down_for_edit",
    "undo_told",
    "why_not_undone",
]
