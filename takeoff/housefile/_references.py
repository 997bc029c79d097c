"""Whether each name in a house names something: walls, surfaces, rooms, partitions, board kinds,
materials."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from difflib import get_close_matches

from takeoff.built_in import built_faces
from takeoff.catalogue import BoardKind, Catalogue, MaterialOnSale, OwnedSheet, SheetOnSale
from takeoff.choices import BuiltKind, CeilingKind, SurfaceKind
from takeoff.errors import Problem
from takeoff.house import (
    BehindPartition,
    Cutout,
    HiddenItem,
    House,
    Outline,
    Partition,
    PlainSurface,
    QuickRoom,
    Room,
    SurfaceList,
    Wall,
)
from takeoff.housefile._json import shown
from takeoff.housefile._reading import join
from takeoff.housefile._stock import OnSale
from takeoff.rules import BoardChoice

__all__ = ["unknown_boards", "unknown_names"]

_ACROSS = ("left", "right")
_UP = ("floor", "ceiling")


def unknown_names(
    house: House, place_of: Callable[[object], str], *, lost: Collection[type] = ()
) -> Iterator[Problem]:
    """Yield what is named in `house` and is not there, in the order of its rooms.

    `place_of` says where a value stands in its file. Of the kinds in `lost` some could not be read,
    so names of that kind are not judged. Walls of a room behind a partition are what the partition
    cuts off: its geometry judges them. Board kinds and materials are judged where the catalogue has
    any.
    """
    names = _Names(place_of, frozenset(lost), _faces(house))
    boards = set() if BoardKind in names.lost else {board.id for board in house.catalogue.boards}
    materials = (
        set()
        if MaterialOnSale in names.lost
        else {material.id for material in house.catalogue.materials}
    )
    yield from _rules(house, names, boards)
    partitions = {partition.id for partition in house.partitions}
    for room in house.rooms:
        yield from _room(room, house, names, boards, partitions)
        yield from _added(room, house, names, materials)
    rooms = {room.id: room for room in house.rooms}
    for partition in house.partitions:
        yield from _partition(partition, rooms, names)
    yield from _each_room_behind_its_own(house, names)
    if place_of(house.catalogue):
        yield from unknown_boards(house.catalogue, place_of, lost=lost)
    yield from _stock(house, names, materials)


def _stock(house: House, names: _Names, materials: set[str]) -> Iterator[Problem]:
    on_sale = OnSale.of(house.catalogue, house.rules)
    sheets = set() if SheetOnSale in names.lost else on_sale.sheets
    for item in house.stock:
        # A material may be named like a sheet: "sheet-metal".
        is_sheet = item.material.startswith("sheet-") and item.material not in materials
        if materials and is_sheet:
            yield from names.judge(item, "material", item.material, sheets, "sheet on sale")
        else:
            yield from names.judge(item, "material", item.material, materials, "material")
        wrong = on_sale.wrong_amount(item)
        if wrong:
            yield Problem(join(names.place_of(item), "amount"), wrong)


def _added(room: Room, house: House, names: _Names, materials: set[str]) -> Iterator[Problem]:
    """What people added to the phases of a room: of something on sale, in a unit it is sold by."""
    if not room.added:
        return
    on_sale = OnSale.of(house.catalogue, house.rules)
    known = (materials | on_sale.sheets) if materials else set()
    for need in room.added:
        yield from names.judge(need, "material", need.material, known, "material")
        wrong = on_sale.wrong_kind(need.material, need.amount)
        if wrong:
            yield Problem(join(names.place_of(need), "amount"), wrong)


def unknown_boards(
    catalogue: Catalogue, place_of: Callable[[object], str], *, lost: Collection[type] = ()
) -> Iterator[Problem]:
    """Yield the sheets of a catalogue whose kind of board it does not have; see `unknown_names`."""
    names = _Names(place_of, frozenset(lost), {})
    boards = set() if BoardKind in names.lost else {board.id for board in catalogue.boards}
    for sheet in catalogue.sheets:
        yield from names.judge(sheet, "board", sheet.board, boards, "board kind")


def _faces(house: House) -> dict[str, set[str]]:
    """The legs of partitions that may be a wall of each room that was measured."""
    faces: dict[str, set[str]] = {}
    for partition in house.partitions:
        faces.setdefault(partition.room, set()).update(partition.run_ids)
    return faces


@dataclass(frozen=True, slots=True)
class _Names:
    place_of: Callable[[object], str]
    lost: frozenset[type]
    faces: dict[str, set[str]]

    def judge(
        self, holder: object, key: str, name: str, known: Collection[str], what: str
    ) -> Iterator[Problem]:
        """Yield a problem where `name` is none of the `known`; nothing known means that nothing is
        judged."""
        if not known or name in known:
            return
        # looking for the nearest of very many is slow
        choices = sorted(known)[:200]
        near = get_close_matches(name[:40], choices, n=1)
        some = ", ".join(choices[:12]) + (" ..." if len(choices) > 12 else "")
        meant = f"did you mean {near[0]!r}?" if near else f"there are {some}"
        yield Problem(
            join(self.place_of(holder), key), f"There is no {what} {shown(name)!r}; {meant}"
        )

    def walls(self, room: Room) -> set[str]:
        """The ids of a room's own walls; empty where they are not known here."""
        if self.lost & {Wall, PlainSurface}:
            return set()
        match room.shape:
            case QuickRoom():
                return {"A", "B", "C", "D"}
            case Outline(walls=walls):
                return {wall.id for wall in walls}
            case SurfaceList(surfaces=surfaces):
                return {surface.id for surface in surfaces if surface.kind is SurfaceKind.WALL}
            case BehindPartition():
                return set()

    def ceilings(self, room: Room) -> set[str]:
        if isinstance(room.shape, SurfaceList):
            return {
                surface.id for surface in room.shape.surfaces if surface.kind is SurfaceKind.CEILING
            }
        planes = {
            CeilingKind.GABLE: ("ceiling-near", "ceiling-far"),
            CeilingKind.VAULT: ("ceiling-near", "ceiling-flat", "ceiling-far"),
        }.get(room.ceiling.kind, ())
        return {"ceiling", *planes}

    def surfaces(self, room: Room) -> set[str]:
        """What a choice, cut-out or hidden item of the room may name; empty where that is not known
        here."""
        walls = self.walls(room)
        if not walls or Partition in self.lost:
            return set()
        built = built_faces(room.built) | _parts_beside_chases(room)
        return walls | self.ceilings(room) | self.faces.get(room.id, set()) | built


