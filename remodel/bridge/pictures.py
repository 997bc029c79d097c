"""A wall or ceiling as it is measured, with a thing on it while that is typed: nothing is planned
for it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from remodel.bridge.lengths import TakeoffError
from remodel.bridge.records import board_kinds_value, house_value, thing_value
from takeoff.choices import SurfaceKind
from takeoff.geometry.polygon import bounds
from takeoff.geometry.rooms import house_geometry
from takeoff.geometry.shapes import RoomGeometry
from takeoff.geometry.surface import PlacedCutout, PlacedHidden, PlacedOpening, Surface
from takeoff.house import Cutout, HiddenItem, House, Opening, Room

__all__ = ["TYPED", "Face", "FacePicture", "PicturedThing", "RoomPlan", "face_picture"]

TYPED = "typed"  # the key of a thing that is not kept yet

Corner = tuple[int, int]
Thing = Opening | Cutout | HiddenItem


@dataclass(frozen=True, slots=True, kw_only=True)
class PicturedThing:
    """What stands on a surface, as a rectangle in nanometers, placed as its face is. `is_typed` is
    the one at hand."""

    name: str
    kind: str
    left: int
    bottom: int
    right: int
    top: int
    is_round: bool = False
    is_typed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomPlan:
    """A room from above, x to the right and y down: its corners, and the ends of each wall with its
    letter and whether it is the one at hand."""

    corners: tuple[Corner, ...]
    walls: tuple[tuple[Corner, Corner, str, bool], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Face:
    """One surface as a person faces it, a ceiling as one looks up, y up, in nanometers.

    `parts` are its outlines, several where partitions cut it. `sides` are the middles of its sides
    with the letter of the wall each meets. One that is `from_top` is measured from its top, a level
    ceiling, whose first wall is there.
    """

    name: str
    is_wall: bool
    from_top: bool
    parts: tuple[tuple[Corner, ...], ...]
    sides: tuple[tuple[Corner, str], ...]
    things: tuple[PicturedThing, ...]

    @property
    def box(self) -> tuple[int, int, int, int]:
        """The lowest and highest x and y: left, bottom, right, top."""
        return bounds([corner for part in self.parts for corner in part])  # type: ignore[misc]


@dataclass(frozen=True, slots=True, kw_only=True)
class FacePicture:
    """A face and the room it is in. There is no face where there is no one flat surface to draw: a
    ceiling of several planes, a face of a partition; and no plan of a plain list of surfaces.
    `trouble` says why what is typed is not shown."""

    face: Face | None
    plan: RoomPlan | None
    trouble: str = ""


def face_picture(house: Any, room: str, surface: str, typed: Any = None) -> FacePicture | None:
    """The surface of key `surface` with what stands on it, and with the row `typed`, which need not
    be stored: it takes the place of the thing with its key. None where the room cannot be built."""
    value = house_value(house, catalogue=board_kinds_value(house))
    trouble = ""
    if typed is not None:
        try:
            return _picture(_with_thing(value, room, thing_value(typed)), room, surface, typed.key)
        except TakeoffError as error:
            trouble = str(error).splitlines()[0]
    try:
        return replace(_picture(value, room, surface, ""), trouble=trouble)
    except TakeoffError:
        return None


def _with_thing(house: House, key: str, thing: Thing) -> House:
    def changed(room: Room) -> Room:
        if room.id != key:
            return room
        if isinstance(thing, Opening):
            others = [other for other in room.openings if other.id != thing.id]
            return replace(room, openings=(*others, thing))
        if isinstance(thing, Cutout):
            holes = [other for other in room.cutouts if other.id != thing.id]
            return replace(room, cutouts=(*holes, thing))
        kept = [other for other in room.hidden if other.id != thing.id]
        return replace(room, hidden=(*kept, thing))

    return replace(house, rooms=tuple(changed(room) for room in house.rooms))


def _picture(house: House, room: str, key: str, typed: str) -> FacePicture:
    geometry = next(one for one in house_geometry(house).rooms if one.room == room)
    return FacePicture(face=_face(geometry, f"{room}/{key}", typed), plan=_plan(geometry, key))


def _face(room: RoomGeometry, whole: str, typed: str) -> Face | None:
    parts = [
        surface
        for surface in room.surfaces
        if surface.id == whole or surface.id.rpartition("-")[0] == whole
    ]
    # The planes of a sloped ceiling are named after it as the parts of a cut wall are.
    if not parts or (parts[0].kind is SurfaceKind.CEILING and len(parts) > 1):
        return None
    return Face(
        name=parts[0].name if len(parts) == 1 else parts[0].name.rpartition(" part ")[0],
        is_wall=parts[0].kind is SurfaceKind.WALL,
        from_top=parts[0].read_turned,
        parts=tuple(tuple(_on_whole(part, corner) for corner in part.outline) for part in parts),
        sides=tuple(side for part in parts for side in _sides(part, room)),
        things=tuple(thing for part in parts for thing in _things(part, typed)),
    )


def _on_whole(part: Surface, corner: Corner) -> Corner:
    x, y = part.origin[0] + corner[0], part.origin[1] + corner[1]
    return (-x, -y) if part.read_turned else (x, y)


def _sides(part: Surface, room: RoomGeometry) -> Iterator[tuple[Corner, str]]:
    letters = {other.id: other.letter for other in room.surfaces if other.kind is SurfaceKind.WALL}
    ends = (*part.outline[1:], part.outline[0])
    for edge, start, end in zip(part.edges, part.outline, ends, strict=True):
        if edge.neighbour in letters:
            middle = ((start[0] + end[0]) // 2, (start[1] + end[1]) // 2)
            yield _on_whole(part, middle), letters[edge.neighbour]


def _things(part: Surface, typed: str) -> Iterator[PicturedThing]:
    things: Iterable[PlacedOpening | PlacedCutout | PlacedHidden]
    things = (*part.openings, *part.cutouts, *part.hidden)
    for thing in things:
        ends = ((thing.left, thing.bottom), (thing.right, thing.top))
        (x0, y0), (x1, y1) = (_on_whole(part, end) for end in ends)
        yield PicturedThing(
            name=thing.name,
            kind=thing.kind.value,
            left=min(x0, x1),
            bottom=min(y0, y1),
            right=max(x0, x1),
            top=max(y0, y1),
            is_round=getattr(thing, "is_round", False),
            is_typed=thing.id == typed,
        )


def _plan(room: RoomGeometry, key: str) -> RoomPlan | None:
    if not room.plan:
        return None
    return RoomPlan(
        corners=room.plan,
        walls=tuple(
            (start, end, side.mark.rpartition("-")[2], key in (side.of, side.wall))
            for start, end, side in zip(
                room.plan, (*room.plan[1:], room.plan[0]), room.plan_sides, strict=True
            )
        ),
    )
