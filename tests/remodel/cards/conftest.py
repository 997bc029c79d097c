import pytest
from django.core.cache import cache

from remodel.bridge.lengths import FOOT, INCH
from remodel.history.services import By
from remodel.house.models import Room
from tests.remodel.factories import ada
from tests.remodel.made_once import made_once
from tests.remodel.site import small_house


@pytest.fixture(autouse=True)
def print_folder(hosted, settings, tmp_path):
    """Print sets lie in a folder of the test, and no drawing of another test is kept."""
    settings.DATA_DIR = tmp_path
    cache.clear()


@pytest.fixture
def room(db):
    """Ada's kitchen, 12 ft by 10 ft, with a switch and a window."""
    owner = ada()
    made_once(("a kitchen with a switch and a window", owner.pk), lambda: _kitchen(owner))
    return Room.objects.select_related("house", "behind").get()


def _kitchen(owner):
    from remodel.house.things import cutout_add, opening_add

    kitchen = Room.objects.get(house=small_house(owner))
    by = By(owner)
    wall = kitchen.walls.get(key="A")
    cutout_add(
        by=by,
        room=kitchen,
        surface=wall.key,
        name="Switch by the door",
        kind="box",
        width=2 * INCH,
        height=4 * INCH,
        across_origin="left",
        across_distance=30 * INCH,
        across_to="near",
        up_origin="floor",
        up_distance=44 * INCH,
        up_to="near",
    )
    opening_add(
        by=by,
        room=kitchen,
        surface="B",
        name="Window",
        kind="window",
        left=3 * FOOT,
        sill=3 * FOOT,
        width=4 * FOOT,
        height=3 * FOOT,
    )
