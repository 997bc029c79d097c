"""The plan of a room at its framing, before and after partitions cut it: the walls round it and the
ceiling over it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from takeoff.choices import MeasuredTo, SurfaceKind
from takeoff.errors import BadValue
from takeoff.geometry.ceilings import CeilingPlane, planes_of
from takeoff.geometry.outline import walk, walls_of
from takeoff.geometry.polygon import length_of, move_sides
from takeoff.geometry.shapes import RoomNote
from takeoff.geometry.surface import Point
from takeoff.geometry.treatment import decide
from takeoff.house import Framing, House, Room
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = ["FloorPlan", "MeasuredRoom", "WallPart", "measure"]


@dataclass(frozen=True, slots=True, kw_only=True)
class WallPart:
    """The part of a wall that stands at one side of a plan: the whole wall, or what a partition
    leaves of it.

    `shift` is where the part starts along the whole wall. `whole` is the length of the whole wall,
    between the corners of the framing. The face of a partition's leg is such a wall too; `studs`
    are then those behind the whole face, and `faces_parent` says that it is seen from the room
    that the partition cut. `tape_from` and `tape_to` are where
    the tape of the person began at either end: 0 and `whole` where it was held to framing, the old
    finished corners where it was not.
    """

    id: str
    name: str
    shift: Nm
    whole: Nm
    tape_from: Nm
    tape_to: Nm
    studs: Framing | None = None
    faces_parent: bool = False
    number: int = 1

    @property
    def surface(self) -> str:
        """What its surface is called in its room: the wall's own id, numbered from 2 where a
        partition leaves several parts of the wall in one room."""
        return self.id if self.number == 1 else f"{self.id}-{self.number}"

    @property
    def full_name(self) -> str:
        return self.name if self.number == 1 else f"{self.name} part {self.number}"


@dataclass(frozen=True, slots=True, kw_only=True)
class FloorPlan:
    """The plan of one room or of what partitions leave of it: `walls[i]` starts at `corners[i]`,
    clockwise as walked.

    `planes` are those of the whole room at the framing face.
    """

    corners: tuple[Point, ...]
    walls: tuple[WallPart, ...]
    planes: tuple[CeilingPlane, ...]

    def side(self, index: int) -> tuple[Point, Point]:
        return self.corners[index], self.corners[(index + 1) % len(self.corners)]

    def along(self, index: int) -> tuple[int, int]:
        """The direction in which a wall is walked, as long as the wall."""
        start, end = self.side(index)
        return end[0] - start[0], end[1] - start[1]

    def length(self, index: int) -> Nm:
        return Nm(round(length_of(*self.side(index))))


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredRoom:
    """A room as walked: its plan at the framing, the corners and ceiling at the faces the tape
    touched."""

    room: Room
    whole: FloorPlan
    measured: tuple[Point, ...]
    measured_planes: tuple[CeilingPlane, ...]
    closing_error: Nm
    notes: tuple[RoomNote, ...]


def measure(room: Room, house: House) -> MeasuredRoom:
    """Return the plan of a room at the framing face, worked out of what the person measured.

    Where the person measured to finished faces, the framing of each wall is farther out by its old
    lining, and that of the ceiling is higher by its own. Raises `BadValue` for an outline that does
    not close, crosses itself, or has no room for its linings, and for a ceiling that comes down to
    the floor.
    """
    walls = walls_of(room)
    walked = walk(room, tolerance=house.rules.closing_tolerance, units=house.units)
    ids = [wall.id for wall in walls]
    planes = planes_of(room, walked.corners, ids, units=house.units)
    corners, framing_planes = walked.corners, planes
    if room.measured_to is MeasuredTo.FINISHED:
        linings = [decide(room, SurfaceKind.WALL, (wall.id,), house.rules).lining for wall in walls]
        corners = _at_framing(room, walked.corners, linings)
        framing_planes = tuple(
            plane.raised(_ceiling_lining(room, plane, house.rules)) for plane in planes
        )
    parts = []
    for k, wall in enumerate(walls):
        start, end = corners[k], corners[(k + 1) % len(corners)]
        whole = length_of(start, end)
        tape_from = _along(start, end, walked.corners[k])
        tape_to = _along(start, end, walked.corners[(k + 1) % len(corners)])
        parts.append(
            WallPart(
                id=wall.id,
                name=wall.name,
                shift=Nm(0),
                whole=Nm(round(whole)),
                tape_from=tape_from,
                tape_to=tape_to,
            )
        )
    for k, corner in enumerate(corners):
        if min(plane.height(corner) for plane in framing_planes) <= 0:
            raise BadValue(
                f"{room.name}: the ceiling comes down to the floor where {walls[k].name} starts; "
                "check the ceiling's "
                "heights, and that low_wall is the lowest wall"
            )
    notes = [RoomNote(room.id, walked.note)] if walked.note else []
    return MeasuredRoom(
        room=room,
        whole=FloorPlan(corners=corners, walls=tuple(parts), planes=framing_planes),
        measured=walked.corners,
        measured_planes=planes,
        closing_error=walked.closing_error,
        notes=tuple(notes),
    )


def _ceiling_lining(room: Room, plane: CeilingPlane, rules: Rules) -> Nm:
    return decide(room, SurfaceKind.CEILING, (plane.part, "ceiling"), rules).lining


def _at_framing(room: Room, corners: Sequence[Point], linings: Sequence[Nm]) -> tuple[Point, ...]:
    for k, corner in enumerate(corners):
        before, after = corners[k - 1], corners[(k + 1) % len(corners)]
        straight = (corner[0] - before[0]) * (after[1] - corner[1]) == (corner[1] - before[1]) * (
            after[0] - corner[0]
        )
        if straight and linings[k] != linings[k - 1]:
            raise BadValue(
                f"{room.name}: two walls in one line have old linings of different thickness; "
                "measure the room to "
                "framing, or give the step between them as a wall of its own"
            )
    moved = move_sides(corners, [-lining for lining in linings])
    if len(moved) < len(corners):
        raise BadValue(
            f"{room.name}: a wall is shorter than the linings beside it; measure the room to "
            "framing, or leave out "
            "that wall"
        )
    return tuple((Nm(round(x)), Nm(round(y))) for _, (x, y) in moved)


def _along(start: Point, end: Point, point: Point) -> Nm:
    """How far along a wall a point beside it lies."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    return Nm(
        round(
            Fraction((point[0] - start[0]) * dx + (point[1] - start[1]) * dy)
            / length_of(start, end)
        )
    )
