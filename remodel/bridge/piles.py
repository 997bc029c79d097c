"""A house worked out pile by pile, so that an edit costs one pile.

A pile is the rooms that are bought together and share offcuts: a room with the rooms behind its
partitions at least (see `takeoff.piles`). Each pile has its own pools. Owned sheets go to the piles
in the order of their head rooms: each takes from what the piles before it did not use.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from hashlib import sha256
from itertools import chain
from pathlib import Path

import takeoff
from remodel.bridge.plans import PoolKey, digest_of_pool, fit_of_pool, with_plans
from remodel.bridge.views import (
    NeedLine,
    PileResult,
    PlanSummary,
    PoolState,
    RefusedSurface,
    RoomSummary,
    RoomView,
    SurfaceView,
)
from takeoff import codec
from takeoff.boards.plan import BoardPlan
from takeoff.catalogue import Catalogue, Pack, SheetOnSale
from takeoff.framing.members import frame
from takeoff.geometry.rooms import house_geometry
from takeoff.geometry.surface import Placed
from takeoff.house import House
from takeoff.job import Takeoff, take_off
from takeoff.marks import with_marks
from takeoff.needs.materials import material_name, sheet_id, sheet_name
from takeoff.needs.need import Need
from takeoff.piles import connected_rooms, piles
from takeoff.quantities import Cents, convert, same_kind

__all__ = [
    "GivenPlan",
    "Pile",
    "check_shape",
    "engine_version",
    "joined",
    "left_after",
    "piles_in",
    "result_of",
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
    """A plan that is used in place of the first one, as long as it still fits."""

    plan: BoardPlan
    fits: str
    digest: str
    accepted: bool


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
            rooms=tuple(room for room in house.rooms if room.id in wanted),
            partitions=tuple(
                partition for partition in house.partitions if partition.room in wanted
            ),
            stock=(),
            note="",
        ),
        shared=shared or shared_digest(house),
    )


def left_after(pile: Pile, used: Mapping[str, int]) -> Pile:
    """The pile with the owned sheets that remain after the piles before it took theirs,
    counted in `used`."""
    owned = tuple(
        replace(sheet, count=sheet.count - used.get(sheet.id, 0))
        for sheet in pile.house.rules.owned
        if sheet.count > used.get(sheet.id, 0)
    )
    return replace(pile, house=replace(pile.house, rules=replace(pile.house.rules, owned=owned)))


def check_shape(pile: Pile) -> tuple[Placed, ...]:
    """What stands on the pile's surfaces, surface by surface. Raises `BadValue` where a room
    cannot be built: it does not close, an opening lies outside its wall, or a single member lies
    off its surface."""
    geometry = house_geometry(pile.house)
    for room in geometry.rooms:
        for surface in room.surfaces:
            frame(surface, pile.house.rules)
    return geometry.placed


def work_out_pile(
    pile: Pile,
    given: Mapping[PoolKey, GivenPlan] | None = None,
    warm_start: Sequence[BoardPlan] = (),
    *,
    without_pooling: bool = False,
) -> PileResult:
    """Work out a whole pile. The `given` plans are used where they fit.

    Rooms bought together cost no more than the plans in `warm_start`, which they had when bought
    apart. With `without_pooling` their shared plan is left for later. Raises `BadValue` where a
    room cannot be built.
    """
    return result_of(
        take_off(pile.house, warm_start=warm_start, without_pooling=without_pooling),
        pile.head,
        given or {},
    )


def result_of(done: Takeoff, head: str, given: Mapping[PoolKey, GivenPlan]) -> PileResult:
    """A takeoff as the values that pages are given."""
    states: dict[PoolKey, tuple[str, str]] = {}
    use: dict[PoolKey, BoardPlan] = {}
    sources: dict[PoolKey, tuple[str, bool]] = {}
    for plan in done.plans:
        key = (plan.surfaces[0].board, int(plan.surfaces[0].thickness))
        states[key] = (
            digest_of_pool(done.house, *key, done.framed),
            fit_of_pool(done.house, *key, done.framed),
        )
        offer = given.get(key)
        fits = offer is not None and offer.fits == states[key][1]
        if offer is not None and fits and (offer.accepted or offer.digest == states[key][0]):
            use[key] = offer.plan
            sources[key] = ("accepted" if offer.accepted else "better", False)
        else:
            sources[key] = ("first", bool(offer and offer.accepted))
    if use:
        done = with_plans(done, use)
    plans = []
    for plan in done.plans:
        key = _key(plan)
        plans.append(_plan_summary(plan, done.house.catalogue, states[key][0], *sources[key]))
    prices = _Prices(done.house)
    views = tuple(_room_view(done, index, head, plans, prices) for index in range(len(done.rooms)))
    owned = {sheet.id for sheet in done.house.rules.owned}
    used = Counter(sheet.source for sheet in done.sheets if sheet.source in owned)
    return PileResult(
        views=views,
        summaries=tuple(_summary(view) for view in views),
        pools=tuple(
            PoolState(
                board=key[0],
                thickness=key[1],
                digest=states[key][0],
                fits=states[key][1],
                total=plan.total,
                bound=plan.bound.value,
                basis=plan.bound.basis.value,
                source=sources[key][0],
                plan=plan,
            )
            for plan in done.plans
            for key in [_key(plan)]
        ),
        used=tuple(sorted((str(name), count) for name, count in used.items())),
    )


def _key(plan: BoardPlan) -> PoolKey:
    return plan.surfaces[0].board, int(plan.surfaces[0].thickness)


def _plan_summary(
    plan: BoardPlan, catalogue: Catalogue, digest: str, source: str, aside: bool
) -> PlanSummary:
    board, thickness = _key(plan)
    joints = [joint for surface in plan.surfaces for joint in surface.joints]
    return PlanSummary(
        board=board,
        board_name=catalogue.board(board).name,
        thickness=thickness,
        value=plan.total,
        bound=plan.bound.value,
        basis=plan.bound.basis.value,
        sheets_bought=sum(sheet.source is None for sheet in plan.sheets),
        sheets_owned=sum(sheet.source is not None for sheet in plan.sheets),
        sheet_cost=plan.sheet_cost,
        joints=len(joints),
        seam_length=sum(joint.length for joint in joints),
        source=source,
        digest=digest,
        aside=aside,
    )


def _room_view(
    done: Takeoff, index: int, head: str, plans: Sequence[PlanSummary], prices: _Prices
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
        needs=tuple(prices.line(need) for need in done.needs if need.room == room.room),
        cross_checks=done.cross_checks if room.room == head or alone else (),
        warnings=done.warnings if room.room == head or alone else (),
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
        sheets=sum(sheet.source is None for sheet in view.sheets),
        plans=view.plans if view.key == view.head else (),
        costs=tuple(costs.items()),
        amounts=tuple((line.phase, line.item, line.amount) for line in view.needs),
        warnings=len(view.warnings),
    )


class _Prices:
    """The names of what is on sale, and the cheapest price of a unit of each."""

    def __init__(self, house: House) -> None:
        self._packs: dict[str, tuple[str, tuple[Pack, ...]]] = {
            material.id: (material.name, material.packs) for material in house.catalogue.materials
        }
        sheets = house.catalogue.sheets if house.rules.sheets is None else house.rules.sheets
        self._sheets: dict[str, tuple[str, Cents]] = {
            sheet_id(sheet.board, sheet.thickness, sheet.width, sheet.length): (
                _name(sheet, house.catalogue),
                sheet.price,
            )
            for sheet in sheets
        }

    def line(self, need: Need) -> NeedLine:
        if need.material in self._sheets:
            name, price = self._sheets[need.material]
            return NeedLine(need=need, name=name, cost=need.amount.value * price)
        name, packs = self._packs.get(need.material, (material_name(need.material), ()))
        a_unit = [
            Fraction(pack.price) / convert(pack.holds, need.amount.unit).value
            for pack in packs
            if same_kind(pack.holds, need.amount)
        ]
        return NeedLine(
            need=need, name=name, cost=need.amount.value * min(a_unit) if a_unit else None
        )


def _name(sheet: SheetOnSale, catalogue: Catalogue) -> str:
    return sheet_name(catalogue.board(sheet.board).name, sheet.thickness, sheet.width, sheet.length)
