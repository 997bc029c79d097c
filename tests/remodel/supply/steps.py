"""What people do with orders and ticks, in one line each, and what then stands."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import Any

from remodel.board.queries import takes_of_house
from remodel.history.services import By
from remodel.house.models import House, Room
from remodel.supply import orders
from remodel.supply.dealing import Dealt
from remodel.supply.models import Order, OrderLine
from remodel.supply.money import Money, money_of
from remodel.supply.standing import Standing, standing_of
from remodel.ticks import Ticked, tick, tick_all
from remodel.work.models import Phase
from remodel.work.services import phase_set_state

__all__ = [
    "BOARD_WORK",
    "adds_up",
    "coat",
    "draft",
    "finish",
    "hang",
    "in_packs",
    "job_of",
    "money_now",
    "order_all",
    "place",
    "receive",
    "sheets_of",
    "standing_now",
]

BOARD_WORK = ("hanging", "taping", "finishing")


def draft(by: By, *rooms: Room, phases: Sequence[str] = ("hanging",)) -> Order:
    return orders.order_make(by=by, house=rooms[0].house, phases=phases, rooms=rooms)


def place(by: By, order: Order, **said: Any) -> Order:
    """Place an order, whatever its prices are and whoever looked at the framing."""
    return orders.order_place(by=by, order=order, without_prices=True, unseen_framing=True, **said)


def order_all(by: By, *rooms: Room, phases: Sequence[str] = ("hanging",)) -> Order:
    return place(by, draft(by, *rooms, phases=phases))


def receive(by: By, order: Order, *, items: Iterable[str] | None = None) -> None:
    """Everything of an order comes that is still to come, at the price it was ordered at."""
    for line in OrderLine.objects.filter(order=order).exclude(pack=""):
        coming = orders.to_come(line)
        if coming and (items is None or line.item in items):
            orders.order_receive(by=by, line=line, packs=coming)


def hang(by: By, room: Room, count: int | None = None) -> None:
    """Tick the first boards of a room as hung; all of them where no number is given."""
    for board in takes_of_house(room.house_id)[room.pk].places[:count]:
        tick(by=by, room=room, kind="hung", item=board.key)


def coat(by: By, room: Room, *kinds: str) -> None:
    takes = takes_of_house(room.house_id)[room.pk].takes
    for kind in kinds:
        surfaces = sorted({take.name for take in takes if take.kind == kind})
        tick_all(by=by, room=room, ticks=[Ticked(kind, surface) for surface in surfaces])


def job_of(room: Room, key: str = "hanging") -> Phase:
    return Phase.objects.select_related("room__house").get(room=room, key=key)


def finish(by: By, room: Room, *keys: str) -> None:
    for key in keys:
        phase_set_state(by=by, phase=job_of(room, key), state="done")


def standing_now(house: House) -> Standing:
    return standing_of(house)


def money_now(house: House) -> Money:
    return money_of(house, standing_of(house))


def sheets_of(standing: Standing) -> list[str]:
    """The sizes of sheet that jobs still take."""
    return [item for item, needs in standing.needs.items() if needs and item.startswith("sheet-")]


def in_packs(lines: Iterable[OrderLine], item: str) -> int:
    """How many packs of an item some lines buy."""
    return sum(line.packs for line in lines if line.item == item)


def adds_up(dealt: Dealt[Any]) -> bool:
    """Whether what jobs get and what is free are the supply, or nothing where it is under zero."""
    given = sum((share.here + share.coming for share in dealt.shares), Fraction(0))
    supply = dealt.supply.here + dealt.supply.coming
    return given + dealt.free_here + dealt.free_coming == max(Fraction(0), supply)
