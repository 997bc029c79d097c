"""Writes: how pieces are marked."""

from __future__ import annotations

from typing import Any

from remodel.cards.models import Marking
from remodel.history.services import By, change, create, recorded
from remodel.house.models import House, Room

__all__ = ["marking_set"]


@recorded("changed how sheets are marked")
def marking_set(*, by: By, house: House, room: Room | None = None, **values: Any) -> Marking:
    """Set how pieces are marked in a house or, where `room` is given, in one room of it."""
    marking = Marking.objects.filter(house=house, room=room).first()
    if marking is None:
        return create(Marking(house=house, room=room, **values))
    return change(marking, **values)
