"""What cannot be built is refused before it is saved."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from remodel.board.models import RoomResult
from remodel.engine import house_value
from remodel.engine.families import check_shape, joined
from remodel.engine.lengths import TakeoffError
from remodel.engine.rows import board_kinds_value
from remodel.history.errors import Refused
from remodel.house.models import Room
from remodel.house.queries import family_with

__all__ = ["check_room", "refusing"]


@contextmanager
def refusing(field: str = "") -> Iterator[None]:
    """Turn what the engine refuses into `Refused`."""
    try:
        yield
    except TakeoffError as error:
        raise Refused(str(error), field=field) from None
    except ValueError as error:
        if isinstance(error, Refused):
            raise
        raise Refused(f"One of the words is not known here: {error}", field=field) from None


def check_room(room: Room) -> None:
    """Raise `Refused` where a room, or one cut off it, cannot be built as it stands now: an opening outside its wall,
    a partition that misses. A room that could not be before is let through, for it is being put right step by step."""
    if RoomResult.objects.filter(room=room).exclude(refusal="").exists():
        return
    with refusing():
        row = family_with(room)
        house = house_value(row, catalogue=board_kinds_value(row))
        check_shape(joined(house, [room.key], shared="-"))
