"""How far each need of a room is met, in words: what is in place, what is here for it and on its
way, what is missing."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from remodel.bridge.lengths import Amount, shown_amount
from remodel.house.models import Room
from remodel.supply.models import Claim, Estimate, Movement
from remodel.supply.remaining import whole_needs
from remodel.supply.standing import Standing, standing_of

__all__ = ["stands_of"]


def stands_of(room: Room) -> Mapping[tuple[str, str], str]:
    """Words for each (phase, item) of a room of which anything is bought, kept or in place. Where
    nothing of the house is, nothing more is asked."""
    house = room.house_id
    begun = (
        Claim.objects.filter(house=house).exists()
        or Estimate.objects.filter(house=house).exists()
        or Movement.objects.filter(house=house).exists()
    )
    if not begun:
        return {}
    standing = standing_of(room.house)
    jobs = {id_: job for id_, job in standing.jobs.items() if job.room == room.pk}
    takes = {room.pk: standing.takes[room.pk]} if room.pk in standing.takes else {}
    words = {}
    for need in whole_needs(jobs, takes):
        said = _words(standing, need.job, need.item, need.amount, room.house.units)
        if said:
            words[jobs[need.job].phase, need.item] = said
    return words


def _words(standing: Standing, job: object, item: str, whole: Fraction, units: str) -> str:
    needs = standing.needs.get(item, ())
    need = next((need for need in needs if need.job == job), None)
    if need is None:
        return "All of it is in place"

    def shown(amount: Fraction) -> str:
        return shown_amount(Amount(amount, need.unit), units).removesuffix(" each")

    share = next((share for share in standing.dealt(item).shares if share.job == job), None)
    said = [f"{shown(whole - need.amount)} in place"] if need.amount < whole else []
    if share is not None:
        said += [
            f"{shown(amount)} {what}"
            for amount, what in (
                (share.here, "here for it"),
                (share.coming, "on its way"),
                (share.short, "short"),
            )
            if amount
        ]
    return ", ".join(said)
