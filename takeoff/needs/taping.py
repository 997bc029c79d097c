"""What taping a room takes: tape, compound by coat, bead, and tape in mortar on tile backer."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from takeoff.boards.fillers import Filler, fillers
from takeoff.boards.plan import SurfacePlan
from takeoff.catalogue import Catalogue
from takeoff.choices import BeadKind, Compound, OpeningEdge, OpeningKind, SurfaceKind, Tape
from takeoff.framing.members import FramedSurface
from takeoff.geometry.polygon import length_of
from takeoff.geometry.rooms import RoomGeometry
from takeoff.geometry.surface import EdgeKind, Surface
from takeoff.house import Finish
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
from takeoff.needs.control_joints import joints_of
from takeoff.needs.hanging import surface_lines
from takeoff.needs.materials import (
    ALKALI_TAPE,
    BEAD,
    BEAD_NAILS,
    CONTROL_JOINT,
    DRYING_COMPOUND,
    MESH_TAPE,
    MORTAR,
    PAPER_BEAD,
    PAPER_TAPE,
    SETTING_COMPOUND,
    TRIM,
    Material,
)
from takeoff.needs.need import Need, Phase
from takeoff.needs.patches import patch_edges
from takeoff.needs.returns import finished_area, returns_of, sides_of
from takeoff.needs.sticks import in_parts, longest_stick, stick_lengths
from takeoff.needs.tally import Tally
from takeoff.quantities import Amount, add, from_nm, scale
from takeoff.reference import Level, figures, level
from takeoff.rules import Rules
from takeoff.seams import Seam, SeamKind
from takeoff.units import Nm, UnitSystem

__all__ = [
    "BeadStick",
    "bead_sticks",
    "coated_runs",
    "filled",
    "frame_edges",
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
    _fill(tally, plans, surfaces, catalogue)
    _bead(tally, room, taped, rules, catalogue)
    _mortar(tally, mortar_seams(own))
    return tally.needs()


def coated_runs(room: RoomGeometry, seams: Sequence[Seam]) -> dict[tuple[SeamKind, str, int], Nm]:
    """Return the lengths that get compound along them, by kind of seam, first surface of the seam
    and level of finish.

    Runs that are alike are added up, in the order they are first met: seams, beads round openings,
    then the edges of patches, and corners and trims of returns. `seams` are those of `room`.
    """
    runs: Counter[tuple[SeamKind, str, int]] = Counter()
    for seam in seams:
        if is_taped(seam) and seam.kind is not SeamKind.OPENING_EDGE:
            runs[seam.kind, seam.surfaces[0], seam.level] += seam.length
    for side in _beads_at_openings(room):
        runs[SeamKind.OPENING_EDGE, side.surface, side.level] += side.run
    for surface in room.surfaces:
        if not level(surface.finish_level).tape:
            continue
        if surface.patches:
            runs[SeamKind.PATCH_EDGE, surface.id, surface.finish_level] += patch_edges(surface)
        for turned in returns_of(surface):
            runs[SeamKind.INSIDE_CORNER, surface.id, surface.finish_level] += turned.corners
            if not turned.through:
                runs[SeamKind.TRIM, surface.id, surface.finish_level] += turned.run
        for run in frame_edges(surface):
            runs[SeamKind.TRIM, surface.id, surface.finish_level] += run
        # A control joint is filled along both its flanges, as a trim is along its one.
        for run in joints_of(surface):
            runs[SeamKind.TRIM, surface.id, surface.finish_level] += 2 * run
    return {key: Nm(run) for key, run in runs.items()}


def tape_for(kind: SeamKind, finish: Finish) -> Material | None:
    """Return the tape that goes along a seam of `kind`; None where a bead takes its place."""
    shape = shape_of(kind)
    if shape in (SeamShape.BEAD, SeamShape.TRIM):
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


def filled(
    plans: Sequence[SurfacePlan], surfaces: Mapping[str, Surface], catalogue: Catalogue
) -> Iterator[tuple[Surface, Filler, Amount]]:
    """Return each filler beside an opening (see `takeoff.boards.fillers`), with its surface and
    the volume of it.

    None is filled on a surface that is not taped, nor where mortar takes the place of compound.
    `surfaces` are those of the room, by id.
    """
    for plan in plans:
        surface = surfaces.get(plan.surface)
        if surface is None or not level(surface.finish_level).tape:
            continue
        if not in_mortar(surface, catalogue):
            for filler in fillers(surface, plan.rows_run, plan.rows, plan.pieces):
                yield surface, filler, gallons(filler.area * surface.board.thickness)


@dataclass(frozen=True, slots=True, kw_only=True)
class BeadStick:
    """A stick of bead or trim, as it is cut. `off_floor` is how far a bead that would stand on the
    floor stays up from it."""

    material: Material
    length: Nm
    surface: str
    off_floor: Nm = Nm(0)

    @property
    def nails(self) -> int:
        """How many nails hold it: through both flanges of a metal bead, and through the one of a
        trim. Paper-faced bead is bedded in compound."""
        if self.material == PAPER_BEAD:
            return 0
        flanges = 1 if self.material == TRIM else 2
        return flanges * (-(-self.length // figures.length("HL-22")) + 1)


def is_skimmed(surface: Surface, catalogue: Catalogue) -> bool:
    """Return whether the whole face of a surface gets a skim coat."""
    skim = level(surface.finish_level).skim and surface.action.gets_board
    return skim and not in_mortar(surface, catalogue)


def is_taped(seam: Seam) -> bool:
    """Return whether a seam is taped in compound."""
    return not seam.mortar and level(seam.level).tape


def bead_sticks(
    room: RoomGeometry, seams: Sequence[Seam], rules: Rules, catalogue: Catalogue
) -> tuple[BeadStick, ...]:
    """Return every stick of bead and trim of a room: one for each corner, those round openings that
    are beaded, and those along the far edge of what is turned into an opening.

    There is none where the finish asks for no coat on beads (levels 0 and 1).
    """
    # Corners of a soffit or a skylight well are over the floor.
    walls = {
        surface.id
        for surface in room.surfaces
        if surface.kind is SurfaceKind.WALL
        and any(edge.kind is EdgeKind.FLOOR for edge in surface.edges)
    }
    bead = _bead_of(rules)
    corners = [
        _stick(bead, seam.length, seam.surfaces[0], rules, catalogue)
        if walls.issuperset(seam.surfaces)
        else BeadStick(material=bead, length=seam.length, surface=seam.surfaces[0])
        for seam in seams
        if seam.kind is SeamKind.OUTSIDE_CORNER
        and seam.room == room.room
        and level(seam.level).bead
    ]
    openings = [
        _stick(bead, side.run, side.surface, rules, catalogue)
        if side.from_floor
        else BeadStick(material=bead, length=side.run, surface=side.surface)
        for side in _beads_at_openings(room)
        if level(side.level).bead
    ]
    trims = [
        BeadStick(material=TRIM, length=run, surface=surface.id)
        for surface in room.surfaces
        if level(surface.finish_level).bead
        for run in (
            *(run for turned in returns_of(surface) if not turned.through for run in turned.sides),
            *frame_edges(surface),
        )
    ]
    joints = [
        BeadStick(material=CONTROL_JOINT, length=run, surface=surface.id)
        for surface in room.surfaces
        if level(surface.finish_level).bead
        for run in joints_of(surface)
    ]
    return (*corners, *openings, *trims, *joints)


def frame_edges(surface: Surface) -> Iterator[Nm]:
    """The sides of a surface that end against the frame of a skylight."""
    if not surface.action.gets_board or surface.tiled:
        return
    ends = (*surface.outline[1:], surface.outline[0])
    for edge, start, end in zip(surface.edges, surface.outline, ends, strict=True):
        if edge.kind is EdgeKind.FRAME:
            yield Nm(round(length_of(start, end)))


def _bead_of(rules: Rules) -> Material:
    """Return the bead that the rules choose for outside corners."""
    return PAPER_BEAD if rules.bead is BeadKind.PAPER else BEAD


def _stick(bead: Material, run: Nm, surface: str, rules: Rules, catalogue: Catalogue) -> BeadStick:
    """The stick along a run that stands on the floor. It ends as far up as the board does, or as
    far as the rules let a gap be where a stick on sale then reaches."""
    length = Nm(max(run - rules.floor_gap, 0))
    least = run - rules.largest_floor_gap
    whole = [stick for stick in stick_lengths(catalogue, bead) if least <= stick < length]
    length = max(whole, default=length)
    return BeadStick(material=bead, length=length, surface=surface, off_floor=Nm(run - length))


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
    for (kind, surface, number), run in runs.items():
        tape = tape_for(kind, finish)
        if tape is None:
            continue
        mesh = ("TP-mesh",) if finish.tape is Tape.MESH else ()
        tally.take(
            tape,
            from_nm(run, "ft"),
            seam_name(kind),
            level(number).id,
            *mesh,
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
            skim_gallons(finished_area(surface)),
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


def _fill(
    tally: Tally,
    plans: Sequence[SurfacePlan],
    surfaces: Mapping[str, Surface],
    catalogue: Catalogue,
) -> None:
    """Fillers count as if compound alone filled them: how much of one an offcut takes up nobody
    knows before."""
    for surface, filler, volume in filled(plans, surfaces, catalogue):
        tally.take(
            SETTING_COMPOUND,
            figures.rate("CM-powder").of(volume),
            f"{filler.opening.name}: a strip {tally.shown(filler.width)} wide and "
            f"{tally.stick(filler.run)} long {filler.where}, too narrow for board, is filled; an "
            "offcut set in it saves some",
            "HL-core",
            "HL-filler",
            "CM-powder",
            surface=surface.id,
        )


@dataclass(frozen=True, slots=True)
class _BeadedSide:
    """One side of an opening whose board ends in a bead. `from_floor` says that it stands on the
    floor."""

    surface: str
    run: Nm
    level: int
    from_floor: bool


def _beads_at_openings(room: RoomGeometry) -> Iterator[_BeadedSide]:
    """Each side of an opening that is beaded, twice where a return goes through the wall; none on
    tiled surfaces."""
    for surface in room.surfaces:
        if not surface.action.gets_board or surface.tiled:
            continue
        floor = min(v for _, v in surface.outline)
        for opening in surface.openings:
            if opening.edge is OpeningEdge.CASED:
                continue
            through = opening.return_depth is not None and opening.kind is OpeningKind.PASSAGE
            stands = opening.bottom <= floor and surface.kind is SurfaceKind.WALL
            for _ in range(2 if through else 1):
                for place, run in enumerate(sides_of(surface, opening)):
                    yield _BeadedSide(surface.id, run, surface.finish_level, stands and place < 2)


def _bead(
    tally: Tally,
    room: RoomGeometry,
    seams: Sequence[Seam],
    rules: Rules,
    catalogue: Catalogue,
) -> None:
    spacing = figures.length("HL-22")
    for stick, sticks in Counter(bead_sticks(room, seams, rules, catalogue)).items():
        parts = in_parts(stick.length, longest_stick(catalogue, stick.material))
        how = (
            "not spliced"
            if len(parts) == 1
            else f"longer than any on sale, so each spliced of {len(parts)}"
        )
        if stick.off_floor:
            how += f", {tally.shown(stick.off_floor)} off the floor"
        many = "1 stick" if sticks == 1 else f"{sticks} sticks"
        words = _STICK_WORDS.get(stick.material, _BEAD_WORDS)
        tally.cut(
            stick.material,
            parts * sticks,
            f"{many} {tally.stick(stick.length)} long, {how}{words.where}",
            words.figure,
            surface=stick.surface,
            piece=words.piece,
        )
        tally.count(
            BEAD_NAILS,
            stick.nails * sticks,
            f"{words.flanges} every {tally.shown(spacing)}",
            "HL-22",
            surface=stick.surface,
        )


@dataclass(frozen=True, slots=True)
class _StickWords:
    """What reasons call a kind of stick, and the figure it rests on."""

    piece: str
    flanges: str
    figure: str
    where: str = ""


_BEAD_WORDS = _StickWords("bead", "both flanges of a bead", "BE-stick")
_STICK_WORDS = {
    TRIM: _StickWords("trim", "the flange of a trim", "RT-trim", ", along the frame of an opening"),
    CONTROL_JOINT: _StickWords(
        "control joint", "both flanges of a control joint", "HL-16-joint", ", where board is parted"
    ),
}


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
