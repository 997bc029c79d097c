"""Ticks: a sheet cut, a piece hung, a step done, a coat on a surface. A tick moves stock: the first
piece cut of a sheet takes the sheet out, and what hangs or is coated uses up its estimate."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import F
from django.utils import timezone

from remodel.board.models import Plan
from remodel.board.queries import head_of, takes_of_pile
from remodel.board.services import plan_keep, plan_set_state
from remodel.bridge.takes import PlannedSheet, RoomTakes
from remodel.cards.models import COATS, DoneMark
from remodel.history.errors import Refused
from remodel.history.models import Change
from remodel.history.services import By, change, create, recorded
from remodel.house.models import Room
from remodel.supply.doneness import estimate_rest
from remodel.supply.estimates import estimate, forget
from remodel.supply.ledger import match_logs, reversal
from remodel.supply.models import CutSheet, Movement, OrderLine, OwnedSheet
from remodel.work.models import Phase, PhaseState

__all__ = ["Ticked", "check_removal", "check_undo", "tick", "tick_all"]

_ITEM = re.compile(r"[^\x00-\x1f\x7f]{1,140}")
_PLAN = re.compile(r"[0-9a-f]{0,64}")
_CUT, _HUNG = DoneMark.Kind.CUT, DoneMark.Kind.HUNG
# Ticks that stand for one thing on the wall, each with its phase.
_PHASE_OF = {"cut": "hanging", "hung": "hanging", **COATS}


@dataclass(frozen=True, slots=True)
class Ticked:
    """Something to tick: the kind of tick, the piece, step or surface, and the plan of a piece."""

    kind: str
    item: str
    plan: str = ""


def tick(
    *, by: By, room: Room, kind: str, item: str, plan: str = "", done: bool = True
) -> DoneMark:
    """Tick one thing, or take the tick back. Stock and the plan's own state follow.

    The first tick of a piece accepts the plan it is cut by. What hangs was cut. A tick for a plan
    that was replaced meanwhile is kept under the name of that plan, because the board is cut.
    Raises `Refused` for what cannot be read, and where taking back would contradict what was done
    since.
    """
    marks = tick_all(by=by, room=room, ticks=[Ticked(kind, item, plan)], done=done)
    return marks[0]


def tick_all(*, by: By, room: Room, ticks: Sequence[Ticked], done: bool = True) -> list[DoneMark]:
    """Tick several things of one room, or take the ticks back: all or none."""
    for one in ticks:
        _check(one)
    takes = takes_of_pile(room)
    marks = _mark_all(by=by, room=room, ticks=ticks, done=done, takes=takes)
    for plan in dict.fromkeys(one.plan for one in ticks if one.plan):
        kinds = {one.kind for one in ticks if one.plan == plan}
        _plan_follows(by, room, plan, kinds, takes, done=done)
    return marks


def _check(one: Ticked) -> None:
    if (
        one.kind not in DoneMark.Kind.values
        or not _ITEM.fullmatch(one.item)
        or not _PLAN.fullmatch(one.plan)
    ):
        raise Refused("That mark cannot be read. Load the page again, then tick it again")
    if one.kind in (_CUT, _HUNG) and not one.plan:
        raise Refused("That mark names no plan. Load the page again, then tick it again")


@recorded("ticked off")
def _mark_all(
    *,
    by: By,
    room: Room,
    ticks: Sequence[Ticked],
    done: bool,
    takes: Mapping[UUID, RoomTakes],
) -> list[DoneMark]:
    jobs = {phase.key: phase for phase in Phase.objects.filter(room=room).select_related("room")}
    cut = _Cutting(by, room, takes)
    marks = []
    ticked: set[str] = set()
    for one in ticks:
        if not done and one.kind == _CUT:
            hung = DoneMark.objects.filter(
                room=room, kind=_HUNG, plan=one.plan, item=one.item, done=True
            )
            if hung.exists():
                raise Refused("This piece hangs, so it was cut. Take back that it hangs first")
        mark, changed = _mark(by, room, one, takes, done=done)
        marks.append(mark)
        if one.kind == _HUNG and done:
            # What hangs was cut, whether anybody ticked it or not.
            _mark(by, room, Ticked(_CUT, one.item, one.plan), takes, done=True)
        if one.kind in (_CUT, _HUNG) and done:
            cut.begin(one.plan, one.item)
        elif one.kind == _CUT:
            cut.take_back(one.plan, one.item)
        if not changed or one.kind not in _PHASE_OF:
            continue
        ticked.add(_PHASE_OF[one.kind])
        if one.kind == _CUT:
            continue
        job = jobs.get(_PHASE_OF[one.kind])
        if not done:
            forget(mark)
        elif job is not None:
            estimate(job, _amounts(takes.get(room.pk), one), mark=mark)
    for key in ticked:
        if key in jobs and jobs[key].state == PhaseState.DONE:
            estimate_rest(by, jobs[key])
    return marks


def _mark(
    by: By, room: Room, one: Ticked, takes: Mapping[UUID, RoomTakes], *, done: bool
) -> tuple[DoneMark, bool]:
    """The mark of a tick as it stands now, and whether that is news."""
    mark = (
        DoneMark.all_objects.select_for_update()
        .filter(room=room, kind=one.kind, plan=one.plan, item=one.item)
        .first()
    )
    values = {"done": done, "person": by.person, "at": timezone.now()}
    if one.kind == _HUNG and done:
        values["place"] = _place(takes.get(room.pk), one)
    if mark is None:
        new = DoneMark(
            house_id=room.house_id,
            room=room,
            kind=one.kind,
            plan=one.plan,
            item=one.item,
            **values,
        )
        return create(new), done
    if mark.done == done:
        return mark, False
    return change(mark, **values), True


def _place(takes: RoomTakes | None, one: Ticked) -> list[int] | None:
    for place in takes.places if takes else ():
        if (place.key, place.plan) == (one.item, one.plan):
            return list(place.box)
    return None


def _amounts(takes: RoomTakes | None, one: Ticked) -> Iterable[tuple[str, int, str]]:
    """What a tick uses up by estimate: (item, thousandths, unit). Sticks are used with their
    phase."""
    totals: dict[tuple[str, str], int] = {}
    for take in takes.takes if takes else ():
        if (take.kind, take.name, take.plan) == (one.kind, one.item, one.plan) and not take.lengths:
            totals[take.item, take.unit] = totals.get((take.item, take.unit), 0) + take.amount
    return [(item, total, unit) for (item, unit), total in totals.items() if total]


class _Cutting:
    """Sheets of a pile that are begun or put back as their pieces are ticked."""

    def __init__(self, by: By, room: Room, takes: Mapping[UUID, RoomTakes]) -> None:
        self._by, self._room = by, room
        self._sheets: dict[tuple[str, str, str], tuple[UUID, PlannedSheet]] = {
            (sheet.plan, room_key, piece): (owner, sheet)
            for owner, mine in takes.items()
            for sheet in mine.sheets
            for room_key, piece in sheet.pieces
        }

    def begin(self, plan: str, piece: str) -> None:
        """Take the sheet of a piece out of stock, if it is not out already."""
        found = self._sheets.get((plan, self._room.key, piece))
        if found is None:
            return
        owner, sheet = found
        if CutSheet.objects.filter(room=owner, plan=plan, code=sheet.code).exists():
            return
        owned = None
        if sheet.source is not None:
            owned = OwnedSheet.objects.filter(
                house=self._room.house_id, key=sheet.source, count__gt=F("cut_up") + F("spoiled")
            ).first()
        if owned is not None:
            OwnedSheet.objects.filter(pk=owned.pk).update(cut_up=F("cut_up") + 1)
        CutSheet.objects.create(
            house_id=self._room.house_id,
            room_id=owner,
            plan=plan,
            code=sheet.code,
            item=sheet.item,
            owned=owned,
            at=timezone.now(),
            person=self._by.person,
        )
        match_logs(self._by, self._owner(owner), sheet.item)

    def _owner(self, owner: UUID) -> Room:
        """The room a sheet is cut in."""
        if owner == self._room.pk:
            return self._room
        return Room.objects.select_related("house").get(pk=owner)

    def take_back(self, plan: str, piece: str) -> None:
        """Put the sheet of a piece back into stock where nothing of it is cut any more. Raises
        `Refused` where an offcut of it was kept and cut up since."""
        found = self._sheets.get((plan, self._room.key, piece))
        if found is None:
            return
        owner, sheet = found
        row = CutSheet.objects.filter(room=owner, plan=plan, code=sheet.code).first()
        if row is None:
            return
        marks = DoneMark.objects.filter(
            house=self._room.house_id, kind=_CUT, plan=plan, done=True
        ).values_list("room__key", "item")
        if set(marks) & set(sheet.pieces):
            return
        kept = [key for key in row.rests.values() if key]
        for rest in OwnedSheet.objects.filter(house=self._room.house_id, key__in=kept):
            if rest.cut_up:
                raise Refused(
                    f"Another piece was cut from the offcut {rest.key} of this sheet. Take that "
                    "tick back first"
                )
            OwnedSheet.objects.filter(pk=rest.pk).update(deleted_at=timezone.now())
        if row.owned_id is not None:
            OwnedSheet.objects.filter(pk=row.owned_id).update(cut_up=F("cut_up") - 1)
        movement = row.movement
        row.delete()
        if movement is not None:
            reversal(by=self._by, movement=movement, note="Tick taken back")
        match_logs(self._by, self._owner(owner), sheet.item)


def _plan_follows(
    by: By,
    room: Room,
    plan: str,
    kinds: Iterable[str],
    takes: Mapping[UUID, RoomTakes],
    *,
    done: bool,
) -> None:
    """Let a plan's own state follow the ticks of its pieces: it is accepted with the first, cut
    once all its pieces are, and hung once all hang."""
    places = [
        (mine.key, place) for mine in takes.values() for place in mine.places if place.plan == plan
    ]
    if not places:
        return
    board, thickness = places[0][1].board, places[0][1].thickness
    standing = Plan.objects.filter(
        room=head_of(room),
        board=board,
        thickness=thickness,
        state__in=("accepted", "ordered", "cut", "hung"),
    )
    if done and not standing.exists():
        plan_keep(by=By(by.person), room=room, board=board, thickness=thickness)
    row = standing.first()
    if row is None:
        return
    states = [Plan.State.ACCEPTED, Plan.State.ORDERED, Plan.State.CUT, Plan.State.HUNG]
    pieces = {(key, place.key) for key, place in places}
    for kind, state in ((_CUT, Plan.State.CUT), (_HUNG, Plan.State.HUNG)):
        if kind not in kinds and not (kind == _CUT and _HUNG in kinds):
            continue
        marked = set(
            DoneMark.objects.filter(
                house=room.house_id, kind=kind, plan=plan, done=True
            ).values_list("room__key", "item")
        )
        if done and pieces <= marked:
            while states.index(Plan.State(row.state)) < states.index(state):
                row = plan_set_state(
                    by=by, plan=row, state=states[states.index(Plan.State(row.state)) + 1]
                )
        elif not done and not pieces <= marked and row.state == state:
            row = plan_set_state(by=by, plan=row, state=states[states.index(state) - 1])


def check_undo(changes: Sequence[Change]) -> None:
    """Raise `Refused` where an undo would take back a tick or an order that was placed: both moved
    stock, and have a step back of their own."""
    for one in changes:
        if one.model == "cards.donemark":
            raise Refused("A tick moved stock; take it back where it was ticked")
        if _line_was_placed(one):
            raise Refused("This order was placed since; what it says is frozen")
        before, after = one.before or {}, one.after or {}
        if one.model == "supply.order" and (before.get("state"), after.get("state")) in (
            ("draft", "placed"),
            ("draft", "closed"),
            ("placed", "taken back"),
            ("closed", "taken back"),
        ):
            raise Refused(
                "Placing and taking back an order cannot be undone here; take the order back, or "
                "draft it again"
            )


def _line_was_placed(one: Change) -> bool:
    """Whether a change is of what a placed order buys. The tick made in the store may be undone."""
    if one.model != "supply.orderline":
        return False
    before, after = one.before or {}, one.after or {}
    if before and {name for name in after if after[name] != before.get(name)} <= {"ticked"}:
        return False
    return OrderLine.all_objects.filter(pk=one.row).exclude(order__state="draft").exists()


def check_removal(room: Room) -> None:
    """Raise `Refused` where boards of a room are cut or hang, coats are on, or stock was used in
    it: the room is closed instead, and its hours are kept."""
    begun = (
        DoneMark.objects.filter(room=room, done=True).exclude(kind=DoneMark.Kind.STEP).exists()
        or CutSheet.objects.filter(room=room).exists()
        or Movement.objects.filter(room=room, reverses=None, reversed_by=None).exists()
    )
    if begun:
        raise Refused(
            f"Work was done in {room.name}, and stock was used there, so it stays. To be through "
            "with it, set its phases to done: it then takes nothing any more, and its hours are "
            "kept"
        )
