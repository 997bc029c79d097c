"""What the demo houses take, as a whole."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from takeoff.catalogue import Catalogue
from takeoff.housefile import read_catalogue, read_house
from takeoff.job import Takeoff, take_off
from takeoff.needs.need import Phase
from takeoff.quantities import add, subtract
from takeoff.reference import figures
from tests.takeoff.needs_room import assert_reasons_add_up

FIXTURES = Path(__file__).parents[2] / "fixtures"


@pytest.fixture(scope="module", params=["hollow-lane", "quay-flat"])
def takeoff(request) -> Takeoff:
    house = read_house((FIXTURES / f"{request.param}.json").read_text())
    if house.catalogue == Catalogue():
        house = replace(house, catalogue=read_catalogue((FIXTURES / "catalogue.json").read_text()))
    return take_off(house)


def test_reasons_add_up_to_every_need(takeoff):
    assert takeoff.needs
    assert_reasons_add_up(takeoff.needs)


def test_every_reason_says_something_and_rests_on_known_figures(takeoff):
    for need in takeoff.needs:
        for reason in need.reasons:
            assert reason.text.strip()
            assert set(reason.figures) <= set(figures())


def test_everything_needed_is_on_sale(takeoff):
    assert takeoff.supply.unmet == ()


def test_lines_take_all_needs_and_no_more(takeoff):
    for line in takeoff.supply.lines:
        needs = [n for n in takeoff.needs if n.phase is line.phase and n.material == line.material]
        assert add(*(need.amount for need in needs)) == line.need


def test_packs_and_stock_make_need_and_left_over(takeoff):
    sticks = {need.material for need in takeoff.needs if need.lengths}
    for line in takeoff.supply.lines:
        bought = [replace(pack.holds, value=pack.holds.value * pack.count) for pack in line.packs]
        there = add(line.on_hand, *bought)
        assert line.left_over == subtract(there, line.need), line.material
        assert line.left_over.value >= 0
        assert line.material not in sticks or line.bound <= line.cost


def test_sheets_needed_are_the_sheets_the_plans_buy(takeoff):
    planned = sum(sheet.source is None for sheet in takeoff.sheets)
    needed = sum(need.amount.value for need in takeoff.needs if need.material.startswith("sheet-"))
    assert needed == planned


def test_sheets_cost_what_the_plans_say(takeoff):
    on_list = sum(line.cost for line in takeoff.supply.lines if line.material.startswith("sheet-"))
    assert on_list == sum(plan.sheet_cost for plan in takeoff.plans)


def test_all_phases_but_partitions_take_something_in_every_boarded_house(takeoff):
    phases = {need.phase for need in takeoff.needs}
    assert set(Phase) - {Phase.PARTITIONS} <= phases


def test_metric_reasons_tell_no_inches():
    house = read_house((FIXTURES / "quay-flat.json").read_text())
    if house.catalogue == Catalogue():
        house = replace(house, catalogue=read_catalogue((FIXTURES / "catalogue.json").read_text()))
    texts = [reason.text for need in take_off(house).needs for reason in need.reasons]
    assert texts
    assert not [text for text in texts if '"' in text]
