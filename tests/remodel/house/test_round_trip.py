"""A house file becomes rows and comes back without loss."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from remodel.bridge import house_value
from remodel.bridge.files import read_house_file
from remodel.bridge.lengths import MM, amount
from remodel.bridge.marks import with_marks
from remodel.bridge.records import OwnedSheet as OwnedValue
from remodel.bridge.records import StockItem, stock_items
from remodel.history.services import By
from remodel.house.models import House, Room
from remodel.house.queries import whole_house
from remodel.house_files.files import file_of_house, what_a_file_carries
from remodel.house_files.imports import save_house_value
from remodel.house_files.new import default_catalogue
from remodel.supply.ledger import balances, move
from remodel.supply.models import Movement, OwnedSheet
from remodel.supply.services import owned_sheet_add
from tests.remodel.factories import ada

FIXTURES = Path(__file__).parents[3] / "fixtures"


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["hollow-lane", "quay-flat"])
def test_house_value_of_rows_is_the_value_they_were_made_of(name):
    value = read_house_file((FIXTURES / f"{name}.json").read_bytes(), default_catalogue())
    row = whole_house(save_house_value(by=By(ada()), value=value))
    assert house_value(row, stock=stock_items(balances(row))) == with_marks(value)


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["hollow-lane", "quay-flat"])
def test_exported_file_reads_back_to_the_same_house(name):
    value = read_house_file((FIXTURES / f"{name}.json").read_bytes(), default_catalogue())
    house = save_house_value(by=By(ada()), value=value)
    assert read_house_file(file_of_house(house), default_catalogue()) == with_marks(value)


@pytest.fixture
def flat(by):
    value = read_house_file((FIXTURES / "quay-flat.json").read_bytes(), default_catalogue())
    return save_house_value(by=by, value=value)


def written(house):
    return read_house_file(file_of_house(house), default_catalogue())


def test_stock_of_a_file_is_found_in_the_house_made_of_it(by, flat):
    move(by=by, house=flat, item="screw-coarse-1.25", kind="received", amount=amount(30, "each"))
    move(by=by, house=flat, item="screw-coarse-1.25", kind="used", amount=amount(12, "each"))
    again = save_house_value(by=by, value=written(flat))
    found = Movement.objects.get(house=again, item="screw-coarse-1.25")
    assert (found.kind, found.amount) == ("found", amount(18, "each"))


def test_whole_sheets_of_a_file_are_found_in_the_ledger_and_are_no_offcuts(by, flat):
    value = read_house_file((FIXTURES / "quay-flat.json").read_bytes(), default_catalogue())
    item = "sheet-regular-12.5x1200x3600mm"
    sold = whole_sheet(value, length=3600 * MM, count=4)
    unsold = whole_sheet(value, length=4200 * MM, count=2)
    assert sold.id == item
    rules = replace(value.rules, owned=(*value.rules.owned, sold, unsold))
    again = save_house_value(by=by, value=replace(value, id="again", rules=rules))
    found = Movement.objects.filter(house=again, kind="found")
    known = {movement.item: movement.amount for movement in found}
    assert (known[item], known[unsold.id]) == (amount(4, "each"), amount(2, "each"))
    offcuts = {sheet.id for sheet in value.rules.owned}
    assert set(again.owned_sheets.values_list("key", flat=True)) == offcuts


def whole_sheet(value, *, length, count):
    kind = value.catalogue.boards[0].id
    size = {"board": kind, "thickness": 125 * MM // 10, "width": 1200 * MM, "length": length}
    key = f"sheet-{kind}-12.5x1200x{length // MM}mm"
    sheet = OwnedValue(id=key, **size, count=count)
    assert sheet.whole
    return sheet


def test_stock_under_zero_is_left_out_of_a_file(by, flat):
    move(by=by, house=flat, item="screw-coarse-1.25", kind="used", amount=amount(12, "each"))
    assert "screw-coarse-1.25" not in {item.material for item in written(flat).stock}


def test_file_tells_only_of_offcuts_that_are_here(by, flat):
    shared = {"by": by, "house": flat, "board": flat.board_kinds.first().key}
    size = {"thickness": 127 * MM // 10, "width": 600 * MM, "length": 900 * MM}
    some = owned_sheet_add(**shared, **size, count=5)
    gone = owned_sheet_add(**shared, **size, count=2)
    OwnedSheet.objects.filter(pk=some.pk).update(cut_up=1, spoiled=2)
    OwnedSheet.objects.filter(pk=gone.pk).update(cut_up=2)
    owned = {sheet.id: sheet.count for sheet in written(flat).rules.owned}
    assert owned[some.key] == 2
    assert gone.key not in owned


def test_plans_go_on_taking_the_offcuts_they_were_cut_from(by, flat):
    size = {"thickness": 127 * MM // 10, "width": 600 * MM, "length": 900 * MM}
    row = owned_sheet_add(by=by, house=flat, board=flat.board_kinds.first().key, **size, count=5)
    OwnedSheet.objects.filter(pk=row.pk).update(cut_up=3, spoiled=1)
    owned = {sheet.id: sheet.count for sheet in house_value(whole_house(flat)).rules.owned}
    assert owned[row.key] == 4


def stock(value, item):
    return [entry.amount for entry in value.stock if entry.material == item]


def left_out(house):
    return " | ".join(what_a_file_carries(house).left_out)


@pytest.fixture
def lane(by):
    value = read_house_file((FIXTURES / "hollow-lane.json").read_bytes(), default_catalogue())
    return save_house_value(by=by, value=value)


def test_whole_sheets_of_a_size_on_sale_come_back_as_stock(by, lane):
    item = "sheet-regular-0.5x48x96in"
    move(by=by, house=lane, item=item, kind="received", amount=amount(9, "each"))
    move(by=by, house=lane, item=item, kind="cut", amount=amount(2, "each"))
    assert stock(written(lane), item) == [amount(7, "each")]
    again = save_house_value(by=by, value=written(lane))
    assert Movement.objects.get(house=again, item=item).amount == amount(7, "each")
    assert left_out(lane) == ""


def test_sheets_of_a_size_not_on_sale_are_left_out_and_said(by, lane):
    item = "sheet-regular-0.5x48x91in"
    move(by=by, house=lane, item=item, kind="found", amount=amount(3, "each"))
    assert stock(written(lane), item) == []
    assert left_out(lane) == (
        "Regular gypsum board, 1/2 in, 48 in x 91 in: 3 here, but no longer on your price list"
    )


def test_more_sticks_than_a_file_takes_are_said(by, lane):
    move(by=by, house=lane, item="2x4", kind="found", amount=amount(8, "ft"), pieces=1200)
    move(by=by, house=lane, item="2x4", kind="used", amount=amount(10, "ft"), pieces=3)
    assert stock(written(lane), "2x4") == [amount(8, "ft")] * 1000
    assert "1,000 of 1,200 are in the file" in left_out(lane)
    assert "2x4 lumber: more was used than was ever noted" in left_out(lane)
    again = save_house_value(by=by, value=written(lane))
    assert Movement.objects.get(house=again, item="2x4").pieces == 1000


def test_stock_in_a_unit_that_nothing_is_sold_by_is_said(by, lane):
    move(by=by, house=lane, item="primer", kind="found", amount=amount(5, "lb"))
    assert stock(written(lane), "primer") == []
    assert "5 lb here, which is no amount in the unit it is sold by" in left_out(lane)


def test_amount_of_too_many_digits_is_said(by, lane):
    for bottom in (999_999_999_989, 999_999_999_961, 3):
        part = amount(Fraction(1, bottom), "gal")
        move(by=by, house=lane, item="primer", kind="found", amount=part)
    assert stock(written(lane), "primer") == []
    assert "which is no amount in the unit" in left_out(lane)


def test_offcuts_of_a_kind_of_board_that_is_gone_are_said(by, lane):
    OwnedSheet.objects.filter(house=lane, key="hallway-offcut").update(board="plaster-lath")
    assert [sheet.id for sheet in written(lane).rules.owned] == ["hallway-12ft"]
    assert "1 offcut of plaster-lath" in left_out(lane)


def test_names_with_odd_characters_and_notes_typed_in_a_browser_are_written(lane):
    """A browser sends two signs for the end of a line, and a picture may be several joined ones."""
    first, second, *_ = lane.rooms.order_by("position")
    Room.objects.filter(pk=first.pk).update(name="Ada\u00a0& Ben \U0001f469\u200d\U0001f527")
    Room.objects.filter(pk=second.pk).update(name="Kit\x07chen\u202e")
    House.objects.filter(pk=lane.pk).update(note="Dry.\r\nWarm.\tIn winter\r")
    value = written(lane)
    assert value.rooms[0].name == "Ada\u00a0& Ben \U0001f469\u200d\U0001f527"
    assert value.rooms[1].name == "Kitchen"
    assert value.note == "Dry.\nWarm.\tIn winter\n"
    assert left_out(lane) == "The name or note “Kitchen” is written without some characters"


def test_stock_of_nothing_makes_no_movement(by, lane):
    value = replace(written(lane), stock=(StockItem(material="primer", amount=amount(0, "gal")),))
    assert not Movement.objects.filter(house=save_house_value(by=by, value=value)).exists()
