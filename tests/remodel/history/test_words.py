"""Changes as people read them."""

from remodel.pages.history.changes import _shown
from remodel.supply.models import SheetOnSale


def test_a_price_is_told_as_money_and_a_length_as_a_length():
    assert _shown(SheetOnSale, "price", 1405, "in") == "14.05"
    assert _shown(SheetOnSale, "length", 96 * 25_400_000, "in") == "8' 0\""
