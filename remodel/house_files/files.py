"""House files in and out."""

from __future__ import annotations

from remodel.bridge import files, house_value
from remodel.bridge.overlaps import overlaps_of_house
from remodel.bridge.records import stock_items
from remodel.history.services import By
from remodel.house.models import House
from remodel.house.queries import whole_house
from remodel.house_files.imports import save_house_value
from remodel.house_files.new import default_catalogue
from remodel.supply.ledger import balances

__all__ = ["file_of_house", "house_from_file", "overlaps_found"]

_MOST_OVERLAPS = 5


def house_from_file(*, by: By, text: str | bytes, is_demo: bool = False) -> House:
    """Make a house of a house file, all of it or nothing. Raises `TakeoffError` with everything
    wrong in the file."""
    value = files.read_house_file(text, default_catalogue())
    return save_house_value(by=by, value=value, is_demo=is_demo)


def overlaps_found(house: House) -> list[str]:
    """A sentence for each pair of holes in each other's place, for the person who just imported a
    house.

    It gives a few at most; the page of each room lists all of its own.
    """
    sentences = overlaps_of_house(house_value(whole_house(house)))
    more = len(sentences) - _MOST_OVERLAPS
    if more > 1:
        return [*sentences[:_MOST_OVERLAPS], f"{more} more like these: each room's page says which"]
    return sentences


def file_of_house(house: House) -> str:
    """The house as a file that can be imported as the same house: with the stock and the offcuts
    that are here now."""
    row = whole_house(house)
    value = house_value(row, stock=stock_items(balances(row)), only_here=True)
    return files.write_house_file(value)
