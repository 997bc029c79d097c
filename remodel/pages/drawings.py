"""Drawings as pages show them, kept by the digest of what they are drawn from."""

from __future__ import annotations

from django.core.cache import cache
from django.utils.safestring import SafeString, mark_safe

from remodel.board.models import PlacedPiece, RoomResult
from remodel.board.queries import pile_result_of
from remodel.bridge import codec, drawings, house_value
from remodel.bridge.drawings import BehindFace
from remodel.bridge.drawn import Drawn, RoomDrawn
from remodel.bridge.piles import engine_version
from remodel.bridge.records import House, board_kinds_value
from remodel.house.models import Room
from remodel.house.queries import house_bought_with
from remodel.web.parts import Column, Drawing, Table

__all__ = ["behind_drawn", "drawing_of", "room_drawn", "surface_drawn"]

_DAY = 24 * 3600


def room_drawn(room: Room) -> RoomDrawn | None:
    """Every drawing of a room, drawn once for each result and what hangs of it; None where the room
    could not be worked out."""
    hung = hung_marks(room)
    digest = RoomResult.objects.filter(room=room).values_list("digest", flat=True).first()
    if not digest:
        return None
    key = f"drawn:{codec.digest(engine_version(), digest, room.key, sorted(hung))}"
    drawn: RoomDrawn | None = cache.get(key)
    if drawn is None:
        result = pile_result_of(room)
        if result is None:
            return None
        house = _shapes_with(room)
        drawn = drawings.draw_room(house, room.key, result, hung)
        cache.set(key, drawn, _DAY)
    return drawn


def surface_drawn(room: Room, surface: str) -> Drawn | None:
    """One surface, drawn large; None where the room could not be worked out. Raises `BadValue`
    where the room has no such surface."""
    result = pile_result_of(room)
    if result is None:
        return None
    house = _shapes_with(room)
    return drawings.draw_surface(house, room.key, surface, result, hung_marks(room))


def _shapes_with(room: Room) -> House:
    """The house as far as drawings of a room look at it: a large one takes long to read."""
    row = house_bought_with(room)
    return house_value(row, catalogue=board_kinds_value(row))


def hung_marks(room: Room) -> frozenset[str]:
    """The marks of a room's boards that are ticked as hung."""
    placed = PlacedPiece.objects.filter(room=room, state=PlacedPiece.State.HUNG)
    return frozenset(placed.values_list("mark", flat=True))


def behind_drawn(room: Room, surface: str) -> tuple[Drawn | None, BehindFace] | None:
    """What one surface hides, drawn and in words; None where the room could not be worked out.
    Raises `BadValue` where the room has no such surface."""
    result = pile_result_of(room)
    if result is None:
        return None
    return drawings.draw_behind(_shapes_with(room), room.key, surface, result)


def drawing_of(
    drawn: Drawn,
    id: str,  # noqa: A002 - the id of the figure in the page
    caption: str,
    *,
    wide: bool = False,
) -> Drawing:
    """A drawing for the tag `{% drawing %}`, with its facts as a table; `wide` too where the page
    has room for that."""
    facts = [list(row) for row in drawn.facts]
    return Drawing(
        id=id,
        caption=caption,
        svg=_safe(drawn.svg),
        wide=_safe(drawn.wide) if wide else "",
        facts=Table(
            id=f"{id}-facts",
            caption=f"{caption}: every measure in the drawing",
            columns=[Column(title="What"), Column(title="In the drawing"), Column(title="It says")],
            rows=facts,
            caption_hidden=True,
        ),
    )


def _safe(svg: str) -> SafeString:
    """Mark a drawing as safe: the engine escapes every text in it and writes no style, script or
    handler."""
    return mark_safe(svg)
