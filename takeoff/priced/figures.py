"""What one side of a choice comes to: all that people compare of it, read off a takeoff."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from fractions import Fraction
from typing import Any

from takeoff.choices import Compound, FramedWhen, SurfaceKind
from takeoff.framing.edges import Support, UnsupportedEdgeKind
from takeoff.framing.over_plates import blocks_over_plates
from takeoff.framing.partition import Role
from takeoff.hours import hanging_hours
from takeoff.house import Room
from takeoff.job import Takeoff
from takeoff.needs.need import in_phase_order
from takeoff.piles import connected_rooms
from takeoff.plan_figures import FIGURE_LINES, FigureKind, FigureLine, PlanFigures, figures_of_rooms
from takeoff.priced.choice import Choice, ChoiceKind
from takeoff.quantities import Amount, add
from takeoff.reference import figures, level
from takeoff.sequence.rules import rules
from takeoff.unit_prices import UnitPrices

__all__ = ["CHOICE_LINES", "NeedFigure", "SideFigures", "figures_of_side"]


@dataclass(frozen=True, slots=True, kw_only=True)
class NeedFigure:
    """How much of a material a phase of the rooms takes. `cost` is in cents, before whole packs;
    None where nothing on sale meets it."""

    phase: str
    material: str
    name: str
    amount: Amount
    cost: Fraction | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SideFigures(PlanFigures):
    """One side of a choice in figures: the boards of all its rooms, and what follows of them.

    `offcuts` is the board that is bought and hung nowhere, in square nanometres. `butts` counts
    butt seams, and `edges` board edges that need something behind them. `cost` is all materials of
    all phases in cents, before whole packs, and `needs` what they are; `unpriced` names those that
    nothing on sale meets. `ceilings` are the fields of ceiling that are boarded. Work is done in
    `rounds_hanging` and `rounds_taping`, with so many `trips` and `lift_days` in all, and coats dry
    for `drying` whole days one after another.

    `backing` says what goes behind the board, and where. `refused` are sentences about surfaces
    that cannot be boarded so; they are in no figure.
    """

    offcuts: int = 0
    butts: int = 0
    edges: int = 0
    cost: Fraction = Fraction(0)
    needs: tuple[NeedFigure, ...] = ()
    unpriced: tuple[str, ...] = ()
    ceilings: int = 0
    rounds_hanging: int = 0
    rounds_taping: int = 0
    lift_days: int = 0
    trips: int = 0
    drying: int = 0
    backing: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()


CHOICE_LINES = (
    FIGURE_LINES[0],
    FigureLine("Board left over", "offcuts", FigureKind.AREA),
    *(line for line in FIGURE_LINES[1:] if line.kind is FigureKind.COUNT),
    FigureLine("Butt seams, number", "butts", FigureKind.COUNT),
    *(line for line in FIGURE_LINES if line.kind is FigureKind.SEAM),
    FigureLine("Edges that need backing", "edges", FigureKind.COUNT),
    FigureLine("Seam backers", "backers", FigureKind.COUNT),
    FigureLine("Fields of ceiling", "ceilings", FigureKind.COUNT),
    FigureLine("Rounds of hanging", "rounds_hanging", FigureKind.COUNT),
    FigureLine("Rounds of taping", "rounds_taping", FigureKind.COUNT),
    FigureLine("Days with the drywall lift", "lift_days", FigureKind.COUNT),
    FigureLine("Trips for material", "trips", FigureKind.COUNT),
    FigureLine("Days that coats dry", "drying", FigureKind.COUNT),
    FigureLine("Hanging", "hanging", FigureKind.HOURS),
    FigureLine("Finishing", "finishing", FigureKind.HOURS),
    FigureLine("All materials", "cost", FigureKind.MONEY),
)
"""What people compare of the two sides of a choice, in the order of a table."""


def figures_of_side(takeoff: Takeoff, choice: Choice, side: str) -> SideFigures:
    """What the rooms of a choice come to in a takeoff of the house with that side."""
    of_plans = _added(figures_of_rooms(takeoff))
    needs = _needs(takeoff)
    joints = [joint for plan in takeoff.surface_plans for joint in plan.joints]
    edges = [edge for edge in takeoff.unsupported_edges if edge.support is not Support.CLIP]
    rounds = _rounds(takeoff, choice, side)
    return SideFigures(
        **of_plans,
        offcuts=_left_over(takeoff),
        butts=len(joints),
        edges=len(edges),
        cost=sum((need.cost for need in needs if need.cost is not None), Fraction(0)),
        needs=needs,
        unpriced=tuple(dict.fromkeys(need.name for need in needs if need.cost is None)),
        ceilings=len(_ceilings(takeoff)),
        rounds_hanging=rounds.hanging,
        rounds_taping=rounds.taping,
        lift_days=rounds.lift_days,
        trips=rounds.hanging + rounds.taping,
        drying=rounds.drying,
        backing=tuple(dict.fromkeys(_backing(takeoff))),
        refused=tuple(refusal.message for refusal in takeoff.refused),
    )


def _added(by_room: Mapping[str, PlanFigures]) -> dict[str, Any]:
    """The fields of the figures of some rooms, each added up."""
    return {
        field.name: sum(getattr(one, field.name) for one in by_room.values())
        for field in fields(PlanFigures)
    }


def _left_over(takeoff: Takeoff) -> int:
    """The area of the sheets that are bought, less that of the pieces cut from them."""
    bought = sum(sheet.length * sheet.width for sheet in takeoff.sheets if sheet.source is None)
    hung = sum(
        (piece.end - piece.start) * (piece.high - piece.low)
        for plan in takeoff.surface_plans
        for piece in plan.pieces
    )
    return max(0, bought - hung)


def _needs(takeoff: Takeoff) -> tuple[NeedFigure, ...]:
    """What all rooms take of each material in each phase."""
    prices = UnitPrices(takeoff.house)
    found: dict[tuple[str, str], NeedFigure] = {}
    for need in takeoff.needs:
        key = need.phase, need.material
        name, cost = prices.of(need)
        seen = found.get(key)
        amount = need.amount
        if seen is not None:
            amount = add(seen.amount, need.amount)
            cost = None if cost is None or seen.cost is None else cost + seen.cost
        found[key] = NeedFigure(
            phase=need.phase, material=need.material, name=name, amount=amount, cost=cost
        )
    order = in_phase_order(phase for phase, _ in found)
    return tuple(sorted(found.values(), key=lambda one: order.index(one.phase)))


def _ceilings(takeoff: Takeoff) -> dict[str, Fraction]:
    """The hours that each ceiling takes to hang, by its id."""
    surfaces = {one.surface.id: one.surface for one in takeoff.framed}
    return {
        plan.surface: hanging_hours(plan, surfaces[plan.surface], takeoff.house)
        for plan in takeoff.surface_plans
        if surfaces[plan.surface].kind is SurfaceKind.CEILING
    }


@dataclass(frozen=True, slots=True)
class _Rounds:
    hanging: int
    taping: int
    lift_days: int
    drying: int


def _rounds(takeoff: Takeoff, choice: Choice, side: str) -> _Rounds:
    """In how many rounds the work is done. A partition framed after board has its faces hung in a
    round of their own, before the room is taped; without it, or framed before, all of a room is
    hung in one."""
    groups = [
        [room for room in group if room in choice.rooms] for group in connected_rooms(takeoff.house)
    ]
    if choice.kind is not ChoiceKind.ROUNDS or side == choice.sides[1]:
        groups = [[room for group in groups for room in group]]
    later = any(shape.framed is FramedWhen.AFTER for shape in takeoff.partitions)
    ceilings = _ceilings(takeoff)
    day = figures.number("HR-day")
    lift_days = 0
    for group in groups:
        hours = [long for id_, long in ceilings.items() if id_.partition("/")[0] in group]
        lift_days += -(-sum(hours) // day) if hours else 0
    rooms = {room.id: room for room in takeoff.house.rooms}
    drying = sum(max(_drying_of(rooms[room]) for room in group) for group in groups)
    return _Rounds(
        hanging=len(groups) + later,
        taping=len(groups),
        lift_days=lift_days,
        drying=-(-drying // 24),
    )


def _drying_of(room: Room) -> int:
    """Hours that the coats of a room wait for each other, as the rules of the order of work have
    it: before the second coat, the third, and the sanding."""
    finish = room.finish
    asked = level(max(finish.wall_level, finish.ceiling_level))
    steps = {*("second-coat", "third-coat")[: max(0, asked.flat - 1)]}
    steps |= {"sand"} if asked.sand else set()
    sets = finish.compound is Compound.SETTING
    return sum(
        rule.gap
        for rule in rules()
        if steps & set(rule.steps) and not (sets and "drying compound" in rule.facts)
    )


def _backing(takeoff: Takeoff) -> Iterator[str]:
    """What goes behind the board of these rooms, and where each stands: for partitions first, then
    for edges that are known to have nothing to screw to."""
    for frame in takeoff.partition_frames:
        for piece in frame.pieces:
            if piece.role in (Role.TEE_STUD, Role.BACKING):
                what = "" if piece.role is Role.BACKING else f"{piece.role}s "
                yield f"{frame.name}: {piece.count} {what}{piece.text}"
    names = {shape.id: shape.name for shape in takeoff.partitions}
    over = blocks_over_plates(takeoff.house, takeoff.rooms, takeoff.partitions)
    for id_, blocks in over.items():
        if blocks.known:
            yield (
                f"{names[id_]}: {blocks.count} blocks between the joists of {blocks.ceiling}, over "
                "its top plate"
            )
    for edge in takeoff.unsupported_edges:
        # the studs of a tee are told with the sticks of the partition
        at_tee = edge.kind is UnsupportedEdgeKind.TEE
        if edge.certain and edge.support is not Support.CLIP and not at_tee:
            yield f"{edge.text}: {edge.support}"
