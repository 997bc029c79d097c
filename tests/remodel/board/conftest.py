"""What tests of rooms bought together begin from."""

from __future__ import annotations

import pytest

from remodel.board import services
from remodel.house.models import House, Room
from tests.remodel.factories import ada
from tests.remodel.site import small_house


@pytest.fixture(autouse=True)
def one_writer(monkeypatch):
    """One person may write as fast as a test does, and is not taken for many."""
    monkeypatch.setattr(services, "MANY_WRITES", 1000)


@pytest.fixture
def pile_house(db) -> House:
    """Ada's house with three rooms of one size, each worked out by itself."""
    return small_house(ada(), "Kitchen", "Hall", "Den")


@pytest.fixture
def pile_rooms(pile_house: House) -> list[Room]:
    """The rooms of `pile_house`, in its order."""
    return list(pile_house.rooms.order_by("position"))
