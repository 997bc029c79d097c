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
from remodel.history.services import By, change, create, recorded, remove, written_before
from remodel.house.models import Room
from remodel.supply.doneness import estimate_rest
from remodel.supply.estimates import estimate, forget
from remodel.supply.ledger import match_logs, reversal
from remodel.supply.models import CutSheet, Movement, Order, OrderLine, OwnedSheet
from remodel.work.models import Phase, PhaseState

__all__ = ["DECIDED", "Ticked", "check_removal", "check_undo", "drop_rest", "tick", "tick_all"]

_ITEM = re.compile(r"[^\x00-\x1f\x7f]{1,140}")
_PLAN = re.compile(r"[0-9a-f]{0,64}")
_CUT, _HUNG = DoneMark.Kind.CUT, DoneMark.Kind.HUNG
# What the history calls a decision to keep or bin what is left of a sheet.
DECIDED = "decided on what is left of a sheet"
# Ticks that stand for one thing on the wall, each with its phase.
_PHASE_OF = {"cut": "hanging", "hung": "hanging", **COATS}


@dataclass(frozen=True, slots=True)
class Ticked:
    """Something to tick: the kind of tick, the piece, step or surface, and the plan of a piece.

    `room_key` names the room of the pile it is of; it is empty for the room whose page it was
    ticked on.
    """

    kind: str
    item: str
    plan: str = ""
    room_key: str = ""


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
    """Tick several things of the rooms of one pile, or take the ticks back: all or none.

    A press that is sent again under its key changes nothing, and is answered like the first.
    """
    if not ticks:
        raise Refused("There is nothing to tick here. Load the page again")
    for one in ticks:
        _check(one)
    takes = takes_of_pile(room)
    rooms = {room.key: room}
    if any(one.room_key not in ("", room.key) for one in ticks):
        rooms = {mine.key: mine for mine in Room.objects.filter(pk__in=takes)} | rooms
    if any(one.room_key and one.room_key not in rooms for one in ticks):
        raise Refused("That mark names no room of these sheets. Load the page again")
    if written_before(by) is None:
        _mark_all(by=by, rooms=rooms, room=room, ticks=ticks, done=done, takes=takes)
        for plan in dict.fromkeys(one.plan for one in ticks if one.plan):
            kinds = {one.kind for one in ticks if one.plan == plan}
            _plan_follows(by, room, plan, kinds, takes, done=done)
    standing = _marks_of(rooms.values(), ticks)
    keys = [(_room_of(one, room, rooms).pk, one.kind, one.plan, one.item) for one in ticks]
    if not standing.keys() >= set(keys):
        raise Refused("This press was used for another mark before. Load the page again")
    return [standing[key] for key in keys]


def _check(one: Ticked) -> None:
    if (
        one.kind not in DoneMark.Kind.values
        or not _ITEM.fullmatch(one.item)
        or not _PLAN.fullmatch(one.plan)
    ):
        raise Refused("That mark cannot be read. Load the page again, then tick it again")
    if one.kind in (_CUT, _HUNG) and not one.plan:
        raise Refused("That mark names no plan. Load the page again, then tick it again")


def _room_of(one: Ticked, room: Room, rooms: Mapping[str, Room]) -> Room:
    return rooms[one.room_key] if one.room_key else room


def _marks_of(
    rooms: Iterable[Room], ticks: Sequence[Ticked]
) -> dict[tuple[UUID, str, str, str], DoneMark]:
    """The marks there are for some ticks, and for the cuts of what hangs, in one query."""
    kinds = {one.kind for one in ticks}
    marks = DoneMark.all_objects.filter(
        room__in=[room.pk for room in rooms],
        kind__in=kinds | ({_CUT, _HUNG} if kinds & {_CUT, _HUNG} else set()),
        plan__in={one.plan for one in ticks},
    )
    if len(ticks) == 1:
        marks = marks.filter(item=ticks[0].item)
    return {(mark.room_id, mark.kind, mark.plan, mark.item): mark for mark in marks}


@recorded("ticked off")
def _mark_all(
    *,
    by: By,
    rooms: Mapping[str, Room],
    room: Room,
    ticks: Sequence[Ticked],
    done: bool,
    takes: Mapping[UUID, RoomTakes],
) -> None:
    marking = _Marking(by, rooms.values(), ticks, takes)
    cutting = _Cutting(by, room, rooms, takes)
    for one in ticks:
        of = _room_of(one, room, rooms)
        if done:
            marking.tick(of, one)
            if one.kind == _HUNG:
                # What hangs was cut, whether anybody ticked it or not.
                marking.tick(of, Ticked(_CUT, one.item, one.plan))
            if one.kind in (_CUT, _HUNG):
                cutting.begin(one.plan, of.key, one.item)
        else:
            marking.take_back(of, one)
    if not done:
        for one in ticks:
            if one.kind == _CUT:
                cutting.take_back(one.plan, _room_of(one, room, rooms).key, one.item)
    cutting.match()
    for job in marking.done_jobs():
        # What a job that is done used by estimate is what nobody ticked.
        estimate_rest(by, job)