def _parts_beside_chases(room: Room) -> set[str]:
    """The further parts that chases leave of the room's walls, by their names."""
    chases = Counter(one.wall for one in room.built if one.kind is BuiltKind.CHASE)
    return {f"{wall}-{number + 2}" for wall, count in chases.items() for number in range(count)}


def _rules(house: House, names: _Names, boards: set[str]) -> Iterator[Problem]:
    rules = house.rules
    choices: tuple[BoardChoice, ...] = (rules.wall_board, rules.ceiling_board)
    for choice in choices:
        yield from _board(choice, names, boards)
    owned: tuple[OwnedSheet | SheetOnSale, ...] = (*(rules.sheets or ()), *rules.owned)
    for sheet in owned:
        yield from names.judge(sheet, "board", sheet.board, boards, "board kind")


def _board(choice: BoardChoice | None, names: _Names, boards: set[str]) -> Iterator[Problem]:
    # a default of the rules stands nowhere in the file; where a catalogue lacks it, the boards that
    # use it are told
    if choice is not None and names.place_of(choice):
        yield from names.judge(choice, "kind", choice.kind, boards, "board kind")


def _room(
    room: Room, house: House, names: _Names, boards: set[str], partitions: set[str]
) -> Iterator[Problem]:
    walls, surfaces = names.walls(room), names.surfaces(room)
    if isinstance(room.shape, BehindPartition) and Partition not in names.lost:
        if not house.partitions:
            message = (
                f"There is no partition {shown(room.shape.partition)!r}; list it under partitions"
            )
            yield Problem(join(names.place_of(room.shape), "behind"), message)
        yield from names.judge(room.shape, "behind", room.shape.partition, partitions, "partition")
    if room.ceiling.low_wall is not None:
        yield from names.judge(room.ceiling, "low_wall", room.ceiling.low_wall, walls, "wall")
    for opening in room.openings:
        yield from names.judge(opening, "wall", opening.wall, walls, "wall")
    for built in room.built:
        yield from names.judge(built, "wall", built.wall, walls, "wall")
    for gone in room.taken_out:
        yield from names.judge(gone, "wall", gone.wall, walls, "wall")
        if gone.end is not None:
            yield from names.judge(gone, "end", gone.end, walls, "wall")
    things: tuple[Cutout | HiddenItem, ...] = (*room.cutouts, *room.hidden)
    for thing in things:
        yield from _placed(thing, room, names, surfaces)
    for choice in room.surfaces:
        yield from names.judge(choice, "of", choice.of, surfaces, "surface")
        yield from _board(choice.board, names, boards)
    for board in (room.wall_board, room.ceiling_board):
        yield from _board(board, names, boards)
    for index, surface in enumerate(room.hang_first):
        yield from names.judge(room, f"hang_first[{index}]", surface, surfaces, "surface")


