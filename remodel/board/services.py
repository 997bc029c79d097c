"""Results are worked out here, on write, and nowhere else. Plans are accepted and given up here."""

from __future__ import annotations

import logging
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet, Value
from django.db.models.functions import Least
from django.utils import timezone

from remodel.board import queue
from remodel.board.models import Figures, Plan, Result, RoomResult
from remodel.board.queries import RESULT_TABLES, head_of, pile_result_of
from remodel.bridge import codec, house_value
from remodel.bridge.lengths import TakeoffError
from remodel.bridge.piles import (
    GivenPlan,
    Pile,
    engine_version,
    left_after,
    piles_in,
    work_out_pile,
)
from remodel.bridge.plans import PLAN_SCHEMA, BoardPlan, PoolKey, plan_from
from remodel.bridge.takes import takes_of_pile, write_takes
from remodel.bridge.views import PileResult, PoolState
from remodel.history.errors import Refused
from remodel.history.models import Change
from remodel.history.services import By, Touched
from remodel.history.turns import write_turn
from remodel.house.models import House, Room
from remodel.house.queries import whole_house
from remodel.outages import drop_connection, outage_of

__all__ = [
    "bring_up_to_date",
    "piles_wait",
    "plan_accept",
    "plan_keep",
    "plan_leave",
    "plan_set_state",
    "plans_order",
    "plans_take_back",
    "propose",
    "recompute",
    "recompute_written",
]

log = logging.getLogger(__name__)

PILE_AT_ONCE = 3  # rooms; a larger pile takes longer than one waits for an edit
STANDING = (Plan.State.ACCEPTED, Plan.State.ORDERED, Plan.State.CUT, Plan.State.HUNG)


def recompute_written(touched: Touched) -> None:
    """Work out again the houses whose results a write may have changed."""
    for house, tables in touched.houses.items():
        if any(table.startswith(RESULT_TABLES) for table in tables):
            bring_up_to_date(house)


def bring_up_to_date(house: UUID) -> None:
    """`recompute` after a write that stands.

    An outage raises nothing, because the write stands all the same. The figures are known to be
    stale then, and the worker brings them up to date.
    """
    try:
        recompute(house)
    except Exception as error:
        outage = outage_of(error)
        if outage is None:
            raise
        drop_connection()
        # `Figures` still holds an older change than the write, and by that the worker knows.
        log.warning("Figures of house %s wait for the worker, for %s", house, outage.value)


def recompute(house: House | UUID, *, whole: bool = False) -> None:
    """Bring every room's stored result up to date. Only piles whose input changed are worked
    out.

    The rooms of a large pile are worked out each by itself, and the worker works out the shared
    plan later. With `whole`, or where no worker is here, the shared plan is worked out at once.

    Each pile is worked out first and saved then, in one short transaction. Where another write
    came between, nothing more is saved and the work begins again.
    """
    key = house.pk if isinstance(house, House) else house
    # Each further round means that another write came between. Where five did, the figures stay
    # stale and the worker brings them up to date.
    for _ in range(5):
        if _recompute(key, whole=whole):
            return


def piles_wait(house: House | None = None) -> bool:
    """Whether rooms bought together are still worked out each by itself."""
    waiting = _waiting()
    return (waiting.filter(room__house=house) if house else waiting).exists()


def _waiting() -> QuerySet[RoomResult]:
    return RoomResult.objects.filter(pile_waits=True, room__deleted_at=None)


@dataclass(frozen=True, slots=True)
class _Outcome:
    """One pile's result and the digest it is stored under.

    `takes` says what the ticks of each room use up, by the room's key and as it is stored. `is_new`
    says that no such result is stored yet. `waits` says that the rooms of a pile were worked out
    each by itself, so that their shared plan is still to come.
    """

    pile: Pile
    digest: str
    result: PileResult
    takes: dict[str, list[Any]]
    is_new: bool
    waits: bool


