"""The choices that a house has, and the house with either side of one chosen."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from takeoff.boards.allowed import floating_forbidden, refused
from takeoff.choices import FramedWhen, JointMode, Orientation, SurfaceKind
from takeoff.errors import BadValue
from takeoff.geometry.rooms import RoomGeometry, room_shapes
from takeoff.geometry.surface import Surface
from takeoff.house import BehindPartition, House, Partition, Room, SurfaceChoice
from takeoff.marks import with_marks
from takeoff.piles import connected_rooms
from takeoff.priced.words import kind_words

__all__ = [
    "Choice",
    "ChoiceKind",
    "choices_of",
    "house_with",
    "on_framing_again",
    "side_now",
    "surfaces_of_joints",
]

_TOGETHER = "together"
# Rooms with those behind their partitions, in the order they are hung: more are neither bought nor
# worked on at once, and plans of one set of sheets take their time.
_MOST_TOGETHER = 8
# What levels of finish people hesitate between: the coats under both are the same.
_LEVELS = (4, 5)
# The one plane of a flat ceiling, and what every ceiling of a room goes by.
_CEILING = "ceiling"


class ChoiceKind(StrEnum):
    """What a choice is about. Each has two sides, whose ids are those of `sides.toml`."""

    PARTITION = "partition"
    SHEETS = "sheets"
    JOINTS = "joints"
    CEILING = "ceiling"
    LEVEL = "level"
    ROUNDS = "rounds"


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One choice. `of` is the id of the partition or the room that it is about, empty for one of
    the house. `rooms` are all rooms that it is worked out for, in the order of the house."""

    kind: ChoiceKind
    name: str
    rooms: tuple[str, ...]
    of: str = ""

    @property
    def id(self) -> str:
        """The kind and what it is about, like `partition.closet-wall`; of the house, the kind."""
        return f"{self.kind}.{self.of}" if self.of else self.kind.value

    @property
    def sides(self) -> tuple[str, str]:
        """The ids of its two sides."""
        return kind_words(self.kind).side_ids

    @property
    def stored(self) -> bool:
        """Whether the house holds what is chosen. How many rooms are worked on at once is nowhere
        but in people's heads."""
        return self.kind is not ChoiceKind.ROUNDS


def choices_of(
    house: House,
    rooms: Collection[str] | None = None,
    shapes: Sequence[RoomGeometry] | None = None,
) -> tuple[Choice, ...]:
    """The choices of a house: those of partitions and rooms first, in their order, then those of
    the house.

    `rooms` are the ids of those in which no board is cut yet: a choice of the whole house is worked
    out for the first of them alone. None means every room that is not finished. `shapes` are the
    house's rooms where they are known. A choice of which one side is not allowed at all is none.
    Raises `BadValue` where the house cannot be built.
    """
    shapes = room_shapes(house)[0] if shapes is None else shapes
    open_ = frozenset(
        room.id for room in house.rooms if not room.finished and (rooms is None or room.id in rooms)
    )
    by_room = {shape.room: [one for one in shape.surfaces if one.board_area] for shape in shapes}
    groups = connected_rooms(house)
    found = [
        *_of_partitions(house, groups),
        *_of_rooms(house, groups, by_room, ChoiceKind.JOINTS, _may_float),
        *_of_rooms(house, groups, by_room, ChoiceKind.CEILING, _may_lie_both_ways),
        *_of_rooms(house, groups, by_room, ChoiceKind.LEVEL, _may_be_skimmed),
        *_of_house(house, groups, by_room, open_),
    ]
    return tuple(found)


def _of_partitions(house: House, groups: Sequence[tuple[str, ...]]) -> Iterator[Choice]:
    for partition in house.partitions:
        room = house.room(partition.room)
        if not partition.bearing and not room.finished:
            yield Choice(
                kind=ChoiceKind.PARTITION,
                name=kind_words(ChoiceKind.PARTITION).name.format(of=partition.name),
                rooms=_group_of(room.id, groups),
                of=partition.id,
            )


