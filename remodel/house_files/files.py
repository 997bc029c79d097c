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
    """Bring in a house file, all or nothing; raises `TakeoffError` with everything wrong in it."""
    value = files.read_house_file(text, default_catalogue())
    return save_house_value(by=by, value=value, is_demo=is_demo)


def overlaps_found(house: House) -> list[str]:
    """What a person who brought in a house should know at once: holes in each other's place, a
    sentence for each.

    Not more than a few; the page of each room says all of its own.
    """
    found = overlaps_of_house(house_value(whole_house(house)))
    more = len(found) - _MOST_OVERLAPS
    if more > 1:
        return [*found[:_MOST_OVERLAPS], f"{more} more like these: each room's page says which"]
    return found


def file_of_house(house: House) -> str:
    """The house as a file that reads back to the same house."""
    row = whole_house(house)
    return files.write_house_file(house_value(row, stock=stock_items(balances(row))))
