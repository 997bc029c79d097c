"""The product's services as a `Tracker`: each step is said as a page would say it, and each
question is asked as a page asks it.

What a history has to do stands in place of what the engine works out: it is written where a room's
takes are stored, so that a history may say which sheets and coats there are. Nothing may be worked
out anew meanwhile (see `without_engine`). A house may be metric; then its amounts are too.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from fractions import Fraction
from functools import cached_property
from typing import Any
from uuid import UUID

import pytest
from django.db import transaction
from django.utils import timezone

from remodel import ticks
from remodel.board.models import RoomResult
from remodel.bridge.lengths import FOOT, INCH, Amount
from remodel.bridge.supply import sheet_key
from remodel.bridge.takes import (
    Phase as TakePhase,
)
from remodel.bridge.takes import (
    PiecePlace,
    PlannedSheet,
    RoomTakes,
    Take,
    Tick,
    write_takes,
)
from remodel.cards.models import COATS, DoneMark
from remodel.history import errors
from remodel.history import services as history_services
from remodel.history.services import By
from remodel.house.marks import code_for
from remodel.house.models import House as HouseRow
from remodel.house.models import Room
from remodel.logbook import day_log_add
from remodel.supply import claims as claim_services
from remodel.supply import ledger, orders
from remodel.supply.drafting import worked_out
from remodel.supply.models import (
    BoardKind,
    Claim,
    CutSheet,
    Movement,
    Order,
    OrderLine,
    Pack,
    Receipt,
    SheetOnSale,
)
from remodel.supply.money import money_of
from remodel.supply.services import material_add, pack_add, pack_change, sheet_add, sheet_change
from remodel.supply.standing import Standing as HouseStanding
from remodel.supply.standing import standing_of
from remodel.ticks import Ticked
from remodel.work.models import Phase
from remodel.work.services import phase_change, phase_set_state, phases_add
from tests.over_time.model import KERF, THOUSANDTH
from tests.over_time.tracker import (
    ONE_SHEET,
    House,
    Line,
    Money,
    Refused,
    Share,
    Sheet,
    Standing,
    Unit,
    Work,
)
from tests.remodel.factories import HouseFactory, RoomFactory, ada

# What amounts of each item are in, what its packs are labelled in, and how many of the second make
# one of the first.
_US = {
    "adhesive": ("fl oz", "fl oz", 1),
    "compound": ("gal", "qt", 4),
    "tape": ("ft", "in", 12),
}
_METRIC = {
    "adhesive": ("ml", "l", Fraction(1, 1000)),
    "compound": ("kg", "g", 1000),
    "tape": ("m", "cm", 100),
}
_EACH = ("each", "each", 1)
_STICK = ("ft", "in", 12)
OF_HISTORY = 90
"""Where the rooms of a history begin in the order of a house that had rooms before."""

_BOARD, _THICKNESS = "standard", INCH // 2
_COATS = [Tick(kind) for kind, phase in COATS.items() if phase == "taping"]


def without_engine(monkeypatch: pytest.MonkeyPatch) -> None:
    """Leave what was written in place of results alone: nothing is worked out after a write, and
    no plan of boards is looked for."""
    monkeypatch.setattr(history_services, "_listeners", [])
    monkeypatch.setattr(orders, "up_to_date", lambda house: None)
    monkeypatch.setattr(orders, "bring_up_to_date", lambda house, written=(): None)
    monkeypatch.setattr(orders, "plans_order", lambda **_: None)
    monkeypatch.setattr(ticks, "plans_keep", lambda **_: [])
    monkeypatch.setattr(ticks, "plans_changed", lambda house: None)
    monkeypatch.setattr(ticks, "bring_up_to_date", lambda house, written=(): None)


class Services:
    """A house in the database, and what its people do to it; a `Tracker`. With `row` the history
    happens in a house that is there already, beside its own rooms."""

    def __init__(self, house: House, *, metric: bool = False, row: HouseRow | None = None) -> None:
        self.house = house
        self.by = By(ada())
        self.row: HouseRow = row or HouseFactory(
            key=f"house-{HouseRow.objects.count()}",
            owner=self.by.person,
            units="mm" if metric else "in",
            rules={"kerf": KERF},
        )
        self._units = _METRIC if metric else _US
        self._names: dict[str, str] = {}  # an item's key -> its name in the history
        self._keys: dict[str, str] = {}
        self._put_on_sale()
        self._jobs: dict[str, Phase] = {}
        self._works: dict[str, Work] = {}
        # Of a sheet that is cut nothing is taken out of the plan, so that its pieces stay known.
        self._pieces: dict[str, dict[str, None]] = {}
        self._coats: dict[str, Tick] = {}
        self._boxes: dict[str, int] = {}
        self._cut_by_hand: set[str] = set()
        self._add_rooms()
        self._orders: dict[str, UUID] = {}
        self._receipts: dict[str, list[UUID]] = {}
        self._entries: dict[str, UUID] = {}
        self._edits: dict[str, tuple[str, Work, Work]] = {}

    # The house

    def _put_on_sale(self) -> None:
        BoardKind.objects.create(
            house=self.row, key=_BOARD, name="Standard board", position=OF_HISTORY
        )
        for number, item in enumerate(self.house.items):
            if item.is_sheet:
                length = (8 + 4 * number) * FOOT
                sheet_add(
                    by=self.by,
                    house=self.row,
                    board=_BOARD,
                    thickness=_THICKNESS,
                    width=4 * FOOT,
                    length=length,
                    price=item.packs[0].price,
                )
                key = sheet_key(_BOARD, _THICKNESS, 4 * FOOT, length)
            else:
                _, label, times = self._unit(item.name)
                first, *others = (
                    {
                        "name": pack.name,
                        "holds": Amount(Fraction(pack.holds, 1000) * times, label),
                        "price": pack.price,
                    }
                    for pack in item.packs
                )
                material = material_add(
                    by=self.by, house=self.row, name=item.name, pack=first, cut=item.is_stick
                )
                for other in others:
                    pack_add(by=self.by, material=material, **other)
                key = material.key
            self._names[key] = item.name
            self._keys[item.name] = key

    def _add_rooms(self) -> None:
        rooms: dict[str, Room] = {}
        for job in self.house.jobs:
            name, _, phase = job.name.rpartition(" ")
            if name not in rooms:
                rooms[name] = RoomFactory(
                    house=self.row,
                    name=name,
                    code=code_for(self.row, name),
                    position=OF_HISTORY + len(rooms),
                )
                phases_add(by=self.by, rooms=[rooms[name]])
            self._jobs[job.name] = rooms[name].phases.get(key=phase)
            self._works[job.name] = job.work
            self._note(job.work)
        for room in rooms.values():
            self._write(room)

    def _note(self, work: Work) -> None:
        """Remember what the pieces of each sheet are and which coat a unit is."""
        for unit in work.units:
            self._boxes.setdefault(unit.name, len(self._boxes))
            if unit.sheet is not None:
                self._pieces.setdefault(unit.sheet, {})[unit.name] = None
            else:
                self._coats.setdefault(unit.name, _COATS[len(self._coats) % len(_COATS)])

    def _write(self, room: Room) -> None:
        """Store what is to be done in a room, where the engine would store it."""
        plan = self._plan(room)
        takes: list[Take] = []
        places: list[PiecePlace] = []
        sheets: list[PlannedSheet] = []
        for name, job in self._jobs.items():
            if job.room_id != room.pk:
                continue
            phase = TakePhase(job.key)
            for sheet in self._works[name].sheets:
                key = self._keys[sheet.item]
                takes.append(
                    Take(
                        phase=phase,
                        item=key,
                        unit="each",
                        kind=Tick.CUT,
                        name=sheet.mark,
                        amount=ONE_SHEET,
                        plan=plan,
                    )
                )
                sheets.append(
                    PlannedSheet(
                        code=sheet.mark,
                        room=room.key,
                        source=None,
                        item=key,
                        board=_BOARD,
                        thickness=_THICKNESS,
                        plan=plan,
                        pieces=tuple((room.key, piece) for piece in self._pieces[sheet.mark]),
                    )
                )
            for item in dict.fromkeys(member.item for member in self._works[name].members):
                lengths = [one.length for one in self._works[name].members if one.item == item]
                takes.append(
                    Take(
                        phase=phase,
                        item=self._keys[item],
                        unit="ft",
                        kind=Tick.REST,
                        name="",
                        amount=sum(lengths),
                        lengths=tuple(length * THOUSANDTH for length in sorted(lengths)[::-1]),
                    )
                )
            for unit in self._works[name].units:
                hung = unit.sheet is not None
                takes += [
                    Take(
                        phase=phase,
                        item=self._keys[item],
                        unit=self._unit(item)[0],
                        kind=Tick.HUNG if hung else self._coats[unit.name],
                        name=unit.name,
                        amount=amount,
                        plan=plan if hung else "",
                    )
                    for item, amount in unit.takes
                ]
                if unit.sheet is not None:
                    left = self._boxes[unit.name] * FOOT
                    places.append(
                        PiecePlace(
                            key=unit.name,
                            sheet=unit.sheet,
                            plan=plan,
                            board=_BOARD,
                            thickness=_THICKNESS,
                            box=(left, 0, left + FOOT, FOOT),
                            area=1,
                        )
                    )
        RoomResult.objects.update_or_create(
            room=room,
            defaults={
                "digest": plan,
                "takes": write_takes(
                    RoomTakes(
                        key=room.key,
                        takes=tuple(takes),
                        places=tuple(places),
                        sheets=tuple(sheets),
                    )
                ),
            },
        )

    def _plan(self, room: Room) -> str:
        return hashlib.sha256(room.name.encode()).hexdigest()

    def _unit(self, item: str) -> tuple[str, str, int | Fraction]:
        if self.house.item(item).is_stick:
            return _STICK
        return self._units.get(item, _EACH)

    def _amount(self, item: str, thousandths: int, *, as_label: bool = False) -> Amount:
        """An amount of an item, in its own unit or in the one its packs are labelled in."""
        unit, label, times = self._unit(item)
        value = Fraction(thousandths, 1000)
        return Amount(value * times, label) if as_label else Amount(value, unit)

    def _pack(self, item: str, pack: str) -> Pack:
        return Pack.objects.get(material__house=self.row, material__key=self._keys[item], name=pack)

    def _job(self, name: str) -> Phase:
        """A job's row as it is stored now."""
        return Phase.objects.select_related("room__house").get(pk=self._jobs[name].pk)

    @contextmanager
    def _step(self) -> Iterator[None]:
        """One step: all of it or nothing. What is known of the house is read anew after it."""
        for known in ("_now", "_totals"):
            self.__dict__.pop(known, None)
        try:
            with transaction.atomic():
                yield
        except errors.Refused as error:
            raise Refused(str(error)) from error

    @cached_property
    def _now(self) -> HouseStanding:
        return standing_of(self.row)

    # Ordering

    def draft(self, order: str, jobs: Sequence[str]) -> None:
        phases = [self._jobs[job] for job in jobs]
        rooms = list(dict.fromkeys(phase.room for phase in phases))
        keys = list(dict.fromkeys(phase.key for phase in phases))
        with self._step():
            made = orders.order_make(by=self.by, house=self.row, phases=keys, rooms=rooms)
        self._orders[order] = made.pk

    def _order(self, name: str) -> Order:
        return Order.objects.select_related("house").get(pk=self._orders[name])

    def by_hand(self, order: str, item: str, packs: Mapping[str, int]) -> None:
        """People see that a draft is out of date, bring it up to date and then change it."""
        with self._step():
            draft = orders.order_refresh(by=self.by, order=self._order(order))
            for pack, number in packs.items():
                lines = list(draft.lines.filter(item=self._keys[item], pack=pack))
                if not lines and number:
                    row = self._pack(item, pack)
                    orders.order_line_add(
                        by=self.by, order=draft, pack=row, packs=number, reason="By hand"
                    )
                for place, line in enumerate(lines):
                    orders.order_line_set(
                        by=self.by, line=line, packs=0 if place else number, reason="By hand"
                    )

    def discard(self, order: str) -> None:
        with self._step():
            orders.order_remove(by=self.by, order=self._order(order))

    def place(self, order: str) -> None:
        with self._step():
            orders.order_place(by=self.by, order=self._order(order))

    def receive(
        self,
        receipt: str,
        order: str | None,
        came: Mapping[Line, int],
        paid: Mapping[Line, int] | None = None,
        keep_more: bool = False,
    ) -> None:
        known = set(Receipt.objects.values_list("pk", flat=True))
        with self._step():
            row = self._order(order) if order is not None else self._purchase(came)
            receipts: list[tuple[OrderLine, int, int | None]] = []
            for line, number in came.items():
                receipts += self._on_lines(row, line, number, paid[line] if paid else None)
            orders.order_receive_all(
                by=self.by, order=row, receipts=receipts, keep_more=keep_more or order is None
            )
        new = Receipt.objects.exclude(pk__in=known).values_list("pk", flat=True)
        self._receipts[receipt] = list(new)

    def _on_lines(
        self, order: Order, line: Line, number: int, paid: int | None
    ) -> Iterable[tuple[OrderLine, int, int | None]]:
        """What came of one pack on the lines that have it: one is for the order's own jobs, another
        for jobs ordered before. What is too much is entered on the last."""
        item, pack = line
        rows = list(order.lines.filter(item=self._keys[item], pack=pack, packs__gt=0)) or list(
            order.lines.filter(item=self._keys[item], pack=pack)
        )
        for row in rows:
            here = number if row is rows[-1] else min(number, orders.to_come(row))
            if here:
                yield row, here, paid
                number -= here
                paid = 0 if paid is not None else None

    def _purchase(self, came: Mapping[Line, int]) -> Order:
        """Something bought without an order: an order that is closed and held nothing."""
        order = Order.objects.create(
            house=self.row,
            name="Bought",
            phases=["hanging"],
            state=Order.State.CLOSED,
            placed_at=timezone.now(),
            frozen={},
        )
        for item, pack in came:
            of = self.house.item(item)
            holds = Amount(Fraction(1), "each") if of.is_sheet else self._pack(item, pack).amount
            OrderLine.objects.create(
                order=order,
                phase="hanging",
                item=self._keys[item],
                name=item,
                need="0",
                unit=holds.unit,
                pack=pack,
                holds=str(holds.value),
                holds_unit=holds.unit,
            )
        return order

    def take_back_receipt(self, receipt: str) -> None:
        with self._step():
            for key in self._receipts.pop(receipt):
                row = Receipt.objects.select_related("line__order", "movement").get(pk=key)
                orders.receipt_take_back(by=self.by, receipt=row)

    def close(self, order: str) -> None:
        with self._step():
            orders.order_close(by=self.by, order=self._order(order))

    def take_back(self, order: str) -> None:
        with self._step():
            orders.order_take_back(by=self.by, order=self._order(order))

    def return_(self, item: str, packs: Mapping[str, int], refund: int) -> None:
        with self._step():
            for pack, number in packs.items():
                lines = OrderLine.objects.filter(
                    order__house=self.row, item=self._keys[item], pack=pack, receipts__packs__gt=0
                ).distinct()
                rest = number
                last: OrderLine | None = None
                for line in lines.select_related("order__house"):
                    last = line
                    most = min(rest, orders.returnable(line, standing_of(self.row)))
                    if most:
                        orders.order_return(by=self.by, line=line, packs=most, refund=refund)
                        rest -= most
                        refund = 0
                if rest and last is not None:
                    orders.order_return(by=self.by, line=last, packs=rest, refund=refund)
                elif rest:
                    raise Refused("nothing of this ever came")

    def reprice(self, item: str, pack: str, price: int) -> None:
        with self._step():
            if self.house.item(item).is_sheet:
                sheets = SheetOnSale.objects.filter(house=self.row)
                sheet = next(
                    sheet
                    for sheet in sheets
                    if sheet_key(sheet.board, sheet.thickness, sheet.width, sheet.length)
                    == self._keys[item]
                )
                sheet_change(by=self.by, sheet=sheet, price=price)
            else:
                row = self._pack(item, pack)
                pack_change(by=self.by, pack=row, price=price)

    # Claims

    def _needed(self, job: str) -> list[str]:
        """The items that a job still takes."""
        key = self._jobs[job].pk
        return [
            item
            for item, needs in self._now.needs.items()
            if any(need.job == key for need in needs)
        ]

    def keep_for(self, job: str) -> None:
        """Pages offer this where something is not kept yet; where all is, nothing is pressed."""
        wanted = [
            (self._jobs[job].pk, item)
            for item in self._needed(job)
            if self._now.claimed_since(self._jobs[job].pk, item) is None
        ]
        with self._step():
            if wanted:
                claim_services.keep_for(by=self.by, house=self.row, wanted=wanted)

    def _claimed(self, job: str) -> list[str]:
        """The items on which a job has a claim."""
        rows = Claim.objects.filter(job=self._jobs[job], ended_at=None)
        needed = [
            item
            for item in self._needed(job)
            if self._now.claimed_since(self._jobs[job].pk, item) is not None
        ]
        return list(dict.fromkeys([*rows.values_list("item", flat=True), *needed]))

    def first(self, job: str) -> None:
        items = self._claimed(job)
        with self._step():
            for item in items:
                claim_services.put_first(by=self.by, job=self._job(job), item=item)

    def release(self, job: str) -> None:
        items = self._claimed(job)
        with self._step():
            for item in items:
                claim_services.set_free(by=self.by, job=self._job(job), item=item)

    # Work

    def _tick_things(self, job: str, kind: str, items: Iterable[str], *, done: bool) -> None:
        """Tick some things of a job, or take the ticks back. Pages have a way of their own."""
        room = self._job(job).room
        some = [Ticked(kind, item) for item in items]
        if some:
            ticks.tick_all(by=self.by, room=room, ticks=some, done=done)

    def cut(self, job: str, sheet: str) -> None:
        with self._step():
            self._tick_things(job, "cut", self._pieces[sheet], done=True)
        self._cut_by_hand.add(sheet)

    def uncut(self, job: str, sheet: str) -> None:
        """A piece that hangs was cut all the same."""
        hung = self._hung(job)
        with self._step():
            pieces = [piece for piece in self._pieces[sheet] if piece not in hung]
            self._tick_things(job, "cut", pieces, done=False)
        self._cut_by_hand.remove(sheet)

    def _hung(self, job: str) -> set[str]:
        marks = DoneMark.objects.filter(
            room=self._jobs[job].room, kind=DoneMark.Kind.HUNG, done=True
        )
        return set(marks.values_list("item", flat=True))

    def _of(self, job: str, unit: str) -> Unit:
        return next(one for one in self._works[job].units if one.name == unit)

    def tick(self, job: str, unit: str) -> None:
        hung = self._of(job, unit).sheet is not None
        with self._step():
            self._tick_things(job, "hung" if hung else self._coats[unit], [unit], done=True)

    def untick(self, job: str, unit: str) -> None:
        """A wrong tick of a piece takes two presses: it does not hang, and it is not cut."""
        sheet = self._of(job, unit).sheet
        with self._step():
            if sheet is None:
                self._tick_things(job, self._coats[unit], [unit], done=False)
                return
            self._tick_things(job, "hung", [unit], done=False)
            if sheet not in self._cut_by_hand:
                self._tick_things(job, "cut", [unit], done=False)

    def done(self, job: str) -> None:
        with self._step():
            phase_set_state(by=self.by, phase=self._job(job), state="done")

    def reopen(self, job: str) -> None:
        with self._step():
            phase_set_state(by=self.by, phase=self._job(job), state="in progress")

    # Entries of stock

    def log(self, entry: str, job: str | None, item: str, amount: int, pieces: int = 1) -> None:
        self._enter(entry, "used", job, item, amount, pieces)

    def spoil(self, entry: str, job: str | None, item: str, amount: int, pieces: int = 1) -> None:
        self._enter(entry, "spoiled", job, item, amount, pieces)

    def _enter(
        self, entry: str, kind: str, job: str | None, item: str, amount: int, pieces: int
    ) -> None:
        """In the log of a day, or on the stock page; by turns in either unit of the item."""
        key = self._keys[item]
        value = self._amount(item, amount, as_label=len(self._entries) % 2 == 1)
        known = set(Movement.objects.values_list("pk", flat=True))
        with self._step():
            if job is None:
                ledger.move(
                    by=self.by,
                    house=self.row,
                    item=key,
                    kind=kind,
                    amount=value,
                    pieces=pieces,
                )
            else:
                phase = self._job(job)
                day_log_add(
                    by=self.by, room=phase.room, phase=phase, **{kind: [(key, value, pieces)]}
                )
        self._entries[entry] = Movement.objects.exclude(pk__in=known).get().pk

    def take_back_entry(self, entry: str) -> None:
        with self._step():
            movement = Movement.objects.select_related("house").get(pk=self._entries[entry])
            ledger.reverse(by=self.by, movement=movement)

    def found(self, item: str, amount: int, pieces: int = 1) -> None:
        """Sticks that were here are found one length at a time."""
        shared: dict[str, Any] = {
            "by": self.by,
            "house": self.row,
            "item": self._keys[item],
            "amount": self._amount(item, amount),
        }
        with self._step():
            if self.house.item(item).is_stick:
                ledger.move(**shared, kind=Movement.Kind.FOUND, pieces=pieces)
            else:
                ledger.find_missing(**shared)

    def count(self, item: str, amount: int) -> None:
        with self._step():
            ledger.count_left(
                by=self.by,
                house=self.row,
                item=self._keys[item],
                remaining=self._amount(item, amount, as_label=True),
            )

    def ran_out(self, item: str) -> None:
        with self._step():
            ledger.run_out(by=self.by, house=self.row, item=self._keys[item])

    def move(self, item: str, amount: int, pieces: int = 1) -> None:
        with self._step():
            ledger.carry(
                by=self.by,
                house=self.row,
                item=self._keys[item],
                amount=self._amount(item, amount),
                pieces=pieces,
                to="Garage",
            )

    # Edits of the plan

    def edit(self, edit: str, job: str, add: Work, remove: Work) -> None:
        self._edits[edit] = (job, add, remove)
        self._change(job, add, remove)

    def undo_edit(self, edit: str) -> None:
        job, added, removed = self._edits.pop(edit)
        self._change(job, add=removed, remove=added)

    def _change(self, job: str, add: Work, remove: Work) -> None:
        """Put work in and take work out; what the database says is ticked or cut stays."""
        room = self._jobs[job].room
        ticked = set(
            DoneMark.objects.filter(room=room, done=True)
            .exclude(kind=DoneMark.Kind.CUT)
            .values_list("item", flat=True)
        )
        cut = set(CutSheet.objects.filter(room=room).values_list("code", flat=True))
        work = self._works[job]
        gone = {unit.name for unit in remove.units} - ticked
        gone_sheets = {sheet.mark for sheet in remove.sheets} - cut
        units = {unit.name: unit for unit in work.units if unit.name not in gone}
        sheets: dict[str, Sheet] = {
            sheet.mark: sheet for sheet in work.sheets if sheet.mark not in gone_sheets
        }
        units |= {unit.name: unit for unit in add.units}
        sheets |= {sheet.mark: sheet for sheet in add.sheets}
        members = [member for member in work.members if member not in remove.members]
        self._works[job] = Work(
            tuple(units.values()), tuple(sheets.values()), (*members, *add.members)
        )
        self._note(add)
        with self._step():
            self._write(room)

    def remove_job(self, job: str) -> None:
        with self._step():
            phase_change(by=self.by, phase=self._job(job), left_out=True)

    def restore_job(self, job: str) -> None:
        with self._step():
            phase_change(by=self.by, phase=self._job(job), left_out=False)

    # Questions

    def _whole(self, item: str, amount: Fraction, unit: str = "") -> int:
        """Thousandths of an item. What is kept is exact, so nothing is rounded away here."""
        unit = unit or self._now.units.get(self._keys[item], "")
        own, label, times = self._unit(item)
        thousandths = amount * 1000
        if unit == label != own:
            thousandths /= times
        assert thousandths.denominator == 1, f"{item}: {amount} {unit} is not a whole thousandth"
        return thousandths.numerator

    def remaining(self, job: str, item: str) -> int:
        key = self._jobs[job].pk
        needs = self._now.needs.get(self._keys[item], ())
        return sum(self._whole(item, need.amount) for need in needs if need.job == key)

    def claims(self) -> Sequence[str]:
        """The jobs that hold a claim, by the first item each is served of."""
        line = {
            name: min(serial for serial in mine.values() if serial is not None)
            for name, job in self._jobs.items()
            if (mine := self._now.line.get(job.pk)) is not None
        }
        return sorted(line, key=lambda name: line[name])

    def standing(self, item: str) -> Standing:
        now, key = self._now, self._keys[item]
        dealt = now.dealt(key)
        names = {job.pk: name for name, job in self._jobs.items()}
        totals = self._totals[item]
        here = now.here.get(key)
        return Standing(
            **{
                kind: totals[kind]
                for kind in ("received", "found", "cut", "used", "spoiled", "returned")
            },
            estimated=self._whole(item, here.estimated, here.unit) if here else 0,
            here=self._whole(item, dealt.supply.here),
            on_way=self._whole(item, dealt.supply.coming),
            free_here=self._whole(item, dealt.free_here),
            free_coming=self._whole(item, dealt.free_coming),
            shares={
                names[share.job]: Share(
                    self._whole(item, share.here),
                    self._whole(item, share.coming),
                    self._whole(item, share.short),
                )
                for share in dealt.shares
                if share.need
            },
            sticks={length // THOUSANDTH: count for length, count in here.sticks.items()}
            if here
            else {},
        )

    @cached_property
    def _totals(self) -> Mapping[str, Counter[str]]:
        """What moved of each item by kind, reversals counted as their negative."""
        exact: dict[tuple[str, str], Fraction] = {}
        for move in Movement.objects.filter(house=self.row):
            item = self._names[move.item]
            own, label, times = self._unit(item)
            value = move.value * move.pieces * 1000
            if move.unit == label != own:
                value /= times
            exact[item, move.kind] = exact.get((item, move.kind), Fraction(0)) + value
        totals: dict[str, Counter[str]] = {item: Counter() for item in self._keys}
        for (item, kind), value in exact.items():
            assert value.denominator == 1, f"{item}: {kind} {value}"
            came = kind in (Movement.Kind.RECEIVED, Movement.Kind.FOUND)
            totals[item][kind] = value.numerator if came else -value.numerator
        return totals

    def to_buy(self, jobs: Sequence[str]) -> Mapping[Line, int]:
        asked = [self._jobs[job].pk for job in jobs]
        lines: dict[Line, int] = {}
        for item in self._now.items:
            buying = self._now.to_buy(item, asked)
            if buying is not None:
                assert not buying.unmet, buying.unmet
                lines |= {(self._names[item], pack.name): pack.count for pack in buying.packs}
        return lines

    def draft_lines(self, order: str) -> Mapping[Line, int]:
        """What a draft would be now, as its page works it out."""
        return self._added(worked_out(self._order(order), self._now))

    def lines(self, order: str) -> Mapping[Line, int]:
        """What was ordered."""
        return self._added(self._order(order).lines.all())

    def _added(self, rows: Iterable[OrderLine]) -> Mapping[Line, int]:
        lines: Counter[Line] = Counter()
        for row in rows:
            if row.packs:
                lines[self._names[row.item], row.pack] += row.packs
        return lines

    def money(self) -> Money:
        house = HouseRow.objects.get(pk=self.row.pk)
        money = money_of(house, self._now)
        assert not money.unmet, money.unmet
        return Money(money.all.spent, money.all.on_its_way, money.all.to_buy)
