"""A room's plan walked wall by wall: where its corners fall, by how much it fails to close, and who
bears that.

Plan coordinates: x right, y down as seen from above; the walk starts at (0, 0) along +x, the room
on the right hand.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from takeoff.errors import BadValue
from takeoff.geometry.polygon import first_crossing, length_of
from takeoff.geometry.surface import Point
from takeoff.house import Outline, QuickRoom, Room, Wall
from takeoff.units import Nm, UnitSystem, round_to_tape, tape_reading

__all__ = ["Walked", "walk", "walls_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Walked:
    """A closed outline: `corners[i]` starts wall i. `closing_error` was spread over the walls,
    `note` says how."""

    corners: tuple[Point, ...]
    closing_error: Nm
    note: str | None


def walls_of(room: Room) -> tuple[Wall, ...]:
    """Return the walls as walked. The walls of a quick room are A (its length), B, C and D. Raises
    `BadValue` for a room without walls."""
    if isinstance(room.shape, QuickRoom):
        length, width = room.shape.length, room.shape.width
        return tuple(
            Wall(id=letter, name=f"Wall {letter}", length=size)
            for letter, size in zip("ABCD", (length, width, length, width), strict=True)
        )
    if isinstance(room.shape, Outline):
        return room.shape.walls
    raise BadValue(
        f"{room.name} has no outline to walk; give it as length and width, or wall by wall"
    )


def walk(room: Room, *, tolerance: Nm, units: UnitSystem) -> Walked:
    """Return the corners of a room that is given by length and width or wall by wall. Its closing
    error is spread over the walls.

    The error along each axis is spread in proportion to how far each wall leads along that axis, so
    that walls that are all square to each other stay so. Raises `BadValue` where the turns do not
    add up to 360 degrees, where the error is over `tolerance`, and where the outline crosses or
    touches itself.
    """
    walls = walls_of(room)
    turned = sum((wall.turn for wall in walls), Decimal(0))
    if turned != 360:
        raise BadValue(
            f"{room.name}: the turns of its walls add up to {_degrees(turned)}, not 360 degrees; "
            "walk clockwise and "
            "give 90 for an inside corner, -90 for an outside one (now "
            f"{', '.join(_turn(wall) for wall in walls)})"
        )
    steps = _steps(walls)
    miss = (Nm(sum(x for x, _ in steps)), Nm(sum(y for _, y in steps)))
    error = Nm(round(length_of((0, 0), miss)))
    if error > tolerance:
        raise BadValue(_does_not_close(room, walls, steps, miss, error, tolerance, units))
    corners = _spread(steps, miss)
    crossing = first_crossing(corners)
    if crossing is not None:
        one, other = (walls[index].name for index in crossing)
        raise BadValue(
            f"{room.name}: {one} and {other} cross or touch; check their lengths and turns, "
            "walking clockwise with "
            "the room on the right hand"
        )
    note = None
    if error:
        note = (
            f"The outline did not close by {tape_reading(error, units)} ({_by_axis(miss, units)}); "
            "that was spread "
            "over the walls in proportion to their length"
        )
    return Walked(corners=corners, closing_error=error, note=note)


def _steps(walls: Sequence[Wall]) -> list[Point]:
    """How far each wall leads along x and y."""
    steps = []
    heading = Decimal(0)
    for wall in walls:
        steps.append(_step(wall.length, heading))
        heading = (heading + wall.turn) % 360
    return steps


def _step(length: Nm, heading: Decimal) -> Point:
    """`length` along `heading` (degrees clockwise from +x), exact for right angles, else rounded to
    whole nanometres.

    Sine and cosine are ratios, taken as floats and good to 2 x 10^-16: on 30 m that is 10^-5 nm,
    far under the half nanometre of the rounding. The product is exact.
    """
    quarters, rest = divmod(heading, 90)
    if rest == 0:
        x, y = ((1, 0), (0, 1), (-1, 0), (0, -1))[int(quarters) % 4]
        return Nm(x * length), Nm(y * length)
    angle = math.radians(float(heading))
    return Nm(round(length * Fraction(math.cos(angle)))), Nm(
        round(length * Fraction(math.sin(angle)))
    )


def _spread(steps: Sequence[Point], miss: Point) -> tuple[Point, ...]:
    """Where each wall starts once the miss is taken off, wall by wall; running sums keep the total
    exact."""
    covered = [sum(abs(step[axis]) for step in steps) for axis in (0, 1)]
    corners: list[Point] = []
    walked, passed = [0, 0], [0, 0]
    for step in steps:
        corner = [walked[axis] - _share(miss[axis], passed[axis], covered[axis]) for axis in (0, 1)]
        corners.append((Nm(corner[0]), Nm(corner[1])))
        for axis in (0, 1):
            walked[axis] += step[axis]
            passed[axis] += abs(step[axis])
    return tuple(corners)


def _share(miss: int, passed: int, covered: int) -> int:
    return round(Fraction(miss * passed, covered)) if covered else 0


def _does_not_close(
    room: Room,
    walls: Sequence[Wall],
    steps: Sequence[Point],
    miss: Point,
    error: Nm,
    tolerance: Nm,
    units: UnitSystem,
) -> str:
    axis = 0 if abs(miss[0]) >= abs(miss[1]) else 1
    suspects = [wall.name for wall, step in zip(walls, steps, strict=True) if step[axis]]
    return (
        f"{room.name} does not close: walked round, its walls end {tape_reading(error, units)} "
        "from the start "
        f"({_by_axis(miss, units)}), and at most {tape_reading(tolerance, units)} is allowed. "
        f"Measure again {', '.join(suspects)}"
    )


def _by_axis(miss: Point, units: UnitSystem) -> str:
    """What each axis misses by, as a tape reads; an axis that closes to its finest mark is not
    named."""
    along, across = (round_to_tape(Nm(abs(part)), units, up=None) for part in miss)
    parts = []
    if along or not across:
        parts.append(
            f"{tape_reading(along, units)} {'short' if miss[0] < 0 else 'too far'} along the first "
            "wall"
        )
    if across:
        parts.append(f"{tape_reading(across, units)} across {'it' if parts else 'the first wall'}")
    return ", ".join(parts)


def _degrees(turn: Decimal) -> str:
    return f"{turn.normalize():f}"


def _turn(wall: Wall) -> str:
    return f"{wall.name} {_degrees(wall.turn)}"
