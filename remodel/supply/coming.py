"""What placed orders still bring: packs on their way, so far as they were ordered for the same
work."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from uuid import UUID

from remodel.bridge import codec, lengths
from remodel.bridge.lengths import Amount
from remodel.bridge.records import StockItem
from remodel.house.models import House
from remodel.supply.models import Movement, Order, OrderLine
from remodel.supply.queries import frozen_needs, orders_of

__all__ = ["Coming", "as_stock", "coming_for", "kept_coming", "still_coming"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Coming:
    """Packs of one line of a placed order that are on their way; `came` is how many of the line had
    come by then."""

    line: str
    order: str
    name: str
    item: str
    pack: str
    holds: Amount
    packs: int
    came: int


def coming_for(
    house: House, *, phases: Collection[str], rooms: Collection[str], leave_out: UUID | None = None
) -> tuple[Coming, ...]:
    """What placed orders still bring for some phases and rooms (by key), in the order they were
    placed.

    An order of more rooms keeps what the others of them still need: packs for the kitchen do not
    serve the bedroom. What was added by hand was for something else, and stays out.
    """
    by_line: dict[str, Coming] = {}
    for order in orders_of(house).filter(state=Order.State.PLACED).order_by("placed_at", "pk"):
        if order.pk == leave_out:
            continue
        lines = [line for line in order.lines.all() if line.phase in phases and Fraction(line.need)]
        outstanding = [batch for line in lines if (batch := _outstanding(order, line)) is not None]
        if not outstanding:
            continue
        kept = _for_others(house, order, rooms)
        for line in {(line.phase, line.item): line for line in lines}.values():
            ids = {
                str(other.pk)
                for other in lines
                if (other.phase, other.item) == (line.phase, line.item)
            }
            mine = [batch for batch in outstanding if batch.line in ids]
            if aside := kept.get((line.phase, line.item)):
                mine = _less(mine, aside - _for_them_already(line, by_line), line.unit)
            by_line |= {batch.line: batch for batch in mine}
    return tuple(by_line.values())


def as_stock(coming: Iterable[Coming]) -> tuple[StockItem, ...]:
    """As the engine takes it: a pack a line, so many times."""
    return tuple(
        StockItem(material=batch.item, amount=batch.holds)
        for batch in coming
        for _ in range(batch.packs)
    )


def kept_coming(lines: Iterable[OrderLine]) -> tuple[Coming, ...]:
    """What an order's lines were worked out with, each once: an item bought in two packs carries it
    on both lines."""
    by_line = {raw["line"]: codec.read(Coming, raw) for line in lines for raw in line.coming}
    return tuple(by_line[key] for key in sorted(by_line))


def still_coming(frozen: Sequence[Coming]) -> tuple[Coming, ...]:
    """What a placed order counted on, as far as it can still be counted on: packs of an order that
    was closed since count only where they came, and packs that went back to the store do not."""
    rows = OrderLine.all_objects.filter(pk__in=[batch.line for batch in frozen]).select_related(
        "order"
    )
    lines = {str(line.pk): line for line in rows.prefetch_related("receipts", "returns")}
    remaining = []
    for batch in frozen:
        line = lines.get(batch.line)
        if line is None:
            continue
        gone = sum(one.packs for one in line.returns.all())
        came = sum(one.packs for one in line.receipts.all())
        bound = line.packs if line.order.state == Order.State.PLACED else came
        packs = min(batch.packs, bound - batch.came - gone)
        if packs > 0:
            remaining.append(replace(batch, packs=packs))
    return tuple(remaining)


def _outstanding(order: Order, line: OrderLine) -> Coming | None:
    came = sum(receipt.packs for receipt in line.receipts.all())
    if not line.pack or line.packs <= came:
        return None
    return Coming(
        line=str(line.pk),
        order=str(order.pk),
        name=order.name,
        item=line.item,
        pack=line.pack,
        holds=line.pack_amount,
        packs=line.packs - came,
        came=came,
    )


def _for_others(
    house: House, order: Order, rooms: Collection[str]
) -> dict[tuple[str, str], Fraction]:
    """What an order's other rooms still need of each (phase, item): as frozen, less what they used
    since."""
    others = [line for line in frozen_needs(order) if line.need.room not in rooms]
    if not others:
        return {}
    moves: dict[tuple[str, str, str], list[Amount]] = {}
    used_before = Movement.objects.filter(house=house, kind=Movement.Kind.USED, room__isnull=False)
    for move in used_before.select_related("room"):
        moves.setdefault((move.room.key, move.phase, move.item), []).append(move.amount)  # type: ignore[union-attr]
    remaining: dict[tuple[str, str], Fraction] = {}
    for other in others:
        need, key = other.amount.value, (other.phase, other.item)
        for used in moves.get((other.need.room, *key), ()):
            if lengths.same_kind(used, other.amount):
                # what was used is kept with a minus
                need += lengths.convert(used, other.amount.unit).value
        remaining[key] = remaining.get(key, Fraction(0)) + max(Fraction(0), need)
    return remaining


def _for_them_already(line: OrderLine, counted_here: Mapping[str, Coming]) -> Fraction:
    """What orders placed before bring for the other rooms: what the line counted on, less what is
    counted here."""
    theirs = Fraction(0)
    for batch in kept_coming([line]):
        counted = counted_here[batch.line].packs if batch.line in counted_here else 0
        theirs += lengths.convert(batch.holds, line.unit).value * max(0, batch.packs - counted)
    return theirs


def _less(coming: list[Coming], kept: Fraction, unit: str) -> list[Coming]:
    """What is left once `kept` is set aside, in whole packs, the largest set aside first."""
    remaining = []
    for batch in sorted(coming, key=lambda one: -lengths.convert(one.holds, unit).value):
        size = lengths.convert(batch.holds, unit).value
        aside = min(batch.packs, max(0, -(-kept // size))) if size else 0
        kept -= aside * size
        if batch.packs > aside:
            remaining.append(replace(batch, packs=batch.packs - int(aside)))
    return remaining
