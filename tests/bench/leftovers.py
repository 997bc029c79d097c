"""Rooms bought one after another: each alone from the store, or with what the rooms before left.

A house of eight seeded rooms, every other one in whole inches. Whatever is ordered comes sheet by
sheet, so ordering leaves no whole sheet over; a few are found at the start instead.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from takeoff.boards.plan import Offcut, Sheet
from takeoff.catalogue import OwnedSheet, SheetOnSale, sheet_id
from takeoff.house import House, QuickRoom, Room
from takeoff.job import SearchOptions, Takeoff, take_off
from takeoff.needs.areas import shape_area
from takeoff.units import FOOT, INCH, Nm
from tests.bench.rooms import SHEETS_ON_SALE, seeded_house

__all__ = ["Played", "house_of_eight", "leftovers", "play"]

ROOMS = 8
# The first house is the one that is looked at while the planner is worked on; nothing is tuned on
# the second.
SEEDS = (11, 2027)
FOUND = ((12, 3), (8, 4))  # whole sheets found at the start: feet long, how many


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """What the rooms took in all. `hung` is the area of the boards that hang, openings in them
    counted, and `here` of the whole sheets used that were not bought. `offcuts` counts those that
    served a later room, and `unused` is the area of those that served none."""

    bought: tuple[Sheet, ...]
    here: Fraction
    hung: Fraction
    seams: Fraction
    offcuts: int
    unused: Fraction

    @property
    def area(self) -> Fraction:
        return sum((_area(sheet) for sheet in self.bought), Fraction(0))

    @property
    def cost(self) -> int:
        return sum(sheet.price for sheet in self.bought)

    @property
    def waste(self) -> float:
        """Board that was cut up and hangs nowhere, in percent of what hangs."""
        return float((self.area + self.here) / self.hung - 1) * 100


def leftovers() -> None:
    """Print what the rooms take with leftovers and without, for each seed."""
    for seed in SEEDS:
        house, begun = house_of_eight(seed), time.perf_counter()
        ways = {
            "each room alone": play(house, keep=False),
            "with offcuts": play(house),
            "with offcuts and found": play(house, found=_found()),
        }
        tuned = "" if seed == SEEDS[0] else ", not tuned on"
        print(f"  house {seed}{tuned}: {ROOMS} rooms, {time.perf_counter() - begun:.1f} s")
        for name, played in ways.items():
            first = next(iter(ways.values()))
            print(
                f"    {name:<23} {len(played.bought):3} sheets bought, "
                f"{float(played.area):6.0f} sq ft, waste {played.waste:4.1f} % of "
                f"{float(played.hung):.0f} sq ft that hang, sheets {_money(played.cost)} "
                f"({float(Fraction(played.cost) / first.cost - 1) * 100:+.1f} %), "
                f"seams {_money(played.seams)}, {played.offcuts} offcuts used, "
                f"{float(played.unused):.0f} sq ft of them left"
            )


def house_of_eight(seed: int) -> House:
    """A seeded house, every other room of it in whole inches."""
    house = seeded_house(seed, rooms=ROOMS)
    rooms = (
        _in_whole_inches(room) if number % 2 else room for number, room in enumerate(house.rooms)
    )
    return replace(house, rooms=tuple(rooms))


def _in_whole_inches(room: Room) -> Room:
    shape = room.shape
    if not isinstance(shape, QuickRoom):
        raise TypeError(f"room {room.id} is no room of four walls")
    whole = replace(
        shape,
        length=Nm(shape.length // INCH * INCH),
        width=Nm(shape.width // INCH * INCH),
    )
    return replace(room, shape=whole)


def play(
    house: House,
    *,
    keep: bool = True,
    found: Sequence[OwnedSheet] = (),
    search: SearchOptions | None = None,
) -> Played:
    """Plan the rooms of a house one after another, each bought by itself. What is left of `found`,
    and the offcuts that a plan keeps where `keep` says so, serve the rooms after it, each once."""
    stock = {sheet.id: sheet for sheet in found}
    bought: list[Sheet] = []
    here = hung = seams = Fraction(0)
    offcuts = 0
    for room in house.rooms:
        rules = replace(house.rules, owned=tuple(stock.values()))
        done = take_off(replace(house, rooms=(room,), rules=rules), search=search)
        if done.refused:
            raise RuntimeError(f"room {room.id} cannot be boarded: {done.refused[0].message}")
        _take(stock, done)
        bought += [sheet for sheet in done.sheets if sheet.source is None]
        from_stock = [sheet for sheet in done.sheets if sheet.source is not None]
        here += sum((_area(sheet) for sheet in from_stock if sheet.is_whole), Fraction(0))
        offcuts += sum(not sheet.is_whole for sheet in from_stock)
        hung += _hung(done)
        seams += sum((plan.seam_cost for plan in done.plans), Fraction(0))
        if keep:
            for sheet in done.sheets:
                for offcut in sheet.offcuts:
                    left = _kept(sheet, offcut, room.id)
                    stock[left.id] = left
    unused = sum((_area(one) * one.count for one in stock.values() if not one.whole), Fraction(0))
    return Played(
        bought=tuple(bought),
        here=here,
        hung=hung,
        seams=seams,
        offcuts=offcuts,
        unused=unused,
    )


def _take(stock: dict[str, OwnedSheet], done: Takeoff) -> None:
    for source, count in Counter(sheet.source for sheet in done.sheets).items():
        if source is not None:
            left = stock[source].count - count
            if left < 0:
                raise RuntimeError(f"{source} was used {count} times; there are not so many")
            if left:
                stock[source] = replace(stock[source], count=left)
            else:
                del stock[source]


def _kept(sheet: Sheet, offcut: Offcut, room: str) -> OwnedSheet:
    return OwnedSheet(
        id=f"{room}-{offcut.id}",
        board=sheet.board,
        thickness=sheet.thickness,
        width=offcut.width,
        length=offcut.length,
        factory_edges=offcut.factory_edges,
    )


def _found() -> list[OwnedSheet]:
    sold = {sheet.length // FOOT: sheet for sheet in SHEETS_ON_SALE}
    return [_whole(sold[feet], count) for feet, count in FOUND]


def _whole(sheet: SheetOnSale, count: int) -> OwnedSheet:
    return OwnedSheet(
        id=sheet_id(sheet.board, sheet.thickness, sheet.width, sheet.length),
        board=sheet.board,
        thickness=sheet.thickness,
        width=sheet.width,
        length=sheet.length,
        count=count,
    )


def _area(sheet: Sheet | OwnedSheet) -> Fraction:
    return Fraction(sheet.width * sheet.length, FOOT**2)


def _hung(done: Takeoff) -> Fraction:
    pieces = (piece for surface in done.surface_plans for piece in surface.pieces)
    return sum((shape_area(piece.outline) for piece in pieces), Fraction(0)) / FOOT**2


def _money(cents: Fraction | int) -> str:
    return f"${float(cents) / 100:,.2f}"
