"""The hours that the board of a room takes one person, hung and finished, by the minutes of the
house's rules.

A plan's aim leaves out what is the same in every plan. Here all of it counts: the area, the inside
corners and the beads, and each opening and box cut out. What it is worth to keep a seam out of a
bad place is no work and counts for nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from takeoff.boards.hours import SurfaceWork, work_on
from takeoff.boards.joints import backers
from takeoff.boards.plan import JointKind, SurfacePlan
from takeoff.boards.stock import on_sale
from takeoff.choices import OpeningEdge, SurfaceKind
from takeoff.geometry.rooms import RoomGeometry
from takeoff.geometry.surface import Surface
from takeoff.house import House
from takeoff.job import Takeoff
from takeoff.needs.areas import board_area
from takeoff.reference import figures, level
from takeoff.rules import Minutes, Rules
from takeoff.seams import Seam, SeamKind
from takeoff.units import FOOT

__all__ = ["RoomHours", "first_layer_hours", "hanging_hours", "hours_of_room", "hours_of_rooms"]

# At this worth of an hour a minute is a thousand cents: pieces are then told in minutes.
_TELLING = Decimal(600)
_PER_MINUTE = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomHours:
    """Hours of one person: carrying, cutting, hanging and screwing board; taping, beads, compound
    and sanding."""

    hanging: Fraction = Fraction(0)
    finishing: Fraction = Fraction(0)

    @property
    def total(self) -> Fraction:
        return self.hanging + self.finishing


def hours_of_rooms(takeoff: Takeoff) -> dict[str, RoomHours]:
    """The hours of every room with a plan, by its id."""
    laid = {plan.room for plan in takeoff.surface_plans}
    under = first_layer_hours(takeoff)
    hours = {
        room.room: hours_of_room(takeoff.house, room, takeoff.surface_plans, takeoff.seams)
        for room in takeoff.rooms
        if room.room in laid
    }
    return {
        room: replace(one, hanging=one.hanging + under.get(room, 0)) for room, one in hours.items()
    }


def first_layer_hours(takeoff: Takeoff) -> dict[str, Fraction]:
    """The hours that the first layers of rooms take to hang, by the rooms' ids: those of the layer
    that is seen are in its plan, and a first layer is not finished."""
    surfaces = {surface.id: surface for room in takeoff.rooms for surface in room.surfaces}
    hours: dict[str, Fraction] = {}
    for plan in takeoff.first_layers:
        more = hanging_hours(plan, surfaces[plan.surface], takeoff.house)
        hours[plan.room] = hours.get(plan.room, Fraction(0)) + more
    return hours


def hours_of_room(
    house: House, room: RoomGeometry, plans: Iterable[SurfacePlan], seams: Iterable[Seam]
) -> RoomHours:
    """The hours of a room with these plans and seams, which may be of other rooms too."""
    surfaces = {surface.id: surface for surface in room.surfaces}
    minutes = house.rules.minutes
    hanging = finishing = Fraction(0)
    for plan in plans:
        surface = surfaces.get(plan.surface)
        if surface is None:
            continue
        hanging += _hanging(plan, surface, house)
        if surface.finish_level:
            sanded = Fraction(minutes.finish_square_foot) * board_area(surface) / FOOT**2
            finishing += sanded * _longer(surface)
        if level(surface.finish_level).skim and not surface.tiled:
            finishing += (
                figures.number("HR-skim") * board_area(surface) / FOOT**2 * _longer(surface)
            )
    for seam in seams:
        if seam.level and seam.room == room.room:
            finishing += _finishing(seam, surfaces, minutes)
    return RoomHours(hanging=hanging / 60, finishing=finishing / 60)


def hanging_hours(plan: SurfacePlan, surface: Surface, house: House) -> Fraction:
    """The hours that the board of one surface takes to carry, cut, hang and screw."""
    return _hanging(plan, surface, house) / 60


def _longer(surface: Surface) -> Fraction:
    overhead = surface.kind is SurfaceKind.CEILING
    return figures.number("HR-overhead") if overhead else Fraction(1)


def _hanging(plan: SurfacePlan, surface: Surface, house: House) -> Fraction:
    minutes = house.rules.minutes
    rules: Rules = replace(house.rules, hour=_TELLING)
    kind = house.catalogue.board(surface.board.kind)
    work: SurfaceWork = work_on(
        surface, kind, rules, on_sale(surface, rules, house.catalogue), plan.rows_run
    )
    widths = {row.index: row.sheet_width for row in plan.rows}
    pieces = sum(
        work.piece(widths[piece.row], piece.start, piece.end, piece.low, piece.high)
        for piece in plan.pieces
    )
    behind = sum(backers(joint.length) for joint in plan.joints if joint.kind is JointKind.FLOATING)
    lifted = Fraction(minutes.square_foot) * board_area(surface) / FOOT**2
    lifted += behind * Fraction(minutes.backer)
    return Fraction(pieces, _PER_MINUTE) + lifted * _longer(surface)


def _finishing(seam: Seam, surfaces: Mapping[str, Surface], minutes: Minutes) -> Fraction:
    feet = Fraction(seam.length, FOOT)
    flat = {
        SeamKind.TAPERED: minutes.tapered_foot,
        SeamKind.CUT_EDGE: minutes.butt_foot,
        SeamKind.BUTT_ON_FRAMING: minutes.butt_foot,
        SeamKind.FLOATING_BUTT: minutes.butt_foot,
    }
    if seam.kind in flat:
        return feet * Fraction(flat[seam.kind]) * _longer(surfaces[seam.surfaces[0]])
    if seam.kind in (SeamKind.INSIDE_CORNER, SeamKind.RIDGE):
        return feet * Fraction(minutes.corner_foot)
    beaded = seam.kind is SeamKind.OUTSIDE_CORNER or seam.edge is not OpeningEdge.CASED
    return feet * Fraction(minutes.bead_foot) if beaded else Fraction(0)
