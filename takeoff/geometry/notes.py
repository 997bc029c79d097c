"""What to ask a person about a room's surfaces: a board that does not suit its place, a size few
houses have."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from takeoff.choices import SurfaceKind
from takeoff.geometry.polygon import bounds
from takeoff.geometry.shapes import RoomNote
from takeoff.geometry.surface import Surface
from takeoff.house import House, Room
from takeoff.reference import figures, table_thickness
from takeoff.units import INCH, Nm, tape_reading

__all__ = ["board_notes", "in_room", "size_notes"]


def in_room(surface: Surface, room: Room) -> str:
    """Return the name of a surface without the name of its room, for a note that stands under the
    room."""
    return surface.name.removeprefix(f"{room.name}, ")


def board_notes(room: Room, surfaces: Sequence[Surface], house: House) -> Iterator[RoomNote]:
    """Yield a note for each way in which boards do not suit tile, water or their framing, with the
    surfaces it is true of.

    Surfaces of a kind that the catalogue does not have are left out.
    """
    kinds = {kind.id: kind for kind in house.catalogue.boards}
    known = [
        (surface, kinds[surface.board.kind])
        for surface in surfaces
        if surface.board_area and surface.board.kind in kinds
    ]
    backers = " or ".join(f"{kind.id!r}" for kind in kinds.values() if kind.tile_backer)
    choose = (
        f"; choose board kind {backers}"
        if backers
        else "; add a tile backer to the catalogue and choose it"
    )
    tiled = [surface for surface, kind in known if surface.tiled and not kind.tile_backer]
    if tiled:
        yield _note(room, tiled, "tiled, but the board chosen is no tile backer" + choose)
    wet = [
        surface
        for surface, kind in known
        if surface.wet and not (surface.tiled or kind.tile_backer or kind.moisture_resistant)
    ]
    if wet:
        resistant = " or ".join(
            f"{kind.id!r}" for kind in kinds.values() if kind.moisture_resistant
        )
        advice = (
            f"; choose board kind {resistant}"
            if resistant
            else "; add one that is to the catalogue and choose it"
        )
        yield _note(room, wet, "wet, but the board chosen is not moisture-resistant" + advice)
    for id_ in ("GB-42", "GB-42-thick"):
        half = id_ == "GB-42"
        wide = [
            surface
            for surface, kind in known
            if kind.moisture_resistant
            and not kind.tile_backer
            and surface.kind is SurfaceKind.CEILING
            and (table_thickness(surface.board.thickness) == INCH // 2) is half
            and (surface.framing.spacing or house.rules.assumed_ceiling_spacing)
            > figures.length(id_)
        ]
        if wide:
            most = tape_reading(figures.length(id_), house.units, feet=False)
            yield _note(
                room,
                wide,
                f"of moisture-resistant board on framing more than {most} apart, the most older "
                "codes allow for its "
                f"thickness on a ceiling ({figures.figure(id_).status.caution}); choose another "
                "board, or add framing",
            )


def _note(room: Room, surfaces: Sequence[Surface], text: str) -> RoomNote:
    names = ", ".join(in_room(surface, room) for surface in surfaces)
    place = surfaces[0].id if len(surfaces) == 1 else room.id
    return RoomNote(place, f"{names} {'is' if len(surfaces) == 1 else 'are'} {text}")


def size_notes(room: Room, surfaces: Sequence[Surface], house: House) -> Iterator[RoomNote]:
    """Yield a question about the longest and the highest wall where few houses have such a wall."""

    walls = [surface for surface in surfaces if surface.kind is SurfaceKind.WALL]
    longest = max(walls, key=lambda wall: _sizes(wall)[0], default=None)
    highest = max(walls, key=lambda wall: _sizes(wall)[1], default=None)
    if longest is not None and _sizes(longest)[0] > figures.length("FR-long-wall"):
        yield RoomNote(
            longest.id,
            f"{in_room(longest, room)} is {tape_reading(_sizes(longest)[0], house.units)} long: is "
            "that so, and "
            "not a slip of the units?",
        )
    if highest is not None and _sizes(highest)[1] > figures.length("FR-high-wall"):
        yield RoomNote(
            highest.id,
            f"{in_room(highest, room)} is {tape_reading(_sizes(highest)[1], house.units)} high: is "
            "that so, and "
            "not a slip of the units?",
        )


def _sizes(surface: Surface) -> tuple[Nm, Nm]:
    left_edge, bottom, right_edge, top = bounds(surface.outline)
    return Nm(right_edge - left_edge), Nm(top - bottom)
