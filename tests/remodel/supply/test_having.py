"""What a household already has, noted in one pass."""

from fractions import Fraction

import pytest

from remodel.bridge.lengths import FOOT, INCH, amount
from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.supply.having import Had, note_what_is_here
from remodel.supply.ledger import here_of, move
from remodel.supply.models import Movement, OwnedSheet, SheetOnSale
from remodel.supply.services import (
    owned_sheet_add,
    owned_sheet_change,
    owned_sheet_gone,
    owned_sheet_remove,
)
from tests.remodel.factories import HouseFactory, ada

pytestmark = pytest.mark.django_db
SHEET = "sheet-regular-0.5x48x96in"
BOARD = {"board": "regular", "thickness": INCH // 2}


@pytest.fixture
def house(by):
    """A house that buys half-inch board of 4 ft by 8 ft and 12 ft, tape and lumber."""
    house = HouseFactory(owner=by.person)
    house.board_kinds.create(key="regular", name="Regular gypsum board")
    for length in (8, 12):
        SheetOnSale.objects.create(house=house, **BOARD, width=4 * FOOT, length=length * FOOT)
    house.materials.create(key="mud", name="Compound")
    house.materials.create(key="2x4", name="2x4", cut=True)
    return house


def offcut(width=2 * FOOT, length=5 * FOOT, **more):
    return {**BOARD, "width": width, "length": length, "count": 1, "factory_edges": 1, **more}


def test_sheets_half_pails_sticks_and_offcuts_are_noted_together(by, house):
    had = Had(
        amounts={SHEET: amount(6, "each"), "mud": amount("9/4", "gal")},
        sticks={"2x4": {8 * FOOT: 3, 10 * FOOT: 1}},
        offcuts=[offcut(place="Garage")],
    )
    note_what_is_here(by=by, house=house, had=had)
    here = here_of(house)
    assert here[SHEET].amount == 6
    assert here["mud"].amount == Fraction(9, 4)
    assert here["2x4"].sticks == {8 * FOOT: 3, 10 * FOOT: 1}
    assert set(Movement.objects.values_list("kind", flat=True)) == {"found"}
    assert OwnedSheet.objects.get().place == "Garage"


def test_of_what_is_known_it_is_a_count(by, house):
    move(by=by, house=house, item=SHEET, kind="received", amount=amount(10, "each"))
    move(by=by, house=house, item="mud", kind="received", amount=amount(1, "gal"))
    had = Had(amounts={SHEET: amount(6, "each"), "mud": amount(2, "gal")})
    note_what_is_here(by=by, house=house, had=had)
    counts = Movement.objects.filter(count=True).order_by("item")
    assert [(one.kind, one.amount) for one in counts] == [
        ("found", amount(1, "gal")),
        ("used", amount(-4, "each")),
    ]


def test_none_of_what_nobody_knows_writes_nothing(by, house):
    note_what_is_here(by=by, house=house, had=Had(amounts={SHEET: amount(0, "each")}))
    assert not Movement.objects.exists()


def test_all_is_noted_or_nothing(by, house):
    had = Had(
        amounts={SHEET: amount(6, "each")},
        offcuts=[offcut(), offcut(length=13 * FOOT)],
    )
    with pytest.raises(Refused) as refused:
        note_what_is_here(by=by, house=house, had=had)
    assert refused.value.field == "offcut-1"
    assert "The largest sheet of this board is 4' 0\" by 12' 0\"" in str(refused.value)
    assert not Movement.objects.exists()
    assert not OwnedSheet.objects.exists()


def test_amount_in_another_unit_is_refused_at_its_item(by, house):
    move(by=by, house=house, item="mud", kind="received", amount=amount(1, "gal"))
    with pytest.raises(Refused) as refused:
        note_what_is_here(by=by, house=house, had=Had(amounts={"mud": amount(1, "each")}))
    assert refused.value.field == "mud"


def test_sent_twice_it_is_noted_once(house):
    once = By(ada(), "posted-twice")
    had = Had(amounts={SHEET: amount(6, "each")}, offcuts=[offcut()])
    for _ in range(2):
        note_what_is_here(by=once, house=house, had=had)
    assert here_of(house)[SHEET].amount == 6
    assert OwnedSheet.objects.count() == 1


def test_whole_sheet_is_no_offcut(by, house):
    whole = offcut(width=4 * FOOT, length=8 * FOOT, factory_edges=2)
    with pytest.raises(Refused) as refused:
        note_what_is_here(by=by, house=house, had=Had(offcuts=[whole]))
    assert "whole sheet" in str(refused.value)


@pytest.mark.parametrize(
    ("width", "length"),
    [(4 * FOOT, 13 * FOOT), (13 * FOOT, 4 * FOOT), (5 * FOOT, 5 * FOOT), (54 * INCH, 8 * FOOT)],
)
def test_offcut_larger_than_any_sheet_is_refused(by, house, width, length):
    with pytest.raises(Refused) as refused:
        owned_sheet_add(by=by, house=house, **offcut(width, length))
    assert refused.value.field == "length"
    row = owned_sheet_add(by=by, house=house, **offcut())
    with pytest.raises(Refused):
        owned_sheet_change(by=by, sheet=row, width=width, length=length)
    assert OwnedSheet.objects.get().width == 2 * FOOT


def test_offcut_is_measured_either_way(by, house):
    owned_sheet_add(by=by, house=house, **offcut(11 * FOOT, 3 * FOOT))
    assert OwnedSheet.objects.get().here == 1


def test_offcut_that_is_gone_is_spoiled_and_counted_once(by, house):
    row = owned_sheet_add(by=by, house=house, **offcut(count=2))
    for _ in range(2):
        owned_sheet_gone(by=by, sheet=row)
    assert (row.count, row.spoiled, row.here) == (2, 2, 0)
    with pytest.raises(Refused):
        owned_sheet_gone(by=by, sheet=row)


def test_offcut_that_was_cut_stays_and_its_count_is_no_less(by, house):
    row = owned_sheet_add(by=by, house=house, **offcut(count=3))
    OwnedSheet.objects.filter(pk=row.pk).update(cut_up=1, spoiled=1)
    row.refresh_from_db()
    with pytest.raises(Refused) as refused:
        owned_sheet_change(by=by, sheet=row, count=1)
    assert refused.value.field == "count"
    assert str(refused.value).startswith("2 of these are cut or thrown away already")
    with pytest.raises(Refused):
        owned_sheet_remove(by=by, sheet=row)
    owned_sheet_change(by=by, sheet=row, count=2)
    assert OwnedSheet.objects.get().here == 0