class _Marking:
    """The marks of one press, and what each uses up by estimate."""

    def __init__(
        self,
        by: By,
        rooms: Iterable[Room],
        ticks: Sequence[Ticked],
        takes: Mapping[UUID, RoomTakes],
    ) -> None:
        rooms = list(rooms)
        self._by, self._takes = by, takes
        self._now = timezone.now()
        self._marks = _marks_of(rooms, ticks)
        jobs = Phase.objects.filter(room__in=[room.pk for room in rooms]).select_related("room")
        self._jobs = {(phase.room_id, phase.key): phase for phase in jobs}
        self._places = {
            (room, place.plan, place.key): list(place.box)
            for room, mine in takes.items()
            for place in mine.places
        }
        self._amounts = _amounts_of(takes)
        self._changed: set[tuple[UUID, str]] = set()

    def done_jobs(self) -> list[Phase]:
        """The jobs of what was ticked or taken back that are done already."""
        jobs = [self._jobs[key] for key in sorted(self._changed) if key in self._jobs]
        return [job for job in jobs if job.state == PhaseState.DONE]

    def tick(self, room: Room, one: Ticked) -> None:
        """Mark one thing as done, and use up its estimate where that is news."""
        mark = self._marks.get((room.pk, one.kind, one.plan, one.item))
        if mark is not None and mark.done:
            return
        if one.kind in COATS and not self._asks_for(room, one):
            raise Refused("This surface does not ask for that coat any more. Load the page again")
        values = {"done": True, "person": self._by.person, "at": self._now}
        if one.kind == _HUNG:
            values["place"] = self._places.get((room.pk, one.plan, one.item))
        if mark is not None:
            mark = change(mark, **values)
        else:
            mark = create(
                DoneMark(
                    house_id=room.house_id,
                    room=room,
                    kind=one.kind,
                    plan=one.plan,
                    item=one.item,
                    **values,
                )
            )
        self._marks[room.pk, one.kind, one.plan, one.item] = mark
        self._changed.add((room.pk, _PHASE_OF.get(one.kind, "")))
        job = self._jobs.get((room.pk, _PHASE_OF.get(one.kind, "")))
        amounts = self._amounts.get((room.pk, one.kind, one.plan, one.item), {})
        if job is not None and amounts and one.kind != _CUT:
            estimate(
                job, [(item, total, unit) for (item, unit), total in amounts.items()], mark=mark
            )

    def _asks_for(self, room: Room, one: Ticked) -> bool:
        return room.pk not in self._takes or (
            (room.pk, one.kind, one.plan, one.item) in self._amounts
        )

    def take_back(self, room: Room, one: Ticked) -> None:
        """Mark one thing as not done, and drop its estimate. What hangs stays cut."""
        hung = self._marks.get((room.pk, _HUNG, one.plan, one.item))
        if one.kind == _CUT and hung is not None and hung.done:
            raise Refused(
                f"{one.item.rpartition('.')[2]} hangs, so it was cut. Take back that it hangs first"
            )
        mark = self._marks.get((room.pk, one.kind, one.plan, one.item))
        if mark is None:
            # A tick that was never there and is taken back: the press is answered all the same.
            values = {"done": False, "person": self._by.person, "at": self._now}
            self._marks[room.pk, one.kind, one.plan, one.item] = create(
                DoneMark(
                    house_id=room.house_id,
                    room=room,
                    kind=one.kind,
                    plan=one.plan,
                    item=one.item,
                    **values,
                )
            )
        elif mark.done:
            self._changed.add((room.pk, _PHASE_OF.get(one.kind, "")))
            forget(change(mark, done=False, person=self._by.person, at=self._now))


