"""Needs, stock, orders and money as pages ask for them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Prefetch, QuerySet, Sum

from remodel.board.models import Result, RoomResult
from remodel.bridge import codec, lengths
from remodel.bridge.lengths import Amount
from remodel.bridge.records import catalogue_value, rules_of
from remodel.bridge.supply import item_names
from remodel.bridge.views import NeedLine
from remodel.house.models import House
from remodel.supply.models import Material, Movement, Order, OrderLine, Receipt, Returned

__all__ = [
    "Money",
    "UseLine",
    "frozen_needs",
    "money_of",
    "names_of",
    "needs_of",
    "orders_of",
    "use_of",
    "with_catalogue",
]


@dataclass(frozen=True, slots=True)
class Money:
    """Cents: what was paid less what came back, and what placed orders still cost at their own
    prices."""

    spent: int
    to_come: int


@dataclass(frozen=True, slots=True, kw_only=True)
class UseLine:
    """Estimate against use of one item in one phase of one room. `estimate` is what placed orders
    froze, None where nothing was ordered for it; `used` includes what was spoiled."""

    room: str
    phase: str
    item: str
    estimate: Amount | None
    used: Amount | None
    spoiled: Amount | None


def needs_of(
    house: House, *, phases: Collection[str], rooms: Collection[str]
) -> tuple[NeedLine, ...]:
    """The stored needs of some phases and rooms (by key), with their reasons; two queries, nothing
    worked out."""
    digests = dict(
        RoomResult.objects.filter(
            room__house=house, room__key__in=list(rooms), room__deleted_at=None
        )
        .exclude(digest="")
        .values_list("room__key", "digest")
    )
    data = dict(
        Result.objects.filter(digest__in=set(digests.values())).values_list("digest", "data")
    )
    needs: list[NeedLine] = []
    for room in rooms:
        for view in data.get(digests.get(room, ""), {}).get("views", ()):
            if view["key"] == room:
                needs += [
                    codec.read(NeedLine, line)
                    for line in view["needs"]
                    if line["need"]["phase"] in phases
                ]
    return tuple(needs)


def with_catalogue(house: UUID) -> House:
    """A house with what is on sale and its rules, all that prices and packs are worked out from; no
    rooms."""
    materials = Prefetch("materials", Material.objects.prefetch_related("packs"))
    row: House = House.objects.prefetch_related("board_kinds", "sheets", materials).get(pk=house)
    return row


def names_of(house: House) -> dict[str, str]:
    """Every item by its key, as people read it."""
    row = with_catalogue(house.pk)
    return item_names(catalogue_value(row), rules_of(row))


def orders_of(house: House) -> QuerySet[Order]:
    """Orders, latest first, with their lines, receipts and returns."""
    lines = OrderLine.objects.select_related("store").prefetch_related("receipts", "returns")
    return Order.objects.filter(house=house).prefetch_related(Prefetch("lines", lines), "rooms")


def money_of(house: House) -> Money:
    """What was spent, and what placed orders still have to come; three queries."""
    paid = Receipt.objects.filter(line__order__house=house).aggregate(all=Sum("paid"))["all"] or 0
    back = (
        Returned.objects.filter(line__order__house=house).aggregate(all=Sum("refund"))["all"] or 0
    )
    open_lines = OrderLine.objects.filter(
        order__house=house, order__state=Order.State.PLACED, order__deleted_at=None
    ).annotate(came=Sum("receipts__packs"))
    to_come = sum(
        max(0, packs - (came or 0)) * price
        for packs, came, price in open_lines.values_list("packs", "came", "price")
    )
    return Money(spent=paid - back, to_come=to_come)


def frozen_needs(order: Order) -> tuple[NeedLine, ...]:
    """The needs as they stood when the order was placed."""
    return tuple(codec.read(NeedLine, line) for line in (order.frozen or {}).get("needs", ()))


def use_of(house: House) -> list[UseLine]:
    """Estimate against use by room, phase and item, in that order; two queries. Totals are sums of
    these lines."""
    estimate: dict[tuple[str, str, str], Amount] = {}
    placed = Order.objects.filter(house=house).exclude(state=Order.State.DRAFT)
    for order in placed:
        for line in frozen_needs(order):
            key = (line.need.room, line.phase, line.item)
            estimate.setdefault(key, line.amount)
    used: dict[tuple[str, str, str], Amount] = {}
    spoiled: dict[tuple[str, str, str], Amount] = {}
    kinds = (Movement.Kind.USED, Movement.Kind.SPOILED)
    for move in Movement.objects.filter(house=house, kind__in=kinds).select_related("room"):
        key = (move.room.key if move.room else "", move.phase, move.item)
        gone = Amount(-move.amount.value, move.amount.unit)
        _add(used, key, gone)
        if move.kind == Movement.Kind.SPOILED:
            _add(spoiled, key, gone)
    return [
        UseLine(
            room=key[0],
            phase=key[1],
            item=key[2],
            estimate=estimate.get(key),
            used=used.get(key),
            spoiled=spoiled.get(key),
        )
        for key in sorted({*estimate, *used})
    ]


def _add(totals: dict[Any, Amount], key: Any, amount: Amount) -> None:
    totals[key] = lengths.add(totals[key], amount) if key in totals else amount
