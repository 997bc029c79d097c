"""What one press ticks: all of a sheet, a surface, a room, or a coat."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from remodel.board.queries import takes_of_pile
from remodel.cards.models import COATS, DoneMark
from remodel.cards.queries import hanging_for, surface_names
from remodel.history.errors import Refused
from remodel.house.models import Room
from remodel.ticks import Ticked

__all__ = ["SurfaceAtOnce", "several", "surfaces_at_once"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceAtOnce:
    """A surface of the hanging order: how many of its boards hang."""

    key: str
    name: str
    done: int
    of: int


def surfaces_at_once(room: Room, steps: Sequence[Mapping[str, Any]]) -> list[SurfaceAtOnce]:
    """The surfaces that boards hang on, in the order in which they are begun."""
    names = surface_names(room)
    counts: dict[str, list[bool]] = {}
    for line in steps:
        if line["step"].piece:
            counts.setdefault(_key(line["step"].surface), []).append(bool(line["done"]))
    return [
        SurfaceAtOnce(key=key, name=names.get(key, key), done=sum(done), of=len(done))
        for key, done in counts.items()
    ]


def several(room: Room, what: str, item: str, plan: str) -> tuple[list[Ticked], str]:
    """The ticks of one press, and the words that say they are done. Raises `Refused` where there is
    nothing to tick."""
    if what == "sheet":
        ticks, words = _sheet(room, item, plan), f"Sheet {item} is cut"
    elif what == "surface":
        ticks, words = _hang(room, item), f"All of {surface_names(room).get(item, item)} hangs"
    elif what == "room":
        ticks, words = _hang(room, None), f"All of {room.name} hangs"
    elif what == "coat" and item in COATS:
        ticks = _coat(room, item)
        words = f"{DoneMark.Kind(item).label}: every surface"
    else:
        ticks, words = [], ""
    if not ticks:
        raise Refused("There is nothing to tick here any more. Load the page again")
    return ticks, words


def _sheet(room: Room, code: str, plan: str) -> list[Ticked]:
    """The pieces of one sheet, in whatever rooms of the pile they hang. `plan` names the plan that
    the page showed it of."""
    return [
        Ticked("cut", piece, room_key, plan)
        for mine in takes_of_pile(room).values()
        for sheet in mine.sheets
        if sheet.code == code
        for room_key, piece in sheet.pieces
    ]


def _hang(room: Room, surface: str | None) -> list[Ticked]:
    """Every step of the hanging order, or those of one surface."""
    return [
        Ticked("hung", step.piece) if step.piece else Ticked("step", step.key)
        for step in hanging_for(room) or ()
        if surface is None or _key(step.surface) == surface
    ]


def _coat(room: Room, kind: str) -> list[Ticked]:
    mine = takes_of_pile(room).get(room.pk)
    names = dict.fromkeys(take.name for take in mine.takes if take.kind == kind) if mine else {}
    return [Ticked(kind, name) for name in names]


def _key(surface: str) -> str:
    """The key of a surface in its room."""
    return surface.partition("/")[2]
