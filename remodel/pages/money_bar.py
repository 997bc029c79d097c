"""The money of a house as one bar of three parts, told apart by hatches and words, not by color
alone."""

from __future__ import annotations

from dataclasses import dataclass

from remodel.house.models import House
from remodel.supply.money import Money
from remodel.web.templatetags.halfbay import money

__all__ = ["Bar", "BarPart", "bar_of"]

# How wide the bar is drawn, in its own units.
_WIDE = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class BarPart:
    """One part of the bar: its hatch, its words, its cents, and where it lies from the left."""

    hatch: str
    term: str
    cents: int
    note: str
    left: int
    width: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """The bar and what is said with it. `unmet` are things that nothing on sale meets, so their
    cost is in no part."""

    parts: tuple[BarPart, ...]
    forecast: int
    sample: int
    unmet: tuple[str, ...]
    words: str


def bar_of(house: House, paid: Money) -> Bar:
    """The bar of a house's money. Where more was given back than paid, that part has no width."""
    told = (
        ("spent", "Spent", paid.all.spent, "paid, less refunds"),
        ("way", "On its way", paid.all.on_its_way, "ordered, not here yet"),
        ("buy", "Still to buy", paid.all.to_buy, "at today's prices"),
    )
    total = sum(max(0, cents) for _, _, cents, _ in told)
    parts, left, cents_before = [], 0, 0
    for hatch, term, cents, note in told:
        cents_before += max(0, cents)
        right = cents_before * _WIDE // total if total else 0
        parts.append(
            BarPart(hatch=hatch, term=term, cents=cents, note=note, left=left, width=right - left)
        )
        left = right
    return Bar(
        parts=tuple(parts),
        forecast=paid.all.forecast,
        sample=paid.sample,
        unmet=paid.unmet,
        words=", ".join(f"{part.term} {money(part.cents, house.currency)}" for part in parts),
    )
