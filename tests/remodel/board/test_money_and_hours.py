"""Money and hours are told apart, and never as one sum."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from remodel.pages.money_and_hours import Cost


def cost(cents: int, hours: str, hour: str = "15.00") -> Cost:
    work = Fraction(hours) * Fraction(hour) * 100
    return Cost(money=Fraction(cents), work=work, hour=Decimal(hour), currency="USD")


@pytest.mark.parametrize(
    ("cents", "hours", "said"),
    [
        (420, "1.2", "saves $4.20 and 1.2 hours"),
        (420, "0", "saves $4.20"),
        (0, "1.2", "saves 1.2 hours"),
        (-420, "1.2", "saves 1.2 hours but costs $4.20 more"),
        (420, "-1.2", "saves $4.20 but takes 1.2 hours more"),
        (-420, "-1.2", "costs $4.20 more and takes 1.2 hours more"),
        (-420, "0", "costs $4.20 more"),
        (0, "-1.2", "takes 1.2 hours more"),
        (0, "0", "costs the same"),
        # what rounds to nothing is not told
        (420, "0.04", "saves $4.20"),
        (420, "-0.04", "saves $4.20"),
    ],
)
def test_what_is_saved_is_told_apart(cents, hours, said):
    assert cost(cents, hours).saves == said


def test_what_a_plan_takes():
    assert cost(17600, "23.44").shown == "$176.00 and 23.4 hours"


def test_where_an_hour_is_worth_nothing_only_money_is_told():
    one, other = (Cost.of(Fraction(total), 0, Decimal(0), "USD") for total in (500, 380))
    assert (one - other).saves == "saves $1.20"
    assert one.shown == "$5.00"


def test_aim_is_taken_apart_again():
    plan = Cost.of(Fraction(4175), 1500, Decimal("15.00"), "USD")
    assert (plan.money, plan.hours, plan.total) == (2675, 1, 4175)
