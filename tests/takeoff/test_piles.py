"""Which rooms are bought together."""

from __future__ import annotations

from dataclasses import replace

import pytest

from takeoff.errors import BadValue
from takeoff.house import BehindPartition, House, Partition, QuickRoom, Room
from takeoff.job import take_off
from takeoff.piles import connected_rooms, piles
from takeoff.units import FOOT, Nm
from tests.takeoff.houses import demo_house


def room(name: str, pile: str = "") -> Room:
    return Room(
        id=name, name=name, shape=QuickRoom(length=Nm(12 * FOOT), width=Nm(10 * FOOT)), pile=pile
    )


def house(*rooms: Room) -> House:
    """The rooms, with a closet cut off the first of them and listed last."""
    wall = Partition(
        id="wall", name="Wall", room=rooms[0].id, wall="A", at=Nm(8 * FOOT), side="right"
    )
    closet = Room(id="closet", name="Closet", shape=BehindPartition(partition="wall"))
    return House(id="h", name="House", rooms=(*rooms, closet), partitions=(wall,))


def test_room_and_the_room_behind_its_partition_are_connected():
    assert connected_rooms(house(room("a"), room("b"))) == (("a", "closet"), ("b",))


def test_closet_inside_a_closet_belongs_to_the_room_both_are_cut_off_from():
    nested = Room(id="box", name="Box", shape=BehindPartition(partition="inner"))
    inner = Partition(id="inner", name="Inner", room="closet", wall="A", at=Nm(FOOT), side="right")
    one = house(room("a"))
    deep = replace(one, rooms=(*one.rooms, nested), partitions=(*one.partitions, inner))
    assert connected_rooms(deep) == (("a", "closet", "box"),)


def test_house_in_which_no_room_names_a_pile_is_bought_as_one():
    assert piles(house(room("a"), room("b"))) == ((("a", "closet"), ("b",)),)


def test_rooms_of_one_pile_are_bought_together_and_the_rest_apart():
    named = house(room("a", "p"), room("b"), room("c", "p"), room("d"))
    assert piles(named) == ((("a", "closet"), ("c",)), (("b",),), (("d",),))


def test_connected_rooms_that_name_two_piles_hold_them_together():
    one = house(room("a", "p"), room("b", "p"), room("c", "q"))
    both = replace(one, rooms=(*one.rooms[:-1], replace(one.rooms[-1], pile="q")))
    assert piles(both) == ((("a", "closet"), ("b",), ("c",)),)


def test_empty_house_has_no_pile():
    assert piles(House(id="h", name="House")) == ()


def test_pile_with_a_space_in_its_name_is_refused_with_an_example():
    with pytest.raises(BadValue, match="for example 'wall-a'"):
        room("a", "first floor")


def test_house_with_piles_has_a_plan_for_each_pile_and_marks_nothing_twice():
    demo = demo_house("quay-flat")
    heads = [rooms[0] for rooms in connected_rooms(demo)]
    named = replace(
        demo,
        rooms=tuple(replace(room, pile="p" if room.id in heads[:2] else "") for room in demo.rooms),
    )
    done = take_off(named)
    together = {frozenset(surface.room for surface in plan.surfaces) for plan in done.plans}
    marks = [sheet.code for sheet in done.sheets] + [
        piece.code for surface_plan in done.surface_plans for piece in surface_plan.pieces
    ]
    assert any(set(heads[:2]) <= rooms for rooms in together)
    assert not any(heads[2] in rooms and set(heads[:2]) & rooms for rooms in together)
    assert len(set(marks)) == len(marks)
