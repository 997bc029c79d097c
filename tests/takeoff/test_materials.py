"""Materials as the engine asks for them: registered, named, and shown by name whatever is on
sale."""

import ast
import csv
import io
import re
from dataclasses import replace
from pathlib import Path

import pytest

from takeoff.errors import WrongUnit
from takeoff.needs import materials as needs_materials
from takeoff.needs.materials import PAPER_TAPE, Material, material_name, materials
from takeoff.needs.need import Phase
from takeoff.needs.tally import Tally
from takeoff.quantities import convert, same_kind
from takeoff.report.csv_text import supply_csv
from takeoff.report.supply_text import supply_text
from takeoff.report.why_text import why_text
from takeoff.rules import Rules
from takeoff.supply import order
from takeoff.units import UnitSystem
from tests.takeoff.houses import DEMO_HOUSES, default_catalogue, demo_takeoff
from tests.takeoff.needs_room import CATALOGUE

NEEDS = Path(needs_materials.__file__).parent


def with_materials(made, on_sale):
    """The same takeoff where its house has these materials on sale."""
    house = replace(made.house, catalogue=replace(made.house.catalogue, materials=on_sale))
    supply = order(made.needs, catalogue=house.catalogue, kerf=house.rules.kerf)
    return replace(made, house=house, supply=supply)


@pytest.fixture(scope="module")
def without_tape():
    """A house made before there was joint tape in its catalogue."""
    others = [material for material in CATALOGUE.materials if material.id != PAPER_TAPE.id]
    return with_materials(demo_takeoff("hollow-lane"), tuple(others))


def test_house_made_before_a_material_prints_its_name_on_the_supply_list(without_tape):
    text = supply_text(without_tape, without_tape.supply)
    row = next(line for line in text.splitlines() if line.startswith("  Paper joint tape"))
    assert " ft" in row
    assert "Paper joint tape: No material 'tape-paper' in the catalogue" in " ".join(text.split())


def test_house_made_before_a_material_has_its_name_in_csv(without_tape):
    rows = csv.DictReader(io.StringIO(supply_csv(without_tape.supply, currency="USD")))
    tape = next(row for row in rows if row["item id"] == "tape-paper")
    assert tape["item"] == "Paper joint tape"


def test_house_made_before_a_material_tells_why_by_its_name(without_tape):
    assert why_text(without_tape, without_tape.needs, "paper joint").startswith("Paper joint tape:")


def test_name_of_the_catalogue_goes_before_the_materials_own():
    renamed = tuple(
        replace(material, name="Our tape") if material.id == PAPER_TAPE.id else material
        for material in CATALOGUE.materials
    )
    made = with_materials(demo_takeoff("quay-flat"), renamed)
    assert {line.name for line in made.supply.lines if line.material == PAPER_TAPE.id} == {
        "Our tape"
    }


def test_name_of_a_material_nobody_registered_is_its_id():
    assert material_name("our-own-glue") == "our-own-glue"


@pytest.mark.parametrize("units", UnitSystem)
def test_everything_a_rule_can_ask_for_is_on_sale(units):
    catalogue = default_catalogue(units)
    on_sale = {item.id: item for item in catalogue.materials}
    assert set(on_sale) == set(materials())
    assert all(pack.price > 0 for item in catalogue.materials for pack in item.packs)


@pytest.mark.parametrize("rules", [Rules(), Rules.metric()], ids=["inch", "metric"])
def test_every_kind_of_board_is_on_sale_in_a_size_of_its_catalogue(rules):
    units = UnitSystem.MILLIMETRE if rules == Rules.metric() else UnitSystem.INCH
    catalogue = default_catalogue(units)
    assert {sheet.board for sheet in catalogue.sheets} == {kind.id for kind in catalogue.boards}
    usual = {(sheet.board, sheet.thickness) for sheet in catalogue.sheets}
    assert (rules.wall_board.kind, rules.wall_board.thickness) in usual
    assert (rules.ceiling_board.kind, rules.ceiling_board.thickness) in usual


def test_metric_goods_are_told_and_sized_in_millimeters():
    for item in default_catalogue(UnitSystem.MILLIMETRE).materials:
        for text in (item.name, *(pack.name for pack in item.packs)):
            assert not re.search(r"[0-9] ?(in|ft|lb|gal|fl oz|qt)\b", text), text
    metric = default_catalogue(UnitSystem.MILLIMETRE).material("2x4")
    lengths = [convert(pack.holds, "mm").value for pack in metric.packs]
    assert lengths == [2400, 2700, 3000, 3600, 4200, 4800]


@pytest.mark.parametrize("on_sale", CATALOGUE.materials, ids=lambda item: item.id)
def test_materials_own_name_and_unit_are_those_of_the_default_catalogue(on_sale):
    material = materials()[on_sale.id]
    assert material.name == on_sale.name
    assert all(convertible(pack.holds, material.unit) for pack in on_sale.packs)


def test_metric_packs_hold_what_needs_are_measured_in():
    for on_sale in default_catalogue(UnitSystem.MILLIMETRE).materials:
        unit = materials()[on_sale.id].unit
        assert all(convertible(pack.holds, unit) for pack in on_sale.packs), on_sale.id


def convertible(amount, unit):
    return same_kind(amount, replace(amount, unit=unit))


def test_every_material_the_needs_modules_name_is_registered():
    # A material made anywhere but beside the others would have no name in a house without it.
    made = {
        path.name
        for path in NEEDS.glob("*.py")
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Material"
    }
    assert made == {"materials.py"}
    values = vars(needs_materials).values()
    constants = {value for value in values if isinstance(value, Material)}
    assert len(constants) > 15
    assert constants <= set(materials().values())


@pytest.mark.parametrize("name", DEMO_HOUSES)
def test_every_need_of_a_demo_house_is_of_a_registered_material_in_its_unit(name):
    for need in demo_takeoff(name).needs:
        if not need.material.startswith("sheet-"):
            assert need.amount.unit == materials()[need.material].unit, need.material


def test_amount_that_is_not_of_the_materials_kind_is_refused():
    tally = Tally(Phase.TAPING, "room", UnitSystem.INCH)
    with pytest.raises(WrongUnit, match="each"):
        tally.count(PAPER_TAPE, 3, "three of tape")


def test_house_with_no_material_on_sale_still_names_every_item():
    quay = demo_takeoff("quay-flat")
    lines = with_materials(quay, ()).supply.lines
    sold = {line.material: line.name for line in quay.supply.lines}
    assert {line.material for line in lines} == set(sold)
    for line in lines:
        sheet = line.material.startswith("sheet-")
        assert line.name == (sold[line.material] if sheet else materials()[line.material].name)


def test_metric_flat_with_steel_studs_buys_steel_of_metric_lengths_and_no_lumber():
    lines = demo_takeoff("quay-flat").supply.lines
    assert not [line.name for line in lines if "lumber" in line.name or "nail" in line.name]
    packs = {pack.name for line in lines if line.material == "steel-stud" for pack in line.packs}
    assert packs
    assert packs <= {"2.5 m", "3 m", "4 m"}
