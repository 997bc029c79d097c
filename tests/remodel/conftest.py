"""What tests of the site begin from: Ada, her house with one kitchen, and a site with accounts."""

from __future__ import annotations

import pytest

from remodel.history import services
from remodel.history.services import By
from remodel.house.models import House, Room
from tests.remodel.everything import Everything
from tests.remodel.factories import ada
from tests.remodel.saving import FormHouse
from tests.remodel.site import small_house
from tests.remodel.worked_out_once import worked_out_once

__all__ = ["worked_out_once"]  # for all tests of the site


@pytest.fixture
def hosted(settings) -> None:
    """People sign in, as on a site for many houses."""
    settings.HOSTED = True


@pytest.fixture
def by(db) -> By:
    """Ada writes."""
    return By(ada())


@pytest.fixture
def house(db) -> House:
    """Ada's house: a kitchen of 12 ft by 10 ft, worked out."""
    return small_house(ada())


@pytest.fixture
def room(house: House) -> Room:
    """The kitchen of `house`."""
    return house.rooms.get()


@pytest.fixture
def everything(db, settings) -> Everything:
    """A house with something of every kind on a hosted site, and the people who ask for it."""
    settings.HOSTED = True
    return Everything()


@pytest.fixture
def form_house(db, hosted, monkeypatch) -> FormHouse:
    """A house whose pages show every form. Its rooms are not worked out anew after a write, for
    saving alone is looked at."""
    house = FormHouse()
    monkeypatch.setattr(services, "_listeners", [])
    return house
