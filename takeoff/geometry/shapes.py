"""The values that the geometry of a house comes to: the surfaces and corners of each room, the
frame of each partition, and notes for people."""

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
    """The frame of one leg of a planned partition, drawn as a person in the parent room sees it: u
    to the right from the left end of its face there, v up.

    `id` is that of the leg, which is the partition's own for its first or only one, and `partition`
    that of the whole. `outline` is
    the face of the frame with its plates, counter-clockwise from its lowest left corner. It goes
    from framing to framing where the partition is framed before board, and from finished face to
    finished face where it is framed after. At a corner it goes to the outside where the leg ends,
    and begins against the leg before where it starts. `openings` are rough openings as (left,
    bottom, right, top). `tees` counts the ends that meet a wall between two of its studs; an end
    counts where the studs are not known. `tee_walls` names the walls of those ends. `corners` is 1
    where the leg ends in a corner. `faces` are the ids of the two surfaces that the leg makes, that
    of the parent room first. `units` are those of the house, for sentences about it.
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
    corners: int = 0
    # results that were stored before a partition had legs do not say it
    partition: str = ""
    units: UnitSystem = UnitSystem.INCH


@dataclass(frozen=True, slots=True)
class PlanSide:
    """One side of a room's plan: the surface there by its id without the room, what people call
    it, and what its boards are marked with, like `K-A`.

    `of` is the id of the whole wall, `number` counts its parts in the room from 1, and `shift` is
    where the part starts along it.
    """

    wall: str
    name: str
    mark: str = ""
    of: str = ""
    number: int = 1
    shift: Nm = Nm(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomGeometry:
    """The geometry of a room: its plan (x right, y down as seen from above, the first wall along
    the top), its surfaces (walls in the order of the outline, then ceiling planes), and the corners
    between them.

    `plan` is at the framing faces, without what partitions cut off, framed before or after board
    alike; it is empty for a plain list. `closing_error` is how far the walked outline missed its
    start, before it was spread over the walls. `floor_area` is in square nanometres, rounded half
    to even. `hang_order` holds the ids of all surfaces, ceiling first. A room behind a partition
    framed after board has only the face of that partition: its other surfaces are those of the
    parent room, which run through. `plan_sides[i]` is the wall from `plan[i]` to the next corner.
    `code` is what its sheets are marked with, and its pieces begin with.
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
    code: str = ""
