"""All drawings of a room, in the order they are laid in a pack."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from functools import partial

from takeoff.cards.lookup import room_of
from takeoff.choices import CeilingKind, SurfaceKind
from takeoff.drawing.elevation import surface_drawing
from takeoff.drawing.facts import Drawing
from takeoff.drawing.plan import plan_drawing
from takeoff.drawing.section import section_drawing
from takeoff.drawing.style import HALF, THIRD, Page
from takeoff.house import BehindPartition, SurfaceList
from takeoff.job import Takeoff

__all__ = ["room_set"]

# The scales between which a drawing is made lower.
_LARGE, _SMALLEST = 44, 64


def room_set(takeoff: Takeoff, room: str, *, page: Page = HALF) -> tuple[Drawing, ...]:
    """The drawings of a room: its plan, each ceiling from below, a section where the ceiling
    slopes, and each wall from inside, clockwise; a third of a sheet of paper high where that leaves
    them large enough.

    A room given as a plain list of surfaces has no plan. All the drawings can stand on one page,
    because ids in each begin with the room and the surface. Raises `BadValue` for a room that is
    not there.
    """
    return tuple(_drawings(takeoff, room, page))


def _drawings(takeoff: Takeoff, room: str, page: Page) -> Iterator[Drawing]:
    geometry = room_of(takeoff, room)
    if geometry.plan:
        yield _low(partial(plan_drawing, takeoff, room, page=page, prefix=_prefix(f"plan/{room}")))
    ceilings = [surface for surface in geometry.surfaces if surface.kind is SurfaceKind.CEILING]
    for surface in ceilings:
        yield _surface(takeoff, surface.id, page)
    shape = takeoff.house.room(room).shape
    sloped = takeoff.house.room(room).ceiling.kind is not CeilingKind.FLAT
    if ceilings and sloped and not isinstance(shape, SurfaceList | BehindPartition):
        yield section_drawing(takeoff, room, page=page, prefix=_prefix(f"section/{room}"))
    for surface in geometry.surfaces:
        if surface.kind is SurfaceKind.WALL:
            yield _surface(takeoff, surface.id, page)


def _surface(takeoff: Takeoff, surface: str, page: Page) -> Drawing:
    return _low(partial(surface_drawing, takeoff, surface, page=page, prefix=_prefix(surface)))


def _low(draw: Callable[..., Drawing]) -> Drawing:
    """The drawing at the largest scale at which three such stand on a page; one that would be too
    small then is as large as its page lets it."""
    drawn = draw()
    for scale in range(max(drawn.scale, _LARGE), _SMALLEST + 1, 4):
        lower = draw(least_scale=scale)
        if lower.height <= THIRD:
            return lower
    return drawn


def _prefix(id_: str) -> str:
    """An id for markup. Letters, digits and dashes stay; every other character becomes its number,
    so that two ids never become the same."""
    return "d-" + re.sub(r"[^A-Za-z0-9-]", lambda match: f"_{ord(match[0]):x}_", id_)
