"""The rules of stock over time, written as plainly as they can be said.

Nothing is stored that can be worked out: the model keeps facts (movements, marks, orders, claims)
and answers every question from them. It is slow and short on purpose; it is what the product's
services are compared with.

Where the rules leave something open, the model decides it so:

- An estimate of a job and item does not count while a log of that job and item stands, whichever
  came first. When the last such log is reversed, it counts again.
- A count makes those estimates a fact that count at that moment. They never count again, also when
  their mark is removed later.
- A claim stays when its job is done or removed: it gets nothing while nothing is needed, and the
  job is served in its old place when it is opened again.
- A job that needs nothing gets no claim by being ordered for or kept for.
- A claim that an order began goes on where another order that was not taken back is for its job.
- Stock under zero is bought for only beside some need: where nobody needs an item any more, what
  was used was there all the same.
- An order of which all has come stays open until somebody closes it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from takeoff.cutting.sticks import StickStock, cut_sticks
from takeoff.quantities import Cents
from takeoff.units import FOOT, INCH, Nm
from tests.over_time.packs import cheapest_mix, cheapest_part
from tests.over_time.tracker import (
    ONE_SHEET,
    House,
    Job,
    Line,
    Member,
    Money,
    Refused,
    Share,
    Sheet,
    Standing,
    Unit,
    Work,
)

TAKEN_BACK = "taken back"
THOUSANDTH = FOOT // 1000
KERF = INCH // 8
"""What the saw takes between two members, in nanometers."""


@dataclass
class Estimate:
    """What a mark, or marking a job done, says was used of an item."""

    job: str
    item: str
    amount: int
    mark: str
    counted: bool = False
    sticks: Counter[int] = field(default_factory=Counter)


@dataclass
class Entry:
    """A log or a note of something spoiled, which may be reversed."""

    kind: str
    job: str | None
    item: str
    amount: int
    pieces: int


@dataclass
class Receipt:
    """What came at once, with what was paid for it."""

    order: str | None
    came: dict[Line, int]
    paid: int


@dataclass
class Order:
    """A draft, then a placed order, which is closed or taken back in the end."""

    jobs: tuple[str, ...]
    state: str = "draft"
    by_hand: dict[str, dict[str, int]] = field(default_factory=dict)
    lines: dict[Line, int] = field(default_factory=dict)
    prices: dict[Line, int] = field(default_factory=dict)
    serial: int = 0


@dataclass
class Claim:
    """A job's right to be served, and the order that began it."""

    job: str
    order: str | None


@dataclass
class StickShare:
    """The sticks that a job gets, and its members that come out of none."""

    here: Counter[int] = field(default_factory=Counter)
    coming: Counter[int] = field(default_factory=Counter)
    lacking: tuple[int, ...] = ()


def together(sticks: Mapping[int, int]) -> int:
    """The length of some sticks together."""
    return sum(length * count for length, count in sticks.items())


def best_fit(
    members: Iterable[int], sticks: Mapping[int, int]
) -> tuple[Counter[int], tuple[int, ...]]:
    """Fit members into sticks, the longest first, each into the begun stick with the least rest
    that holds it, else into the shortest whole one. Gives the sticks begun, and what fits in
    none."""
    whole = sorted(Counter(dict(sticks)).elements())
    begun: list[tuple[int, int]] = []  # what is left, in nanometers, of a stick of this length
    lacking: list[int] = []
    for member in sorted(members, reverse=True):
        size = member * THOUSANDTH
        fitting = [stick for stick in begun if stick[0] >= size]
        if fitting:
            stick = min(fitting)
            begun.remove(stick)
        else:
            longer = [length for length in whole if length >= member]
            if not longer:
                lacking.append(member)
                continue
            whole.remove(longer[0])
            stick = (longer[0] * THOUSANDTH, longer[0])
        begun.append((stick[0] - size - KERF, stick[1]))
    return Counter(length for _, length in begun), tuple(lacking)


