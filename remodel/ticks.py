"""Ticks: a sheet cut, a piece hung, a step done, a coat on a surface. A tick moves stock: the first
piece cut of a sheet takes the sheet out, and what hangs or is coated uses up its estimate."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import F
from django.utils import timezone

from remodel.board.models import Mark, PlacedPiece, Plan
from remodel.board.placed import Placing, piece_key, split_key
from remodel.board.plans import plans_keep
from remodel.board.queries import takes_of_pile
from remodel.board.queue import cancel_all
from remodel.board.rounds import STANDING
from remodel.board.services import bring_up_to_date, plans_changed
from remodel.bridge.placed import Sheet, read_sheet, sheet_in, write_sheet
from remodel.bridge.takes import PlannedSheet, RoomTakes, places_in_plan
from remodel.cards.models import COATS, DoneMark
from remodel.history.errors import Refused
from remodel.history.models import Change
from remodel.history.services import (
    By,
    change,
    create,
    recorded,
    remove,
    touch,
    written_before,
)
from remodel.house.models import Room
from remodel.supply.doneness import estimate_rest
from remodel.supply.estimates import estimate, forget
from remodel.supply.ledger import match_logs, reversal
from remodel.supply.models import CutSheet, Movement, Order, OrderLine, OwnedSheet
from remodel.supply.sheets_at_hand import sheets_at_hand
from remodel.work.models import Phase, PhaseState

__all__ = [
    "DECIDED",
    "TOLD",
    "Ticked",
    "check_removal",
    "check_undo",
    "drop_rest",
    "plan_states_follow",
    "tick",
    "tick_all",
    "tick_piece",
]

_ITEM = re.compile(r"[^\x00-\x1f\x7f]{1,140}")
_CUT, _HUNG = DoneMark.Kind.CUT, DoneMark.Kind.HUNG
# What the history calls a decision to keep or bin what is left of a sheet.
DECIDED = "decided on what is left of a sheet"
# What it calls an entry that a piece hangs differently, which has a step back of its own.
TOLD = "told that a piece hangs differently"
# Ticks that stand for one thing on the wall, each with its phase.
_PHASE_OF = {"cut": "hanging", "hung": "hanging", **COATS}


@dataclass(frozen=True, slots=True)
class Ticked:
    """Something to tick: the kind of tick, and the piece, step or surface.

    `room_key` names the room of the pile it is of; it is empty for the room whose page it was
    ticked on. `plan` names the plan that the page showed; it is empty where nobody says.
    """

    kind: str
    item: str
    room_key: str = ""
    plan: str = ""


def tick(
    *, by: By, room: Room, kind: str, item: str, plan: str = "", done: bool = True
) -> DoneMark:
    """Tick one thing, or take the tick back. Stock and the plan's own state follow.

    The first tick of a piece accepts the plan it is cut by. What hangs was cut. A piece of a plan
    that was replaced meanwhile is cut all the same, and what is planned goes around it. Raises
    `Refused` for what cannot be read, and where taking back would contradict what was done since.
    """
    marks = tick_all(by=by, room=room, ticks=[Ticked(kind, item, plan=plan)], done=done)
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
        pieces = any(one.kind in (_CUT, _HUNG) for one in ticks)
        new_plans = False
        if pieces and done:
            _check_shown(room, ticks, rooms, takes)
            if not _all_stand(takes):
                # What is cut by a plan makes it stand; only then do its pieces have marks for good.
                plans_keep(by=By(by.person), room=room, why=Plan.Why.TICKED)
                new_plans = True
        off_plan = _mark_all(by=by, rooms=rooms, room=room, ticks=ticks, done=done, takes=takes)
        if pieces:
            _plans_follow(by, room, takes, done=done)
        if off_plan:
            plans_changed(room.house_id)
        if new_plans or off_plan:
            bring_up_to_date(room.house_id, {mine.pk for mine in rooms.values()})
    standing = _marks_of(rooms.values(), ticks)
    keys = [(_room_of(one, room, rooms).pk, one.kind, one.item) for one in ticks]
    if not standing.keys() >= set(keys):
        raise Refused("This press was used for another mark before. Load the page again")
    return [standing[key] for key in keys]


def _all_stand(takes: Mapping[UUID, RoomTakes]) -> bool:
    """Whether every board of a pile is of a plan that stands."""
    standing = Plan.objects.filter(room__in=takes, state__in=STANDING)
    pools = {(place.board, place.thickness) for mine in takes.values() for place in mine.places}
    return bool(takes) and pools <= set(standing.values_list("board", "thickness"))


def _check_shown(
    room: Room,
    ticks: Sequence[Ticked],
    rooms: Mapping[str, Room],
    takes: Mapping[UUID, RoomTakes],
) -> None:
    """Raise `Refused` where a page shows a piece of a plan that never stood and was replaced
    meanwhile: its mark is on another piece now."""
    names = {place.plan for mine in takes.values() for place in mine.places}
    old = [one for one in ticks if one.plan and one.plan not in names]
    if not old:
        return
    known = set(Mark.objects.filter(house=room.house_id).values_list("room", "text"))
    for one in old:
        mark = split_key(one.item)[1]
        if (_room_of(one, room, rooms).pk, mark) not in known:
            raise Refused(
                f"The plan changed since this page was loaded, and {mark} may be another piece "
                "now. Load the page again before you cut. If the board is cut already, tell on the "
                "new page what was cut"
            )


def tick_piece(
    *, by: By, room: Room, kinds: Sequence[str], item: str, done: bool, begin: bool = True
) -> None:
    """Tick a piece inside a write that says more of it, or take its ticks back. Plans and figures
    are left to that write. Without `begin` the sheet it was planned on is not begun by it."""
    _mark_all(
        by=by,
        rooms={room.key: room},
        room=room,
        ticks=[Ticked(kind, item) for kind in kinds],
        done=done,
        takes=takes_of_pile(room),
        begin=begin,
    )


def plan_states_follow(by: By, room: Room) -> None:
    """Let the states of a pile's plans be as the pieces are that are cut and hang now."""
    _plans_follow(by, room, takes_of_pile(room), done=False)


