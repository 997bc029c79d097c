"""A placed order compared with what its jobs still take now: what more to buy, and what is left
over."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from uuid import UUID

from remodel.bridge import lengths
from remodel.supply.models import Order, OrderLine
from remodel.supply.orders import returnable
from remodel.supply.standing import Standing

__all__ = ["Compared", "Spare", "compare_order"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """An item of which jobs of an order are short: by how much, of how much they still take, in its
    unit."""

    item: str
    name: str
    unit: str
    short: Fraction
    need: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Spare:
    """Whole packs of a line that are here and that no job takes."""

    line: OrderLine
    packs: int


def compare_order(
    order: Order, standing: Standing
) -> tuple[tuple[Compared, ...], tuple[Spare, ...]]:
    """What the jobs of a placed order are short of now, and which of its packs could be returned.
    An order that was taken back has neither."""
    if order.state in (Order.State.DRAFT, Order.State.TAKEN_BACK):
        return (), ()
    rooms = {room.pk for room in order.rooms.all()}
    mine: set[UUID] = {
        job.id for job in standing.jobs.values() if job.room in rooms and job.phase in order.phases
    }
    more = []
    for item in standing.items:
        shares = [share for share in standing.dealt(item).shares if share.job in mine]
        short = sum((share.short for share in shares), Fraction(0))
        if short:
            more.append(
                Compared(
                    item=item,
                    name=standing.shop.name(item),
                    unit=standing.units[item],
                    short=short,
                    need=sum((share.need for share in shares), Fraction(0)),
                )
            )
    return tuple(more), _spare(order, standing)


def _spare(order: Order, standing: Standing) -> tuple[Spare, ...]:
    """What is free goes back once, although several lines bought the item."""
    spare: list[Spare] = []
    told: dict[str, Fraction] = {}
    for line in order.lines.all():
        packs = returnable(line, standing)
        if not packs:
            continue
        size = lengths.convert(line.pack_amount, standing.units[line.item]).value
        taken = told.get(line.item, Fraction(0))
        packs = min(packs, int((standing.dealt(line.item).free_here - taken) / size))
        if packs > 0:
            told[line.item] = taken + packs * size
            spare.append(Spare(line=line, packs=packs))
    return tuple(spare)
