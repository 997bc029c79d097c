"""What tests of orders, prices and the stock begin from."""

from __future__ import annotations

import pytest
from django.test import Client

from remodel.history.services import By
from remodel.house.models import House, Room
from tests.remodel.factories import ada, room_add_line
from tests.remodel.site import browser


@pytest.fixture
def client(db) -> Client:
    """Ada's browser, signed in."""
    return browser(ada())


@pytest.fixture
def dining(by: By, house: House, room: Room) -> Room:
    """A second room of `house`, as large as its kitchen."""
    return room_add_line(by=by, house=house, name="Dining", line="12' x 10' x 8'")


@pytest.fixture
def living(by: By, house: House, dining: Room) -> Room:
    """A third room of `house`, as large as the others."""
    return room_add_line(by=by, house=house, name="Living", line="12' x 10' x 8'")
