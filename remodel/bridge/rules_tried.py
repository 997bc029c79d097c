"""What other rules change in rooms, by their first plans. Nothing is read or stored here."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from remodel.bridge.piles import Pile, work_out_pile
from remodel.bridge.records import Rules
from remodel.bridge.views import PileResult
from takeoff.errors import TakeoffError

__all__ = ["Sums", "first_plans", "sum_of", "sums_of", "with_rules"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sums:
    """What first plans of some rooms take: `hours` of one person, `sheet_cost` and `cost` (all
    materials of all phases) in cents. `refused` counts surfaces that cannot be boarded."""

    sheets: int = 0
    pieces: int = 0
    joints: int = 0
    hours: Fraction = Fraction(0)
    sheet_cost: int = 0
    cost: Fraction = Fraction(0)
    refused: int = 0


def sum_of(sums: Iterable[Sums]) -> Sums:
    listed = list(sums)
    return Sums(
        sheets=sum(one.sheets for one in listed),
        pieces=sum(one.pieces for one in listed),
        joints=sum(one.joints for one in listed),
        hours=sum((one.hours for one in listed), Fraction(0)),
        sheet_cost=sum(one.sheet_cost for one in listed),
        cost=sum((one.cost for one in listed), Fraction(0)),
        refused=sum(one.refused for one in listed),
    )


def with_rules(pile: Pile, rules: Rules) -> Pile:
    """The pile under other rules, with nothing at hand: sheets that are here would be counted once
    for every pile, and before and after alike are bought."""
    return replace(pile, house=replace(pile.house, rules=replace(rules, owned=())))


def first_plans(pile: Pile) -> Sums | None:
    """What the first plans of a pile take. None where its rooms cannot be worked out at all."""
    try:
        result = work_out_pile(pile, without_pooling=True).result
    except TakeoffError:
        return None
    return sums_of(result)


def sums_of(result: PileResult) -> Sums:
    """What the plans of a pile take that is worked out."""
    return Sums(
        sheets=sum(plan.sheets_bought for one in result.summaries for plan in one.plans),
        pieces=sum(len(surface.pieces) for view in result.views for surface in view.surfaces),
        joints=sum(one.joints for one in result.summaries),
        hours=sum(
            (view.hanging_hours + view.finishing_hours for view in result.views), Fraction(0)
        ),
        sheet_cost=sum(plan.sheet_cost for one in result.summaries for plan in one.plans),
        cost=sum((one.cost for one in result.summaries), Fraction(0)),
        refused=sum(one.refused for one in result.summaries),
    )
