"""Writes: how pieces are marked, and that cards were printed."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Any

from remodel.board.models import Plan
from remodel.board.plans import plans_keep
from remodel.board.services import bring_up_to_date
from remodel.cards.models import Marking
from remodel.history.services import By, change, create, recorded
from remodel.house.models import House, Room

__all__ = ["cards_printed", "marking_set"]

# What of a print set people cut and hang by.
_CUT_BY = {"cards", "hanging"}


@recorded("changed how sheets are marked")
def marking_set(*, by: By, house: House, room: Room | None = None, **values: Any) -> Marking:
    """Set how pieces are marked in a house or, where `room` is given, in one room of it."""
    marking = Marking.objects.filter(house=house, room=room).first()
    if marking is None:
        return create(Marking(house=house, room=room, **values))
    return change(marking, **values)


def cards_printed(*, by: By, rooms: Iterable[Room], parts: Collection[str]) -> None:
    """Accept the plans that cards or a hanging order were printed of: people cut by the paper, so
    no better plan takes their place unasked."""
    if _CUT_BY.isdisjoint(parts):
        return
    for room in rooms:
        plans_keep(by=by, room=room, why=Plan.Why.PRINTED)
        bring_up_to_date(room.house_id, {room.pk})
