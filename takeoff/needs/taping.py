"""What taping a room takes: tape, compound by coat, bead, and tape in mortar on tile backer."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from takeoff.boards.plan import SurfacePlan
from takeoff.catalogue import Catalogue
from takeoff.choices import Compound, OpeningEdge, SurfaceKind, Tape
from takeoff.framing.members import FramedSurface
from takeoff.geometry.rooms import RoomGeometry
from takeoff.geometry.surface import Surface
from takeoff.house import Finish
from takeoff.needs.areas import face_area
from takeoff.needs.coats import (
    SeamShape,
    coats,
    fastener_gallons,
    gallons,
    seam_gallons,
    seam_name,
    shape_of,
    skim_gallons,
)
from takeoff.needs.hanging import surface_lines
from takeoff.needs.materials import (
    ALKALI_TAPE,
    BEAD,
    BEAD_NAILS,
    DRYING_COMPOUND,
    MESH_TAPE,
    MORTAR,
    PAPER_TAPE,
    SETTING_COMPOUND,
    Material,
)
from takeoff.needs.need import Need, Phase
from takeoff.needs.sticks import in_parts, longest_stick
from takeoff.needs.tally import Tally
from takeoff.quantities import Amount, add, from_nm, scale
from takeoff.reference import Level, figures, level
from takeoff.rules import Rules
from takeoff.seams import Seam, SeamKind
from takeoff.units import Nm, UnitSystem

__all__ = [
    "bead_nails",
    "bead_sticks",
    "coated_runs",
    "in_mortar",
    "is_skimmed",
    "is_taped",
    "mortar_seams",
    "needs",
    "prefilled",
    "tape_for",
]

_Runs = dict[tuple[SeamKind, str, int], Nm]


def needs(
    room: RoomGeometry,
    finish: Finish,
    framed: Sequence[FramedSurface],
    plans: Sequence[SurfacePlan],
    seams: Sequence[Seam],
    *,
    rules: Rules,
    catalogue: Catalogue,
    units: UnitSystem,
) -> tuple[Need, ...]:
    """Return what taping `room` takes. `framed`, `plans` and `seams` may hold those of other rooms
    too, which are not counted.

    Flat seams take the tape that the finish names, inside corners always take paper. Seams in
    mortar take alkali-resistant tape and no compound. Compound is counted by kind of seam and level
    with all coats together, then for fasteners in the field, then for skim coats.
    """
    tally = Tally(Phase.TAPING, room.room, units)
    surfaces = {surface.id: surface for surface in room.surfaces}
    own = [seam for seam in seams if seam.room == room.room]
    taped = [seam for seam in own if is_taped(seam)]
    runs = coated_runs(room, own)
    _tape(tally, runs, finish)
    compound = _Compound(tally, finish.compound)
    for (kind, surface_id, number), run in runs.items():
        _seam_coats(compound, kind, run, level(number), surface_id)
    behind = {framed_surface.surface.id: framed_surface for framed_surface in framed}
    for plan in plans:
        if plan.surface in surfaces and not in_mortar(surfaces[plan.surface], catalogue):
            field = sum(
                line.field
                for line in surface_lines(
                    behind[plan.surface], plan, rules=rules, catalogue=catalogue
                )
            )
            _fasteners(compound, surfaces[plan.surface], field)
    for surface in room.surfaces:
        _skim(compound, surface, catalogue)
    compound.waste()
    _prefill(tally, taped, surfaces, rules)
    _bead(tally, room, taped, longest_stick(catalogue, BEAD))
    _mortar(tally, mortar_seams(own))
    return tally.needs()


def coated_runs(room: RoomGeometry, seams: Sequence[Seam]) -> dict[tuple[SeamKind, str, int], Nm]:
    """Return the lengths that get compound along them, by kind of seam, first surface of the seam
    and level of finish.

    Runs that are alike are added up, in the order they are first met: seams, then beads round
    openings. `seams` are those of `room`.
    """
    runs: Counter[tuple[SeamKind, str, int]] = Counter()
    for seam in seams:
        if is_taped(seam) and seam.kind is not SeamKind.OPENING_EDGE:
            runs[seam.kind, seam.surfaces[0], seam.level] += seam.length
    for surface, run, number in _beads_at_openings(room):
        runs[SeamKind.OPENING_EDGE, surface, number] += run
    return {key: Nm(run) for key, run in runs.items()}


def tape_for(kind: SeamKind, finish: Finish) -> Material | None:
    """Return the tape that goes along a seam of `kind`; None where a bead takes its place."""
    shape = shape_of(kind)
    if shape is SeamShape.BEAD:
        return None
    mesh = finish.tape is Tape.MESH and shape is not SeamShape.ANGLE
    return MESH_TAPE if mesh else PAPER_TAPE


def mortar_seams(seams: Sequence[Seam]) -> list[Seam]:
    """Return the seams that are taped in mortar."""
    return [seam for seam in seams if seam.mortar and seam.kind is not SeamKind.OPENING_EDGE]


def prefilled(
    seams: Sequence[Seam], surfaces: Mapping[str, Surface], rules: Rules
) -> Iterator[tuple[Seam, Amount]]:
    """Return each seam whose gap is filled before it is taped, with the volume that takes.

    These are the inside corners between new boards, where boards are cut short by more than the
    rules let tape bridge. `surfaces` are those of the room, by id.
    """
    if rules.fitting <= rules.gap_to_prefill:
        return
    for seam in seams:
        if (
            is_taped(seam)
            and seam.kind is SeamKind.INSIDE_CORNER
            and all(name in surfaces and surfaces[name].action.gets_board for name in seam.surfaces)
        ):
            thickness = surfaces[seam.surfaces[0]].board.thickness
            yield seam, gallons(Fraction(seam.length * rules.fitting * thickness))


def bead_nails(run: Nm) -> int:
    """Return the nails of one stick of bead of length `run`, through both its flanges."""
    return 2 * (-(-run // figures.length("HL-22")) + 1)


def is_skimmed(surface: Surface, catalogue: Catalogue) -> bool:
    """Return whether the whole face of a surface gets a skim coat."""
    skim = level(surface.finish_level).skim and surface.action.gets_board
    return skim and not in_mortar(surface, catalogue)


def is_taped(seam: Seam) -> bool:
    """Return whether a seam is taped in compound."""
    return not seam.mortar and level(seam.level).tape


def bead_sticks(room: RoomGeometry, seams: Sequence[Seam]) -> tuple[tuple[Nm, str], ...]:
    """Return every stick of corner bead of a room, with its surface: one for each corner, and those
    round openings that are beaded.

    There is no bead where the finish asks for no coat on beads (levels 0 and 1).
    """
    corners = [
        (seam.length, seam.surfaces[0])
        for seam in seams
        if seam.kind is SeamKind.OUTSIDE_CORNER
        and seam.room == room.room
        and level(seam.level).bead
    ]
    return (
        *corners,
        *(
            (run, surface)
            for surface, run, number in _beads_at_openings(room)
            if level(number).bead
        ),
    )


class _Compound:
    """Compound by the gallon, kept in what the finish is mixed from: gallons ready-mixed, or pounds
    of powder."""

    def __init__(self, tally: Tally, compound: Compound) -> None:
        self.tally = tally
        self.compound = compound
        self.setting = compound is Compound.SETTING
        self.material = SETTING_COMPOUND if self.setting else DRYING_COMPOUND

    def take(self, volume: Amount, text: str, *rests_on: str, surface: str | None = None) -> None:
        """Add a volume of wet compound; `rests_on` are the ids of the figures it was worked out
        by."""
        if self.setting:
            volume, rests_on = figures.rate("CM-powder").of(volume), (*rests_on, "CM-powder")
        self.tally.take(self.material, volume, text, *rests_on, surface=surface)

    def waste(self) -> None:
        total = self.tally.total(self.material)
        if total is not None:
            self.tally.take(
                self.material,
                scale(total, figures.percent("CM-waste")),
                "left on knives, in the pail, sanded off",
                "CM-waste",
            )


def _tape(tally: Tally, runs: _Runs, finish: Finish) -> None:
    for (kind, surface, _), run in runs.items():
        tape = tape_for(kind, finish)
        if tape is None:
            continue
        why = ("TP-mesh",) if finish.tape is Tape.MESH else ()
        tally.take(
            tape,
            from_nm(run, "ft"),
            seam_name(kind),
            *why,
            surface=surface,
        )
    for material in (PAPER_TAPE, MESH_TAPE):
        _tape_waste(tally, material)


def _tape_waste(tally: Tally, material: Material) -> None:
    total = tally.total(material)
    if total is not None:
        tally.take(
            material,
            scale(total, figures.percent("TP-waste")),
            "torn, overlapped, left on the roll",
            "TP-waste",
        )


def _seam_coats(compound: _Compound, kind: SeamKind, run: Nm, at: Level, surface: str) -> None:
    """All coats of one kind of seam on one surface, as one reason."""
    shown = compound.tally.shown
    applied = coats(shape_of(kind), at, compound.compound)
    if not applied:
        return
    widths = [shown(coat.width) for coat in applied]
    many = "1 coat" if len(applied) == 1 else f"{len(applied)} coats"
    compound.take(
        add(*(seam_gallons(coat, run) for coat in applied)),
        f"{compound.tally.run(run)} of {seam_name(kind)}, {many} at level {at.level}: "
        f"{', '.join(widths)} wide",
        *dict.fromkeys((at.id, *(figure for coat in applied for figure in coat.figures))),
        surface=surface,
    )


def _fasteners(compound: _Compound, surface: Surface, count: int) -> None:
    at = level(surface.finish_level)
    compound.take(
        fastener_gallons(count, at.fastener),
        f"{count} fasteners in the field, {at.fastener} coats at level {at.level}",
        at.id,
        "CM-dab-side",
        "CM-dab-thickness",
        surface=surface.id,
    )


def _skim(compound: _Compound, surface: Surface, catalogue: Catalogue) -> None:
    at = level(surface.finish_level)
    if is_skimmed(surface, catalogue):
        compound.take(
            skim_gallons(face_area(surface)),
            f"skim coat over all at level {at.level}",
            at.id,
            "CM-skim-thickness",
            surface=surface.id,
        )


def _prefill(
    tally: Tally, seams: Sequence[Seam], surfaces: dict[str, Surface], rules: Rules
) -> None:
    """What fills the gaps in corners is setting compound, whatever the coats are."""
    for seam, volume in prefilled(seams, surfaces, rules):
        tally.take(
            SETTING_COMPOUND,
            figures.rate("CM-powder").of(volume),
            f"gaps of {tally.shown(rules.fitting)} in inside corners filled before taping",
            "HL-07",
            "CM-powder",
            surface=seam.surfaces[0],
        )


def _beads_at_openings(room: RoomGeometry) -> Iterator[tuple[str, Nm, int]]:
    """Surface, length and level of each stick round openings whose board ends in a bead; none on
    tiled surfaces."""
    for surface in room.surfaces:
        if not surface.action.gets_board or surface.tiled:
            continue
        for opening in surface.openings:
            if opening.edge is OpeningEdge.CASED:
                continue
            high, wide = Nm(opening.top - opening.bottom), Nm(opening.right - opening.left)
            floor = min(v for _, v in surface.outline)
            sill = (wide,) if opening.bottom > floor and surface.kind is SurfaceKind.WALL else ()
            for run in (high, high, wide, *sill):
                yield surface.id, run, surface.finish_level


def _bead(tally: Tally, room: RoomGeometry, seams: Sequence[Seam], longest: Nm) -> None:
    spacing = figures.length("HL-22")
    for (run, surface), sticks in Counter(bead_sticks(room, seams)).items():
        parts = in_parts(run, longest)
        how = (
            "not spliced"
            if len(parts) == 1
            else f"longer than any on sale, so each spliced of {len(parts)}"
        )
        many = "1 stick" if sticks == 1 else f"{sticks} sticks"
        tally.cut(
            BEAD,
            parts * sticks,
            f"{many} {tally.stick(run)} long, {how}",
            "BE-stick",
            surface=surface,
            piece="bead",
        )
        tally.count(
            BEAD_NAILS,
            bead_nails(run) * sticks,
            f"both flanges of a bead every {tally.shown(spacing)}",
            "HL-22",
            surface=surface,
        )


def _mortar(tally: Tally, seams: Sequence[Seam]) -> None:
    for seam in seams:
        run = from_nm(seam.length, "ft")
        tally.take(
            ALKALI_TAPE,
            run,
            f"{seam_name(seam.kind)} of tile backer",
            "TP-backer",
            "GB-44",
            surface=seam.surfaces[0],
        )
        tally.take(
            MORTAR,
            figures.rate("CM-mortar").of(run),
            f"bedding of {seam_name(seam.kind)} of tile backer",
            "TP-backer",
            "CM-mortar",
            surface=seam.surfaces[0],
        )
    _tape_waste(tally, ALKALI_TAPE)


def in_mortar(surface: Surface, catalogue: Catalogue) -> bool:
    """Whether a surface takes mortar in place of compound: tiled, or of tile backer."""
    return surface.tiled or (
        surface.action.gets_board and catalogue.board(surface.board.kind).tile_backer
    )
