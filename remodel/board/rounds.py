"""A house as one round of working out reads it: its piles, the plans that stand, what is done and
at hand, and the result of each pile from all that."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any
from uuid import UUID, uuid4

from remodel.board import hooks, queue
from remodel.board.facts import HouseFacts
from remodel.board.models import PlacedPiece, Plan, Result, RoomResult
from remodel.bridge import codec, house_value
from remodel.bridge.piles import (
    GivenPlan,
    Pile,
    WorkedOut,
    left_after,
    only_taken,
    piles_in,
    shapes_now,
    with_whole_sheets,
    work_out_pile,
)
from remodel.bridge.placed import marks_in
from remodel.bridge.plans import BoardPlan, PoolKey, plan_from
from remodel.bridge.sheet_lists import taken_in_list, taken_in_plans
from remodel.bridge.takes import takes_of_pile, write_takes
from remodel.bridge.views import PileResult
from remodel.house.models import House, Room
from remodel.house.queries import whole_house

__all__ = ["STANDING", "Input", "Outcome", "Round", "pile_at_hand"]

PILE_AT_ONCE = 3  # rooms; a larger pile takes longer than one waits for an edit
STANDING = (Plan.State.ACCEPTED, Plan.State.ORDERED, Plan.State.CUT, Plan.State.HUNG)


@dataclass(frozen=True, slots=True)
class Input:
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
class Outcome:
    """The result of a pile. `takes` says what the ticks of each room use up, by the room's key and
    as it is stored. `is_new` says that no such result is stored yet. `made` are the plans that take
    the place of plans that fell, and `back` those that fell before and stand again. `around` are
    the pieces that hang or are cut and that plans were made around now, or that they stand by
    alone, and `returned` the marks of pieces that had lost their place and have it again."""

    given: Input
    digest: str
    result: PileResult
    takes: dict[str, list[Any]]
    is_new: bool
    worked: WorkedOut | None = None
    made: Mapping[PoolKey, GivenPlan] | None = None
    back: bool = False
    around: tuple[PlacedPiece, ...] = ()
    returned: tuple[str, ...] = ()

    @property
    def has_spare(self) -> bool:
        """Whether cut pieces lost their place, and are offcuts or waste from now on, or such
        pieces have it again."""
        renewed = self.worked.renewed if self.worked is not None else None
        if self.made is None or renewed is None:
            return bool(self.returned)
        return bool(renewed.spare or renewed.waste)


class Round:
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
        self._inputs: dict[str, tuple[dict[str, int], Input]] = {}
        self._order: list[Pile] = []

    def in_order(self, piles: Iterable[Pile]) -> list[Pile]:
        """The piles in the order they take what is at hand: those with a plan that stands first,
        for what it takes is theirs; then as they are hung."""
        self._order = sorted(piles, key=lambda pile: not self.has_accepted(pile))
        return self._order

    def has_accepted(self, pile: Pile) -> bool:
        """Whether a plan of a pile stands."""
        return any(plan.accepted for plan in self.plans_of(pile).values())

    def plans_of(self, pile: Pile) -> dict[PoolKey, GivenPlan]:
        return self.given.get(self.rooms[pile.head].pk, {})

    def read_stock_anew(self) -> None:
        """Forget what was at hand, because what plans that stand take has changed."""
        self.__dict__.pop("_at_hand", None)
        self._inputs.clear()

    @cached_property
    def _at_hand(self) -> hooks.SheetsAtHand:
        return hooks.sheets_at_hand(self.house)

    def input_of(self, whole_pile: Pile, used: Mapping[str, int]) -> Input:
        """What a pile is worked out from, where the piles before it took the owned sheets in
        `used`."""
        # A house is gone through twice: to see what changed, and to work it out.
        before = self._inputs.get(whole_pile.head)
        if before is not None and before[0] == used:
            return before[1]
        given = self._read_input(whole_pile, used)
        self._inputs[whole_pile.head] = (dict(used), given)
        return given

    def _read_input(self, whole_pile: Pile, used: Mapping[str, int]) -> Input:
        # What this pile cut itself its own plan goes on taking.
        taken = Counter(used) - self._cut_in(whole_pile)
        pile = left_after(whole_pile, taken + self._kept_for_others(whole_pile, taken))
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
        return Input(pile, plans, warm_start, digest, waits)

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
            [
                (*key, plan.name, plan.accepted, list(plan.anew))
                for key, plan in sorted(plans.items())
            ],
            [codec.digest(plan) for plan in warm_start],
            self.facts.off_plan(pile.rooms),
            [] if accepted else self.facts.taken(pile.rooms),
        )

    def renamed(self, given: Input, plans: Mapping[PoolKey, GivenPlan]) -> str:
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

    def _kept_for_others(self, pile: Pile, taken: Mapping[str, int]) -> Counter[str]:
        """The offcuts that plans that stand of piles after this one are to be cut from, besides
        those `taken`: also a plan that falls may not take them. What the pile's own plan is cut
        from comes first."""
        heads = [other.head for other in self._order]
        after = self._order[heads.index(pile.head) + 1 :] if pile.head in heads else []
        claimed = sum((self._claimed_by(other) for other in after), Counter[str]())
        mine = self._claimed_by(pile)
        left = {
            sheet.id: sheet.count - taken.get(sheet.id, 0) - mine[sheet.id]
            for sheet in pile.house.rules.owned
        }
        return +Counter({id_: min(count, left.get(id_, 0)) for id_, count in claimed.items()})

    def _claimed_by(self, pile: Pile) -> Counter[str]:
        """What the plans that stand of a pile are still to be cut from: offcuts, and whole sheets
        that were here."""
        return Counter(
            sheet.source
            for plan in self.plans_of(pile).values()
            if plan.accepted
            for sheet in plan.plan.sheets
            if sheet.source is not None and not self.facts.is_begun(sheet.room, sheet.code)
        )

    def _held_for(self, pile: Pile) -> Counter[str]:
        mine = [self._at_hand.held.get(self.rooms[key].pk, {}) for key in pile.rooms]
        return sum((Counter(dict(held)) for held in mine), Counter())

    def stands(self, given: Input) -> bool:
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
        stored of it, besides what it cut up already: told sheet by sheet, for one that is put back
        is taken again."""
        if result is None:
            stored = self.stored.get(self.rooms[pile.head].pk)
            sheets = taken_in_list(stored.sheets) if stored is not None else []
        else:
            sheets = taken_in_plans(result)
        taken = Counter(
            source for source, room, code in sheets if not self.facts.is_begun(room, code)
        )
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

    def outcome_of(self, given: Input) -> Outcome:
        """The result of a pile, worked out where none is kept. Raises `TakeoffError` where a room
        cannot be built."""
        # After an undo the digest is one of before, and its result is still kept.
        kept = Result.objects.filter(digest=given.digest).values_list("data", flat=True).first()
        if kept is not None:
            return Outcome(
                given,
                given.digest,
                *_with_takes(given, codec.read(PileResult, kept)),
                is_new=False,
            )
        back = self._plans_before(given)
        if back is not None:
            returned = self.facts.let_return(
                given.pile.rooms,
                {mark for plan in back.values() for _, mark in marks_in(plan.plan)},
                {sheet.id for sheet in given.pile.house.rules.owned},
            )
            marks = tuple(piece.mark for piece, _ in returned)
            without = left_after(given.pile, Counter(marks))
            worked = self._work_out(replace(given, pile=without), back)
            if worked.renewed is None:
                around = self.facts.plan_around(given.pile.rooms, worked.leaning)
                outcome = self._outcome(given, worked, back, back=True, around=around)
                return replace(outcome, returned=marks)
            self.facts.lose_again(returned)
        worked = self._work_out(given, given.plans)
        if all(self.rooms[key].finished for key in given.pile.rooms):
            # Nothing is planned in rooms that are finished, and their plans stay what they were.
            return self._outcome(given, replace(worked, renewed=None), given.plans)
        # A surface is planned anew once, also where the same came of it.
        made = {key: replace(plan, anew=()) for key, plan in given.plans.items()}
        if worked.renewed is None:
            around = self.facts.plan_around(given.pile.rooms, worked.leaning)
            return self._outcome(
                given, worked, given.plans if made == given.plans else made, around=around
            )
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
        anew = {one.surface for one in worked.renewed.fallen}
        stood = {
            surface.surface
            for plan in given.plans.values()
            if plan.accepted
            for surface in plan.plan.surfaces
        }
        planned = {s.surface for plan in worked.renewed.plans.values() for s in plan.surfaces}
        new = planned & (anew | (planned - stood))
        around = self.facts.plan_around(given.pile.rooms, worked.leaning, made=new)
        return self._outcome(given, worked, made, around=around)

    def _is_begun(self, given: Input, plan: BoardPlan) -> bool:
        """Whether a plan that was just made holds boards or sheets that are there already."""
        done = self._done(given, given.plans)
        cut = {sheet.code for sheet in done.sheets} | {board.mark for board in done.boards}
        return any(sheet.code in cut for sheet in plan.sheets) or any(
            piece.code in cut for surface in plan.surfaces for piece in surface.pieces
        )

    def _outcome(
        self,
        given: Input,
        worked: WorkedOut,
        plans: Mapping[PoolKey, GivenPlan],
        *,
        back: bool = False,
        around: Sequence[PlacedPiece] = (),
    ) -> Outcome:
        # An offer for other surfaces, prices or sheets is dropped with this result, and is no part
        # of its name: the house is not worked out a second time because it is gone.
        pools = {(pool.board, pool.thickness): pool.digest for pool in worked.result.pools}
        old = [
            key
            for key, plan in plans.items()
            if not plan.accepted and pools.get(key) != plan.digest
        ]
        if old:
            plans = {key: plan for key, plan in plans.items() if key not in old}
        changed = plans is not given.plans
        return Outcome(
            given,
            self.renamed(given, plans) if changed or around else given.digest,
            *_with_takes(given, worked.result),
            is_new=True,
            worked=worked,
            made=plans if changed else None,
            back=back,
            around=tuple(around),
        )

    def _done(self, given: Input, plans: Mapping[PoolKey, GivenPlan]) -> Any:
        accepted = [plan for plan in plans.values() if plan.accepted]
        owned = {sheet.id for sheet in given.pile.house.rules.owned}
        return self.facts.done_in(
            given.pile.rooms,
            [(plan.plan, plan.shapes or shapes_now(given.pile, plan.plan)) for plan in accepted],
            owned,
        )

    def _work_out(self, given: Input, plans: Mapping[PoolKey, GivenPlan]) -> WorkedOut:
        cut = self._cut_in(given.pile) + self.facts.sheets_cut(given.pile.rooms)
        return work_out_pile(
            left_after(given.pile, cut),
            plans,
            given.warm_start,
            done=self._done(given, plans),
            without_pooling=given.waits,
        )

    def _plans_before(self, given: Input) -> dict[PoolKey, GivenPlan] | None:
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
            earlier = _given(row.instead_of, accepted=True)
            if not self.facts.cut_as_in(given.pile.rooms, earlier.plan):
                return None  # what was told of a piece then was undone since
            before[row.board, row.thickness] = earlier
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
    work = Round(row, whole=True)
    used = work.all_cut()
    for pile in work.in_order(piles_in(house_value(row))):
        if pile.head == head:
            return work.input_of(pile, used).pile
        used.update(work.used_by(pile))
    return None


