"""Money in three parts that never overlap: spent, on its way, and still to buy."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from uuid import UUID

from django.db.models import Sum

from remodel.bridge.buying import held_by
from remodel.bridge.supply import sheet_key
from remodel.bridge.takes import split
from remodel.house.models import House
from remodel.supply.models import Order, OrderLine, Pack, Receipt, Returned, SheetOnSale
from remodel.supply.standing import Buying, Standing

__all__ = ["HOUSE", "Money", "Parts", "money_of"]

# The row of what no job takes: rests of packs, what is free, what was added by hand.
HOUSE = None


@dataclass(frozen=True, slots=True)
class Parts:
    """Cents spent (less refunds), on their way (at the ordered price) and still to buy (at today's
    price)."""

    spent: int = 0
    on_its_way: int = 0
    to_buy: int = 0

    @property
    def forecast(self) -> int:
        return self.spent + self.on_its_way + self.to_buy

    def __add__(self, other: Parts) -> Parts:
        return Parts(
            self.spent + other.spent,
            self.on_its_way + other.on_its_way,
            self.to_buy + other.to_buy,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Money:
    """The money of a house: in all, and by job, with the house's own row under None.

    `sample` is the part of what is on its way and still to buy whose price nobody confirmed.
    `unmet` are the names of items that nothing on sale meets, so that no price is in these figures.
    """

    all: Parts
    rows: Mapping[UUID | None, Parts] = field(default_factory=dict)
    sample: int = 0
    unmet: tuple[str, ...] = ()


def money_of(house: House, standing: Standing) -> Money:
    """The money of a house that stands so, in four queries."""
    rows: dict[UUID | None, list[int]] = {}
    sample = 0
    lines = list(_lines(house))
    receipts, refunds = _paid(house) if lines else ({}, {})
    for line in lines:
        weights = [
            (UUID(job) if job else HOUSE, Fraction(amount)) for job, amount in line.shares
        ] or [(HOUSE, Fraction(1))]
        came, paid = receipts.get(line.pk, (0, 0))
        spent = paid - refunds.get(line.pk, 0)
        way = 0
        if line.order.state == Order.State.PLACED:
            way = max(0, line.packs - came) * line.price
            sample += way if line.sample_price else 0
        for place, cents in enumerate((spent, way)):
            _spread(rows, place, cents, weights)
    samples = _sample_packs(house) if standing.shop.sample or house.sample_prices else frozenset()
    unmet = []
    for buying in standing.still_to_buy.values():
        if buying.unmet:
            unmet.append(standing.shop.name(buying.item))
            continue
        _spread(rows, 2, buying.cost, _weights(buying))
        sample += sum(
            pack.price * pack.count for pack in buying.packs if (buying.item, pack.name) in samples
        )
    parts = {job: Parts(*cents) for job, cents in rows.items() if any(cents)}
    return Money(all=sum(parts.values(), Parts()), rows=parts, sample=sample, unmet=tuple(unmet))


def _lines(house: House) -> Iterable[OrderLine]:
    return (
        OrderLine.objects.filter(order__house=house, order__deleted_at=None)
        .exclude(order__state__in=(Order.State.DRAFT, Order.State.TAKEN_BACK))
        .exclude(pack="")
        .select_related("order")
        .order_by("order__placed_at", "position", "pk")
    )


def _paid(house: House) -> tuple[dict[UUID, tuple[int, int]], dict[UUID, int]]:
    """Packs that came and what was paid for them, and refunds, by line. The database adds them up:
    a house of twenty orders has hundreds of lines."""
    receipts = (
        Receipt.objects.filter(line__order__house=house)
        .order_by()
        .values("line")
        .annotate(came=Sum("packs"), cents=Sum("paid"))
    )
    returns = (
        Returned.objects.filter(line__order__house=house)
        .order_by()
        .values("line")
        .annotate(cents=Sum("refund"))
    )
    return (
        {row["line"]: (row["came"], row["cents"]) for row in receipts},
        {row["line"]: row["cents"] for row in returns},
    )


def _weights(buying: Buying) -> list[tuple[UUID | None, Fraction]]:
    """What of some packs each job lacks, and what is left of them for the house."""
    weights: list[tuple[UUID | None, Fraction]] = list(buying.shares)
    rest = held_by(buying.packs, buying.unit) - sum(
        (amount for _, amount in buying.shares), Fraction(0)
    )
    if rest > 0:
        weights.append((HOUSE, rest))
    return weights


def _spread(
    rows: dict[UUID | None, list[int]],
    place: int,
    cents: int,
    weights: Sequence[tuple[UUID | None, Fraction]],
) -> None:
    """Add cents to jobs by weight, in whole cents; what rounding leaves goes to the largest
    remainders, the earlier of equal ones first."""
    if not cents:
        return
    parts = split(cents, [weight for _, weight in weights])
    for (job, _), part in zip(weights, parts, strict=True):
        rows.setdefault(job, [0, 0, 0])[place] += part


def _sample_packs(house: House) -> frozenset[tuple[str, str]]:
    """The packs whose price is a sample, as (item, pack)."""
    packs = Pack.objects.filter(
        material__house=house, material__deleted_at=None, confirmed_at=None
    ).values_list("material__key", "name")
    sheets = SheetOnSale.objects.filter(house=house, confirmed_at=None)
    return frozenset(
        [
            *packs,
            *(
                (sheet_key(sheet.board, sheet.thickness, sheet.width, sheet.length), "sheet")
                for sheet in sheets
            ),
        ]
    )
