"""Pools of a house, plans given in place of first plans, and the search for better ones."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from remodel.bridge.views import RoomView
from takeoff import codec
from takeoff.boards.check import check_plan
from takeoff.boards.house_plan import pools_of
from takeoff.boards.numbers import numbered_apart
from takeoff.boards.plan import AsBuilt, BoardPlan, Bound, BoundBasis
from takeoff.boards.problem import Pool
from takeoff.framing.members import FramedSurface, frame
from takeoff.geometry.rooms import room_shapes
from takeoff.house import House
from takeoff.job import Takeoff
from takeoff.needs.crosschecks import CrossCheckInputs, cross_checks
from takeoff.needs.phases import beside_plans, needs_of
from takeoff.quantities import Cents
from takeoff.rules import Rules
from takeoff.seams import seams_of

__all__ = [
    "PLAN_SCHEMA",
    "BoardPlan",
    "BoundBasis",
    "PoolKey",
    "SearchStep",
    "at_prices_of",
    "better_plans",
    "digest_of_pool",
    "numbered_beside",
    "plan_from",
    "seam_length_of",
    "with_plans",
]

PLAN_SCHEMA = 1
PoolKey = tuple[str, int]
# The rules that say what a plan costs, and nothing of the shape it lies on.
_AIM = (
    "hour",
    "minutes",
    "seam_price",
    "backer_price",
    "shim_price",
    "preferred_stagger_price",
)


def digest_of_pool(
    house: House, board: str, thickness: int, framed: Sequence[FramedSurface]
) -> str:
    """A digest of all that a pool's plan is made from: surfaces and members, rules, owned sheets,
    sheets on sale."""
    sheets = house.catalogue.sheets if house.rules.sheets is None else house.rules.sheets
    return codec.digest(
        _shape_of_pool(house, board, thickness, framed),
        [sheet for sheet in sheets if (sheet.board, sheet.thickness) == (board, thickness)],
        [getattr(house.rules, name) for name in _AIM],
        [
            sheet
            for sheet in house.rules.owned
            if (sheet.board, sheet.thickness) == (board, thickness)
        ],
    )


def _shape_of_pool(
    house: House, board: str, thickness: int, framed: Sequence[FramedSurface]
) -> str:
    """A digest of the shape a pool's plan lies on. Prices, stock, the names of things and what is
    written on boards do not change it."""
    shapes = [
        _unmarked(
            replace(
                framed_surface,
                surface=replace(
                    framed_surface.surface,
                    name="",
                    openings=tuple(
                        replace(opening, name="") for opening in framed_surface.surface.openings
                    ),
                    cutouts=tuple(
                        replace(cutout, name="") for cutout in framed_surface.surface.cutouts
                    ),
                    hidden=tuple(replace(item, name="") for item in framed_surface.surface.hidden),
                ),
            )
        )
        for framed_surface in framed
        if framed_surface.surface.board_area
        and (framed_surface.surface.board.kind, framed_surface.surface.board.thickness)
        == (board, thickness)
    ]
    rules = replace(
        house.rules, owned=(), sheets=None, **{name: getattr(Rules(), name) for name in _AIM}
    )
    return codec.digest(board, thickness, shapes, rules, house.catalogue.board(board))


def _unmarked(framed_surface: FramedSurface) -> Any:
    """What is stored of a surface, without what its boards are marked with, its color, and what it
    may carry."""
    stored = codec.write(framed_surface)
    for name in ("code", "letter", "paint", "most_load"):
        del stored["surface"][name]
    return stored


def plan_from(data: Any) -> BoardPlan:
    """A stored plan as a value."""
    plan: BoardPlan = codec.read(BoardPlan, data)
    return plan


def at_prices_of(house: House, plan: BoardPlan) -> BoardPlan:
    """A plan with the sheets that it buys at the prices of `house`, where they are on sale there;
    itself where they cost what it says. What no plan can cost less than is not known at other
    prices, so nothing is claimed then."""
    on_sale = house.catalogue.sheets if house.rules.sheets is None else house.rules.sheets
    prices = {
        (one.board, one.thickness, one.width, one.length): one.price for one in reversed(on_sale)
    }
    sheets = tuple(
        replace(
            sheet,
            price=prices.get(
                (sheet.board, sheet.thickness, sheet.width, sheet.length), sheet.price
            ),
        )
        if sheet.source is None
        else sheet
        for sheet in plan.sheets
    )
    if sheets == plan.sheets:
        return plan
    return replace(
        plan,
        sheets=sheets,
        sheet_cost=Cents(sum(sheet.price for sheet in sheets)),
        bound=Bound(value=Fraction(0), basis=BoundBasis.AREA),
    )


def numbered_beside(
    plan: BoardPlan, others: Sequence[BoardPlan], views: Sequence[RoomView]
) -> BoardPlan:
    """The plan with no sheet of the mark of a sheet of the `others`, as it stands beside them in
    the rooms of these views."""
    codes = {view.key: surface.framed.surface.code for view in views for surface in view.surfaces}
    if not all(codes.values()):
        # What an older version worked out tells no codes, and will be worked out anew.
        return plan
    (*_, numbered) = numbered_apart([*others, plan], codes, first=range(len(others)))
    return numbered


def seam_length_of(plan: BoardPlan) -> int:
    """The butt seams of a plan, end to end, in nanometres."""
    return sum(joint.length for surface in plan.surfaces for joint in surface.joints)


def with_plans(takeoff: Takeoff, plans: Mapping[PoolKey, BoardPlan]) -> Takeoff:
    """The takeoff with other plans for some pools. All that follows from the plans is worked out
    again, except the supply list.

    The plans that are given keep the marks of their sheets, which people may have on paper; the
    sheets of the others are numbered around them."""
    keys = [(plan.surfaces[0].board, int(plan.surfaces[0].thickness)) for plan in takeoff.plans]
    house = takeoff.house
    laid = numbered_apart(
        [plans.get(key, plan) for key, plan in zip(keys, takeoff.plans, strict=True)],
        {room.room: room.code for room in takeoff.rooms},
        first={at for at, key in enumerate(keys) if key in plans},
    )
    surfaces = [surface for plan in laid for surface in plan.surfaces]
    sheets = [sheet for plan in laid for sheet in plan.sheets]
    seams = [
        seam
        for room in takeoff.rooms
        for seam in seams_of(room, takeoff.framed, surfaces, house.catalogue)
    ]
    needs = needs_of(
        house,
        takeoff.rooms,
        takeoff.framed,
        takeoff.partition_frames,
        surfaces,
        sheets,
        takeoff.unsupported_edges,
        seams,
        beside_plans(house, takeoff.rooms, takeoff.framed, takeoff.partitions, surfaces),
    )
    checks = cross_checks(
        CrossCheckInputs(
            needs=needs,
            rooms=takeoff.rooms,
            framed=takeoff.framed,
            plans=surfaces,
            seams=seams,
            rules=house.rules,
            catalogue=house.catalogue,
        )
    )
    return replace(takeoff, plans=laid, seams=tuple(seams), needs=needs, cross_checks=checks)


@dataclass(frozen=True, slots=True)
class SearchStep:
    """Where a search stands: the best plan so far, which carries the best bound, and whether the
    search is over."""

    plan: BoardPlan
    finished: bool


def better_plans(
    house: House, board: str, thickness: int, start: BoardPlan, taken: Collection[str] = ()
) -> Iterator[SearchStep]:
    """Better and better plans of one pool, each passed by the independent checker.

    A step may be `start` again, where only its bound rose. Nothing comes where no solver is
    installed; then the first plan stands. `taken` are marks that no sheet is given, for sheets of
    the house's other plans have them.
    """
    try:
        from takeoff.solve.best import improve  # type: ignore[import-not-found,unused-ignore]
    except ImportError:
        return
    pool, framed = _pool(house, board, thickness, taken)
    best = start
    for progress in improve(pool, start=start):
        plan: BoardPlan = progress.plan
        better = plan.total < best.total or (
            plan.total == best.total and plan.bound.value > best.bound.value
        )
        # A plan to begin with may carry marks of another time, which stay on its boards.
        broken = check_plan(plan, framed, house.rules, house.catalogue) if better else ()
        if better and all(breach.rule == "marks" for breach in broken):
            best = plan
        yield SearchStep(plan=best, finished=progress.finished)


def _pool(
    house: House, board: str, thickness: int, taken: Collection[str]
) -> tuple[Pool, list[FramedSurface]]:
    """One pool of a pile's rooms, which gives no sheet a mark that is `taken`, and the framed
    surfaces of the rooms."""
    rooms, _ = room_shapes(house)
    members = {
        surface.id: frame(surface, house.rules) for room in rooms for surface in room.surfaces
    }
    # what cannot be boarded was told of where the first plan was made
    pools, _ = pools_of(house, rooms, members, built=AsBuilt(taken=tuple(taken)))
    pool = next(pool for pool in pools if (pool.board, pool.thickness) == (board, thickness))
    return pool, list(members.values())