class JobState:
    """What a job has to do and what of it is done."""

    def __init__(self, job: Job) -> None:
        self.units: dict[str, Unit] = {unit.name: unit for unit in job.work.units}
        self.sheets: dict[str, Sheet] = {sheet.mark: sheet for sheet in job.work.sheets}
        self.members: dict[str, Member] = {member.name: member for member in job.work.members}
        self.ticked: dict[str, str] = {}  # unit -> its mark
        self.cut_by_hand: set[str] = set()
        self.cut: set[str] = set()
        self.done_mark: str | None = None
        self.removed = False

    def is_marked(self, sheet: str) -> bool:
        """Whether a mark on this sheet stands: on itself or on a piece of it."""
        return sheet in self.cut_by_hand or any(
            self.units[unit].sheet == sheet for unit in self.ticked
        )

    def open_need(self, item: str) -> int:
        """What the units not ticked and the sheets not cut take, done or not."""
        units = (unit for name, unit in self.units.items() if name not in self.ticked)
        sheets = (sheet for mark, sheet in self.sheets.items() if mark not in self.cut)
        return (
            sum(amount for unit in units for taken, amount in unit.takes if taken == item)
            + sum(ONE_SHEET for sheet in sheets if sheet.item == item)
            + sum(self.lengths(item))
        )

    def lengths(self, item: str) -> tuple[int, ...]:
        """The members it takes of an item, the longest first."""
        of_item = (member.length for member in self.members.values() if member.item == item)
        return tuple(sorted(of_item, reverse=True))


