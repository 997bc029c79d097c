"""The network of a pool, and shrinking it."""

from takeoff.boards.house_plan import pools_of
from takeoff.framing.members import frame
from takeoff.geometry.rooms import room_shapes
from takeoff.solve.compile_network import compile_pool
from takeoff.solve.network import shrink
from tests.takeoff.houses import demo_house


def ceiling_with_two_layouts():
    house = demo_house("hollow-lane")
    rooms, _ = room_shapes(house)
    members = {
        surface.id: frame(surface, house.rules) for room in rooms for surface in room.surfaces
    }
    pools, _ = pools_of(house, rooms, members)
    network = compile_pool(pools[0])
    assert any(len(layouts) > 1 for layouts in network.layouts)
    return network


def test_layout_that_went_in_one_shrinking_stays_gone_in_the_next():
    network = ceiling_with_two_layouts()
    gone = next((s, layouts[0]) for s, layouts in enumerate(network.layouts) if len(layouts) > 1)
    dropped = set(network.of_layout[gone])
    once = shrink(network, lambda segment, arc: segment not in dropped)
    twice = shrink(once, lambda segment, arc: True)
    assert gone not in once.of_layout
    assert (twice.layouts, twice.of_layout) == (once.layouts, once.of_layout)


def test_shrinking_again_by_the_same_rule_changes_nothing():
    once = shrink(ceiling_with_two_layouts(), lambda segment, arc: arc % 3 > 0)
    twice = shrink(once, lambda segment, arc: True)
    assert (twice.segments, twice.layouts, twice.active) == (
        once.segments,
        once.layouts,
        once.active,
    )
