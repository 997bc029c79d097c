"""Results are worked out here, on write, and nowhere else. Plans are accepted and given up here."""

from __future__ import annotations

import logging
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet, Value
from django.db.models.functions import Least, Now

from remodel.board import queue
from remodel.board.models import Figures, Plan, Result, RoomResult
from remodel.board.queries import RESULT_TABLES, figures_are_stale, head_of, pile_result_of
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
from remodel.bridge.plans import PLAN_SCHEMA, BoardPlan, PoolKey, numbered_beside, plan_from
from remodel.bridge.sheet_lists import listed_sheets
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
    "tell_worker",
    "up_to_date",
]

log = logging.getLogger(__name__)

PILE_AT_ONCE = 3  # rooms; a larger pile takes longer than one waits for an edit
PILES_AT_ONCE = 3  # piles; a write that changes more of them leaves them to the worker
STANDING = (Plan.State.ACCEPTED, Plan.State.ORDERED, Plan.State.CUT, Plan.State.HUNG)

# Told how many rooms of the house have figures of now, and of how many; says whether to go on.
OnProgress = Callable[[int, int], bool]


def recompute_written(touched: Touched) -> None:
    """Work out again the houses whose results a write may have changed."""
    for house, tables in touched.houses.items():
        if any(table.startswith(RESULT_TABLES) for table in tables):
            bring_up_to_date(house, touched.rooms)


def bring_up_to_date(house: UUID, written: Collection[UUID] = ()) -> None:
    """`recompute` after a write that stands. `written` are the rooms that it touched.

    Where a worker is here and more than a few piles changed, the worker is told to work them out,
    and the figures are old until it has. The piles of the rooms in `written` are worked out at once
    as long as they are few: a person who edits a room wants to see what became of it.

    An outage raises nothing, because the write stands all the same. The figures are known to be
    stale then, and the worker brings them up to date.
    """
    try:
        recompute(house, written=written)
    except Exception as error:
        outage = outage_of(error)
        if outage is None:
            raise
        drop_connection()
        # `Figures` still holds an older change than the write, and by that the worker knows.
        log.warning("Figures of house %s wait for the worker, for %s", house, outage.value)


def recompute(
    house: House | UUID,
    *,
    whole: bool = False,
    written: Collection[UUID] | None = None,
    on_progress: OnProgress | None = None,
) -> None:
    """Bring every room's stored result up to date. Only piles whose input changed are worked
    out.

    The rooms of a large pile are worked out each by itself, and the worker works out the shared
    plan later. With `whole`, or where no worker is here, the shared plan is worked out at once.
    With `written`, piles of other rooms are left to the worker where they are many (see
    `bring_up_to_date`).

    Each pile is worked out first and saved then, in one short transaction. Where another write
    came between, nothing more is saved and the work begins again.
    """
    key = house.pk if isinstance(house, House) else house
    # Each further round means that another write came between. Where five did, the figures stay
    # stale and the worker brings them up to date.
    for _ in range(5):
        if _recompute(key, whole=whole, written=written, on_progress=on_progress):
            return


def up_to_date(house: House) -> None:
    """Work out all that is old or still to come in a house's figures, however long it takes: an
    order is made from them."""
    if figures_are_stale(house.pk) or piles_wait(house):
        recompute(house, whole=True)


def piles_wait(house: House | None = None) -> bool:
    """Whether rooms bought together are still worked out each by itself."""
    waiting = _waiting()
    return (waiting.filter(room__house=house) if house else waiting).exists()


def _waiting() -> QuerySet[RoomResult]:
    return RoomResult.objects.filter(pile_waits=True, room__deleted_at=None)


@dataclass(frozen=True, slots=True)
class _Input:
    """All that one pile's result is worked out from, and the digest that names it.

    `waits` says that the rooms of a pile are to be worked out each by itself, so that their shared
    plan is still to come.
    """

    pile: Pile
    plans: dict[PoolKey, GivenPlan]
    warm_start: list[BoardPlan]
    digest: str
    waits: bool


@dataclass(frozen=True, slots=True)
class _Outcome:
    """The result of a pile. `takes` says what the ticks of each room use up, by the room's key and
    as it is stored. `is_new` says that no such result is stored yet."""

    given: _Input
    result: PileResult
    takes: dict[str, list[Any]]
    is_new: bool


