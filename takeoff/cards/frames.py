"""How a mark is carried from the room to the sheet on the floor, and back.

Five frames take part, each with its own axes:

    room     x right and y down in plan, z up
    surface  u right, v up as one faces it from inside; a slope as seen from below, its eave at the
             bottom; a level ceiling as seen from below, its first wall at the bottom
    piece    a right, b up from the piece's own lower left corner, as it hangs
    lying    x along the piece's long way from its left end, y away from the one who kneels at its
             lower edge
    sheet    x along the sheet from its left end, y across it from its lower edge, as it lies before
             it is cut

A piece lies with its long edge along x. Face up it reads as it hangs; a piece that stands upright
is first turned a quarter to the right, its top to the right end. A piece of a level ceiling lies
half a turn from that, as its ceiling is drawn: see `Surface.read_turned`. Back up a piece is turned
over about its long edge, so that its ends stay where they were. On the sheet a piece may also be
turned end for end, to bring its factory edge to the sheet's.

Everything from surface to sheet is whole nanometres and exact both ways. Room to surface is exact
where the wall runs along x or y and the ceiling is level; elsewhere each coordinate is rounded
once, half to even."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from takeoff.boards.plan import Piece
from takeoff.choices import Runs, SurfaceKind
from takeoff.geometry.ceilings import CeilingPlane, plane_parts
from takeoff.geometry.pieces import measure
from takeoff.geometry.polygon import Exact, length_of
from takeoff.geometry.rooms import RoomGeometry
from takeoff.geometry.surface import Point
from takeoff.house import BehindPartition, House, SurfaceList
from takeoff.units import Nm

__all__ = [
    "Lay",
    "OnSheet",
    "SideUp",
    "SurfaceFrame",
    "ceiling_frame",
    "lay_of",
    "measured_room",
    "room_frames",
    "wall_frame",
]

RoomPoint = tuple[Nm, Nm, Nm]
_Vector = tuple[Exact, Exact, Exact]


class SideUp(StrEnum):
    FACE = "face up"
    BACK = "back up"


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceFrame:
    """Where a surface lies in the room.

    `origin` is its (0, 0). `right` and `up`, each of length 1, are the ways its u and v run.
    `inward` points from the framing into the room.
    """

    origin: _Vector
    right: _Vector
    up: _Vector
    inward: _Vector

    def to_room(self, point: Point) -> RoomPoint:
        """The point of the room where (u, v) is. A coordinate that is not whole is rounded
        once."""
        u, v = point
        x, y, z = (
            o + u * r + v * w for o, r, w in zip(self.origin, self.right, self.up, strict=True)
        )
        return Nm(round(x)), Nm(round(y)), Nm(round(z))

    def to_surface(self, point: _Vector) -> Point:
        """The (u, v) of a point of the room. A point off the surface's plane is first moved
        square onto it."""
        off = [p - o for p, o in zip(point, self.origin, strict=True)]
        u = sum((a * b for a, b in zip(off, self.right, strict=True)), Fraction(0))
        v = sum((a * b for a, b in zip(off, self.up, strict=True)), Fraction(0))
        return Nm(round(u)), Nm(round(v))


def wall_frame(start: Point, end: Point) -> SurfaceFrame:
    """The frame of a wall from `start` to `end`: u is 0 at `start`, v is 0 at the floor.

    Walls are walked clockwise as seen from above, so that the room is on the walker's right hand.
    Raises `ValueError` for a wall of no length.
    """
    dx, dy = end[0] - start[0], end[1] - start[1]
    if not (dx or dy):
        raise ValueError("A wall of no length has no frame")
    length = length_of(start, end)
    right = (_part(dx, length), _part(dy, length), 0)
    # y runs down in plan, so a quarter turn to the walker's right takes (x, y) to (-y, x)
    return SurfaceFrame(
        origin=(start[0], start[1], 0),
        right=right,
        up=(0, 0, 1),
        inward=(-right[1], right[0], Fraction(0)),
    )


def ceiling_frame(plane: CeilingPlane, left_edge: Exact, bottom: Exact) -> SurfaceFrame:
    """The frame of a part of a ceiling plane whose lower left corner is at (`left`, `bottom`) of
    the plane."""
    length = length_of((0, 0), plane.along)
    cos, sin = _part(plane.along[0], length), _part(plane.along[1], length)
    steep = Fraction(1) / plane.stretch
    inwards = (-sin, cos)  # in plan, the way v runs
    rise = plane.by_x * inwards[0] + plane.by_y * inwards[1]
    right_edge = (cos, sin, plane.by_x * cos + plane.by_y * sin)
    up = (inwards[0] * steep, inwards[1] * steep, rise * steep)
    base = (Fraction(0), Fraction(0), plane.base)
    origin = tuple(
        o + left_edge * r + bottom * w for o, r, w in zip(base, right_edge, up, strict=True)
    )
    down = (plane.by_x * steep, plane.by_y * steep, -steep)
    return SurfaceFrame(
        origin=(origin[0], origin[1], origin[2]), right=right_edge, up=up, inward=down
    )


def _part(value: int, length: Exact) -> Exact:
    exact = Fraction(value) / length
    return int(exact) if exact.denominator == 1 else exact


def measured_room(house: House, room: str) -> str:
    """The room whose walls were measured: of a room behind a partition, the one before it."""
    shape = house.room(room).shape
    if not isinstance(shape, BehindPartition):
        return room
    return next(partition.room for partition in house.partitions if partition.id == shape.partition)


def room_frames(geometry: RoomGeometry, house: House) -> Mapping[str, SurfaceFrame]:
    """The frame of each surface of a room, by the surface's id.

    A room behind a partition gets the frames of the room it was measured in. There are none for a
    plain list of surfaces, because nobody knows how those meet.
    """
    room = house.room(measured_room(house, geometry.room))
    if isinstance(room.shape, SurfaceList):
        return {}
    whole = measure(room, house).whole
    walls = {part.id: wall_frame(*whole.side(index)) for index, part in enumerate(whole.walls)}
    for index, side in enumerate(geometry.plan_sides):
        ends = geometry.plan[index], geometry.plan[(index + 1) % len(geometry.plan)]
        # A surface counts from the start of its whole wall, and a side may be a part of it.
        whole_side = _moved(wall_frame(*ends), (Nm(-side.shift), Nm(0)))
        walls.setdefault(side.wall, whole_side)
    lows: dict[str, tuple[Exact, Exact]] = {}
    parts = plane_parts(whole.corners, whole.planes)
    for index, plane in enumerate(whole.planes):
        points = [
            plane.to_surface(corner)
            for part in parts
            if part.plane == index
            for corner in part.corners
        ]
        lows[plane.part] = min(u for u, _ in points), min(v for _, v in points)
    frames = {}
    for surface in geometry.surfaces:
        name = surface.id.split("/", 1)[1]
        if surface.kind is SurfaceKind.WALL:
            frames[surface.id] = _moved(walls[name], surface.origin)
        else:
            plane = next(plane for plane in whole.planes if _is_of(name, plane.part))
            low = lows[plane.part]
            frames[surface.id] = ceiling_frame(
                plane, low[0] + surface.origin[0], low[1] + surface.origin[1]
            )
    return frames


def _is_of(name: str, part: str) -> bool:
    """Whether a surface's name is a plane's, or the plane's with a number where a bent plan has
    several parts of it."""
    rest = name.removeprefix(part)
    return name.startswith(part) and (not rest or (rest[0] == "-" and rest[1:].isdigit()))


def _moved(frame: SurfaceFrame, by: Point) -> SurfaceFrame:
    x, y, z = (
        o + by[0] * r + by[1] * w
        for o, r, w in zip(frame.origin, frame.right, frame.up, strict=True)
    )
    return SurfaceFrame(origin=(x, y, z), right=frame.right, up=frame.up, inward=frame.inward)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lay:
    """How one piece lies on the floor.

    (`left`, `bottom`) is its lower left corner on the surface; `width` and `height` are its size as
    it hangs. An `upright` piece hangs with its long way up, and is turned a quarter to lie; a
    `turned` one is then turned half a turn more.
    """

    left: Nm
    bottom: Nm
    width: Nm
    height: Nm
    upright: bool
    turned: bool = False
    up: SideUp = SideUp.FACE

    @property
    def long(self) -> Nm:
        """The size along x as it lies."""
        return self.height if self.upright else self.width

    @property
    def across(self) -> Nm:
        """The size along y as it lies."""
        return self.width if self.upright else self.height

    def to_piece(self, point: Point) -> Point:
        return Nm(point[0] - self.left), Nm(point[1] - self.bottom)

    def from_piece(self, point: Point) -> Point:
        return Nm(point[0] + self.left), Nm(point[1] + self.bottom)

    def to_lying(self, point: Point) -> Point:
        """Where a point of the surface is on the piece as it lies."""
        a, b = self.to_piece(point)
        # a quarter turn to the right: the top comes to the right end, the left side to the far edge
        x, y = (b, Nm(self.width - a)) if self.upright else (a, b)
        if self.turned:
            x, y = Nm(self.long - x), Nm(self.across - y)
        # turned over about the long edge, x stays and y counts from the other edge
        return (x, y) if self.up is SideUp.FACE else (x, Nm(self.across - y))

    def from_lying(self, point: Point) -> Point:
        """Where a mark on the lying piece comes to be on the surface."""
        x, y = point
        y = y if self.up is SideUp.FACE else Nm(self.across - y)
        if self.turned:
            x, y = Nm(self.long - x), Nm(self.across - y)
        a, b = (Nm(self.width - y), x) if self.upright else (x, y)
        return self.from_piece((a, b))


def lay_of(piece: Piece, runs: Runs, up: SideUp = SideUp.FACE, *, turned: bool = False) -> Lay:
    """How `piece` lies, its rows running as `runs` says; `turned` as its surface is read."""
    upright = runs is Runs.ACROSS
    left_edge, right_edge, bottom, top = (
        (piece.low, piece.high, piece.start, piece.end)
        if upright
        else (piece.start, piece.end, piece.low, piece.high)
    )
    return Lay(
        left=left_edge,
        bottom=bottom,
        width=Nm(right_edge - left_edge),
        height=Nm(top - bottom),
        upright=upright,
        turned=turned,
        up=up,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class OnSheet:
    """Where a lying piece is on its sheet.

    (`start`, `low`) is its lower left corner there. A `turned` piece lies end for end. Back up, the
    whole sheet is turned over about its long edge, and `low` counts from the edge that is then the
    lower one.
    """

    lay: Lay
    start: Nm
    low: Nm
    turned: bool

    def to_sheet(self, point: Point) -> Point:
        """Where a point of the surface is on the sheet as it lies."""
        x, y = self.lay.to_lying(point)
        if self.turned:
            x, y = Nm(self.lay.long - x), Nm(self.lay.across - y)
        return Nm(self.start + x), Nm(self.low + y)

    def from_sheet(self, point: Point) -> Point:
        """Where a mark on the lying sheet comes to be on the surface."""
        x, y = Nm(point[0] - self.start), Nm(point[1] - self.low)
        if self.turned:
            x, y = Nm(self.lay.long - x), Nm(self.lay.across - y)
        return self.lay.from_lying((x, y))
