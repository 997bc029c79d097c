"""The cut list of what is cut from sticks: which stick, which cuts, what is left of it."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from takeoff.catalogue import Catalogue, StockItem
from takeoff.errors import TakeoffError
from takeoff.needs.need import Need, in_phase_order
from takeoff.supply import SNIPPED, Shelf, cut_for, sticks_of
from takeoff.units import Nm

__all__ = ["CutList", "CutPiece", "CutStick", "cut_lists"]


@dataclass(frozen=True, slots=True)
class CutPiece:
    """One piece of a stick: its length, and what it is cut for."""

    length: Nm
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CutStick:
    """One stick and its pieces in the order they are cut, longest first.

    `owned` says that it is at hand. `rest` is what is left once every cut has taken its kerf; 0
    where the pieces use the stick up.
    """

    number: int
    length: Nm
    owned: bool
    pieces: tuple[CutPiece, ...]
    rest: Nm


@dataclass(frozen=True, slots=True, kw_only=True)
class CutList:
    """The sticks of one material that one phase takes, those at hand first. `unmet` says why there
    are none where no stick that is known is long enough; it is empty otherwise."""

    phase: str
    material: str
    name: str
    sticks: tuple[CutStick, ...]
    unmet: str = ""

    @property
    def alike(self) -> tuple[tuple[CutStick, ...], ...]:
        """The sticks that follow each other and are cut the same, together."""
        return tuple(
            tuple(sticks)
            for _, sticks in groupby(
                self.sticks, key=lambda stick: (stick.length, stick.owned, stick.pieces)
            )
        )


def cut_lists(
    needs: Sequence[Need],
    *,
    catalogue: Catalogue,
    kerf: Nm,
    stock: Sequence[StockItem] = (),
) -> tuple[CutList, ...]:
    """Return a list for each phase and each material that is cut from sticks, in the order of the
    work, then of the shelf. Needs of several rooms are cut from the same sticks.

    Sticks are chosen as for the supply list (`takeoff.supply.order`), with `kerf` between two
    pieces but in what is snipped. `stock` is used up in the order of the phases. A piece is told by
    the reason it is needed for.
    """
    shelf = Shelf(catalogue, ())
    at_hand: dict[str, list[Nm]] = defaultdict(list)
    for item in stock:
        if shelf.sells(item.material) and shelf.material(item.material).cut:
            at_hand[item.material] += sticks_of(item.material, [item.amount])
    return tuple(
        _cut_list(phase, material, wanted, shelf, kerf, at_hand[material])
        for phase, material, wanted in _by_phase_and_material(needs, shelf)
    )


def _by_phase_and_material(
    needs: Sequence[Need], shelf: Shelf
) -> Iterator[tuple[str, str, list[Need]]]:
    for phase in in_phase_order(need.phase for need in needs):
        by_material: dict[str, list[Need]] = {}
        for need in needs:
            if need.phase == phase and need.lengths:
                by_material.setdefault(need.material, []).append(need)
        for material in sorted(by_material, key=shelf.place):
            yield phase, material, by_material[material]


def _cut_list(
    phase: str,
    material: str,
    needs: Sequence[Need],
    shelf: Shelf,
    kerf: Nm,
    at_hand: list[Nm],
) -> CutList:
    """One list; takes the sticks it uses out of `at_hand`."""
    name = shelf.name(material)
    saw = Nm(0) if material in SNIPPED else kerf
    lengths = [Nm(length) for need in needs for length in need.lengths]
    try:
        plan = cut_for(shelf.material(material), lengths, kerf=kerf, owned=at_hand)
    except TakeoffError as error:
        return CutList(
            phase=phase, material=material, name=name, sticks=(), unmet=f"{name}: {error}"
        )
    what_for = _what_for(needs)
    sticks = []
    for number, stick in enumerate(plan.sticks, start=1):
        if stick.stock.owned:
            at_hand.remove(stick.stock.length)
        pieces = tuple(
            CutPiece(length, what_for[length].popleft() if what_for[length] else "")
            for length in stick.pieces
        )
        taken = sum(stick.pieces) + saw * len(pieces)
        sticks.append(
            CutStick(
                number=number,
                length=stick.stock.length,
                owned=stick.stock.owned,
                pieces=pieces,
                rest=Nm(max(0, stick.stock.length - taken)),
            )
        )
    return CutList(phase=phase, material=material, name=name, sticks=tuple(sticks))


def _what_for(needs: Sequence[Need]) -> dict[Nm, deque[str]]:
    """What the pieces of each length are for, piece by piece, in the order of the reasons."""
    what_for: dict[Nm, deque[str]] = defaultdict(deque)
    for need in needs:
        for reason in need.reasons:
            for length in reason.lengths:
                what_for[Nm(length)].append(reason.piece or reason.text)
    return what_for
