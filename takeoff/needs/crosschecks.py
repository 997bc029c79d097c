"""Bulk materials beside a handbook's per-area figure, and why they differ where they do.

Every cause is worked out of the job: each is a part of the difference, measured the same way on
both sides, and only those that pull the way the difference goes, and make a quarter of it or more,
are told.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from takeoff.boards.plan import SurfacePlan
from takeoff.catalogue import Catalogue
from takeoff.choices import Compound, OpeningEdge, SurfaceKind
from takeoff.framing.members import FramedSurface
from takeoff.geometry.rooms import RoomGeometry
from takeoff.geometry.surface import Surface
from takeoff.needs.areas import board_area
from takeoff.needs.coats import SeamShape, coats, seam_gallons, shape_of
from takeoff.needs.control_joints import joints_of
from takeoff.needs.fastening import fastening
from takeoff.needs.materials import (
    DRYING_COMPOUND,
    MESH_TAPE,
    PAPER_TAPE,
    SETTING_COMPOUND,
    is_screw,
)
from takeoff.needs.need import CrossCheck, Need, Phase
from takeoff.needs.patches import patch_edges
from takeoff.needs.returns import returns_of
from takeoff.needs.taping import filled, frame_edges, in_mortar
from takeoff.quantities import Amount, add, display, from_nm, scale
from takeoff.reference import figures, level
from takeoff.rules import Rules
from takeoff.seams import Seam, SeamKind
from takeoff.units import FOOT, INCH, METRE, Nm, UnitSystem, tape_reading

__all__ = ["Cause", "CrossCheckInputs", "cross_checks"]

_METRES_A_FOOT = Fraction(FOOT, METRE)


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossCheckInputs:
    """What the checks look at: needs, and the rooms, members, plans and seams they came from."""

    needs: Sequence[Need]
    rooms: Sequence[RoomGeometry]
    framed: Sequence[FramedSurface]
    plans: Sequence[SurfacePlan]
    seams: Sequence[Seam]
    rules: Rules
    catalogue: Catalogue
    units: UnitSystem = UnitSystem.INCH

    def total(self, wanted: Callable[[str], bool]) -> Amount | None:
        """The sum of the needs of the materials wanted; None where there is none."""
        amounts = [need.amount for need in self.needs if wanted(need.material)]
        return add(*amounts) if amounts else None

    def area(self, *, taped: bool = False, kind: SurfaceKind | None = None) -> Fraction:
        """Board area in square feet; `taped` leaves out what mortar or level 0 leaves out."""
        total = Fraction(0)
        for surface in self.boarded:
            skipped = taped and (
                not level(surface.finish_level).tape or in_mortar(surface, self.catalogue)
            )
            if not skipped and kind in (None, surface.kind):
                total += board_area(surface)
        return total / FOOT**2

    @property
    def boarded(self) -> list[Surface]:
        """Every surface that has a plan."""
        planned = {plan.surface for plan in self.plans}
        return [
            surface for room in self.rooms for surface in room.surfaces if surface.id in planned
        ]

    @property
    def taped(self) -> list[Seam]:
        """Seams that take compound: none in mortar, at level 0, or under a casing."""
        return [
            seam
            for seam in self.seams
            if not seam.mortar and level(seam.level).tape and seam.edge is not OpeningEdge.CASED
        ]


@dataclass(frozen=True, slots=True)
class Cause:
    """A part of the difference, in the unit of the check, and what to say of it."""

    amount: Fraction
    text: str


def cross_checks(inputs: CrossCheckInputs) -> tuple[CrossCheck, ...]:
    """Return tape, compound and screws of the job, in that order, beside the amounts of a handbook
    for its board area.

    `why` is empty where the two agree within CM-check. Materials the job does not take are not
    checked.
    """
    return tuple(
        check for check in (_tape(inputs), *_compound(inputs), _screws(inputs)) if check is not None
    )


def _check(
    phase: Phase,
    material: str,
    ours: Amount,
    figure: str,
    area: Fraction,
    causes: Callable[[], Iterable[Cause]],
    *,
    name: str = "",
) -> CrossCheck | None:
    if not area:
        return None
    handbook = figures.rate(figure).of(Amount(area, "sq ft"))
    apart = ours.value / handbook.value - 1
    why = ""
    if abs(apart) > figures.percent("CM-check"):
        why = _told(ours.value - handbook.value, causes())
    return CrossCheck(
        phase=phase,
        material=material,
        ours=ours,
        handbook=handbook,
        figure=figure,
        why=why,
        name=name,
    )


def _told(difference: Fraction, causes: Iterable[Cause]) -> str:
    pulling = [
        cause
        for cause in causes
        if cause.amount * difference > 0 and 4 * abs(cause.amount) >= abs(difference)
    ]
    pulling.sort(key=lambda cause: -abs(cause.amount))
    reasons = (
        "; ".join(cause.text for cause in pulling) or "many small differences, none a quarter of it"
    )
    return reasons[0].upper() + reasons[1:]


def _tape(inputs: CrossCheckInputs) -> CrossCheck | None:
    kinds = [
        tape.id
        for tape in (PAPER_TAPE, MESH_TAPE)
        if any(need.material == tape.id for need in inputs.needs)
    ]
    ours = inputs.total(lambda item: item in kinds)
    if ours is None:
        return None
    area = inputs.area(taped=True)
    # The handbook adds waste after; it is taken off here, so that seams are held against seams.
    seams = scale(ours, 1 / (1 + figures.percent("TP-waste")))
    name = "Joint tape, before waste" if len(kinds) == 1 else "Joint tape, all kinds, before waste"
    return _check(
        Phase.TAPING,
        kinds[0],
        seams,
        "CN-tape",
        area,
        lambda: _tape_causes(inputs, area),
        name=name,
    )


def _tape_causes(inputs: CrossCheckInputs, area: Fraction) -> Iterable[Cause]:
    angles = _feet(seam for seam in inputs.taped if shape_of(seam.kind) is SeamShape.ANGLE)
    flats = _feet(
        seam for seam in inputs.taped if shape_of(seam.kind) in (SeamShape.TAPERED, SeamShape.CROWN)
    )
    in_room = _ordinary_corners() * area / 1000
    by_area = figures.number("CN-tape") * area / 1000
    yield Cause(
        angles - in_room,
        f"inside corners are {_run_per_area(angles, area, inputs.units)}, "
        f"{_run_per_area(in_room, area, inputs.units, unit=False)} in an ordinary "
        f"{_ordinary_room(inputs.units)}"
        f"{_no_ceiling(inputs)}",
    )
    yield Cause(
        flats - (by_area - in_room),
        f"flat seams are {_run_per_area(flats, area, inputs.units)}, "
        f"{_run_per_area(by_area - in_room, area, inputs.units, unit=False)} by the handbook in an "
        "ordinary "
        f"{_ordinary_room(inputs.units)}",
    )


def _compound(inputs: CrossCheckInputs) -> Iterable[CrossCheck | None]:
    area = inputs.area(taped=True)
    for material, figure, powder in (
        (DRYING_COMPOUND, "CN-compound", Fraction(1)),
        (SETTING_COMPOUND, "CN-setting", figures.number("CM-powder")),
    ):
        # The handbook knows of coats: what only fills gaps before them is held against nothing.
        coated = [
            need.amount
            for need in inputs.needs
            if need.material == material.id
            and any("CM-waste" in reason.figures for reason in need.reasons)
        ]
        if coated:
            ours = add(*coated)
            yield _check(
                Phase.TAPING,
                material.id,
                ours,
                figure,
                area,
                lambda ours=ours, powder=powder: _compound_causes(inputs, area, ours.value, powder),  # type: ignore[misc]
            )


def _compound_causes(
    inputs: CrossCheckInputs, area: Fraction, ours: Fraction, powder: Fraction
) -> Iterable[Cause]:
    waste = 1 + figures.percent("CM-waste")
    as_is, at_four, tape_feet, bead, crown = (Fraction(0) for _ in range(5))
    for seam in inputs.taped:
        shape = shape_of(seam.kind)
        volume = _seam_volume(seam, shape, seam.level)
        as_is += volume
        at_four += _seam_volume(seam, shape, 4)
        if shape is SeamShape.BEAD:
            bead += volume
        else:
            tape_feet += Fraction(seam.length, FOOT)
        if shape is SeamShape.CROWN:
            crown += volume - _seam_volume(seam, SeamShape.TAPERED, seam.level)
    scale = waste * powder
    skim = sum(
        (
            figures.number("CM-skim-thickness")
            * INCH
            * board_area(surface)
            / INCH**3
            / figures.number("CM-gallon")
        )
        for surface in inputs.boarded
        if level(surface.finish_level).skim
    )
    yield Cause(skim * scale, "level 5 is skimmed all over, the handbook's figure is not")
    levels = sorted({seam.level for seam in inputs.taped})
    yield Cause(
        (as_is - at_four) * scale,
        f"levels {', '.join(map(str, levels))} take other coats than the handbook's level 4",
    )
    yield Cause(bead * scale, "corner beads take compound the handbook's figure hardly knows")
    yield Cause(
        _let_in(inputs) * scale,
        "patches and board turned into openings take compound beside their area",
    )
    yield Cause(
        sum(
            (
                volume.value * powder
                for _, _, volume in filled(
                    inputs.plans, {one.id: one for one in inputs.boarded}, inputs.catalogue
                )
            ),
            Fraction(0),
        ),
        "strips beside openings are filled, which the handbook's figure knows nothing of",
    )
    yield Cause(crown * scale, "butt and cut-edge seams have no taper, so they are built up wider")
    handbook_feet = figures.number("CN-tape") * area / 1000
    if tape_feet:
        yield Cause(
            (tape_feet - handbook_feet) * (as_is - bead) / tape_feet * scale,
            f"taped seams are {_run_per_area(tape_feet, area, inputs.units)}, "
            f"{_run_per_area(handbook_feet, area, inputs.units, unit=False)} by the handbook",
        )


def _let_in(inputs: CrossCheckInputs) -> Fraction:
    """The gallons along the edges of patches, and along the trims and corners of returns."""
    total = Fraction(0)
    for room in inputs.rooms:
        for surface in room.surfaces:
            at = level(surface.finish_level)
            returns = list(returns_of(surface))
            trims: int = sum(turned.run for turned in returns if not turned.through)
            trims += 2 * sum(joints_of(surface)) + sum(frame_edges(surface))
            corners = sum(turned.corners for turned in returns)
            for kind, run in (
                (SeamKind.PATCH_EDGE, patch_edges(surface)),
                (SeamKind.TRIM, trims),
                (SeamKind.INSIDE_CORNER, corners),
            ):
                for coat in coats(shape_of(kind), at, Compound.DRYING):
                    total += seam_gallons(coat, Nm(run)).value
    return total


def _seam_volume(seam: Seam, shape: SeamShape, number: int) -> Fraction:
    return sum(
        (
            seam_gallons(coat, seam.length).value
            for coat in coats(shape, level(number), Compound.DRYING)
        ),
        Fraction(0),
    )


def _screws(inputs: CrossCheckInputs) -> CrossCheck | None:
    by_material: dict[str, Fraction] = {}
    for need in inputs.needs:
        if is_screw(need.material):
            by_material[need.material] = (
                by_material.get(need.material, Fraction(0)) + need.amount.value
            )
    if not by_material:
        return None
    most = max(by_material, key=lambda material: by_material[material])
    ours = Amount(sum(by_material.values(), Fraction(0)), "each")
    name = "Board screws, all kinds" if len(by_material) > 1 else "Board screws"
    return _check(
        Phase.HANGING,
        most,
        ours,
        "CN-screws",
        inputs.area(),
        lambda: _screw_causes(inputs),
        name=name,
    )


def _screw_causes(inputs: CrossCheckInputs) -> Iterable[Cause]:
    """Each surface's screws by spacing and framing alone, against 1 a square foot: what that
    spacing explains."""
    behind = {framed.surface.id: framed for framed in inputs.framed}
    groups: dict[str, tuple[Fraction, Fraction]] = {}
    for plan in inputs.plans:
        framed = behind[plan.surface]
        surface = framed.surface
        wall = surface.kind is SurfaceKind.WALL
        default = (
            inputs.rules.assumed_wall_spacing if wall else inputs.rules.assumed_ceiling_spacing
        )
        spacing = surface.framing.spacing or default
        how = fastening(framed, plan, inputs.catalogue.board(plan.board), inputs.rules)
        area = board_area(surface) / FOOT**2
        name = (
            f"screws {_shown(how.spacing, inputs.units)} apart on framing "
            f"{_shown(spacing, inputs.units)} apart"
            f"{' with adhesive' if how.adhesive else ''}"
        )
        # On a 48 in board: (48 / screws + 1) screws on each line, one line every spacing.
        width = figures.length("BP-02")
        lines = Fraction(FOOT, spacing) * Fraction(FOOT, width)
        screws = area * lines * (Fraction(width, how.spacing) + 1)
        had = groups.get(name, (Fraction(0), Fraction(0)))
        groups[name] = (had[0] + area, had[1] + screws)
    by_area = figures.number("CN-screws") / 1000
    for name, (area, screws) in groups.items():
        yield Cause(
            screws - by_area * area,
            f"{name} on {display(Amount(area, 'sq ft'), inputs.units)} are "
            f"{_count_per_area(screws, area, inputs.units)} "
            "before edges and openings",
        )
    counted = sum((screws for _, screws in groups.values()), Fraction(0))
    ours = sum(
        (need.amount.value for need in inputs.needs if is_screw(need.material)),
        Fraction(0),
    )
    spare = figures.percent("SC-spare") * ours / (1 + figures.percent("SC-spare"))
    yield Cause(
        ours - spare - counted,
        "lines at ends, corners, butt seams and beside openings, less what openings leave out, "
        "make "
        f"{_signed(ours - spare - counted)} screws",
    )
    yield Cause(spare, f"{_percent('SC-spare')} spare is counted in")


def _feet(seams: Iterable[Seam]) -> Fraction:
    return sum((from_nm(seam.length, "ft").value for seam in seams), Fraction(0))


def _ordinary_corners() -> Fraction:
    """Inside corners of the ordinary room in ft per 1000 sq ft of its board."""
    long, wide, high = (
        figures.number("HB-room-length"),
        figures.number("HB-room-width"),
        figures.number("HB-room-height"),
    )
    return 1000 * (2 * (long + wide) + 4 * high) / (2 * (long + wide) * high + long * wide)


def _ordinary_room(units: UnitSystem) -> str:
    sizes = [Amount(figures.number(side), "ft") for side in ("HB-room-width", "HB-room-length")]
    if units is UnitSystem.INCH:
        return f"{sizes[0].value} x {sizes[1].value} ft room"
    wide, long = (display(size, units).removesuffix(" m") for size in sizes)
    return f"{wide} x {long} m room"


def _no_ceiling(inputs: CrossCheckInputs) -> str:
    return "" if inputs.area(kind=SurfaceKind.CEILING) else "; no ceiling is boarded here"


def _run_per_area(feet: Fraction, area: Fraction, units: UnitSystem, *, unit: bool = True) -> str:
    """A run of feet over so many square feet, by 1000 sq ft, or in metres by 100 m2."""
    if units is UnitSystem.INCH:
        return f"{round(1000 * feet / area)}{' ft per 1000 sq ft' if unit else ''}"
    metric = 100 * feet * _METRES_A_FOOT / (area * _METRES_A_FOOT**2)
    return f"{round(metric)}{' m per 100 m2' if unit else ''}"


def _count_per_area(count: Fraction, area: Fraction, units: UnitSystem) -> str:
    if not area:
        return "none"
    if units is UnitSystem.INCH:
        return f"{round(1000 * count / area)} per 1000 sq ft"
    return f"{round(100 * count / (area * _METRES_A_FOOT**2))} per 100 m2"


def _percent(figure: str) -> str:
    return f"{round(100 * figures.percent(figure))}%"


def _shown(nm: Nm, units: UnitSystem) -> str:
    return tape_reading(nm, units, feet=False)


def _signed(amount: Fraction) -> str:
    return f"{round(amount):+d}"