def _amounts_of(
    takes: Mapping[UUID, RoomTakes],
) -> dict[tuple[UUID, str, str, str], dict[tuple[str, str], int]]:
    """What each tick uses up by estimate, as thousandths by item and unit. Sticks are used with
    their phase, so a tick that takes nothing else has an empty entry."""
    amounts: dict[tuple[UUID, str, str, str], dict[tuple[str, str], int]] = {}
    for room, mine in takes.items():
        for take in mine.takes:
            uses = amounts.setdefault((room, take.kind, take.plan, take.name), {})
            if not take.lengths and take.amount:
                key = (take.item, take.unit)
                uses[key] = uses.get(key, 0) + take.amount
    return amounts


class _Cutting:
    """Sheets of a pile that are begun or put back as their pieces are ticked.

    A sheet of the plan that is cut from an offcut of another (its `source`) leaves no stock of its
    own: the sheet the offcut is left of does.
    """

    def __init__(
        self, by: By, room: Room, rooms: Mapping[str, Room], takes: Mapping[UUID, RoomTakes]
    ) -> None:
        self._by, self._room = by, room
        self._known = {mine.pk: mine for mine in rooms.values()}
        self._sheets: dict[tuple[str, str], tuple[UUID, PlannedSheet]] = {
            (sheet.plan, sheet.code): (owner, sheet)
            for owner, mine in takes.items()
            for sheet in mine.sheets
        }
        self._sheet_of = {
            (plan, room_key, piece): code
            for (plan, code), (_, sheet) in self._sheets.items()
            for room_key, piece in sheet.pieces
        }
        self._plans = {plan for plan, _ in self._sheets}
        self._cut = {
            (row.plan, row.code): row
            for row in CutSheet.objects.filter(
                house=room.house_id, plan__in=self._plans
            ).select_related("movement")
        }
        self._touched: set[tuple[UUID, str]] = set()

    def begin(self, plan: str, room_key: str, piece: str) -> None:
        """Take the sheet of a piece out of stock, if it is not out already."""
        code = self._sheet_of.get((plan, room_key, piece))
        while code is not None:
            code = self._begin_sheet(plan, code)

    def _begin_sheet(self, plan: str, code: str) -> str | None:
        """Begin one sheet. Gives the code of the sheet it is an offcut of, where it is one."""
        parent = self._parent(plan, code)
        if (plan, code) in self._cut:
            return parent
        owner, sheet = self._sheets[plan, code]
        owned = None
        if sheet.source is not None and parent is None:
            owned = OwnedSheet.objects.filter(
                house=self._room.house_id, key=sheet.source, count__gt=F("cut_up") + F("spoiled")
            ).first()
        if owned is not None:
            OwnedSheet.objects.filter(pk=owned.pk).update(cut_up=F("cut_up") + 1)
        self._cut[plan, code] = CutSheet.objects.create(
            house_id=self._room.house_id,
            room_id=owner,
            plan=plan,
            code=code,
            item=sheet.item,
            owned=owned,
            # An offcut is no sheet in the ledger, whether it is here by itself or by the plan.
            uncounted=sheet.source is not None and owned is None,
            at=timezone.now(),
            person=self._by.person,
        )
        if sheet.source is None:
            self._touched.add((owner, sheet.item))
        return parent

    def _parent(self, plan: str, code: str) -> str | None:
        """The sheet that a sheet of the same plan is an offcut of; None where it is none."""
        _, sheet = self._sheets[plan, code]
        parent = (sheet.source or "").rpartition(".")[0]
        return parent if (plan, parent) in self._sheets else None

    def _family(self, plan: str, code: str) -> list[str]:
        """A sheet and all that is cut from its offcuts."""
        family = [code]
        for other_plan, other in self._sheets:
            if other_plan == plan and self._parent(plan, other) == code:
                family += self._family(plan, other)
        return family

    def take_back(self, plan: str, room_key: str, piece: str) -> None:
        """Put the sheet of a piece back into stock where nothing of it is cut any more. Raises
        `Refused` where an offcut of it was kept and cut up since, and where the sheet is of a plan
        that was replaced."""
        code = self._sheet_of.get((plan, room_key, piece))
        if code is None and plan not in self._plans:
            if CutSheet.objects.filter(house=self._room.house_id, plan=plan).exists():
                raise Refused(
                    "This piece was cut by an earlier plan, so its sheet cannot be put back by "
                    "itself. Count the sheets that are here instead"
                )
            return
        while code is not None:
            self._put_back(plan, code)
            code = self._parent(plan, code)

    def _put_back(self, plan: str, code: str) -> None:
        row = self._cut.get((plan, code))
        if row is None:
            return
        pieces = {
            piece for one in self._family(plan, code) for piece in self._sheets[plan, one][1].pieces
        }
        marks = DoneMark.objects.filter(
            house=self._room.house_id, kind=_CUT, plan=plan, done=True
        ).values_list("room__key", "item")
        if set(marks) & pieces:
            return
        kept = [key for key in row.rests.values() if key]
        for rest in OwnedSheet.objects.filter(house=self._room.house_id, key__in=kept):
            drop_rest(rest)
        if row.owned_id is not None:
            OwnedSheet.objects.filter(pk=row.owned_id).update(cut_up=F("cut_up") - 1)
        movement = row.movement
        row.delete()
        del self._cut[plan, code]
        if movement is not None:
            reversal(by=self._by, movement=movement, note="Tick taken back")
        owner, sheet = self._sheets[plan, code]
        if sheet.source is None:
            self._touched.add((owner, sheet.item))

    def match(self) -> None:
        """Let every sheet that was begun or put back leave the stock once, by its tick or a log."""
        for owner, item in sorted(self._touched, key=str):
            if owner not in self._known:
                self._known[owner] = Room.objects.select_related("house").get(pk=owner)
            match_logs(self._by, self._known[owner], item)


