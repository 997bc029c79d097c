"""Where a partition framed after board lands: on a member, on recorded blocking, or on nothing."""

from dataclasses import replace

import pytest

from takeoff.choices import FramedWhen, HiddenKind, MeasureTo
from takeoff.framing.landing import landings
from takeoff.geometry.rooms import room_shapes
from takeoff.house import HiddenItem, Measure
from takeoff.units import FOOT, INCH, Nm
from tests.takeoff.houses import DEMO_HOUSES, demo_house


def framed_after(name, *hidden):
    house = demo_house(name)
    partitions = tuple(
        one if one.bearing else replace(one, framed=FramedWhen.AFTER) for one in house.partitions
    )
    rooms = tuple(
        replace(room, hidden=hidden) if room.id == "small-bedroom" else room for room in house.rooms
    )
    return replace(house, partitions=partitions, rooms=rooms)


def blocks(at, *, planned=False):
    """Three blocks in wall A of the small bedroom, their middle so far from its left end."""
    return [
        HiddenItem(
            id=f"block-{up}",
            name=f"Block {up}",
            kind=HiddenKind.BLOCKING,
            surface="A",
            across=Measure(origin="left", distance=at, to=MeasureTo.CENTRE),
            up=Measure(origin="floor", distance=Nm(up * FOOT), to=MeasureTo.CENTRE),
            width=Nm(14 * INCH),
            height=Nm(3 * INCH),
            planned=planned,
        )
        for up in (1, 4, 7)
    ]


def landing_of(house, where):
    return next(one for one in landings(house, "small-closet-wall") if one.where == where)


PARTITIONS = {one.id: one for one in demo_house("hollow-lane").partitions}
AT = PARTITIONS["small-closet-wall"].at


@pytest.mark.parametrize("name", DEMO_HOUSES)
def test_a_wall_holds_a_partition_exactly_where_its_frame_needs_no_backing(name):
    house = framed_after(name)
    for shape in room_shapes(house)[1]:
        walls = [
            one for one in landings(house, shape.partition) if one.where not in ("Ceiling", "Floor")
        ]
        bare = {one.where for one in walls if one.held is False}
        assert bare <= set(shape.tee_walls)
        assert not {one.where for one in walls if one.held} & set(shape.tee_walls)


def test_recorded_blocking_holds_a_partition_between_studs():
    assert landing_of(framed_after("hollow-lane"), "Wall A").held is False
    held = landing_of(framed_after("hollow-lane", *blocks(AT)), "Wall A")
    assert held.held
    assert "Block 1, Block 4, Block 7" in held.text


def test_planned_blocking_and_blocking_elsewhere_hold_nothing():
    planned = landing_of(framed_after("hollow-lane", *blocks(AT, planned=True)), "Wall A")
    assert not planned.held
    assert "3 planned, not in yet" in planned.text
    elsewhere = landing_of(framed_after("hollow-lane", *blocks(Nm(AT - 2 * FOOT))), "Wall A")
    assert not elsewhere.held
    assert "No blocking is recorded" in elsewhere.text


def test_one_block_of_three_is_told_and_where_to_open():
    text = landing_of(framed_after("hollow-lane", *blocks(AT)[:1]), "Wall A").text
    assert "1 of 3 blocks are recorded" in text
    assert "Open the bay between the studs at" in text


def test_a_partition_framed_before_board_lands_nowhere():
    house = demo_house("hollow-lane")
    first = tuple(replace(one, framed=FramedWhen.BEFORE) for one in house.partitions)
    assert landings(replace(house, partitions=first), "small-closet-wall") == ()