def _check(one: Ticked) -> None:
    if one.kind not in DoneMark.Kind.values or not _ITEM.fullmatch(one.item):
        raise Refused("That mark cannot be read. Load the page again, then tick it again")


def _room_of(one: Ticked, room: Room, rooms: Mapping[str, Room]) -> Room:
    return rooms[one.room_key] if one.room_key else room


def _marks_of(
    rooms: Iterable[Room], ticks: Sequence[Ticked]
) -> dict[tuple[UUID, str, str], DoneMark]:
    """The marks there are for some ticks, and for the cuts of what hangs, in one query."""
    kinds = {one.kind for one in ticks}
    marks = DoneMark.all_objects.filter(
        room__in=[room.pk for room in rooms],
        kind__in=kinds | ({_CUT, _HUNG} if kinds & {_CUT, _HUNG} else set()),
    )
    if len(ticks) == 1:
        marks = marks.filter(item=ticks[0].item)
    return {(mark.room_id, mark.kind, mark.item): mark for mark in marks}


@recorded("ticked off")
def _mark_all(
    *,
    by: By,
    rooms: Mapping[str, Room],
    room: Room,
    ticks: Sequence[Ticked],
    done: bool,
    takes: Mapping[UUID, RoomTakes],
    begin: bool = True,
) -> bool:
    """Do the ticks of one press. Gives whether a piece of them lies off its plan."""
    placing = Placing(
        by,
        rooms.values(),
        [(_room_of(one, room, rooms).pk, one.item) for one in ticks if one.kind in (_CUT, _HUNG)],
    )
    marking = _Marking(by, rooms.values(), ticks, takes, placing)
    cutting = _Cutting(by, room, rooms, takes, placing)
    for one in ticks:
        of = _room_of(one, room, rooms)
        if done:
            marking.tick(of, one)
            if one.kind == _HUNG:
                # What hangs was cut, whether anybody ticked it or not.
                marking.tick(of, Ticked(_CUT, one.item))
            if one.kind in (_CUT, _HUNG) and begin:
                cutting.begin(of, one.item)
        else:
            marking.take_back(of, one)
    marking.place()
    if not done:
        for one in ticks:
            if one.kind == _CUT:
                cutting.take_back(_room_of(one, room, rooms), one.item)
    cutting.match()
    for job in marking.done_jobs():
        # What a job that is done used by estimate is what nobody ticked.
        estimate_rest(by, job)
    return placing.off_plan


