"""What each tick of a room uses up, beside the places of its pieces and the sheets cut in it: made
from a pile's result, and written as short lists that a whole house is read from at once."""

from __future__ import annotations

from dataclasses import dataclass, fields
from itertools import groupby
from typing import Any

from remodel.bridge.plans import BoardPlan
from remodel.bridge.views import PileResult
from takeoff import codec
from takeoff.geometry.rooms import RoomGeometry
from takeoff.house import House
from takeoff.job import Takeoff
from takeoff.needs.need import Phase
from takeoff.needs.shares import Take, Tick, split, takes_of, whole_thousandths
from takeoff.places import PiecePlace, PlannedSheet, places_of, sheets_of
from takeoff.units import Nm

__all__ = [
    "Phase",
    "PiecePlace",
    "PlannedSheet",
    "RoomTakes",
    "Take",
    "Tick",
    "places_in_plan",
    "read_takes",
    "split",
    "takes_of_pile",
    "whole_thousandths",
    "write_takes",
]

_TICKS = {tick.value: tick for tick in Tick}


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomTakes:
    """What the ticks of the room with this key use up, where its pieces hang, and which sheets are
    cut in it. Plans are named by their digests, as cards and marks name them."""

    key: str
    takes: tuple[Take, ...]
    places: tuple[PiecePlace, ...]
    sheets: tuple[PlannedSheet, ...]


def takes_of_pile(house: House, result: PileResult) -> tuple[RoomTakes, ...]:
    """The takes of every room of a pile. `house` is the house that `result` was worked out from;
    nothing is worked out again but the shares."""
    done = _takeoff_of(house, result)
    digests = [codec.digest(plan) for plan in done.plans]
    return tuple(
        RoomTakes(
            key=view.key,
            takes=takes_of(done, view.key, digests),
            places=places_of(done.plans, digests, view.key),
            sheets=sheets_of(done.plans, digests, view.key),
        )
        for view in result.views
    )


def places_in_plan(
    plan: BoardPlan, name: str = ""
) -> tuple[str, dict[str, tuple[tuple[PiecePlace, ...], tuple[PlannedSheet, ...]]]]:
    """The name of a plan, and by the room's key where its pieces hang and which of its sheets are
    cut there. The name is given where the plan was called otherwise."""
    name = name or codec.digest(plan)
    rooms = {surface.room for surface in plan.surfaces} | {sheet.room for sheet in plan.sheets}
    return name, {
        room: (places_of([plan], [name], room), sheets_of([plan], [name], room))
        for room in sorted(rooms)
    }


def _takeoff_of(house: House, result: PileResult) -> Takeoff:
    """A takeoff with only what takes are worked out from. Its other fields are empty."""
    nothing: dict[str, Any] = {field.name: () for field in fields(Takeoff)}
    return Takeoff(
        **nothing
        | {
            "house": house,
            "rooms": tuple(
                RoomGeometry(
                    room=view.key,
                    name=view.name,
                    plan=view.plan,
                    closing_error=Nm(view.closing_error),
                    floor_area=view.floor_area,
                    surfaces=tuple(surface.framed.surface for surface in view.surfaces),
                    corners=view.corners,
                    hang_order=(),
                )
                for view in result.views
            ),
            "framed": tuple(surface.framed for view in result.views for surface in view.surfaces),
            "plans": tuple(pool.plan for pool in result.pools),
            "seams": tuple(seam for view in result.views for seam in view.seams),
            "needs": tuple(line.need for view in result.views for line in view.needs),
        }
    )


def write_takes(takes: RoomTakes) -> list[Any]:
    """The takes of a room as short lists: its key, its plans, its takes, places and sheets.

    Takes that follow each other and differ in name, amount and sticks alone stand in one list. A
    plan is told by its place in the list of plans, and none by -1.
    """
    placed: tuple[PiecePlace | PlannedSheet, ...] = (*takes.places, *takes.sheets)
    plans = dict.fromkeys((of.plan, of.board, of.thickness) for of in placed)
    at = {plan: index for index, (plan, _, _) in enumerate(plans)} | {"": -1}
    groups: list[Any] = []
    for (phase, item, unit, kind, plan), alike in groupby(
        takes.takes, key=lambda take: (take.phase, take.item, take.unit, take.kind, take.plan)
    ):
        group = list(alike)
        names, amounts = [take.name for take in group], [take.amount for take in group]
        sticks = [take.lengths for take in group] if any(take.lengths for take in group) else []
        groups.append([phase, item, unit, kind.value, at[plan], names, amounts, *sticks])
    return [
        takes.key,
        [list(plan) for plan in plans],
        groups,
        [[place.key, place.sheet, at[place.plan], place.box, place.area] for place in takes.places],
        [
            [sheet.code, sheet.source, sheet.item, at[sheet.plan], sheet.pieces]
            for sheet in takes.sheets
        ],
    ]


def read_takes(raw: list[Any]) -> RoomTakes:
    """The takes that `write_takes` wrote."""
    key, plans, groups, places, sheets = raw
    named = [plan for plan, _, _ in plans] + [""]  # -1 is the last
    takes: list[Take] = []
    for phase, item, unit, kind, plan, names, amounts, *lengths in groups:
        each = zip(names, amounts, lengths or [()] * len(names), strict=True)
        takes += [
            Take(
                phase=phase,
                item=item,
                unit=unit,
                kind=_TICKS[kind],
                name=name,
                amount=amount,
                plan=named[plan],
                lengths=tuple(sticks),
            )
            for name, amount, sticks in each
        ]
    return RoomTakes(
        key=key,
        takes=tuple(takes),
        places=tuple(
            PiecePlace(
                key=piece,
                sheet=sheet,
                plan=plans[plan][0],
                board=plans[plan][1],
                thickness=plans[plan][2],
                box=tuple(box),
                area=area,
            )
            for piece, sheet, plan, box, area in places
        ),
        sheets=tuple(
            PlannedSheet(
                code=code,
                room=key,
                source=source,
                item=item,
                board=plans[plan][1],
                thickness=plans[plan][2],
                plan=plans[plan][0],
                pieces=tuple((room, piece) for room, piece in pieces),
            )
            for code, source, item, plan, pieces in sheets
        ),
    )
