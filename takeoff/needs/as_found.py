"""What framing takes where a room does not stay as it was found: studs that fill an opening, the
frame of one that is cut into a wall, and flooring where a wall stood."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from takeoff.choices import Found, FramedWhen, Substrate
from takeoff.framing.partition import PartitionFrame, Role, partition_frame, stud_count
from takeoff.geometry.as_found import height_of
from takeoff.geometry.rooms import PartitionShape, RoomGeometry
from takeoff.geometry.surface import PlacedOpening, Surface
from takeoff.house import Room
from takeoff.needs.added import merged
from takeoff.needs.materials import (
    FLOOR_STRIP,
    FRAMING_SCREWS,
    NAILS_8D,
    NAILS_16D,
    STEEL_STUD,
    lumber_material,
)
from takeoff.needs.need import Need, Phase
from takeoff.needs.partitions import frame_needs
from takeoff.needs.tally import Tally
from takeoff.quantities import Amount
from takeoff.reference import figures, lumber
from takeoff.rules import Rules
from takeoff.units import FOOT, Nm, UnitSystem, tape_reading

__all__ = ["needs", "warnings"]

_STUD = "2x4"
# What of a frame belongs to one opening in it; plates and layout studs stand already.
_ROUND_OPENING = (Role.KING, Role.TRIMMER, Role.HEADER, Role.SILL, Role.CRIPPLE)


def needs(
    geometry: RoomGeometry, room: Room, rules: Rules, *, units: UnitSystem
) -> tuple[Need, ...]:
    """Return what framing takes for the openings of `room` that are closed or cut, and the flooring
    where walls stood. A wall that may carry load takes no header: an engineer sizes it."""
    tally = Tally(Phase.FRAMING, geometry.room, units)
    found: tuple[Need, ...] = ()
    for surface in geometry.surfaces:
        for opening in surface.changed:
            if opening.found is Found.CLOSED:
                _fill(tally, opening, surface, rules)
            elif (frame := _frame(opening, surface, rules, units)) is not None:
                found = merged(found, frame_needs(frame, frame.pieces, Phase.FRAMING, units))
    for gone in room.taken_out:
        tally.take(
            FLOOR_STRIP,
            Amount(Fraction(gone.length * gone.thickness, FOOT**2), "sq ft"),
            f"where {gone.name} stood: {tally.stick(gone.length)} by {tally.shown(gone.thickness)}",
            "AF-floor",
        )
    return merged(tally.needs(), found)


def _fill(tally: Tally, opening: PlacedOpening, surface: Surface, rules: Rules) -> None:
    """Two plates and studs between them, in an opening that is closed."""
    steel = surface.framing.substrate is Substrate.STEEL
    material = STEEL_STUD if steel else lumber_material(_STUD)
    wide, high = Nm(opening.right - opening.left), Nm(opening.top - opening.bottom)
    stud = Nm(high - 2 * lumber(_STUD).thickness)
    spacing = surface.framing.spacing or rules.assumed_wall_spacing
    studs = stud_count(wide, spacing)
    what = f"{opening.name} is closed"
    for sticks, each in (
        ([wide] * 2, f"{what}: plates at its top and bottom"),
        ([stud] * studs, f"{what}: {studs} studs, {tally.shown(spacing)} apart"),
    ):
        tally.cut(material, sticks, each, "AF-fill", surface=surface.id, piece=opening.name)
    ends = 2 * figures.count("NL-block")
    if steel:
        tally.count(
            FRAMING_SCREWS,
            ends * (studs + 2),
            f"{what}: {ends} a stick",
            "NL-block",
            surface=surface.id,
        )
        return
    tally.count(
        NAILS_16D,
        ends * 2 + figures.count("NL-01") * studs,
        f"{what}: {ends} in each plate, and {figures.number('NL-01')} through it into each stud",
        "NL-block",
        "NL-01",
        surface=surface.id,
    )
    tally.count(
        NAILS_8D,
        figures.count("NL-02") * studs,
        f"{what}: {figures.number('NL-02')} toe nails in each stud",
        "NL-02",
        surface=surface.id,
    )


def _frame(
    opening: PlacedOpening, surface: Surface, rules: Rules, units: UnitSystem
) -> PartitionFrame | None:
    """The header and studs of an opening that is cut into a wall on which nothing rests; None where
    something may."""
    if not opening.nonbearing:
        return None
    shape = PartitionShape(
        id=opening.id,
        name=opening.name,
        room=surface.room,
        framed=FramedWhen.BEFORE,
        outline=surface.outline,
        openings=((opening.left, opening.bottom, opening.right, opening.top),),
        stud=_STUD,
        spacing=surface.framing.spacing or rules.assumed_wall_spacing,
        tees=0,
        faces=(surface.id, surface.id),
        units=units,
    )
    frame = partition_frame(shape, rules)
    pieces = tuple(piece for piece in frame.pieces if piece.role in _ROUND_OPENING)
    return PartitionFrame(id=frame.id, name=frame.name, room=frame.room, pieces=pieces)


def warnings(geometry: RoomGeometry, room: Room, units: UnitSystem) -> Iterator[str]:
    """What to see to before something is taken out, cut or closed."""
    for gone in room.taken_out:
        high = tape_reading(height_of(gone, room), units)
        rests = (
            ""
            if gone.nonbearing
            else "Have somebody licensed see whether it carries load: what rests on it must be "
            "held up before a stud comes out, and an engineer sizes the beam. "
        )
        yield (
            f"{room.name}: {gone.name}, {tape_reading(gone.length, units)} long and {high} high, "
            f"is taken out. {rests}Find the wires, pipes and ducts in it, and turn power and water "
            "off. The strips it leaves on walls and ceiling are patched where those stay"
        )
    for surface in geometry.surfaces:
        for opening in surface.changed:
            size = (
                f"{tape_reading(Nm(opening.right - opening.left), units)} by "
                f"{tape_reading(Nm(opening.top - opening.bottom), units)}"
            )
            if opening.found is Found.CLOSED:
                yield (
                    f"{surface.name}: {opening.name} is closed, and its studs are counted here. On "
                    f"the other side of the wall, give a patch of {size}"
                )
            elif not opening.nonbearing:
                yield (
                    f"{surface.name}: {opening.name} is cut into a wall that may carry load, so no "
                    "header and no studs are counted: an engineer sizes them. Say that nothing "
                    "rests on the wall (nonbearing in the house file) once somebody licensed has "
                    "seen it"
                )