class _Round:
    """A house as one round of `recompute` read it, with what is stored of its rooms."""

    def __init__(self, house: House, *, whole: bool) -> None:
        self.house = house
        self.rooms = {room.key: room for room in house.rooms.all()}
        self.stored = {
            result.room_id: result
            for result in RoomResult.objects.filter(room__house=house).defer("takes")
        }
        self._cut = _offcuts_cut(house)
        self.worker_here = queue.worker_is_here()
        self._whole = whole
        self._plans = _given_plans(house)
        digests = [result.digest for result in self.stored.values()]
        there = Result.objects.filter(digest__in=digests).values_list("digest", flat=True)
        self._there = frozenset(there)
        self._inputs: dict[str, tuple[dict[str, int], _Input]] = {}

    def input_of(self, whole_pile: Pile, used: Mapping[str, int]) -> _Input:
        """What a pile is worked out from, where the piles before it took the owned sheets in
        `used`."""
        # A house is gone through twice: to see what changed, and to work it out.
        before = self._inputs.get(whole_pile.head)
        if before is not None and before[0] == used:
            return before[1]
        given = self._read_input(whole_pile, used)
        self._inputs[whole_pile.head] = (dict(used), given)
        return given

    def _read_input(self, whole_pile: Pile, used: Mapping[str, int]) -> _Input:
        # What this pile cut itself its own plan goes on taking.
        pile = left_after(whole_pile, Counter(used) - self._cut_in(whole_pile))
        plans = self._plans.get(self.rooms[pile.head].pk, {})
        warm_start = _plans_apart(pile, self.rooms, self._plans)
        # Plans that stand, and those a pile begins from, change the result as much as the rooms do,
        # so they are part of its name.
        digest = codec.digest(
            pile.digest(),
            [(*key, plan.digest, plan.fits, plan.accepted) for key, plan in sorted(plans.items())],
            [codec.digest(plan) for plan in warm_start],
        )
        waits = (
            not self._whole
            and self.worker_here
            and len(pile.heads) > PILE_AT_ONCE
            and not self._is_kept(digest)
        )
        if waits:
            # What is worked out room by room is another result, and must not be taken for the whole
            # one.
            digest = codec.digest(digest, "at once")
        return _Input(pile, plans, warm_start, digest, waits)

    def stands(self, given: _Input) -> bool:
        """Whether the rooms of a pile have the result of this input already."""
        mine = [self.stored.get(self.rooms[key].pk) for key in given.pile.rooms]
        return given.digest in self._there and all(
            stored is not None and stored.digest == given.digest for stored in mine
        )

    def all_cut(self) -> Counter[str]:
        """The offcuts that were cut up in any room: gone, whatever plans take now."""
        return sum(self._cut.values(), Counter())

    def _cut_in(self, pile: Pile) -> Counter[str]:
        return sum((self._cut.get(key, Counter()) for key in pile.rooms), Counter())

    def used_by(self, pile: Pile, result: PileResult | None = None) -> Counter[str]:
        """The offcuts that a pile's result takes, or the one that is stored of it, besides those
        that it cut up already."""
        if result is not None:
            return Counter(dict(result.used)) - self._cut_in(pile)
        stored = self.stored.get(self.rooms[pile.head].pk)
        return Counter(stored.used if stored is not None else {}) - self._cut_in(pile)

    def changed(self, piles: Iterable[Pile]) -> list[Pile]:
        """The piles whose results are not of now.

        Owned sheets are taken as the stored results take them. Where that changes, a pile after it
        may change too, and is not in the list.
        """
        used = self.all_cut()
        changed = []
        for pile in piles:
            if not self.stands(self.input_of(pile, used)):
                changed.append(pile)
            used.update(self.used_by(pile))
        return changed

    def _is_kept(self, digest: str) -> bool:
        return digest in self._there or Result.objects.filter(digest=digest).exists()


def _recompute(
    key: UUID,
    *,
    whole: bool,
    written: Collection[UUID] | None,
    on_progress: OnProgress | None,
) -> bool:
    """Work the house out once. False where another write came between reading and saving."""
    # Read before the rows: whatever is written after this line is noticed before anything is saved.
    mark = _last_change(key)
    row = House.objects.filter(pk=key).first()
    if row is None:
        return True
    figures, _ = Figures.objects.get_or_create(house=row)
    work = _Round(whole_house(row), whole=whole)
    try:
        piles = piles_in(house_value(work.house))
    except TakeoffError as error:
        _refuse(work.rooms.values(), work.stored, str(error))
        _note_how_far(figures, mark)
        return True
    may_leave = written is not None and work.worker_here
    touched = {key for key, room in work.rooms.items() if room.pk in (written or ())}
    changed = work.changed(piles) if may_leave or on_progress is not None else []
    old_rooms = {room for pile in changed for room in pile.rooms}
    for_worker = _for_worker(work, changed, touched) if may_leave else set()
    others_done = 0
    used = work.all_cut()
    for whole_pile in piles:
        if whole_pile.head in for_worker:
            used.update(work.used_by(whole_pile))
            continue
        given = work.input_of(whole_pile, used)
        if work.stands(given):
            # Nothing changed here. The piles after this one still have to know which owned
            # sheets it uses.
            used.update(work.used_by(whole_pile))
            continue
        if may_leave and touched.isdisjoint(whole_pile.rooms):
            others_done += 1
            # The pile was not counted as changed: a pile before it takes other owned sheets now.
            if others_done > PILES_AT_ONCE:
                for_worker.add(whole_pile.head)
                old_rooms |= set(whole_pile.rooms)
                used.update(work.used_by(whole_pile))
                continue
        if on_progress and not on_progress(len(work.rooms) - len(old_rooms), len(work.rooms)):
            return True
        mine = [work.rooms[key] for key in given.pile.rooms]
        old_rooms -= set(given.pile.rooms)
        try:
            outcome = _outcome_of(given)
        except TakeoffError as error:
            _refuse(mine, work.stored, str(error))
            continue
        used.update(work.used_by(whole_pile, outcome.result))
        with write_turn():
            # The work above took long and held no lock. Where somebody wrote meanwhile, this result
            # is of rows that are no more, and may even be older than what is stored.
            if _last_change(row.pk) != mark:
                return False
            _save(work.house, mine, outcome, work.stored)
    if for_worker:
        tell_worker(row, (len(work.rooms) - len(old_rooms), len(work.rooms)))
    else:
        _note_how_far(figures, mark)
    return True