class _Marking:
    """The marks of one press, and what each uses up by estimate."""

    def __init__(
        self,
        by: By,
        rooms: Iterable[Room],
        ticks: Sequence[Ticked],
        takes: Mapping[UUID, RoomTakes],
        placing: Placing,
    ) -> None:
        rooms = list(rooms)
        self._by, self._takes, self._placing = by, takes, placing
        self._now = timezone.now()
        self._marks = _marks_of(rooms, ticks)
        jobs = Phase.objects.filter(room__in=[room.pk for room in rooms]).select_related("room")
        self._jobs = {(phase.room_id, phase.key): phase for phase in jobs}
        self._amounts = _amounts_of(takes)
        self._changed: set[tuple[UUID, str]] = set()
        self._cut: list[tuple[UUID, str]] = []
        self._hung: list[tuple[UUID, str]] = []

    def done_jobs(self) -> list[Phase]:
        """The jobs of what was ticked or taken back that are done already."""
        jobs = [self._jobs[key] for key in sorted(self._changed) if key in self._jobs]
        return [job for job in jobs if job.state == PhaseState.DONE]

    def place(self) -> None:
        """Write down where the pieces are that were ticked."""
        self._placing.place(self._cut, hung=False, now=self._now)
        self._placing.place(self._hung, hung=True, now=self._now)

    def tick(self, room: Room, one: Ticked) -> None:
        """Mark one thing as done, and use up its estimate where that is news."""
        if one.kind in (_CUT, _HUNG):
            if not self._placing.is_open(room.pk, one.item):
                raise Refused(
                    f"{split_key(one.item)[1]} was cut wrong or taken down, and another piece is "
                    "planned in its place. Load the page again"
                )
            (self._hung if one.kind == _HUNG else self._cut).append((room.pk, one.item))
        mark = self._marks.get((room.pk, one.kind, one.item))
        if mark is not None and mark.done:
            return
        if one.kind in COATS and not self._asks_for(room, one):
            raise Refused("This surface does not ask for that coat any more. Load the page again")
        values = {"done": True, "person": self._by.person, "at": self._now}
        mark = change(mark, **values) if mark is not None else self._made(room, one, values)
        self._marks[room.pk, one.kind, one.item] = mark
        self._changed.add((room.pk, _PHASE_OF.get(one.kind, "")))
        job = self._jobs.get((room.pk, _PHASE_OF.get(one.kind, "")))
        amounts = self._amounts.get((room.pk, one.kind, one.item), {})
        if job is not None and amounts and one.kind != _CUT:
            estimate(
                job, [(item, total, unit) for (item, unit), total in amounts.items()], mark=mark
            )

    def _made(self, room: Room, one: Ticked, values: Mapping[str, Any]) -> DoneMark:
        return create(
            DoneMark(house_id=room.house_id, room=room, kind=one.kind, item=one.item, **values)
        )

    def _asks_for(self, room: Room, one: Ticked) -> bool:
        return room.pk not in self._takes or (room.pk, one.kind, one.item) in self._amounts

    def take_back(self, room: Room, one: Ticked) -> None:
        """Mark one thing as not done, and drop its estimate. What hangs stays cut."""
        if one.kind in (_CUT, _HUNG) and self._placing.is_told(room.pk, one.item):
            raise Refused(
                f"Somebody told that {split_key(one.item)[1]} hangs differently. Undo that entry "
                "on the page of the piece first"
            )
        hung = self._marks.get((room.pk, _HUNG, one.item))
        if one.kind == _CUT and hung is not None and hung.done:
            raise Refused(
                f"{split_key(one.item)[1]} hangs, so it was cut. Undo that it hangs first"
            )
        if one.kind == _HUNG:
            self._placing.take_down(room.pk, one.item)
        elif one.kind == _CUT:
            self._placing.take_back(room.pk, one.item)
        mark = self._marks.get((room.pk, one.kind, one.item))
        if mark is None:
            # A tick that was never there and is taken back: the press is answered all the same.
            values = {"done": False, "person": self._by.person, "at": self._now}
            self._marks[room.pk, one.kind, one.item] = self._made(room, one, values)
        elif mark.done:
            self._changed.add((room.pk, _PHASE_OF.get(one.kind, "")))
            forget(change(mark, done=False, person=self._by.person, at=self._now))


