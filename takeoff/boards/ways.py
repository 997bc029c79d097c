"""Other ways to board a room beside the plan of its rules: each a whole plan, passed by the
checker, so that what the rules bring can be seen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from typing import Protocol

from takeoff.boards.allowed import floating_forbidden
from takeoff.boards.first_plan import plan_pool
from takeoff.boards.house_plan import pools_of
from takeoff.boards.longest_first import plan_longest_first
from takeoff.boards.numbers import numbered_apart
from takeoff.boards.plan import BoardPlan, SurfacePlan
from takeoff.boards.planner_rules import FLOATING_RULES
from takeoff.boards.pooled import (
    PlanCache,
    Refusal,
    breaches_of,
    refusal_of,
    take_owned,
    with_owned,
)
from takeoff.boards.problem import Pool, SurfaceProblem
from takeoff.boards.stock import heaviest_lift, is_hard_to_lift, on_sale
from takeoff.boards.words import shown
from takeoff.choices import CeilingRows, JointMode, Orientation, SurfaceKind
from takeoff.errors import CannotBoard
from takeoff.framing.members import FramedSurface
from takeoff.geometry.rooms import RoomGeometry
from takeoff.house import House
from takeoff.rules import Rules
from takeoff.units import INCH, MM, Nm, UnitSystem, tape_reading

__all__ = ["PlannedWay", "Way", "narrow_width", "plan_way"]


class Way(StrEnum):
    """A way to board a room: by its rules as they are, or with one of them changed.

    `OTHER_SIDE` counts rows from the other edge than the plan does. `ALONG` lays boards along the
    framing, `FLOATING` lets every butt seam float, `NARROW` takes the usual narrow sheets alone,
    and of those none that is both long and hard to lift.
    `LONGEST` takes the longest board that reaches a joint, whatever that costs, and `LEAST` weighs
    money alone, as if an hour were worth nothing.
    """

    RULES = "rules"
    OTHER_SIDE = "other-side"
    ALONG = "along"
    FLOATING = "floating"
    NARROW = "narrow"
    LONGEST = "longest"
    LEAST = "least"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedWay:
    """A room planned in a way. `why_not` says why it cannot be, and is empty where it is.

    `stays` are the surfaces that the way is not open to, by their names in the room, with why: they
    are planned by the rules as they are. `refused` are those that no plan can be made for in
    either.
    """

    way: Way
    plans: tuple[BoardPlan, ...] = ()
    stays: tuple[tuple[str, str], ...] = ()
    refused: tuple[Refusal, ...] = ()
    why_not: str = ""

    @property
    def surfaces(self) -> tuple[SurfacePlan, ...]:
        return tuple(surface for plan in self.plans for surface in plan.surfaces)


def narrow_width(units: UnitSystem) -> Nm:
    """The width that board is sold in everywhere."""
    return Nm(48 * INCH) if units is UnitSystem.INCH else Nm(1200 * MM)


def plan_way(
    house: House,
    room: RoomGeometry,
    members: Mapping[str, FramedSurface],
    way: Way,
    now: Sequence[SurfacePlan] = (),
) -> PlannedWay:
    """Plan one room by itself in a way, as if no board of it hung yet.

    `members` are the framed surfaces of its house by their ids, and `now` the plans of its surfaces
    that the way differs from. Owned sheets are there for it as for any plan.
    """
    plans_now = {plan.surface: plan for plan in now}
    boarded = [members[one] for one in room.hang_order if members[one].surface.board_area]
    changed: dict[str, FramedSurface] = {}
    stays: dict[str, str] = {}
    for framed in boarded:
        other = _changed(framed, house, way, plans_now.get(framed.surface.id))
        if isinstance(other, FramedSurface):
            changed[framed.surface.id] = other
        elif other:
            stays[framed.surface.id] = other

    offcuts = tuple(owned for owned in house.rules.owned if not owned.whole)
    house = replace(house, rules=replace(_rules(house.rules, way), owned=offcuts))
    cache = PlanCache()
    while True:
        if way in _CHANGES and not changed:
            return PlannedWay(way=way, why_not=_why_not(way, _grouped(stays, members, room), house))
        pools, refused = pools_of(house, [room], {**members, **changed}, cache)
        found = _plans_of(pools, house, way, plans_now, changed)
        back = [one for one in (*refused, *found.refused) if one.surface in changed]
        if not back:
            break
        # What the way cannot board is boarded by the rules as they are.
        for one in back:
            stays[one.surface] = one.message
            del changed[one.surface]
    refused += found.refused
    if found.broken:
        return PlannedWay(way=way, why_not=found.broken)
    if not found.plans:
        return PlannedWay(
            way=way, why_not=next((one.message for one in refused), "No board goes up in this room")
        )
    return PlannedWay(
        way=way,
        plans=tuple(numbered_apart(found.plans, {room.room: room.code})),
        stays=_grouped(stays, members, room),
        refused=tuple(refused),
    )


# The ways that change surfaces, and so are not open to all of them.
_CHANGES = frozenset({Way.OTHER_SIDE, Way.ALONG, Way.FLOATING, Way.NARROW})


def _rules(rules: Rules, way: Way) -> Rules:
    if way is Way.OTHER_SIDE:
        return replace(rules, ceiling_rows=CeilingRows.EITHER)
    if way is Way.LEAST:
        nothing = Decimal(0)
        return replace(rules, hour=nothing, seam_price=nothing, preferred_stagger_price=nothing)
    return rules


def _changed(
    framed: FramedSurface, house: House, way: Way, now: SurfacePlan | None
) -> FramedSurface | str:
    """The surface as the way has it; else why it stays as it is, empty where it is so already."""
    surface = framed.surface
    kind = house.catalogue.board(surface.board.kind)
    along = now is not None and now.along_framing
    if way is Way.OTHER_SIDE:
        if surface.kind is not SurfaceKind.CEILING or now is None:
            return ""
        if along:
            return "its boards lie along the framing, each edge on a stud or joist"
        return framed if _side(now.rows) else "its rows are the same counted from either side"
    if way is Way.ALONG:
        other = replace(surface, orientation=Orientation.ALONG)
        return "" if along else replace(framed, surface=other)
    if way is Way.FLOATING:
        forbidden = floating_forbidden(surface, kind)
        if forbidden is not None:
            said = FLOATING_RULES[forbidden].rstrip(".")
            return f"{said[:1].lower()}{said[1:]}"
        if along:
            return "boards along the framing have no floating seams"
        if surface.joint_mode is JointMode.FLOATING:
            return ""
        return replace(framed, surface=replace(surface, joint_mode=JointMode.FLOATING))
    if way is Way.NARROW:
        width = narrow_width(house.units)
        widths = {sheet.width for sheet in on_sale(surface, house.rules, house.catalogue)}
        if width not in widths:
            return f"no {shown(width, surface, feet=False)} wide {kind.name} is on sale"
        longest = _longest_light(framed, house, width)
        if longest == surface.longest_board and (widths == {width} or surface.board.width == width):
            return ""
        board = replace(surface.board, width=width)
        return replace(framed, surface=replace(surface, board=board, longest_board=longest))
    return ""


def _longest_light(framed: FramedSurface, house: House, width: Nm) -> Nm | None:
    """The longest sheet of a width that is not hard to lift, where one is; else as it is limited
    already."""
    surface, kind = framed.surface, house.catalogue.board(framed.surface.board.kind)
    lift = heaviest_lift(surface, house.rules)
    lengths = [
        sheet.length
        for sheet in on_sale(surface, house.rules, house.catalogue)
        if sheet.width == width
    ]
    light = [
        length
        for length in lengths
        if not is_hard_to_lift(kind, surface.board.thickness, width, length, lift)
    ]
    if not light or len(light) == len(lengths):
        return surface.longest_board
    return min(max(light), surface.longest_board or max(light))


def _grouped(
    stays: Mapping[str, str], members: Mapping[str, FramedSurface], room: RoomGeometry
) -> tuple[tuple[str, str], ...]:
    """The surfaces that stay, those with the same reason together."""
    by_reason: dict[str, list[str]] = {}
    for id_, why in stays.items():
        name = members[id_].surface.name
        own = name.removeprefix(f"{room.name}, ")
        why = why.removeprefix(name).lstrip(",: ")
        by_reason.setdefault(why, []).append(own[:1].upper() + own[1:])
    return tuple((", ".join(names), why) for why, names in by_reason.items())


def _why_not(way: Way, stays: Sequence[tuple[str, str]], house: House) -> str:
    if stays:
        return ". ".join(f"{names}: {why}" for names, why in stays)
    if way is Way.OTHER_SIDE:
        return "Rows of walls always count from the ceiling down, and no ceiling here gets board"
    if way is Way.ALONG:
        return "The boards of this room lie along the framing already"
    if way is Way.FLOATING:
        return "The butt seams of this room float already"
    width = tape_reading(narrow_width(house.units), house.units, feet=False)
    return f"No other board than {width} wide is on sale for this room"


@dataclass(frozen=True, slots=True)
class _Found:
    plans: list[BoardPlan]
    refused: list[Refusal]
    broken: str = ""


def _plans_of(
    pools: Sequence[Pool],
    house: House,
    way: Way,
    now: Mapping[str, SurfacePlan],
    changed: Mapping[str, FramedSurface],
) -> _Found:
    """Plans of the pools that the checker passes, and the surfaces that stop them. `broken` says
    which rule a plan broke where no surface is to blame."""
    plans: list[BoardPlan] = []
    refused: list[Refusal] = []
    unused = {owned.id: owned.count for owned in house.rules.owned}
    for pool in pools:
        pool = with_owned(pool, unused)
        while pool.surfaces:
            try:
                plan = _plan(pool, way, now, changed)
            except CannotBoard as error:
                stopped = refusal_of(error)
            else:
                breaches = breaches_of(plan, pool, house.catalogue)
                if not breaches:
                    take_owned(unused, plan)
                    plans.append(plan)
                    break
                first = breaches[0]
                if all(one.framed.surface.id != first.where for one in pool.surfaces):
                    return _Found([], refused, f"The plan made so breaks a rule. {first.message}")
                stopped = Refusal(
                    surface=first.where, row=None, rule=first.rule, message=first.message
                )
            refused.append(stopped)
            pool = replace(
                pool,
                surfaces=tuple(
                    one for one in pool.surfaces if one.framed.surface.id != stopped.surface
                ),
            )
    return _Found(plans, refused)


def _plan(
    pool: Pool, way: Way, now: Mapping[str, SurfacePlan], changed: Mapping[str, FramedSurface]
) -> BoardPlan:
    if way is Way.LONGEST:
        return plan_longest_first(pool)
    if way is Way.OTHER_SIDE:
        return plan_pool(_turned(pool, now, changed))
    return plan_pool(pool)


def _turned(
    pool: Pool, now: Mapping[str, SurfacePlan], changed: Mapping[str, FramedSurface]
) -> Pool:
    """The pool with the layouts alone that count rows from the other side, where the way changes a
    surface."""

    def turned(problem: SurfaceProblem) -> SurfaceProblem:
        surface = problem.framed.surface
        if surface.id not in changed:
            return problem
        plan = now[surface.id]
        kept = tuple(
            layout
            for layout in problem.layouts
            if not layout.along_framing and _side(layout.courses) not in (None, _side(plan.rows))
        )
        if not kept:
            raise CannotBoard(
                surface=surface.id,
                rule="ceiling_rows",
                message=f"{surface.name}: counted from the other side, a row or a rip would be too "
                "narrow",
            )
        return replace(problem, layouts=kept, longest=max(layout.longest for layout in kept))

    return replace(pool, surfaces=tuple(turned(problem) for problem in pool.surfaces))


class _Row(Protocol):
    @property
    def low(self) -> Nm: ...

    @property
    def high(self) -> Nm: ...

    @property
    def sheet_width(self) -> Nm: ...


def _side(rows: Sequence[_Row]) -> CeilingRows | None:
    """The edge that rows across the framing are counted from: the one with a whole sheet where the
    other one's row is ripped. None where both are alike."""
    ordered = sorted(rows, key=lambda row: row.low)
    first, last = (row.high - row.low == row.sheet_width for row in (ordered[0], ordered[-1]))
    if first == last:
        return None
    return CeilingRows.SIDE_A if first else CeilingRows.SIDE_B
