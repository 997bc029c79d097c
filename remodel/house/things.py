"""Writes to what stands on a room's surfaces: openings, cut-outs, hidden items, and what is chosen
for a surface."""

from __future__ import annotations

from typing import Any, TypeVar

from django.db.models import Max

from remodel.bridge import records
from remodel.history.errors import Refused
from remodel.history.services import By, change, create, recorded, remove
from remodel.house import hooks
from remodel.house.checks import check_hole, check_room, refusing
from remodel.house.models import Cutout, HiddenItem, Opening, Partition, Room, SurfaceChoice
from remodel.house.queries import new_key, surface_of, taken_keys

__all__ = [
    "cutout_add",
    "cutout_change",
    "cutout_remove",
    "hidden_add",
    "hidden_change",
    "hidden_remove",
    "opening_add",
    "opening_change",
    "opening_remove",
    "partition_opening_add",
    "surface_choice_clear",
    "surface_choice_set",
]

Thing = TypeVar("Thing", Opening, Cutout, HiddenItem)


@recorded("added an opening")
def opening_add(*, by: By, room: Room, surface: str, **values: Any) -> Opening:
    """Add a door, window or passage to the wall of key `surface`: kind, left, sill, width, height,
    given, edge."""
    return _add(Opening, room, surface, values)


@recorded("changed an opening")
def opening_change(*, by: By, opening: Opening, **values: Any) -> Opening:
    return _change(opening, values)


@recorded("removed an opening")
def opening_remove(*, by: By, opening: Opening) -> Opening:
    return remove(opening)


@recorded("added an opening to a partition")
def partition_opening_add(*, by: By, partition: Partition, leg: str = "", **values: Any) -> Opening:
    """Add an opening to a planned partition, in the leg of that key (its first where none is
    given), placed as one faces it from its parent room."""
    name = values.pop("name", "") or str(values.get("kind", "door")).capitalize()
    row = Opening(
        partition=partition,
        plane=leg or partition.key,
        name=name,
        key=_key(name, partition.key, Opening),
        position=_next(partition.openings),
        **values,
    )
    with refusing():
        records.check_row(row)
    create(row)
    check_hole(row)
    return row


@recorded("added a cut-out")
def cutout_add(*, by: By, room: Room, surface: str, **values: Any) -> Cutout:
    """Add a hole in the board: kind, across_* and up_* (origin, distance, to), width, height (None
    for a round one), along (on a ceiling)."""
    return _add(Cutout, room, surface, values)


@recorded("changed a cut-out")
def cutout_change(*, by: By, cutout: Cutout, **values: Any) -> Cutout:
    return _change(cutout, values)


@recorded("removed a cut-out")
def cutout_remove(*, by: By, cutout: Cutout) -> Cutout:
    return remove(cutout)


@recorded("noted something behind the board")
def hidden_add(*, by: By, room: Room, surface: str, **values: Any) -> HiddenItem:
    """Note blocking, a cable, a pipe or a duct behind a surface; `planned` is what must still go
    in."""
    return _add(HiddenItem, room, surface, values)


@recorded("changed something behind the board")
def hidden_change(*, by: By, item: HiddenItem, **values: Any) -> HiddenItem:
    return _change(item, values)


@recorded("removed something behind the board")
def hidden_remove(*, by: By, item: HiddenItem) -> HiddenItem:
    return remove(item)


@recorded("chose for a surface")
def surface_choice_set(*, by: By, room: Room, surface: str, **values: Any) -> SurfaceChoice:
    """Set what is chosen for a surface. Columns that are not named stay as they are; empty ones
    mean the default."""
    wall, plane = surface_of(room, surface)
    row = SurfaceChoice.objects.filter(room=room, wall=wall, plane=plane).first()
    if row is None:
        row = SurfaceChoice(
            room=room, wall=wall, plane=plane, position=_next(room.choices), **values
        )
        with refusing():
            records.check_row(row)
        create(row)
    else:
        change(row, **values)
        with refusing():
            records.check_row(row)
    check_room(room)
    if values.get("paint_color"):
        hooks.tell_painted(by, room)
    return row


@recorded("went back to the default")
def surface_choice_clear(*, by: By, choice: SurfaceChoice) -> SurfaceChoice:
    return remove(choice)


def _add(table: type[Thing], room: Room, surface: str, values: dict[str, Any]) -> Thing:
    wall, plane = surface_of(room, surface)
    name = (
        values.pop("name", "").strip()
        or str(values.get("kind", table._meta.verbose_name)).capitalize()
    )
    row = table(
        room=room,
        wall=wall,
        plane=plane,
        name=name,
        key=_key(name, room.key, table),
        position=_next(table.objects.filter(room=room)),
        **values,
    )
    with refusing():
        records.check_row(row)
    create(row)
    _check_placed(row)
    return row


def _change(row: Thing, values: dict[str, Any]) -> Thing:
    if "surface" in values:
        surface = values.pop("surface")
        partition = getattr(row, "partition", None)
        if partition is not None:
            if surface not in partition.faces:
                raise Refused("An opening of a partition stays in it", field="surface")
            values["plane"] = surface
        else:
            values["wall"], values["plane"] = surface_of(row._room(), surface)
    before = _place_of(row)
    change(row, **values)
    with refusing():
        records.check_row(row)
    if _place_of(row) == before:
        # It may be in the place of another since before that was refused; another name is no reason
        # to move it.
        check_room(row._room())
    else:
        _check_placed(row)
    return row


def _check_placed(row: Thing) -> None:
    """Check a thing just placed. Something behind the board may pass behind a box, but holes of the
    board may not overlap."""
    if isinstance(row, HiddenItem):
        check_room(row._room())
    else:
        check_hole(row)


_PLACING = (
    *("wall_id", "plane", "width", "height", "along", "left", "sill", "given"),
    *("across_origin", "across_distance", "across_to", "up_origin", "up_distance", "up_to"),
)


def _place_of(row: Thing) -> tuple[Any, ...]:
    """The columns that say where a thing is and how large."""
    return tuple(getattr(row, name, None) for name in _PLACING)


def _key(name: str, prefix: str, table: type[Any]) -> str:
    """A key that no opening, cut-out or hidden item of any house has had, made of the name after
    this prefix."""
    taken = [
        key
        for kind in (Opening, Cutout, HiddenItem)
        for key in taken_keys(kind, key__startswith=prefix)
    ]
    return new_key(
        name, taken, prefix=prefix[:25].rstrip("-"), fallback=table._meta.model_name or "thing"
    )


def _next(rows_: Any) -> int:
    last = rows_.aggregate(last=Max("position"))["last"]
    return 0 if last is None else last + 1
