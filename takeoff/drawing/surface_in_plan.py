"""A small plan of the room in the corner of a surface's drawing, with that surface in it."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

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
_MOST_LETTERS = 8  # of a room with more walls, only the letter of the wall at hand comes in


def draw_in_plan(picture: Picture, room: RoomGeometry, surface: Surface, *, top: int) -> None:
    """Draw the plan of the room at the right of the picture, or in its strip, from `top` down: the
    wall that is drawn as a heavy line with its mark, or the whole of it for a ceiling; with the
    letters of its walls. A room given as a plain list of surfaces has none."""
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
    _letters(picture, room, corners, wall)
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


def _letters(picture: Picture, room: RoomGeometry, corners: Sequence[Spot], here: str) -> None:
    """The letter of each wall inside it, where there is room, that of the wall at hand first."""
    size = picture.small
    sides = sorted(enumerate(room.plan_sides), key=lambda placed: placed[1].wall != here)
    for index, side in sides if len(sides) <= _MOST_LETTERS else sides[:1]:
        letter = side.mark.rpartition("-")[2]
        (x0, y0), (x1, y1) = corners[index], corners[(index + 1) % len(corners)]
        long = hypot(x1 - x0, y1 - y0)
        if long < size:
            continue
        # walls are walked clockwise, so the room is on the right hand
        off = _LETTER + size * 55 // 100
        x, y = (x0 + x1) / 2 - (y1 - y0) * off / long, (y0 + y1) / 2 + (x1 - x0) * off / long
        picture.words(
            round(x),
            round(y) + size * 35 // 100,
            letter,
            cls="note",
            anchor="middle",
            kind="Key plan",
            says=f"{side.name} in the small plan of the room",
        )
