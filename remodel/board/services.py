"""Results are worked out here, on write, and nowhere else. Plans are accepted and given up here."""

from __future__ import annotations

import logging
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any
from uuid import UUID, uuid4

from django.db.models import F, QuerySet, Value
from django.db.models.functions import Least, Now
from django.utils import timezone

from remodel.board import hooks, queue
from remodel.board.facts import HouseFacts
from remodel.board.models import Figures, Mark, PlacedPiece, Plan, Result, RoomResult
from remodel.board.queries import RESULT_TABLES, figures_are_stale, head_of, pile_result_of
from remodel.bridge import codec, house_value
from remodel.bridge.lengths import TakeoffError
from remodel.bridge.piles import (
    GivenPlan,
    Pile,
    WorkedOut,
    counts_as_bought,
    engine_version,
    left_after,
    only_taken,
    piles_in,
    shapes_in,
    shapes_now,
    with_whole_sheets,
    work_out_pile,
)
from remodel.bridge.placed import marks_in
from remodel.bridge.plans import PLAN_SCHEMA, BoardPlan, PoolKey, plan_from
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
    "pile_at_hand",
    "piles_wait",
    "plan_accept",
    "plan_keep",
    "plan_leave",
    "plan_set_state",
    "plans_changed",
    "plans_keep",
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
    as it is stored. `is_new` says that no such result is stored yet. `made` are the plans that take
    the place of plans that fell, and `back` those that fell before and stand again."""

    given: _Input
    digest: str
    result: PileResult
    takes: dict[str, list[Any]]
    is_new: bool
    worked: WorkedOut | None = None
    made: Mapping[PoolKey, GivenPlan] | None = None
    back: bool = False


class _Round:
    """A house as one round of `recompute` read it, with what is stored of its rooms."""

    def __init__(self, house: House, *, whole: bool) -> None:
        self.house = house
        self.rooms = {room.key: room for room in house.rooms.all()}
        self.stored = {
            result.room_id: result
            for result in RoomResult.objects.filter(room__house=house).defer("takes")
        }
        self.facts = HouseFacts(house)
        self.worker_here = queue.worker_is_here()
        self._whole = whole
        self.given = _given_plans(house)
        digests = [result.digest for result in self.stored.values()]
        there = Result.objects.filter(digest__in=digests).values_list("digest", flat=True)
        self._there = frozenset(there)
        self._inputs: dict[str, tuple[dict[str, int], _Input]] = {}

    def in_order(self, piles: Iterable[Pile]) -> list[Pile]:
        """The piles in the order they take what is at hand: those with a plan that stands first,
        for what it takes is theirs; then as they are hung."""
        return sorted(piles, key=lambda pile: not self._has_accepted(pile))

    def _has_accepted(self, pile: Pile) -> bool:
        return any(plan.accepted for plan in self.plans_of(pile).values())

    def plans_of(self, pile: Pile) -> dict[PoolKey, GivenPlan]:
        return self.given.get(self.rooms[pile.head].pk, {})

    @cached_property
    def _at_hand(self) -> hooks.SheetsAtHand:
        return hooks.sheets_at_hand(self.house)

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
        pile = with_whole_sheets(pile, self._whole_sheets_for(whole_pile, used))
        plans = self.plans_of(pile)
        warm_start = _plans_apart(pile, self.rooms, self.given)
        digest = self._digest(pile, plans, warm_start)
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

    def _digest(
        self, pile: Pile, plans: Mapping[PoolKey, GivenPlan], warm_start: Sequence[BoardPlan]
    ) -> str:
        """The name of a pile's result. Plans that stand, and those a pile begins from, change the
        result as much as the rooms do, so they are part of it."""
        accepted = [plan.plan for plan in plans.values() if plan.accepted]
        if accepted:
            # What else is at hand changes nothing of a plan that stands.
            pile = only_taken(pile, accepted)
        return codec.digest(
            pile.digest(),
            [(*key, plan.name, plan.accepted) for key, plan in sorted(plans.items())],
            [codec.digest(plan) for plan in warm_start],
            self.facts.off_plan(pile.rooms),
        )

    def renamed(self, given: _Input, plans: Mapping[PoolKey, GivenPlan]) -> str:
        """The name of the result of the same pile with other plans."""
        digest = self._digest(given.pile, plans, given.warm_start)
        return codec.digest(digest, "at once") if given.waits else digest

    def _whole_sheets_for(self, pile: Pile, used: Mapping[str, int]) -> Counter[str]:
        """The whole sheets at hand for a pile: those kept for its rooms, those that are free, and
        those it cut already."""
        return (
            self._held_for(pile)
            + (Counter(dict(self._at_hand.free)) - Counter(used))
            + self.facts.sheets_cut(pile.rooms)
        )

    def _held_for(self, pile: Pile) -> Counter[str]:
        mine = [self._at_hand.held.get(self.rooms[key].pk, {}) for key in pile.rooms]
        return sum((Counter(dict(held)) for held in mine), Counter())

    def stands(self, given: _Input) -> bool:
        """Whether the rooms of a pile have the result of this input already."""
        mine = [self.stored.get(self.rooms[key].pk) for key in given.pile.rooms]
        return given.digest in self._there and all(
            stored is not None and stored.digest == given.digest for stored in mine
        )

    def all_cut(self) -> Counter[str]:
        """The offcuts that were cut up in any room: gone, whatever plans take now."""
        return self.facts.all_offcuts_cut()

    def _cut_in(self, pile: Pile) -> Counter[str]:
        return self.facts.offcuts_cut(pile.rooms)

    def used_by(self, pile: Pile, result: PileResult | None = None) -> Counter[str]:
        """What a pile's result takes of the offcuts and the free whole sheets, or the one that is
        stored of it, besides what it cut up already."""
        if result is None:
            stored = self.stored.get(self.rooms[pile.head].pk)
            taken = Counter(stored.used if stored is not None else {})
        else:
            taken = Counter(dict(result.used))
        taken -= self._cut_in(pile) + self.facts.sheets_cut(pile.rooms)
        return taken - self._held_for(pile)

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

    def outcome_of(self, given: _Input) -> _Outcome:
        """The result of a pile, worked out where none is kept. Raises `TakeoffError` where a room
        cannot be built."""
        # After an undo the digest is one of before, and its result is still kept.
        kept = Result.objects.filter(digest=given.digest).values_list("data", flat=True).first()
        if kept is not None:
            return _Outcome(
                given,
                given.digest,
                *_with_takes(given, codec.read(PileResult, kept)),
                is_new=False,
            )
        back = self._plans_before(given)
        if back is not None:
            worked = self._work_out(given, back)
            if worked.renewed is None:
                return self._outcome(given, worked, back, back=True)
        worked = self._work_out(given, given.plans)
        if worked.renewed is None:
            return self._outcome(given, worked, given.plans)
        made = dict(given.plans)
        pools = {(pool.board, pool.thickness): pool for pool in worked.result.pools}
        for key, plan in worked.renewed.plans.items():
            if (key in given.plans and given.plans[key].accepted) or self._is_begun(given, plan):
                made[key] = GivenPlan(
                    plan=plan,
                    digest=pools[key].digest,
                    accepted=True,
                    name=str(uuid4()),
                    shapes=worked.shapes[key],
                )
        for key in set(made) - set(pools):
            if made[key].accepted:
                del made[key]  # no surface is of this board any more
        return self._outcome(given, worked, made)

    def _is_begun(self, given: _Input, plan: BoardPlan) -> bool:
        """Whether a plan that was just made holds boards or sheets that are there already."""
        done = self._done(given, given.plans)
        cut = {sheet.code for sheet in done.sheets} | {board.mark for board in done.boards}
        return any(sheet.code in cut for sheet in plan.sheets) or any(
            piece.code in cut for surface in plan.surfaces for piece in surface.pieces
        )

    def _outcome(
        self,
        given: _Input,
        worked: WorkedOut,
        plans: Mapping[PoolKey, GivenPlan],
        *,
        back: bool = False,
    ) -> _Outcome:
        changed = plans is not given.plans
        return _Outcome(
            given,
            self.renamed(given, plans) if changed else given.digest,
            *_with_takes(given, worked.result),
            is_new=True,
            worked=worked,
            made=plans if changed else None,
            back=back,
        )

    def _done(self, given: _Input, plans: Mapping[PoolKey, GivenPlan]) -> Any:
        accepted = [plan for plan in plans.values() if plan.accepted]
        owned = {sheet.id for sheet in given.pile.house.rules.owned}
        return self.facts.done_in(
            given.pile.rooms,
            [(plan.plan, plan.shapes or shapes_now(given.pile, plan.plan)) for plan in accepted],
            owned,
        )

    def _work_out(self, given: _Input, plans: Mapping[PoolKey, GivenPlan]) -> WorkedOut:
        cut = self._cut_in(given.pile) + self.facts.sheets_cut(given.pile.rooms)
        return work_out_pile(
            left_after(given.pile, cut),
            plans,
            given.warm_start,
            done=self._done(given, plans),
            without_pooling=given.waits,
        )

    def _plans_before(self, given: _Input) -> dict[PoolKey, GivenPlan] | None:
        """The plans that fell last, where nothing was ticked, ordered or counted since: an edit
        that is taken back brings them back."""
        names = [plan.name for plan in given.plans.values() if plan.accepted]
        rows = Plan.objects.filter(
            pk__in=names, instead_of__state=Plan.State.FALLEN
        ).select_related("instead_of")
        before = dict(given.plans)
        for row in rows:
            if row.instead_of is None or self._anything_since(row):
                return None
            before[row.board, row.thickness] = _given(row.instead_of, accepted=True)
        return before if rows else None

    def _anything_since(self, row: Plan) -> bool:
        # These tables belong to apps above this one.
        house, since = self.house, row.made_at
        return (
            house.movements.filter(at__gt=since).exists()
            or house.placed_pieces.filter(cut_at__gt=since).exists()
            or house.placed_pieces.filter(hung_at__gt=since).exists()
            or house.placed_pieces.filter(ended_at__gt=since).exists()
            or house.orders.filter(placed_at__gt=since).exists()
        )


def pile_at_hand(house: UUID, head: str) -> Pile | None:
    """The pile of a head room, with what is at hand for it besides what other piles take; None
    where there is no such pile any more. Raises `TakeoffError` where the house cannot be built."""
    try:
        row = whole_house(house)
    except House.DoesNotExist:  # removed meanwhile
        return None
    work = _Round(row, whole=True)
    used = work.all_cut()
    for pile in work.in_order(piles_in(house_value(row))):
        if pile.head == head:
            return work.input_of(pile, used).pile
        used.update(work.used_by(pile))
    return None


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
        piles = work.in_order(piles_in(house_value(work.house)))
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
            outcome = work.outcome_of(given)
        except TakeoffError as error:
            _refuse(mine, work.stored, str(error))
            continue
        used.update(work.used_by(whole_pile, outcome.result))
        with write_turn():
            # The work above took long and held no lock. Where somebody wrote meanwhile, this result
            # is of rows that are no more, and may even be older than what is stored.
            if _last_change(row.pk) != mark:
                return False
            _save(work.house, mine, outcome, work)
    if for_worker:
        tell_worker(row, (len(work.rooms) - len(old_rooms), len(work.rooms)))
    else:
        _note_how_far(figures, mark)
    return True


def _with_takes(given: _Input, result: PileResult) -> tuple[PileResult, dict[str, list[Any]]]:
    # They follow from the result, so they are not kept with it a second time.
    takes = {room.key: write_takes(room) for room in takes_of_pile(given.pile.house, result)}
    return result, takes


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


def plans_changed(house: UUID) -> None:
    """Mark the figures as stale until `recompute` has seen the plans. Called inside the write of a
    plan."""
    Figures.objects.get_or_create(house_id=house)
    # Plans are not in the history, so no change tells of them. Each write of a plan takes one away:
    # a `recompute` that began before it expects another number, and cannot note that all is well.
    Figures.objects.filter(house=house).update(change=Least(F("change"), Value(0)) - 1)


def _last_change(house: UUID) -> int | None:
    return Change.objects.filter(house=house).order_by("-id").values_list("id", flat=True).first()


def _given_plans(house: House) -> dict[UUID, dict[PoolKey, GivenPlan]]:
    """The plans of each head room: those that stand, and where none does the better one that was
    found."""
    plans: dict[UUID, dict[PoolKey, GivenPlan]] = {}
    rows = Plan.objects.filter(house=house, state__in=(Plan.State.PROPOSED, *STANDING))
    for row in rows:
        mine = plans.setdefault(row.room_id, {})
        stands = row.state != Plan.State.PROPOSED
        if stands or (row.board, row.thickness) not in mine:
            mine[row.board, row.thickness] = _given(row, accepted=stands)
    return plans


def _given(row: Plan, *, accepted: bool) -> GivenPlan:
    return GivenPlan(
        plan=plan_from(row.data),
        digest=row.pool,
        accepted=accepted,
        name=str(row.pk),
        shapes=row.shapes,
    )


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


def _save(house: House, rooms: list[Room], outcome: _Outcome, work: _Round) -> None:
    pile, digest, waits = outcome.given.pile, outcome.digest, outcome.given.waits
    result = outcome.result
    head = next(room for room in rooms if room.key == pile.head)
    by_key = {room.key: room for room in rooms}
    if outcome.made is not None:
        _plans_follow(head, by_key, outcome, outcome.made)
    elif outcome.worked is not None:
        _keep_shapes(outcome)
    summaries = {summary.key: summary for summary in result.summaries}
    if outcome.is_new:
        Result.objects.update_or_create(digest=digest, defaults={"data": codec.write(result)})
    sheets = codec.write(listed_sheets(pile.house, result))
    for room in rooms:
        last = work.stored.get(room.pk)
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
    # A pile that waits is worked out anew soon: a search for its rooms apart would be in vain. What
    # is cut or hangs is not searched around.
    searched = not waits and not work.facts.any_in(pile.rooms)
    queue.seek(house, head, result.pools, search=searched)
    for room in rooms:
        if room.key in pile.heads[1:]:
            queue.seek(house, room, [])  # what was sought or offered for it alone
    _forget(rooms, work.stored)


def _keep_shapes(outcome: _Outcome) -> None:
    """Note what surfaces a plan was made for, where an older version did not."""
    assert outcome.worked is not None
    for key, plan in outcome.given.plans.items():
        if plan.accepted and not plan.shapes:
            shapes = outcome.worked.shapes.get(key, {})
            Plan.objects.filter(pk=plan.name).update(shapes=shapes)
            note_marks(Plan.objects.get(pk=plan.name), plan.plan)


def _plans_follow(
    head: Room,
    rooms: Mapping[str, Room],
    outcome: _Outcome,
    made: Mapping[PoolKey, GivenPlan],
) -> None:
    """Let the plans of a pile be those that were made in the place of fallen ones, or the fallen
    ones that stand again."""
    pools = {(pool.board, pool.thickness): pool for pool in outcome.result.pools}
    for key, before in outcome.given.plans.items():
        if not before.accepted or (key in made and made[key].name == before.name):
            continue
        old = Plan.objects.get(pk=before.name)
        if outcome.back:
            # The plan that took over was never used; the one before goes on as it was.
            stands = Plan.objects.get(pk=made[key].name)
            _retire(old, [])
            old.delete()
            stands.state = stands.fallen_from or Plan.State.ACCEPTED
            stands.save(update_fields=["state"])
            note_marks(stands, made[key].plan)
            continue
        state = old.state
        Plan.objects.filter(pk=old.pk).update(state=Plan.State.FALLEN, fallen_from=state)
        if key not in made:
            _retire(old, [])
            continue
        _make_plan(head, pools[key], made[key], old=old, note=_what_changed(outcome, key))
    for key, plan in made.items():
        if plan.accepted and key not in outcome.given.plans:
            _make_plan(head, pools[key], plan, old=None, note="")
    renewed = outcome.worked.renewed if outcome.worked is not None else None
    if renewed is not None:
        hooks.tell_renewed(
            head,
            renewed.spare,
            tuple(sheet for plan in renewed.plans.values() for sheet in plan.sheets),
        )


def _make_plan(
    head: Room, pool: PoolState, made: GivenPlan, *, old: Plan | None, note: str
) -> None:
    """Store a plan that was made in the place of a fallen one, in the state of that one."""
    state = (old.fallen_from or old.state) if old is not None else Plan.State.ACCEPTED
    if old is not None and old.state in (Plan.State.CUT, Plan.State.HUNG):
        state = Plan.State.ORDERED  # pieces of it are open again
    Plan.objects.filter(
        room=head, board=pool.board, thickness=pool.thickness, state=Plan.State.PROPOSED
    ).delete()
    row = Plan.objects.create(
        pk=made.name,
        house_id=head.house_id,
        room=head,
        board=pool.board,
        thickness=pool.thickness,
        pool=pool.digest,
        state=state,
        schema=PLAN_SCHEMA,
        data=codec.write(made.plan),
        shapes=made.shapes,
        instead_of=old,
        note=note,
        total=str(made.plan.total),
        bound=str(made.plan.bound.value),
        basis=made.plan.bound.basis.value,
        person=old.person if old is not None else None,
    )
    if old is not None:
        _retire(old, marks_in(made.plan))
    note_marks(row, made.plan)


def _what_changed(outcome: _Outcome, key: PoolKey) -> str:
    """What a plan made in the place of a fallen one changes, in a line."""
    assert outcome.worked is not None
    assert outcome.worked.renewed is not None
    renewed, before = outcome.worked.renewed, outcome.given.plans[key].plan
    mine = {piece.code for surface in before.surfaces for piece in surface.pieces}
    struck = [mark for mark in renewed.struck if mark in mine]
    parts = []
    if struck:
        some = ", ".join(struck[:4]) + (" and others" if len(struck) > 4 else "")
        count = (
            "1 board no longer fits" if len(struck) == 1 else f"{len(struck)} boards no longer fit"
        )
        parts.append(f"{count} ({some}, not cut)")
    more = _bought(renewed.plans[key]) - _bought(before) if key in renewed.plans else 0
    if more:
        parts.append(
            f"{abs(more)} sheet{'' if abs(more) == 1 else 's'} {'more' if more > 0 else 'fewer'}"
        )
    return ". ".join(parts) + "." if parts else "Planned anew around what hangs."


def _bought(plan: BoardPlan) -> int:
    return sum(counts_as_bought(sheet) for sheet in plan.sheets)


def note_marks(row: Plan, plan: BoardPlan) -> None:
    """Note every mark of a plan that stands: none is ever given again."""
    rooms = dict(Room.objects.filter(house=row.house_id).values_list("key", "pk"))
    texts = [(rooms[key], text) for key, text in marks_in(plan) if key in rooms]
    known = {
        (mark.room_id, mark.text): mark
        for mark in Mark.objects.filter(house=row.house_id, room__in={room for room, _ in texts})
    }
    again = [known[of].pk for of in texts if of in known]
    Mark.objects.filter(pk__in=again).update(plan=row, retired_at=None)
    Mark.objects.bulk_create(
        Mark(house_id=row.house_id, room_id=room, text=text, plan=row)
        for room, text in dict.fromkeys(texts)
        if (room, text) not in known
    )


def _retire(row: Plan, still: Iterable[tuple[str, str]]) -> None:
    """Note that the marks of a plan are on no plan any more, but for those that are `still`."""
    keep = set(still)
    gone = [
        mark.pk
        for mark in Mark.objects.filter(plan=row, retired_at=None).select_related("room")
        if (mark.room.key, mark.text) not in keep
    ]
    Mark.objects.filter(pk__in=gone).update(retired_at=timezone.now())


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
            _retire(standing, marks_in(plan_from(plan.data)))
        plan.state, plan.person = state, by.person
        plan.save()
        note_marks(plan, plan_from(plan.data))
        plans_changed(plan.house_id)
    bring_up_to_date(plan.house_id, {plan.room_id})
    return plan


def _check_nothing_cut(plan: Plan) -> None:
    marks = Mark.objects.filter(plan=plan).values("room", "text")
    pieces = {(mark["room"], mark["text"]) for mark in marks}
    placed = PlacedPiece.objects.filter(house=plan.house_id).values_list("room", "mark")
    if pieces & set(placed):
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
        _retire(plan, [])
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


def propose(room: Room, pool: PoolState, plan: BoardPlan, shapes: Mapping[str, Any]) -> Plan:
    """Offer a plan of one pool, in place of the offer before it. `shapes` are the surfaces it was
    made for."""
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
            shapes=dict(shapes),
            total=str(plan.total),
            bound=str(plan.bound.value),
            basis=plan.bound.basis.value,
        )
