"""What is written on boards: the code of a room and the letters of its walls and partitions.

Both are chosen when a room or a wall is added, and stored. They may change until the first of them
is on a board or on paper; from then on a wall that is added takes the next free letter.
"""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import Q

from remodel.bridge import marks as marks_bridge
from remodel.history.errors import Refused
from remodel.history.services import change
from remodel.house import hooks
from remodel.house.models import House, Partition, Room, Wall

__all__ = ["CODE_LABEL", "check_code", "code_for", "is_fixed", "letter_for", "letter_walls"]

CODE_LABEL = "Code on boards"


def code_for(house: House, name: str) -> str:
    """A code for a room of this name, that no room of the house has or had."""
    taken = set(Room.all_objects.filter(house=house).values_list("code", flat=True))
    return marks_bridge.new_code(name, taken | hooks.codes_in_use(house))


def check_code(room: Room, code: str) -> None:
    """Raise `Refused` where a room may not be given this code."""
    if code == room.code:
        return
    problem = marks_bridge.code_problem(code, CODE_LABEL)
    if not code:
        problem = f'"{CODE_LABEL}" is empty. Enter 1 to 3 letters, for example K'
    other = Room.all_objects.filter(house=room.house_id, code=code).exclude(pk=room.pk).first()
    if other is not None:
        is_there = "is" if other.deleted_at is None else "was"
        free = code_for(room.house, room.name)
        problem = (
            f'"{CODE_LABEL}": {code} {is_there} the code of {other.name}. Enter another, '
            f"for example {free}"
        )
    elif not problem and code in hooks.codes_in_use(room.house):
        problem = (
            f'"{CODE_LABEL}": sheets of an earlier plan are marked {code}. Enter another, for '
            f"example {code_for(room.house, room.name)}"
        )
    if not problem and is_fixed(room):
        problem = (
            f"{room.code} is on paper or on boards of {room.name} already, so its code stays. "
            f'Enter {room.code} in "{CODE_LABEL}"'
        )
    if problem:
        raise Refused(problem, field="code")


def is_fixed(room: Room) -> bool:
    """Whether marks of a room are on paper or on boards. Rooms that share walls or sheets with it
    carry its marks too."""
    head = room.behind.room if room.behind is not None else room
    sharing = Q(pk=head.pk) | Q(behind__room=head)
    if room.pile:
        sharing |= Q(house=room.house_id, pile=room.pile)
    return any(hooks.marks_are_used(other) for other in Room.objects.filter(sharing))


def letter_for(room: Room, kind: str = "wall", *, also: Sequence[str] = ()) -> str:
    """The letter of a wall, or of a ceiling of a plain list, that is added to the room. Letters of
    walls that were removed may be on boards, so they are not given again, nor are those of
    `also`."""
    rows = list(Wall.all_objects.filter(room=room).values_list("kind", "letter"))
    built = (one["letter"] for one in room.built)
    rows += [("wall", letter) for letter in (*_partition_letters(room), *built, *also)]
    rows.append((kind, ""))
    return marks_bridge.surface_letters([one for one, _ in rows], [letter for _, letter in rows])[
        -1
    ]


def _partition_letters(room: Room) -> list[str]:
    rows = Partition.all_objects.filter(room=room).values_list("letter", "legs")
    return [letter for own, legs in rows for letter in (own, *(leg["letter"] for leg in legs))]


def letter_walls(room: Room, walls: Sequence[Wall]) -> None:
    """Give the walls of a room, in their order, the letters of their places, and its partitions and
    built-ins those after. Once marks are fixed, each keeps the letter it has."""
    if is_fixed(room):
        return
    kinds = [wall.kind for wall in walls]
    letters = marks_bridge.surface_letters(kinds, [""] * len(walls))
    for wall, letter in zip(walls, letters, strict=True):
        if wall.letter != letter:
            change(wall, letter=letter)
    for partition in Partition.objects.filter(room=room):
        given = []
        for _ in range(1 + len(partition.legs)):
            given.append(marks_bridge.new_letter(letters))
            letters.append(given[-1])
        legs = [
            {**leg, "letter": letter} for leg, letter in zip(partition.legs, given[1:], strict=True)
        ]
        if (partition.letter, partition.legs) != (given[0], legs):
            change(partition, letter=given[0], legs=legs)
    built = []
    for one in room.built:
        built.append({**one, "letter": marks_bridge.new_letter(letters)})
        letters.append(built[-1]["letter"])
    if built != room.built:
        change(room, built=built)