def _recompute(key: UUID, *, whole: bool) -> bool:
    """Work the house out once. False where another write came between reading and saving."""
    # Read before the rows: whatever is written after this line is noticed before anything is saved.
    mark = _last_change(key)
    row = House.objects.filter(pk=key).first()
    if row is None:
        return True
    figures, _ = Figures.objects.get_or_create(house=row)
    row = whole_house(row)
    rooms = {room.key: room for room in row.rooms.all()}
    results = RoomResult.objects.filter(room__house=row).defer("takes")
    stored = {result.room_id: result for result in results}
    given = _given_plans(row)
    try:
        piles = piles_in(house_value(row))
    except TakeoffError as error:
        _refuse(rooms.values(), stored, str(error))
        _note_how_far(figures, mark)
        return True
    there = set(
        Result.objects.filter(digest__in=[result.digest for result in stored.values()]).values_list(
            "digest", flat=True
        )
    )
    used: Counter[str] = Counter()
    cut = _offcuts_cut(row)
    for whole_pile in piles:
        mine_cut = sum((cut.pop(key, Counter()) for key in whole_pile.rooms), Counter())
        # What later piles cut already is gone, whatever their plans take.
        pile = left_after(whole_pile, sum(cut.values(), used))
        plans = given.get(rooms[pile.head].pk, {})
        warm_start = _plans_apart(pile, rooms, given)
        # Plans that stand, and those a pile begins from, change the result as much as the rooms do,
        # so they are part of its name.
        digest = codec.digest(
            pile.digest(),
            [(*key, plan.digest, plan.fits, plan.accepted) for key, plan in sorted(plans.items())],
            [codec.digest(plan) for plan in warm_start],
        )
        known = digest in there or Result.objects.filter(digest=digest).exists()
        without_pooling = (
            not whole and not known and len(pile.heads) > PILE_AT_ONCE and queue.worker_is_here()
        )
        if without_pooling:
            # What is worked out room by room is another result, and must not be taken for the whole
            # one.
            digest = codec.digest(digest, "at once")
        mine = [rooms[key] for key in pile.rooms]
        if digest in there and all(_stands(stored.get(room.pk), digest) for room in mine):
            # Nothing changed here. The piles after this one still have to know which owned
            # sheets it uses.
            used += Counter(stored[rooms[pile.head].pk].used) | mine_cut
            continue
        # After an undo the digest is one of before, and its result is still kept.
        kept = Result.objects.filter(digest=digest).values_list("data", flat=True).first()
        try:
            result = (
                codec.read(PileResult, kept)
                if kept is not None
                else work_out_pile(pile, plans, warm_start, without_pooling=without_pooling)
            )
        except TakeoffError as error:
            _refuse(mine, stored, str(error))
            continue
        used += Counter(dict(result.used)) | mine_cut
        # They follow from the result, so they are not kept with it a second time.
        takes = {room.key: write_takes(room) for room in takes_of_pile(pile.house, result)}
        with write_turn():
            # The work above took long and held no lock. Where somebody wrote meanwhile, this result
            # is of rows that are no more, and may even be older than what is stored.
            if _last_change(row.pk) != mark:
                return False
            outcome = _Outcome(
                pile, digest, result, takes, is_new=kept is None, waits=without_pooling
            )
            _save(row, mine, outcome, stored)
    _note_how_far(figures, mark)
    return True


def _offcuts_cut(house: House) -> dict[str, Counter[str]]:
    """The offcuts that were cut up, by the room they were cut in."""
    cut: dict[str, Counter[str]] = {}
    rows = house.cut_sheets.exclude(owned=None).values_list("room__key", "owned__key")
    for room, offcut in rows:
        cut.setdefault(room, Counter())[offcut] += 1
    return cut


def _note_how_far(figures: Figures, mark: int | None) -> None:
    """Note which change the results now hold.

    The note is written only over the one that stood at the start. Where it is another by now,
    somebody has written since, and the figures stay stale until that write is in them too.
    """
    rows = Figures.objects.filter(pk=figures.pk, change=figures.change, version=figures.version)
    if (figures.change, figures.version) != (mark or 0, engine_version()):
        rows.update(change=mark or 0, version=engine_version())


