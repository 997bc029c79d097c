"""Where marks of a room's boards are already: on paper, on boards, in an order."""

from __future__ import annotations

from remodel.board.models import Plan
from remodel.bridge.marks import sheet_prefixes
from remodel.cards.models import DoneMark, PrintPack
from remodel.house.models import House, Room
from remodel.supply.models import Order

__all__ = ["is_ordered", "is_printed", "is_ticked", "sheet_codes"]


def is_ticked(room: Room) -> bool:
    """Whether anything of the room is ticked as done."""
    return DoneMark.objects.filter(room=room, done=True).exists()


def is_printed(room: Room) -> bool:
    """Whether a print set that was made has the room in it."""
    packs = PrintPack.objects.filter(house=room.house_id, state=PrintPack.State.DONE)
    return any(room.key in keys for keys in packs.values_list("rooms", flat=True))


def is_ordered(room: Room) -> bool:
    """Whether an order that stands was placed for the room."""
    placed = (Order.State.PLACED, Order.State.CLOSED)
    return Order.objects.filter(rooms=room, state__in=placed).exists()


def sheet_codes(house: House) -> set[str]:
    """The letters that sheets of the house's kept plans are marked with. Plans of before the codes
    of rooms have letters of their own."""
    kept = Plan.objects.filter(house=house).values_list("data", flat=True)
    return {prefix for data in kept.iterator() for prefix in sheet_prefixes(data)}
