"""All drawings of a room, in the order they are laid in a pack."""

from __future__ import annotations

import re
from collections.abc import Iterator

from takeoff.cards.lookup import room_of
from takeoff.choices import CeilingKind, SurfaceKind
from takeoff.drawing.elevation import surface_drawing
from takeoff.drawing.facts import Drawing
from takeoff.drawing.plan import plan_drawing
from takeoff.drawing.section import section_drawing
from takeoff.drawing.style import PAPER, Page
from takeoff.house import BehindPartition, SurfaceList
from takeoff.job import Takeoff

__all__ = ["room_set"]


def room_set(takeoff: Takeoff, room: str, *, page: Page = PAPER) -> tuple[Drawing, ...]:
    """The plan, each ceiling from below, a section where it slopes, and each wall clockwise from
    inside.

    A room given as a plain list has no plan. Ids inside each drawing begin with the room's and the
    surface's, so that all can stand on one page. Raises `BadValue` for no such room.
    """
    return tuple(_drawings(takeoff, room, page))


def _drawings(takeoff: Takeoff, room: str, page: Page) -> Iterator[Drawing]:
    geometry = room_of(takeoff, room)
    if geometry.plan:
        yield plan_drawing(takeoff, room, page=page, prefix=_prefix(f"plan/{room}"))
    ceilings = [surface for surface in geometry.surfaces if surface.kind is SurfaceKind.CEILING]
    for surface in ceilings:
        yield surface_drawing(takeoff, surface.id, page=page, prefix=_prefix(surface.id))
    shape = takeoff.house.room(room).shape
    sloped = takeoff.house.room(room).ceiling.kind is not CeilingKind.FLAT
    if ceilings and sloped and not isinstance(shape, SurfaceList | BehindPartition):
        yield section_drawing(takeoff, room, page=page, prefix=_prefix(f"section/{room}"))
    for surface in geometry.surfaces:
        if surface.kind is SurfaceKind.WALL:
            yield surface_drawing(takeoff, surface.id, page=page, prefix=_prefix(surface.id))


def _prefix(id_: str) -> str:
    """An id for markup: letters, digits and dashes stay, all else is told by its number, so that
    two never meet."""
    return "d-" + re.sub(r"[^A-Za-z0-9-]", lambda match: f"_{ord(match[0]):x}_", id_)
