"""What a job that is set to done used of what nobody ticked: its estimate."""

from __future__ import annotations

from remodel.history.services import By
from remodel.supply.estimates import estimate
from remodel.supply.models import Movement
from remodel.supply.standing import standing_of
from remodel.work.models import Phase

__all__ = ["estimate_rest"]


def estimate_rest(by: By, phase: Phase) -> None:
    """Let a phase that is about to be done use what is not ticked of it, by estimate.

    Only what the ledger knows of counts: where nobody ever wrote that screws came, nobody wants to
    hear that they are under zero. Of what is cut it uses the sticks that are here for it.
    """
    house = phase.room.house
    standing = standing_of(house)
    known = set(Movement.objects.filter(house=house).values_list("item", flat=True))
    amounts, sticks = [], {}
    for item, needs in standing.needs.items():
        need = next((need for need in needs if need.job == phase.pk), None)
        if need is None or item not in known:
            continue
        amount = need.amount
        if standing.shop.is_cut(item):
            share = standing.dealt(item, [phase.pk]).of(phase.pk)
            if share is None or not share.sticks_here:
                continue
            amount, sticks[item] = share.here, share.sticks_here
        thousandths = -(-amount.numerator * 1000 // amount.denominator)
        amounts.append((item, thousandths, need.unit))
    estimate(phase, amounts, sticks=sticks)
