"""What tests of the whole job begin from."""

from __future__ import annotations

import pytest

from takeoff.job import Takeoff
from tests.takeoff.houses import DEMO_HOUSES, demo_takeoff


@pytest.fixture(params=DEMO_HOUSES)
def takeoff(request) -> Takeoff:
    """The job of each demo house."""
    return demo_takeoff(request.param)
