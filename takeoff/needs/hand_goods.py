"""What phases take beside what is built in, where it is wanted: blades, a drywall lift by the day,
masks, sheeting and bags; and what comes off the walls, by weight and volume."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from takeoff.boards.plan import Sheet
from takeoff.choices import Action, OldLining, SurfaceKind
from takeoff.geometry.as_found import height_of
from takeoff.geometry.rooms import RoomGeometry
from takeoff.geometry.surface import Surface
from takeoff.house import Room
from takeoff.needs.areas import face_area
from takeoff.needs.materials import BAGS, BLADES, LIFT_DAYS, MASKS, SHEETING
from takeoff.needs.need import Need, Phase
from takeoff.needs.tally import Tally
from takeoff.quantities import Amount, display, scale
from takeoff.reference import figures, level
from takeoff.units import FOOT, INCH, Nm, UnitSystem

__all__ = ["TornOut", "needs", "torn_out"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TornOut:
    """What comes off one surface, or off both faces of a wall that is taken out: its area in square
    feet, its weight in pounds, and the cubic feet it fills once it is rubble. `lining` is what it
    is, where anybody told. `surface` is the id of the surface; None for a wall taken out."""

    name: str
    surface: str | None
    area: Fraction
    pounds: Fraction
    cubic_feet: Fraction
    lining: OldLining | None

    @classmethod
    def of(
        cls, name: str, area: Fraction, lining: OldLining | None, thickness: Nm, surface: str | None
    ) -> TornOut:
        """A lining of so many square feet. Old plaster weighs TO-plaster whatever its thickness;
        old board, and what nobody has said the kind of, weighs by its thickness."""
        if lining is OldLining.PLASTER:
            psf = figures.number("TO-plaster")
        else:
            psf = figures.number("TO-board") * Fraction(8 * thickness, INCH)
        return cls(
            name=name,
            surface=surface,
            area=area,
            pounds=area * psf,
            cubic_feet=area * Fraction(thickness, FOOT) * figures.number("TO-loose"),
            lining=lining,
        )

    @property
    def bags(self) -> int:
        """How many contractor bags it takes, by weight or by volume, whichever is more."""
        by_weight = -(-self.pounds // figures.number("TO-bag-weight"))
        return int(max(by_weight, -(-self.cubic_feet // figures.number("TO-bag-volume"))))


def torn_out(room: RoomGeometry, as_measured: Room) -> Iterator[TornOut]:
    """Return what is torn off each surface of `room`, and off both faces of the walls that are
    taken out of it. Their studs are lumber, which is not counted as rubble."""
    assumed = figures.length("HL-old-lining")
    for surface in room.surfaces:
        if surface.action is Action.STRIP_AND_BOARD:
            yield TornOut.of(
                surface.name,
                face_area(surface) / FOOT**2,
                surface.old_lining,
                surface.lining or assumed,
                surface.id,
            )
    for gone in as_measured.taken_out:
        faces = Fraction(2 * gone.length * height_of(gone, as_measured), FOOT**2)
        yield TornOut.of(f"{room.name}, {gone.name}", faces, gone.old_lining, assumed, None)


def needs(
    room: RoomGeometry, as_measured: Room, sheets: Sequence[Sheet], *, units: UnitSystem
) -> tuple[Need, ...]:
    """Return the hand goods of every phase of `room`. `sheets` are those that are cut in it."""
    gone = list(torn_out(room, as_measured))
    return (
        *_tear_out(room, gone, units),
        *_hanging(room, sheets, units),
        *_sanding(room, sheeted=bool(gone), units=units),
    )


def _tear_out(room: RoomGeometry, gone: Sequence[TornOut], units: UnitSystem) -> tuple[Need, ...]:
    tally = Tally(Phase.TEAR_OUT, room.room, units)
    for off in gone:
        weight = display(Amount(Fraction(round(off.pounds)), "lb"), units)
        volume = display(Amount(off.cubic_feet, "cu ft"), units)
        kind = str(off.lining) if off.lining else "board, as nobody has said"
        tally.count(
            BAGS,
            off.bags,
            f"old {kind}, {weight} and {volume} as rubble",
            "TO-plaster" if off.lining is OldLining.PLASTER else "TO-board",
            "TO-loose",
            "TO-bag-weight",
            "TO-bag-volume",
            surface=off.surface,
        )
    if gone:
        _masks(tally, sum((off.area for off in gone), Fraction(0)), "tearing out")
        _sheeting(tally, room)
    return tally.needs()


def _hanging(room: RoomGeometry, sheets: Sequence[Sheet], units: UnitSystem) -> tuple[Need, ...]:
    tally = Tally(Phase.HANGING, room.room, units)
    if sheets:
        per_blade = figures.count("HG-blade")
        tally.count(
            BLADES,
            -(-len(sheets) // per_blade),
            f"a blade for every {per_blade} of {len(sheets)} sheets cut here",
            "HG-blade",
        )
    overhead = _square_feet(
        surface for surface in _boarded(room) if surface.kind is SurfaceKind.CEILING
    )
    if overhead:
        a_day = figures.number("HG-lift")
        tally.count(
            LIFT_DAYS,
            int(-(-overhead // a_day)),
            f"{display(Amount(overhead, 'sq ft'), units)} of ceiling, at most "
            f"{display(Amount(a_day, 'sq ft'), units)} a day",
            "HG-lift",
        )
    return tally.needs()


def _sanding(room: RoomGeometry, *, sheeted: bool, units: UnitSystem) -> tuple[Need, ...]:
    tally = Tally(Phase.TAPING, room.room, units)
    sanded = _square_feet(surface for surface in _boarded(room) if level(surface.finish_level).sand)
    if sanded:
        _masks(tally, sanded, "sanding")
        if not sheeted:
            _sheeting(tally, room)
    return tally.needs()


def _boarded(room: RoomGeometry) -> Iterator[Surface]:
    return (surface for surface in room.surfaces if surface.action.gets_board)


def _square_feet(surfaces: Iterable[Surface]) -> Fraction:
    return sum((face_area(surface) / FOOT**2 for surface in surfaces), Fraction(0))


def _masks(tally: Tally, square_feet: Fraction, work: str) -> None:
    each = figures.number("HG-mask")
    tally.count(
        MASKS,
        int(-(-square_feet // each)),
        f"{work} {display(Amount(square_feet, 'sq ft'), tally.units)}, at most "
        f"{display(Amount(each, 'sq ft'), tally.units)} a mask",
        "HG-mask",
    )


def _sheeting(tally: Tally, room: RoomGeometry) -> None:
    floor = Amount(Fraction(room.floor_area, FOOT**2), "sq ft")
    if floor.value:
        tally.take(
            SHEETING,
            scale(floor, 1 + figures.percent("HG-sheeting")),
            "over the floor, with laps and doorways",
            "HG-sheeting",
        )
