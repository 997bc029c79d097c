"""Faults planted on purpose: models that break one rule each.

The identities, or the comparison with the right model, must tell each of them. Each overrides one
method, so that the same fault can be planted in a service by patching its twin.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from tests.over_time.model import Model
from tests.over_time.tracker import House, Line, Share, Standing


class ClaimsDroppedOnArrival(Model):
    """A claim is taken as met, and ends, when what was ordered for it arrives."""

    def receive(
        self,
        receipt: str,
        order: str | None,
        came: Mapping[Line, int],
        paid: Mapping[Line, int] | None = None,
        keep_more: bool = False,
    ) -> None:
        super().receive(receipt, order, came, paid, keep_more)
        self.claim_list = [
            claim for claim in self.claim_list if claim.order is None or claim.order != order
        ]


class TicksMoveNoStock(Model):
    """A tick lowers what a job needs and uses nothing up."""

    def _estimate(self, job: str, item: str, amount: int, mark: str) -> None:
        """Write nothing."""


class SheetsStayWhenCut(Model):
    """A sheet is marked as cut and stays in stock."""

    def _move(self, kind: str, item: str, amount: int, pieces: int = 1) -> None:
        if kind != "cut":
            super()._move(kind, item, amount, pieces)


class LogsAddToEstimates(Model):
    """A log is used on top of what ticks of that job have used by estimate."""

    def _logged_jobs(self, item: str) -> set[str | None]:
        return set()


class FirstPlacedStaysFirst(Model):
    """The order of the claims cannot be changed."""

    def first(self, job: str) -> None:
        """Change nothing."""


class DraftsForgetEarlierJobs(Model):
    """A draft buys for its own jobs alone, as if all supply were theirs."""

    def to_buy(self, jobs: Sequence[str]) -> Mapping[Line, int]:
        claims, self.claim_list = self.claim_list, []
        lines = super().to_buy(jobs)
        self.claim_list = claims
        return lines


class StaleDraftsPlacedAsTheyAre(Model):
    """A draft is placed with what it would have bought when it was made."""

    def __init__(self, house: House) -> None:
        super().__init__(house)
        self.drafted: dict[str, Mapping[Line, int]] = {}

    def draft(self, order: str, jobs: Sequence[str]) -> None:
        super().draft(order, jobs)
        self.drafted[order] = self.to_buy(jobs)

    def place(self, order: str) -> None:
        by_hand = self.orders[order].by_hand
        for (item, _pack), _number in self.drafted[order].items():
            if item not in by_hand:
                by_hand[item] = {
                    pack: number
                    for (drafted, pack), number in self.drafted[order].items()
                    if drafted == item
                }
        super().place(order)


class AmountsStored(Model):
    """A job is promised an amount when its claim begins, and keeps it whatever happens."""

    def __init__(self, house: House) -> None:
        super().__init__(house)
        self.promised: dict[tuple[str, str], int] = {}

    def _begin_claims(self, jobs: Sequence[str], order: str | None) -> None:
        super()._begin_claims(jobs, order)
        for item in self.items:
            for job, share in super().standing(item).shares.items():
                self.promised.setdefault((job, item), share.here + share.coming)

    def standing(self, item: str) -> Standing:
        dealt = super().standing(item)
        free = {"here": dealt.free_here, "coming": dealt.free_coming}
        shares: dict[str, Share] = {}
        for job, share in dealt.shares.items():
            promised = self.promised.get((job, item), 0)
            more = promised - share.here - share.coming
            free["here"] -= more
            shares[job] = Share(share.here + more, share.coming, max(0, share.short - more))
        return replace(dealt, free_here=free["here"], free_coming=free["coming"], shares=shares)


FAULTS = (
    ClaimsDroppedOnArrival,
    TicksMoveNoStock,
    SheetsStayWhenCut,
    LogsAddToEstimates,
    FirstPlacedStaysFirst,
    DraftsForgetEarlierJobs,
    StaleDraftsPlacedAsTheyAre,
    AmountsStored,
)
"""All of them. What each says of itself is what a failing comparison would mean."""
