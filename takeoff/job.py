"""The whole job in one call: surfaces, members, board plan, seams, needs, supply list."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from takeoff.boards.blocking import unsupported_butt_ends
from takeoff.boards.check import Breach, examine_plan
from takeoff.boards.first_layers import FirstLayers
from takeoff.boards.house_plan import PlanCache, Refusal, plan_boards, with_rests
from takeoff.boards.plan import NOTHING_BUILT, AsBuilt, BoardPlan, Sheet, SurfacePlan
from takeoff.cautions import control_joint_notes, load_notes, stack_notes
from takeoff.choices import Action, FramedWhen
from takeoff.errors import NeedsEngineer
from takeoff.framing.edges import UnsupportedEdge, tee_edges, unsupported_edges
from takeoff.framing.members import FramedSurface, frame
from takeoff.framing.over_plates import PlateBlocks
from takeoff.framing.partition import PartitionFrame, partition_frame
from takeoff.geometry.rooms import PartitionShape, RoomGeometry, room_shapes
from takeoff.geometry.surface import Surface
from takeoff.house import House
from takeoff.needs import as_found
from takeoff.needs.added import merged, wrong_kinds
from takeoff.needs.crosschecks import CrossCheckInputs, cross_checks
from takeoff.needs.hand_goods import torn_out
from takeoff.needs.need import CrossCheck, Need
from takeoff.needs.paints import with_paints
from takeoff.needs.phases import added_needs, beside_plans, needs_of
from takeoff.quantities import Amount, display, from_nm
from takeoff.reference import figures
from takeoff.seams import Seam, seams_of
from takeoff.solve.search import SearchOptions
from takeoff.supply import SupplyList, order
from takeoff.units import UnitSystem

__all__ = [
    "PartitionChoice",
    "PlanCache",
    "SearchOptions",
    "Takeoff",
    "chosen_needs",
    "partition_choices",
    "supply_for",
    "take_off",
    "takeoff_of_plans",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartitionChoice:
    """One way to frame a partition, and what the whole house then takes."""

    partition: str
    framed: FramedWhen
    takeoff: Takeoff


@dataclass(frozen=True, slots=True, kw_only=True)
class Takeoff:
    """Everything worked out of a house, in the order of its rooms.

    `plans` has one plan a pile, board kind and thickness, its rooms sharing offcuts in the order
    they are listed. What could not be boarded stands in `refused` and in no plan; `unframed` says
    of each partition without sticks why it has none. `warnings` are sentences for the person.
    `built` was there before, and is part of the plans; `amiss` is what is not by the rules about
    it, which no plan changes. `first_layers` are the plans under those of surfaces with two layers.
    Needs and supply are of the whole job, what is built and what is
    not: who ticks it takes off what is done.
    """

    house: House
    rooms: tuple[RoomGeometry, ...]
    partitions: tuple[PartitionShape, ...]
    partition_frames: tuple[PartitionFrame, ...]
    framed: tuple[FramedSurface, ...]
    plans: tuple[BoardPlan, ...]
    refused: tuple[Refusal, ...]
    unframed: tuple[str, ...]
    unsupported_edges: tuple[UnsupportedEdge, ...]
    seams: tuple[Seam, ...]
    needs: tuple[Need, ...]
    cross_checks: tuple[CrossCheck, ...]
    supply: SupplyList
    warnings: tuple[str, ...]
    built: AsBuilt = NOTHING_BUILT
    amiss: tuple[Breach, ...] = ()
    first_layers: tuple[SurfacePlan, ...] = ()

    @property
    def surface_plans(self) -> tuple[SurfacePlan, ...]:
        """Every surface's plan, whichever pool it was cut in."""
        return tuple(surface for plan in self.plans for surface in plan.surfaces)

    @property
    def sheets(self) -> tuple[Sheet, ...]:
        return tuple(sheet for plan in self.plans for sheet in plan.sheets)