def _of_rooms(
    house: House,
    groups: Sequence[tuple[str, ...]],
    by_room: Mapping[str, Sequence[Surface]],
    kind: ChoiceKind,
    has_it: Callable[[Room, Sequence[Surface], House], bool],
) -> Iterator[Choice]:
    for room in house.rooms:
        # what is behind a partition is finished with the room it is cut off
        if isinstance(room.shape, BehindPartition) or room.finished:
            continue
        if has_it(room, by_room.get(room.id, ()), house):
            yield Choice(
                kind=kind,
                name=kind_words(kind).name.format(of=room.name),
                rooms=_group_of(room.id, groups),
                of=room.id,
            )


def _of_house(
    house: House,
    groups: Sequence[tuple[str, ...]],
    by_room: Mapping[str, Sequence[Surface]],
    open_: frozenset[str],
) -> Iterator[Choice]:
    free = [group for group in groups if any(by_room.get(one) for one in group)]
    free = [group for group in free if open_.issuperset(group)][:_MOST_TOGETHER]
    rooms = tuple(room for group in free for room in group)
    if len(free) > 1:
        yield _house_choice(ChoiceKind.SHEETS, rooms)
        yield _house_choice(ChoiceKind.ROUNDS, rooms)


def _house_choice(kind: ChoiceKind, rooms: tuple[str, ...]) -> Choice:
    return Choice(kind=kind, name=kind_words(kind).name, rooms=rooms)


