"""A plan that was made at other prices, told at those of now."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from takeoff.boards.hours import work_on
from takeoff.boards.joints import joint_at
from takeoff.boards.other_face import shared_work
from takeoff.boards.plan import BoardPlan, Bound, BoundBasis, SurfacePlan
from takeoff.boards.stock import on_sale
from takeoff.boards.work import hours_of
from takeoff.framing.members import FramedSurface
from takeoff.house import House
from takeoff.quantities import Cents
from takeoff.rules import Rules

__all__ = ["priced"]


def priced(plan: BoardPlan, house: House, members: Mapping[str, FramedSurface]) -> BoardPlan:
    """The plan at what seams, backers and hours cost now; itself where they cost the same.

    What no plan can cost less than is not known at other prices, so nothing is claimed then.
    """
    rules, hours = house.rules, _hours(plan, house, members)
    points = [
        joint_at(joint.at, joint.kind, joint.length, rules)
        for surface in plan.surfaces
        for joint in surface.joints
    ]
    pairs = sum(_close_pairs(surface, rules) for surface in plan.surfaces)
    seams = sum((point.seam_cost for point in points), Fraction(0))
    seams += pairs * 100 * Fraction(rules.preferred_stagger_price)
    backers = sum((point.backer_cost for point in points), Fraction(0))
    if (seams, backers, hours) == (plan.seam_cost, plan.backer_cost, plan.work_cost):
        return plan
    return replace(
        plan,
        seam_cost=seams,
        backer_cost=backers,
        work_cost=hours,
        bound=Bound(value=Fraction(0), basis=BoundBasis.AREA),
    )


def _hours(plan: BoardPlan, house: House, members: Mapping[str, FramedSurface]) -> Cents:
    """What the hours of a plan are worth."""
    rules, catalogue = house.rules, house.catalogue
    hours = 0
    for one in plan.surfaces:
        surface = members[one.surface].surface
        kind = catalogue.board(surface.board.kind)
        sheets = on_sale(surface, rules, catalogue)
        work = work_on(surface, kind, rules, sheets, one.rows_run)
        hours += hours_of(one, work)
    planned = [(members[one.surface], one) for one in plan.surfaces]
    return Cents(hours + shared_work(planned, rules))


def _close_pairs(plan: SurfacePlan, rules: Rules) -> int:
    """The pairs of joints in touching courses that stand closer than is preferred."""
    rows = sorted(plan.rows, key=lambda row: (row.low, row.index))
    return sum(
        abs(one.at - other.at) < rules.preferred_stagger
        for lower, upper in pairwise(rows)
        for one in plan.joints
        if one.row == lower.index
        for other in plan.joints
        if other.row == upper.index
    )
