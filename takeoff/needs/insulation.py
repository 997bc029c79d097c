"""What insulating a room takes: batts of the R-value that was given, and sheet against vapor."""

from __future__ import annotations

from takeoff.geometry.rooms import RoomGeometry
from takeoff.needs.materials import VAPOR_SHEET, batt_material
from takeoff.needs.need import Need, Phase
from takeoff.needs.tally import Tally
from takeoff.quantities import scale
from takeoff.reference import figures
from takeoff.units import UnitSystem

__all__ = ["needs"]


def needs(room: RoomGeometry, *, units: UnitSystem) -> tuple[Need, ...]:
    """Return what insulating `room` takes. Only what somebody gave is counted: an R-value, the area
    between the members, and whether a sheet goes over them."""
    tally = Tally(Phase.INSULATION, room.room, units)
    for surface in room.surfaces:
        given = surface.insulation
        if given is None:
            continue
        which = "RSI " if units is UnitSystem.MILLIMETRE else "R-"
        tally.take(
            batt_material(given.r, units),
            given.area,
            f"batts of {which}{given.r} in the area given",
            "IN-batts",
            surface=surface.id,
        )
        if given.retarder:
            tally.take(
                VAPOR_SHEET,
                given.area,
                "sheet over the batts, in the area given",
                "IN-batts",
                surface=surface.id,
            )
            tally.take(
                VAPOR_SHEET,
                scale(given.area, figures.percent("IN-lap")),
                "laps, and what is turned over at edges",
                "IN-lap",
                surface=surface.id,
            )
    return tally.needs()
