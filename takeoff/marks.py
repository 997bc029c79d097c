"""What is written on boards: the code of each room and the letter of each of its surfaces.

A room has a code of one to three capital letters, of its name, which no other room of the house
has. A wall has the letter of its place in the walk, whatever it is called, and a partition the
letter after the walls of the room it stands in, the same from both sides; each further leg of it
has a letter of its own. What is built into a room has the next one: its first face that letter,
its others EB, EC and so on. A ceiling is CL, and several are CLA, CLB and so on. A piece is then
`K-A1`, a sheet `K7` and an offcut `K7.1` (see `boards.plan`).

A house may give codes and letters. Those it does not give are worked out here, in the order of the
house, around the ones that are given: a room or a wall that comes after changes none before it.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import chain, islice, product

from takeoff._checks import CEILING_MARK, LETTERS, NO_ROOM_CODE
from takeoff.choices import SurfaceKind
from takeoff.house import House, Outline, Partition, PlainSurface, QuickRoom, Room, SurfaceList

__all__ = [
    "ceiling_letters",
    "letters_of_walls",
    "new_code",
    "new_letter",
    "surface_letters",
    "with_marks",
]

# A quick room is walked from its first wall like any other.
_QUICK = ("A", "B", "C", "D")


def with_marks(house: House) -> House:
    """The house with every room's code and every letter of its walls, surfaces of plain lists and
    partitions given. What it gives already stays."""
    codes = _codes(house.rooms)
    of_partitions: dict[str, set[str]] = {}
    for partition in house.partitions:
        of_partitions.setdefault(partition.room, set()).update(_leg_letters(partition).values())
    rooms = tuple(
        _with_letters(
            room if room.code else replace(room, code=code),
            {*of_partitions.get(room.id, ()), *(built.letter for built in room.built)},
        )
        for room, code in zip(house.rooms, codes, strict=True)
    )
    partitions = _with_partition_letters(rooms, house.partitions)
    rooms = _with_built_letters(rooms, partitions)
    # One that has all of them is handed back as it is, so that asking twice costs nothing.
    if rooms == house.rooms and partitions == house.partitions:
        return house
    return replace(house, rooms=rooms, partitions=partitions)


def _codes(rooms: Sequence[Room]) -> list[str]:
    taken = {room.code for room in rooms if room.code}
    codes = []
    for room in rooms:
        code = room.code or new_code(room.name, taken)
        taken.add(code)
        codes.append(code)
    return codes


def new_code(name: str, taken: Collection[str]) -> str:
    """A code for a room of this name that is not `taken`: the initials of several words, else the
    first letter, else letters of the name in their order, else any.

    >>> new_code("Kitchen", ()), new_code("Kids' room", ()), new_code("Kitchen", {"K"})
    ('K', 'KR', 'KT')
    """
    return next(code for code in _candidates(name) if code not in taken)


def _candidates(name: str) -> Iterator[str]:
    # What belongs to a letter is put beside it and dropped, so that É counts as E.
    plain = unicodedata.normalize("NFKD", name.upper().replace("'", "").replace("\u2019", ""))
    spelled = "".join(letter for letter in plain if not unicodedata.combining(letter))
    words = re.findall(r"[A-Z]+", spelled)
    initials = "".join(word[0] for word in words[:3])
    letters = "".join(words) or "ROOM"
    first, rest = letters[0], letters[1:]
    found = chain(
        [initials] if len(initials) > 1 else [],
        [first],
        (first + letter for letter in rest),
        (first + one + other for at, one in enumerate(rest) for other in rest[at + 1 :]),
        (first + letter for letter in LETTERS),
        ("".join(some) for size in (1, 2, 3) for some in product(LETTERS, repeat=size)),
    )
    # An I or an O before a number is read as a 1 or a 0, so no code that is worked out ends in one.
    return (code for code in found if code != NO_ROOM_CODE and code[-1] in LETTERS)


def _with_letters(room: Room, taken: Collection[str]) -> Room:
    shape = room.shape
    if isinstance(shape, Outline):
        if all(wall.letter for wall in shape.walls):
            return room
        letters = letters_of_walls([wall.letter for wall in shape.walls], taken)
        walls = tuple(
            replace(wall, letter=letter) for wall, letter in zip(shape.walls, letters, strict=True)
        )
        return replace(room, shape=replace(shape, walls=walls))
    if isinstance(shape, SurfaceList):
        if all(surface.letter for surface in shape.surfaces):
            return room
        return replace(room, shape=replace(shape, surfaces=_lettered(shape.surfaces)))
    return room


def _lettered(surfaces: Sequence[PlainSurface]) -> tuple[PlainSurface, ...]:
    letters: dict[str, str] = {}
    for kind, choose in (
        (SurfaceKind.WALL, letters_of_walls),
        (SurfaceKind.CEILING, ceiling_letters),
    ):
        mine = [surface for surface in surfaces if surface.kind is kind]
        given = choose([surface.letter for surface in mine])
        letters |= {surface.id: letter for surface, letter in zip(mine, given, strict=True)}
    return tuple(replace(surface, letter=letters[surface.id]) for surface in surfaces)


def _with_partition_letters(
    rooms: Sequence[Room], partitions: Sequence[Partition]
) -> tuple[Partition, ...]:
    if all(all(_leg_letters(partition).values()) for partition in partitions):
        return tuple(partitions)
    taken = {
        room.id: {*_wall_letters(room).values(), *(built.letter for built in room.built)}
        for room in rooms
    }
    for partition in partitions:
        taken.setdefault(partition.room, set()).update(_leg_letters(partition).values())

    def letter_in(room: str, given: str) -> str:
        letter = given or new_letter(taken[room])
        taken[room].add(letter)
        return letter

    return tuple(
        replace(
            partition,
            letter=letter_in(partition.room, partition.letter),
            legs=tuple(
                replace(leg, letter=letter_in(partition.room, leg.letter)) for leg in partition.legs
            ),
        )
        for partition in partitions
    )


def _with_built_letters(rooms: Sequence[Room], partitions: Sequence[Partition]) -> tuple[Room, ...]:
    """The rooms with a letter for each thing that is built into them, after those of walls and
    partitions."""
    if all(built.letter for room in rooms for built in room.built):
        return tuple(rooms)
    lettered = []
    for room in rooms:
        taken = set(_wall_letters(room).values()) | {built.letter for built in room.built}
        for partition in partitions:
            if partition.room == room.id:
                taken.update(_leg_letters(partition).values())
        things = []
        for built in room.built:
            letter = built.letter or new_letter(taken)
            taken.add(letter)
            things.append(replace(built, letter=letter))
        lettered.append(replace(room, built=tuple(things)) if things else room)
    return tuple(lettered)


def _built_letters(room: Room) -> dict[str, str]:
    """The letters of the faces of what is built into a room, by the names of those surfaces."""
    return {
        face: built.letter + (LETTERS[number] if number else "")
        for built in room.built
        for number, face in enumerate(built.faces)
    }


def _leg_letters(partition: Partition) -> dict[str, str]:
    """The letters that a partition gives its legs, by their ids; empty where it gives none."""
    return {
        partition.id: partition.letter,
        **{leg.id: leg.letter for leg in partition.legs},
    }


def _wall_letters(room: Room) -> dict[str, str]:
    match room.shape:
        case QuickRoom():
            return dict(zip(_QUICK, _QUICK, strict=True))
        case Outline(walls=walls):
            return {wall.id: wall.letter for wall in walls}
        case SurfaceList(surfaces=surfaces):
            return {surface.id: surface.letter for surface in surfaces}
    return {}


def surface_letters(house: House) -> Mapping[str, Mapping[str, str]]:
    """The letters of each room's walls, and of the partitions that make a face of it, by their ids
    there. A room behind a partition has the walls of its parent room. The house is `with_marks`."""
    letters = {room.id: _wall_letters(room) | _built_letters(room) for room in house.rooms}
    for partition in house.partitions:
        letters.setdefault(partition.room, {}).update(_leg_letters(partition))
    parents = {partition.id: partition.room for partition in house.partitions}
    for room in house.rooms:
        behind = getattr(room.shape, "partition", None)
        if behind in parents:
            letters[room.id] = letters[parents[behind]]
    return letters


def letters_of_walls(given: Sequence[str], taken: Collection[str] = ()) -> list[str]:
    """The letters of walls in the order of the walk, those that are given among them: each other
    one gets the next free letter that is not `taken` either.

    >>> letters_of_walls(["", "", ""]), letters_of_walls(["A", "", "B"], taken={"C"})
    (['A', 'B', 'C'], ['A', 'D', 'B'])
    """
    return _filled(given, (letter for letter in _all_letters() if letter not in taken))


def new_letter(taken: Collection[str]) -> str:
    """The first letter of a wall that is not `taken`."""
    return next(letter for letter in _all_letters() if letter not in taken)


def ceiling_letters(given: Sequence[str]) -> list[str]:
    """The letters of a room's ceilings in their order: CL alone, several CLA, CLB and so on. One
    that comes after goes on from those that are given.

    >>> ceiling_letters([""]), ceiling_letters(["", ""]), ceiling_letters(["CL", ""])
    (['CL'], ['CLA', 'CLB'], ['CL', 'CLB'])
    """
    if list(given) == [""]:
        return [CEILING_MARK]
    several = (f"{CEILING_MARK}{letter}" for letter in _all_letters())
    # CL is the first ceiling where another joins it later.
    return _filled(given, islice(several, 1, None) if CEILING_MARK in given else several)


def _filled(given: Sequence[str], letters: Iterator[str]) -> list[str]:
    free = (letter for letter in letters if letter not in given)
    return [letter or next(free) for letter in given]


def _all_letters() -> Iterator[str]:
    """A, B ... Z, AA, AB ..., without I and O, which are read as 1 and 0, and without CL."""
    return (
        letters
        for size in (1, 2)
        for some in product(LETTERS, repeat=size)
        if (letters := "".join(some)) != CEILING_MARK
    )
