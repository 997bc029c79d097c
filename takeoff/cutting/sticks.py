"""Cutting sticks (studs, plates, headers, bead, nailers) out of lengths on sale, with a proven
lower bound."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from takeoff._checks import check_length
from takeoff.cutting.bounds import measured_bound
from takeoff.cutting.fill import StickCut, cheap_cuts
from takeoff.errors import BadValue
from takeoff.quantities import Cents
from takeoff.units import Nm, UnitSystem, format_length

__all__ = ["Stick", "StickPlan", "StickStock", "cut_sticks"]


@dataclass(frozen=True, slots=True)
class StickStock:
    """A length on sale and its price; `pack` names the catalogue's pack. An `owned` one is here
    already, and free."""

    length: Nm
    price: Cents
    pack: str = ""
    owned: bool = False

    def __post_init__(self) -> None:
        check_length(self.length, "Stick length")
        if self.price < 0:
            raise BadValue("A stick's price must be zero or more, for example 3.98")


@dataclass(frozen=True, slots=True)
class Stick:
    """One stick bought or owned and the lengths cut from it, longest first."""

    stock: StickStock
    pieces: tuple[Nm, ...]


@dataclass(frozen=True, slots=True)
class StickPlan:
    """Sticks to cut, their cost, and `bound`: no cutting of these pieces from this stock costs less
    (cents).

    Owned sticks that nothing is cut from are not listed.
    """

    sticks: tuple[Stick, ...]
    cost: Cents
    bound: Cents

    @property
    def proven(self) -> bool:
        """Whether no cutting can be cheaper."""
        return self.cost == self.bound


def cut_sticks(
    lengths: Sequence[Nm],
    stock: Sequence[StickStock],
    *,
    kerf: Nm,
    owned: Sequence[Nm] = (),
    prove_best: bool = True,
) -> StickPlan:
    """A cheap way to cut `lengths` out of sticks of `stock`, any number of each, and out of `owned`
    ones, free.

    Between two pieces of a stick the saw takes `kerf`; a stick that fits its pieces exactly needs
    no cut at its end. No piece is spliced. With `prove_best` the search goes on to the cheapest
    cutting and the highest bound that a fixed amount of work reaches (well under a second for a
    house's lists); without, it stops at a good one. Sticks come owned ones first, then longest
    first, then by their pieces; the same pieces in any order give the same plan. No lengths give an
    empty plan.

    Raises `BadValue` naming the longest piece where it is longer than every stick, and for lengths,
    prices or a kerf that cannot be.
    """
    for length in (*lengths, *owned):
        check_length(length, "A stick's or piece's length")
    check_length(kerf, "Kerf", zero=True)
    if not lengths:
        return StickPlan(sticks=(), cost=Cents(0), bound=Cents(0))
    _check_fits(lengths, stock, owned)

    # A stick longer by one kerf holds pieces longer by one kerf each exactly when the true ones fit
    # with their cuts.
    pieces = sorted(
        ((length + kerf, count) for length, count in Counter(lengths).items()), reverse=True
    )
    on_sale = _worth_buying(stock)
    prices = [(stick_stock.length + kerf, stick_stock.price) for stick_stock in on_sale]
    free = sorted((length + kerf for length in owned), reverse=True)
    bound = measured_bound(pieces, prices, free)
    cuts = cheap_cuts(pieces, prices, free, bound)
    if cuts is None:
        longest = _shown(max(lengths))
        raise BadValue(
            f"A piece {longest} long is longer than every stick on sale, and the sticks on hand "
            "are not enough for all "
            f"such pieces; add a stick at least {longest} long with its price"
        )
    if prove_best and sum(prices[cut.stock][1] for cut in cuts if cut.stock is not None) > bound:
        # loads the solver, which a quick cutting never needs
        from takeoff.cutting.column_generation import prove

        cuts, bound = prove(pieces, prices, free, cuts, bound)
    sticks = sorted((_stick(cut, on_sale, kerf) for cut in cuts), key=_order)
    cost = sum(stick.stock.price for stick in sticks)
    if Counter(piece for stick in sticks for piece in stick.pieces) != Counter(lengths):
        # never shown a person: a fault of ours
        raise AssertionError("the sticks do not yield the pieces")
    return StickPlan(sticks=tuple(sticks), cost=Cents(cost), bound=Cents(bound))


def _check_fits(lengths: Sequence[Nm], stock: Sequence[StickStock], owned: Sequence[Nm]) -> None:
    longest_piece = max(lengths)
    longest_stick = max([stick_stock.length for stick_stock in stock] + list(owned), default=Nm(0))
    if longest_piece > longest_stick:
        on_sale = (
            f"the longest stick is {_shown(longest_stick)}"
            if longest_stick
            else "no stick is on sale"
        )
        raise BadValue(
            f"A piece {_shown(longest_piece)} long cannot be cut without a splice: {on_sale}; "
            f"add a stick at least {_shown(longest_piece)} long, or split the piece"
        )


def _worth_buying(stock: Sequence[StickStock]) -> list[StickStock]:
    """The stock, shortest first, less what is no cheaper than something as long or longer."""
    kept: list[StickStock] = []
    for stick_stock in sorted(stock, key=lambda s: (-s.length, s.price, s.pack)):
        if not kept or stick_stock.price < kept[-1].price:
            kept.append(stick_stock)
    return kept[::-1]


def _stick(cut: StickCut, on_sale: Sequence[StickStock], kerf: Nm) -> Stick:
    pieces = tuple(Nm(piece - kerf) for piece in cut.pieces)
    if cut.stock is None:
        return Stick(StickStock(Nm(cut.length - kerf), Cents(0), owned=True), pieces)
    return Stick(on_sale[cut.stock], pieces)


def _order(stick: Stick) -> tuple[bool, int, tuple[int, ...]]:
    return not stick.stock.owned, -stick.stock.length, tuple(-piece for piece in stick.pieces)


def _shown(length: Nm) -> str:
    return format_length(length, UnitSystem.INCH)
