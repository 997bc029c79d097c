"""What each tick of a room uses up: every need shared over the pieces, sheets and coats that take
it.

People tick a sheet as cut, a piece as hung, and each coat of a surface as done. The shares of a
need are worked out from the same lines, seams and faces as the need itself. They add up to it
exactly, rounded up once to a whole thousandth of its unit.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from functools import cached_property
from math import lcm

from takeoff.boards.plan import Piece, SurfacePlan
from takeoff.choices import Compound
from takeoff.framing.members import FramedSurface
from takeoff.geometry.rooms import RoomGeometry
from takeoff.geometry.surface import Surface
from takeoff.house import Finish, House
from takeoff.job import Takeoff
from takeoff.needs.areas import is_refused, shape_area
from takeoff.needs.coats import coats, fastener_gallons, seam_gallons, shape_of, skim_gallons
from takeoff.needs.fastening import FastenerLine
from takeoff.needs.finishing import sanded
from takeoff.needs.hanging import surface_lines
from takeoff.needs.materials import (
    ADHESIVE,
    ALKALI_TAPE,
    BEAD,
    BEAD_NAILS,
    DRYING_COMPOUND,
    MESH_TAPE,
    MORTAR,
    PAPER_BEAD,
    PAPER_TAPE,
    PRIMER,
    SANDING,
    SETTING_COMPOUND,
    TRIM,
    is_screw,
)
from takeoff.needs.need import Need, Phase
from takeoff.needs.returns import finished_area
from takeoff.needs.sticks import in_parts, longest_stick
from takeoff.needs.taping import (
    BeadStick,
    bead_sticks,
    coated_runs,
    filled,
    in_mortar,
    is_skimmed,
    is_taped,
    mortar_seams,
    prefilled,
    tape_for,
)
from takeoff.places import piece_key
from takeoff.quantities import Amount, from_nm
from takeoff.reference import level
from takeoff.seams import Seam
from takeoff.units import Nm

__all__ = ["Take", "Tick", "coats_asked", "split", "takes_of", "whole_thousandths"]


class Tick(StrEnum):
    """What people tick, in the order of the work.

    `CUT` is said of a sheet and `HUNG` of a piece. From `TAPED`, the coat that tape or bead is
    bedded in, to `PAINTED` all are said of a surface. `REST` is what no surface or piece uses up;
    it is used with its phase.
    """

    CUT = "cut"
    HUNG = "hung"
    TAPED = "taped"
    SECOND = "second"
    THIRD = "third"
    SANDED = "sanded"
    PRIMED = "primed"
    PAINTED = "painted"
    REST = "rest"


_BEADS = frozenset({BEAD.id, PAPER_BEAD.id, TRIM.id})
_COATS = (Tick.TAPED, Tick.SECOND, Tick.THIRD)
_ORDER = {kind: place for place, kind in enumerate(Tick)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """What one tick uses up of one item in one phase of a room.

    `amount` is in whole thousandths of `unit`. `name` is the sheet's code, the piece's key
    (`A.K-A1`: its surface's key in the room, and its mark), or the surface's key; it is empty for
    the rest. `plan` names the board plan that the sheet or piece is of, and is empty elsewhere.
    `lengths` are the sticks it uses, in nanometres, longest first.
    """

    phase: str
    item: str
    unit: str
    kind: Tick
    name: str
    amount: int
    plan: str = ""
    lengths: tuple[int, ...] = ()


# What is ticked, without what it uses up: its kind, name and plan.
_Ticked = tuple[Tick, str, str]
_REST: _Ticked = (Tick.REST, "", "")


def whole_thousandths(amount: Amount) -> int:
    """Return an amount in whole thousandths of its unit, rounded up.

    >>> whole_thousandths(Amount(Fraction(1, 3), "gal"))
    334
    """
    return -(-amount.value.numerator * 1000 // amount.value.denominator)


def split(total: int, weights: Sequence[Fraction]) -> list[int]:
    """Split `total` into whole parts by weight. What rounding leaves over goes to the largest
    remainders, the earlier of equal ones first. The weights must not all be zero.

    >>> split(10, [Fraction(1), Fraction(1), Fraction(1)])
    [4, 3, 3]
    """
    common = lcm(*(weight.denominator for weight in weights))
    whole = [weight.numerator * (common // weight.denominator) for weight in weights]
    sum_of_all = sum(whole)
    parts = [total * weight // sum_of_all for weight in whole]
    remainders = [total * weight % sum_of_all for weight in whole]
    largest = sorted(range(len(parts)), key=lambda index: -remainders[index])
    for index in largest[: total - sum(parts)]:
        parts[index] += 1
    return parts


def coats_asked(surface: Surface) -> int:
    """Return how many coats of compound a surface's level of finish asks for, the bedding coat
    counted."""
    at = level(surface.finish_level)
    return max(at.flat, at.angle, at.fastener, at.bead)


def takes_of(done: Takeoff, room: str, plan_names: Sequence[str]) -> tuple[Take, ...]:
    """Return what each tick of a room uses up, need by need.

    `plan_names` are the names by which takes tell the plans of `done`, in their order. A coat that
    only the other side of a corner asks for counts for that side; tape and bead go with it.
    """
    needs = [need for need in done.needs if need.room == room]
    if not needs:
        return ()
    return tuple(take for shares in _shares_of(done, room, plan_names, needs) for take in shares)


def _shares_of(
    done: Takeoff, room: str, plan_names: Sequence[str], needs: Sequence[Need]
) -> Iterator[list[Take]]:
    work = _RoomWork(done, room, plan_names)
    weights: Mapping[_Ticked, Fraction]
    for need in needs:
        match need.phase:
            case Phase.HANGING:
                weights = _hanging(work, need)
            case Phase.TAPING:
                weights = _taping(work, need)
            case Phase.FINISHING:
                weights = _finishing(work, need)
            case _:
                weights = {}
        yield _takes(need, weights, work.bead_lengths(need.material))


def _takes(
    need: Need, weights: Mapping[_Ticked, Fraction], lengths: Mapping[_Ticked, Sequence[Nm]]
) -> list[Take]:
    """The need split by weight. All of it is the rest where nothing has a weight."""
    total = whole_thousandths(need.amount)
    weighted = {ticked: weight for ticked, weight in weights.items() if weight}
    if weighted.keys() <= {_REST}:
        weighted, lengths = {_REST: Fraction(1)}, {_REST: tuple(map(Nm, need.lengths))}
    parts = zip(weighted, split(total, list(weighted.values())), strict=True)
    return [
        Take(
            phase=need.phase,
            item=need.material,
            unit=need.amount.unit,
            kind=kind,
            name=name,
            amount=amount,
            plan=plan,
            lengths=tuple(sorted(lengths.get((kind, name, plan), ()), reverse=True)),
        )
        for (kind, name, plan), amount in sorted(parts, key=lambda part: _ORDER[part[0][0]])
        if amount or (kind, name, plan) in lengths
    ]


class _RoomWork:
    """What the ticks of one room are worked out from. Each part is worked out once, for the needs
    that ask for it."""

    def __init__(self, done: Takeoff, room: str, plan_names: Sequence[str]) -> None:
        whole = next(geometry for geometry in done.rooms if geometry.room == room)
        planned = {plan.surface for plan in done.surface_plans}
        boarded = [surface for surface in whole.surfaces if not is_refused(surface, planned)]
        self.house: House = done.house
        self.finish: Finish = done.house.room(room).finish
        # As needs are counted: what was refused is as if it were not there.
        self.room: RoomGeometry = replace(whole, surfaces=tuple(boarded))
        self.surfaces: Mapping[str, Surface] = {surface.id: surface for surface in boarded}
        self.behind: Mapping[str, FramedSurface] = {
            framed.surface.id: framed for framed in done.framed if framed.surface.room == room
        }
        self.plans: Mapping[str, tuple[SurfacePlan, str]] = {
            plan.surface: (plan, name)
            for board_plan, name in zip(done.plans, plan_names, strict=True)
            for plan in board_plan.surfaces
            if plan.surface in self.surfaces
        }
        self.cut: Mapping[str, list[_Ticked]] = defaultdict(list)
        for board_plan, name in zip(done.plans, plan_names, strict=True):
            for sheet in board_plan.sheets:
                if sheet.room == room and sheet.is_whole:
                    self.cut[sheet.item].append((Tick.CUT, sheet.code, name))
        own = [seam for seam in done.seams if seam.room == room]
        self.corners: Sequence[Seam] = own
        self.seams: Sequence[Seam] = [self._turned(seam) for seam in own]

    def _turned(self, seam: Seam) -> Seam:
        """The seam with the side first that is ticked for it: of those that get coats, one with new
        board, and of these the one whose level of finish governs."""
        if len(seam.surfaces) == 1:
            return seam

        def rank(name: str) -> tuple[bool, bool, bool, int]:
            surface = self.surfaces.get(name)
            if surface is None:
                return False, False, False, 0
            return True, coats_asked(surface) > 0, name in self.plans, surface.finish_level

        return replace(seam, surfaces=tuple(sorted(seam.surfaces, key=rank, reverse=True)))

    @cached_property
    def lines(self) -> Mapping[str, Sequence[FastenerLine]]:
        """The lines of screws of each surface that is boarded."""
        return {
            surface: surface_lines(
                self.behind[surface], plan, rules=self.house.rules, catalogue=self.house.catalogue
            )
            for surface, (plan, _) in self.plans.items()
        }

    @cached_property
    def areas(self) -> Mapping[str, Sequence[tuple[_Ticked, Fraction]]]:
        """The pieces of each surface that is boarded, with the areas of their outlines."""
        return {
            surface: [(_hung(piece, name), shape_area(piece.outline)) for piece in plan.pieces]
            for surface, (plan, name) in self.plans.items()
        }

    @cached_property
    def beads(self) -> Sequence[BeadStick]:
        """Each stick of bead and trim."""
        seams = [seam for seam in self.seams if is_taped(seam)]
        return bead_sticks(self.room, seams, self.house.rules, self.house.catalogue)

    def bead_lengths(self, material: str) -> Mapping[_Ticked, Sequence[Nm]]:
        """The sticks of a kind of bead of each surface, spliced where none on sale is so long."""
        lengths: dict[_Ticked, list[Nm]] = defaultdict(list)
        for stick in self.beads if material in _BEADS else ():
            if stick.material.id == material:
                longest = longest_stick(self.house.catalogue, stick.material)
                lengths[_on(Tick.TAPED, stick.surface)] += in_parts(stick.length, longest)
        return lengths

    @cached_property
    def coats(self) -> Mapping[_Ticked, Fraction]:
        """The gallons of wet compound that each coat of each surface takes."""
        gallons: dict[_Ticked, Fraction] = defaultdict(Fraction)
        for (kind, surface, number), run in coated_runs(self.room, self.seams).items():
            for coat in coats(shape_of(kind), level(number), self.finish.compound):
                gallons[self._coat(surface, coat.number)] += seam_gallons(coat, run).value
        for surface, lines in self.lines.items():
            of = self.surfaces[surface]
            if in_mortar(of, self.house.catalogue):
                continue
            a_coat = fastener_gallons(sum(line.field for line in lines), 1).value
            for number in range(1, level(of.finish_level).fastener + 1):
                gallons[self._coat(surface, number)] += a_coat
        for of in self.room.surfaces:
            if is_skimmed(of, self.house.catalogue):
                last = self._coat(of.id, coats_asked(of))
                gallons[last] += skim_gallons(finished_area(of)).value
        return gallons

    def _coat(self, surface: str, number: int) -> _Ticked:
        """A coat of a surface. One that its own level does not ask for goes on with its last."""
        of = self.surfaces.get(surface)
        last = coats_asked(of) if of is not None else 0
        return _on(_COATS[min(number, last or number) - 1], surface)


def _on(kind: Tick, surface: str) -> _Ticked:
    return kind, surface.partition("/")[2], ""


def _hung(piece: Piece, plan: str) -> _Ticked:
    return Tick.HUNG, piece_key(piece), plan


def _by_surface(need: Need) -> Mapping[str, Fraction]:
    """What the need's reasons give for each surface. What they give for none, such as spare screws,
    is spread like the others."""
    amounts: dict[str, Fraction] = defaultdict(Fraction)
    for reason in need.reasons:
        if reason.surface is not None:
            amounts[reason.surface] += reason.amount.value
    return amounts


def _hanging(work: _RoomWork, need: Need) -> Mapping[_Ticked, Fraction]:
    weights: dict[_Ticked, Fraction] = defaultdict(Fraction)
    if need.material in work.cut:
        # A cut takes one sheet. What a first layer, patches and returns take beside is of no cut.
        weights.update(dict.fromkeys(work.cut[need.material], Fraction(1)))
        taken = Fraction(whole_thousandths(need.amount), 1000)
        weights[_REST] = taken - len(work.cut[need.material])
        return weights
    for surface, amount in _by_surface(need).items():
        if surface not in work.plans:
            weights[_REST] += amount
            continue
        plan, _ = work.plans[surface]
        ticks = {
            piece.code: ticked
            for piece, (ticked, _) in zip(plan.pieces, work.areas[surface], strict=True)
        }
        by_line = [
            (ticks[line.piece], share)
            for line in work.lines[surface]
            if (share := _of_line(need, line))
        ]
        in_lines = sum((share for _, share in by_line), Fraction(0))
        # Of a first layer there may be fewer screws than lines of the second take.
        scaled = min(Fraction(1), amount / in_lines) if in_lines else Fraction(0)
        for ticked, share in by_line:
            weights[ticked] += share * scaled
        # Screws into nailers, backers, clips and the like are of no line: they go by area.
        remainder = amount - in_lines * scaled
        if remainder:
            area = sum(piece_area for _, piece_area in work.areas[surface])
            for ticked, piece_area in work.areas[surface]:
                weights[ticked] += remainder * piece_area / area
    return weights


def _of_line(need: Need, line: FastenerLine) -> Fraction:
    """What a line of screws takes of a need; nothing of one that goes by area."""
    if is_screw(need.material):
        return Fraction(line.screws)
    if need.material == ADHESIVE.id and not line.backer:
        return from_nm(line.length, "ft").value
    return Fraction(0)


def _taping(work: _RoomWork, need: Need) -> Mapping[_Ticked, Fraction]:
    setting = work.finish.compound is Compound.SETTING
    weights: dict[_Ticked, Fraction] = defaultdict(Fraction)
    if need.material in (DRYING_COMPOUND.id, SETTING_COMPOUND.id):
        if need.material == (SETTING_COMPOUND if setting else DRYING_COMPOUND).id:
            weights.update(work.coats)
        if need.material == SETTING_COMPOUND.id:
            first = {
                id(seam): turned for seam, turned in zip(work.corners, work.seams, strict=True)
            }
            for seam, volume in prefilled(work.corners, work.surfaces, work.house.rules):
                weights[_on(Tick.TAPED, first[id(seam)].surfaces[0])] += volume.value
            plans = [plan for plan, _ in work.plans.values()]
            for of, _, volume in filled(plans, work.surfaces, work.house.catalogue):
                weights[_on(Tick.TAPED, of.id)] += volume.value
    elif need.material in (PAPER_TAPE.id, MESH_TAPE.id):
        for (kind, surface, _), run in coated_runs(work.room, work.seams).items():
            tape = tape_for(kind, work.finish)
            if tape is not None and tape.id == need.material:
                weights[_on(Tick.TAPED, surface)] += run
    elif need.material in (ALKALI_TAPE.id, MORTAR.id):
        for seam in mortar_seams(work.seams):
            weights[_on(Tick.TAPED, seam.surfaces[0])] += seam.length
    elif need.material == BEAD_NAILS.id:
        for stick in work.beads:
            weights[_on(Tick.TAPED, stick.surface)] += stick.nails
    elif need.material in _BEADS:
        for stick in work.beads:
            if stick.material.id == need.material:
                weights[_on(Tick.TAPED, stick.surface)] += stick.length
    else:
        for surface, amount in _by_surface(need).items():
            weights[_on(Tick.TAPED, surface)] += amount
    return weights


def _finishing(work: _RoomWork, need: Need) -> Mapping[_Ticked, Fraction]:
    weights: dict[_Ticked, Fraction] = defaultdict(Fraction)
    if need.material == SANDING.id:
        for surface, _, paper in sanded(work.room, work.seams):
            weights[_on(Tick.SANDED, surface)] += paper.value
        return weights
    kind = Tick.PRIMED if need.material == PRIMER.id else Tick.PAINTED
    for surface, amount in _by_surface(need).items():
        weights[_on(kind, surface)] += amount
    return weights
