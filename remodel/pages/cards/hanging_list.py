"""The hanging order as a list for the phone: what comes before, each surface with its boards, what
comes after. A board is one line: its step, its mark, where it goes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from remodel.cards.queries import (
    cards_for,
    hanging_for,
    step_marks,
    surface_names,
    ticked_pieces,
)
from remodel.house.models import Room
from remodel.pages.cards.framing import with_framing

__all__ = ["HangGroup", "groups_of", "hang_lines"]

BEFORE, AFTER = "Before the first board", "After the last board"
_BOARD, _BACKER, _AFTER = "a board", "a seam backer", "after the last board"


@dataclass(slots=True, kw_only=True)
class HangGroup:
    """Lines that are done at one place. `why` is the reason for the first board of a surface."""

    title: str
    why: str = ""
    is_surface: bool = False
    lines: list[dict[str, Any]] = field(default_factory=list)

    @property
    def done(self) -> int:
        return sum(bool(line["done"]) for line in self.lines)

    @property
    def of(self) -> int:
        """How many lines are ticked; framing that is still to be done is told of elsewhere."""
        return sum("step" in line for line in self.lines)


def hang_lines(room: Room) -> list[dict[str, Any]]:
    """The steps of hanging a room, each with its tick and the sheet its board is cut from."""
    hung, ticked = ticked_pieces(room.house_id, "hung"), step_marks(room)
    cards = cards_for(room)
    sheets = {
        piece.key: sheet.key
        for sheet in (cards.sheets if cards else ())
        for piece in sheet.pieces
        if piece.room_key == room.key
    }
    return [
        {
            "step": step,
            "kind": "hung" if step.piece else "step",
            "item": step.piece or step.key,
            "done": (room.key, step.piece) in hung if step.piece else step.key in ticked,
            "sheet": sheets.get(step.piece, ""),
        }
        for step in hanging_for(room) or ()
    ]


def groups_of(room: Room, lines: Sequence[dict[str, Any]]) -> list[HangGroup]:
    """The lines of a hanging list as groups, with what is still to be framed where it belongs."""
    names = surface_names(room)
    groups: list[HangGroup] = []
    for line in with_framing(room, lines):
        title, is_surface = _title(line, names, groups)
        if not groups or groups[-1].title != title:
            # the first half; the list of reasons has all of it
            why = line["step"].reason.partition(";")[0] if is_surface and "step" in line else ""
            groups.append(HangGroup(title=title, why=why, is_surface=is_surface))
        groups[-1].lines.append(line)
    return groups


def _title(
    line: dict[str, Any], names: dict[str, str], groups: Sequence[HangGroup]
) -> tuple[str, bool]:
    """The group a line stands in, and whether that is a surface."""
    step = line.get("step")
    if step is not None and step.kind in (_BOARD, _BACKER):
        key = step.surface.partition("/")[2]
        return names.get(key, key), True
    if step is not None and step.kind == _AFTER:
        return AFTER, False
    if not groups:
        return BEFORE, False
    # What comes between boards (the lift goes out, a partition is framed) stands with the last.
    last = groups[-1]
    return last.title, last.is_surface
