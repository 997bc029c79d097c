"""The strips to patch that follow where a room does not stay as it was found: over an opening that
is closed, round one that is cut, and where a wall stood."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from takeoff.as_found import TakenOut
from takeoff.choices import Found, PatchHeld, SurfaceKind
from takeoff.errors import BadValue
from takeoff.geometry.polygon import bounds
from takeoff.geometry.shapes import RoomGeometry
from takeoff.geometry.surface import PlacedOpening, Surface
from takeoff.house import House, Patch, Room
from takeoff.reference import figures
from takeoff.rules import Rules
from takeoff.units import Nm, UnitSystem, tape_reading

__all__ = ["height_of", "with_strips"]


def with_strips(geometry: RoomGeometry, room: Room, house: House) -> RoomGeometry:
    """Return the room with the patches that follow from what is changed in it, on surfaces whose
    old lining stays. A surface that gets new board all over needs none.

    Raises `BadValue` where a wall that is taken out did not stand in the room.
    """
    surfaces = {surface.id: surface for surface in geometry.surfaces}
    for surface in geometry.surfaces:
        if _stays(surface):
            strips = [strip for one in surface.changed for strip in _round(one, surface, house)]
            surfaces[surface.id] = _patched(surface, strips)
    for gone in room.taken_out:
        _check_stood(gone, geometry, room, house.units)
        for name, strip in _where_stood(gone, geometry, room):
            surface = surfaces[f"{room.id}/{name}"]
            if _stays(surface):
                surfaces[surface.id] = _patched(surface, [strip])
    return replace(geometry, surfaces=tuple(surfaces.values()))


def height_of(gone: TakenOut, room: Room) -> Nm:
    """How high a wall that is taken out stands."""
    return gone.height or room.ceiling.height


def _stays(surface: Surface) -> bool:
    return surface.action.keeps_lining and not surface.action.gets_board


def _patched(surface: Surface, strips: list[Patch]) -> Surface:
    return replace(surface, patches=(*surface.patches, *strips)) if strips else surface


def _strip(width: int, height: int) -> Patch:
    return Patch(width=Nm(width), height=Nm(height), held=PatchHeld.FRAMING)


def _round(opening: PlacedOpening, surface: Surface, house: House) -> Iterator[Patch]:
    """The patch over an opening that is closed. Round one that is cut, the old lining comes off
    from stud to stud and from the floor to the ceiling, so that a header and studs go in."""
    wide, high = opening.right - opening.left, opening.top - opening.bottom
    if opening.found is Found.CLOSED:
        yield _strip(wide, high)
        return
    left, bottom, right, top = bounds(surface.outline)
    first, last = _studs_beside(opening, surface, house.rules)
    first, last = max(first, left), min(last, right)
    for width in (opening.left - first, last - opening.right):
        if width > 0:
            yield _strip(width, top - bottom)
    for height in (top - opening.top, opening.bottom - bottom):
        if height > 0:
            yield _strip(wide, height)


def _studs_beside(opening: PlacedOpening, surface: Surface, rules: Rules) -> tuple[Nm, Nm]:
    """The centers of the studs nearest to an opening that leave room for a king stud and a trimmer
    at either side."""
    framing = surface.framing
    spacing = framing.spacing or rules.assumed_wall_spacing
    beside = 2 * figures.length("FR-stud-thickness")
    before = (opening.left - beside - framing.first) // spacing
    after = -(-(opening.right + beside - framing.first) // spacing)
    return Nm(framing.first + before * spacing), Nm(framing.first + after * spacing)


def _check_stood(gone: TakenOut, geometry: RoomGeometry, room: Room, units: UnitSystem) -> None:
    walls = {side.of or side.wall: side for side in geometry.plan_sides}
    for name in (gone.wall, gone.end):
        if name is not None and name not in walls:
            raise BadValue(
                f"{room.name}, {gone.name}: {name!r} is no wall of the room; it has "
                f"{', '.join(walls)}"
            )
    ids = [surface.id for surface in geometry.surfaces]
    of_wall = geometry.surfaces[ids.index(f"{room.id}/{gone.wall}")]
    left, _, right, _ = bounds(of_wall.outline)
    if gone.at + gone.thickness > right - left:
        raise BadValue(
            f"{room.name}, {gone.name}: it would have stood past the end of {of_wall.name}, which "
            f"is {tape_reading(Nm(right - left), units)} long; enter how far it is from that "
            "wall's left end"
        )


def _where_stood(gone: TakenOut, geometry: RoomGeometry, room: Room) -> Iterator[tuple[str, Patch]]:
    """The strips where a wall stood, by the names of their surfaces: on the wall it starts at, on
    the one it ends at, and on the ceiling."""
    high = height_of(gone, room)
    for name in (gone.wall, gone.end):
        if name is not None:
            yield name, _strip(gone.thickness, high)
    ceiling = next((one.id for one in geometry.surfaces if one.kind is SurfaceKind.CEILING), None)
    if ceiling is not None:
        names = [side.of or side.wall for side in geometry.plan_sides]
        here = names.index(gone.wall)
        start, end = geometry.plan[here], geometry.plan[(here + 1) % len(names)]
        runs_up = abs(end[0] - start[0]) >= abs(end[1] - start[1])
        size = (gone.thickness, gone.length) if runs_up else (gone.length, gone.thickness)
        yield ceiling.split("/", 1)[1], _strip(*size)
