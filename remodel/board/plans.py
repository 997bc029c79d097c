"""Plans of a room accepted, ordered and given up."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Q
from django.utils import timezone

from remodel.board import hooks
from remodel.board.marks import drop_offers, note_marks, retire_marks
from remodel.board.models import Mark, PlacedPiece, Plan, SearchJob
from remodel.board.queries import begun_plans, head_of, pile_result_of
from remodel.board.rounds import STANDING
from remodel.board.services import bring_up_to_date, plans_changed
from remodel.bridge import codec, house_value, lengths
from remodel.bridge.piles import shapes_in
from remodel.bridge.placed import marks_in, with_new_marks
from remodel.bridge.plans import (
    PLAN_SCHEMA,
    BoardPlan,
    at_prices_of,
    numbered_beside,
    plan_from,
)
from remodel.bridge.views import PileResult, PoolState
from remodel.history.errors import Overtaken, Refused
from remodel.history.services import By, is_news, keep, recorded
from remodel.history.turns import write_turn
from remodel.house.models import Room
from remodel.house.queries import whole_house

__all__ = [
    "beside_noted",
    "plan_accept",
    "plan_keep",
    "plan_leave",
    "plan_note_read",
    "plan_set_state",
    "plan_stands_again",
    "plan_with",
    "plans_keep",
    "plans_order",
    "plans_swap",
    "plans_take_back",
    "propose",
    "surface_plan_anew",
]


def plan_accept(*, by: By, plan: Plan) -> Plan:
    """Accept a proposed plan, or one that was left. Nothing replaces it from then on unless a
    person asks.

    It takes the place of a plan that stands, as long as nothing is cut by that one: what was
    ordered for that one stays ordered. Raises `Refused` where boards are cut. One in whose place a
    surface was planned anew stands again, as long as nothing was done since.
    """
    with write_turn():
        # Read inside the turn: somebody may have taken the plan or changed the room meanwhile.
        _read_again(plan)
        before = plan.state
        if before == Plan.State.FALLEN:
            _go_back_to(by, plan)
        elif plan.state not in (Plan.State.PROPOSED, Plan.State.LEFT):
            return plan
        else:
            _take(by, plan)
        _tell(by, plan, "took a plan", before)
        plans_changed(plan.house_id)
    bring_up_to_date(plan.house_id, {plan.room_id})
    return plan


def plans_swap(*, by: By, plans: Iterable[Plan]) -> None:
    """Let plans on offer, or ones that were left, stand in the place of those that do, all or none.
    Called inside a write; the caller brings figures up to date with it."""
    for plan in plans:
        _read_again(plan)
        before = plan.state
        _take(by, plan)
        _tell(by, plan, "took a plan", before)
        plans_changed(plan.house_id)


def _take(by: By, plan: Plan) -> None:
    """Let a plan on offer, or one that was left, stand in the place of the one that does."""
    if plan.state == Plan.State.PROPOSED and _pool_of(plan) is None:
        raise Refused(_CHANGED)
    if plan.state == Plan.State.LEFT:
        _price_as_of_now(plan)
    if not plan.fallen_from:
        # One that stood keeps its marks, for they may be on paper.
        _number_beside_others(plan)
        plan.data = codec.write(beside_noted(plan.house_id, plan_from(plan.data)))
    standing = (
        Plan.objects.select_for_update()
        .filter(room=plan.room, board=plan.board, thickness=plan.thickness, state__in=STANDING)
        .first()
    )
    state, why = Plan.State.ACCEPTED, Plan.Why.PERSON
    if standing is not None:
        _check_nothing_cut(standing)
        state = Plan.State(standing.state)
        if state != Plan.State.ACCEPTED:
            why = Plan.Why(standing.why or why)
        Plan.objects.filter(pk=standing.pk).update(
            state=Plan.State.LEFT, fallen_from=standing.state, state_at=timezone.now()
        )
        retire_marks(standing, marks_in(plan_from(plan.data)))
    plan.state, plan.fallen_from, plan.why, plan.person = state, "", why, by.person
    plan.save()
    note_marks(plan, plan_from(plan.data))


def _go_back_to(by: By, plan: Plan) -> None:
    """Let a plan stand again in whose place a surface was planned anew."""
    instead = Plan.objects.filter(instead_of=plan, state__in=STANDING).first()
    if instead is None or not plan.anew:
        raise Refused(_CHANGED)
    if not plan_stands_again(str(plan.pk), since=instead.made_at):
        raise Refused(
            "Something was cut, hung or ordered since the surface was planned anew, so the plan "
            "before cannot be used again. To have other boards there, plan the surface anew"
        )
    Plan.objects.filter(pk=plan.pk).update(anew=[], person=by.person)
    plan.refresh_from_db()


_CHANGED = (
    "The room changed since this plan was found, so it is not offered any more. Nothing was "
    "changed; load the page again"
)


def _price_as_of_now(plan: Plan) -> None:
    """Have the sheets that a plan of before buys cost what they cost now."""
    priced = at_prices_of(house_value(whole_house(plan.house_id)), plan_from(plan.data))
    plan.data, plan.total = codec.write(priced), str(priced.total)
    plan.bound, plan.basis = str(priced.bound.value), priced.bound.basis.value


def _read_again(plan: Plan) -> None:
    """Read a plan as it is now. Raises `Refused` where it was dropped."""
    try:
        plan.refresh_from_db()
    except Plan.DoesNotExist:
        raise Refused(_CHANGED) from None


def _pool_of(plan: Plan) -> PoolState | None:
    """The pool that a plan was made for, as its room has it now; None where it changed."""
    result = pile_result_of(plan.room)
    asked = (plan.board, plan.thickness, plan.pool)
    return next(
        (
            pool
            for pool in (result.pools if result else ())
            if (pool.board, pool.thickness, pool.digest) == asked
        ),
        None,
    )


def beside_noted(house_id: UUID, plan: BoardPlan) -> BoardPlan:
    """A plan that was not used yet, without any mark that another plan of the house had."""
    taken = set(Mark.objects.filter(house=house_id).values_list("text", flat=True))
    return with_new_marks(plan, taken)


def _number_beside_others(plan: Plan) -> None:
    """Number the sheets of a plan anew where another plan that its room shows has one of their
    marks. Both may be in the same hands soon."""
    result = pile_result_of(plan.room)
    if result is None:
        return
    others = [
        pool.plan
        for pool in result.pools
        if (pool.board, pool.thickness) != (plan.board, plan.thickness)
    ]
    plan.data = codec.write(numbered_beside(plan_from(plan.data), others, result.views))


def _check_nothing_cut(plan: Plan) -> None:
    if plan.pk in begun_plans(plan.house_id):
        raise Refused(
            "Boards of the plan that stands are cut already, so another cannot take its place. To "
            "plan one surface anew around them, open that surface"
        )


def plan_leave(*, by: By, plan: Plan) -> Plan:
    """Turn a proposed plan down, or give up an accepted one. It is kept, and can be accepted
    again.

    An accepted plan that still is of its room goes on as a proposed one: it is used until a search,
    which begins anew, finds a better one.
    """
    with write_turn():
        _read_again(plan)
        if plan.state == Plan.State.LEFT:
            return plan
        if plan.state not in (Plan.State.PROPOSED, Plan.State.ACCEPTED):
            raise Refused(
                "Boards of this plan are ordered or cut already, so it stays. Take the order back "
                "first, or plan one surface anew"
            )
        before = plan.state
        if before == Plan.State.ACCEPTED:
            _check_nothing_cut(plan)
            plan.state, plan.fallen_from = _given_up(plan), Plan.State.ACCEPTED
        else:
            plan.state = Plan.State.LEFT
        plan.person, plan.why, plan.note = by.person, "", ""
        plan.save()
        if plan.state == Plan.State.LEFT:
            retire_marks(plan, [])
        offered = before == Plan.State.PROPOSED
        _tell(by, plan, "kept the current plan" if offered else "gave up a plan", before)
        plans_changed(plan.house_id)
    bring_up_to_date(plan.house_id, {plan.room_id})
    return plan


def _given_up(plan: Plan) -> Plan.State:
    """What an accepted plan becomes that a person gives up."""
    mine = {"room": plan.room_id, "board": plan.board, "thickness": plan.thickness}
    SearchJob.objects.filter(**mine, state=SearchJob.State.DONE).delete()
    better = Plan.objects.filter(**mine, state=Plan.State.PROPOSED).exists()
    stays = _pool_of(plan) is not None and not better and not _is_amiss(plan)
    return Plan.State.PROPOSED if stays else Plan.State.LEFT


def _is_amiss(plan: Plan) -> bool:
    """Whether a plan stands although something in it is amiss, for which none is proposed."""
    result = pile_result_of(plan.room)
    return any(view.amiss or view.amiss_sheets for view in (result.views if result else ()))


def plan_note_read(*, by: By, plan: Plan) -> None:
    """Note that somebody read what a plan that was made anew changed."""
    Plan.objects.filter(pk=plan.pk).exclude(note="").update(note="", person=by.person)


def plan_set_state(*, by: By, plan: Plan, state: str) -> Plan:
    """Move a plan that stands one step on (accepted, ordered, cut, hung), or one step back."""
    steps = list(STANDING)
    if plan.state not in steps or state not in steps:
        raise Refused("Accept the plan first")
    if abs(steps.index(Plan.State(plan.state)) - steps.index(Plan.State(state))) > 1:
        raise Refused("A plan goes accepted, ordered, cut, hung, one step at a time")
    with write_turn():
        before = plan.state
        plan.state, plan.person = state, by.person
        plan.save()
        if state != before:
            _tell(by, plan, f"marked a plan as {state}", before)
    return plan


def _tell(by: By, plan: Plan, what: str, before: str) -> None:
    """Keep in the history what a person did with a plan."""
    kind = plan.house.board_kinds.filter(key=plan.board).first()
    size = lengths.show_length(plan.thickness, plan.house.units)
    name = f"{kind.name if kind else plan.board}, {size}"
    keep(
        by=by,
        what=what,
        row=plan,
        house=plan.house_id,
        room=plan.room_id,
        before={"name": name, "state": str(before)},
        after={"name": name, "state": str(plan.state)},
    )


def plan_keep(*, by: By, room: Room, board: str, thickness: int) -> Plan:
    """Accept the plan that a room shows now, so that nothing replaces it. Raises `Refused` where
    the room has no such plan."""
    result = pile_result_of(room)
    for pool in result.pools if result else ():
        if (pool.board, pool.thickness) == (board, thickness) and result is not None:
            plan = _kept(by, room, result, pool, Plan.Why.PERSON)
            bring_up_to_date(plan.house_id, {plan.room_id})
            return plan
    raise Refused("There is no such plan to keep; fix what the room says first")


def plans_keep(*, by: By, room: Room, why: str = Plan.Why.PERSON) -> list[Plan]:
    """Accept every plan that a room shows now, because it is printed, ordered or cut by: `why`. The
    caller brings results up to date afterward."""
    result = pile_result_of(room)
    if result is None:
        return []
    return [_kept(by, room, result, pool, why) for pool in result.pools]


def _kept(by: By, room: Room, result: PileResult, pool: PoolState, why: str) -> Plan:
    """The plan that stands for a pool: the one that does, or the one that is shown, accepted."""
    head = Room.objects.get(house=room.house_id, key=result.views[0].head)
    with write_turn():
        mine = Plan.objects.filter(room=head, board=pool.board, thickness=pool.thickness)
        standing = mine.filter(state__in=STANDING).first()
        if standing is not None:
            return standing
        offer = mine.filter(state=Plan.State.PROPOSED).first()
        if offer is not None and plan_from(offer.data) == pool.plan:
            plan = offer
            plan.shapes = plan.shapes or shapes_in(result, pool.plan)
        else:
            plan = propose(head, pool, pool.plan, shapes_in(result, pool.plan))
        plan.state, plan.fallen_from, plan.why = Plan.State.ACCEPTED, "", why
        plan.person = by.person
        plan.save()
        if why == Plan.Why.PERSON:
            _tell(by, plan, "accepted the plan", Plan.State.PROPOSED)
        note_marks(plan, pool.plan)
        plans_changed(plan.house_id)
    return plan


def plans_order(*, by: By, rooms: Iterable[Room]) -> None:
    """Mark the plans that rooms show now as ordered. The caller brings results up to date
    afterward."""
    for room in rooms:
        if pile_result_of(room) is None:
            raise Refused(f"{room} could not be worked out; fix what it says first")
        for plan in plans_keep(by=by, room=room, why=Plan.Why.ORDERED):
            if plan.state == Plan.State.ACCEPTED:
                Plan.objects.filter(pk=plan.pk).update(state=Plan.State.ORDERED, person=by.person)


def plans_take_back(*, by: By, rooms: Iterable[Room]) -> None:
    """Put the plans of rooms whose order was taken back a step back: they are accepted, and a
    person may leave them."""
    for room in rooms:
        Plan.objects.filter(room=head_of(room), state=Plan.State.ORDERED).update(
            state=Plan.State.ACCEPTED, person=by.person
        )


def plan_stands_again(name: str, *, since: datetime, but: UUID | None = None) -> bool:
    """Let a plan stand again that fell `since`, in the place of the one that was made instead of
    it, as long as nothing was cut, hung or ordered by that one. Gives whether it does.

    `but` is the piece whose entry is taken back. Called inside a write. Cards of the other plan are
    told of as cards to throw away. Pieces that were cut and had lost their place have it again.
    """
    plan = Plan.objects.filter(pk=name, state=Plan.State.FALLEN).first()
    other = Plan.objects.filter(instead_of=plan, state__in=STANDING).first() if plan else None
    if plan is None or other is None:
        return False
    done = PlacedPiece.objects.filter(house=plan.house_id)
    if but is not None:
        done = done.exclude(pk=but)
    after = Q(cut_at__gt=since) | Q(hung_at__gt=since) | Q(ended_at__gt=since)
    if done.filter(after).exists() or plan.house.orders.filter(placed_at__gt=since).exists():
        return False
    returned = _cut_for(plan)
    if returned is None:
        return False
    Plan.objects.filter(pk=other.pk).update(state=Plan.State.FALLEN, fallen_from=other.state)
    retire_marks(other, marks_in(plan_from(plan.data)))
    Plan.objects.filter(pk=plan.pk).update(state=plan.fallen_from or Plan.State.ACCEPTED)
    note_marks(plan, plan_from(plan.data))
    # What is begun is cut further as this one says.
    hooks.tell_renewed(plan.room, (), plan_from(plan.data).sheets, returned=returned)
    return True


def _cut_for(plan: Plan) -> tuple[str, ...] | None:
    """The marks of pieces of a plan that fell which were cut and lost their place by that; None
    where what became an offcut is not there any more."""
    marks = {mark for _, mark in marks_in(plan_from(plan.data))}
    pieces = PlacedPiece.objects.filter(house=plan.house_id, mark__in=marks)
    lost = [piece for piece in pieces if piece.lost_place]
    offcuts = {piece.mark for piece in lost if piece.state == PlacedPiece.State.SPARE}
    here = plan.house.owned_sheets.filter(key__in=offcuts, cut_up=0, spoiled=0)
    if here.count() < len(offcuts):
        return None
    return tuple(piece.mark for piece in lost)


def surface_plan_anew(*, by: By, room: Room, surface: str) -> Room:
    """Plan the open pieces of one surface of a plan that stands anew; what is cut or hangs stays.
    `surface` is its id. Raises `Refused` where no plan that stands has it, and `Overtaken` where
    that is another one than the page was made from."""
    _mark_anew(by=by, room=room, surface=surface)
    bring_up_to_date(room.house_id, {room.pk})
    return room


@recorded("planned a surface anew")
def _mark_anew(*, by: By, room: Room, surface: str) -> Room:
    plan = plan_with(room, surface)
    if plan is None:
        raise Refused("No plan that stands has this surface; it is planned anew by itself")
    if is_news("plan", str(plan.pk)):
        raise Overtaken(
            "The plan of this surface changed since this page was made. Look at what it changes "
            "now, then press again"
        )
    Plan.objects.filter(pk=plan.pk).update(anew=[surface], person=by.person)
    plans_changed(plan.house_id)
    return room


def plan_with(room: Room, surface: str) -> Plan | None:
    """The plan that stands and has a surface, by its id; None where none has."""
    return next(
        (
            plan
            for plan in Plan.objects.filter(room=head_of(room), state__in=STANDING)
            if any(one["surface"] == surface for one in plan.data["surfaces"])
        ),
        None,
    )


def propose(
    room: Room, pool: PoolState, plan: BoardPlan, shapes: Mapping[str, Any] | None = None
) -> Plan:
    """Offer a plan of one pool, in place of the offer before it. `shapes` are the surfaces it was
    made for; without them they are noted with the next figures."""
    with write_turn():
        before = Plan.objects.filter(
            room=room, board=pool.board, thickness=pool.thickness, state=Plan.State.PROPOSED
        )
        # Better and better plans are told by what they save altogether.
        first = (
            before.filter(pool=pool.digest)
            .exclude(better_than="")
            .values_list("better_than", "better_than_work")
            .first()
        )
        if first is None and plan.total < pool.total:
            first = str(pool.total), pool.plan.work_cost
        better_than, better_than_work = first or ("", 0)
        drop_offers(before)
        return Plan.objects.create(
            house_id=room.house_id,
            room=room,
            board=pool.board,
            thickness=pool.thickness,
            pool=pool.digest,
            schema=PLAN_SCHEMA,
            data=codec.write(plan),
            shapes=dict(shapes or {}),
            better_than=better_than,
            better_than_work=better_than_work,
            total=str(plan.total),
            work=plan.work_cost,
            bound=str(plan.bound.value),
            basis=plan.bound.basis.value,
        )
