"""An edit beside boards that are cut or hang: what it has against them, and what follows of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from remodel.bridge.lengths import tape_text
from remodel.bridge.placed import PlacedBoard
from remodel.bridge.records import board_kinds_value, house_value
from remodel.bridge.views import PileResult
from takeoff.boards.against import Clash, ClashKind, clashes
from takeoff.framing.members import FramedSurface, frame
from takeoff.geometry.rooms import house_geometry

__all__ = [
    "Clash",
    "Follows",
    "Surfaces",
    "clash_text",
    "clashes_of",
    "marks_of",
    "same_boards",
    "surfaces_of",
    "together",
    "what_follows",
]

Surfaces = dict[str, FramedSurface]


@dataclass(frozen=True, slots=True, kw_only=True)
class Follows:
    """What follows of an edit for the boards of a pile: pieces not cut yet that change or are new,
    sheets to buy more (or fewer, under zero), and cents more."""

    pieces: int
    sheets: int
    cents: Fraction


def surfaces_of(house: Any) -> Surfaces:
    """The surfaces of a house by their ids, with what is behind them. Nothing is planned for it.
    Raises `TakeoffError` where a room cannot be built."""
    value = house_value(house, catalogue=board_kinds_value(house))
    return {
        surface.id: frame(surface, value.rules)
        for room in house_geometry(value).rooms
        for surface in room.surfaces
    }


def clashes_of(
    boards: Sequence[PlacedBoard], before: Surfaces, after: Surfaces
) -> tuple[Clash, ...]:
    """What an edit has against boards that are cut or hang, by the surfaces before and after."""
    return clashes(boards, before, after)


def clash_text(clash: Clash, units: str) -> str:
    """What speaks against a board, in a sentence."""
    by = tape_text(clash.by, units)
    return {
        ClashKind.HOLE: f"{clash.name} lies on it.",
        ClashKind.OPENING: f"{clash.name} lies on it.",
        ClashKind.LEFT: f"Its hole for {clash.name} is no longer where it is needed.",
        ClashKind.OUTLINE: f"It reaches {by} past the edge of the surface as measured now."
        if clash.by
        else "It no longer has the shape of the surface.",
        ClashKind.OVERLAP: f"Its place and that of {clash.name} overlap.",
        ClashKind.BOARD: "The surface is to get another board.",
        ClashKind.BARE: "The surface is to get no new board.",
        ClashKind.GONE: "The surface is gone.",
        ClashKind.FRAMING: "One of its ends is no longer on framing.",
    }[clash.kind]


def what_follows(before: PileResult, after: PileResult, placed: Collection[str]) -> Follows:
    """What is another in the boards of a pile. `placed` are the marks of pieces that are cut or
    hang, which do not count as changed."""
    old, new = _pieces(before), _pieces(after)
    made = {mark for mark, place in new.items() if old.get(mark) != place} - set(placed)
    struck = {mark for mark, place in old.items() if new.get(mark) != place} - set(placed)
    return Follows(
        pieces=max(len(made), len(struck)),
        sheets=_bought(after) - _bought(before),
        cents=sum((one.cost for one in after.summaries), Fraction(0))
        - sum((one.cost for one in before.summaries), Fraction(0)),
    )


def together(each: Iterable[Follows]) -> Follows:
    """What follows in several piles, as one."""
    some = list(each)
    return Follows(
        pieces=sum(one.pieces for one in some),
        sheets=sum(one.sheets for one in some),
        cents=sum((one.cents for one in some), Fraction(0)),
    )


def same_boards(before: PileResult, after: PileResult) -> bool:
    """Whether the boards of a pile lie as they lay, whatever their marks are."""
    return Counter(_pieces(before).values()) == Counter(_pieces(after).values())


def marks_of(result: PileResult) -> list[str]:
    """The marks of all pieces of a pile's plans, surface by surface."""
    return list(_pieces(result))


def _pieces(result: PileResult) -> dict[str, object]:
    return {
        piece.code: (surface.surface, piece.outline)
        for pool in result.pools
        for surface in pool.plan.surfaces
        for piece in surface.pieces
    }


def _bought(result: PileResult) -> int:
    return sum(sheet.is_whole for pool in result.pools for sheet in pool.plan.sheets)
