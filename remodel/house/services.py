"""Writes to a house and its rooms. Each is one undoable group; what cannot be built is refused and
nothing is saved.

Lengths come as whole nanometres, words as the engine spells them (`remodel.bridge.words`). `by`
carries what the page was made from. What stands on walls has its services in `things`, partitions
in `partitions`.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django.db.models import Max

from remodel.bridge import records
from remodel.bridge.lengths import BadValue
from remodel.bridge.marks import new_letter, surface_letters
from remodel.history.errors import Refused
from remodel.history.services import By, change, create, create_all, recorded, remove, restore
from remodel.house import hooks
from remodel.house.checks import check_room, refusing
from remodel.house.marks import check_code, code_for, letter_for
from remodel.house.models import House, Partition, Room, Wall
from remodel.house.queries import new_key, partitions_off, taken_keys

__all__ = [
    "changed_rules",
    "house_change",
    "house_put_back",
    "house_remove",
    "house_set_rules",
    "room_add",
    "room_add_surfaces",
    "room_add_walls",
    "room_change",
    "room_remove",
    "room_resize",
    "rooms_reorder",
    "surface_name",
    "wall_add",
    "wall_change",
    "wall_remove",
]

Walk = tuple[str, int, Decimal]
Plain = tuple[str, str, int, int]


@recorded("changed the house")
def house_change(*, by: By, house: House, **values: Any) -> House:
    """Change `name`, `units`, `currency` or `note`."""
    return change(house, **values)


@recorded("changed the rules")
def house_set_rules(*, by: By, house: House, **rules: Any) -> House:
    """Change board rules by their names in the house file. Raises `Refused` with the name of a rule
    whose value is impossible."""
    return change(house, rules=changed_rules(house.rules, rules))


def changed_rules(kept: dict[str, Any], rules: dict[str, Any]) -> dict[str, Any]:
    """The column of a house's rules with some of them changed. Raises `Refused` with the name of a
    rule whose value is impossible."""
    try:
        return records.changed_rules(kept, rules)
    except BadValue as error:
        raise Refused(str(error), field=next(iter(rules), "")) from None


@recorded("removed the house")
def house_remove(*, by: By, house: House) -> House:
    """Mark a house as removed. Nobody finds it any more, and nothing in it is lost."""
    return remove(house)


@recorded("put the house back")
def house_put_back(*, by: By, house: House) -> House:
    """Bring a removed house back with all that is in it."""
    return restore(house) if house.deleted_at else house


@recorded("added a room")
def room_add(*, by: By, house: House, name: str, length: int, width: int, **values: Any) -> Room:
    """Add a right-angled room. Walls A and C are `length` long, B and D are `width`. `values` are
    columns of the room."""
    sides = zip("ABCD", (length, width, length, width), strict=True)
    walls = [
        {"key": key, "name": f"Wall {key}", "length": side, "letter": key} for key, side in sides
    ]
    return _room(by, house, name, "quick", walls, values)


@recorded("added a room")
def room_add_walls(
    *, by: By, house: House, name: str, walls: Sequence[Walk], **values: Any
) -> Room:
    """Add a room walked wall by wall. Each wall is (name, length, turn at its far end), clockwise
    from the wall with the door."""
    keyed = [
        {
            "key": _letter(index),
            "name": called or f"Wall {_letter(index)}",
            "length": length,
            "turn": turn,
            "letter": _letter(index),
        }
        for index, (called, length, turn) in enumerate(walls)
    ]
    return _room(by, house, name, "walls", keyed, values)


@recorded("added a room")
def room_add_surfaces(
    *, by: By, house: House, name: str, surfaces: Sequence[Plain], **values: Any
) -> Room:
    """Add a room as a plain list of surfaces: (name, wall or ceiling, width, height). How they meet
    is not known."""
    kinds = [kind for _, kind, _, _ in surfaces]
    letters = surface_letters(kinds, [""] * len(kinds))
    keyed = [
        {
            "key": _letter(index),
            "name": called or surface_name(kind, _letter(index)),
            "kind": kind,
            "length": width,
            "height": height,
            "letter": letter,
        }
        for index, ((called, kind, width, height), letter) in enumerate(
            zip(surfaces, letters, strict=True)
        )
    ]
    return _room(by, house, name, "surfaces", keyed, values)


def surface_name(kind: str, key: str) -> str:
    """The name of a surface of a plain list that nobody named."""
    return f"{'Ceiling' if kind == 'ceiling' else 'Wall'} {key}"


def _room(
    by: By,
    house: House,
    name: str,
    shape: str,
    walls: Sequence[dict[str, Any]],
    values: dict[str, Any],
) -> Room:
    if not name.strip():
        raise Refused("Name the room, for example Kitchen", field="name")
    called = name.strip()
    if Room.objects.filter(house=house, name__iexact=called).exists():
        # Cards and lists tell rooms apart by their names alone.
        raise Refused(
            f"There is a {called} in this house already. Choose another name, for example "
            f"{called} 2",
            field="name",
        )
    last = Room.all_objects.filter(house=house).aggregate(last=Max("position"))["last"]
    room = Room(
        house=house,
        key=new_key(name, taken_keys(Room, house=house), fallback="room"),
        name=name.strip(),
        shape=shape,
        position=0 if last is None else last + 1,
        **{"code": code_for(house, name), **values},
    )
    with refusing():
        records.check_row(room)
        made = [Wall(room=room, position=index, **columns) for index, columns in enumerate(walls)]
        for wall in made:
            records.check_row(wall)
    create(room)
    create_all(made)
    hooks.tell_added(by, room)
    check_room(room)
    return room


@recorded("changed the room")
def room_change(*, by: By, room: Room, **values: Any) -> Room:
    """Change the room's own columns: name, ceiling, framing, boards, finish, longest board,
    finished, code. Raises `Refused` for a code that another room has, and for a new one once the
    old is on paper or on boards."""
    row = _changed(room, values)
    with refusing():
        records.check_row(row)
    check_room(row)
    if values.get("wall_paint_color") or values.get("ceiling_paint_color"):
        hooks.tell_painted(by, row)
    return row


def _changed(room: Room, values: dict[str, Any]) -> Room:
    """The room with its columns changed, its code only as far as it may be."""
    before = room.code
    if "code" in values:
        check_code(room, values["code"])
    row = change(room, **values)
    if row.code != before:
        hooks.tell_code_changed(row, before)
    return row


@recorded("changed the room's size")
def room_resize(*, by: By, room: Room, length: int, width: int, **values: Any) -> Room:
    """Give a right-angled room another length and width, and `values` like ceiling_height."""
    if room.shape != "quick":
        raise Refused("This room was measured wall by wall; change its walls")
    row = _changed(room, values)
    for wall in room.walls.all():
        change(wall, length=length if wall.key in "AC" else width)
    with refusing():
        records.check_row(row)
    check_room(row)
    return row


@recorded("removed the room")
def room_remove(*, by: By, room: Room) -> Room:
    """Remove a room with its partitions and the rooms behind them. Raises `Refused` for a room of a
    pile whose boards are begun."""
    hooks.check_removal(room)
    for partition in Partition.objects.filter(room=room):
        for behind in Room.objects.filter(behind=partition):
            remove(behind)
        remove(partition)
    if room.shape == "behind" and room.behind is not None:
        remove(room.behind)
    return remove(room)


@recorded("put the rooms in order")
def rooms_reorder(*, by: By, house: House, rooms: Sequence[Room]) -> House:
    """Put the rooms in the order they are worked on. Owned sheets and offcuts are used in the first
    rooms."""
    for index, room in enumerate(rooms):
        change(room, position=index)
    return house


@recorded("added a wall")
def wall_add(
    *,
    by: By,
    room: Room,
    length: int,
    turn: Decimal = Decimal(90),
    name: str = "",
    after: Wall | None = None,
    kind: str = "wall",
    height: int | None = None,
) -> Wall:
    """Add a wall to an outline, after another wall or at the end. A right-angled room is walked
    wall by wall from then on.

    A surface of a plain list has a `height` as well, and may be a ceiling by its `kind`.
    """
    walls = _walked(room)
    at = next(
        (index + 1 for index, wall in enumerate(walls) if after and wall.pk == after.pk), len(walls)
    )
    key = new_letter(taken_keys(Wall, room=room))
    row = Wall(
        room=room,
        key=key,
        name=name.strip() or surface_name(kind, key),
        position=at,
        length=length,
        turn=turn,
        kind=kind,
        height=height,
        letter=letter_for(room, kind),
    )
    with refusing():
        records.check_row(row)
    for index, wall in enumerate(walls):
        change(wall, position=index if index < at else index + 1)
    return create(row)


@recorded("changed a wall")
def wall_change(*, by: By, wall: Wall, **values: Any) -> Wall:
    """Change a wall's name, length or turn. A new length turns a right-angled room into one walked
    wall by wall."""
    if {"length", "turn"} & values.keys():
        _walked(wall.room)
    if values.get("kind", wall.kind) != wall.kind:
        values["letter"] = letter_for(wall.room, values["kind"])
    row = change(wall, **values)
    with refusing():
        records.check_row(row)
    return row


@recorded("removed a wall")
def wall_remove(*, by: By, wall: Wall) -> Wall:
    """Remove a wall and what stands on it. Undo brings all of it back."""
    room = wall.room
    _walked(room)
    if wall.key in room.hang_first:
        change(room, hang_first=[key for key in room.hang_first if key != wall.key])
    for table in (room.openings, room.cutouts, room.hidden_items, room.choices):
        for thing in table.filter(wall=wall):
            remove(thing)
    for partition in partitions_off(wall):
        for behind in Room.objects.filter(behind=partition):
            remove(behind)
        remove(partition)
    return remove(wall)


def _walked(room: Room) -> list[Wall]:
    """The walls of a room in order. A right-angled room is walked wall by wall from here on."""
    if room.shape == "behind":
        raise Refused("This room lies behind a partition; change the room the partition stands in")
    if room.shape == "quick":
        change(room, shape="walls")
    return list(Wall.objects.filter(room=room).order_by("position", "key"))


def _letter(index: int) -> str:
    """The letter of the wall at a place in its walk: its key and its name too, where it is given
    none."""
    return surface_letters(["wall"] * (index + 1), [""] * (index + 1))[index]