def _plans_changed(house: UUID) -> None:
    """Mark the figures as stale until `recompute` has seen the plans. Called inside the write of a
    plan."""
    Figures.objects.get_or_create(house_id=house)
    # Plans are not in the history, so no change tells of them. Each write of a plan takes one away:
    # a `recompute` that began before it expects another number, and cannot note that all is well.
    Figures.objects.filter(house=house).update(change=Least(F("change"), Value(0)) - 1)


def _last_change(house: UUID) -> int | None:
    return Change.objects.filter(house=house).order_by("-id").values_list("id", flat=True).first()


def _stands(stored: RoomResult | None, digest: str) -> bool:
    return stored is not None and stored.digest == digest


def _given_plans(house: House) -> dict[UUID, dict[PoolKey, GivenPlan]]:
    plans: dict[UUID, dict[PoolKey, GivenPlan]] = {}
    for plan in Plan.objects.filter(house=house, state__in=STANDING):
        plans.setdefault(plan.room_id, {})[plan.board, plan.thickness] = GivenPlan(
            plan=plan_from(plan.data), fits=plan.fits, digest=plan.pool, accepted=True
        )
    return plans


def _plans_apart(
    pile: Pile, rooms: dict[str, Room], given: dict[UUID, dict[PoolKey, GivenPlan]]
) -> list[BoardPlan]:
    """The plans that rooms of a pile have when bought apart. The plan of the pile begins from them
    and may cost no more."""
    heads = pile.heads
    if len(heads) == 1:
        return []
    return [
        plan.plan for head in heads for _, plan in sorted(given.get(rooms[head].pk, {}).items())
    ]


def _save(
    house: House, rooms: list[Room], outcome: _Outcome, stored: dict[UUID, RoomResult]
) -> None:
    pile, result, waits = outcome.pile, outcome.result, outcome.waits
    summaries = {summary.key: summary for summary in result.summaries}
    if outcome.is_new:
        Result.objects.update_or_create(
            digest=outcome.digest, defaults={"data": codec.write(result)}
        )
    for room in rooms:
        last = stored.get(room.pk)
        # What stood for a moment is not what was before: the last change is told from what stood
        # before that.
        passing = last is not None and last.pile_waits
        RoomResult.objects.update_or_create(
            room=room,
            defaults={
                "digest": outcome.digest,
                "last_digest": (last.last_digest if passing else last.digest) if last else "",
                "summary": codec.write(summaries[room.key]),
                "takes": outcome.takes[room.key],
                "before": (last.before if passing else last.summary or last.before)
                if last
                else None,
                "pile_waits": waits,
                "used": dict(result.used) if room.key == pile.head else {},
                "refusal": "",
            },
        )
    if waits:
        # Without this the worker would not know of the pile, for the figures as such are not stale.
        Figures.objects.filter(house=house).update(
            state=Figures.State.WAITING, queued_at=timezone.now(), owner="", attempts=0
        )
    head = next(room for room in rooms if room.key == pile.head)
    # A pile that waits is worked out anew soon: a search for its rooms apart would be in vain.
    queue.seek(
        house, head, [pool for pool in result.pools if pool.source != "accepted" and not waits]
    )
    for room in rooms:
        if room.key in pile.heads[1:]:
            queue.seek(house, room, [])  # what was sought or offered for it alone
    _forget(rooms, stored)


def _forget(rooms: list[Room], stored: dict[UUID, RoomResult]) -> None:
    """Drop the results these rooms stood at two changes ago. The result before this one is kept,
    for an undo."""
    old = {stored[room.pk].last_digest for room in rooms if room.pk in stored} - {""}
    old |= {
        stored[room.pk].digest for room in rooms if room.pk in stored and stored[room.pk].pile_waits
    }
    if old:
        kept = RoomResult.objects.values("digest").union(RoomResult.objects.values("last_digest"))
        Result.objects.filter(digest__in=old - set(kept.values_list("digest", flat=True))).delete()


def _refuse(rooms: Any, stored: dict[UUID, RoomResult], message: str) -> None:
    for room in rooms:
        last = stored.get(room.pk)
        RoomResult.objects.update_or_create(
            room=room,
            defaults={
                "digest": "",
                "last_digest": last.digest or last.last_digest if last else "",
                "summary": None,
                "takes": [],
                "before": (last.summary or last.before) if last else None,
                "pile_waits": False,
                "refusal": message,
            },
        )


