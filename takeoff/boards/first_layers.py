"""The first layer of board where a surface takes two: planned on its own, so that its joints keep
away from those of the second, which is the one that is seen and has the surface's plan.

Its sheets and screws are counted with the surface's. Its boards and sheets have marks of their own,
that end in f, and no ticks: what is ticked is the layer that is seen.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from takeoff.boards.house_plan import plan_boards
from takeoff.boards.plan import BoardPlan, PlacedPiece, SurfacePlan
from takeoff.choices import CeilingRows, Orientation, Runs
from takeoff.framing.members import FramedSurface
from takeoff.geometry.rooms import RoomGeometry
from takeoff.house import House
from takeoff.reference import figures
from takeoff.units import Nm

__all__ = ["FIRST", "FirstLayers", "first_layers", "joints_in_line"]

FIRST = "f"  # ends the mark of each board and sheet of a first layer


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstLayers:
    """The plans of the first layers of a house. `in_line` is how far joints of a surface's first
    layer run beside those of its second, closer than SL-offset, by the surface's id."""

    plans: tuple[BoardPlan, ...] = ()
    in_line: Mapping[str, Nm] = field(default_factory=dict)

    @property
    def surfaces(self) -> tuple[SurfacePlan, ...]:
        """Every surface's plan of its first layer."""
        return tuple(surface for plan in self.plans for surface in plan.surfaces)


def first_layers(
    house: House,
    rooms: Sequence[RoomGeometry],
    members: Mapping[str, FramedSurface],
    planned: Iterable[SurfacePlan],
) -> FirstLayers:
    """Plan the first layer of every surface with two layers that has a plan.

    Boards stand along the framing (SL-base), or lie across it like the second layer, whichever
    leaves fewer joints in line with those of the second. Rows of ceilings count from the other
    side.
    """
    second = {plan.surface: plan for plan in planned if members[plan.surface].surface.layers == 2}
    if not second:
        return FirstLayers()
    ways = {
        way: _plans(house, rooms, members, dict.fromkeys(second, way))
        for way in (Orientation.ALONG, Orientation.ACROSS)
    }
    chosen: dict[str, Orientation] = {}
    for surface, above in second.items():
        in_line = {
            way: joints_in_line(plan, above)
            for way, plans in ways.items()
            for plan in _surfaces(plans)
            if plan.surface == surface
        }
        if in_line:
            chosen[surface] = min(in_line, key=lambda way: in_line[way])
    plans = _plans(house, rooms, members, chosen)
    return FirstLayers(
        plans=plans,
        in_line={
            plan.surface: beside
            for plan in _surfaces(plans)
            if (beside := joints_in_line(plan, second[plan.surface]))
        },
    )


def joints_in_line(first: SurfacePlan, second: SurfacePlan) -> Nm:
    """Return the length along which joints of one layer run beside parallel joints of the other,
    closer than SL-offset."""
    closest = figures.length("SL-offset")
    total = 0
    for axis, at, low, high in _joints(first):
        for other_axis, other_at, other_low, other_high in _joints(second):
            if axis is other_axis and abs(at - other_at) < closest:
                total += max(0, min(high, other_high) - max(low, other_low))
    return Nm(total)


def _joints(plan: SurfacePlan) -> Iterator[tuple[Runs, Nm, Nm, Nm]]:
    """Every joint of a plan: which way it runs, where it is across that way, and from where to
    where it goes."""
    square = Runs.ACROSS if plan.rows_run is Runs.ALONG else Runs.ALONG
    rows = sorted(plan.rows, key=lambda row: row.low)
    for lower, upper in pairwise(rows):
        for start, end in lower.segments if lower.high == upper.low else ():
            yield plan.rows_run, lower.high, start, end
    heights = {row.index: (row.low, row.high) for row in rows}
    for joint in plan.joints:
        yield square, joint.at, *heights[joint.row]


def _plans(
    house: House,
    rooms: Sequence[RoomGeometry],
    members: Mapping[str, FramedSurface],
    ways: Mapping[str, Orientation],
) -> tuple[BoardPlan, ...]:
    """Plans of these surfaces alone, each its way, out of sheets that are bought for them."""
    other_side = {
        CeilingRows.SIDE_A: CeilingRows.SIDE_B,
        CeilingRows.SIDE_B: CeilingRows.SIDE_A,
    }
    rows = house.rules.ceiling_rows
    rules = replace(house.rules, owned=(), ceiling_rows=other_side.get(rows, rows))
    alone = {
        id_: replace(
            framed,
            surface=replace(framed.surface, orientation=ways[id_])
            if id_ in ways
            else replace(framed.surface, board_area=()),
        )
        for id_, framed in members.items()
    }
    plans, _ = plan_boards(replace(house, rules=rules), rooms, alone, without_pooling=True)
    return tuple(_marked(plan) for plan in plans)


def _marked(plan: BoardPlan) -> BoardPlan:
    """The plan with marks that no board and no sheet of the second layer has."""
    offcuts = {offcut.id for sheet in plan.sheets for offcut in sheet.offcuts}
    return replace(
        plan,
        surfaces=tuple(
            replace(
                surface,
                pieces=tuple(
                    replace(piece, code=f"{piece.code}{FIRST}") for piece in surface.pieces
                ),
            )
            for surface in plan.surfaces
        ),
        sheets=tuple(
            replace(
                sheet,
                code=f"{sheet.code}{FIRST}",
                source=f"{sheet.source}{FIRST}" if sheet.source in offcuts else sheet.source,
                crosscuts=_marked_pieces(sheet.crosscuts),
                strips=tuple(
                    replace(strip, pieces=_marked_pieces(strip.pieces)) for strip in sheet.strips
                ),
                offcuts=tuple(
                    replace(offcut, id=f"{offcut.id}{FIRST}") for offcut in sheet.offcuts
                ),
            )
            for sheet in plan.sheets
        ),
    )


def _marked_pieces(pieces: Iterable[PlacedPiece]) -> tuple[PlacedPiece, ...]:
    return tuple(replace(piece, piece=f"{piece.piece}{FIRST}") for piece in pieces)


def _surfaces(plans: Iterable[BoardPlan]) -> Iterator[SurfacePlan]:
    return (surface for plan in plans for surface in plan.surfaces)
