"""Writes: how pieces are marked, and what is done of them."""

from __future__ import annotations

import re
from typing import Any

from django.db import transaction
from django.utils import timezone

from remodel.board.models import Plan
from remodel.board.queries import head_of
from remodel.board.services import plan_keep, plan_set_state
from remodel.cards.models import DoneMark, Marking
from remodel.cards.queries import cards_for, cut_marks
from remodel.history.errors import Refused
from remodel.history.services import By, change, create, recorded
from remodel.house.models import House, Room

__all__ = ["marking_set", "tick"]

_ITEM = re.compile(r"[^\x00-\x1f\x7f]{1,140}")
_PLAN = re.compile(r"[0-9a-f]{0,64}")


@recorded("changed how sheets are marked")
def marking_set(*, by: By, house: House, room: Room | None = None, **values: Any) -> Marking:
    """Set how pieces are marked in a house or, where `room` is given, in one room of it."""
    marking = Marking.objects.filter(house=house, room=room).first()
    if marking is None:
        return create(Marking(house=house, room=room, **values))
    return change(marking, **values)


def tick(
    *, by: By, room: Room, kind: str, item: str, plan: str = "", done: bool = True
) -> DoneMark:
    """Mark a piece as cut or hung, or a step as done, or take the mark back. The plan's own state
    follows.

    The first cut accepts the plan it is cut by. The plan becomes cut once all its pieces are, and
    hung once all are hung. A mark for a plan that was replaced meanwhile is kept under the name of
    that plan, because the board is cut.
    """
    if kind not in DoneMark.Kind.values or not _ITEM.fullmatch(item) or not _PLAN.fullmatch(plan):
        raise Refused("That mark cannot be read. Load the page again, then tick it again")
    if kind != DoneMark.Kind.STEP and not plan:
        raise Refused("That mark names no plan. Load the page again, then tick it again")
    mark = _mark(by=by, room=room, kind=kind, item=item, plan=plan, done=done)
    if plan:
        _plan_follows(by, room, plan, kind, done=done)
    return mark


@recorded("ticked off")
def _mark(*, by: By, room: Room, kind: str, item: str, plan: str, done: bool) -> DoneMark:
    with transaction.atomic():
        mark = (
            DoneMark.all_objects.select_for_update()
            .filter(room=room, kind=kind, plan=plan, item=item)
            .first()
        )
        values = {"done": done, "person": by.person, "at": timezone.now()}
        if mark is None:
            made = DoneMark(
                house_id=room.house_id, room=room, kind=kind, plan=plan, item=item, **values
            )
            return create(made)
        return mark if mark.done == done else change(mark, **values)


def _plan_follows(by: By, room: Room, plan: str, kind: str, *, done: bool) -> None:
    cards = cards_for(room)
    if cards is None or plan not in cards.plans:
        return
    board, thickness = cards.plans[plan]
    if done:
        plan_keep(by=By(by.person), room=room, board=board, thickness=thickness)
    row = _standing(room, board, thickness)
    if row is None:
        return
    pieces = [
        (piece.room_key, piece.key)
        for sheet in cards.sheets
        if sheet.plan == plan
        for piece in sheet.pieces
    ]
    state = Plan.State.CUT if kind == DoneMark.Kind.CUT else Plan.State.HUNG
    marked = cut_marks(room, kind=kind, plan=plan)
    all_done = bool(pieces) and all(piece in marked for piece in pieces)
    order = [Plan.State.ACCEPTED, Plan.State.ORDERED, Plan.State.CUT, Plan.State.HUNG]
    if all_done and done:
        while order.index(Plan.State(row.state)) < order.index(state):
            if state == Plan.State.HUNG and row.state != Plan.State.CUT:
                break  # hung boards were cut, but by what is not known here
            row = plan_set_state(
                by=by, plan=row, state=order[order.index(Plan.State(row.state)) + 1]
            )
    elif not done and row.state == state:
        plan_set_state(by=by, plan=row, state=order[order.index(state) - 1])


def _standing(room: Room, board: str, thickness: int) -> Plan | None:
    return Plan.objects.filter(
        room=head_of(room),
        board=board,
        thickness=thickness,
        state__in=("accepted", "ordered", "cut", "hung"),
    ).first()
