"""House files in and out."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from remodel.bridge import files, house_value
from remodel.bridge.carried import Carried, carried
from remodel.bridge.lengths import FOOT, Amount
from remodel.bridge.overlaps import overlaps_of_house
from remodel.history.services import By
from remodel.house.models import House
from remodel.house.queries import whole_house
from remodel.house_files.imports import save_house_value
from remodel.house_files.new import default_catalogue
from remodel.supply.ledger import here_of
from remodel.supply.models import Material

__all__ = ["file_of_house", "house_from_file", "overlaps_found", "what_a_file_carries"]

_MOST_OVERLAPS = 5
_MOST_ROOMS = 40


def house_from_file(*, by: By, text: str | bytes, is_demo: bool = False) -> House:
    """Make a house of a house file, all of it or nothing. Raises `TakeoffError` with everything
    wrong in the file."""
    value = files.read_house_file(text, default_catalogue(), default_catalogue("mm"))
    return save_house_value(by=by, value=value, is_demo=is_demo)


def overlaps_found(house: House) -> list[str]:
    """A sentence for each pair of holes in each other's place, for the person who just imported a
    house.

    It gives a few at most; the page of each room lists all of its own. Of a house with very many
    rooms it says so alone, for to look at all of them takes longer than one waits for a page.
    """
    if house.rooms.count() > _MOST_ROOMS:
        return ["Holes that lie in each other's place are told on the page of each room"]
    sentences = overlaps_of_house(house_value(whole_house(house)))
    more = len(sentences) - _MOST_OVERLAPS
    if more > 1:
        return [*sentences[:_MOST_OVERLAPS], f"{more} more like these: each room's page says which"]
    return sentences


def file_of_house(house: House) -> str:
    """The house as a file that reads back as the same house: with the stock and the offcuts that
    are here now, as far as a file can hold them (see `what_a_file_carries`)."""
    return what_a_file_carries(house).text


def what_a_file_carries(house: House) -> Carried:
    """What is in the house's file, and what of its names, offcuts and stock cannot be."""
    return carried(house_value(whole_house(house), only_here=True), _here(house))


def _here(house: House) -> Iterator[tuple[str, Amount, int]]:
    """What the ledger says of each item, also where that is under zero; sticks by their length."""
    cut = set(Material.objects.filter(house=house, cut=True).values_list("key", flat=True))
    for here in here_of(house).values():
        if here.item not in cut:
            yield here.item, Amount(here.amount, here.unit), 1
            continue
        for length, count in here.sticks.items():
            yield here.item, Amount(Fraction(length, FOOT), "ft"), count
