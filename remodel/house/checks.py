"""What cannot be built is refused before it is saved."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from remodel.bridge import house_value
from remodel.bridge.lengths import TakeoffError
from remodel.bridge.overlaps import PlacedThings, Reading, overlap_refusal
from remodel.bridge.piles import check_shape, joined
from remodel.bridge.records import board_kinds_value
from remodel.history.errors import Refused
from remodel.house.models import Cutout, Opening, Room
from remodel.house.queries import house_with_pile

__all__ = ["CUTOUT_ACROSS", "OPENING_LEFT", "check_hole", "check_room", "refusing"]

# The labels of the fields that place a hole along its surface, for forms and refusals alike.
CUTOUT_ACROSS = "How far across"
OPENING_LEFT = "Left end of the wall to the opening"


@contextmanager
def refusing(field: str = "") -> Iterator[None]:
    """Turn an error of the engine into `Refused`."""
    try:
        yield
    except TakeoffError as error:
        raise Refused(str(error), field=field) from None
    except ValueError as error:
        if isinstance(error, Refused):
            raise
        raise Refused(f"One of the words is not known here: {error}", field=field) from None


def check_room(room: Room) -> None:
    """Raise `Refused` where a room, or a room cut off from it, cannot be built as it stands now: an
    opening lies outside its wall, or a partition misses it.

    A room that could not be built before this edit passes, because it is being put right step by
    step.
    """
    _things_of(room)


def check_hole(hole: Opening | Cutout) -> None:
    """Raise `Refused` where a hole just added or moved overlaps another, or for the reasons of
    `check_room`.

    Two boxes may not share a spot, and no box may be in a door. Holes elsewhere in the room that
    overlap are no reason to refuse this one.
    """
    room = hole._room()
    if isinstance(hole, Opening):
        field, reading = "left", Reading(label=OPENING_LEFT, origin="left", distance=hole.left)
    else:
        field = "across_distance"
        reading = Reading(
            label=CUTOUT_ACROSS, origin=hole.across_origin, distance=hole.across_distance
        )
    refusal = overlap_refusal(
        _things_of(room), hole.key, reading, room=room.name, units=room.house.units
    )
    if refusal:
        raise Refused(refusal, field=field)


def _things_of(room: Room) -> PlacedThings:
    """What stands on the surfaces of a room and of the rooms cut off from it, once all of it is
    checked. Empty where the room could not be built before this edit."""
    stored = Room.all_objects.filter(pk=room.pk, result__isnull=False)
    if stored.exclude(result__refusal="").exists():
        return ()
    with refusing():
        row = house_with_pile(room)
        house = house_value(row, catalogue=board_kinds_value(row))
        return check_shape(joined(house, [room.key], shared="-"))
