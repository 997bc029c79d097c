"""What changed since an order was placed."""

from __future__ import annotations

from remodel.bridge import codec
from remodel.bridge.lengths import Amount
from remodel.bridge.records import StockItem, catalogue_value, rules_of
from remodel.bridge.supply import Ordered, SinceOrdered, since_ordered
from remodel.supply.coming import Coming, as_stock, still_coming
from remodel.supply.models import Order
from remodel.supply.queries import frozen_needs, needs_of, with_catalogue

__all__ = ["compare_order"]


def compare_order(order: Order) -> tuple[SinceOrdered, ...]:
    """A placed order beside today's needs of the same phases and rooms: what more to buy, what can
    go back. The frozen estimate stands; packs of another order that it counted on count only so far
    as they still come."""
    if order.frozen is None:
        return ()
    row = with_catalogue(order.house_id)
    today = needs_of(row, phases=order.phases, rooms=list(order.frozen["rooms"]))
    on_hand: dict[str, list[StockItem]] = {}
    for item, amount, count in order.frozen["stock"]:
        stock = StockItem(material=item, amount=codec.read(Amount, amount))
        on_hand.setdefault(item, []).extend([stock] * count)
    counted_on = codec.read(tuple[Coming, ...], order.frozen.get("coming", []))
    for stock in as_stock(still_coming(counted_on)):
        on_hand.setdefault(stock.material, []).append(stock)
    packs: dict[str, list[tuple[str, Amount, int]]] = {}
    for line in order.lines.prefetch_related("returns"):
        kept = line.packs - sum(returned.packs for returned in line.returns.all())
        if line.pack and kept > 0:
            packs.setdefault(line.item, []).append((line.pack, line.pack_amount, kept))
    ordered = [
        Ordered(item=item, packs=tuple(packs.get(item, ())), on_hand=tuple(on_hand.get(item, ())))
        for item in dict.fromkeys([*packs, *on_hand])
    ]
    return since_ordered(
        [line.need for line in frozen_needs(order)],
        [line.need for line in today],
        ordered,
        catalogue=catalogue_value(row),
        rules=rules_of(row),
    )
