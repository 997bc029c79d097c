"""What tests of orders, prices and the stock begin from."""

from __future__ import annotations

import pytest
from django.test import Client

from tests.remodel.factories import ada
from tests.remodel.site import browser


@pytest.fixture
def client(db) -> Client:
    """Ada's browser, signed in."""
    return browser(ada())
