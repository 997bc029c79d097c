"""What is written on boards: no mark twice in a house, each of its form, and none changed by what
is added later."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.geometry.rooms import house_geometry
from takeoff.house import House, Outline, QuickRoom, Room, Wall
from takeoff.job import Takeoff, take_off
from takeoff.marks import with_marks
from takeoff.units import FOOT, INCH, Nm
from tests.bench.rooms import seeded_house
from tests.takeoff.houses import DEMO_HOUSES, demo_takeoff

PIECE = re.compile(r"([A-Z]{1,3})-(CL[A-HJ-NP-Z]{0,2}|[A-HJ-NP-Z]{1,2})[1-9][0-9]*")
SHEET = re.compile(r"([A-Z]{1,3})[1-9][0-9]*")
OFFCUT = re.compile(r"[A-Z]{1,3}[1-9][0-9]*\.[1-9][0-9]*")

WORDS = ("Bath", "Bedroom", "Closet", "Craft", "Den", "Hall", "Kids", "Kitchen", "Loft", "Office")
names = st.one_of(
    st.lists(st.sampled_from(WORDS), min_size=1, max_size=3).map(" ".join),
    st.text(min_size=1, max_size=12).filter(lambda name: bool(name.strip())),
)


def marks_of(takeoff: Takeoff) -> Iterator[str]:
    for plan in takeoff.surface_plans:
        yield from (piece.code for piece in plan.pieces)
    for sheet in takeoff.sheets:
        yield sheet.code
        yield from (offcut.id for offcut in sheet.offcuts)


def check_marks(takeoff: Takeoff) -> None:
    """Every mark is of the form of its kind, with the code of its room, and on one board alone."""
    codes = {room.room: room.code for room in takeoff.rooms}
    assert len(set(codes.values())) == len(codes)
    assert "CL" not in codes.values()
    for plan in takeoff.surface_plans:
        for piece in plan.pieces:
            found = PIECE.fullmatch(piece.code)
            assert found is not None, piece.code
            assert found[1] == codes[plan.room], piece.code
    for sheet in takeoff.sheets:
        found = SHEET.fullmatch(sheet.code)
        assert found is not None, sheet.code
        assert found[1] == codes[sheet.room], sheet.code
        assert all(OFFCUT.fullmatch(offcut.id) for offcut in sheet.offcuts)
    marks = list(marks_of(takeoff))
    assert len(set(marks)) == len(marks)


@pytest.mark.parametrize("name", DEMO_HOUSES)
def test_marks_of_a_demo_house_are_unique_and_of_their_form(name: str) -> None:
    check_marks(demo_takeoff(name))


def drawn(seed: int, called: list[str], piled: list[bool]) -> House:
    """A house of seeded rooms with these names; `piled` says which are bought together."""
    house = seeded_house(seed, rooms=len(called))
    rooms = tuple(
        replace(room, name=name, pile="one" if together else room.id)
        for room, name, together in zip(house.rooms, called, piled, strict=False)
    )
    return replace(house, rooms=rooms)


@settings(max_examples=6)
@given(
    st.integers(0, 10_000),
    st.lists(names, min_size=2, max_size=8),
    st.lists(st.booleans(), min_size=8, max_size=8),
)
def test_marks_of_any_house_are_unique_and_of_their_form(
    seed: int, called: list[str], piled: list[bool]
) -> None:
    check_marks(take_off(drawn(seed, called, piled)))


@st.composite
def houses(draw: st.DrawFn) -> House:
    """One to eight rooms, walked or right-angled, of any names."""
    rooms = []
    for number, name in enumerate(draw(st.lists(names, min_size=1, max_size=8))):
        shape: QuickRoom | Outline = QuickRoom(length=Nm(10 * FOOT), width=Nm(8 * FOOT))
        if draw(st.booleans()):
            shape = walked(draw(st.integers(0, 5)))
        rooms.append(Room(id=f"r{number}", name=name, shape=shape))
    return House(id="h", name="House", rooms=tuple(rooms))


def walked(jogs: int) -> Outline:
    """A room of 4 walls and 4 more for each jog in its first side."""
    side = Nm(20 * INCH)
    first: list[tuple[Nm, int]] = []
    for _ in range(jogs):
        first += [(side, 90), (side, -90), (side, -90), (side, 90)]
    first.append((side, 90))
    length = Nm(side * (2 * jogs + 1))
    turns = [*first, (Nm(9 * FOOT), 90), (length, 90), (Nm(9 * FOOT), 90)]
    return Outline(
        walls=tuple(
            Wall(id=f"w{at}", name=f"Side {at}", length=size, turn=Decimal(turn))
            for at, (size, turn) in enumerate(turns)
        )
    )


def written(house: House) -> dict[str, str]:
    """What the boards of each wall and ceiling begin with, and of each room."""
    rooms = house_geometry(house).rooms
    marks = {surface.id: surface.mark for room in rooms for surface in room.surfaces}
    return marks | {room.room: room.code for room in rooms}


@settings(max_examples=40)
@given(houses(), names, st.integers(0, 8))
def test_room_added_later_changes_no_mark(house: House, name: str, at: int) -> None:
    before = written(house)
    room = Room(id="new", name=name, shape=QuickRoom(length=Nm(9 * FOOT), width=Nm(8 * FOOT)))
    assert written(replace(house, rooms=(*house.rooms, room))).items() >= before.items()
    # wherever it stands among rooms that were given theirs
    marked = with_marks(house)
    rooms = (*marked.rooms[:at], room, *marked.rooms[at:])
    assert written(replace(marked, rooms=rooms)).items() >= before.items()


@settings(max_examples=40)
@given(st.integers(0, 5), st.integers(0, 24))
def test_walls_added_to_a_walk_change_no_letter(jogs: int, at: int) -> None:
    shape = walked(jogs)
    house = House(id="h", name="House", rooms=(Room(id="r", name="Den", shape=shape),))
    before = written(house)
    marked = with_marks(house).rooms[0]
    assert isinstance(marked.shape, Outline)
    walls = marked.shape.walls
    # a wall in two: the far part of it is a new wall
    at %= len(walls)
    half = Nm(walls[at].length // 2)
    new = replace(walls[at], id="new", letter="", length=Nm(walls[at].length - half))
    split = (*walls[:at], replace(walls[at], length=half, turn=Decimal(0)), new, *walls[at + 1 :])
    after = written(replace(house, rooms=(replace(marked, shape=Outline(walls=split)),)))
    assert after.items() >= before.items()
    assert after["r/new"] not in before.values()


@settings(max_examples=60)
@given(st.lists(names, min_size=1, max_size=60))
def test_codes_are_short_letters_and_each_of_one_room(called: list[str]) -> None:
    rooms = tuple(
        Room(id=f"r{at}", name=name, shape=QuickRoom(length=Nm(FOOT * 9), width=Nm(FOOT * 8)))
        for at, name in enumerate(called)
    )
    codes = [room.code for room in with_marks(House(id="h", name="H", rooms=rooms)).rooms]
    assert all(re.fullmatch("[A-Z]{1,3}", code) and code != "CL" for code in codes)
    assert len(set(codes)) == len(codes)