def _placed(
    thing: Cutout | HiddenItem, room: Room, names: _Names, surfaces: set[str]
) -> Iterator[Problem]:
    if surfaces and thing.surface not in surfaces:
        yield from names.judge(thing, "surface", thing.surface, surfaces, "surface")
        return
    if thing.surface in names.ceilings(room) and not isinstance(room.shape, SurfaceList):
        across = up = names.walls(room)
        what = "wall to measure from on a ceiling"
    else:
        across, up = set(_ACROSS), set(_UP)
        what = "origin on this surface"
    yield from names.judge(thing.across, "origin", thing.across.origin, across, what)
    yield from names.judge(thing.up, "origin", thing.up.origin, up, what)


def _partition(partition: Partition, rooms: dict[str, Room], names: _Names) -> Iterator[Problem]:
    if Room not in names.lost:
        if not rooms:
            place = join(names.place_of(partition), "room")
            yield Problem(place, f"There is no room {shown(partition.room)!r}; list it under rooms")
        yield from names.judge(partition, "room", partition.room, rooms, "room")
    room = rooms.get(partition.room)
    if room is not None:
        walls = names.walls(room)
        others = names.faces.get(room.id, set()) - set(partition.run_ids) if walls else set()
        yield from names.judge(partition, "wall", partition.wall, walls | others, "wall")
    for opening in partition.openings:
        yield from names.judge(
            opening, "wall", opening.wall, partition.run_ids, "leg of this partition"
        )


def _each_room_behind_its_own(house: House, names: _Names) -> Iterator[Problem]:
    """One room a partition, and no room that is cut off, in the end, from itself."""
    parents = {partition.id: partition.room for partition in house.partitions}
    behind: dict[str, Room] = {}
    for room in house.rooms:
        if not isinstance(room.shape, BehindPartition):
            continue
        partition, place = room.shape.partition, join(names.place_of(room.shape), "behind")
        if partition in behind:
            yield Problem(
                place,
                f"Room {behind[partition].id!r} is behind this partition already; name another one",
            )
        behind.setdefault(partition, room)
    makes = {
        room.id: parents[partition] for partition, room in behind.items() if partition in parents
    }
    for room in behind.values():
        seen: set[str] = set()
        at: str | None = room.id
        while at is not None and at not in seen:
            seen.add(at)
            at = makes.get(at)
        if at == room.id:
            place = join(names.place_of(room.shape), "behind")
            yield Problem(
                place,
                "This partition stands in the room it makes; name the room it is cut off from",
            )