def _group_of(room: str, groups: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    return next(group for group in groups if room in group)


def _may_lie_both_ways(room: Room, surfaces: Sequence[Surface], house: House) -> bool:
    """Whether board may lie across the joists of a flat ceiling and along them alike."""
    ceilings = [one for one in surfaces if one.kind is SurfaceKind.CEILING]
    if [one.id for one in ceilings] != [f"{room.id}/{_CEILING}"]:
        return False
    (ceiling,) = ceilings
    kind = house.catalogue.board(ceiling.board.kind)
    return not any(refused(ceiling, kind, house.rules, across=way) for way in (True, False))


def _may_be_skimmed(room: Room, surfaces: Sequence[Surface], _: House) -> bool:
    return bool(surfaces) and room.finish.wall_level in _LEVELS and _level(room) is not None


def _may_float(_: Room, surfaces: Sequence[Surface], house: House) -> bool:
    return bool(_floatable(surfaces, house))


def _floatable(surfaces: Sequence[Surface], house: House) -> list[Surface]:
    """Those of some surfaces on which a butt seam may float."""
    return [
        one
        for one in surfaces
        if one.board_area and floating_forbidden(one, house.catalogue.board(one.board.kind)) is None
    ]


def _level(room: Room) -> int | None:
    """The level to which walls and ceiling of a room are finished; None where they differ."""
    wall, ceiling = room.finish.wall_level, room.finish.ceiling_level
    return wall if wall == ceiling else None


def side_now(house: House, choice: Choice, shapes: Sequence[RoomGeometry] | None = None) -> str:
    """The id of the side that the house has; empty where it has neither, and where it is nowhere
    held. `shapes` are the house's rooms where they are known."""
    one, other = choice.sides
    if choice.kind is ChoiceKind.PARTITION:
        return _partition(house, choice).framed.value
    if choice.kind is ChoiceKind.LEVEL:
        return f"level-{_level(house.room(choice.of))}"
    if choice.kind is ChoiceKind.CEILING:
        chosen = _choice_of(house.room(choice.of), _CEILING).orientation
        way = (chosen or house.rules.orientation).value
        return way if way in choice.sides else ""
    if choice.kind is ChoiceKind.JOINTS:
        modes = {surface.joint_mode for surface in _of_joints(house, choice, shapes)}
        return next((side for side in choice.sides if modes == {JointMode(side)}), "")
    if choice.kind is ChoiceKind.SHEETS:
        piles = [room.pile for room in house.rooms if room.id in choice.rooms]
        if not any(piles):
            return one
        return other if len(set(piles)) == 1 else ""
    return ""


def house_with(house: House, choice: Choice, side: str) -> House:
    """The rooms of a choice as a house of their own, with one side chosen and nothing else changed.

    Codes and letters are those of the whole house. Nothing is on hand: what is here would be
    counted once for every choice. Rooms share no sheets but where that is what is chosen. Raises
    `BadValue` for a side that the choice does not have.
    """
    if side not in choice.sides:
        raise BadValue(f"{choice.name}: choose {' or '.join(choice.sides)}")
    house = _only(with_marks(house), choice)
    head = {room: group[0] for group in connected_rooms(house) for room in group}
    house = replace(
        house,
        rooms=tuple(replace(room, pile=head[room.id]) for room in house.rooms),
        rules=replace(house.rules, owned=()),
        stock=(),
    )
    return _chosen(house, choice, side)


def _only(house: House, choice: Choice) -> House:
    """The house with the rooms of a choice alone."""
    return replace(
        house,
        rooms=tuple(room for room in house.rooms if room.id in choice.rooms),
        partitions=tuple(one for one in house.partitions if one.room in choice.rooms),
    )


def _chosen(house: House, choice: Choice, side: str) -> House:
    is_other = side == choice.sides[1]
    if choice.kind is ChoiceKind.PARTITION:
        chosen = replace(_partition(house, choice), framed=FramedWhen(side))
        return replace(
            house,
            partitions=tuple(chosen if one.id == choice.of else one for one in house.partitions),
        )
    if choice.kind is ChoiceKind.CEILING:
        way = Orientation(side)
        return _with_room(
            house, choice, lambda room: _with_surfaces(room, [_CEILING], orientation=way)
        )
    if choice.kind is ChoiceKind.LEVEL:
        level = _LEVELS[is_other]
        return _with_room(
            house,
            choice,
            lambda room: replace(
                room, finish=replace(room.finish, wall_level=level, ceiling_level=level)
            ),
        )
    if choice.kind is ChoiceKind.JOINTS:
        keys = surfaces_of_joints(house, choice)
        mode = JointMode(side)
        return _with_room(house, choice, lambda room: _with_surfaces(room, keys, joint_mode=mode))
    if choice.kind is ChoiceKind.SHEETS and is_other:
        return replace(house, rooms=tuple(replace(room, pile=_TOGETHER) for room in house.rooms))
    return house


def _partition(house: House, choice: Choice) -> Partition:
    return next(one for one in house.partitions if one.id == choice.of)


def _with_room(house: House, choice: Choice, changed: Callable[[Room], Room]) -> House:
    return replace(
        house,
        rooms=tuple(changed(room) if room.id == choice.of else room for room in house.rooms),
    )


def _of_joints(
    house: House, choice: Choice, shapes: Sequence[RoomGeometry] | None = None
) -> list[Surface]:
    """The surfaces of a room on which a butt seam may float."""
    shapes = room_shapes(_only(house, choice))[0] if shapes is None else shapes
    room = next(shape for shape in shapes if shape.room == choice.of)
    return _floatable(room.surfaces, house)


def surfaces_of_joints(house: House, choice: Choice) -> list[str]:
    """The keys of the surfaces that a choice of butt seams is open to, in the room it is about."""
    return [surface.id.partition("/")[2] for surface in _of_joints(house, choice)]


def _choice_of(room: Room, surface: str) -> SurfaceChoice:
    return next((one for one in room.surfaces if one.of == surface), SurfaceChoice(of=surface))


def _with_surfaces(room: Room, surfaces: Collection[str], **values: Any) -> Room:
    """A room in which something else is chosen for some of its surfaces, by their keys."""
    others = tuple(one for one in room.surfaces if one.of not in surfaces)
    chosen = tuple(replace(_choice_of(room, one), **values) for one in surfaces)
    return replace(room, surfaces=(*others, *chosen))


def on_framing_again(house: House, choice: Choice, surfaces: Collection[str]) -> House:
    """The house with butt seams on framing on some surfaces, by their ids: those that no plan can
    be made for with floating ones."""
    keys = [id_.partition("/")[2] for id_ in surfaces]
    return _with_room(
        house,
        choice,
        lambda room: _with_surfaces(room, keys, joint_mode=JointMode.FRAMING),
    )
