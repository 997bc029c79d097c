"""Two plans of one room that both can be hung: the usual one, and a dearer one of short sheets."""

from __future__ import annotations

from dataclasses import replace

from remodel.board.models import Plan
from remodel.board.plans import plan_accept, propose
from remodel.board.queries import pile_result_of
from remodel.board.rounds import pile_at_hand
from remodel.bridge.piles import shapes_now
from remodel.bridge.plans import BoardPlan
from remodel.history.services import By
from remodel.house.models import Room
from takeoff.job import take_off

__all__ = ["accept_dear", "dear_plan", "offer_of"]


def dear_plan(room: Room) -> BoardPlan:
    """A plan of the room's first pool that has more butt seams: of the shortest sheets."""
    pool = pile_result_of(room).pools[0]
    pile = pile_at_hand(room.house_id, room.key)
    sheets = pile.house.catalogue.sheets
    key = (pool.board, pool.thickness)
    shortest = min(sheet.length for sheet in sheets if (sheet.board, sheet.thickness) == key)
    short = tuple(
        sheet
        for sheet in sheets
        if (sheet.board, sheet.thickness) != key or sheet.length == shortest
    )
    house = replace(pile.house, rules=replace(pile.house.rules, sheets=short))
    plans = take_off(house).plans
    return next(
        plan for plan in plans if (plan.surfaces[0].board, plan.surfaces[0].thickness) == key
    )


def offer_of(room: Room, plan: BoardPlan) -> Plan:
    """The plan offered, as a search does."""
    pile = pile_at_hand(room.house_id, room.key)
    return propose(room, pile_result_of(room).pools[0], plan, shapes_now(pile, plan))


def accept_dear(by: By, room: Room) -> tuple[Plan, Plan]:
    """The dear plan accepted, and the usual one on offer."""
    usual = pile_result_of(room).pools[0].plan
    dear = plan_accept(by=by, plan=offer_of(room, dear_plan(room)))
    return dear, offer_of(room, usual)
