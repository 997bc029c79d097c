"""Cutting sheets of board: whole-width pieces first, then one rip of the rest into two strips,
crosscut again.

A sheet being filled is a plain tuple (`Load`), so that a search can try thousands; `SheetCut` is
what comes out. Lengths inside loads have one kerf added to each piece and to the sheet, which makes
any number of cuts add up.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from takeoff.catalogue import OwnedSheet
from takeoff.quantities import Cents
from takeoff.units import FOOT, Nm

__all__ = [
    "Bench",
    "CutPiece",
    "Cutter",
    "Load",
    "Sale",
    "SheetCut",
    "by_size",
    "cuts_of",
    "emptied",
    "pack",
]

_NEVER = 1 << 60
_RATE_BITS = 32
_SALVAGE_BITS = 4
# where on its sheet a piece is cut: its whole width, or one of the two strips
WHOLE, FIRST, SECOND = 0, 1, 2


class Sale:
    """The sheets of one width that may come into one room; at least one is on sale.

    `lengths` are in order, each dearer than the one before: a sheet no dearer than a shorter one
    takes its place. `owned` are the owned sheets that may come in.
    """

    __slots__ = ("lengths", "needs", "owned", "prices", "rate", "width")

    def __init__(
        self,
        width: Nm,
        sheets: Iterable[tuple[Nm, Cents]],
        kerf: Nm,
        owned: Iterable[OwnedSheet] = (),
    ) -> None:
        kept: list[tuple[Nm, Cents]] = []
        for length, price in sorted(sheets, key=lambda sheet: (-sheet[0], sheet[1])):
            # Longest first: a shorter sheet is worth having only where it is cheaper than every
            # longer one.
            if not kept or price < kept[-1][1]:
                kept.append((length, price))
        kept.reverse()
        self.width = width
        self.lengths = [length for length, _ in kept]
        self.needs = [length + kerf for length, _ in kept]
        self.prices: list[int] = [price for _, price in kept]
        # cents a nanometre of length at the best price, times 2^32
        self.rate = min((price << _RATE_BITS) // length for length, price in kept)
        self.owned = frozenset(owned)


@dataclass(frozen=True, slots=True)
class CutPiece:
    """A piece to cut: `factory_edges` it must keep (2 only where it is a whole sheet wide), `room`
    its place in the hanging order, `sale` the sheets that may come into that room for it."""

    code: str
    length: Nm
    width: Nm
    factory_edges: int
    room: int
    sale: Sale


@dataclass(frozen=True, slots=True)
class SheetCut:
    """One sheet and what is cut from it: whole-width pieces, then the pieces of each strip of one
    rip, if any.

    `owned` is the owned sheet it is, None where it is bought at `price`.
    """

    width: Nm
    length: Nm
    price: Cents
    owned: OwnedSheet | None
    whole: tuple[CutPiece, ...]
    first: tuple[CutPiece, ...] = ()
    second: tuple[CutPiece, ...] = ()


class Load(NamedTuple):
    """A sheet being filled. `whole` is taken by whole-width pieces, `first` and `second` by the
    pieces of the two strips, kerfs counted; `first_width` and `second_width` are the widest of
    each. `net` is the price less what the leftover may still be worth. `pieces` go with where they
    are cut."""

    sale: Sale
    room: int
    owned: OwnedSheet | None
    width: int
    capacity: int
    price: int
    net: int
    whole: int
    first: int
    first_width: int
    second: int
    second_width: int
    pieces: tuple[tuple[int, CutPiece], ...]


class Bench(NamedTuple):
    """Sheets being filled, and how many of each owned sheet are still unused. `price` is what the
    loads cost; `net` takes off what their leftovers may still be worth."""

    loads: tuple[Load, ...]
    shelf: tuple[int, ...]
    price: int
    net: int


class _Place(NamedTuple):
    """Where a piece may go: on load number `load`, or (-1) a new sheet, the owned one `shelf` where
    that is not -1."""

    load: int
    slot: int
    sale: Sale
    room: int
    owned: OwnedSheet | None
    width: int
    capacity: int
    price: int
    net: int
    shelf: int


class Cutter:
    """How pieces go on sheets: the saw's kerf, the sheets owned, and whether a sheet may serve
    several rooms.

    `salvage` is how many 1/16ths of its price by length a leftover counts while pieces are still to
    come, from `shortest` on: it steers a search and is no part of any cost. Only the latest `reach`
    sheets are tried.
    """

    __slots__ = ("carry", "kerf", "owned", "reach", "salvage", "shortest")

    def __init__(
        self,
        *,
        kerf: Nm,
        owned: Sequence[OwnedSheet] = (),
        carry: bool = True,
        salvage: int = 0,
        shortest: Nm = FOOT,
        reach: int = _NEVER,
    ) -> None:
        self.kerf = kerf
        self.owned = tuple(owned)
        self.carry = carry
        self.reach = reach
        self.salvage = salvage
        self.shortest = shortest

    def empty(self) -> Bench:
        """No sheet begun."""
        return Bench((), tuple(owned.count for owned in self.owned), 0, 0)

    def put(self, bench: Bench, piece: CutPiece) -> Bench | None:
        """`bench` with `piece` where it adds least: on a sheet being filled, made longer if need
        be, on an unused owned one, or on a new one. Ties go to the least left over, then to the
        sheet begun first.

        None where no sheet takes it.
        """
        delta, rest, place = self._on_loads(bench.loads, piece)
        if delta > 0 or (delta == 0 and self.owned):
            delta, rest, place = self._from_shelf(bench.shelf, piece, delta, rest, place)
        if delta > 0:
            delta, place = self._on_new(piece, delta, place)
        return (
            None if place is None else _filled(bench, piece, piece.length + self.kerf, place, delta)
        )

    def _on_loads(self, loads: Sequence[Load], piece: CutPiece) -> tuple[int, int, _Place | None]:
        length, width, edges = piece.length + self.kerf, piece.width, piece.factory_edges
        room, own_sale = piece.room, piece.sale
        carry, kerf, salvage, shortest = self.carry, self.kerf, self.salvage, self.shortest
        best_delta, best_rest, best = _NEVER, 0, None
        # One plain loop over unpacked tuples: this is where a first plan spends its time.
        begin = max(0, len(loads) - self.reach)
        for index, load in enumerate(loads[begin:] if begin else loads, start=begin):
            (
                sale,
                at_room,
                owned,
                across,
                capacity,
                price,
                net,
                whole,
                first,
                wide,
                second,
                wide2,
                _,
            ) = load
            limit = sale.needs[-1] if owned is None else capacity
            # A sheet bought may still become a longer one, so its limit is the longest on sale.
            if width > across or whole + length > limit or (at_room != room and not carry):
                continue
            if owned is None and across != own_sale.width:
                continue
            if width == across:
                # A whole-width piece goes in front of the rip, so the longer strip moves on with
                # it.
                slot, need = WHOLE, whole + length + (first if first > second else second)
                if owned is not None and owned.factory_edges < edges:
                    continue
            elif edges > 1:
                continue
            else:
                slot, need = FIRST, limit + 1
                # Both strips must fit beside each other with the rip's kerf between; the shorter
                # strip is free length.
                if not second or (wide if wide > width else width) + kerf + wide2 <= across:
                    reach = first + length
                    need = whole + (reach if reach > second else second)
                if first and wide + kerf + (wide2 if wide2 > width else width) <= across:
                    reach = second + length
                    reach = whole + (reach if reach > first else first)
                    if reach < need:
                        slot, need = SECOND, reach
                # The first strip has the first factory edge, the second strip the other.
                if owned is not None and edges and owned.factory_edges < slot:
                    continue
            if need > limit:
                continue
            if room < at_room and own_sale is not sale and owned is None:
                sale = own_sale  # the sheet is now cut in an earlier room, where others may come in
                step = bisect_left(sale.needs, need)
                if step == len(sale.needs):
                    continue
                capacity, price = sale.needs[step], sale.prices[step]
            # Made longer: the shortest sheet on sale that holds all of it.
            elif need > capacity:
                step = bisect_left(sale.needs, need)
                capacity, price = sale.needs[step], sale.prices[step]

            rest = capacity - need
            worth = (
                rest * sale.rate * salvage >> _RATE_BITS + _SALVAGE_BITS if rest >= shortest else 0
            )
            new_net = price - worth if owned is None else 0
            # Compared by the price less what the leftover may still be worth, so that a search does
            # not shy from buying long while much is still to come.
            delta = new_net - net
            if delta < best_delta or (delta == best_delta and rest < best_rest):
                best_delta, best_rest = delta, rest
                best = (
                    index,
                    slot,
                    sale,
                    room if room < at_room else at_room,
                    owned,
                    across,
                    capacity,
                    price,
                    new_net,
                )
        return best_delta, best_rest, None if best is None else _Place(*best, -1)

    def _from_shelf(
        self,
        shelf: Sequence[int],
        piece: CutPiece,
        delta: int,
        least_rest: int,
        place: _Place | None,
    ) -> tuple[int, int, _Place | None]:
        for number, count in enumerate(shelf):
            owned = self.owned[number]
            if not count or owned not in piece.sale.owned or owned.length < piece.length:
                continue
            whole = owned.width == piece.width
            if owned.width < piece.width or owned.factory_edges < piece.factory_edges:
                continue
            if piece.factory_edges > 1 and not whole:
                continue
            rest = owned.length - piece.length
            # An owned sheet costs nothing, so nothing that adds cost beats it.
            if delta > 0 or rest < least_rest:
                delta, least_rest = 0, rest
                capacity = owned.length + self.kerf
                place = _Place(
                    -1,
                    WHOLE if whole else FIRST,
                    piece.sale,
                    piece.room,
                    owned,
                    owned.width,
                    capacity,
                    0,
                    0,
                    number,
                )
        return delta, least_rest, place

    def _on_new(
        self, piece: CutPiece, delta: int, place: _Place | None
    ) -> tuple[int, _Place | None]:
        sale, length = piece.sale, piece.length + self.kerf
        step = bisect_left(sale.needs, length)
        whole = piece.width == sale.width
        if (
            step == len(sale.needs)
            or piece.width > sale.width
            or (piece.factory_edges > 1 and not whole)
        ):
            return delta, place
        net = sale.prices[step] - self._worth(sale, sale.needs[step] - length)
        if net < delta:
            slot = WHOLE if whole else FIRST
            place = _Place(
                -1,
                slot,
                sale,
                piece.room,
                None,
                sale.width,
                sale.needs[step],
                sale.prices[step],
                net,
                -1,
            )
            delta = net
        return delta, place

    def _worth(self, sale: Sale, rest: int) -> int:
        return (
            rest * sale.rate * self.salvage >> _RATE_BITS + _SALVAGE_BITS
            if rest >= self.shortest
            else 0
        )

    def put_all(self, bench: Bench, pieces: Iterable[CutPiece]) -> Bench | None:
        """`bench` with every piece put in turn; None where one finds no sheet."""
        at: Bench | None = bench
        for piece in pieces:
            at = self.put(at, piece) if at is not None else None
        return at

    def take(self, bench: Bench, codes: Collection[str]) -> Bench:
        """`bench` without the pieces of those codes; a sheet left is the shortest that holds the
        rest."""
        loads: list[Load] = []
        shelf = list(bench.shelf)
        price, net = bench.price, bench.net
        for load in bench.loads:
            kept = [piece for piece in load.pieces if piece[1].code not in codes]
            if len(kept) == len(load.pieces):
                loads.append(load)
                continue
            price -= load.price
            net -= load.net
            if kept:
                loads.append(self._refilled(load, kept))
                price += loads[-1].price
                net += loads[-1].net
            elif load.owned is not None:
                shelf[self.owned.index(load.owned)] += 1
        return Bench(tuple(loads), tuple(shelf), price, net)

    def _refilled(self, load: Load, kept: Sequence[tuple[int, CutPiece]]) -> Load:
        # An empty first strip is no strip: the second one takes its place.
        if all(slot != FIRST for slot, _ in kept):
            kept = [(min(slot, FIRST), piece) for slot, piece in kept]
        runs = [
            sum(piece.length + self.kerf for slot, piece in kept if slot == strip_slot)
            for strip_slot in (0, 1, 2)
        ]
        wide = [
            max((piece.width for slot, piece in kept if slot == strip_slot), default=0)
            for strip_slot in (0, 1, 2)
        ]
        earliest = min((piece for _, piece in kept), key=lambda piece: piece.room)
        sale, capacity, price, net = load.sale, load.capacity, 0, 0
        if load.owned is None:
            need = runs[0] + max(runs[1], runs[2])
            # Once no earlier room cuts it, other sheets may come in, if they hold what is left.
            sale = earliest.sale if need <= earliest.sale.needs[-1] else load.sale
            step = bisect_left(sale.needs, need)
            capacity, price = sale.needs[step], sale.prices[step]
            net = price - self._worth(sale, capacity - need)
        return Load(
            sale,
            earliest.room,
            load.owned,
            load.width,
            capacity,
            price,
            net,
            runs[0],
            runs[1],
            wide[1],
            runs[2],
            wide[2],
            tuple(kept),
        )


def _filled(bench: Bench, piece: CutPiece, length: int, place: _Place, delta: int) -> Bench:
    before, whole, first, wide, second, wide2 = 0, 0, 0, 0, 0, 0
    pieces: tuple[tuple[int, CutPiece], ...] = ()
    if place.load >= 0:
        old = bench.loads[place.load]
        _, _, _, _, _, before, _, whole, first, wide, second, wide2, pieces = old
    if place.slot == WHOLE:
        whole += length
    elif place.slot == FIRST:
        first, wide = first + length, max(wide, piece.width)
    else:
        second, wide2 = second + length, max(wide2, piece.width)
    load = Load(
        place.sale,
        place.room,
        place.owned,
        place.width,
        place.capacity,
        place.price,
        place.net,
        whole,
        first,
        wide,
        second,
        wide2,
        (*pieces, (place.slot, piece)),
    )
    loads, shelf = bench.loads, bench.shelf
    loads = (
        (*loads, load) if place.load < 0 else (*loads[: place.load], load, *loads[place.load + 1 :])
    )
    if place.shelf >= 0:
        shelf = (*shelf[: place.shelf], shelf[place.shelf] - 1, *shelf[place.shelf + 1 :])
    return Bench(loads, shelf, bench.price + place.price - before, bench.net + delta)


def cuts_of(bench: Bench, kerf: Nm) -> tuple[SheetCut, ...]:
    """The sheets of `bench`, each with its pieces as they are cut."""
    return tuple(
        SheetCut(
            width=Nm(load.width),
            length=Nm(load.capacity - kerf),
            price=Cents(load.price),
            owned=load.owned,
            whole=tuple(piece for slot, piece in load.pieces if slot == WHOLE),
            first=tuple(piece for slot, piece in load.pieces if slot == FIRST),
            second=tuple(piece for slot, piece in load.pieces if slot == SECOND),
        )
        for load in bench.loads
    )


def pack(
    pieces: Sequence[CutPiece], *, kerf: Nm, owned: Sequence[OwnedSheet] = (), carry: bool = True
) -> tuple[SheetCut, ...] | None:
    """Sheets that `pieces` are cut from: widest and longest first, each where it costs least, then
    sheets emptied again as long as that saves money. None where some piece finds no sheet.

    `carry` False keeps pieces of different rooms off one sheet.
    """
    cutter = Cutter(kerf=kerf, owned=owned, carry=carry)
    bench = cutter.put_all(cutter.empty(), sorted(pieces, key=by_size))
    return None if bench is None else cuts_of(emptied(cutter, bench), kerf)


def by_size(piece: CutPiece) -> tuple[int, int, str]:
    """Sorts pieces widest first, then longest."""
    return -piece.width, -piece.length, piece.code


def emptied(cutter: Cutter, bench: Bench) -> Bench:
    """`bench` after emptying bought sheets one at a time and putting their pieces elsewhere, while
    that saves money."""
    better = True
    while better:
        better = False
        for load in bench.loads:
            if load.owned is not None:
                continue
            pieces = sorted((piece for _, piece in load.pieces), key=by_size)
            tried = cutter.put_all(cutter.take(bench, {piece.code for piece in pieces}), pieces)
            if tried is not None and tried.price < bench.price:
                bench, better = tried, True
                break
    return bench
