"""The supply list: needs less stock on hand, rounded up to packs on sale, with price and weight."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from takeoff.needs.need import Phase
from takeoff.quantities import Amount, Cents

__all__ = ["PackCount", "SupplyLine", "SupplyList"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PackCount:
    """So many of one pack."""

    name: str
    count: int
    price: Cents
    holds: Amount
    weight: Decimal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyLine:
    """One item of a phase: what it takes, what is on hand, the packs to buy, what is left over.

    `cost` is cents, `weight` pounds (None where a pack's weight is not known). `bound` is the proven least cost of
    the cutting where the item is cut from sticks.
    """

    phase: Phase
    material: str
    name: str
    need: Amount
    on_hand: Amount
    packs: tuple[PackCount, ...]
    left_over: Amount
    cost: Cents
    weight: Decimal | None
    bound: Cents | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyList:
    """Every line in the order of the work, and the totals; `sample_prices` where no price is the person's own."""

    lines: tuple[SupplyLine, ...]
    cost: Cents
    weight: Decimal
    sample_prices: bool