def plan_accept(*, by: By, plan: Plan) -> Plan:
    """Accept a proposed plan, or the plan a room has now. Nothing replaces it from then on unless a
    person asks."""
    if plan.state not in (Plan.State.PROPOSED, Plan.State.LEFT):
        return plan
    with write_turn():
        # Read inside the turn: an order placed meanwhile may have marked the plan as ordered.
        standing = Plan.objects.select_for_update().filter(
            room=plan.room, board=plan.board, thickness=plan.thickness, state__in=STANDING
        )
        if standing.exclude(state=Plan.State.ACCEPTED).exists():
            raise Refused(
                "Boards of the plan that stands are ordered or cut already, so it cannot be "
                "replaced"
            )
        standing.update(state=Plan.State.LEFT)
        plan.state, plan.person = Plan.State.ACCEPTED, by.person
        plan.save()
        _plans_changed(plan.house_id)
    bring_up_to_date(plan.house_id)
    return plan


def plan_leave(*, by: By, plan: Plan) -> Plan:
    """Give up a proposed or an accepted plan. It is kept, and can be accepted again while it
    fits."""
    if plan.state not in (Plan.State.PROPOSED, Plan.State.ACCEPTED):
        raise Refused("Boards of this plan are ordered or cut already, so it cannot be left")
    plan.state, plan.person = Plan.State.LEFT, by.person
    with write_turn():
        plan.save()
        _plans_changed(plan.house_id)
    bring_up_to_date(plan.house_id)
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
            head = Room.objects.get(house=room.house_id, key=result.views[0].head)
            standing = Plan.objects.filter(
                room=head, board=board, thickness=thickness, state__in=STANDING
            ).first()
            # A plan that stands is shown as long as it fits, whatever prices and sheets on hand do.
            if standing and standing.fits == pool.fits:
                return standing
            return plan_accept(by=by, plan=propose(head, pool, pool.plan))
    raise Refused("There is no such plan to keep; put right what the room says first")


def plans_order(*, by: By, rooms: Iterable[Room]) -> None:
    """Mark the plans that rooms show now as ordered. The caller brings results up to date
    afterward."""
    for room in rooms:
        result = pile_result_of(room)
        if result is None:
            raise Refused(f"{room} could not be worked out; put right what it says first")
        head = Room.objects.get(house=room.house_id, key=result.views[0].head)
        for pool in result.pools:
            mine = Plan.objects.filter(room=head, board=pool.board, thickness=pool.thickness)
            standing = mine.filter(state__in=STANDING).first()
            if standing is not None and standing.fits == pool.fits:
                if standing.state == Plan.State.ACCEPTED:
                    Plan.objects.filter(pk=standing.pk).update(
                        state=Plan.State.ORDERED, person=by.person
                    )
                continue
            if standing is not None and standing.state in (Plan.State.CUT, Plan.State.HUNG):
                continue  # boards cut by it are still there; what more to buy is told by needs
            if standing is not None:
                Plan.objects.filter(pk=standing.pk).update(state=Plan.State.LEFT)
            made = propose(head, pool, pool.plan)
            Plan.objects.filter(pk=made.pk).update(state=Plan.State.ORDERED, person=by.person)
        _plans_changed(room.house_id)


def plans_take_back(*, by: By, rooms: Iterable[Room]) -> None:
    """Put the plans of rooms whose order was taken back a step back: they are accepted, and a
    person may leave them."""
    for room in rooms:
        Plan.objects.filter(room=head_of(room), state=Plan.State.ORDERED).update(
            state=Plan.State.ACCEPTED, person=by.person
        )


def propose(room: Room, pool: PoolState, plan: BoardPlan) -> Plan:
    """Offer a plan of one pool, in place of the offer before it."""
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
            fits=pool.fits,
            schema=PLAN_SCHEMA,
            data=codec.write(plan),
            total=str(plan.total),
            bound=str(plan.bound.value),
            basis=plan.bound.basis.value,
        )
