"""Rooms bought together never cost more than bought apart, whatever the rooms."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.boards.check import check_plan
from takeoff.boards.plan import BoardPlan
from takeoff.catalogue import OwnedSheet
from takeoff.choices import JointMode
from takeoff.house import House
from takeoff.job import Takeoff, take_off
from takeoff.units import FOOT, INCH, Nm
from tests.bench.rooms import seeded_house

OWNED = OwnedSheet(
    id="left",
    board="regular",
    thickness=Nm(INCH // 2),
    width=Nm(48 * INCH),
    length=Nm(7 * FOOT),
    count=2,
)


def bought(house: House, *, apart: bool) -> House:
    rooms = tuple(replace(room, pile=room.id if apart else "together") for room in house.rooms)
    return replace(house, rooms=rooms)


def cost(done: Takeoff) -> Fraction:
    return sum((plan.total for plan in done.plans), Fraction(0))


def boarded(plans: tuple[BoardPlan, ...]) -> list[str]:
    return sorted(surface.surface for plan in plans for surface in plan.surfaces)


houses = st.builds(
    seeded_house,
    st.integers(0, 10_000),
    rooms=st.integers(2, 3),
    joint_mode=st.sampled_from((JointMode.FRAMING, JointMode.EITHER)),
)


@settings(max_examples=6)
@given(houses, st.booleans(), st.booleans())
def test_rooms_bought_together_never_cost_more_than_apart(house, keep, owns):
    rules = replace(house.rules, keep_offcuts=keep, owned=(OWNED,) if owns else ())
    house = replace(house, rules=rules)
    apart, together = (take_off(bought(house, apart=apart)) for apart in (True, False))
    assert boarded(together.plans) == boarded(apart.plans)
    assert cost(together) <= cost(apart)
    framed = {framed_surface.surface.id: framed_surface for framed_surface in together.framed}
    for plan in together.plans:
        # A surface that no rule-abiding plan exists for is refused both ways and is in no plan.
        boards = [framed[surface.surface] for surface in plan.surfaces]
        assert not check_plan(plan, boards, together.house.rules, together.house.catalogue)


@settings(max_examples=6)
@given(houses)
def test_keeping_offcuts_never_costs_more_than_throwing_them_away(house):
    thrown = replace(house, rules=replace(house.rules, keep_offcuts=False))
    kept, away = (take_off(bought(version, apart=False)) for version in (house, thrown))
    assert cost(kept) <= cost(away)
