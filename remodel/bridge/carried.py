"""What a house file carries of a house as it stands, and what it has to leave out.

A file is read by rules of its own: stock has to be of something on sale, in a unit it is sold by.
A house may hold more than that after some months, so what does not fit is left out, each with the
reason in a sentence, and the rest always reads back.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from remodel.bridge.lengths import FOOT, show_length, shown_amount
from remodel.bridge.supply import item_name
from takeoff.catalogue import StockItem
from takeoff.errors import TakeoffError
from takeoff.house import House, Room
from takeoff.housefile import OnSale, with_writable_texts, write_house
from takeoff.quantities import Amount, convert, format_amount, parse_amount

__all__ = ["MOST_ALIKE", "MOST_STOCK", "Carried", "carried"]

MOST_ALIKE = 1000  # sticks of one length, as of offcuts alike
MOST_STOCK = 5000  # entries of stock, so that a file stays well under what a reader takes


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """A house as its file holds it. `left_out` has a sentence without a period for each thing that
    is not in the file as it stands here."""

    house: House
    left_out: tuple[str, ...]

    @property
    def text(self) -> str:
        return write_house(self.house)

    @property
    def offcuts(self) -> int:
        return sum(sheet.count for sheet in self.house.rules.owned)

    @property
    def stocked(self) -> int:
        """How many items are in stock, sheets of each size among them."""
        return len({item.material for item in self.house.stock})


def carried(house: House, here: Iterable[tuple[str, Amount, int]]) -> Carried:
    """What the file of a house carries. `house` has the offcuts that are here, and no stock; `here`
    is what the ledger says: each item, an amount of it, and how many times that is here, which is
    more than once for sticks alone. Amounts and times may be under zero."""
    house, changed = with_writable_texts(house)
    left_out = [
        f"The name or note “{text[:40]}” is written without some characters" for text in changed
    ]
    kinds = {kind.id for kind in house.catalogue.boards}
    owned = tuple(sheet for sheet in house.rules.owned if not kinds or sheet.board in kinds)
    left_out += [
        f"{sheet.count} offcut{'s' * (sheet.count != 1)} of {sheet.board}: no such kind of board "
        "is on your price list any more"
        for sheet in house.rules.owned
        if sheet not in owned
    ]
    rooms = tuple(_with_added(room, house, left_out) for room in house.rooms)
    stock = tuple(_stock(house, here, left_out))
    return Carried(
        house=replace(house, rooms=rooms, rules=replace(house.rules, owned=owned), stock=stock),
        left_out=tuple(left_out),
    )


def _with_added(room: Room, house: House, left_out: list[str]) -> Room:
    """The room with what people added to its phases, as far as a file can hold it."""
    if not room.added:
        return room
    on_sale = OnSale.of(house.catalogue, house.rules)
    kept = []
    for need in room.added:
        name = item_name(need.material, house.catalogue)
        if not on_sale.has(need.material):
            left_out.append(f"{name}, added in {room.name}: it is not on your price list")
        elif on_sale.wrong_kind(need.material, need.amount):
            left_out.append(f"{name}, added in {room.name}: it is not sold in that unit")
        else:
            kept.append(need)
    return replace(room, added=tuple(kept))


def _stock(
    house: House, here: Iterable[tuple[str, Amount, int]], left_out: list[str]
) -> Iterator[StockItem]:
    """The stock that a file can hold. Says in `left_out` what it cannot."""
    on_sale = OnSale.of(house.catalogue, house.rules)
    names = {material.id: material.name for material in house.catalogue.materials}
    room = MOST_STOCK
    for item, amount, times in here:
        if not amount.value or not times:
            continue
        stick = item in on_sale.materials and on_sale.materials[item].cut
        name = names.get(item) or item_name(item, house.catalogue)
        size = _size(amount, house) if stick else shown_amount(amount, house.units)
        some = size.removesuffix(" each")
        if amount.value < 0 or times < 0:
            left_out.append(f"{name}: more was used than was ever noted, so none is here to write")
            continue
        if not on_sale.has(item):
            left_out.append(f"{name}: {some} here, but no longer on your price list")
            continue
        entry = StockItem(material=item, amount=amount)
        if on_sale.wrong_amount(entry) or not _reads_back(amount):
            left_out.append(f"{name}: {some} here, which is no amount in the unit it is sold by")
            continue
        number = min(times, MOST_ALIKE, room)
        if number < times:
            left_out.append(
                f"{name}, {some}: {number:,} of {times:,} are in the file, the most it takes"
            )
        room -= number
        yield from [entry] * number


def _reads_back(amount: Amount) -> bool:
    try:
        return parse_amount(format_amount(amount)) == amount
    except TakeoffError:
        return False


def _size(stick: Amount, house: House) -> str:
    return show_length(int(convert(stick, "ft").value * FOOT), house.units)
