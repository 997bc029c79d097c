"""A demo house some way into the work: phases done, going and blocked, orders received in part,
boards and coats ticked, days logged, the next order drafted.

What happened stands in a file beside the house's own, `NAME.progress.json`, told in days before
today, so that the demo is never out of date. All of it is written through the services that
people's own writes go through.
"""

from __future__ import annotations

import json
from datetime import datetime, time, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any

from django.utils import timezone

from remodel.board.queries import takes_of_house
from remodel.bridge.lengths import Amount
from remodel.cards.queries import hanging_for
from remodel.history.services import By, change, recorded
from remodel.house.models import House, Room
from remodel.house.services import room_change
from remodel.logbook import day_log_add
from remodel.supply.models import Claim, Order, Pack, SheetOnSale
from remodel.supply.orders import order_close, order_make, order_place, order_receive_all
from remodel.supply.queries import needs_of
from remodel.supply.services import prices_confirm, store_add
from remodel.ticks import Ticked, tick_all
from remodel.work.models import Phase, PhaseState
from remodel.work.services import note_add, phase_change, phase_set_state

__all__ = ["progress_file", "tell_progress"]


def progress_file(house_file: Path) -> Path:
    """Where the progress of a demo house stands, if it has any."""
    return house_file.with_suffix(".progress.json")


def tell_progress(*, by: By, house: House, text: str | bytes) -> None:
    """Write the work done so far into a demo house that was just imported."""
    progress: dict[str, Any] = json.loads(text)
    rooms = {room.key: room for room in house.rooms.all()}
    _store(by, house, progress["store"])
    for entry in progress["orders"]:
        _order(by, house, rooms, entry)
    for entry in progress["days"]:
        _day(by, rooms, entry)
    for entry in progress["ticks"]:
        _ticks(by, house, rooms[entry["room"]], entry)
    for key in progress["finished"]:
        _finish(
            by,
            rooms[key],
            last=min(day["day"] for day in progress["days"] if day["room"] == key),
        )
    for entry in progress["later_orders"]:
        _order(by, house, rooms, entry)
    for entry in progress["phases"]:
        _phases(by, rooms[entry["room"]], entry)
    for entry in progress["later_days"]:
        _day(by, rooms, entry)
    for entry in progress["later_ticks"]:
        _ticks(by, house, rooms[entry["room"]], entry)
    for entry in progress["drafts"]:
        _draft(by, house, rooms, entry)
    for entry in progress["notes"]:
        note_add(by=by, house=house, room=rooms[entry["room"]], text=entry["text"])


def _store(by: By, house: House, entry: dict[str, Any]) -> None:
    """Add a store with its own prices for what some phases take; all other prices stay samples."""
    store = store_add(by=by, house=house, name=entry["name"], note=entry["note"])
    rooms = list(house.rooms.values_list("key", flat=True))
    items = {line.item for line in needs_of(house, phases=entry["phases"], rooms=rooms)}
    packs = Pack.objects.filter(material__house=house, material__key__in=items)
    prices_confirm(
        by=by, house=house, priced=[*SheetOnSale.objects.filter(house=house), *packs], store=store
    )


def _draft(by: By, house: House, rooms: dict[str, Room], entry: dict[str, Any]) -> Order:
    return order_make(
        by=by,
        house=house,
        phases=entry["phases"],
        rooms=[rooms[key] for key in entry["rooms"]],
        name=entry["name"],
    )


def _order(by: By, house: House, rooms: dict[str, Room], entry: dict[str, Any]) -> None:
    order = _draft(by, house, rooms, entry)
    order = order_place(by=by, order=order)
    _date(by=by, order=order, ago=entry["placed"])
    for came in entry["came"]:
        lines = [line for line in order.lines.filter(phase__in=came["phases"]) if line.packs]
        receipts = [(line, line.packs, line.cost) for line in lines]
        order_receive_all(by=by, order=order, receipts=receipts, day=_day_ago(came["day"]))
    if entry.get("closed"):
        order_close(by=by, order=order)


@recorded("placed an order")
def _date(*, by: By, order: Order, ago: int) -> Order:
    """Move the order back to the day it was placed, because `order_place` knows only today."""
    when = timezone.make_aware(datetime.combine(_day_ago(ago), time(9, 30)))
    Claim.objects.filter(order=order).update(begun_at=when)
    return change(order, made_at=when, placed_at=when)


def _day(by: By, rooms: dict[str, Room], entry: dict[str, Any]) -> None:
    room = rooms[entry["room"]]
    share = Fraction(entry["used"])
    used: list[tuple[str, Amount, int]] = []
    for line in needs_of(room.house, phases=[entry["phase"]], rooms=[room.key]):
        amount = line.amount.value * share
        if line.amount.unit == "each":
            amount = Fraction(round(amount))
        if amount and not line.need.lengths:  # sticks of bead wait for a count of what is left
            used.append((line.item, Amount(amount, line.amount.unit), 1))
    day_log_add(
        by=by,
        room=room,
        phase=_phase(room, entry["phase"]),
        day=_day_ago(entry["day"]),
        minutes=entry["minutes"],
        note=entry.get("note", ""),
        used=used,
    )


def _ticks(by: By, house: House, room: Room, entry: dict[str, Any]) -> None:
    """Tick the first boards of a room in the order in which they are hung, and coats of all its
    surfaces."""
    boards = [step for step in hanging_for(room) or () if step.plan]
    ticks = [Ticked("hung", step.piece) for step in boards[: entry.get("hung", 0)]]
    takes = takes_of_house(house.pk)[room.pk].takes
    for coat in entry.get("coats", ()):
        surfaces = sorted({take.name for take in takes if take.kind == coat})
        ticks += [Ticked(coat, surface) for surface in surfaces]
    tick_all(by=by, room=room, ticks=ticks)


def _phases(by: By, room: Room, entry: dict[str, Any]) -> None:
    for key in entry.get("left_out", ()):
        phase_change(by=by, phase=_phase(room, key), left_out=True)
    for key, ago in entry["done"].items():
        phase_set_state(by=by, phase=_phase(room, key), state=PhaseState.DONE, day=_day_ago(ago))
    for word, state in (
        ("going", PhaseState.IN_PROGRESS),
        ("ready", PhaseState.READY),
        ("blocked", PhaseState.BLOCKED),
    ):
        if word in entry:
            phase = _phase(room, entry[word])
            phase_set_state(by=by, phase=phase, state=state, waits_for=entry.get("waits_for", ""))


def _finish(by: By, room: Room, *, last: int) -> None:
    for phase in room.phases.filter(left_out=False).order_by("position"):
        phase_set_state(by=by, phase=phase, state=PhaseState.DONE, day=_day_ago(last))
    room_change(by=by, room=room, finished=True)


def _phase(room: Room, key: str) -> Phase:
    return Phase.objects.select_related("room__house").get(room=room, key=key)


def _day_ago(days: int) -> Any:
    return timezone.localdate() - timedelta(days=days)
