"""What must hold after every step of a history, whoever tracks it.

The checks read only what a tracker answers, and are exact: no figure may be one thousandth or one
cent off. They settle the dealing wholly: only one way to serve the jobs passes them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tests.over_time.tracker import House, Line, Money, Standing, Tracker, Unit


@dataclass(frozen=True)
class Step:
    """One step of a history: a method of `Tracker` and its arguments."""

    name: str
    args: Mapping[str, Any]
    refused: bool = False

    def __str__(self) -> str:
        args = ", ".join(f"{name}={value!r}" for name, value in self.args.items())
        return f"{self.name}({args})" + ("  # is refused" if self.refused else "")


@dataclass(frozen=True)
class Snapshot:
    """All that a tracker answers at one moment, without what orders would buy."""

    standings: Mapping[str, Standing]
    remaining: Mapping[tuple[str, str], int]
    claims: Sequence[str]
    money: Money

    def needed(self, item: str) -> int:
        """What the whole house still needs of an item."""
        return sum(amount for (_, needed), amount in self.remaining.items() if needed == item)

    def claimed_need(self, item: str) -> int:
        """What the jobs with a claim still need of an item."""
        return sum(self.remaining[job, item] for job in self.claims)

    def amounts(self) -> dict[str, tuple[int, int, int]]:
        """What is here, coming and needed of each item."""
        return {
            item: (standing.here, standing.on_way, self.needed(item))
            for item, standing in self.standings.items()
        }


def snapshot(house: House, tracker: Tracker) -> Snapshot:
    """Ask a tracker everything."""
    return Snapshot(
        standings={item.name: tracker.standing(item.name) for item in house.items},
        remaining={
            (job.name, item.name): tracker.remaining(job.name, item.name)
            for job in house.jobs
            for item in house.items
        },
        claims=list(tracker.claims()),
        money=tracker.money(),
    )


def check_sticks(item: str, now: Snapshot) -> None:
    """The ledger of sticks adds up, they are dealt whole in turn, and nobody lacks what is free."""
    standing = now.standings[item]
    _check_ledger(item, standing)
    needing = [job for job in now.claims if now.remaining[job, item]]
    assert list(standing.shares) == needing, f"{item}: dealt to {list(standing.shares)}"
    there = sum(length * max(0, count) for length, count in standing.sticks.items())
    claimed = sum(share.here for share in standing.shares.values())
    assert claimed + standing.free_here == there, f"{item}: claimed and free are not what is here"
    coming = sum(share.coming for share in standing.shares.values())
    assert coming + standing.free_coming == standing.on_way, f"{item}: what is coming is lost"
    for job, share in standing.shares.items():
        need = now.remaining[job, item]
        assert share.short <= need, f"{item}: {job} lacks more than it needs"
        assert share.here + share.coming + share.short >= need, f"{item}: {job} gets less"


def _check_ledger(item: str, standing: Standing) -> None:
    came = standing.received + standing.found
    went = standing.cut + standing.used + standing.spoiled + standing.returned
    assert came == went + standing.estimated + standing.here, f"{item}: the ledger does not add up"


def check_item(item: str, now: Snapshot) -> None:
    """The ledger of an item adds up, and its supply is dealt in the order of the claims."""
    standing = now.standings[item]
    _check_ledger(item, standing)
    shares = standing.shares
    claimed = sum(share.here + share.coming for share in shares.values())
    free = standing.free_here + standing.free_coming
    assert claimed + free == max(standing.supply, 0), f"{item}: claimed and free are not the supply"
    claimed_here = sum(share.here for share in shares.values())
    here = max(0, min(standing.here, standing.supply))
    assert claimed_here + standing.free_here == here, f"{item}: what is here is dealt wrongly"

    needing = [job for job in now.claims if now.remaining[job, item]]
    assert list(shares) == needing, f"{item}: dealt to {list(shares)}, not to {needing}"
    rest_here, rest = here, max(standing.supply, 0)
    for job, share in shares.items():
        need = now.remaining[job, item]
        assert share.here + share.coming + share.short == need, f"{item}: {job} gets another amount"
        assert min(share.here, share.coming, share.short) >= 0, f"{item}: {job} gets less than 0"
        assert share.here == min(need, rest_here), f"{item}: {job} does not take first what is here"
        assert share.here + share.coming == min(need, rest), f"{item}: {job} is served out of turn"
        rest_here -= share.here
        rest -= share.here + share.coming


class Watch:
    """Holds a tracker to the identities, step by step."""

    def __init__(self, house: House, tracker: Tracker) -> None:
        self.house = house
        self.tracker = tracker
        self.units: dict[str, Unit] = {
            unit.name: unit for job in house.jobs for unit in job.work.units
        }
        self.logged: Counter[tuple[str | None, str]] = Counter()
        self.logs: dict[str, tuple[str | None, str]] = {}
        self.drafts: dict[str, Sequence[str]] = {}
        self.by_hand: dict[str, set[str]] = {}
        self.now = snapshot(house, tracker)
        self.bought: Mapping[Line, int] = {}

    def before(self, step: Step) -> None:
        """Remember, before a step, what is needed to judge it."""
        if step.name == "place":
            self.bought = self.tracker.to_buy(self.drafts[step.args["order"]])

    def after(self, step: Step) -> Snapshot:
        """Check everything after a step; give what the tracker answers now."""
        before, now = self.now, snapshot(self.house, self.tracker)
        for item in self.house.items:
            (check_sticks if item.is_stick else check_item)(item.name, now)
        if step.refused:
            assert now == before, "a refused step changed something"
        else:
            self._remember(step)
            self._check_claims(step, before, now)
            if step.name == "place":
                self._check_purchase(step, before, now)
            if step.name in ("tick", "untick"):
                self._check_tick(step, before, now)
            self._check_forecast(step, before, now)
        self.now = now
        return now

    def _remember(self, step: Step) -> None:
        args = step.args
        if step.name == "draft":
            self.drafts[args["order"]] = args["jobs"]
            self.by_hand[args["order"]] = set()
        elif step.name == "by_hand":
            self.by_hand[args["order"]].add(args["item"])
        elif step.name == "log":
            self.logs[args["entry"]] = (args["job"], args["item"])
            self.logged[args["job"], args["item"]] += 1
        elif step.name == "take_back_entry" and args["entry"] in self.logs:
            self.logged[self.logs.pop(args["entry"])] -= 1
        elif step.name == "edit":
            self.units |= {unit.name: unit for unit in args["add"].units}

    def _check_claims(self, step: Step, before: Snapshot, now: Snapshot) -> None:
        """Claims begin, end and change their order by the steps that say so, and by no other.

        Jobs that need nothing before or after the step are left out.
        """
        needing = {job for (job, _), need in before.remaining.items() if need} & {
            job for (job, _), need in now.remaining.items() if need
        }
        had = [job for job in before.claims if job in needing]
        have = [job for job in now.claims if job in needing]
        expected = had
        if step.name in ("place", "keep_for"):
            jobs = self.drafts[step.args["order"]] if step.name == "place" else [step.args["job"]]
            expected = had + [job for job in jobs if job in needing and job not in had]
        elif step.name == "release":
            expected = [job for job in had if job != step.args["job"]]
        elif step.name == "first":
            expected = sorted(had, key=lambda job: job != step.args["job"])
        elif step.name == "take_back":
            began = self.drafts[step.args["order"]]
            expected = [job for job in had if job in have or job not in began]
        assert have == expected, f"{step.name}: the jobs served are {have}, not {expected}"

    def _check_purchase(self, step: Step, before: Snapshot, now: Snapshot) -> None:
        """What is placed covers every claim, and is less than a package over."""
        order = step.args["order"]
        needing = {
            job
            for (job, _), amount in now.remaining.items()
            if amount and job in self.drafts[order]
        }
        assert needing <= set(now.claims), f"{needing - set(now.claims)} ordered without a claim"
        for item in self.house.items:
            if item.name in self.by_hand[order]:
                continue
            packs = [
                (item.pack(pack).holds, number)
                for (bought, pack), number in self.bought.items()
                if bought == item.name
            ]
            standing = now.standings[item.name]
            came = sum(holds * number for holds, number in packs)
            assert standing.on_way - before.standings[item.name].on_way == came, (
                f"{item.name}: placed {standing.on_way}, not what a draft would buy ({came})"
            )
            if item.is_stick:
                lacking = [job for job, share in standing.shares.items() if share.short]
                assert not lacking, f"{item.name}: {lacking} short after a purchase"
                continue
            if not now.claimed_need(item.name):
                assert not packs, f"{item.name}: bought for nobody"
                continue
            over = standing.supply - now.claimed_need(item.name)
            assert over >= 0, f"{item.name}: {-over} short after a purchase"
            if packs:
                smallest = min(holds for holds, _ in packs)
                assert over < smallest, f"{item.name}: a package of {smallest} too much"
            else:
                claimed = {*before.claims, *self.drafts[order]}
                need = sum(before.remaining[job, item.name] for job in claimed)
                assert before.standings[item.name].supply >= need, f"{item.name}: not bought"

    def _check_tick(self, step: Step, before: Snapshot, now: Snapshot) -> None:
        """A tick moves what it takes from need to use, once."""
        sign = 1 if step.name == "tick" else -1
        job, unit = step.args["job"], self.units[step.args["unit"]]
        takes = dict(unit.takes)
        for item in self.house.items:
            name = item.name
            need = before.remaining[job, name] - now.remaining[job, name]
            then, here = before.standings[name], now.standings[name]
            cut = here.cut - then.cut
            assert need == sign * takes.get(name, 0) + cut, f"{name}: need falls by {need}"
            assert not cut or item.is_sheet, f"{name}: is cut"
            estimated = here.estimated - then.estimated
            if self.logged[job, name]:
                assert estimated == 0, f"{name}: used twice, by a log and by a tick"
            elif sign == 1:
                assert estimated == takes.get(name, 0), f"{name}: a tick uses {estimated}"
            else:
                # what a count made a fact stays used
                assert estimated in (0, -takes.get(name, 0)), f"{name}: gives back {estimated}"

    def _check_forecast(self, step: Step, before: Snapshot, now: Snapshot) -> None:
        """Money is only won or lost by what costs or saves something."""
        args = step.args
        if any(item.is_stick for item in self.house.items) and step.name not in (
            "tick",
            "cut",
            "uncut",
        ):
            return  # who is served first changes which sticks are left, and so what is bought
        same = before.amounts() == now.amounts() and step.name not in (
            "reprice",
            "receive",
            "take_back_receipt",
            "return_",
        )
        if step.name == "place":
            same = not self.by_hand[args["order"]]
        if step.name == "receive":
            same = args["order"] is not None and args["paid"] is None and not args["keep_more"]
        # what is under zero is bought for as long as somebody needs the item
        covered = all(
            standing.supply >= 0 for of in (before, now) for standing in of.standings.values()
        )
        if step.name in ("cut", "uncut"):
            same = covered
        if step.name == "tick":
            takes = self.units[args["unit"]].takes
            same = covered and not any(self.logged[args["job"], item] for item, _ in takes)
        if same:
            assert now.money.forecast == before.money.forecast, (
                f"the forecast was {before.money} and is {now.money}"
            )
