"""What a job that is set to done used of what nobody ticked: its estimate."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from remodel.history.services import By
from remodel.supply.estimates import estimate
from remodel.supply.models import Movement
from remodel.supply.standing import Standing, standing_of
from remodel.work.models import Phase

__all__ = ["RestUsed", "estimate_rest", "rest_used"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RestUsed:
    """What a job uses of one item beyond its ticks; of what is cut, the sticks by length in
    nanometers."""

    item: str
    amount: Fraction
    unit: str
    sticks: Mapping[int, int]


def estimate_rest(by: By, phase: Phase) -> None:
    """Let a phase that is about to be done use what is not ticked of it, by estimate."""
    rest = rest_used(phase, standing_of(phase.room.house))
    estimate(
        phase,
        [(used.item, _thousandths(used.amount), used.unit) for used in rest],
        sticks={used.item: used.sticks for used in rest if used.sticks},
    )


def rest_used(phase: Phase, standing: Standing) -> list[RestUsed]:
    """What a phase uses by estimate where it is set to done now.

    Only what the ledger knows of counts: where nobody ever wrote that screws came, nobody wants to
    hear that they are under zero. Of what is cut it uses the sticks that are here for it.
    """
    known = set(
        Movement.objects.filter(house=phase.room.house_id).values_list("item", flat=True).distinct()
    )
    rest = []
    for item, needs in standing.needs.items():
        need = next((need for need in needs if need.job == phase.pk), None)
        if need is None or item not in known:
            continue
        amount, sticks = need.amount, {}
        if standing.shop.is_cut(item):
            share = standing.dealt(item, [phase.pk]).of(phase.pk)
            if share is None or not share.sticks_here:
                continue
            amount, sticks = share.here, dict(share.sticks_here)
        rest.append(RestUsed(item=item, amount=amount, unit=need.unit, sticks=sticks))
    return rest


def _thousandths(amount: Fraction) -> int:
    return -(-amount.numerator * 1000 // amount.denominator)