def take_off(
    house: House,
    *,
    framed: Mapping[str, FramedWhen] | None = None,
    cache: PlanCache | None = None,
    search: SearchOptions | None = None,
    warm_start: Sequence[BoardPlan] = (),
    without_pooling: bool = False,
    built: AsBuilt = NOTHING_BUILT,
) -> Takeoff:
    """Work out the whole of `house`: what each phase of each room takes, with reasons, and what to
    buy.

    `framed` overrides when a partition is framed, by its id. `cache` carries board problems and
    plans from one call for the same house to the next; `search` looks for better board plans than
    the first ones; `warm_start` are plans of connected rooms that are known already: a pile that
    holds them costs no more. With `without_pooling` the connected rooms of a pile are cut apart,
    which is quick. What is `built` already stays as it is, and the rest is planned around it.

    Raises `BadValue` where the house itself cannot be (a room that does not close,
    an opening outside its wall); a surface that cannot be boarded is reported, not raised.
    """
    house = with_paints(house)
    rooms, partitions = room_shapes(house, framed=framed)
    members = {
        surface.id: frame(surface, house.rules) for room in rooms for surface in room.surfaces
    }
    plans, refused = plan_boards(
        house,
        rooms,
        members,
        cache,
        search.improve if search is not None else None,
        warm_start,
        without_pooling=without_pooling,
        built=built,
    )
    return takeoff_of_plans(house, rooms, partitions, members, plans, refused, built=built)


def takeoff_of_plans(
    house: House,
    rooms: Sequence[RoomGeometry],
    partitions: Sequence[PartitionShape],
    members: Mapping[str, FramedSurface],
    plans: Sequence[BoardPlan],
    refused: Sequence[Refusal] = (),
    *,
    built: AsBuilt = NOTHING_BUILT,
    amiss: Sequence[Breach] | None = None,
) -> Takeoff:
    """The takeoff of a house whose board plans are known: nothing is planned.

    `members` are its framed surfaces by their ids, in the order of its rooms. `amiss` is worked out
    where it is None.
    """
    all_members = tuple(members.values())
    laid = [surface for plan in plans for surface in plan.surfaces]
    sheets = [sheet for plan in plans for sheet in plan.sheets]
    frames, unframed = _partition_frames(house, partitions)
    unsupported = [
        edge for room in rooms for edge in unsupported_edges(room, all_members, house.rules)
    ]
    unsupported += [edge for shape in partitions for edge in tee_edges(shape, house.rules)]
    surfaces = {surface.id: surface for room in rooms for surface in room.surfaces}
    unsupported += [edge for plan in plans for edge in unsupported_butt_ends(plan, surfaces)]
    seams = [seam for room in rooms for seam in seams_of(room, all_members, laid, house.catalogue)]
    beside = beside_plans(house, rooms, all_members, partitions, laid)
    needs = needs_of(house, rooms, all_members, frames, laid, sheets, unsupported, seams, beside)
    checked = cross_checks(
        CrossCheckInputs(
            needs=needs,
            rooms=rooms,
            framed=all_members,
            plans=laid,
            seams=seams,
            rules=house.rules,
            catalogue=house.catalogue,
            units=house.units,
        )
    )
    # Handbooks know nothing of what people add, so it is added after they were asked.
    needs = merged(needs, added_needs(house, rooms))
    return Takeoff(
        house=house,
        rooms=tuple(rooms),
        partitions=tuple(partitions),
        partition_frames=frames,
        framed=all_members,
        plans=tuple(plans),
        refused=tuple(refused),
        unsupported_edges=tuple(unsupported),
        seams=tuple(seams),
        needs=needs,
        cross_checks=checked,
        supply=_supply(house, needs),
        unframed=unframed,
        warnings=(
            *_warnings(house, rooms, partitions, frames, sheets),
            *_unknown_over(partitions, beside.blocks),
            *_layered(surfaces, beside.first, house.units),
            *_not_counted(house, rooms),
        ),
        built=built,
        amiss=_amiss(house, plans, all_members, built) if amiss is None else tuple(amiss),
        first_layers=beside.first.surfaces,
    )


