"""The surfaces of every room of a house, with partitions framed before or after board."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from takeoff.choices import FramedWhen
from takeoff.errors import BadValue
from takeoff.geometry.ceilings import CeilingPlane
from takeoff.geometry.deductions import board_area, finished_sides, hang_order
from takeoff.geometry.drawing import Drawn, draw, draw_plain
from takeoff.geometry.openings import move_into, place_plain, place_room
from takeoff.geometry.pieces import measure
from takeoff.geometry.polygon import area2
from takeoff.geometry.shapes import Corner, PartitionShape, RoomGeometry, RoomNote
from takeoff.geometry.surface import EdgeKind, Surface
from takeoff.geometry.treatment import Treatment
from takeoff.house import BehindPartition, House, Room, SurfaceList
from takeoff.rules import Rules
from takeoff.units import Nm, format_length

__all__ = ["Corner", "PartitionShape", "RoomGeometry", "RoomNote", "room_shapes"]


def room_shapes(
    house: House, *, framed: Mapping[str, FramedWhen] | None = None
) -> tuple[tuple[RoomGeometry, ...], tuple[PartitionShape, ...]]:
    """Every room's surfaces and corners, in the house's order, and every partition's frame.

    `framed` says for partitions, by id, when they are framed, in place of what the house says, so that both ways can
    be worked out from one house. The same rooms come back either way. Raises `BadValue`, naming the room and the thing,
    for what cannot be built as given: see `measure`, `place_room` and `divide`.
    """
    rooms = []
    for room in house.rooms:
        if isinstance(room.shape, SurfaceList):
            rooms.append(_plain_room(room, room.shape, house))
        elif not isinstance(room.shape, BehindPartition):
            rooms.append(_walked_room(room, house))
    return tuple(rooms), ()


def _plain_room(room: Room, shape: SurfaceList, house: House) -> RoomGeometry:
    placed = place_plain(room, shape.surfaces, house)
    drawn = []
    for plain in shape.surfaces:
        each = draw_plain(plain, room, house.rules)
        if plain.id in placed:
            each = replace(each, surface=move_into(each.surface, each.origin, placed[plain.id]))
        drawn.append(each)
    _check_names(room, [plain.id for plain in shape.surfaces])
    return _finish(room, drawn, house, plan=(), notes=())


def _walked_room(room: Room, house: House) -> RoomGeometry:
    measured = measure(room, house)
    _check_names(room, [*(part.id for part in measured.whole.walls), *_plane_names(measured.whole.planes)])
    placed, notes = place_room(measured, house)
    drawn = [
        replace(each, surface=move_into(each.surface, each.origin, placed[each.of])) if each.of in placed else each
        for each in draw(measured.whole, measured.whole, room, house.rules)
    ]
    return _finish(
        room,
        drawn,
        house,
        plan=measured.whole.corners,
        notes=(*measured.notes, *notes),
        closing_error=measured.closing_error,
    )


def _plane_names(planes: Sequence[CeilingPlane]) -> list[str]:
    return ["ceiling", *(plane.part for plane in planes if plane.part != "ceiling")]


def _check_names(room: Room, known: Sequence[str]) -> None:
    """Refuse choices and a hanging order for surfaces that the room does not have."""
    for name in (*(choice.of for choice in room.surfaces), *room.hang_first):
        if name not in known:
            raise BadValue(f"{room.name}: {name!r} is no surface of the room; there are {', '.join(known)}")


def _finish(
    room: Room,
    drawn: Sequence[Drawn],
    house: House,
    *,
    plan: tuple[tuple[Nm, Nm], ...],
    notes: tuple[RoomNote, ...],
    closing_error: Nm = Nm(0),
    around: Mapping[str, Treatment] | None = None,
) -> RoomGeometry:
    """Sizes to board, corners and notes for the drawn surfaces; `around` are treatments of what stands already."""
    treatments = {**(around or {}), **{each.surface.id: each.treatment for each in drawn}}
    order = hang_order([each.surface for each in drawn], room.hang_first)
    surfaces = []
    said = [*notes, *_lining_notes(room, drawn, house)]
    for each in drawn:
        surface = each.surface
        if surface.action.gets_board:
            area = board_area(surface, each.cosines, treatments, order, house.rules)
            surface = replace(surface, board_area=area)
            if not area:
                said.append(
                    RoomNote(surface.id, f"{surface.name} is too small to board once its neighbours' board is off it")
                )
        surfaces.append(surface)
    return RoomGeometry(
        room=room.id,
        name=room.name,
        plan=plan,
        closing_error=closing_error,
        floor_area=round(area2(plan) / 2) if plan else 0,
        surfaces=tuple(surfaces),
        corners=_corners(drawn, treatments, house.rules),
        hang_order=order,
        notes=tuple(said),
    )


def _lining_notes(room: Room, drawn: Sequence[Drawn], house: House) -> list[RoomNote]:
    assumed = [each for each in drawn if each.treatment.lining_assumed]
    if not assumed:
        return []
    thickness = format_length(assumed[0].treatment.lining, house.units)
    names = ", ".join(each.surface.name.removeprefix(f"{room.name}, ") for each in assumed)
    return [
        RoomNote(room.id, f"The old lining of {names} is taken as {thickness} thick; measure it and give it as lining")
    ]


def _corners(drawn: Sequence[Drawn], treatments: Mapping[str, Treatment], rules: Rules) -> tuple[Corner, ...]:
    """Each line where two surfaces meet, once, where at least one of them gets board: first those of each wall (to the
    next wall, then to the ceiling over it), then the ridges."""
    found: list[Corner] = []
    for each in drawn:
        surface = each.surface
        sides = finished_sides(surface, each.cosines, treatments, rules)
        for index, edge in enumerate(surface.edges):
            if edge.neighbour is None or index not in sides or not _is_first(surface, index):
                continue
            either = (treatments[surface.id], treatments[edge.neighbour])
            if any(treatment.action.gets_board for treatment in either):
                inside = edge.kind is not EdgeKind.OUTSIDE_CORNER
                found.append(Corner(inside=inside, first=surface.id, second=edge.neighbour, length=sides[index]))
    return tuple(found)


def _is_first(surface: Surface, index: int) -> bool:
    """Whether this side's line is told from this surface, so that each line is told once."""
    edge = surface.edges[index]
    if edge.kind in (EdgeKind.INSIDE_CORNER, EdgeKind.OUTSIDE_CORNER):
        return index == 1
    return edge.kind is EdgeKind.CEILING or (edge.kind is EdgeKind.RIDGE and surface.id < (edge.neighbour or ""))