def _with_takes(given: Input, result: PileResult) -> tuple[PileResult, dict[str, list[Any]]]:
    # They follow from the result, so they are not kept with it a second time.
    takes = {room.key: write_takes(room) for room in takes_of_pile(given.pile.house, result)}
    return result, takes


def _given_plans(house: House) -> dict[UUID, dict[PoolKey, GivenPlan]]:
    """The plans of each head room: those that stand, and where none does the better one that was
    found."""
    plans: dict[UUID, dict[PoolKey, GivenPlan]] = {}
    rows = Plan.objects.filter(house=house, state__in=(Plan.State.PROPOSED, *STANDING))
    for row in rows:
        mine = plans.setdefault(row.room_id, {})
        stands = row.state != Plan.State.PROPOSED
        if not stands and (row.board, row.thickness) in mine:
            continue
        try:
            mine[row.board, row.thickness] = _given(row, accepted=stands)
        except (KeyError, TypeError, ValueError):
            if stands:
                raise
            # An offer of an older shape is none.
    return plans


def _given(row: Plan, *, accepted: bool) -> GivenPlan:
    return GivenPlan(
        plan=plan_from(row.data),
        digest=row.pool,
        accepted=accepted,
        name=str(row.pk),
        shapes=row.shapes,
        anew=tuple(row.anew),
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
