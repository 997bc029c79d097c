"""The first plan of a pool: as a whole, or its parts' own plans together where those are cheaper.

A pool of a pile is never dearer than its connected rooms (see `takeoff.piles`) bought apart.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

from takeoff.boards.check import Breach, check_plan
from takeoff.boards.first_plan import plan_pool
from takeoff.boards.plan import AsBuilt, BoardPlan, PlacedBoard, Sheet, SurfacePlan
from takeoff.boards.problem import Pool, SurfaceProblem
from takeoff.boards.together import merge_plans
from takeoff.catalogue import Catalogue, OwnedSheet
from takeoff.errors import CannotBoard
from takeoff.framing.members import FramedSurface
from takeoff.piles import Rooms

__all__ = [
    "PlanCache",
    "Planned",
    "Refusal",
    "breaches_of",
    "plan_pile",
    "refusal_of",
    "sheets_of",
    "take_owned",
    "with_owned",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """A surface that cannot be boarded under the rules: which rule stands in the way, where, and
    what to relax."""

    surface: str
    row: int | None
    rule: str
    message: str


# What a surface's problem is stated of, besides the house: its members, the boards that hang on it,
# its plan where that stands, and what is owned.
StatedOf = tuple[FramedSurface, tuple[PlacedBoard, ...], SurfacePlan | None, tuple[OwnedSheet, ...]]


@dataclass(frozen=True, slots=True)
class PlanCache:
    """What was already worked out of one house, so that a what-if works out only what it
    changes."""

    problems: dict[StatedOf, SurfaceProblem | CannotBoard] = field(default_factory=dict)
    plans: dict[Pool, tuple[BoardPlan | None, list[Refusal]]] = field(default_factory=dict)


Planned = tuple[BoardPlan | None, list[Refusal]]


def plan_pile(
    pool: Pool,
    pile: Sequence[Rooms],
    catalogue: Catalogue,
    cache: PlanCache,
    warm_start: Sequence[BoardPlan] = (),
    *,
    without_pooling: bool = False,
) -> Planned:
    """The first plan of a pool: one made for the whole of it, or the plans of its connected rooms,
    or of its single rooms, merged where they are cheaper. `warm_start` are plans of connected rooms
    to begin with. With `without_pooling` there is none of the whole, so that an edit of one room of
    a large pile costs that room alone."""
    if pool in cache.plans and not warm_start:
        return cache.plans[pool]
    rooms = tuple(dict.fromkeys(problem.framed.surface.room for problem in pool.surfaces))
    apart = [tuple(room for room in connected if room in rooms) for connected in pile]
    apart = [connected for connected in apart if connected]
    one_by_one: list[Rooms] = [(room,) for room in rooms]
    # The quick plan of a whole pool is not always cheaper than the plans of its parts together, so
    # both are made where they may differ, and the cheaper is taken.
    ways = [one_by_one] if apart == one_by_one else [apart, one_by_one]
    best: Planned = (None, [])
    # Where no offcut is kept, rooms share nothing but owned sheets, so their own plans are the
    # plan.
    if len(apart) == 1 or (pool.rules.keep_offcuts and not without_pooling):
        best = _planned(pool, catalogue)
    if len(apart) > 1:
        for parts in ways:
            plan = _of_parts(pool, parts, catalogue, cache, warm_start, than=best)
            best = best if plan is None else (plan, [])
    if best[0] is None and not best[1]:
        best = _planned(pool, catalogue)
    if not warm_start and not without_pooling:
        cache.plans[pool] = best
    return best


def _of_parts(
    pool: Pool,
    parts: Sequence[Rooms],
    catalogue: Catalogue,
    cache: PlanCache,
    warm_start: Sequence[BoardPlan],
    *,
    than: Planned,
) -> BoardPlan | None:
    """The plans of parts of a pool, taken together; None where one has none, or they are no better
    `than` what is known. Owned sheets go to the first parts."""
    unused = {owned.id: owned.count for owned in pool.owned}
    plans = []
    cut = pool.cut
    for rooms in parts:
        part = replace(
            pool,
            surfaces=tuple(
                surface for surface in pool.surfaces if surface.framed.surface.room in rooms
            ),
        )
        # A sheet that is cut counts in the first part that has a board of it.
        part = replace(part, cut=sheets_of(part.surfaces, cut))
        cut = tuple(sheet for sheet in cut if sheet not in part.cut)
        # Each part takes from the owned sheets what the parts before it did not use.
        plan = _of_part(with_owned(part, unused), catalogue, cache, warm_start)
        if plan is None:
            return None
        take_owned(unused, plan, part.cut)
        plans.append(plan)
    known, refusals = than
    # Merging is not worth its time where the parts' plans cost as much already.
    if known is not None and not refusals and sum(plan.total for plan in plans) >= known.total:
        return None
    plan = merge_plans(pool, plans)
    if plan is None or (known is not None and not refusals and plan.total >= known.total):
        # Together they may cost more than apart: the two faces of a partition may share studs.
        return None
    return None if breaches_of(plan, pool, catalogue) else plan


def _of_part(
    part: Pool, catalogue: Catalogue, cache: PlanCache, warm_start: Sequence[BoardPlan]
) -> BoardPlan | None:
    """The first plan of a part, or one to begin with that is cheaper; None where that leaves a
    surface out."""
    if part not in cache.plans:
        cache.plans[part] = _known(part, catalogue)
    plan, refusals = cache.plans[part]
    if plan is None or refusals:
        return None
    surfaces = {problem.framed.surface.id for problem in part.surfaces}
    for other in warm_start:
        same = {surface.surface for surface in other.surfaces} == surfaces
        if not same or other.total >= plan.total:
            continue
        # It may have been marked at another time; its marks are given anew with the pool's.
        if all(breach.rule == "marks" for breach in breaches_of(other, part, catalogue)):
            plan = other
    return plan


def sheets_of(surfaces: Sequence[SurfaceProblem], cut: Sequence[Sheet]) -> tuple[Sheet, ...]:
    """The sheets of `cut` that a board hung on one of the surfaces came from, or that are cut in
    one of their rooms: all that was cut of one may have been cut wrong."""
    hung = {board.mark for problem in surfaces for board in problem.placed}
    rooms = {problem.framed.surface.room for problem in surfaces}
    return tuple(
        sheet
        for sheet in cut
        if sheet.room in rooms
        or any(
            piece.piece in hung
            for piece in (*sheet.crosscuts, *(p for strip in sheet.strips for p in strip.pieces))
        )
    )


def with_owned(pool: Pool, unused: Mapping[str, int]) -> Pool:
    """The pool with so many of each owned sheet, those that are used up left out."""

    def kept(owned: Sequence[OwnedSheet]) -> tuple[OwnedSheet, ...]:
        return tuple(
            replace(sheet, count=unused[sheet.id]) for sheet in owned if unused.get(sheet.id, 0)
        )

    if all(unused.get(sheet.id, 0) == sheet.count for sheet in pool.owned):
        return pool
    surfaces = tuple(replace(problem, owned=kept(problem.owned)) for problem in pool.surfaces)
    return replace(pool, owned=kept(pool.owned), surfaces=surfaces)


def take_owned(unused: dict[str, int], plan: BoardPlan | None, cut: Sequence[Sheet] = ()) -> None:
    """Take the owned sheets of a plan off what is left, but for those that are `cut` already."""
    codes = {sheet.code for sheet in cut}
    sheets = plan.sheets if plan is not None else ()
    for source, count in Counter(
        sheet.source for sheet in sheets if sheet.code not in codes
    ).items():
        if source in unused:
            unused[source] -= count


@lru_cache(maxsize=128)
def _known(part: Pool, catalogue: Catalogue) -> Planned:
    """The first plan of a part, kept: of rooms bought together an edit changes one, and the others'
    plans stand."""
    return _planned(part, catalogue)


def _planned(pool: Pool, catalogue: Catalogue) -> Planned:
    """The first plan of a pool, without the surfaces that stop it, each refused by name."""
    refused: list[Refusal] = []
    while pool.surfaces:
        try:
            plan = plan_pool(pool)
        except CannotBoard as error:
            refused.append(refusal_of(error))
            others = tuple(
                problem for problem in pool.surfaces if problem.framed.surface.id != error.surface
            )
            # One surface that cannot be boarded must not keep the others of its pool from a plan.
            pool = replace(pool, surfaces=others)
            continue
        breaches = breaches_of(plan, pool, catalogue)
        if not breaches:
            return plan, refused
        first = breaches[0]
        # Where the rule is broken on one surface, the others have their plan without it.
        blamed = [one for one in pool.surfaces if one.framed.surface.id == first.where]
        refused += [
            Refusal(
                surface=problem.framed.surface.id,
                row=None,
                rule=first.rule,
                message=f"{problem.framed.surface.name}: the plan made with it broke a rule and is "
                "not shown. "
                f"{first.message}",
            )
            for problem in blamed or pool.surfaces
        ]
        if not blamed:
            return None, refused
        pool = replace(pool, surfaces=tuple(one for one in pool.surfaces if one not in blamed))
    return None, refused


def breaches_of(plan: BoardPlan, pool: Pool, catalogue: Catalogue) -> tuple[Breach, ...]:
    """What the checker finds wrong with a plan of a pool, in what is still open."""
    built = AsBuilt(
        boards=tuple(board for problem in pool.surfaces for board in problem.placed),
        sheets=pool.cut,
        standing=pool.standing,
    )
    framed = [problem.framed for problem in pool.surfaces]
    return check_plan(plan, framed, pool.rules, catalogue, owned=pool.owned, built=built)


def refusal_of(error: CannotBoard) -> Refusal:
    return Refusal(surface=error.surface, row=error.row, rule=error.rule, message=str(error))
