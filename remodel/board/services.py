"""Results are worked out here, on write, and nowhere else."""

from __future__ import annotations

import logging
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from datetime import timedelta
from enum import Enum, auto
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet, Value
from django.db.models.functions import Least, Now
from django.utils import timezone

from remodel.board import queue
from remodel.board.models import Figures, PlacedPiece, Result, RoomResult
from remodel.board.queries import RESULT_TABLES, figures_are_stale
from remodel.board.renewed import keep_shapes, plans_follow
from remodel.board.rounds import Outcome, Round
from remodel.bridge import codec, house_value
from remodel.bridge.lengths import TakeoffError
from remodel.bridge.piles import Pile, engine_version, piles_in
from remodel.bridge.sheet_lists import listed_sheets
from remodel.history.models import Change
from remodel.history.services import Touched
from remodel.history.turns import write_turn
from remodel.house.models import House, Room
from remodel.house.queries import whole_house
from remodel.outages import drop_connection, outage_of

__all__ = [
    "bring_up_to_date",
    "piles_wait",
    "plans_changed",
    "recompute",
    "recompute_written",
    "tell_worker",
    "up_to_date",
]

log = logging.getLogger(__name__)

PILES_AT_ONCE = 3  # piles; a write that changes more of them leaves them to the worker
# A write that touches more rooms, as a large house brought in does, does not even look which piles
# changed: reading some hundred rooms takes seconds.
ROOMS_LOOKED_AT = 40
# Writes in one house within so short a time come from many people. What one of them worked out the
# next would overtake.
MANY_WRITES, SHORT_TIME = 4, timedelta(seconds=5)


