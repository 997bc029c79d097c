"""Open choices as lists on pages: what each is, what the house has now, and what that is worth."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import zip_longest

from django.urls import reverse

from remodel.bridge.choices import ChoiceKind, kind_words
from remodel.bridge.records import rules_of
from remodel.choices import OpenChoice
from remodel.house.models import House

__all__ = ["ChoiceShown", "choices_shown", "foremost"]

_MOST_SHOWN = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoiceShown:
    """A choice in a list. `now` names the side that the house has, `leans_to` the one that the
    figures lean to; both may be empty. `note` says what it is worth, or why nobody knows."""

    name: str
    url: str
    now: str
    leans_to: str
    note: str
    overtaken: str


def choices_shown(house: House, choices: Iterable[OpenChoice]) -> list[ChoiceShown]:
    """Choices for a list."""
    return [_shown(house, one) for one in choices]


def _shown(house: House, one: OpenChoice) -> ChoiceShown:
    words = kind_words(one.choice.kind)
    names = {side.id: side.name for side in words.sides}
    difference = one.difference
    return ChoiceShown(
        name=one.choice.name,
        url=reverse("choice-detail", args=[house.pk, one.choice.id]),
        now=names.get(one.now, ""),
        leans_to=names.get(difference.leans_to, "") if difference else "",
        note=one.why_not or (difference.says if difference else ""),
        overtaken=one.overtaken,
    )


def foremost(house: House, choices: Sequence[OpenChoice]) -> list[ChoiceShown]:
    """The few choices that a page with other things to say shows, of those still to be made: of
    each kind the one that is worth most."""
    hour = Fraction(rules_of(house).hour) * 100

    def worth(one: OpenChoice) -> Fraction:
        known = one.difference
        return abs(known.cents + known.hours * hour) if known else Fraction(0)

    by_kind: dict[ChoiceKind, list[OpenChoice]] = {kind: [] for kind in ChoiceKind}
    for one in choices:
        if not one.overtaken and not one.why_not:
            by_kind[one.choice.kind].append(one)
    # The foremost of each kind before a second of any, so that no kind crowds the others out.
    ranked = [sorted(some, key=worth, reverse=True) for some in by_kind.values()]
    turns = [one for turn in zip_longest(*ranked) for one in turn if one is not None]
    return choices_shown(house, turns[:_MOST_SHOWN])
