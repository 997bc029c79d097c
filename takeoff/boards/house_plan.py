"""The board plans of a whole house: one pool a pile, board kind and thickness, passed by the
independent checker."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from takeoff.boards.hung import rests_of
from takeoff.boards.numbers import numbered_apart
from takeoff.boards.plan import NOTHING_BUILT, AsBuilt, BoardPlan, PlacedBoard, SurfacePlan
from takeoff.boards.pooled import (
    PlanCache,
    Planned,
    Refusal,
    breaches_of,
    plan_pile,
    refusal_of,
    sheets_of,
    take_owned,
    with_owned,
)
from takeoff.boards.problem import Pool, SurfaceProblem, formulate
from takeoff.catalogue import Cutting
from takeoff.errors import CannotBoard
from takeoff.framing.members import FramedSurface
from takeoff.geometry.rooms import RoomGeometry
from takeoff.house import House
from takeoff.piles import piles, rooms_in
from takeoff.units import Nm

__all__ = ["Improve", "PlanCache", "Refusal", "plan_boards", "pools_of", "with_rests"]

# Plans of a pool, each at least as good as the one before: from a pool, the plan to begin with, and
# the pool's share of the work. A search is handed in, so that this package needs no solver.
Improve = Callable[[Pool, BoardPlan, Fraction], Iterator[BoardPlan]]


def plan_boards(
    house: House,
    rooms: Sequence[RoomGeometry],
    members: Mapping[str, FramedSurface],
    cache: PlanCache | None = None,
    improve: Improve | None = None,
    warm_start: Sequence[BoardPlan] = (),
    *,
    without_pooling: bool = False,
    built: AsBuilt = NOTHING_BUILT,
) -> tuple[tuple[BoardPlan, ...], tuple[Refusal, ...]]:
    """Plan every surface that gets board, and name each that no plan can be made for.

    A plan is given only after the checker, which shares no code with the planner, has found nothing
    wrong with it. `cache` holds what an earlier call for the same house worked out, and is added
    to. With `improve` better plans than the first ones are looked for; they are not kept in
    `cache`. `warm_start` are plans of connected rooms that are known already: a pile costs no more
    than they do. `without_pooling` leaves the plans of whole piles for later. What is `built` stays
    as it is, and is part of the plans.
    """
    cache = cache or PlanCache()
    house = with_rests(house, built)
    refused: list[Refusal] = []
    pools: list[Pool] = []
    first: list[Planned] = []
    unused = {owned.id: owned.count for owned in house.rules.owned}
    for pile in piles(house):
        together = rooms_in(pile)
        mine = [room for room in rooms if room.room in together]
        # Each pile takes from the owned sheets that the piles before it did not use.
        own_pools, no_layout = pools_of(
            house, mine, members, cache, unused=unused, after=pools, built=built
        )
        refused += no_layout
        for pool in own_pools:
            planned = plan_pile(
                pool, pile, house.catalogue, cache, warm_start, without_pooling=without_pooling
            )
            refused += planned[1]
            take_owned(unused, planned[0], pool.cut)
            first.append(planned)
        pools += own_pools

    surfaces = sum(len(pool.surfaces) for pool in pools)
    plans = []
    for pool, (plan, refusals) in zip(pools, first, strict=True):
        # A pool with a surface that is refused has no whole plan to begin a search with.
        if plan is not None and improve is not None and not refusals:
            plan = _better(pool, plan, house, improve, Fraction(len(pool.surfaces), surfaces))
        if plan is not None:
            plans.append(plan)
    numbered = numbered_apart(
        plans,
        {room.room: room.code for room in rooms},
        taken=_taken(built),
        cut={sheet.code for sheet in built.sheets},
    )
    return numbered, tuple(refused)


def with_rests(house: House, built: AsBuilt) -> House:
    """The house with what is left of the sheets already cut among the sheets it owns."""
    known = {owned.id for owned in house.rules.owned}
    rests = tuple(rest for rest in rests_of(built) if rest.id not in known)
    if not rests:
        return house
    return replace(house, rules=replace(house.rules, owned=house.rules.owned + rests))


def pools_of(
    house: House,
    rooms: Sequence[RoomGeometry],
    members: Mapping[str, FramedSurface],
    cache: PlanCache | None = None,
    *,
    unused: Mapping[str, int] | None = None,
    after: Sequence[Pool] = (),
    built: AsBuilt = NOTHING_BUILT,
) -> tuple[list[Pool], list[Refusal]]:
    """The pools of rooms bought together, in the order their board is first hung, surfaces in
    hanging order, rooms in theirs.

    Surfaces that no layout is allowed on are in no pool, but refused by name. `after` are the
    house's pools before these. `unused` is how many of each owned sheet they leave, all of them
    where it is None. What is `built` is taken out of the surfaces, and what is left of its sheets
    is owned.
    """
    house = with_rests(house, built)
    known = (cache or PlanCache()).problems
    refused: list[Refusal] = []
    standing = {plan.surface: plan for plan in built.standing}
    by_board: dict[tuple[str, Nm], list[SurfaceProblem]] = {}
    for room in rooms:
        for surface_id in room.hang_order:
            framed = members[surface_id]
            if not framed.surface.board_area:
                continue
            # A what-if changes few surfaces; the others' problems are known from the call before.
            boards = tuple(board for board in built.boards if board.surface == surface_id)
            key = (framed, boards, standing.get(surface_id), house.rules.owned)
            if key not in known:
                known[key] = _state(framed, house, boards, standing.get(surface_id))
            problem = known[key]
            if isinstance(problem, CannotBoard):
                refused.append(refusal_of(problem))
            else:
                board = framed.surface.board
                by_board.setdefault((board.kind, board.thickness), []).append(problem)

    pools = list(after)
    taken = _taken(built)
    for (kind, thickness), problems in by_board.items():
        counted = {sheet for pool in pools for sheet in pool.cut}
        cut = [
            sheet
            for sheet in built.sheets
            if (sheet.board, sheet.thickness) == (kind, thickness) and sheet not in counted
        ]
        pool = replace(
            _pool(house, kind, thickness, problems),
            cut=sheets_of(problems, cut),
            taken=frozenset(taken),
            standing=tuple(
                standing[problem.framed.surface.id]
                for problem in problems
                if problem.framed.surface.id in standing
            ),
        )
        pools.append(pool if unused is None else with_owned(pool, unused))
    return pools[len(after) :], refused


def _taken(built: AsBuilt) -> set[str]:
    """Every mark that is on a board or a sheet already, or was."""
    marks = {board.mark for board in built.boards} | {sheet.code for sheet in built.sheets}
    marks |= {piece.code for plan in built.standing for piece in plan.pieces}
    return marks.union(built.taken)


def _state(
    framed: FramedSurface,
    house: House,
    boards: Sequence[PlacedBoard],
    standing: SurfacePlan | None,
) -> SurfaceProblem | CannotBoard:
    try:
        return formulate(framed, house.rules, house.catalogue, boards, standing)
    except CannotBoard as error:
        return error


def _pool(house: House, board: str, thickness: Nm, problems: Sequence[SurfaceProblem]) -> Pool:
    sawn = house.catalogue.board(board).cutting is Cutting.SAW
    return Pool(
        board=board,
        thickness=thickness,
        kerf=house.rules.kerf if sawn else Nm(0),
        surfaces=tuple(problems),
        owned=tuple(
            sheet
            for sheet in house.rules.owned
            if sheet.board == board and sheet.thickness == thickness
        ),
        rules=house.rules,
    )


def _better(
    pool: Pool, plan: BoardPlan, house: House, improve: Improve, share: Fraction
) -> BoardPlan:
    """The last plan of a search that the checker passes, `plan` itself where it passes none."""
    for candidate in improve(pool, plan, share):
        if not breaches_of(candidate, pool, house.catalogue):
            plan = candidate
    return plan
