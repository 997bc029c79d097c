"""What comes out of a house's geometry: each room's surfaces and corners, each partition's frame,
and what to know."""

from __future__ import annotations

from dataclasses import dataclass

from takeoff.choices import FramedWhen
from takeoff.geometry.surface import Point, Surface
from takeoff.units import Nm, UnitSystem

__all__ = ["Corner", "PartitionShape", "PlanSide", "RoomGeometry", "RoomNote"]


@dataclass(frozen=True, slots=True)
class RoomNote:
    """Something a person should know of a room's shape; `place` is a wall, opening or box id, or
    the room's."""

    place: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Corner:
    """Where two surfaces of a room meet. `length` is the finished corner's length.

    `inside` corners are taped; outside ones (`inside` False) get a bead. A wall and a ceiling meet
    at an inside one.
    """

    inside: bool
    first: str
    second: str
    length: Nm


@dataclass(frozen=True, slots=True, kw_only=True)
class PartitionShape:
    """The frame of a planned partition: an elevation as one faces it from its parent room, u to the
    right, v up.

    u = 0 is at the wall it stands off where the room behind is on that wall's right side, at the
    opposite wall where it is on the left. `outline` is the frame's face (plates included),
    counter-clockwise from (0, 0): framing to framing where framed before board, finished face to
    finished face where after. `openings` are rough openings as (left, bottom, right, top). `tees`
    counts its ends that meet a wall between that wall's own studs, taken so where those are not
    known. `faces` are the ids of the two surfaces it makes, the parent room's first. `tee_walls`
    names the walls of those ends, and `units` are the house's, for sentences about it.
    """

    id: str
    name: str
    room: str
    framed: FramedWhen
    outline: tuple[Point, ...]
    openings: tuple[tuple[Nm, Nm, Nm, Nm], ...]
    stud: str
    spacing: Nm
    tees: int
    faces: tuple[str, str]
    tee_walls: tuple[str, ...] = ()
    units: UnitSystem = UnitSystem.INCH


@dataclass(frozen=True, slots=True)
class PlanSide:
    """One side of a room's plan: the wall there by its id without the room, and what people call
    it."""

    wall: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomGeometry:
    """A room worked out: its plan (x right, y down as seen from above, first wall along the top),
    what did not close, its surfaces (walls in outline order, then ceiling planes), and the corners
    between them.

    `plan` is at the framing faces, without what partitions cut off, framed before or after board
    alike; empty for a plain list. `closing_error` is how far the walked outline missed its start,
    before it was spread over the walls. `floor_area` is in square nanometres, rounded half to even.
    `hang_order` is the ids of all surfaces, ceiling first. A room behind a partition framed after
    board has that partition's face only: its other surfaces are the parent room's, which run
    through. `plan_sides[i]` is the wall from `plan[i]` to the next corner.
    """

    room: str
    name: str
    plan: tuple[Point, ...]
    closing_error: Nm
    floor_area: int
    surfaces: tuple[Surface, ...]
    corners: tuple[Corner, ...]
    hang_order: tuple[str, ...]
    notes: tuple[RoomNote, ...] = ()
    plan_sides: tuple[PlanSide, ...] = ()
