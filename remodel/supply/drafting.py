"""The lines of a draft: what its rooms take, less what is on hand and what is on its way, in packs
on sale."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from remodel.bridge import codec
from remodel.bridge.records import catalogue_value, rules_of, stock_items
from remodel.bridge.supply import SupplyLine, sheet_key, supply_of
from remodel.history.services import create_all
from remodel.house.models import House
from remodel.house.queries import whole_house
from remodel.supply.coming import Coming, as_stock, coming_for, kept_coming
from remodel.supply.ledger import balances
from remodel.supply.models import Order, OrderLine, Pack, SheetOnSale
from remodel.supply.queries import needs_of

__all__ = ["Edited", "counts_what_comes", "draft_lines"]

Edited = Mapping[tuple[str, str, str], OrderLine]


@dataclass(frozen=True, slots=True)
class _Offer:
    store: Any
    price: int
    sample: bool


def draft_lines(order: Order, edited: Edited) -> list[OrderLine]:
    """Make the lines of a draft; hand edits in `edited` are kept where the line is still there."""
    house = whole_house(order.house_id)
    rooms = list(order.rooms.values_list("key", flat=True))
    coming = coming_for(house, phases=order.phases, rooms=rooms, leave_out=order.pk)
    supply = supply_of(
        [line.need for line in needs_of(order.house, phases=order.phases, rooms=rooms)],
        catalogue=catalogue_value(house),
        rules=rules_of(house),
        stock=stock_items(balances(house)),
        coming=as_stock(coming),
    )
    offers = _offers(house)
    made = [
        line for supply_line in supply.lines for line in _lines(order, supply_line, offers, coming)
    ]
    for position, line in enumerate(made):
        line.position = position
        kept = edited.get((line.phase, line.item, line.pack))
        if kept is not None and kept.packs != line.worked_out:
            line.packs, line.reason = kept.packs, kept.reason
    return create_all(made)


def counts_what_comes(order: Order) -> bool:
    """Whether a draft still counts just what placed orders bring; False once one of them was
    placed, came or closed."""
    lines = list(order.lines.all())
    items = {line.item for line in lines}
    rooms = list(order.rooms.values_list("key", flat=True))
    now = coming_for(order.house, phases=order.phases, rooms=rooms, leave_out=order.pk)
    return {(batch.line, batch.packs) for batch in now if batch.item in items} == {
        (batch.line, batch.packs) for batch in kept_coming(lines)
    }


def _lines(
    order: Order, line: SupplyLine, offers: dict[tuple[str, str], _Offer], coming: Sequence[Coming]
) -> Iterable[OrderLine]:
    shared: dict[str, Any] = {
        "order": order,
        "phase": line.phase.value,
        "item": line.material,
        "name": line.name,
        "need": str(line.need.value),
        "on_hand": str(line.on_hand.value),
        "on_the_way": str(line.coming.value),
        "coming": [codec.write(batch) for batch in coming if batch.item == line.material],
        "unit": line.need.unit,
        "unmet": line.unmet[:1000],
    }
    if line.on_hand.unit != line.need.unit:
        shared["on_hand"] = "0"
    if line.coming.unit != line.need.unit:
        shared["on_the_way"] = "0"
    if not line.packs:
        yield OrderLine(**shared, sample_price=False)
    for pack in line.packs:
        offer = offers.get((line.material, pack.name))
        yield OrderLine(
            **shared,
            store=offer.store if offer else None,
            pack=pack.name,
            holds=str(Fraction(pack.holds.value)),
            holds_unit=pack.holds.unit,
            worked_out=pack.count,
            packs=pack.count,
            price=pack.price,
            sample_price=offer.sample if offer else True,
            weight=None if pack.weight is None else Decimal(pack.weight),
        )


def _offers(house: House) -> dict[tuple[str, str], _Offer]:
    offers = {
        (pack.material.key, pack.name): _Offer(pack.store, pack.price, pack.is_sample)
        for pack in Pack.objects.filter(material__house=house).select_related("material", "store")
    }
    for sheet in SheetOnSale.objects.filter(house=house).select_related("store"):
        key = sheet_key(sheet.board, sheet.thickness, sheet.width, sheet.length)
        offers[key, "sheet"] = _Offer(sheet.store, sheet.price, sheet.is_sample)
    return offers
