"""Needs, stock, orders and money as pages ask for them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from fractions import Fraction
from typing import Any
from uuid import UUID

from django.db.models import Prefetch, QuerySet

from remodel.board.models import Result, RoomResult
from remodel.bridge import codec, lengths
from remodel.bridge.lengths import Amount
from remodel.bridge.records import catalogue_value, rules_of
from remodel.bridge.supply import item_name, item_names
from remodel.bridge.views import NeedLine
from remodel.house.models import House
from remodel.supply.estimates import rough_by_job
from remodel.supply.models import Material, Movement, Order, OrderLine
from remodel.work.models import Phase

__all__ = [
    "UseLine",
    "cost_of_items",
    "frozen_needs",
    "names_of",
    "needs_of",
    "orders_of",
    "unit_costs",
    "use_of",
    "with_catalogue",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class UseLine:
    """The estimate and the use of one item in one phase of one room.

    `estimate` is what placed orders froze, None where nothing was ordered. `used` includes what was
    cut and spoiled, and what ticks used by estimate; `about` is that last part.
    """

    room: str
    phase: str
    item: str
    estimate: Amount | None
    used: Amount | None
    spoiled: Amount | None
    about: Amount | None = None


def needs_of(
    house: House, *, phases: Collection[str], rooms: Collection[str]
) -> tuple[NeedLine, ...]:
    """The stored needs of some phases and rooms (by key), with their reasons. It takes two queries,
    and nothing is worked out."""
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


def cost_of_items(house: House) -> dict[str, Fraction]:
    """What each item costs that the unfinished rooms of a house take, in cents and before whole
    packs, by its key. It takes two queries, and nothing is worked out."""
    rooms = dict(
        RoomResult.objects.filter(room__house=house, room__deleted_at=None, room__finished=False)
        .exclude(digest="")
        .values_list("room__key", "digest")
    )
    stored = Result.objects.filter(digest__in=set(rooms.values())).values_list("data", flat=True)
    costs: dict[str, Fraction] = {}
    for data in stored:
        for view in data.get("views", ()):
            if view["key"] not in rooms:
                continue
            for line in view["needs"]:
                item, cents = line["need"]["material"], line["cost"]
                if cents is not None:
                    costs[item] = costs.get(item, Fraction(0)) + Fraction(cents)
    return costs


def unit_costs(house: House) -> dict[str, tuple[Fraction, str]]:
    """What a unit of each item costs that the rooms of a house take, in cents, with the unit. It
    takes two queries."""
    digests = RoomResult.objects.filter(room__house=house, room__deleted_at=None)
    stored = Result.objects.filter(digest__in=digests.exclude(digest="").values("digest"))
    costs: dict[str, tuple[Fraction, str]] = {}
    for data in stored.values_list("data", flat=True):
        for view in data.get("views", ()):
            for raw in view["needs"]:
                line = codec.read(NeedLine, raw)
                if line.cost is not None and line.amount.value:
                    costs[line.item] = (line.cost / line.amount.value, line.amount.unit)
    return costs


def with_catalogue(house: UUID) -> House:
    """A house with what is on sale and its rules, from which prices and packs are worked out, but
    without its rooms."""
    materials = Prefetch("materials", Material.objects.prefetch_related("packs"))
    row: House = House.objects.prefetch_related("board_kinds", "sheets", materials).get(pk=house)
    return row


def names_of(house: House) -> dict[str, str]:
    """The name of every item by its key: of all that is on sale or can be needed, and of all that
    movements and orders ever had."""
    row = with_catalogue(house.pk)
    catalogue = catalogue_value(row)
    names = item_names(catalogue, rules_of(row))
    moved = Movement.objects.filter(house=house).order_by().values_list("item")
    ordered = OrderLine.objects.filter(order__house=house).order_by().values_list("item")
    for (item,) in moved.union(ordered):
        if item not in names:
            names[item] = item_name(item, catalogue)
    return names


def orders_of(house: House) -> QuerySet[Order]:
    """Orders, latest first, with their lines, receipts and returns."""
    lines = OrderLine.objects.select_related("store").prefetch_related("receipts", "returns")
    return Order.objects.filter(house=house).prefetch_related(Prefetch("lines", lines), "rooms")


def frozen_needs(order: Order) -> tuple[NeedLine, ...]:
    """The needs as they stood when the order was placed."""
    return tuple(codec.read(NeedLine, line) for line in (order.frozen or {}).get("needs", ()))


def use_of(house: House) -> list[UseLine]:
    """The estimate and the use by room, phase and item, in that order. Totals are sums of these
    lines."""
    estimate: dict[tuple[str, str, str], Amount] = {}
    placed = Order.objects.filter(house=house).exclude(
        state__in=(Order.State.DRAFT, Order.State.TAKEN_BACK)
    )
    for order in placed:
        for line in frozen_needs(order):
            key = (line.need.room, line.phase, line.item)
            estimate.setdefault(key, line.amount)
    used: dict[tuple[str, str, str], Amount] = {}
    spoiled: dict[tuple[str, str, str], Amount] = {}
    about: dict[tuple[str, str, str], Amount] = {}
    kinds = (Movement.Kind.CUT, Movement.Kind.USED, Movement.Kind.SPOILED)
    for move in Movement.objects.filter(house=house, kind__in=kinds).select_related("room"):
        key = (move.room.key if move.room else "", move.phase, move.item)
        gone = Amount(-move.amount.value, move.amount.unit)
        _add(used, key, gone)
        if move.kind == Movement.Kind.SPOILED:
            _add(spoiled, key, gone)
    jobs = {
        id_: (room, phase)
        for id_, room, phase in Phase.all_objects.filter(room__house=house).values_list(
            "id", "room__key", "key"
        )
    }
    for (job, item), rough in rough_by_job(house).items():
        room, phase = jobs[job]
        amount = Amount(rough.amount, rough.unit)
        _add(about, (room, phase, item), amount)
        _add(used, (room, phase, item), amount)
    return [
        UseLine(
            room=key[0],
            phase=key[1],
            item=key[2],
            estimate=estimate.get(key),
            used=used.get(key),
            spoiled=spoiled.get(key),
            about=about.get(key),
        )
        for key in sorted({*estimate, *used})
    ]


def _add(totals: dict[Any, Amount], key: Any, amount: Amount) -> None:
    totals[key] = lengths.add(totals[key], amount) if key in totals else amount
