"""A house worked out pile by pile, so that an edit costs one pile.

A pile is the rooms that are bought together and share offcuts: a room with the rooms behind its
partitions at least (see `takeoff.piles`). Each pile has its own pools. Owned sheets go to the piles
in the order of their head rooms: each takes from what the piles before it did not use.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import lru_cache
from hashlib import sha256
from itertools import chain
from pathlib import Path
from typing import Any

import takeoff
from remodel.bridge.placed import NOTHING_DONE, Done, shapes_of
from remodel.bridge.plans import PoolKey, digest_of_pool, with_plans
from remodel.bridge.supply import size_of_sheet
from remodel.bridge.views import (
    Amiss,
    NeedLine,
    PileResult,
    PlanSummary,
    PoolState,
    RefusedSurface,
    RoomSummary,
    RoomView,
    SheetAmiss,
    SurfaceView,
)
from takeoff import codec
from takeoff.boards.plan import AsBuilt, BoardPlan
from takeoff.boards.renewal import Fallen, renew
from takeoff.catalogue import Catalogue, OwnedSheet
from takeoff.framing.members import FramedSurface, frame
from takeoff.geometry.rooms import house_geometry
from takeoff.geometry.surface import Placed
from takeoff.hours import first_layer_hours
from takeoff.house import House, Room
from takeoff.job import Takeoff, take_off
from takeoff.marks import with_marks
from takeoff.needs.need import Need
from takeoff.piles import connected_rooms, piles
from takeoff.plan_figures import PlanFigures, figures_of_rooms
from takeoff.unit_prices import UnitPrices

__all__ = [
    "GivenPlan",
    "Pile",
    "Renewed",
    "WorkedOut",
    "check_shape",
    "engine_version",
    "joined",
    "left_after",
    "only_taken",
    "piles_in",
    "result_of",
    "shapes_in",
    "shapes_now",
    "with_whole_sheets",
    "work_out_pile",
]


@dataclass(frozen=True, slots=True)
class Pile:
    """The part of a house that is worked out together.

    It has the key of its head room, the house value cut down to the pile, and a digest of what
    all piles share (the engine's version, units, what is on sale).
    """

    head: str
    house: House
    shared: str

    @property
    def rooms(self) -> tuple[str, ...]:
        return tuple(room.id for room in self.house.rooms)

    @property
    def heads(self) -> tuple[str, ...]:
        """The keys of the head rooms in this pile: one for each of the piles that are bought
        together here."""
        return tuple(some[0] for some in connected_rooms(self.house))

    def digest(self) -> str:
        """A digest of all that the pile's result is worked out from, the engine's own version
        included."""
        return codec.digest(self.shared, self.house.rooms, self.house.partitions, self.house.rules)


@dataclass(frozen=True, slots=True)
class GivenPlan:
    """A plan that is used in place of the first one: an accepted one as long as it can be hung, a
    better one as long as nothing it was made from changed. `name` tells it from all others. The
    surfaces in `anew` are to be planned anew."""

    plan: BoardPlan
    digest: str
    accepted: bool
    name: str
    shapes: Mapping[str, Any] = field(default_factory=dict)
    anew: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Renewed:
    """What became of the accepted plans of a pile: `plans` stand in the place of those that fell,
    by their pools. `fallen` says of each surface why it could not stay, `struck` names the pieces
    that are no more, `dissolved` the sheets, `spare` the cut pieces that are offcuts now, and
    `waste` those that are good for nothing."""

    plans: Mapping[PoolKey, BoardPlan]
    fallen: tuple[Fallen, ...]
    struck: tuple[str, ...]
    dissolved: tuple[str, ...]
    spare: tuple[OwnedSheet, ...]
    waste: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkedOut:
    """The result of a pile. `renewed` is None where every accepted plan stands. `shapes` are the
    surfaces each plan was made for, as they are stored with it. `leaning` are the ids of surfaces
    whose plan stands only as long as the boards hang that do."""

    result: PileResult
    renewed: Renewed | None
    shapes: Mapping[PoolKey, dict[str, Any]]
    leaning: tuple[str, ...] = ()


@lru_cache(maxsize=1)
def engine_version() -> str:
    """A text that changes whenever the engine or the shape of its results changes. Results of
    another version are worked out again."""
    root = Path(takeoff.__file__).parent
    digest = sha256()
    here = Path(__file__).parent
    for path in sorted([*root.rglob("*.py"), *root.rglob("*.toml"), *here.glob("*.py")]):
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def piles_in(house: House) -> list[Pile]:
    """The piles of a house in the order of their head rooms. Each comes with every owned sheet
    (see `left_after`)."""
    house = with_marks(house)
    shared = shared_digest(house)
    return [joined(house, some[:1], shared=shared) for some in _bought(house)]


def _bought(house: House) -> list[tuple[str, ...]]:
    """Groups of the rooms that are worked out together, each with its head room first."""
    if not any(room.pile for room in house.rooms):
        return list(connected_rooms(house))
    return [tuple(chain.from_iterable(pile)) for pile in piles(house)]


def shared_digest(house: House) -> str:
    """A digest of what every pile of a house is worked out from."""
    sale = house.catalogue
    return codec.digest(
        engine_version(), house.units.value, sale.boards, sale.sheets, sale.materials
    )


def joined(house: House, rooms: Collection[str], *, shared: str = "") -> Pile:
    """Some rooms of a house as one pile, together with the rooms that share a partition or a pile
    with them. Their codes are those they have in the whole house."""
    house = with_marks(house)
    groups = [some for some in _bought(house) if not set(some).isdisjoint(rooms)]
    wanted = set(chain.from_iterable(groups))
    return Pile(
        head=groups[0][0],
        house=replace(
            house,
            rooms=tuple(_counted(room) for room in house.rooms if room.id in wanted),
            partitions=tuple(
                partition for partition in house.partitions if partition.room in wanted
            ),
            stock=(),
            note="",
        ),
        shared=shared or shared_digest(house),
    )


def _counted(room: Room) -> Room:
    """The room with only those of its own phases that take something: a phase alone changes no
    figure."""
    used = {need.phase for need in room.added}
    return replace(room, phases=tuple(phase for phase in room.phases if phase.id in used))


def left_after(pile: Pile, used: Mapping[str, int]) -> Pile:
    """The pile with the owned sheets that remain after others took theirs, counted in `used`."""
    owned = tuple(
        replace(sheet, count=sheet.count - used.get(sheet.id, 0))
        for sheet in pile.house.rules.owned
        if sheet.count > used.get(sheet.id, 0)
    )
    return with_owned(pile, owned)


def with_whole_sheets(pile: Pile, counts: Mapping[str, int]) -> Pile:
    """The pile with so many whole sheets of each item among what it owns."""
    whole = whole_sheets(counts)
    return with_owned(pile, (*pile.house.rules.owned, *whole)) if whole else pile


def whole_sheets(counts: Mapping[str, int]) -> list[OwnedSheet]:
    """Whole sheets of a store's size as owned sheets, whose ids are their items."""
    sheets = []
    for item, count in sorted(counts.items()):
        size = size_of_sheet(item)
        if count > 0 and size is not None:
            board, thickness, width, length = size
            sheets.append(
                OwnedSheet(
                    id=item,
                    board=board,
                    thickness=thickness,
                    width=width,
                    length=length,
                    count=min(count, 1000),
                )
            )
    return sheets


def only_taken(pile: Pile, plans: Iterable[BoardPlan]) -> Pile:
    """The pile with only those owned sheets that its plans take: all that a plan that stands rests
    on. An offcut that is gone is missed; a whole sheet that others took is bought in its place, so
    one that is on sale is not told of, whether it is here or not."""
    taken = Counter(sheet.source for plan in plans for sheet in plan.sheets)
    on_sale = UnitPrices(pile.house)
    return with_owned(
        pile,
        [
            replace(
                sheet,
                count=1 if size_of_sheet(sheet.id) else min(sheet.count, taken[sheet.id]),
            )
            for sheet in pile.house.rules.owned
            if sheet.id in taken and not on_sale.has_sheet(sheet.id)
        ],
    )


def with_owned(pile: Pile, owned: Sequence[OwnedSheet]) -> Pile:
    rules = replace(pile.house.rules, owned=tuple(owned))
    return replace(pile, house=replace(pile.house, rules=rules))


def check_shape(pile: Pile) -> tuple[Placed, ...]:
    """What stands on the pile's surfaces, surface by surface. Raises `BadValue` where a room
    cannot be built: it does not close, an opening lies outside its wall, or a single member lies
    off its surface."""
    geometry = house_geometry(pile.house)
    for room in geometry.rooms:
        for surface in room.surfaces:
            frame(surface, pile.house.rules)
    return geometry.placed


def shapes_now(pile: Pile, plan: BoardPlan) -> dict[str, Any]:
    """The surfaces of a plan as they are measured now, as they are stored with it."""
    return shapes_of(plan, framed_surfaces(pile))


def framed_surfaces(pile: Pile) -> list[FramedSurface]:
    geometry = house_geometry(pile.house)
    return [
        frame(surface, pile.house.rules) for room in geometry.rooms for surface in room.surfaces
    ]


def work_out_pile(
    pile: Pile,
    given: Mapping[PoolKey, GivenPlan] | None = None,
    warm_start: Sequence[BoardPlan] = (),
    *,
    done: Done = NOTHING_DONE,
    without_pooling: bool = False,
) -> WorkedOut:
    """Work out a whole pile around what is `done`. Of the `given` plans the accepted ones stand
    as long as they can be hung, and better ones are used where nothing changed.

    Rooms bought together cost no more than the plans in `warm_start`, which they had when bought
    apart. With `without_pooling` their shared plan is left for later. Raises `BadValue` where a
    room cannot be built.
    """
    given = given or {}
    accepted = {key: plan.plan for key, plan in given.items() if plan.accepted}
    if not accepted and not done.boards and not done.sheets:
        takeoff_ = take_off(
            pile.house,
            warm_start=warm_start,
            without_pooling=without_pooling,
            built=AsBuilt(taken=tuple(sorted(done.taken))),
        )
        return _worked_out(pile, takeoff_, given, None)
    house = _with_planned_sheets(pile, accepted.values(), done).house
    anew = {surface for plan in given.values() if plan.accepted for surface in plan.anew}
    renewal = renew(house, tuple(accepted.values()), done, anew=anew, warm_start=warm_start)
    # A plan that only costs something else now is the same plan.
    kept = {key: (plan.surfaces, plan.sheets) for key, plan in accepted.items()}
    now = {_key(plan): plan for plan in renewal.takeoff.plans}
    changed = {
        key: plan for key, plan in now.items() if kept.get(key) != (plan.surfaces, plan.sheets)
    }
    if not renewal.fallen and not kept.keys() & changed.keys() and kept.keys() <= now.keys():
        return _worked_out(pile, renewal.takeoff, given, None, renewal.leaning)
    renewed = Renewed(
        plans=changed,
        fallen=renewal.fallen,
        struck=renewal.struck,
        dissolved=renewal.dissolved,
        spare=renewal.spare,
        waste=renewal.waste,
    )
    return _worked_out(pile, renewal.takeoff, given, renewed, renewal.leaning)


def _with_planned_sheets(pile: Pile, plans: Iterable[BoardPlan], done: Done) -> Pile:
    """The pile with the whole sheets that its plans were made for: where others took them since,
    such a sheet is bought, and the plan stands all the same."""
    begun = {sheet.code for sheet in done.sheets}
    on_sale = UnitPrices(pile.house)
    planned = Counter(
        sheet.source
        for plan in plans
        for sheet in plan.sheets
        if sheet.code not in begun and sheet.source is not None and on_sale.has_sheet(sheet.source)
    )
    here = {sheet.id: sheet.count for sheet in pile.house.rules.owned}
    lacking = {item: count for item, count in planned.items() if count > here.get(item, 0)}
    others = [sheet for sheet in pile.house.rules.owned if sheet.id not in lacking]
    return with_owned(pile, (*others, *whole_sheets(lacking))) if lacking else pile


def _worked_out(
    pile: Pile,
    takeoff_: Takeoff,
    given: Mapping[PoolKey, GivenPlan],
    renewed: Renewed | None,
    leaning: tuple[str, ...] = (),
) -> WorkedOut:
    return WorkedOut(
        result=result_of(takeoff_, pile.head, given),
        renewed=renewed,
        leaning=leaning,
        shapes={_key(plan): shapes_of(plan, takeoff_.framed) for plan in takeoff_.plans},
    )


def shapes_in(result: PileResult, plan: BoardPlan) -> dict[str, Any]:
    """The surfaces of a plan as a result has them, as they are stored with it."""
    framed = [surface.framed for view in result.views for surface in view.surfaces]
    return shapes_of(plan, framed)


def result_of(done: Takeoff, head: str, given: Mapping[PoolKey, GivenPlan]) -> PileResult:
    """A takeoff as the values that pages are given. Better plans that are `given` take the place of
    first ones where nothing they were made from changed."""
    digests: dict[PoolKey, str] = {}
    use: dict[PoolKey, BoardPlan] = {}
    sources: dict[PoolKey, str] = {}
    for plan in done.plans:
        key = _key(plan)
        digests[key] = digest_of_pool(done.house, *key, done.framed)
        offer = given.get(key)
        if offer is not None and offer.accepted:
            sources[key] = "accepted"
        elif offer is not None and offer.digest == digests[key]:
            use[key] = offer.plan
            sources[key] = "better"
        else:
            sources[key] = "first"
    if use:
        done = with_plans(done, use)
    plans = []
    for plan in done.plans:
        key = _key(plan)
        plans.append(_plan_summary(plan, done.house.catalogue, digests[key], sources[key]))
    prices = UnitPrices(done.house)
    figures = figures_of_rooms(done)
    under = first_layer_hours(done)
    views = tuple(
        _room_view(done, index, head, plans, prices, figures.get(room.room))
        for index, room in enumerate(done.rooms)
    )
    views = tuple(
        replace(view, hanging_hours=view.hanging_hours + under.get(view.key, 0)) for view in views
    )
    owned = {sheet.id for sheet in done.house.rules.owned}
    used = Counter(sheet.source for sheet in done.sheets if sheet.source in owned)
    return PileResult(
        views=views,
        summaries=tuple(_summary(view) for view in views),
        pools=tuple(
            PoolState(
                board=key[0],
                thickness=key[1],
                digest=digests[key],
                total=plan.total,
                bound=plan.bound.value,
                basis=plan.bound.basis.value,
                source=sources[key],
                plan=plan,
            )
            for plan in done.plans
            for key in [_key(plan)]
        ),
        used=tuple(sorted((str(name), count) for name, count in used.items())),
    )


def _key(plan: BoardPlan) -> PoolKey:
    return plan.surfaces[0].board, int(plan.surfaces[0].thickness)


def _plan_summary(plan: BoardPlan, catalogue: Catalogue, digest: str, source: str) -> PlanSummary:
    board, thickness = _key(plan)
    joints = [joint for surface in plan.surfaces for joint in surface.joints]
    return PlanSummary(
        board=board,
        board_name=catalogue.board(board).name,
        thickness=thickness,
        value=plan.total,
        work=plan.work_cost,
        bound=plan.bound.value,
        basis=plan.bound.basis.value,
        sheets_bought=sum(sheet.source is None for sheet in plan.sheets),
        sheets_owned=sum(sheet.source is not None for sheet in plan.sheets),
        sheet_cost=plan.sheet_cost,
        joints=len(joints),
        seam_length=sum(joint.length for joint in joints),
        source=source,
        digest=digest,
    )


def _room_view(
    done: Takeoff,
    index: int,
    head: str,
    plans: Sequence[PlanSummary],
    prices: UnitPrices,
    figures: PlanFigures | None,
) -> RoomView:
    room = done.rooms[index]
    laid = {surface.surface: surface for surface in done.surface_plans}
    framed = {framed_surface.surface.id: framed_surface for framed_surface in done.framed}
    refused = {
        refusal.surface: RefusedSurface(rule=refusal.rule, message=refusal.message)
        for refusal in done.refused
    }
    surfaces = []
    for surface in room.surfaces:
        plan = laid.get(surface.id)
        surfaces.append(
            SurfaceView(
                framed=framed[surface.id],
                rows_run=plan.rows_run if plan else None,
                along_framing=bool(plan and plan.along_framing),
                rows=plan.rows if plan else (),
                joints=plan.joints if plan else (),
                pieces=plan.pieces if plan else (),
                notes=plan.notes if plan else (),
                refused=refused.get(surface.id),
            )
        )
    own = {surface.id for surface in room.surfaces}
    mine = {sheet.code for sheet in done.sheets if sheet.room == room.room}
    alone = len(done.rooms) == 1
    return RoomView(
        key=room.room,
        name=room.name,
        head=head,
        plan=room.plan,
        closing_error=room.closing_error,
        floor_area=room.floor_area,
        surfaces=tuple(surfaces),
        corners=room.corners,
        partitions=tuple(partition for partition in done.partitions if partition.room == room.room),
        partition_frames=tuple(
            partition_frame
            for partition_frame in done.partition_frames
            if partition_frame.room == room.room
        ),
        plans=tuple(plans),
        sheets=tuple(sheet for sheet in done.sheets if sheet.room == room.room),
        seams=tuple(seam for seam in done.seams if seam.room == room.room),
        loose_edges=tuple(edge for edge in done.unsupported_edges if edge.surface in own),
        needs=tuple(_need_line(need, prices) for need in done.needs if need.room == room.room),
        cross_checks=done.cross_checks if room.room == head or alone else (),
        warnings=done.warnings if room.room == head or alone else (),
        amiss=tuple(
            Amiss(surface=breach.where, rule=breach.rule, message=breach.message)
            for breach in done.amiss
            if breach.where in own
        ),
        amiss_sheets=tuple(
            SheetAmiss(sheet=breach.where, rule=breach.rule, message=breach.message)
            for breach in done.amiss
            if breach.where in mine
        ),
        hanging_hours=figures.hanging if figures else Fraction(0),
        finishing_hours=figures.finishing if figures else Fraction(0),
        figures=figures,
    )


def _summary(view: RoomView) -> RoomSummary:
    costs: dict[str, Fraction] = {}
    for line in view.needs:
        costs[line.phase] = costs.get(line.phase, Fraction(0)) + (line.cost or 0)
    joints = [joint for surface in view.surfaces for joint in surface.joints]
    return RoomSummary(
        key=view.key,
        name=view.name,
        head=view.head,
        corners=view.plan,
        floor_area=view.floor_area,
        surfaces=len(view.surfaces),
        refused=sum(surface.refused is not None for surface in view.surfaces),
        provisional=any(surface.framed.provisional and surface.pieces for surface in view.surfaces),
        joints=len(joints),
        seam_length=sum(joint.length for joint in joints),
        sheets=sum(sheet.is_whole for sheet in view.sheets),
        plans=view.plans if view.key == view.head else (),
        costs=tuple(costs.items()),
        amounts=tuple((line.phase, line.item, line.amount) for line in view.needs),
        warnings=len(view.warnings),
    )


def _need_line(need: Need, prices: UnitPrices) -> NeedLine:
    name, cost = prices.of(need)
    return NeedLine(need=need, name=name, cost=cost)
