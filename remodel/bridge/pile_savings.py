"""What buying rooms together saves. The rooms are compared bought apart, bought from one pile, and
bought from one pile with the offcuts thrown away."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from remodel.bridge.piles import Pile, joined, left_after
from takeoff import codec
from takeoff.boards.house_plan import plan_boards
from takeoff.boards.plan import BoardPlan
from takeoff.framing.members import frame
from takeoff.geometry.rooms import room_shapes
from takeoff.house import House
from takeoff.piles import connected_rooms
from takeoff.quantities import Cents

__all__ = ["Bought", "Compared", "Others", "as_one_pile", "compared", "digest_of", "others_of"]

_TOGETHER = "together"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bought:
    """What some rooms take when they are bought one way. `value` is the plans' aim in cents, and
    `work` what of it their hours are worth."""

    sheets: int
    owned: int
    sheet_cost: Cents
    joints: int
    value: Fraction
    work: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """The same rooms bought three ways; `refused` counts surfaces that cannot be boarded."""

    apart: Bought
    pile: Bought
    thrown: Bought
    refused: int


def as_one_pile(house: House, rooms: Collection[str], used: Mapping[str, int]) -> Pile:
    """The rooms as one pile, whatever they are bought with now. `used` counts owned sheets that
    other rooms take."""
    wanted = {
        room
        for connected in connected_rooms(house)
        if not set(connected).isdisjoint(rooms)
        for room in connected
    }
    as_one = replace(
        house,
        rooms=tuple(
            replace(room, pile=_TOGETHER if room.id in wanted else "") for room in house.rooms
        ),
    )
    return left_after(joined(as_one, sorted(wanted)), used)


def compared(whole: Pile, warm_start: Sequence[BoardPlan] = ()) -> Compared:
    """The rooms that `as_one_pile` joined, bought each way. `warm_start` are the plans they
    have already when bought apart."""
    house = whole.house
    head = {room: some[0] for some in connected_rooms(house) for room in some}
    apart = replace(house, rooms=tuple(replace(room, pile=head[room.id]) for room in house.rooms))
    wasteful = replace(house, rules=replace(house.rules, keep_offcuts=False))
    (one, _), (pile, refused), (thrown, _) = (
        _planned(variant, warm_start) for variant in (apart, house, wasteful)
    )
    return Compared(apart=_bought(one), pile=_bought(pile), thrown=_bought(thrown), refused=refused)


def digest_of(pile: Pile, warm_start: Sequence[BoardPlan]) -> str:
    """A digest of all that a comparison is worked out from."""
    return codec.digest("compared", pile.digest(), [codec.digest(plan) for plan in warm_start])


def _planned(house: House, warm_start: Sequence[BoardPlan]) -> tuple[tuple[BoardPlan, ...], int]:
    rooms, _ = room_shapes(house)
    members = {
        surface.id: frame(surface, house.rules) for room in rooms for surface in room.surfaces
    }
    plans, refused = plan_boards(house, rooms, members, warm_start=warm_start)
    return plans, len(refused)


def _bought(plans: Sequence[BoardPlan]) -> Bought:
    sheets = [sheet for plan in plans for sheet in plan.sheets]
    return Bought(
        sheets=sum(sheet.source is None for sheet in sheets),
        owned=sum(sheet.source is not None for sheet in sheets),
        sheet_cost=Cents(sum(plan.sheet_cost for plan in plans)),
        joints=sum(len(surface.joints) for plan in plans for surface in plan.surfaces),
        value=sum((plan.total for plan in plans), Fraction(0)),
        work=sum(plan.work_cost for plan in plans),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Others:
    """What the rooms of a pile that an order leaves out still bring.

    `sheets` are bought for them; `from_them` counts pieces of the ordered rooms that are cut from
    those, and `for_them` pieces of theirs that are cut from sheets of the ordered rooms.
    """

    sheets: int
    from_them: int
    for_them: int


def others_of(plans: Sequence[BoardPlan], rooms: Collection[str]) -> Others:
    """What the other rooms of a pile bring where an order buys only `rooms`. A sheet is bought for
    the room it is first cut in."""
    room_of = {
        piece.code: surface.room
        for plan in plans
        for surface in plan.surfaces
        for piece in surface.pieces
    }
    brought = from_them = for_them = 0
    for sheet in (sheet for plan in plans for sheet in plan.sheets):
        placed = [*sheet.crosscuts, *(piece for strip in sheet.strips for piece in strip.pieces)]
        ordered = [room_of[one.piece] in rooms for one in placed if one.piece in room_of]
        if sheet.room in rooms:
            for_them += ordered.count(False)
        else:
            brought += sheet.source is None
            from_them += ordered.count(True)
    return Others(sheets=brought, from_them=from_them, for_them=for_them)