def chosen_needs(
    takeoff: Takeoff, *, phases: Collection[str] = (), rooms: Collection[str] = ()
) -> tuple[Need, ...]:
    """The needs of some phases and rooms, all of them where none is named."""
    return tuple(
        need
        for need in takeoff.needs
        if (not phases or need.phase in phases) and (not rooms or need.room in rooms)
    )


def supply_for(
    takeoff: Takeoff, *, phases: Collection[str] = (), rooms: Collection[str] = ()
) -> SupplyList:
    """What to buy for some phases and rooms, all of them where none is named; stock on hand is used
    up first."""
    if not phases and not rooms:
        return takeoff.supply
    return _supply(takeoff.house, chosen_needs(takeoff, phases=phases, rooms=rooms))


def partition_choices(
    takeoff: Takeoff, cache: PlanCache | None = None
) -> tuple[PartitionChoice, ...]:
    """Every partition of a takeoff framed before and after board, the others staying as they are.
    One that carries load is left out: it is never framed after board."""
    cache = cache or PlanCache()
    bearing = {partition.id for partition in takeoff.house.partitions if partition.bearing}
    now = {
        shape.partition: shape.framed
        for shape in takeoff.partitions
        if shape.partition not in bearing
    }
    return tuple(
        PartitionChoice(
            partition=partition,
            framed=when,
            takeoff=takeoff
            if now[partition] is when
            else take_off(
                takeoff.house,
                framed=now | {partition: when},
                cache=cache,
                built=takeoff.built,
            ),
        )
        for partition in now
        for when in FramedWhen
    )


def _partition_frames(
    house: House, shapes: Sequence[PartitionShape]
) -> tuple[tuple[PartitionFrame, ...], tuple[str, ...]]:
    """The sticks of every partition that may be framed without an engineer, and a sentence for each
    that may not."""
    frames, warnings = [], []
    by_id = {partition.id: partition for partition in house.partitions}
    for shape in shapes:
        try:
            bearing = by_id[shape.partition].bearing
            frames.append(partition_frame(shape, house.rules, bearing=bearing))
        except NeedsEngineer as error:
            warnings.append(str(error))
    return tuple(frames), tuple(warnings)


def _supply(house: House, needs: Sequence[Need]) -> SupplyList:
    return order(
        needs,
        catalogue=house.catalogue,
        stock=house.on_hand,
        kerf=house.rules.kerf,
        sheets=house.rules.sheets,
    )


def _amiss(
    house: House,
    plans: Sequence[BoardPlan],
    members: Sequence[FramedSurface],
    built: AsBuilt,
) -> tuple[Breach, ...]:
    """What is not by the rules about boards that hang already, or plans that stand."""
    if not built.boards and not built.standing:
        return ()
    rules = with_rests(house, built).rules
    amiss: list[Breach] = []
    for plan in plans:
        planned = {surface.surface for surface in plan.surfaces}
        framed = [one for one in members if one.surface.id in planned]
        amiss += examine_plan(plan, framed, rules, house.catalogue, built=built).amiss
    in_plans = {surface.surface for plan in plans for surface in plan.surfaces}
    names = {one.surface.id: one.surface.name for one in members}
    for surface in dict.fromkeys(board.surface for board in built.boards):
        if surface not in in_plans:
            marks = ", ".join(board.mark for board in built.boards if board.surface == surface)
            message = f"{names.get(surface, surface)} has no plan, but {marks} hang there"
            amiss.append(Breach(surface, "placed", message, amiss=True))
    return tuple(amiss)


def _unknown_over(
    partitions: Sequence[PartitionShape], blocks: Mapping[str, PlateBlocks]
) -> Iterator[str]:
    """Partitions of which nobody can say whether a joist lies over them."""
    for shape in partitions:
        over = blocks.get(shape.id)
        if over is not None and not over.known:
            yield (
                f"{shape.name} may run between two joists of {over.ceiling}: look, and say how "
                "they lie. Blocks over its top plate are counted then, and go in before the "
                "ceiling is closed"
            )


