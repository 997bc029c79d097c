"""A room planned in another way than its rules have it, beside its plan. Nothing is stored."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from remodel.bridge.drawings import (
    SurfaceCompared,
    lies_of,
    shown_takeoff,
    takeoffs_compared,
)
from remodel.bridge.piles import Pile, with_owned
from remodel.bridge.views import PileResult, PlanFigures
from takeoff.boards.plan import BoardPlan, SurfacePlan
from takeoff.boards.ways import PlannedWay, Way, narrow_width, plan_way
from takeoff.geometry.rooms import RoomGeometry
from takeoff.job import Takeoff
from takeoff.plan_figures import figures_of
from takeoff.units import UnitSystem, tape_reading

__all__ = ["WAYS", "OtherWay", "narrow_text", "other_way", "shares_sheets"]

# The ways that are offered, in their order; by the rules as they are a room has its plan already.
WAYS = tuple(way.value for way in Way if way is not Way.RULES)


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherWay:
    """A room in another way. `why_not` says why it cannot be planned so, and is empty where it can.

    `base` is what it is compared with: the plan of the room, or where that shares its sheets with
    other rooms the plan that the room would have `alone`. `is_same` says that every board lies as
    in that. `stays` are surfaces that the way is not open to, with why, and `refused` what cannot
    be boarded in either. `surfaces` are those whose boards lie otherwise, drawn by both.
    """

    way: str
    alone: bool
    base: PlanFigures | None = None
    figures: PlanFigures | None = None
    is_same: bool = False
    stays: tuple[tuple[str, str], ...] = ()
    refused: tuple[str, ...] = ()
    why_not: str = ""
    surfaces: tuple[SurfaceCompared, ...] = ()


def narrow_text(units: str) -> str:
    """The width that board is sold in everywhere, as people say it."""
    system = UnitSystem(units)
    return tape_reading(narrow_width(system), system, feet=False)


def shares_sheets(result: PileResult) -> bool:
    """Whether the rooms of a result are cut from the same sheets."""
    return any(len({one.room for one in pool.plan.surfaces}) > 1 for pool in result.pools)


def other_way(pile: Pile, room: str, way: str, result: PileResult) -> OtherWay:
    """A room in a way, by itself. `pile` is its pile with what is at hand for it.

    Each way has the offcuts that the plan has which it is compared with, so that none is cheaper by
    what came to hand since.
    """
    alone = shares_sheets(result)
    if not alone:
        pile = _only_offcuts_of(pile, room, result)
    shown = shown_takeoff(pile.house, room, result)
    geometry = next(one for one in shown.rooms if one.room == room)
    view = next(one for one in result.views if one.key == room)
    now: Sequence[SurfacePlan] = [plan for plan in shown.surface_plans if plan.room == room]
    base = view.figures
    if alone:
        by_itself = _planned(shown, pile, geometry, Way.RULES, ())
        if by_itself.why_not:
            return OtherWay(way=way, alone=alone, why_not=by_itself.why_not)
        now, base = by_itself.surfaces, _figures(shown, pile, geometry, by_itself.plans)
        shown = replace(shown, plans=by_itself.plans)
    found = _planned(shown, pile, geometry, Way(way), now)
    if found.why_not:
        return OtherWay(way=way, alone=alone, base=base, why_not=found.why_not)
    before, after = lies_of(now), lies_of(found.surfaces)
    return OtherWay(
        way=way,
        alone=alone,
        base=base,
        figures=_figures(shown, pile, geometry, found.plans),
        is_same=before == after,
        stays=found.stays,
        refused=tuple(one.message for one in found.refused),
        surfaces=takeoffs_compared(shown, replace(shown, plans=found.plans), only=after),
    )


def _only_offcuts_of(pile: Pile, room: str, result: PileResult) -> Pile:
    """The pile with the offcuts alone that the plan of a room takes."""
    taken = Counter(
        sheet.source for pool in result.pools for sheet in pool.plan.sheets if sheet.room == room
    )
    owned = [
        replace(sheet, count=min(sheet.count, taken[sheet.id]))
        for sheet in pile.house.rules.owned
        if taken[sheet.id] and not sheet.whole
    ]
    return with_owned(pile, owned)


def _planned(
    shown: Takeoff, pile: Pile, room: RoomGeometry, way: Way, now: Sequence[SurfacePlan]
) -> PlannedWay:
    members = {framed.surface.id: framed for framed in shown.framed}
    return plan_way(pile.house, room, members, way, now)


def _figures(
    shown: Takeoff, pile: Pile, room: RoomGeometry, plans: Sequence[BoardPlan]
) -> PlanFigures:
    return figures_of(
        pile.house,
        room,
        shown.framed,
        [surface for plan in plans for surface in plan.surfaces],
        [sheet for plan in plans for sheet in plan.sheets],
    )
