"""The search of a second or two that the command makes of a house."""

from dataclasses import replace

from takeoff.job import take_off
from takeoff.solve.search import SearchOptions
from tests.takeoff.houses import demo_house


def test_a_wall_of_a_few_sheets_is_proven():
    house = demo_house("hollow-lane")
    bath = replace(house, rooms=(house.room("bath"),), partitions=())
    last = {}
    options = replace(
        SearchOptions.quick(lambda pool: None),
        on_progress=lambda pool, progress: last.update(
            {surface.framed.surface.id: progress for surface in pool.surfaces}
        ),
    )
    take_off(bath, search=options)
    assert last["bath/B"].gap == 0
    assert last["bath/ceiling"].gap > 0  # so a larger one is left after one look
