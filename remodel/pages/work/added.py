"""What was added to a phase, as its page lists it."""

from __future__ import annotations

from dataclasses import dataclass

from remodel.bridge.lengths import parse_amount, shown_amount
from remodel.bridge.words import COUNTED_BY
from remodel.supply.queries import names_of
from remodel.work.models import AddedNeed, Phase

__all__ = ["AddedShown", "added_shown"]


@dataclass(frozen=True, slots=True, kw_only=True)
class AddedShown:
    """One thing that was added: its row, the material's name, and how it is counted in words."""

    need: AddedNeed
    name: str
    words: str


def added_shown(phase: Phase) -> list[AddedShown]:
    """What was added to a phase, in its order."""
    needs = list(phase.added.all())
    if not needs:
        return []
    names = names_of(phase.room.house)
    return [
        AddedShown(
            need=need,
            name=names.get(need.material, need.material),
            words=_words(need, phase.room.house.units),
        )
        for need in needs
    ]


def _words(need: AddedNeed, units: str) -> str:
    amount = shown_amount(parse_amount(need.amount), units).removesuffix(" each")
    words = amount
    if need.per:
        per = parse_amount(need.per)
        size = shown_amount(per, units).removesuffix(" each")
        by = dict(COUNTED_BY)[need.goes_by]
        words = f"{amount} for every {size} of: {by[0].lower()}{by[1:]}"
    if need.waste:
        words += f", {need.waste.normalize():f}% waste"
    return f"{words}. {need.note}" if need.note else words
