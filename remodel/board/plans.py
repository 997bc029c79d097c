"""Plans of a room accepted, ordered and given up."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Q

from remodel.board.models import PlacedPiece, Plan
from remodel.board.queries import begun_plans, head_of, pile_result_of
from remodel.board.renewed import note_marks, retire_marks
from remodel.board.rounds import STANDING
from remodel.board.services import bring_up_to_date, plans_changed
from remodel.bridge import codec
from remodel.bridge.piles import shapes_in
from remodel.bridge.placed import marks_in
from remodel.bridge.plans import PLAN_SCHEMA, BoardPlan, plan_from
from remodel.bridge.views import PileResult, PoolState
from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.history.turns import write_turn
from remodel.house.models import Room

__all__ = [
    "plan_accept",
    "plan_keep",
    "plan_leave",
    "plan_set_state",
    "plan_stands_again",
    "plans_keep",
    "plans_order",
    "plans_take_back",
    "propose",
    "surface_plan_anew",
]


def plan_accept(*, by: By, plan: Plan) -> Plan:
    """Accept a proposed plan, or one that was left. Nothing replaces it from then on unless a
    person asks.

    It takes the place of a plan that stands, as long as nothing is cut by that one: what was
    ordered for that one stays ordered. Raises `Refused` where boards are cut.
    """
    if plan.state not in (Plan.State.PROPOSED, Plan.State.LEFT):
        return plan
    with write_turn():
        # Read inside the turn: an order placed meanwhile may have marked the plan as ordered.
        standing = (
            Plan.objects.select_for_update()
            .filter(room=plan.room, board=plan.board, thickness=plan.thickness, state__in=STANDING)
            .first()
        )
        state = Plan.State.ACCEPTED
        if standing is not None:
            _check_nothing_cut(standing)
            state = Plan.State(standing.state)
            Plan.objects.filter(pk=standing.pk).update(state=Plan.State.LEFT)
            retire_marks(standing, marks_in(plan_from(plan.data)))
        plan.state, plan.person = state, by.person
        plan.save()
        note_marks(plan, plan_from(plan.data))
        plans_changed(plan.house_id)
    bring_up_to_date(plan.house_id, {plan.room_id})
    return plan


def _check_nothing_cut(plan: Plan) -> None:
    if plan.pk in begun_plans(plan.house_id):
        raise Refused(
            "Boards of the plan that stands are cut already, so another cannot take its place. To "
            "plan one surface anew around them, open that surface"
        )


def plan_leave(*, by: By, plan: Plan) -> Plan:
    """Give up a proposed or an accepted plan. It is kept, and can be accepted again."""
    if plan.state not in (Plan.State.PROPOSED, Plan.State.ACCEPTED):
        raise Refused("Boards of this plan are ordered or cut already, so it cannot be left")
    with write_turn():
        if plan.state == Plan.State.ACCEPTED:
            _check_nothing_cut(plan)
        plan.state, plan.person = Plan.State.LEFT, by.person
        plan.save()
        retire_marks(plan, [])
        plans_changed(plan.house_id)
    bring_up_to_date(plan.house_id, {plan.room_id})
    return plan


def plan_set_state(*, by: By, plan: Plan, state: str) -> Plan:
    """Move a plan that stands one step on (accepted, ordered, cut, hung), or one step back."""
    steps = list(STANDING)
    if plan.state not in steps or state not in steps:
        raise Refused("Accept the plan first")
    if abs(steps.index(Plan.State(plan.state)) - steps.index(Plan.State(state))) > 1:
        raise Refused("A plan goes accepted, ordered, cut, hung, one step at a time")
    plan.state, plan.person = state, by.person
    plan.save()
    return plan


def plan_keep(*, by: By, room: Room, board: str, thickness: int) -> Plan:
    """Accept the plan that a room shows now, so that nothing replaces it. Raises `Refused` where
    the room has no such plan."""
    result = pile_result_of(room)
    for pool in result.pools if result else ():
        if (pool.board, pool.thickness) == (board, thickness) and result is not None:
            plan = _kept(by, room, result, pool)
            bring_up_to_date(plan.house_id, {plan.room_id})
            return plan
    raise Refused("There is no such plan to keep; put right what the room says first")


def plans_keep(*, by: By, room: Room) -> list[Plan]:
    """Accept every plan that a room shows now, because it is printed, ordered or cut by. The caller
    brings results up to date afterward."""
    result = pile_result_of(room)
    if result is None:
        return []
    return [_kept(by, room, result, pool) for pool in result.pools]


def _kept(by: By, room: Room, result: PileResult, pool: PoolState) -> Plan:
    """The plan that stands for a pool: the one that does, or the one that is shown, accepted."""
    head = Room.objects.get(house=room.house_id, key=result.views[0].head)
    with write_turn():
        mine = Plan.objects.filter(room=head, board=pool.board, thickness=pool.thickness)
        standing = mine.filter(state__in=STANDING).first()
        if standing is not None:
            return standing
        plan = propose(head, pool, pool.plan, shapes_in(result, pool.plan))
        plan.state, plan.person = Plan.State.ACCEPTED, by.person
        plan.save()
        note_marks(plan, pool.plan)
        plans_changed(plan.house_id)
    return plan


def plans_order(*, by: By, rooms: Iterable[Room]) -> None:
    """Mark the plans that rooms show now as ordered. The caller brings results up to date
    afterward."""
    for room in rooms:
        if pile_result_of(room) is None:
            raise Refused(f"{room} could not be worked out; put right what it says first")
        for plan in plans_keep(by=by, room=room):
            if plan.state == Plan.State.ACCEPTED:
                Plan.objects.filter(pk=plan.pk).update(state=Plan.State.ORDERED, person=by.person)


def plans_take_back(*, by: By, rooms: Iterable[Room]) -> None:
    """Put the plans of rooms whose order was taken back a step back: they are accepted, and a
    person may leave them."""
    for room in rooms:
        Plan.objects.filter(room=head_of(room), state=Plan.State.ORDERED).update(
            state=Plan.State.ACCEPTED, person=by.person
        )


def plan_stands_again(name: str, *, since: datetime, but: UUID) -> bool:
    """Let a plan stand again that fell `since`, in the place of the one that was made instead of
    it, as long as nothing was cut, hung or ordered by that one. Gives whether it does.

    `but` is the piece whose entry is taken back. Called inside a write. Cards of the other plan are
    told of as cards to throw away.
    """
    plan = Plan.objects.filter(pk=name, state=Plan.State.FALLEN).first()
    other = Plan.objects.filter(instead_of=plan, state__in=STANDING).first() if plan else None
    if plan is None or other is None:
        return False
    done = PlacedPiece.objects.filter(house=plan.house_id).exclude(pk=but)
    after = Q(cut_at__gt=since) | Q(hung_at__gt=since) | Q(ended_at__gt=since)
    if done.filter(after).exists() or plan.house.orders.filter(placed_at__gt=since).exists():
        return False
    Plan.objects.filter(pk=other.pk).update(state=Plan.State.FALLEN, fallen_from=other.state)
    retire_marks(other, marks_in(plan_from(plan.data)))
    Plan.objects.filter(pk=plan.pk).update(state=plan.fallen_from or Plan.State.ACCEPTED)
    note_marks(plan, plan_from(plan.data))
    return True


def surface_plan_anew(*, by: By, room: Room, surface: str) -> Plan:
    """Plan the open pieces of one surface of a plan that stands anew; what is cut or hangs stays.
    `surface` is its id. Raises `Refused` where no plan that stands has it."""
    with write_turn():
        for plan in Plan.objects.filter(room=head_of(room), state__in=STANDING):
            if any(one["surface"] == surface for one in plan.data["surfaces"]):
                Plan.objects.filter(pk=plan.pk).update(anew=[surface], person=by.person)
                plans_changed(plan.house_id)
                break
        else:
            raise Refused("No plan that stands has this surface; it is planned anew by itself")
    bring_up_to_date(plan.house_id, {plan.room_id})
    return plan


def propose(
    room: Room, pool: PoolState, plan: BoardPlan, shapes: Mapping[str, Any] | None = None
) -> Plan:
    """Offer a plan of one pool, in place of the offer before it. `shapes` are the surfaces it was
    made for; without them they are noted with the next figures."""
    with write_turn():
        Plan.objects.filter(
            room=room, board=pool.board, thickness=pool.thickness, state=Plan.State.PROPOSED
        ).delete()
        return Plan.objects.create(
            house_id=room.house_id,
            room=room,
            board=pool.board,
            thickness=pool.thickness,
            pool=pool.digest,
            schema=PLAN_SCHEMA,
            data=codec.write(plan),
            shapes=dict(shapes or {}),
            total=str(plan.total),
            bound=str(plan.bound.value),
            basis=plan.bound.basis.value,
        )
