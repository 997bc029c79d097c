"""Random histories of a remodel: what a couple does and enters, in any order it might.

`make_history` writes one from a seed. It plays the couple against the model, so that each step
makes sense where it stands, and keeps what is really in the house apart from what is entered: real
use is 0.75 to 1.3 times the estimate, deliveries are entered late or wrongly, counts are rough.
`replay` says a history to any tracker and checks it after each step.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import ceil, gcd
from random import Random
from typing import Any

from tests.over_time.identities import Snapshot, Step, Watch
from tests.over_time.model import Model
from tests.over_time.tracker import (
    ONE_SHEET,
    House,
    Item,
    Job,
    Line,
    Member,
    Pack,
    Refused,
    Sheet,
    Tracker,
    Unit,
    Work,
)

EACH = 1000
"""Thousandths in one of anything."""

ROOMS = (
    "Attic", "Bath", "Bedroom", "Den", "Dining", "Entry", "Hall", "Kitchen", "Laundry", "Office",
    "Pantry", "Studio",
)  # fmt: skip


class Stuck(AssertionError):
    """A history that cannot end with all work done."""


@dataclass(frozen=True)
class History:
    """A house and what happens to it."""

    seed: int
    house: House
    steps: tuple[Step, ...]

    def __str__(self) -> str:
        counts = Counter(step.name for step in self.steps)
        return f"history {self.seed}: {len(self.house.jobs)} jobs, {len(self.steps)} steps: " + (
            ", ".join(f"{name} {number}" for name, number in sorted(counts.items()))
        )


def _prices(random: Random, packs: Sequence[tuple[str, int, int]]) -> tuple[Pack, ...]:
    """Packs with prices near those given; no two share a divisor, so that no two mixes cost alike.

    Which of two mixes at one price is bought is left open by the rules.
    """
    priced: list[Pack] = []
    for name, holds, near in packs:
        price = random.randint(near * 9 // 10, near * 11 // 10)
        while any(gcd(price, pack.price) > 1 for pack in priced):
            price += 1
        priced.append(Pack(name, holds, price))
    return tuple(priced)


def make_house(random: Random) -> House:
    """A house of 5 to 12 jobs, with amounts and prices invented."""
    items: tuple[Item, ...] = (
        Item("board 8 ft", _prices(random, [("sheet", ONE_SHEET, 1500)]), is_sheet=True),
        Item("board 12 ft", _prices(random, [("sheet", ONE_SHEET, 2300)]), is_sheet=True),
        Item("screws", _prices(random, [("box", 300 * EACH, 700), ("pail", 1000 * EACH, 1900)])),
        Item("adhesive", _prices(random, [("tube", 28 * EACH, 600)])),
        Item("compound", _prices(random, [("tub", 1 * EACH, 900), ("pail", 4500, 1900)])),
        Item("tape", _prices(random, [("roll", 75 * EACH, 400), ("long roll", 250 * EACH, 800)])),
    )
    rooms = sorted(random.sample(ROOMS, random.randint(5, 8)))
    jobs: list[Job] = []
    framed = random.random() < 0.5
    if framed:
        lengths = [("short", 8000, 400), ("middle", 10000, 520), ("long", 12000, 700)]
        items += (Item("studs", _prices(random, lengths), is_stick=True),)
    for room in rooms:
        if framed and random.random() < 0.4:
            members = framing_work(random, f"{room} F", random.randint(1, 6))
            jobs.append(Job(f"{room} framing", members))
        jobs.append(Job(f"{room} hanging", hanging_work(random, f"{room} H", random.randint(2, 6))))
        if random.random() < 0.5:
            coats = random.randint(2, 5)
            jobs.append(Job(f"{room} taping", taping_work(random, f"{room} T", coats)))
    return House(items, tuple(jobs[:12]))


def framing_work(random: Random, name: str, members: int) -> Work:
    """Members of some lengths."""
    return Work(
        members=tuple(
            Member(f"{name}{number}", "studs", random.choice([1500, 2390, 4010, 5000, 7700, 9250]))
            for number in range(members)
        )
    )


def hanging_work(random: Random, name: str, sheets: int) -> Work:
    """Sheets to hang, each in one to three pieces."""
    of_sheets: list[Sheet] = []
    units: list[Unit] = []
    for number in range(sheets):
        sheet = Sheet(f"{name}{number}", random.choice(["board 8 ft", "board 8 ft", "board 12 ft"]))
        of_sheets.append(sheet)
        for piece in range(random.randint(1, 3)):
            takes = (
                ("screws", random.randint(8, 42) * EACH),
                ("adhesive", random.randint(900, 9000)),
            )
            units.append(Unit(f"{sheet.mark}-{piece}", takes, sheet.mark))
    return Work(tuple(units), tuple(of_sheets))


def taping_work(random: Random, name: str, coats: int) -> Work:
    """Coats on surfaces; the first of each takes the tape."""
    units: list[Unit] = []
    for number in range(coats):
        takes = [("compound", random.randint(150, 1400))]
        if number % 2 == 0:
            takes.append(("tape", random.randint(15, 120) * EACH))
        units.append(Unit(f"{name}{number}", tuple(takes)))
    return Work(tuple(units))


@dataclass
class Reality:
    """What is really in the house, whatever was entered."""

    use: Mapping[str, Fraction]
    amounts: Counter[str] = field(default_factory=Counter)
    used: Counter[tuple[str, str]] = field(default_factory=Counter)
    begun: dict[tuple[str, str], int] = field(default_factory=dict)  # used for a unit not finished
    cut: set[str] = field(default_factory=set)

    def takes(self, item: str, amount: int) -> int:
        """What really goes into work that should take this amount."""
        return ceil(amount * self.use[item])

    def use_for(self, job: str, unit: str, item: str, amount: int) -> bool:
        """Use an item for a unit; False where it runs out before the unit is finished."""
        needed = self.takes(item, amount) - self.begun.get((unit, item), 0)
        used = max(0, min(needed, self.amounts[item]))
        self.amounts[item] -= used
        self.used[job, item] += used
        self.begun[unit, item] = self.begun.get((unit, item), 0) + used
        return used >= needed


class Couple:
    """Two people who remodel a house and enter some of what they do."""

    def __init__(self, seed: int, model: type[Model] = Model) -> None:
        self.random = Random(seed)
        self.seed = seed
        self.house = make_house(self.random)
        self.model = model(self.house)
        self.reality = Reality(
            {
                item.name: Fraction(1) if item.is_sheet else Fraction(self._between(75, 130), 100)
                for item in self.house.items
            }
        )
        self.steps: list[Step] = []
        self.names = 0
        self.unentered: list[tuple[str, dict[Line, int]]] = []  # came, and is not entered yet
        self.phantoms: list[str] = []  # receipts entered by mistake
        self.entries: list[str] = []
        self.returned: Counter[Line] = Counter()
        self.edits: dict[str, list[str]] = {}

    # Saying

    def _between(self, low: int, high: int) -> int:
        return self.random.randint(low, high)

    def _perhaps(self, chance: float) -> bool:
        return self.random.random() < chance

    def _name(self, kind: str) -> str:
        self.names += 1
        return f"{kind} {self.names}"

    def _say(self, name: str, **args: Any) -> None:
        """Do a step and write it down, with whether it was refused."""
        try:
            getattr(self.model, name)(**args)
        except Refused:
            self.steps.append(Step(name, args, refused=True))
        else:
            self.steps.append(Step(name, args))

    # Looking

    def _orders(self, state: str) -> list[str]:
        return [name for name, order in self.model.orders.items() if order.state == state]

    def _open_jobs(self) -> list[str]:
        """The jobs neither done nor removed."""
        return [
            name
            for name, state in self.model.jobs.items()
            if state.done_mark is None and not state.removed
        ]

    def _open_units(self, job: str) -> list[Unit]:
        state = self.model.jobs[job]
        return [unit for name, unit in state.units.items() if name not in state.ticked]

    def _to_come(self, order: str) -> dict[Line, int]:
        """What is really still to come of a placed order."""
        ordered = self.model.orders[order]
        came = self._entered(order)
        for late_order, late in self.unentered:
            if late_order == order:
                came.update(late)
        return {
            line: number - came[line]
            for line, number in ordered.lines.items()
            if number > came[line]
        }

    def _entered(self, order: str) -> Counter[Line]:
        came: Counter[Line] = Counter()
        for receipt in self.model.receipts.values():
            if receipt.order == order:
                came.update(receipt.came)
        return came

    def _holds(self, line: Line) -> int:
        return self.house.item(line[0]).pack(line[1]).holds

    def _any_item(self, moved: bool = False) -> str | None:
        items = [
            item.name for item in self.house.items if not moved or item.name in self.model.moved
        ]
        return self.random.choice(items) if items else None

    # Ordering

    def draft(self) -> None:
        jobs = self._open_jobs()
        if not jobs:
            return
        order = self._name("order")
        self._say("draft", order=order, jobs=self._chosen(jobs))
        if self._perhaps(0.7):
            self._place(order)

    def _chosen(self, jobs: Sequence[str]) -> list[str]:
        """Some phases of some rooms, as people choose what an order is for; all are open jobs."""
        chosen = self.random.sample(jobs, min(len(jobs), self._between(1, 3)))
        rooms, phases = ({job.rpartition(" ")[part] for job in chosen} for part in (0, 2))
        whole = [
            job.name
            for job in self.house.jobs
            if job.name.rpartition(" ")[0] in rooms and job.name.rpartition(" ")[2] in phases
        ]
        return whole if set(whole) <= set(jobs) else chosen[:1]

    def place_an_old_draft(self) -> None:
        drafts = self._orders("draft")
        if drafts:
            self._place(self.random.choice(drafts))

    def _place(self, order: str) -> None:
        jobs = self.model.orders[order].jobs
        lines = self.model.to_buy(jobs)
        if not lines or not set(jobs) <= set(self._open_jobs()):
            self._say("discard", order=order)
            return
        if self._perhaps(0.15):
            item = self.house.item(self.random.choice(list(lines))[0])
            packs = {pack.name: self._between(0, 4) for pack in item.packs}
            if any(packs.values()):
                self._say("by_hand", order=order, item=item.name, packs=packs)
        self._say("place", order=order)

    def receive(self) -> None:
        orders = [order for order in self._orders("placed") if self._to_come(order)]
        if not orders:
            return
        order = self.random.choice(orders)
        came = self._to_come(order)
        if self._perhaps(0.4):
            came = {line: self._between(0, number) for line, number in came.items()}
            came = {line: number for line, number in came.items() if number}
        if not came:
            return
        if self._perhaps(0.06):
            self.phantoms.append(self._enter(order, came))
            return
        self._bring(came)
        if self._perhaps(0.25):
            self.unentered.append((order, came))
        else:
            self._enter(order, came)

    def _bring(self, came: Mapping[Line, int]) -> None:
        for line, number in came.items():
            self.reality.amounts[line[0]] += number * self._holds(line)

    def _enter(self, order: str, came: Mapping[Line, int]) -> str:
        """Enter a receipt, at the expected price or another."""
        receipt = self._name("receipt")
        paid: dict[Line, int] | None = None
        if self._perhaps(0.3):
            prices = self.model.orders[order].prices
            paid = {
                line: number * prices[line] * self._between(80, 120) // 100
                for line, number in came.items()
            }
        self._say(
            "receive", receipt=receipt, order=order, came=dict(came), paid=paid, keep_more=False
        )
        return receipt

    def enter_what_came(self) -> None:
        if self.unentered:
            self._enter(*self.unentered.pop(self._between(0, len(self.unentered) - 1)))

    def receive_too_much(self) -> None:
        """Too much came; it is entered in vain, then kept, or the number is corrected."""
        orders = [order for order in self._orders("placed") if self.model.orders[order].lines]
        if not orders:
            return
        order = self.random.choice(orders)
        if any(late == order for late, _ in self.unentered):
            return
        line = self.random.choice(list(self.model.orders[order].lines))
        came = {line: self._to_come(order).get(line, 0) + self._between(1, 2)}
        self._say(
            "receive",
            receipt=self._name("receipt"),
            order=order,
            came=came,
            paid=None,
            keep_more=False,
        )
        if self._perhaps(0.6):
            paid = {line: came[line] * self.model.orders[order].prices[line]}
            self._bring(came)
            self._say(
                "receive",
                receipt=self._name("receipt"),
                order=order,
                came=came,
                paid=paid,
                keep_more=True,
            )

    def buy_without_an_order(self) -> None:
        item = self.random.choice(self.house.items)
        line = (item.name, self.random.choice(item.packs).name)
        came = {line: self._between(1, 3)}
        paid = {line: came[line] * self.model.prices[line]}
        self._bring(came)
        self._say(
            "receive",
            receipt=self._name("receipt"),
            order=None,
            came=came,
            paid=paid,
            keep_more=False,
        )

    def correct_a_receipt(self) -> None:
        if self.phantoms:
            self._say("take_back_receipt", receipt=self.phantoms.pop())

    def close(self) -> None:
        self._settle_entries()
        orders = self._orders("placed")
        if orders:
            self._say("close", order=self.random.choice(orders))

    def take_an_order_back(self) -> None:
        orders = [
            order
            for order in self._orders("placed")
            if not any(late == order for late, _ in self.unentered)
            # whether something came of an order that a mistake was entered for is left open
            and not any(self.model.receipts[receipt].order == order for receipt in self.phantoms)
        ]
        untouched = [order for order in orders if not self._entered(order)]
        if untouched and self._perhaps(0.7):
            self._say("take_back", order=self.random.choice(untouched))
        elif orders:
            self._say("take_back", order=self.random.choice(orders))

    def return_some(self) -> None:
        item = self.random.choice(self.house.items)
        pack = self.random.choice(item.packs)
        free = self.model.standing(item.name).free_here
        if item.is_stick:
            free = self.model.free_sticks(item.name)[pack.holds] * pack.holds
        most = min(free, self.reality.amounts[item.name]) // pack.holds
        line = (item.name, pack.name)
        came = sum(receipt.came.get(line, 0) for receipt in self.model.receipts.values())
        most = min(most, came - self.returned[line])  # a store takes back what it sold
        if any(line in self.model.receipts[receipt].came for receipt in self.phantoms):
            return
        if most > 0:
            packs = {pack.name: self._between(1, most)}
            self.returned[line] += packs[pack.name]
            refund = packs[pack.name] * pack.price * self._between(5, 10) // 10
            self.reality.amounts[item.name] -= packs[pack.name] * pack.holds
            self._say("return_", item=item.name, packs=packs, refund=refund)
        elif self._perhaps(0.3):
            packs = {pack.name: max(free, 0) // pack.holds + 1}
            self._say("return_", item=item.name, packs=packs, refund=pack.price)

    def reprice(self) -> None:
        item = self.random.choice(self.house.items)
        pack = self.random.choice(item.packs)
        others = [self.model.prices[item.name, other.name] for other in item.packs if other != pack]
        price = pack.price * self._between(80, 130) // 100
        while any(gcd(price, other) > 1 for other in others):
            price += 1
        self._say("reprice", item=item.name, pack=pack.name, price=price)

    # Claims

    def keep_for(self) -> None:
        jobs = self._open_jobs()
        if jobs:
            self._say("keep_for", job=self.random.choice(jobs))

    def first(self) -> None:
        jobs = [job for job in self.model.claims() if job in self._open_jobs()]
        if jobs:
            self._say("first", job=self.random.choice(jobs))

    def release(self) -> None:
        jobs = [job for job in self.model.claims() if job in self._open_jobs()]
        if jobs:
            self._say("release", job=self.random.choice(jobs))

    # Work

    def work(self) -> None:
        """Do some of a job for as long as what it takes is here."""
        jobs = [job for job in self._open_jobs() if self._open_units(job)]
        if not jobs:
            return
        job = self.random.choice(jobs)
        for unit in self._open_units(job)[: self._between(1, 6)]:
            lacking = self._do(job, unit)
            if lacking is None:
                continue
            if lacking in self.model.moved and self._perhaps(0.6):
                self._say("ran_out", item=lacking)
            return
        if self._perhaps(0.3) and not self._open_units(job):
            self._mark_done(job)

    def _do(self, job: str, unit: Unit) -> str | None:
        """Do a unit and tick it, or give the item that ran out."""
        sheet = unit.sheet
        if sheet is not None and not self._cut(job, sheet):
            return self.model.jobs[job].sheets[sheet].item
        for item, amount in unit.takes:
            if not self.reality.use_for(job, unit.name, item, amount):
                return item
        self._say("tick", job=job, unit=unit.name)
        return None

    def _cut(self, job: str, sheet: str) -> bool:
        """Have a sheet really cut, and perhaps enter it; False where none is here."""
        if sheet in self.reality.cut:
            return True
        item = self.model.jobs[job].sheets[sheet].item
        if self.reality.amounts[item] < ONE_SHEET:
            return False
        self.reality.amounts[item] -= ONE_SHEET
        self.reality.cut.add(sheet)
        if self._perhaps(0.3):
            self._say("cut", job=job, sheet=sheet)
        return True

    def cut_a_sheet(self) -> None:
        jobs = self._open_jobs()
        if not jobs:
            return
        job = self.random.choice(jobs)
        state = self.model.jobs[job]
        unmarked = [sheet for sheet in state.sheets if sheet not in state.cut]
        if not unmarked:
            return
        sheet = self.random.choice(unmarked)
        item = state.sheets[sheet].item
        if sheet not in self.reality.cut:
            if self.reality.amounts[item] < ONE_SHEET:
                return
            self.reality.amounts[item] -= ONE_SHEET
            self.reality.cut.add(sheet)
        self._say("cut", job=job, sheet=sheet)

    def untick(self) -> None:
        """A wrong tick: the work was not done, and what it took is here."""
        jobs = [job for job in self._open_jobs() if self.model.jobs[job].ticked]
        if not jobs:
            return
        job = self.random.choice(jobs)
        state = self.model.jobs[job]
        unit = state.units[self.random.choice(list(state.ticked))]
        self._say("untick", job=job, unit=unit.name)
        for item, amount in unit.takes:
            given_back = self.reality.takes(item, amount)
            self.reality.amounts[item] += given_back
            self.reality.used[job, item] -= given_back
            self.reality.begun.pop((unit.name, item), None)
        if unit.sheet is not None:
            self._make_whole(job, unit.sheet)

    def _make_whole(self, job: str, sheet: str) -> None:
        """A sheet without a mark was never really cut."""
        state = self.model.jobs[job]
        if sheet not in state.cut and sheet in self.reality.cut:
            self.reality.cut.remove(sheet)
            self.reality.amounts[state.sheets[sheet].item] += ONE_SHEET

    def uncut(self) -> None:
        jobs = [job for job in self._open_jobs() if self.model.jobs[job].cut_by_hand]
        if not jobs:
            return
        job = self.random.choice(jobs)
        state = self.model.jobs[job]
        sheet = self.random.choice(sorted(state.cut_by_hand))
        self._say("uncut", job=job, sheet=sheet)
        self._make_whole(job, sheet)

    def done(self) -> None:
        jobs = self._open_jobs()
        if jobs:
            self._mark_done(self.random.choice(jobs))

    def _mark_done(self, job: str) -> None:
        """All is really done, as far as what is here reaches, whatever was ticked."""
        state = self.model.jobs[job]
        if len(self._open_units(job)) > 2:
            return
        for unit in self._open_units(job):
            for item, amount in unit.takes:
                self.reality.use_for(job, unit.name, item, amount)
        for mark, sheet in state.sheets.items():
            if mark not in self.reality.cut:
                self.reality.cut.add(mark)
                here = self.reality.amounts[sheet.item]
                self.reality.amounts[sheet.item] = max(0, here - ONE_SHEET)
        self._say("done", job=job)
        if self._perhaps(0.3):
            self._log_a_job(job)

    def reopen(self) -> None:
        jobs = [job for job, state in self.model.jobs.items() if state.done_mark is not None]
        if jobs:
            self._say("reopen", job=self.random.choice(jobs))

    # Entries of stock

    def log(self) -> None:
        job = self.random.choice(list(self.model.jobs))
        if job.endswith("framing"):
            self._enter_sticks("log", job)
        else:
            self._log_a_job(job)

    def _some_stick(self, item: str) -> int | None:
        """A length of which a stick is here."""
        here = self.model.sticks_here(item)
        lengths = sorted(length for length, count in here.items() if count > 0)
        return self.random.choice(lengths) if lengths else None

    def _enter_sticks(self, kind: str, job: str | None) -> None:
        """Enter one or two sticks of a length, or three where fewer are here."""
        length = self._some_stick("studs")
        if length is not None:
            entry, pieces = self._name("entry"), self._between(1, 3)
            self._say(kind, entry=entry, job=job, item="studs", amount=length, pieces=pieces)
            self.entries.append(entry)

    def _log_a_job(self, job: str) -> None:
        """Log what a job really used of an item, more or less."""
        items = [
            item.name
            for item in self.house.items
            if not item.is_sheet and self.reality.used[job, item.name] > 0
        ]
        if not items:
            return
        item = self.random.choice(items)
        amount = max(1, self.reality.used[job, item] * self._between(90, 110) // 100)
        estimated = [estimate.amount for estimate in self.model.live(item) if estimate.job == job]
        if estimated and self._perhaps(0.3):
            amount = sum(estimated)
        entry = self._name("entry")
        self._say("log", entry=entry, job=job, item=item, amount=amount)
        self.entries.append(entry)

    def spoil(self) -> None:
        item = self._any_item()
        if item is None:
            return
        if self.house.item(item).is_stick:
            self._enter_sticks("spoil", self.random.choice([None, *self.model.jobs]))
            return
        amount = min(self.reality.amounts[item], self._between(1, 20) * EACH)
        if self.house.item(item).is_sheet:
            amount = min(amount, ONE_SHEET)
        if amount <= 0:
            return
        self.reality.amounts[item] -= amount
        if self._perhaps(0.2):
            return
        entry = self._name("entry")
        job = self.random.choice([None, *self.model.jobs])
        self._say("spoil", entry=entry, job=job, item=item, amount=amount)
        self.entries.append(entry)

    def take_an_entry_back(self) -> None:
        if self.entries:
            entry = self.entries.pop(self._between(0, len(self.entries) - 1))
            self._say("take_back_entry", entry=entry)

    def found(self) -> None:
        item = self.random.choice(self.house.items)
        if item.is_stick:
            length = self.random.choice([*(pack.holds for pack in item.packs), 9000])
            self._say("found", item=item.name, amount=length, pieces=self._between(1, 3))
            return
        amount = ONE_SHEET if item.is_sheet else self._between(1, 60) * EACH
        self.reality.amounts[item.name] += amount
        self._say("found", item=item.name, amount=amount)

    def count(self) -> None:
        item = self._any_item(moved=True)
        if item is None:
            return
        amount = self.reality.amounts[item]
        if not self.house.item(item).is_sheet and self._perhaps(0.5):
            amount = amount * self._between(90, 110) // 100
        self._say("count", item=item, amount=amount)

    def move(self) -> None:
        item = self._any_item()
        if item is not None and self.house.item(item).is_stick:
            length = self._some_stick(item)
            if length is not None:
                self._say("move", item=item, amount=length, pieces=self._between(1, 3))
        elif item is not None:
            here = self.model.standing(item).here
            if here > 0:
                self._say("move", item=item, amount=self._between(1, here))

    # Edits of the plan

    def grow(self) -> None:
        jobs = self._open_jobs()
        if not jobs:
            return
        job = self.random.choice(jobs)
        edit = self._name("edit")
        if job.endswith("framing"):
            work = framing_work(self.random, f"{edit} F", self._between(1, 2))
        elif job.endswith("hanging"):
            work = hanging_work(self.random, f"{edit} H", self._between(1, 2))
        else:
            work = taping_work(self.random, f"{edit} T", self._between(1, 2))
        self._edit(edit, job, add=work, remove=Work())

    def shrink(self) -> None:
        jobs = [
            job
            for job in self._open_jobs()
            if self._open_units(job) or self.model.jobs[job].members
        ]
        if not jobs:
            return
        job = self.random.choice(jobs)
        self._edit(self._name("edit"), job, add=Work(), remove=self._removable(job))

    def change(self) -> None:
        """An edit that takes some work out and puts other work in."""
        jobs = [job for job in self._open_jobs() if job.endswith("hanging")]
        if not jobs:
            return
        job = self.random.choice(jobs)
        edit = self._name("edit")
        work = hanging_work(self.random, f"{edit} H", 1)
        self._edit(edit, job, add=work, remove=self._removable(job))

    def _removable(self, job: str) -> Work:
        """Some work of a job of which nothing is ticked or cut: a whole sheet, or a coat."""
        state = self.model.jobs[job]
        if state.members:
            return Work(members=(self.random.choice(list(state.members.values())),))
        units = [unit for unit in self._open_units(job) if unit.sheet not in state.cut]
        if not units:
            return Work()
        unit = self.random.choice(units)
        if unit.sheet is None:
            return Work((unit,))
        on_sheet = tuple(other for other in units if other.sheet == unit.sheet)
        return Work(on_sheet, (state.sheets[unit.sheet],))

    def _edit(self, edit: str, job: str, add: Work, remove: Work) -> None:
        if add != remove:
            self._say("edit", edit=edit, job=job, add=add, remove=remove)
            self.edits.setdefault(job, []).append(edit)

    def undo_an_edit(self) -> None:
        jobs = [job for job in self._open_jobs() if self.edits.get(job)]
        if jobs:
            self._say("undo_edit", edit=self.edits[self.random.choice(jobs)].pop())

    def remove_job(self) -> None:
        jobs = self._open_jobs()
        if len(jobs) > 2:
            self._say("remove_job", job=self.random.choice(jobs))

    def restore_job(self) -> None:
        jobs = [job for job, state in self.model.jobs.items() if state.removed]
        if jobs:
            self._say("restore_job", job=self.random.choice(jobs))

    # A history

    def acts(self) -> dict[Callable[[], None], int]:
        """What may happen, and how often beside the rest."""
        return {
            self.work: 30, self.draft: 12, self.receive: 16, self.place_an_old_draft: 4,
            self.enter_what_came: 4, self.receive_too_much: 2, self.buy_without_an_order: 2,
            self.correct_a_receipt: 3, self.close: 2, self.take_an_order_back: 3,
            self.return_some: 7, self.reprice: 1, self.keep_for: 3, self.first: 3,
            self.release: 1, self.cut_a_sheet: 4, self.untick: 4, self.uncut: 3, self.done: 3,
            self.reopen: 2, self.log: 5, self.spoil: 4, self.take_an_entry_back: 3, self.found: 2,
            self.count: 4, self.move: 3, self.grow: 4, self.shrink: 3, self.change: 3,
            self.undo_an_edit: 4, self.remove_job: 1, self.restore_job: 3,
        }  # fmt: skip

    def live(self, steps: int) -> None:
        """Let so many things happen."""
        acts = self.acts()
        for act in self.random.choices(list(acts), list(acts.values()), k=steps):
            act()

    def _settle_entries(self) -> None:
        """Enter what was not entered, and correct what was entered by mistake."""
        while self.unentered:
            self.enter_what_came()
        while self.phantoms:
            self.correct_a_receipt()

    def finish(self) -> None:
        """Do all work that is left, buying what a draft says and counting what runs out."""
        self._settle_entries()
        for order in self._orders("draft"):
            self._say("discard", order=order)
        for job in self._open_jobs():
            if self.model.jobs[job].members:
                self._buy_for(job)
            for _ in range(40):
                if not self._open_units(job):
                    break
                self._buy_for(job)
                self._do_what_can_be_done(job)
            else:
                raise Stuck(f"{job} cannot be finished: {self._open_units(job)}")
            self._say("done", job=job)

    def _buy_for(self, job: str) -> None:
        if self.model.to_buy([job]):
            order = self._name("order")
            self._say("draft", order=order, jobs=[job])
            self._say("place", order=order)
        else:
            self._say("keep_for", job=job)
        for placed in self._orders("placed"):
            came = self._to_come(placed)
            if came:
                self._bring(came)
                self._enter(placed, came)

    def _do_what_can_be_done(self, job: str) -> None:
        for unit in self._open_units(job):
            lacking = self._do(job, unit)
            if lacking is not None:
                self._say("count", item=lacking, amount=self.reality.amounts[lacking])
                return


def make_history(
    seed: int, steps: int = 90, model: type[Model] = Model, *, to_the_end: bool = True
) -> History:
    """A history that ends with all work done, or one that breaks off. The same seed gives the same
    history."""
    couple = Couple(seed, model)
    couple.live(steps)
    if to_the_end:
        couple.finish()
    return History(seed, couple.house, tuple(couple.steps))


def replay(history: History, *trackers: Tracker) -> Snapshot:
    """Say a history to trackers side by side, check each after each step, and compare them.

    Gives the last answers of the first. An error tells the seed and the steps up to it.
    """
    watches = [Watch(history.house, tracker) for tracker in trackers]
    jobs = [job.name for job in history.house.jobs]
    for number, step in enumerate(history.steps):
        try:
            for watch in watches:
                watch.before(step)
                _take(watch.tracker, step)
                watch.after(step)
            for watch in watches[1:]:
                _compare(watches[0], watch)
                # for nobody more, for all, and for one job, each job in its turn
                for asked in ([], jobs, [jobs[number % len(jobs)]]):
                    _compare_buying(watches[0].tracker, watch.tracker, asked)
        except Exception as error:
            story = "\n".join(
                f"  {past}" for past in history.steps[max(0, number - 12) : number + 1]
            )
            message = f"{history}\nstep {number} of {len(history.steps)}:\n{story}\n{error!r}"
            raise AssertionError(message) from error
    return watches[0].now


def _take(tracker: Tracker, step: Step) -> None:
    """Say one step; what the history knows to be refused must be."""
    try:
        getattr(tracker, step.name)(**step.args)
    except Refused:
        assert step.refused, "refused, and should not be"
    else:
        assert not step.refused, "not refused, and should be"


def _compare(one: Watch, other: Watch) -> None:
    """Two trackers give the same answers."""
    assert one.now.remaining == other.now.remaining
    for item, standing in one.now.standings.items():
        assert standing == other.now.standings[item], (
            f"{item}:\n  {standing}\n  {other.now.standings[item]}"
        )
    assert one.now.money == other.now.money, f"{one.now.money} and {other.now.money}"


def _compare_buying(one: Tracker, other: Tracker, jobs: Sequence[str]) -> None:
    """Two trackers would buy the same for these jobs."""
    lines, other_lines = dict(one.to_buy(jobs)), dict(other.to_buy(jobs))
    assert lines == other_lines, f"to buy for {jobs}: {lines} and {other_lines}"
