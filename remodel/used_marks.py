"""Where marks of a room's boards are already: on paper, on boards, in an order."""

from __future__ import annotations

from collections.abc import Sequence

from remodel.board.marks import note_marks
from remodel.board.models import Mark, Plan
from remodel.bridge.marks import sheet_prefixes, with_code
from remodel.bridge.plans import plan_from
from remodel.cards.models import DoneMark, PrintPack
from remodel.history.errors import Refused
from remodel.history.models import Change
from remodel.house.marks import is_fixed as are_fixed
from remodel.house.models import House, Room
from remodel.supply.models import Order

__all__ = ["check_undo", "is_ordered", "is_printed", "is_ticked", "mark_plans_anew", "sheet_codes"]


def is_ticked(room: Room) -> bool:
    """Whether anything of the room is ticked as done."""
    return DoneMark.objects.filter(room=room, done=True).exists()


def is_printed(room: Room) -> bool:
    """Whether a print set that was made has the room in it."""
    packs = PrintPack.objects.filter(house=room.house_id, state=PrintPack.State.DONE)
    return any(room.key in keys for keys in packs.values_list("rooms", flat=True))


def is_ordered(room: Room) -> bool:
    """Whether an order that stands was placed for the room."""
    placed = (Order.State.PLACED, Order.State.CLOSED)
    return Order.objects.filter(rooms=room, state__in=placed).exists()


def mark_plans_anew(room: Room, before: str) -> None:
    """Mark the boards of a room with its new code in every kept plan. Nothing of it is on paper or
    on boards, so nobody reads the old one."""
    for plan in Plan.objects.filter(house=room.house_id):
        data = with_code(plan.data, room.key, before, room.code)
        if data != plan.data:
            # The state and its day stay: a plan is not another for being marked anew.
            Plan.objects.filter(pk=plan.pk).update(data=data)
            if plan.state not in (Plan.State.PROPOSED, Plan.State.LEFT, Plan.State.FALLEN):
                Mark.objects.filter(plan=plan).delete()
                note_marks(plan, plan_from(data))


def check_undo(changes: Sequence[Change]) -> None:
    """Raise `Refused` where an undo would change marks that are on paper or on boards by now."""
    for one in changes:
        before, after = one.before or {}, one.after or {}
        name = {"house.room": "code", "house.wall": "letter"}.get(one.model)
        if name is None or not before.get(name) or not after.get(name):
            continue
        if before[name] == after[name]:
            continue
        rooms = Room.objects.filter(pk=one.row) | Room.objects.filter(walls__pk=one.row)
        room = rooms.first()
        if room is not None and are_fixed(room):
            raise Refused(
                f"This would mark boards of {room.name} {before[name]} in place of {after[name]}, "
                "and they are on paper or on boards already"
            )


def sheet_codes(house: House) -> set[str]:
    """The letters that sheets of the house's kept plans are marked with. Plans of before the codes
    of rooms have letters of their own."""
    kept = Plan.objects.filter(house=house).values_list("data", flat=True)
    return {prefix for data in kept.iterator() for prefix in sheet_prefixes(data)}
