"""What a room's board plan comes to, in a few figures that people can compare: sheets, pieces,
cuts, seams, hours and money."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from takeoff.boards.hours import SurfaceWork, work_on
from takeoff.boards.joints import backers, joint_at
from takeoff.boards.plan import JointKind, Sheet, SurfacePlan
from takeoff.boards.stock import on_sale
from takeoff.catalogue import sheet_id
from takeoff.framing.members import FramedSurface
from takeoff.geometry.rooms import RoomGeometry
from takeoff.hours import hours_of_room
from takeoff.house import House
from takeoff.job import Takeoff
from takeoff.seams import Seam, SeamKind, seams_of
from takeoff.units import FOOT, METRE, MM, Nm, UnitSystem

__all__ = [
    "FIGURE_LINES",
    "FigureKind",
    "FigureLine",
    "PlanFigures",
    "figures_of",
    "figures_of_rooms",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanFigures:
    """The plan of one room in figures.

    Sheets are those first cut in the room: `sheets_bought`, and `sheets_here`, which are whole ones
    and offcuts that were here. Cuts are counted by piece, as hours count them: a `crosscut` for a
    length that is not on sale and for each tongue beside an opening, a `rip` for a width under its
    sheet's, a `cutout` for each opening or box that a piece has a part of. Seams are lengths, in
    nanometers; `butt` are those on
    framing and floating ones, `corner` inside corners and ridges. Hours are of one person, money
    is cents: of the sheets bought, and of backers and shims.
    """

    sheets_bought: int = 0
    sheets_here: int = 0
    pieces: int = 0
    crosscuts: int = 0
    rips: int = 0
    cutouts: int = 0
    tapered: int = 0
    butt: int = 0
    cut_edge: int = 0
    corner: int = 0
    backers: int = 0
    hanging: Fraction = Fraction(0)
    finishing: Fraction = Fraction(0)
    sheet_cost: int = 0
    backer_cost: Fraction = Fraction(0)

    @property
    def sheets(self) -> int:
        return self.sheets_bought + self.sheets_here

    @property
    def hours(self) -> Fraction:
        return self.hanging + self.finishing

    @property
    def money(self) -> Fraction:
        return self.sheet_cost + self.backer_cost


_SEAMS = {
    SeamKind.TAPERED: "tapered",
    SeamKind.CUT_EDGE: "cut_edge",
    SeamKind.BUTT_ON_FRAMING: "butt",
    SeamKind.FLOATING_BUTT: "butt",
    SeamKind.INSIDE_CORNER: "corner",
    SeamKind.RIDGE: "corner",
}


class FigureKind(StrEnum):
    """What a figure counts: things, a length of seams, an area of board, hours, or cents."""

    COUNT = "count"
    SEAM = "seam"
    AREA = "area"
    HOURS = "hours"
    MONEY = "money"


@dataclass(frozen=True, slots=True)
class FigureLine:
    """A figure as people compare it: its name, its field of the figures it is read from, such as
    `PlanFigures`, and its kind."""

    name: str
    field: str
    kind: FigureKind

    def steps(self, figures: object, units: str) -> int:
        """The figure in whole steps of what is shown, so that the difference of two is that of the
        numbers people see: things, whole feet or tenths of a meter, whole square feet or tenths of
        a square meter, tenths of an hour, cents."""
        value: int | Fraction = getattr(figures, self.field)
        if self.kind is FigureKind.SEAM:
            return round(Fraction(value, FOOT if units == UnitSystem.INCH else 100 * MM))
        if self.kind is FigureKind.AREA:
            return round(Fraction(value, FOOT**2 if units == UnitSystem.INCH else METRE**2 // 10))
        return round(value * 10 if self.kind is FigureKind.HOURS else value)


FIGURE_LINES = (
    FigureLine("Sheets", "sheets", FigureKind.COUNT),
    FigureLine("Pieces", "pieces", FigureKind.COUNT),
    FigureLine("Crosscuts", "crosscuts", FigureKind.COUNT),
    FigureLine("Rips", "rips", FigureKind.COUNT),
    FigureLine("Cut-outs", "cutouts", FigureKind.COUNT),
    FigureLine("Tapered seams", "tapered", FigureKind.SEAM),
    FigureLine("Butt seams", "butt", FigureKind.SEAM),
    FigureLine("Cut-edge seams", "cut_edge", FigureKind.SEAM),
    FigureLine("Inside corners", "corner", FigureKind.SEAM),
    FigureLine("Hanging", "hanging", FigureKind.HOURS),
    FigureLine("Finishing", "finishing", FigureKind.HOURS),
    FigureLine("Sheets and backers", "money", FigureKind.MONEY),
)


def figures_of(
    house: House,
    room: RoomGeometry,
    framed: Sequence[FramedSurface],
    plans: Sequence[SurfacePlan],
    sheets: Iterable[Sheet],
) -> PlanFigures:
    """The figures of one room. Plans, sheets and framed surfaces may be of other rooms too."""
    return _figures(house, room, plans, sheets, seams_of(room, framed, plans, house.catalogue))


def figures_of_rooms(takeoff: Takeoff) -> dict[str, PlanFigures]:
    """The figures of every room with a plan, by its id."""
    laid = {plan.room for plan in takeoff.surface_plans}
    return {
        room.room: _figures(
            takeoff.house, room, takeoff.surface_plans, takeoff.sheets, takeoff.seams
        )
        for room in takeoff.rooms
        if room.room in laid
    }


def _figures(
    house: House,
    room: RoomGeometry,
    plans: Sequence[SurfacePlan],
    sheets: Iterable[Sheet],
    seams: Sequence[Seam],
) -> PlanFigures:
    mine = [plan for plan in plans if plan.room == room.room]
    here = [sheet for sheet in sheets if sheet.room == room.room]
    on_sale_now = house.catalogue.sheets if house.rules.sheets is None else house.rules.sheets
    prices = {
        sheet_id(one.board, one.thickness, one.width, one.length): one.price for one in on_sale_now
    }
    cuts = [_cuts(house, room, plan) for plan in mine]
    floating = [
        joint.length for plan in mine for joint in plan.joints if joint.kind is JointKind.FLOATING
    ]
    lengths = dict.fromkeys(_SEAMS.values(), 0)
    for seam in seams:
        if seam.room == room.room and seam.kind in _SEAMS:
            lengths[_SEAMS[seam.kind]] += seam.length
    hours = hours_of_room(house, room, mine, seams)
    return PlanFigures(
        sheets_bought=sum(sheet.source is None for sheet in here),
        sheets_here=sum(sheet.source is not None for sheet in here),
        pieces=sum(len(plan.pieces) for plan in mine),
        crosscuts=sum(one.crosscuts for one in cuts),
        rips=sum(one.rips for one in cuts),
        cutouts=sum(one.cutouts for one in cuts),
        **lengths,
        backers=sum(backers(seam) for seam in floating),
        hanging=hours.hanging,
        finishing=hours.finishing,
        sheet_cost=sum(
            prices.get(sheet.item, 0) if sheet.source == sheet.item else sheet.price
            for sheet in here
        ),
        backer_cost=sum(
            (
                joint_at(Nm(0), JointKind.FLOATING, seam, house.rules).backer_cost
                for seam in floating
            ),
            Fraction(0),
        ),
    )


@dataclass(frozen=True, slots=True)
class _Cuts:
    crosscuts: int
    rips: int
    cutouts: int


def _cuts(house: House, room: RoomGeometry, plan: SurfacePlan) -> _Cuts:
    surface = next(one for one in room.surfaces if one.id == plan.surface)
    # Where an hour is worth nothing no work is stated at all, and cuts are cuts all the same.
    rules = replace(house.rules, hour=Decimal(1))
    work: SurfaceWork = work_on(
        surface,
        house.catalogue.board(surface.board.kind),
        rules,
        on_sale(surface, rules, house.catalogue),
        plan.rows_run,
    )
    widths = {row.index: row.sheet_width for row in plan.rows}
    return _Cuts(
        crosscuts=sum(
            ((widths[piece.row], Nm(piece.end - piece.start)) not in work.on_sale)
            + work.tongues(piece.start, piece.end, piece.low, piece.high)
            for piece in plan.pieces
        ),
        rips=sum(piece.high - piece.low < widths[piece.row] for piece in plan.pieces),
        cutouts=sum(
            len(work.met(piece.start, piece.end, piece.low, piece.high)) for piece in plan.pieces
        ),
    )
