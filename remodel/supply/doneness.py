"""What a job that is set to done used of what nobody ticked: its estimate."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction

from remodel.bridge.lengths import Amount
from remodel.bridge.takes import whole_thousandths
from remodel.history.services import By
from remodel.supply.dealing import feet
from remodel.supply.estimates import estimate
from remodel.supply.models import Estimate, Movement
from remodel.supply.remaining import remaining_needs
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
    sticks: Mapping[int, int] = field(default_factory=dict)

    @property
    def total(self) -> Amount:
        return Amount(self.amount, self.unit)


def estimate_rest(by: By, phase: Phase) -> None:
    """Let a phase that is about to be done use what is not ticked of it, by estimate. Of one that
    is done and ticked further the estimate follows: what a tick used is not used twice.
    """
    if phase.left_out or phase.room.finished:
        return
    rest = rest_used(phase, standing_of(phase.room.house))
    estimate(
        phase,
        [(used.item, whole_thousandths(used.total), used.unit) for used in rest],
        sticks={used.item: used.sticks for used in rest if used.sticks},
    )


def rest_used(phase: Phase, standing: Standing) -> list[RestUsed]:
    """What a phase uses by estimate where it is set to done now, or used when it was.

    Only what the ledger knows of counts: where nobody ever wrote that screws came, nobody wants to
    hear that they are under zero. Of what is cut it uses the sticks that are here for it.
    """
    job = standing.jobs.get(phase.pk)
    if job is None:
        return []
    movements = Movement.objects.filter(house=phase.room.house_id)
    known = set(movements.values_list("item", flat=True).distinct())
    rest = []
    not_ended = {job.id: replace(job, ended=False)}
    for need in remaining_needs(not_ended, standing.takes, standing.place):
        if need.item not in known:
            continue
        if not standing.shop.is_cut(need.item):
            rest.append(RestUsed(item=need.item, amount=need.amount, unit=need.unit))
            continue
        sticks = _sticks(phase, need.item, standing, done=job.ended)
        if sticks:
            used = RestUsed(item=need.item, amount=feet(sticks), unit=need.unit, sticks=sticks)
            rest.append(used)
    return rest


def _sticks(phase: Phase, item: str, standing: Standing, *, done: bool) -> dict[int, int]:
    """The sticks a phase uses: those that are here for it, or that it used when it was done."""
    if done:
        used = Estimate.objects.filter(job=phase, item=item, mark=None).first()
        return {} if used is None else dict(used.sticks)
    share = standing.dealt(item, [phase.pk]).of(phase.pk)
    return {} if share is None else dict(share.sticks_here)