def _outcome_of(given: _Input) -> _Outcome:
    """The result of a pile, worked out where none is kept. Raises `TakeoffError` where a room
    cannot be built."""
    # After an undo the digest is one of before, and its result is still kept.
    kept = Result.objects.filter(digest=given.digest).values_list("data", flat=True).first()
    result = (
        codec.read(PileResult, kept)
        if kept is not None
        else work_out_pile(given.pile, given.plans, given.warm_start, without_pooling=given.waits)
    )
    # They follow from the result, so they are not kept with it a second time.
    takes = {room.key: write_takes(room) for room in takes_of_pile(given.pile.house, result)}
    return _Outcome(given, result, takes, is_new=kept is None)


def _offcuts_cut(house: House) -> dict[str, Counter[str]]:
    """The offcuts that were cut up, by the room they were cut in."""
    cut: dict[str, Counter[str]] = {}
    rows = house.cut_sheets.exclude(owned=None).values_list("room__key", "owned__key")
    for room, offcut in rows:
        cut.setdefault(room, Counter())[offcut] += 1
    return cut


def _for_worker(work: _Round, changed: Sequence[Pile], touched: Collection[str]) -> set[str]:
    """The head rooms of the changed piles that a write leaves to the worker: those of the rooms it
    touched, those of other rooms, or both, wherever they are more than a few."""
    mine = [pile.head for pile in changed if not set(pile.rooms).isdisjoint(touched)]
    others = [pile.head for pile in changed if pile.head not in mine]
    return {head for heads in (mine, others) if len(heads) > PILES_AT_ONCE for head in heads}


def tell_worker(house: House, progress: tuple[int, int] | None = None) -> None:
    """Queue a house whose figures are old, or whose piles wait. `progress` is how many of its rooms
    have figures of now, and how many rooms it has.

    A house that waits or runs is left where it is: a second start would take it from its worker,
    which looks again before it ends.
    """
    rows = Figures.objects.filter(house=house)
    if progress is not None:
        rows.update(rooms_done=progress[0], rooms=progress[1])
    rows.filter(state__in=(Figures.State.DONE, Figures.State.FAILED)).update(
        state=Figures.State.WAITING, queued_at=Now(), owner="", attempts=0
    )


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
    pile, digest, waits = outcome.given.pile, outcome.given.digest, outcome.given.waits
    result = outcome.result
    summaries = {summary.key: summary for summary in result.summaries}
    if outcome.is_new:
        Result.objects.update_or_create(digest=digest, defaults={"data": codec.write(result)})
    sheets = codec.write(listed_sheets(pile.house, result))
    for room in rooms:
        last = stored.get(room.pk)
        # What stood for a moment is not what was before: the last change is told from what stood
        # before that.
        passing = last is not None and last.pile_waits
        RoomResult.objects.update_or_create(
            room=room,
            defaults={
                "digest": digest,
                "last_digest": (last.last_digest if passing else last.digest) if last else "",
                "summary": codec.write(summaries[room.key]),
                "takes": outcome.takes[room.key],
                "before": (last.before if passing else last.summary or last.before)
                if last
                else None,
                "pile_waits": waits,
                "sheets": sheets if room.key == pile.head else [],
                "used": dict(result.used) if room.key == pile.head else {},
                "refusal": "",
            },
        )
    if waits:
        # Without this the worker would not know of the pile, for the figures as such are not stale.
        tell_worker(house)
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
                "sheets": [],
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
        _number_beside_others(plan)
        plan.state, plan.person = Plan.State.ACCEPTED, by.person
        plan.save()
        _plans_changed(plan.house_id)
    bring_up_to_date(plan.house_id, {plan.room_id})
    return plan


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


def plan_leave(*, by: By, plan: Plan) -> Plan:
    """Give up a proposed or an accepted plan. It is kept, and can be accepted again while it
    fits."""
    if plan.state not in (Plan.State.PROPOSED, Plan.State.ACCEPTED):
        raise Refused("Boards of this plan are ordered or cut already, so it cannot be left")
    plan.state, plan.person = Plan.State.LEFT, by.person
    with write_turn():
        plan.save()
        _plans_changed(plan.house_id)
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