def _amounts_of(
    takes: Mapping[UUID, RoomTakes],
) -> dict[tuple[UUID, str, str], dict[tuple[str, str], int]]:
    """What each tick uses up by estimate, as thousandths by item and unit. Sticks are used with
    their phase, so a tick that takes nothing else has an empty entry."""
    amounts: dict[tuple[UUID, str, str], dict[tuple[str, str], int]] = {}
    for room, mine in takes.items():
        for take in mine.takes:
            uses = amounts.setdefault((room, take.kind, take.name), {})
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
        self,
        by: By,
        room: Room,
        rooms: Mapping[str, Room],
        takes: Mapping[UUID, RoomTakes],
        placing: Placing,
    ) -> None:
        self._by, self._room, self._placing = by, room, placing
        self._known = {mine.pk: mine for mine in rooms.values()}
        self._by_key = {mine.key: pk for pk, mine in takes.items()}
        # The sheets of the plans that stand, by the room each is cut in and its code.
        self._sheets: dict[tuple[UUID, str], PlannedSheet] = {
            (owner, sheet.code): sheet for owner, mine in takes.items() for sheet in mine.sheets
        }
        self._sheet_of = {
            (room_key, piece): at
            for at, sheet in self._sheets.items()
            for room_key, piece in sheet.pieces
        }
        self._cut = {
            (row.room_id, row.code): row
            for row in CutSheet.objects.filter(house=room.house_id).select_related("movement")
        }
        self._touched: set[tuple[UUID, str]] = set()
        self._free: Mapping[str, int] | None = None

    def begin(self, room: Room, piece: str) -> None:
        """Take the sheet of a piece out of stock, if it is not out already."""
        at = self._sheet_of.get((room.key, piece))
        if at is None:
            at = self._of_an_earlier_plan(room, piece)
        while at is not None:
            at = self._begin_sheet(room, piece, at)

    def _of_an_earlier_plan(self, room: Room, piece: str) -> tuple[UUID, str] | None:
        """The sheet of a piece whose plan was replaced, known from then on."""
        plan = self._placing.plan_of(room.pk, piece)
        if plan is None:
            return None
        for room_key, (_, sheets) in places_in_plan(plan)[1].items():
            owner = self._by_key.get(room_key)
            if owner is not None:
                for sheet in sheets:
                    self._sheets.setdefault((owner, sheet.code), sheet)
                    for other, key in sheet.pieces:
                        self._sheet_of.setdefault((other, key), (owner, sheet.code))
        return self._sheet_of.get((room.key, piece))

    def _begin_sheet(self, room: Room, piece: str, at: tuple[UUID, str]) -> tuple[UUID, str] | None:
        """Begin one sheet. Gives the sheet it is an offcut of, where it is one."""
        parent = self._parent(at)
        if at in self._cut:
            return parent
        owner, code = at
        sheet = self._sheets[at]
        owned = None
        if sheet.source is not None and parent is None:
            owned = OwnedSheet.objects.filter(
                house=self._room.house_id, key=sheet.source, count__gt=F("cut_up") + F("spoiled")
            ).first()
        if owned is not None:
            OwnedSheet.objects.filter(pk=owned.pk).update(cut_up=F("cut_up") + 1)
        plan = self._placing.plan_of(room.pk, piece)
        planned = sheet_in(plan, code) if plan is not None else None
        self._note_free(planned)
        self._cut[at] = CutSheet.objects.create(
            house_id=self._room.house_id,
            room_id=owner,
            code=code,
            item=sheet.item,
            owned=owned,
            # An offcut is no sheet in the ledger, whether it is here by itself or by the plan.
            uncounted=sheet.source is not None and owned is None,
            data=write_sheet(planned) if planned is not None else None,
            at=timezone.now(),
            person=self._by.person,
        )
        if sheet.source is None:
            self._touched.add((owner, sheet.item))
        return parent

    def _parent(self, at: tuple[UUID, str]) -> tuple[UUID, str] | None:
        """The sheet that a sheet is an offcut of; None where it is none."""
        code = (self._sheets[at].source or "").rpartition(".")[0]
        return next((other for other in self._sheets if other[1] == code), None) if code else None

    def _family(self, at: tuple[UUID, str]) -> list[tuple[UUID, str]]:
        """A sheet and all that is cut from its offcuts."""
        family = [at]
        for other in self._sheets:
            if other != at and self._parent(other) == at:
                family += self._family(other)
        return family

    def take_back(self, room: Room, piece: str) -> None:
        """Put the sheet of a piece back into stock where nothing of it is cut any more. Raises
        `Refused` where an offcut of it was kept and cut up since."""
        at = self._sheet_of.get((room.key, piece)) or self._of_an_earlier_plan(room, piece)
        while at is not None:
            self._put_back(at)
            at = self._parent(at)

    def _put_back(self, at: tuple[UUID, str]) -> None:
        row = self._cut.get(at)
        if row is None:
            return
        pieces = {piece for one in self._family(at) for piece in self._sheets[one].pieces}
        cut = PlacedPiece.objects.filter(house=self._room.house_id).values_list(
            "room__key", "surface", "mark", "sheet"
        )
        if any(
            (key, piece_key(surface, mark)) in pieces or (sheet == at[1] and sheet)
            for key, surface, mark, sheet in cut
        ):
            return
        kept = [key for key in row.rests.values() if key]
        for rest in OwnedSheet.objects.filter(house=self._room.house_id, key__in=kept):
            drop_rest(rest)
        if row.owned_id is not None:
            OwnedSheet.objects.filter(pk=row.owned_id).update(cut_up=F("cut_up") - 1)
        movement = row.movement
        self._note_free(read_sheet(row.data) if row.data else None)
        row.delete()
        del self._cut[at]
        if movement is not None:
            reversal(by=self._by, movement=movement, note="Tick undone")
        if self._sheets[at].source is None:
            self._touched.add((at[0], self._sheets[at].item))

    def match(self) -> None:
        """Let every sheet that was begun or put back leave the stock once, by its tick or a log."""
        for owner, item in sorted(self._touched, key=str):
            if owner not in self._known:
                self._known[owner] = Room.objects.select_related("house").get(pk=owner)
            match_logs(self._by, self._known[owner], item)
        if self._free is not None and self._free != sheets_at_hand(self._room.house).free:
            # Plans that do not stand were made from what was free.
            touch(self._room.house_id, "supply.movement")

    def _note_free(self, sheet: Sheet | None) -> None:
        """Note what is free before a sheet moves that was to be bought: one that is here may be cut
        in its place. One that was planned from stock is taken already."""
        if (sheet is None or sheet.source is None) and self._free is None and self._any_open():
            self._free = sheets_at_hand(self._room.house).free

    def _any_open(self) -> bool:
        """Whether a room beside this pile has no plan that stands: only such a plan rests on what
        is free."""
        others = Room.objects.filter(house=self._room.house_id, behind=None)
        return (
            others.exclude(pk__in=self._by_key.values()).exclude(plans__state__in=STANDING).exists()
        )


