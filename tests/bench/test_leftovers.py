"""Rooms bought one after another take what is left over, each thing once."""

from __future__ import annotations

from dataclasses import replace

from takeoff.catalogue import OwnedSheet, sheet_id
from takeoff.house import QuickRoom
from takeoff.units import FOOT, INCH, Nm
from tests.bench.leftovers import house_of_eight, play


def test_every_other_room_is_in_whole_inches():
    sides = [
        (room.shape.length, room.shape.width)
        for room in house_of_eight(3).rooms
        if isinstance(room.shape, QuickRoom)
    ]
    assert len(sides) == 8
    whole = [not any(side % INCH for side in pair) for pair in sides]
    assert whole == [False, True] * 4


def test_found_sheets_are_used_up_and_offcuts_serve_later_rooms_alone():
    house = house_of_eight(3)
    two = replace(house, rooms=house.rooms[:2])
    size = Nm(INCH // 2), Nm(48 * INCH), Nm(12 * FOOT)
    found = OwnedSheet(
        id=sheet_id("regular", *size),
        board="regular",
        thickness=size[0],
        width=size[1],
        length=size[2],
        count=3,
    )
    alone, with_found = play(two, keep=False), play(two, found=[found])
    assert (alone.here, alone.offcuts, alone.unused) == (0, 0, 0)
    assert with_found.here == 3 * 48
    assert with_found.cost < alone.cost
    assert with_found.hung == alone.hung
    # The first room of all finds no offcut.
    first = play(replace(house, rooms=house.rooms[:1]))
    assert first.offcuts == 0
    assert first.unused > 0