class Model:
    """The rules; a `Tracker`."""

    def __init__(self, house: House) -> None:
        self.house = house
        self.items = {item.name: item for item in house.items}
        self.prices = {
            (item.name, pack.name): pack.price for item in house.items for pack in item.packs
        }
        self.jobs = {job.name: JobState(job) for job in house.jobs}
        self.totals: Counter[tuple[str, str]] = Counter()
        self.sticks: Counter[tuple[str, int]] = Counter()  # what is here by movements alone
        self.moved: set[str] = set()
        self.estimates: list[Estimate] = []
        self.entries: dict[str, Entry] = {}
        self.receipts: dict[str, Receipt] = {}
        self.orders: dict[str, Order] = {}
        self.claim_list: list[Claim] = []
        self.edits: dict[str, tuple[str, Work, Work]] = {}
        self.spent = 0
        self.marks: set[str] = set()  # those that stand
        self.mark_count = 0

    # The ledger

    def _move(self, kind: str, item: str, amount: int, pieces: int = 1) -> None:
        """Write a movement of a kind; a negative amount reverses."""
        self.totals[item, kind] += amount * pieces
        self.moved.add(item)
        if self.items[item].is_stick:
            came = (1 if amount > 0 else -1) * (1 if kind in ("received", "found") else -1)
            self.sticks[item, abs(amount)] += came * pieces

    def _ledger(self, item: str) -> int:
        """What is here by movements alone."""
        total = self.totals
        came = total[item, "received"] + total[item, "found"]
        went = sum(total[item, kind] for kind in ("cut", "used", "spoiled", "returned"))
        return came - went

    def _logged_jobs(self, item: str) -> set[str | None]:
        """The jobs of which a log of this item stands."""
        return {
            entry.job
            for entry in self.entries.values()
            if entry.kind == "used" and entry.item == item
        }

    def live(self, item: str) -> list[Estimate]:
        """The estimates of an item that count now."""
        logged = self._logged_jobs(item)
        return [
            estimate
            for estimate in self.estimates
            if estimate.item == item
            and estimate.mark in self.marks
            and not estimate.counted
            and estimate.job not in logged
        ]

    def _here(self, item: str) -> int:
        return self._ledger(item) - sum(estimate.amount for estimate in self.live(item))

    def sticks_here(self, item: str) -> Counter[int]:
        """How many sticks of each length are here; under zero where more were used than came."""
        here = Counter({length: count for (of, length), count in self.sticks.items() if of == item})
        for estimate in self.live(item):
            here.subtract(estimate.sticks)
        return here

    def _new_mark(self) -> str:
        self.mark_count += 1
        mark = f"mark {self.mark_count}"
        self.marks.add(mark)
        return mark

    def _estimate(self, job: str, item: str, amount: int, mark: str) -> None:
        self.estimates.append(Estimate(job, item, amount, mark))

    # Ordering

    def draft(self, order: str, jobs: Sequence[str]) -> None:
        self.orders[order] = Order(tuple(jobs))

    def by_hand(self, order: str, item: str, packs: Mapping[str, int]) -> None:
        self.orders[order].by_hand[item] = dict(packs)

    def discard(self, order: str) -> None:
        del self.orders[order]

    def place(self, order: str) -> None:
        placed = self.orders[order]
        assert placed.state == "draft", order
        lines = {
            line: number
            for line, number in self.to_buy(placed.jobs).items()
            if line[0] not in placed.by_hand
        }
        for item, packs in placed.by_hand.items():
            lines |= {(item, pack): number for pack, number in packs.items() if number}
        placed.state = "placed"
        placed.serial = self._next_serial()
        placed.lines = lines
        placed.prices = {line: self.prices[line] for line in lines}
        self._begin_claims(placed.jobs, order)

    def _next_serial(self) -> int:
        """Which of the orders placed the next one is."""
        return 1 + max(order.serial for order in self.orders.values())

    def _begin_claims(self, jobs: Sequence[str], order: str | None) -> None:
        have = {claim.job for claim in self.claim_list}
        self.claim_list += [
            Claim(job, order)
            for job in jobs
            if job not in have and any(self.remaining(job, item) for item in self.items)
        ]

    def _came(self, order: str) -> Counter[Line]:
        came: Counter[Line] = Counter()
        for receipt in self.receipts.values():
            if receipt.order == order:
                came.update(receipt.came)
        return came

    def _outstanding(self, order: str) -> dict[Line, int]:
        """Packs of a placed order still to come."""
        ordered = self.orders[order]
        if ordered.state != "placed":
            return {}
        came = self._came(order)
        return {line: max(0, number - came[line]) for line, number in ordered.lines.items()}

    def receive(
        self,
        receipt: str,
        order: str | None,
        came: Mapping[Line, int],
        paid: Mapping[Line, int] | None = None,
        keep_more: bool = False,
    ) -> None:
        if order is not None:
            outstanding = self._outstanding(order)
            too_much = any(number > outstanding.get(line, 0) for line, number in came.items())
            if too_much and not keep_more:
                raise Refused(f"more came of {order} than is to come")
        if paid is None:
            assert order is not None
            prices = self.orders[order].prices
            paid = {line: number * prices[line] for line, number in came.items()}
        for (item, pack), number in came.items():
            self._move("received", item, self.items[item].pack(pack).holds, number)
        self.spent += sum(paid.values())
        self.receipts[receipt] = Receipt(order, dict(came), sum(paid.values()))

    def take_back_receipt(self, receipt: str) -> None:
        reversed_ = self.receipts.pop(receipt)
        for (item, pack), number in reversed_.came.items():
            self._move("received", item, -self.items[item].pack(pack).holds, number)
        self.spent -= reversed_.paid

    def close(self, order: str) -> None:
        assert self.orders[order].state == "placed", order
        self.orders[order].state = "closed"

    def take_back(self, order: str) -> None:
        if any(self._came(order).values()):
            raise Refused(f"something of {order} came")
        assert self.orders[order].state == "placed", order
        self.orders[order].state = "taken back"
        for claim in self.claim_list:
            if claim.order == order:
                claim.order = self._standing_order_for(claim.job)
        self.claim_list = [claim for claim in self.claim_list if claim.order != TAKEN_BACK]

    def _standing_order_for(self, job: str) -> str:
        """The earliest order placed for a job and not taken back."""
        placed = [
            (order.serial, name)
            for name, order in self.orders.items()
            if job in order.jobs and order.state in ("placed", "closed")
        ]
        return min(placed)[1] if placed else TAKEN_BACK

    def return_(self, item: str, packs: Mapping[str, int], refund: int) -> None:
        amount = sum(number * self.items[item].pack(pack).holds for pack, number in packs.items())
        if amount > self.standing(item).free_here:
            raise Refused(f"not so much of {item} is here and free")
        if self.items[item].is_stick:
            free = self.free_sticks(item)
            if any(
                number > free[self.items[item].pack(pack).holds] for pack, number in packs.items()
            ):
                raise Refused(f"not so many of {item} are here and free")
        for pack, number in packs.items():
            self._move("returned", item, self.items[item].pack(pack).holds, number)
        self.spent -= refund

    def reprice(self, item: str, pack: str, price: int) -> None:
        self.prices[item, pack] = price

    # Claims

    def keep_for(self, job: str) -> None:
        self._begin_claims([job], None)

    def first(self, job: str) -> None:
        self.claim_list.sort(key=lambda claim: claim.job != job)

    def release(self, job: str) -> None:
        self.claim_list = [claim for claim in self.claim_list if claim.job != job]

    # Work

    def cut(self, job: str, sheet: str) -> None:
        self.jobs[job].cut_by_hand.add(sheet)
        self._cut_or_whole(job, sheet)

    def uncut(self, job: str, sheet: str) -> None:
        self.jobs[job].cut_by_hand.remove(sheet)
        self._cut_or_whole(job, sheet)

    def _cut_or_whole(self, job: str, sheet: str) -> None:
        """Take a sheet out of stock with the first mark on it, and back with the last."""
        state = self.jobs[job]
        item = state.sheets[sheet].item
        if state.is_marked(sheet) and sheet not in state.cut:
            state.cut.add(sheet)
            self._move("cut", item, ONE_SHEET)
        elif not state.is_marked(sheet) and sheet in state.cut:
            state.cut.remove(sheet)
            self._move("cut", item, -ONE_SHEET)

    def tick(self, job: str, unit: str) -> None:
        state = self.jobs[job]
        assert unit not in state.ticked, unit
        mark = state.ticked[unit] = self._new_mark()
        for item, amount in state.units[unit].takes:
            self._estimate(job, item, amount, mark)
        sheet = state.units[unit].sheet
        if sheet is not None:
            self._cut_or_whole(job, sheet)

    def untick(self, job: str, unit: str) -> None:
        state = self.jobs[job]
        self.marks.remove(state.ticked.pop(unit))
        sheet = state.units[unit].sheet
        if sheet is not None:
            self._cut_or_whole(job, sheet)

    def done(self, job: str) -> None:
        state = self.jobs[job]
        assert state.done_mark is None, job
        mark = self._new_mark()
        for item in self.items.values():
            rest = state.open_need(item.name)
            if not rest or item.name not in self.moved:
                continue
            if not item.is_stick:
                self._estimate(job, item.name, rest, mark)
            elif sticks := self._dealt_sticks(job, item.name).here:
                estimate = Estimate(job, item.name, together(sticks), mark, sticks=sticks)
                self.estimates.append(estimate)
        state.done_mark = mark

    def reopen(self, job: str) -> None:
        state = self.jobs[job]
        assert state.done_mark is not None, job
        self.marks.remove(state.done_mark)
        state.done_mark = None

    # Entries of stock

    def log(self, entry: str, job: str | None, item: str, amount: int, pieces: int = 1) -> None:
        self._move("used", item, amount, pieces)
        self.entries[entry] = Entry("used", job, item, amount, pieces)

    def spoil(self, entry: str, job: str | None, item: str, amount: int, pieces: int = 1) -> None:
        self._move("spoiled", item, amount, pieces)
        self.entries[entry] = Entry("spoiled", job, item, amount, pieces)

    def take_back_entry(self, entry: str) -> None:
        reversed_ = self.entries.pop(entry)
        self._move(reversed_.kind, reversed_.item, -reversed_.amount, reversed_.pieces)

    def found(self, item: str, amount: int, pieces: int = 1) -> None:
        self._move("found", item, amount, pieces)

    def count(self, item: str, amount: int) -> None:
        if self.items[item].is_stick:
            raise Refused("sticks are counted length by length")
        for estimate in self.live(item):
            estimate.counted = True
        missing = self._ledger(item) - amount
        if missing > 0:
            self._move("used", item, missing)
        elif missing < 0:
            self._move("found", item, -missing)

    def ran_out(self, item: str) -> None:
        self.count(item, 0)

    def move(self, item: str, amount: int, pieces: int = 1) -> None:
        if self.items[item].is_stick:
            enough = pieces <= self.sticks_here(item)[amount]
        else:
            enough = amount * pieces <= self._here(item)
        if not enough:
            raise Refused(f"not so much of {item} is here")

    # Edits of the plan

    def edit(self, edit: str, job: str, add: Work, remove: Work) -> None:
        self.edits[edit] = (job, add, remove)
        self._change(job, add, remove)

    def undo_edit(self, edit: str) -> None:
        job, added, removed = self.edits.pop(edit)
        self._change(job, add=removed, remove=added)

    def _change(self, job: str, add: Work, remove: Work) -> None:
        """Put work in and take work out; what is ticked or cut stays."""
        state = self.jobs[job]
        for unit in remove.units:
            if unit.name not in state.ticked:
                del state.units[unit.name]
        for sheet in remove.sheets:
            if sheet.mark not in state.cut:
                del state.sheets[sheet.mark]
        for member in remove.members:
            del state.members[member.name]
        state.members |= {member.name: member for member in add.members}
        state.units |= {unit.name: unit for unit in add.units}
        state.sheets |= {sheet.mark: sheet for sheet in add.sheets}

    def remove_job(self, job: str) -> None:
        self.jobs[job].removed = True

    def restore_job(self, job: str) -> None:
        self.jobs[job].removed = False

    # Questions

    def remaining(self, job: str, item: str) -> int:
        state = self.jobs[job]
        if state.removed or state.done_mark is not None:
            return 0
        return state.open_need(item)

    def claims(self) -> Sequence[str]:
        return [claim.job for claim in self.claim_list]

    def _on_way(self, item: str) -> int:
        return sum(
            number * self.items[item].pack(pack).holds
            for order in self.orders
            for (ordered, pack), number in self._outstanding(order).items()
            if ordered == item
        )

    def standing(self, item: str) -> Standing:
        if self.items[item].is_stick:
            return self._standing_of_sticks(item)
        here, on_way = self._here(item), self._on_way(item)
        supply = max(here + on_way, 0)  # a hole in what is here is filled by what is coming
        free_here = min(max(here, 0), supply)
        free_coming = supply - free_here
        shares: dict[str, Share] = {}
        for job in self.claims():
            need = self.remaining(job, item)
            from_here = min(need, free_here)
            from_coming = min(need - from_here, free_coming)
            free_here -= from_here
            free_coming -= from_coming
            if need:
                shares[job] = Share(from_here, from_coming, need - from_here - from_coming)
        return Standing(
            **self._totals(item),
            here=here,
            on_way=on_way,
            free_here=free_here,
            free_coming=free_coming,
            shares=shares,
        )

    def _totals(self, item: str) -> dict[str, int]:
        """What moved of an item, and what was used by estimate."""
        kinds = ("received", "found", "cut", "used", "spoiled", "returned")
        return {
            **{kind: self.totals[item, kind] for kind in kinds},
            "estimated": sum(estimate.amount for estimate in self.live(item)),
        }

    # Sticks

    def _standing_of_sticks(self, item: str) -> Standing:
        dealt, free_here, free_coming = self._deal_sticks(item, self.claims())
        return Standing(
            **self._totals(item),
            here=self._here(item),
            on_way=self._on_way(item),
            free_here=together(free_here),
            free_coming=together(free_coming),
            shares={
                job: Share(together(share.here), together(share.coming), sum(share.lacking))
                for job, share in dealt.items()
            },
            sticks={length: count for length, count in self.sticks_here(item).items() if count},
        )

    def _usual(self, item: str, members: tuple[int, ...]) -> Counter[int]:
        """The sticks one buys for some members. How they are cut is tried elsewhere."""
        prices = {pack.holds: self.prices[item, pack.name] for pack in self.items[item].packs}
        plan = cut_sticks(
            [Nm(length * THOUSANDTH) for length in members],
            [StickStock(Nm(length * THOUSANDTH), Cents(price)) for length, price in prices.items()],
            kerf=Nm(KERF),
            prove_best=False,
        )
        return Counter(stick.stock.length // THOUSANDTH for stick in plan.sticks)

    def _deal_sticks(
        self, item: str, jobs: Iterable[str]
    ) -> tuple[dict[str, StickShare], Counter[int], Counter[int]]:
        """Deal sticks out whole. Gives what each job gets, and what is free here and coming."""
        here = +self.sticks_here(item)
        coming: Counter[int] = Counter()
        for order in self.orders:
            for (ordered, pack), number in self._outstanding(order).items():
                if ordered == item:
                    coming[self.items[item].pack(pack).holds] += number
        coming = +coming
        dealt: dict[str, StickShare] = {}
        for job in jobs:
            if not self.remaining(job, item):
                continue
            members = self.jobs[job].lengths(item)
            taken, lacking = self._usual(item, members), ()
            if not taken <= here + coming:
                taken, lacking = best_fit(members, here + coming)
            from_here = taken & here
            here, coming = here - from_here, coming - (taken - from_here)
            dealt[job] = StickShare(from_here, taken - from_here, lacking)
        return dealt, here, coming

    def free_sticks(self, item: str) -> Counter[int]:
        """The sticks that are here and that no job with a claim gets."""
        return self._deal_sticks(item, self.claims())[1]

    def _in_turn(self, jobs: Iterable[str]) -> list[str]:
        """The jobs with a claim in their turn, then others in hanging order."""
        claims = list(self.claims())
        others = set(jobs) - set(claims)
        return [*claims, *(job for job in self.jobs if job in others)]

    def _dealt_sticks(self, job: str, item: str) -> StickShare:
        return self._deal_sticks(item, self._in_turn([job]))[0].get(job, StickShare())

    def _sticks_to_buy(self, item: str, jobs: Iterable[str]) -> Counter[str]:
        """Packs, job by job, so that what is bought for a job reaches it."""
        packs: Counter[str] = Counter()
        for share in self._deal_sticks(item, self._in_turn(jobs))[0].values():
            if share.lacking:
                bought = self._usual(item, share.lacking)
                packs.update({pack.name: bought[pack.holds] for pack in self.items[item].packs})
        return +packs

    def _missing(self, jobs: Iterable[str], item: str) -> int:
        """What these jobs need beyond what is here and coming; 0 or under where there is more."""
        needed = sum(self.remaining(job, item) for job in set(jobs))
        if not needed:
            return 0
        return needed - self._here(item) - self._on_way(item)

    def _mix(self, item: str, missing: int) -> dict[str, int]:
        packs = [pack.name for pack in self.items[item].packs]
        return cheapest_mix(packs, self._holds(item), self._today(item), missing)

    def _whole_house(self, item: str) -> Mapping[str, int]:
        """What all jobs together still have to buy."""
        if self.items[item].is_stick:
            return self._sticks_to_buy(item, self.jobs)
        return self._mix(item, self._missing(self.jobs, item))

    def _holds(self, item: str) -> dict[str, int]:
        return {pack.name: pack.holds for pack in self.items[item].packs}

    def _today(self, item: str) -> dict[str, int]:
        return {pack.name: self.prices[item, pack.name] for pack in self.items[item].packs}

    def to_buy(self, jobs: Sequence[str]) -> Mapping[Line, int]:
        lines: dict[Line, int] = {}
        for item in self.items:
            if self.items[item].is_stick:
                sticks = self._sticks_to_buy(item, jobs)
                lines |= {(item, pack): number for pack, number in sticks.items()}
                continue
            missing = self._missing([*jobs, *self.claims()], item)
            if missing <= 0:
                continue
            whole_house = self._whole_house(item)
            part = cheapest_part(whole_house, self._holds(item), self._today(item), missing)
            lines |= {(item, pack): number for pack, number in part.items()}
        return lines

    def money(self) -> Money:
        on_way = sum(
            number * self.orders[order].prices[line]
            for order in self.orders
            for line, number in self._outstanding(order).items()
        )
        to_buy = sum(
            number * self.prices[item, pack]
            for item in self.items
            for pack, number in self._whole_house(item).items()
        )
        return Money(self.spent, on_way, to_buy)
