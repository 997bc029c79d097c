"""Whether the plan's money adds up: sheets, seams, backers, hours, and a bound that is none too
high."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise

from takeoff.boards.check.facts import Breach, Facts
from takeoff.boards.check.hours import check_hours
from takeoff.boards.plan import BoardPlan, JointKind
from takeoff.catalogue import Catalogue
from takeoff.reference import figures
from takeoff.rules import Rules
from takeoff.units import FOOT

__all__ = ["check_money"]


def check_money(
    plan: BoardPlan, surfaces: Sequence[Facts], rules: Rules, catalogue: Catalogue
) -> Iterator[Breach]:
    """Breaches of `sheet_cost`, `seam_cost`, `backer_cost`, `work_cost` and `bound`."""
    sheets = sum(sheet.price for sheet in plan.sheets)
    joints = [joint for facts in surfaces for joint in facts.plan.joints]
    seams = Fraction(rules.seam_price) * 100 * sum(joint.length for joint in joints) / FOOT
    # Counted anew from the joints: what a plan says of its own money proves nothing.
    close = sum(_pairs_under_preferred(facts) for facts in surfaces)
    seams += Fraction(rules.preferred_stagger_price) * 100 * close
    shims = figures.count("BB-shims") * Fraction(rules.shim_price)
    backer = 100 * (Fraction(rules.backer_price) + shims)
    backer_length = figures.length("BB-length")
    backers = backer * sum(
        -(-joint.length // backer_length) for joint in joints if joint.kind is JointKind.FLOATING
    )
    for rule, given, worked_out in (
        ("sheet_cost", plan.sheet_cost, sheets),
        ("seam_cost", plan.seam_cost, seams),
        ("backer_cost", plan.backer_cost, backers),
    ):
        if given != worked_out:
            what = rule.removesuffix("_cost")
            yield Breach(
                "plan", rule, f"The {what} cost is {_cents(worked_out)}, not {_cents(given)}"
            )
    yield from check_hours(plan, surfaces, rules, catalogue)
    if not 0 <= plan.bound.value <= plan.total:
        yield Breach(
            "plan",
            "bound",
            f"The bound {_cents(plan.bound.value)} is above the plan's own {_cents(plan.total)}",
        )


def _pairs_under_preferred(facts: Facts) -> int:
    return sum(
        abs(one.at - other.at) < facts.rules.preferred_stagger
        for lower, upper in pairwise(facts.courses)
        for one in facts.plan.joints
        if one.row == lower.index
        for other in facts.plan.joints
        if other.row == upper.index
    )


def _cents(value: Fraction | int) -> str:
    return f"{float(value) / 100:.4f}"