def drop_rest(rest: OwnedSheet) -> None:
    """Take back that the rest of a sheet was kept. Raises `Refused` where it was used since."""
    if rest.cut_up:
        raise Refused(
            f"Another piece was cut from the offcut of sheet {rest.made_by} that you kept. Take "
            "that tick back first"
        )
    if rest.spoiled:
        raise Refused(
            f"The offcut of sheet {rest.made_by} that you kept was thrown away since; there is "
            "nothing to take back"
        )
    remove(rest)


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
    row = standing.first()
    if row is None and done:
        plan_keep(by=By(by.person), room=room, board=board, thickness=thickness)
        row = standing.first()
    if row is None:
        return
    states = [Plan.State.ACCEPTED, Plan.State.ORDERED, Plan.State.CUT, Plan.State.HUNG]
    pieces = {(key, place.key) for key, place in places}
    marked: dict[str, set[tuple[str, str]]] = {_CUT: set(), _HUNG: set()}
    marks = DoneMark.objects.filter(
        house=room.house_id, kind__in=(_CUT, _HUNG), plan=plan, done=True
    )
    for kind, room_key, item in marks.values_list("kind", "room__key", "item"):
        marked[kind].add((room_key, item))
    for kind, state in ((_CUT, Plan.State.CUT), (_HUNG, Plan.State.HUNG)):
        if kind not in kinds and not (kind == _CUT and _HUNG in kinds):
            continue
        if done and pieces <= marked[kind]:
            while states.index(Plan.State(row.state)) < states.index(state):
                row = plan_set_state(
                    by=by, plan=row, state=states[states.index(Plan.State(row.state)) + 1]
                )
        elif not done and not pieces <= marked[kind] and row.state == state:
            row = plan_set_state(by=by, plan=row, state=states[states.index(state) - 1])
            if row.state == Plan.State.ORDERED and not _is_ordered(room):
                row = plan_set_state(by=by, plan=row, state=Plan.State.ACCEPTED)


def _is_ordered(room: Room) -> bool:
    """Whether the boards of a room are in an order that stands."""
    orders = Order.objects.filter(rooms=room, state__in=(Order.State.PLACED, Order.State.CLOSED))
    return any("hanging" in phases for phases in orders.values_list("phases", flat=True))


def check_undo(changes: Sequence[Change]) -> None:
    """Raise `Refused` where an undo would take back a tick or an order that was placed: both moved
    stock, and have a step back of their own."""
    for one in changes:
        if one.model == "cards.donemark":
            raise Refused("A tick moved stock; take it back where it was ticked")
        if _line_was_placed(one):
            raise Refused("This order was placed since; what it says is frozen")
        before, after = one.before or {}, one.after or {}
        if one.model == "supply.ownedsheet" and after.get("made_by") and _is_decided(one):
            raise Refused(
                f"This offcut is left of sheet {after['made_by']}; keep it or bin it on that "
                "sheet's card"
            )
        if one.model == "house.room" and one.before is None:
            made = Room.objects.filter(pk=one.row).first()
            if made is not None:
                check_removal(made)
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


def _is_decided(one: Change) -> bool:
    """Whether a change made or removed an offcut on a sheet's card. One that was entered by hand is
    undone like any edit, and so is where it leans."""
    if one.what != DECIDED:
        return False
    return one.before is None or one.before.get("deleted_at") != one.after.get("deleted_at")


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
            f"Work was done in {room.name}, and stock was used there, so it stays. Close it "
            "instead: set its phases to done, and it takes nothing any more while its hours are "
            "kept"
        )