class _Ended(Enum):
    """How a round of working out ended. It has to be done again where what came out changed what is
    at hand, or where another write came between reading and saving."""

    DONE = auto()
    AGAIN = auto()
    OVERTAKEN = auto()


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
    as long as they are few: a person who edits a room wants to see what became of it. Where they
    are very many, or many people write at once, all is left to the worker.

    An outage raises nothing, because the write stands all the same. The figures are known to be
    stale then, and the worker brings them up to date.
    """
    try:
        much = len(written) > ROOMS_LOOKED_AT or _many_write(house)
        if much and queue.worker_is_here():
            _leave_to_worker(house, written)
        else:
            recompute(house, written=written)
    except Exception as error:
        outage = outage_of(error)
        if outage is None:
            raise
        drop_connection()
        # `Figures` still holds an older change than the write, and by that the worker knows.
        log.warning("Figures of house %s wait for the worker, for %s", house, outage.value)


def _many_write(house: UUID) -> bool:
    since = timezone.now() - SHORT_TIME
    last = Change.objects.filter(house=house).order_by("-id").values_list("group", "at")[:100]
    return len({group for group, at in last if at > since}) >= MANY_WRITES


def _leave_to_worker(house: UUID, written: Collection[UUID]) -> None:
    row = House.objects.filter(pk=house).first()
    if row is not None:
        Figures.objects.get_or_create(house=row)
        rooms = row.rooms.count()
        tell_worker(row, (max(rooms - len(written), 0) if written else 0, rooms))


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
    # Each further round means that another write came between, or that cut pieces became offcuts.
    # Where five did, the figures stay stale and the worker brings them up to date.
    for _ in range(5):
        ended = _recompute(key, whole=whole, written=written, on_progress=on_progress)
        if ended is _Ended.DONE:
            return
        if ended is _Ended.OVERTAKEN and written is not None and queue.worker_is_here():
            # Many people write at once. Were each to begin again whenever another did, all of them
            # would wait for all the others, over and over.
            _leave_to_worker(key, written)
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


def _recompute(
    key: UUID,
    *,
    whole: bool,
    written: Collection[UUID] | None,
    on_progress: OnProgress | None,
) -> _Ended:
    """Work the house out once."""
    # Read before the rows: whatever is written after this line is noticed before anything is saved.
    mark = _last_change(key)
    row = House.objects.filter(pk=key).first()
    if row is None:
        return _Ended.DONE
    figures, _ = Figures.objects.get_or_create(house=row)
    work = Round(whole_house(row), whole=whole)
    try:
        piles = work.in_order(piles_in(house_value(work.house)))
    except TakeoffError as error:
        _refuse(work.rooms.values(), work.stored, str(error))
        _note_how_far(figures, mark)
        return _Ended.DONE
    may_leave = written is not None and work.worker_here
    touched = {key for key, room in work.rooms.items() if room.pk in (written or ())}
    changed = work.changed(piles) if may_leave or on_progress is not None else []
    old_rooms = {room for pile in changed for room in pile.rooms}
    for_worker = _for_worker(work, changed, touched) if may_leave else set()
    others_done = 0
    stands_anew = False
    made_offcuts = False
    used = work.all_cut()
    for whole_pile in piles:
        if stands_anew and not work.has_accepted(whole_pile):
            # What plans that stand take is known only now, and with it what is free for the others.
            work.read_stock_anew()
            stands_anew = False
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
            return _Ended.DONE
        mine = [work.rooms[key] for key in given.pile.rooms]
        old_rooms -= set(given.pile.rooms)
        try:
            outcome = work.outcome_of(given)
        except TakeoffError as error:
            _refuse(mine, work.stored, str(error))
            continue
        used.update(work.used_by(whole_pile, outcome.result))
        made_offcuts |= outcome.has_spare
        encoded = _encoded(outcome)
        with write_turn():
            # The work above took long and held no lock. Where somebody wrote meanwhile, this result
            # is of rows that are no more, and may even be older than what is stored.
            if _last_change(row.pk) != mark:
                return _Ended.OVERTAKEN
            _save(work.house, mine, outcome, encoded, work)
        stands_anew |= work.has_accepted(whole_pile)
    if for_worker:
        tell_worker(row, (len(work.rooms) - len(old_rooms), len(work.rooms)))
    elif made_offcuts:
        # Cut pieces whose place fell are at hand from now on, which this round did not read.
        return _Ended.AGAIN
    else:
        _note_how_far(figures, mark)
    return _Ended.DONE


def _for_worker(work: Round, changed: Sequence[Pile], touched: Collection[str]) -> set[str]:
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


@dataclass(frozen=True, slots=True)
class _Encoded:
    """What an outcome is stored as: the whole of it (None where that is stored already), the
    summary of each room by its key, and the sheets."""

    whole: Any
    summaries: dict[str, Any]
    sheets: Any


def _encoded(outcome: Outcome) -> _Encoded:
    """Made before the write begins: a worker is given little of a busy machine, and everybody who
    writes would wait for it."""
    result = outcome.result
    return _Encoded(
        whole=codec.write(result) if outcome.is_new else None,
        summaries={summary.key: codec.write(summary) for summary in result.summaries},
        sheets=codec.write(listed_sheets(outcome.given.pile.house, result)),
    )


def _save(
    house: House, rooms: list[Room], outcome: Outcome, encoded: _Encoded, work: Round
) -> None:
    pile, digest, waits = outcome.given.pile, outcome.digest, outcome.given.waits
    result = outcome.result
    head = next(room for room in rooms if room.key == pile.head)
    if outcome.made is not None:
        plans_follow(head, outcome, outcome.made)
    elif outcome.worked is not None:
        keep_shapes(outcome)
    PlacedPiece.objects.bulk_update(outcome.around, ["as_planned", "leant_on"])
    if outcome.is_new:
        Result.objects.update_or_create(digest=digest, defaults={"data": encoded.whole})
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
                "summary": encoded.summaries[room.key],
                "takes": outcome.takes[room.key],
                "before": (last.before if passing else last.summary or last.before)
                if last
                else None,
                "pile_waits": waits,
                "sheets": encoded.sheets if room.key == pile.head else [],
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
