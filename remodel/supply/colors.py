"""Cans of the colors that a house is painted in, and the batches they came in."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from remodel.bridge import house_value
from remodel.bridge.supply import is_paint, missing_colors
from remodel.history.services import By, create, recorded
from remodel.house.models import House, Room
from remodel.house.queries import whole_house
from remodel.supply.models import Material, Pack, Receipt

__all__ = ["Batch", "batches_of", "colors_follow", "is_paint"]


@recorded("put a color on the price list")
def colors_follow(*, by: By, room: Room) -> Room:
    """Put each color that the house of a room is painted in on its price list, in the cans and at
    the prices of paint of any color."""
    house = room.house
    missing = missing_colors(house_value(whole_house(house)))
    taken = set(Material.all_objects.filter(house=house).values_list("key", flat=True))
    kinds = {
        material.key: material
        for material in Material.objects.filter(house=house).prefetch_related("packs")
    }
    for key, name, kind in missing:
        if key in taken or kind not in kinds:
            continue
        row = create(Material(house=house, key=key, name=name[:200], position=kinds[kind].position))
        for pack in kinds[kind].packs.all():
            create(
                Pack(
                    material=row,
                    name=pack.name,
                    numerator=pack.numerator,
                    denominator=pack.denominator,
                    unit=pack.unit,
                    weight=pack.weight,
                    price=pack.price,
                    store=pack.store,
                    confirmed_at=pack.confirmed_at,
                    position=pack.position,
                )
            )
    return room


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """Cans of one batch that came: its number, how many of which can, and when they came first."""

    number: str
    cans: tuple[tuple[int, str], ...]
    at: datetime


def batches_of(house: House, item: str) -> list[Batch]:
    """The batches of an item that came with orders, in the order they came. What was taken back is
    left out, and so are cans of which nobody noted the batch."""
    receipts = Receipt.objects.filter(line__order__house=house, line__item=item).exclude(batch="")
    return _batches(receipts.select_related("line").order_by("at", "id"))


def _batches(receipts: Iterable[Receipt]) -> list[Batch]:
    cans: dict[str, dict[str, int]] = {}
    came: dict[str, datetime] = {}
    for receipt in receipts:
        of_batch = cans.setdefault(receipt.batch, {})
        pack = receipt.line.pack
        of_batch[pack] = of_batch.get(pack, 0) + receipt.packs
        came.setdefault(receipt.batch, receipt.at)
    return [
        Batch(number=number, cans=counted, at=came[number])
        for number, of_batch in cans.items()
        if (counted := tuple((count, pack) for pack, count in of_batch.items() if count > 0))
    ]
