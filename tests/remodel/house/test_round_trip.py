"""A house file becomes rows and comes back without loss."""

from pathlib import Path

import pytest

from remodel.bridge import house_value
from remodel.bridge.files import read_house_file
from remodel.bridge.records import stock_items
from remodel.history.services import By
from remodel.house.queries import whole_house
from remodel.house_files.files import file_of_house
from remodel.house_files.imports import save_house_value
from remodel.house_files.new import default_catalogue
from remodel.supply.ledger import balances
from tests.remodel.factories import ada

FIXTURES = Path(__file__).parents[3] / "fixtures"


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["hollow-lane", "quay-flat"])
def test_house_value_of_rows_is_the_value_they_were_made_of(name):
    value = read_house_file((FIXTURES / f"{name}.json").read_bytes(), default_catalogue())
    row = whole_house(save_house_value(by=By(ada()), value=value))
    assert house_value(row, stock=stock_items(balances(row))) == value


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["hollow-lane", "quay-flat"])
def test_exported_file_reads_back_to_the_same_house(name):
    value = read_house_file((FIXTURES / f"{name}.json").read_bytes(), default_catalogue())
    house = save_house_value(by=By(ada()), value=value)
    assert read_house_file(file_of_house(house), default_catalogue()) == value