def _layered(
    surfaces: Mapping[str, Surface], first: FirstLayers, units: UnitSystem
) -> Iterator[str]:
    """What to know of surfaces with two layers: which way the first goes, and where its joints and
    those of the second would lie in line."""
    for plan in first.surfaces:
        name = surfaces[plan.surface].name
        way = "along" if plan.along_framing else "across"
        yield (
            f"{name}: two layers. Hang the first {way} the framing, its joints off those of the "
            "second; cards and ticks are of the second, and the hours of both are counted. A "
            "second layer is weight: on a ceiling, ask someone licensed"
        )
        beside = first.in_line.get(plan.surface)
        if beside:
            yield (
                f"{name}: about {display(from_nm(beside, 'ft'), units)} of joints of its first "
                "layer would lie in line with those of the second. Begin the first layer with a "
                "narrower board"
            )


def _not_counted(house: House, rooms: Sequence[RoomGeometry]) -> Iterator[str]:
    """What people added in a unit that its item is not sold by."""
    for room in rooms:
        added = house.room(room.room).added
        yield from wrong_kinds(room, added, catalogue=house.catalogue)


def _torn_out(room: RoomGeometry, house: House) -> Iterator[str]:
    """What comes off the walls of a room, for whoever has to carry and haul it."""
    gone = list(torn_out(room, house.room(room.room)))
    if not gone:
        return
    pounds = sum((off.pounds for off in gone), Fraction(0))
    cubic_feet = sum((off.cubic_feet for off in gone), Fraction(0))
    weight = display(Amount(Fraction(round(pounds)), "lb"), house.units)
    volume = display(Amount(cubic_feet, "cu ft"), house.units)
    trips = -(-pounds // figures.number("TO-trip"))
    bags = sum(off.bags for off in gone)
    unknown = [off.name for off in gone if off.lining is None]
    guess = (
        f" It counts as board in {'; '.join(unknown)}: say where it is plaster, which weighs "
        "several times as much."
        if unknown
        else ""
    )
    yield (
        f"{room.name}: about {weight} of old lining comes off, {volume} as rubble (a dumpster "
        f"holds 270 cu ft in each 10 yards): contractor bags {bags}, or pickup trips {trips} with "
        f"no more than its payload.{guess}"
    )


def _warnings(
    house: House,
    rooms: Sequence[RoomGeometry],
    partitions: Sequence[PartitionShape],
    frames: Sequence[PartitionFrame],
    sheets: Sequence[Sheet],
) -> Iterator[str]:
    """What a person should know of rooms, partitions and sheets before buying; what plans note
    stands with the plans."""
    for room in rooms:
        for note in room.notes:
            yield note.text if note.text.startswith(room.name) else f"{room.name}: {note.text}"
    for room in rooms:
        yield from as_found.warnings(room, house.room(room.room), house.units)
    for room in rooms:
        yield from control_joint_notes(room, house.units)
        yield from load_notes(room, house)
    yield from stack_notes(house, sheets)
    for room in rooms:
        patched = [
            surface.name
            for surface in room.surfaces
            if surface.action is Action.PATCH and not surface.patches
        ]
        if patched:
            yield (
                f"{'; '.join(patched)}: what the patches take is not counted until you give their "
                "sizes"
            )
    for room in rooms:
        yield from _torn_out(room, house)
        if not house.rules.texture_coverage and any(
            surface.water_texture and surface.action.gets_board for surface in room.surfaces
        ):
            yield (
                f"{room.name}: its ceiling texture is not counted. Read off a bag how far it goes, "
                "and enter that in the rules (texture_coverage in the house file)"
            )
    for frame_of in frames:
        for text in frame_of.notes:
            yield f"{frame_of.name}: {text}"
    framed = {shape.partition: shape.framed for shape in partitions}
    for partition in house.partitions:
        if partition.bearing and partition.framed is FramedWhen.AFTER:
            yield (
                f"{partition.name} carries load, so it is worked out as framed before board, "
                "whatever was chosen"
            )
        if framed[partition.id] is FramedWhen.AFTER and not partition.blocking_recorded:
            yield (
                f"{partition.name} stands on finished faces, and no blocking is recorded where it "
                "meets them. Put blocking "
                "in before those faces are closed, then set blocking_recorded in the house file."
            )
