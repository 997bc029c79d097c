"""What people entered, as the product shows it: no migration changes any of it.

Only what was entered is here, nothing that is worked out: a better plan or another figure may
change an estimate.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

from django.db.models import Sum

from remodel.board.models import Plan
from remodel.bridge import lengths
from remodel.cards.models import DoneMark
from remodel.cards.queries import cards_for, hanging_for, step_marks, ticked_pieces
from remodel.house.models import House, Room
from remodel.people.models import Device, Membership
from remodel.supply.ledger import balances
from remodel.supply.models import Order, OwnedSheet, Pack, Receipt, Returned, SheetOnSale
from remodel.work.models import DayLog, Note, Phase, Photo

__all__ = ["facts"]


def facts() -> dict[str, Any]:
    """What every house holds, by its name, and whose it is."""
    return {
        "houses": {house.name: _house(house) for house in House.objects.all()},
        "removed houses": sorted(
            House.all_objects.exclude(deleted_at=None).values_list("name", flat=True)
        ),
        "members": sorted(
            map(list, Membership.objects.values_list("house__name", "person__name", "role"))
        ),
        "devices": sorted(
            map(list, Device.objects.values_list("label", "person__name", "withdrawn"))
        ),
    }


def _house(house: House) -> dict[str, Any]:
    rooms = list(Room.objects.filter(house=house))
    return {
        "rooms": [room.name for room in rooms],
        "removed rooms": sorted(
            Room.all_objects.filter(house=house)
            .exclude(deleted_at=None)
            .values_list("name", flat=True)
        ),
        "bought together": sorted(room.name for room in rooms if room.pile),
        "marks": {
            room.name: _marks(room) for room in rooms if DoneMark.objects.filter(room=room).exists()
        },
        "plans": dict(
            Counter(
                Plan.objects.filter(house=house)
                .exclude(state="fallen")
                .values_list("state", flat=True)
            )
        ),
        "phases": {
            room.name: [
                [phase.name, phase.state, phase.waits_for]
                for phase in Phase.objects.filter(room=room)
            ]
            for room in rooms
        },
        "days": [
            [log.day.isoformat(), log.room.name, log.minutes, log.note]
            for log in DayLog.objects.filter(room__house=house).order_by("day", "at")
        ],
        "photos": sorted(
            [photo.caption, photo.width, photo.height]
            for photo in Photo.objects.filter(room__house=house)
        ),
        "notes": sorted(Note.objects.filter(house=house).values_list("text", flat=True)),
        "stock": [
            [item, lengths.format_amount(amount), count] for item, amount, count in balances(house)
        ],
        "sheets at hand": sorted(
            map(list, OwnedSheet.objects.filter(house=house).values_list("length", "count"))
        ),
        "orders": {order.name: _order(order) for order in Order.objects.filter(house=house)},
        "prices": {
            "sheets": _prices(SheetOnSale.objects.filter(house=house)),
            "packs": _prices(Pack.objects.filter(material__house=house)),
        },
    }


def _marks(room: Room) -> dict[str, int]:
    """How many of the pieces and steps that the room shows are shown as done: a mark that no longer
    meets its piece is lost to the people who stand before the board."""
    cut, hung = ticked_pieces(room.house_id, "cut"), ticked_pieces(room.house_id, "hung")
    cards = cards_for(room)
    pieces = {
        (piece.room_key, piece.key)
        for sheet in (cards.sheets if cards else ())
        for piece in sheet.pieces
        if piece.room_key == room.key
    }
    steps = {step.key for step in hanging_for(room) or () if not step.piece}
    return {
        "cut": len(pieces & cut),
        "hung": len(pieces & hung),
        "steps": len(steps & step_marks(room)),
    }


def _order(order: Order) -> dict[str, Any]:
    lines = order.lines.all()
    receipts = Receipt.objects.filter(line__order=order).aggregate(
        packs=Sum("packs"), paid=Sum("paid")
    )
    returns = Returned.objects.filter(line__order=order).aggregate(
        packs=Sum("packs"), refund=Sum("refund")
    )
    return {
        "state": order.state,
        "lines": len(lines),
        "packs": sum(line.packs for line in lines),
        "price": sum(line.cost for line in lines),
        "edited": sum(bool(line.reason) for line in lines),
        "needs frozen": len((order.frozen or {}).get("needs", ())),
        "received": receipts,
        "returned": returns,
    }


def _prices(rows: Any) -> dict[str, int]:
    confirmed = [row.price for row in rows if row.confirmed_at]
    return {"count": len(rows), "own": len(confirmed), "sum of own": sum(confirmed)}
