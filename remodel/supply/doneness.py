"""What a job that is set to done used of what nobody ticked: its estimate."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from remodel.history.services import By
from remodel.supply.dealing import feet
from remodel.supply.estimates import estimate
from remodel.supply.models import Estimate, Movement
from remodel.supply.remaining import remaining_needs
from remodel.supply.standing import Standing, standing_of
from remodel.work.models import Phase

__all__ = ["estimate_rest"]


def estimate_rest(by: By, phase: Phase) -> None:
    """Let a phase that is about to be done use what is not ticked of it, by estimate. Of one that
    is done and ticked further the estimate follows: what a tick used is not used twice.

    Only what the ledger knows of counts: where nobody ever wrote that screws came, nobody wants to
    hear that they are under zero. Of what is cut it uses the sticks that are here for it.
    """
    house = phase.room.house
    standing = standing_of(house)
    job = standing.jobs.get(phase.pk)
    if job is None or phase.left_out or phase.room.finished:
        return
    known = set(Movement.objects.filter(house=house).values_list("item", flat=True))
    rest = {job.id: replace(job, ended=False)}
    amounts, sticks = [], {}
    for need in remaining_needs(rest, standing.takes, standing.place):
        if need.item not in known:
            continue
        amount = need.amount
        if standing.shop.is_cut(need.item):
            taken = _sticks(phase, need.item, standing, done=job.ended)
            if not taken:
                continue
            amount, sticks[need.item] = feet(taken), taken
        amounts.append((need.item, _thousandths(amount), need.unit))
    estimate(phase, amounts, sticks=sticks)


def _sticks(phase: Phase, item: str, standing: Standing, *, done: bool) -> dict[int, int]:
    """The sticks a phase uses: those that are here for it, or that it used when it was done."""
    if done:
        used = Estimate.objects.filter(job=phase, item=item, mark=None).first()
        return {} if used is None else dict(used.sticks)
    share = standing.dealt(item, [phase.pk]).of(phase.pk)
    return {} if share is None else dict(share.sticks_here)


def _thousandths(amount: Fraction) -> int:
    return -(-amount.numerator * 1000 // amount.denominator)
