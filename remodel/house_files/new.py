"""A new house, with a catalogue and with owners."""

from __future__ import annotations

from typing import Any

from django.conf import settings

from remodel.bridge import files
from remodel.bridge.house_rules import default_rules
from remodel.bridge.records import rules_columns
from remodel.history.errors import Refused
from remodel.history.services import By, create, recorded
from remodel.house.models import House
from remodel.house.queries import new_key
from remodel.house.services import changed_rules
from remodel.people.services import give_to_owners
from remodel.supply.imports import catalogue_import

__all__ = ["default_catalogue", "house_add"]


def default_catalogue(units: str = "in") -> files.Catalogue:
    """What a house in `units` without a catalogue of its own starts with: invented prices, marked
    as samples, of metric goods in a house in millimeters."""
    path = settings.METRIC_CATALOGUE_FILE if units == "mm" else settings.CATALOGUE_FILE
    return files.read_catalogue_file(path.read_bytes())


@recorded("made a house")
def house_add(
    *,
    by: By,
    name: str,
    units: str = "in",
    currency: str = "USD",
    rules: dict[str, Any] | None = None,
    catalogue: files.Catalogue | None = None,
) -> House:
    """A new house with the default catalogue, its prices marked as samples, and the usual rules of
    what it is measured in. Whoever makes it owns it; in a household that does not sign in,
    everybody does."""
    if not name.strip():
        raise Refused("Name the house, for example Hollow Lane", field="name")
    catalogue = catalogue or default_catalogue(units)
    house = create(
        House(
            key=new_key(name, (), fallback="house"),
            name=name.strip(),
            units=units,
            currency=currency,
            rules=changed_rules(rules_columns(default_rules(units)), rules or {}),
            sample_prices=catalogue.sample,
        )
    )
    give_to_owners(house, by.person)
    catalogue_import(by=by, house=house, catalogue=catalogue)
    return house
