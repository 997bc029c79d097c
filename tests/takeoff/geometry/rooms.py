"""Rooms to test with: sizes in inches."""

from decimal import Decimal

from takeoff.choices import FramedWhen
from takeoff.geometry.rooms import RoomGeometry, room_shapes
from takeoff.geometry.surface import Surface
from takeoff.house import House, Outline, QuickRoom, Room, Wall
from takeoff.rules import Rules
from takeoff.units import INCH, Nm

# Clockwise from the top left: an L with its outside corner between C and D.
L_WALLS = (("A", 144), ("B", 60), ("C", 48, -90), ("D", 60), ("E", 96), ("F", 120))


def inches(value) -> Nm:
    return Nm(round(value * INCH))


def quick(length=144, width=120, **more) -> Room:
    shape = QuickRoom(length=inches(length), width=inches(width))
    return Room(id="kitchen", name="Kitchen", shape=shape, **more)


def outline(*walls, **more) -> Room:
    """Walls as (id, inches) or (id, inches, turn)."""
    made = tuple(
        Wall(
            id=w[0],
            name=f"Wall {w[0]}",
            length=inches(w[1]),
            turn=Decimal(str(w[2] if len(w) > 2 else 90)),
        )
        for w in walls
    )
    return Room(id="kitchen", name="Kitchen", shape=Outline(walls=made), **more)


def house(*rooms, partitions=(), **rules) -> House:
    return House(id="house", name="House", rooms=rooms, partitions=partitions, rules=Rules(**rules))


def shape(room: Room, **rules) -> RoomGeometry:
    rooms, _ = room_shapes(house(room, **rules))
    return rooms[0]


def both_ways(made: House):
    """The house's rooms by id and its first partition's frame, framed before and then after
    board."""
    ways = []
    for when in (FramedWhen.BEFORE, FramedWhen.AFTER):
        rooms, frames = room_shapes(
            made, framed={partition.id: when for partition in made.partitions}
        )
        ways.append(({room.room: room for room in rooms}, frames[0]))
    return ways


def surface(geometry: RoomGeometry, name: str) -> Surface:
    return next(surface for surface in geometry.surfaces if surface.id == f"{geometry.room}/{name}")


def in_inches(corners) -> list[tuple[float, float]]:
    return [(round(u / INCH, 3), round(v / INCH, 3)) for u, v in corners]


def rectangle(start, bottom, end, top) -> list[tuple[float, float]]:
    return [(start, bottom), (end, bottom), (end, top), (start, top)]


def corners(geometry: RoomGeometry) -> dict[tuple[str, str], float]:
    return {(c.first, c.second): round(c.length / INCH, 3) for c in geometry.corners}