def drop_rest(rest: OwnedSheet) -> None:
    """Take back that the rest of a sheet was kept. Raises `Refused` where it was used since."""
    if rest.cut_up:
        raise Refused(
            f"Another piece was cut from the offcut of sheet {rest.made_by} that you kept. Undo "
            "that tick first"
        )
    if rest.spoiled:
        raise Refused(
            f"The offcut of sheet {rest.made_by} that you kept was thrown away since; there is "
            "nothing to undo"
        )
    remove(rest)


def _plans_follow(by: By, room: Room, takes: Mapping[UUID, RoomTakes], *, done: bool) -> None:
    """Let the states of a pile's plans follow the ticks of their pieces: a plan is cut once all its
    pieces are, and hung once all hang."""
    if done:
        cancel_all(takes, "Boards are cut")  # no other plan can take the place of this one
    rows = list(Plan.objects.filter(room__in=takes, state__in=STANDING))
    if not rows:
        return
    placed = {
        (room_key, piece_key(surface, mark)): state
        for room_key, surface, mark, state in PlacedPiece.objects.filter(
            house=room.house_id, state__in=("cut", "hung")
        ).values_list("room__key", "surface", "mark", "state")
    }
    for row in rows:
        pieces = [
            placed.get((mine.key, place.key))
            for mine in takes.values()
            for place in mine.places
            if (place.board, place.thickness) == (row.board, row.thickness)
        ]
        if pieces and all(state == "hung" for state in pieces):
            state = Plan.State.HUNG
        elif pieces and all(pieces):
            state = Plan.State.CUT
        elif row.state in (Plan.State.CUT, Plan.State.HUNG) and not done:
            state = Plan.State.ORDERED if _is_ordered(room) else Plan.State.ACCEPTED
        else:
            continue
        if state != row.state:
            Plan.objects.filter(pk=row.pk).update(state=state, person=by.person)


def _is_ordered(room: Room) -> bool:
    """Whether the boards of a room are in an order that stands."""
    orders = Order.objects.filter(rooms=room, state__in=(Order.State.PLACED, Order.State.CLOSED))
    return any("hanging" in phases for phases in orders.values_list("phases", flat=True))


def check_undo(changes: Sequence[Change]) -> None:
    """Raise `Refused` where an undo would take back a tick or an order that was placed: both moved
    stock, and have a step back of their own."""
    for one in changes:
        if one.what == TOLD:
            raise Refused("Undo this entry on the page of the piece it tells of")
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
                "Placing an order cannot be undone here; undo “ordered” on the order's own page, "
                "or "
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
