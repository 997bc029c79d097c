"""A small plan of the room in the corner of a surface's drawing, with that surface in it."""

from __future__ import annotations

from takeoff.choices import SurfaceKind
from takeoff.drawing.canvas import Spot
from takeoff.drawing.facts import View, scale_for
from takeoff.drawing.layout import Box
from takeoff.drawing.picture import Picture
from takeoff.geometry.polygon import bounds
from takeoff.geometry.rooms import RoomGeometry
from takeoff.geometry.surface import Surface

__all__ = ["draw_in_plan"]

_WIDE, _HIGH = 2_200, 1_300
_IN_STRIP = 3_600, 1_600
_LETTER = 110  # how far inside a wall its letter stands


def draw_in_plan(picture: Picture, room: RoomGeometry, surface: Surface, *, top: int) -> None:
    """Draw the plan of the room at the right of the picture, or in its strip, from `top` down: the
    wall that is drawn as a heavy line with its mark, or the whole of it for a ceiling. A room given
    as a plain list of surfaces has none."""
    if not room.plan:
        return
    left, back, right, front = bounds(room.plan)
    in_strip = picture.aside > 0
    across, up = _IN_STRIP if in_strip else (_WIDE, _HIGH)
    scale = scale_for(right - left, front - back, across=across, up=up)
    probe = View(0, 0, scale)
    high = probe.size(front - back)
    # y runs down the page as it does in the plan, so the view is fed the plan turned over
    foot = top + 200 + high
    wide = probe.size(right - left)
    start = picture.aside + 60 if in_strip else picture.width - wide - 120
    view = View(start - probe.size(left), foot, scale)
    corners: list[Spot] = [(view.x(x), view.y(front - y)) for x, y in room.plan]
    wall = surface.id.partition("/")[2]
    here = surface.kind is SurfaceKind.CEILING
    picture.sketch.polygon(corners, "rest" if here else "board")
    picture.sketch.polygon(corners, "key")
    for index, side in enumerate(room.plan_sides):
        if side.wall == wall:
            ends = [corners[index], corners[(index + 1) % len(corners)]]
            picture.sketch.lines([ends], "here")
    size = picture.small
    words = "plan" if here else f"{surface.mark} in plan"
    picture.words(
        picture.aside if in_strip else picture.width - 120,
        foot + size * 13 // 10,
        words,
        cls="note",
        anchor="start" if in_strip else "end",
        kind="Key plan",
        says="where this surface is in the room, first wall at the top",
    )
    picture.places.keep(Box(start, foot - high, start + wide, foot))
    picture.y = max(picture.y, foot + size * 15 // 10)
