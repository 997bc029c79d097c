"""A small plan of a room that shows where a piece hangs in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from takeoff.boards.plan import Piece
from takeoff.cards.frames import SurfaceFrame, room_frames
from takeoff.choices import SurfaceKind
from takeoff.geometry.rooms import RoomGeometry
from takeoff.geometry.surface import Point, Surface
from takeoff.house import House

__all__ = ["KeyPlan", "RoomInPlan"]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyPlan:
    """The floor of a room seen from above, x to the right and y down.

    `here` is what a piece covers: the two ends of its part of a wall, or its outline on a ceiling.
    `walls` are the ends of each wall with its letter.
    """

    outline: tuple[Point, ...]
    here: tuple[Point, ...]
    walls: tuple[tuple[Point, Point, str], ...]


@dataclass(frozen=True, slots=True)
class RoomInPlan:
    """A room whose pieces are shown in plan. It has no frames where nobody knows how its surfaces
    meet."""

    geometry: RoomGeometry
    frames: Mapping[str, SurfaceFrame]

    @classmethod
    def of(cls, geometry: RoomGeometry, house: House) -> RoomInPlan:
        return cls(geometry, room_frames(geometry, house))

    def key_plan(self, piece: Piece, surface: Surface) -> KeyPlan | None:
        """Where `piece` of `surface` hangs; None where the room has no plan."""
        frame, corners = self.frames.get(surface.id), self.geometry.plan
        if frame is None or not corners:
            return None
        us, vs = [u for u, _ in piece.outline], [v for _, v in piece.outline]
        spots: tuple[Point, ...] = piece.outline
        if surface.kind is SurfaceKind.WALL:
            spots = ((min(us), min(vs)), (max(us), min(vs)))
        here = tuple((x, y) for x, y, _ in (frame.to_room(spot) for spot in spots))
        walls = tuple(
            (start, end, side.mark.rpartition("-")[2])
            for start, end, side in zip(
                corners, (*corners[1:], corners[0]), self.geometry.plan_sides, strict=True
            )
        )
        return KeyPlan(outline=corners, here=here, walls=walls)
