"""The cut list of a room's lumber and other sticks, as pages and print show it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from remodel.bridge.views import RoomView
from takeoff.cut_list import CutStick, cut_lists
from takeoff.house import House
from takeoff.units import UnitSystem, tape_reading

__all__ = ["Cut", "SticksCut", "SticksOfOne", "cut_lists_of", "kerf_text"]


@dataclass(frozen=True, slots=True)
class Cut:
    """One cut: the length to mark, and what the piece is for."""

    length: str
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SticksCut:
    """Sticks that are cut the same: their numbers, how many and how long they are, the cuts in
    order, and what is left of each."""

    numbers: str
    count: int
    length: str
    cuts: tuple[Cut, ...]
    rest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SticksOfOne:
    """The sticks of one material that one phase of a room takes. `unmet` says why there are none;
    it is empty otherwise."""

    phase: str
    material: str
    name: str
    count: int
    sticks: tuple[SticksCut, ...]
    unmet: str


def cut_lists_of(view: RoomView, house: House) -> tuple[SticksOfOne, ...]:
    """The cut lists of a room by itself, from lengths on sale."""
    made = cut_lists(
        [line.need for line in view.needs],
        catalogue=house.catalogue,
        kerf=house.rules.kerf,
    )
    return tuple(
        SticksOfOne(
            phase=cut_list.phase,
            material=cut_list.material,
            name=cut_list.name,
            count=len(cut_list.sticks),
            sticks=tuple(_shown(sticks, house.units) for sticks in cut_list.alike),
            unmet=cut_list.unmet,
        )
        for cut_list in made
    )


def kerf_text(house: House) -> str:
    """What the saw takes at each cut."""
    return tape_reading(house.rules.kerf, house.units, feet=False)


def _shown(sticks: Sequence[CutStick], units: UnitSystem) -> SticksCut:
    first, last = sticks[0], sticks[-1]
    return SticksCut(
        numbers=f"{first.number} to {last.number}" if len(sticks) > 1 else str(first.number),
        count=len(sticks),
        length=tape_reading(first.length, units),
        cuts=tuple(Cut(tape_reading(piece.length, units), piece.what) for piece in first.pieces),
        rest=tape_reading(first.rest, units) if first.rest else "nothing",
    )
