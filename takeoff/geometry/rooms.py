"""The surfaces of every room of a house, with partitions framed before or after board."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from takeoff._checks import LETTERS
from takeoff.built_in import built_faces
from takeoff.choices import Action, FramedWhen, SurfaceKind
from takeoff.errors import BadValue
from takeoff.geometry.as_found import with_strips
from takeoff.geometry.built import with_built, with_chases
from takeoff.geometry.deductions import board_area, finished_sides, hang_order
from takeoff.geometry.faces import Drawn, draw, draw_plain
from takeoff.geometry.let_in import check_let_in, with_own_extras
from takeoff.geometry.notes import board_notes, in_room, size_notes
from takeoff.geometry.openings import (
    check_undivided,
    move_into,
    place_built,
    place_plain,
    place_room,
)
from takeoff.geometry.overlaps import overlap_notes
from takeoff.geometry.partitions import (
    Divided,
    divide,
    faces_after,
    frame_of,
    place_on_faces,
    whole_faces,
)
from takeoff.geometry.pieces import MeasuredRoom, measure
from takeoff.geometry.polygon import area2
from takeoff.geometry.problems import Problems
from takeoff.geometry.shapes import Corner, PartitionShape, PlanSide, RoomGeometry, RoomNote
from takeoff.geometry.surface import EdgeKind, PartitionFace, Placed, Surface
from takeoff.geometry.treatment import Treatment
from takeoff.house import BehindPartition, Ceiling, House, Room, SurfaceList
from takeoff.marks import ceiling_letters, surface_letters, with_marks
from takeoff.rules import Rules
from takeoff.units import Nm, tape_reading

__all__ = [
    "Corner",
    "HouseGeometry",
    "PartitionShape",
    "RoomGeometry",
    "RoomNote",
    "house_geometry",
    "room_shapes",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseGeometry:
    """The geometry of a house: its rooms in their order, the frames of its partitions, and what
    stands on every whole surface that has anything on it. The two faces of a partition are such
    surfaces."""

    rooms: tuple[RoomGeometry, ...]
    partitions: tuple[PartitionShape, ...]
    placed: tuple[Placed, ...]


def room_shapes(
    house: House, *, framed: Mapping[str, FramedWhen] | None = None
) -> tuple[tuple[RoomGeometry, ...], tuple[PartitionShape, ...]]:
    """The rooms and partitions of `house_geometry`."""
    geometry = house_geometry(house, framed=framed)
    return geometry.rooms, geometry.partitions


def house_geometry(
    house: House, *, framed: Mapping[str, FramedWhen] | None = None
) -> HouseGeometry:
    """Return the surfaces and corners of every room, the frame of every partition, and what stands
    on each surface.

    `framed` says when partitions are framed, by their ids, in place of what the house says, so that
    both ways can be worked out of one house. A bearing one always is framed before board. The rooms
    are the same either way. Raises one
    `BadValue` with a line for each thing in any room that cannot be built as given: see `measure`,
    `place_room`, `divide` and `place_on_faces`.
    """
    house = with_marks(house)
    when = {partition.id: partition.framed for partition in house.partitions} | dict(framed or {})
    # What carries the house cannot wait for the board.
    when |= {partition.id: FramedWhen.BEFORE for partition in house.partitions if partition.bearing}
    behind = _rooms_behind(house)
    made: dict[str, RoomGeometry] = {}
    frames: dict[str, list[PartitionShape]] = {}
    placed: list[Placed] = []
    problems = Problems()
    for room in house.rooms:
        with problems.of_each():
            if isinstance(room.shape, SurfaceList):
                made[room.id], there = _plain_room(room, room.shape, house)
                placed += there
            elif not isinstance(room.shape, BehindPartition):
                connected, shapes, there = _walked_room(room, house, behind, when)
                placed += there
                made.update((geometry.room, geometry) for geometry in connected)
                for shape in shapes:
                    frames.setdefault(shape.partition, []).append(shape)
    for room in house.rooms:
        with problems.of_each():
            if room.id in made:
                made[room.id] = with_strips(with_own_extras(made[room.id]), room, house)
    check_let_in(made.values(), [shape for legs in frames.values() for shape in legs], problems)
    problems.refuse()
    letters = surface_letters(house)
    codes = {room.id: room.code for room in house.rooms}
    rooms = [_marked(made[room.id], room.code, letters[room.id]) for room in house.rooms]
    parents = {behind[partition.id]: partition.room for partition in house.partitions}
    return HouseGeometry(
        rooms=tuple(
            _with_marked_sides(room, codes[parents.get(room.room, room.room)], letters[room.room])
            for room in rooms
        ),
        partitions=tuple(shape for partition in house.partitions for shape in frames[partition.id]),
        placed=tuple(placed),
    )


def _marked(geometry: RoomGeometry, code: str, letters: Mapping[str, str]) -> RoomGeometry:
    """The room with its code, and with the letters of its walls and ceilings. The parts of a
    ceiling that have no letter of their own are lettered in their order."""
    ids = {surface.id: surface.id.split("/", 1)[1] for surface in geometry.surfaces}
    planes = [
        surface.id
        for surface in geometry.surfaces
        if surface.kind is SurfaceKind.CEILING and ids[surface.id] not in letters
    ]
    of_planes = dict(zip(planes, ceiling_letters([""] * len(planes)), strict=True))
    letters = {**letters, **_letters_of_parts(geometry, letters)}
    return replace(
        geometry,
        code=code,
        surfaces=tuple(
            replace(
                surface,
                code=code,
                letter=of_planes.get(surface.id) or letters[ids[surface.id]],
            )
            for surface in geometry.surfaces
        ),
    )


def _letters_of_parts(geometry: RoomGeometry, letters: Mapping[str, str]) -> dict[str, str]:
    """The letters of further parts of a wall, by the names of their surfaces: that of the wall and
    that of the part's place along it, like AB for the second part of wall A."""
    return {
        side.wall: f"{letters[side.of]}{LETTERS[side.number - 1]}"
        for side in geometry.plan_sides
        if side.number > 1
    }


def _with_marked_sides(
    geometry: RoomGeometry, code_of_parent: str, letters: Mapping[str, str]
) -> RoomGeometry:
    """The room with the marks of its plan's sides. A wall that has no surface here, because the
    partition comes after the board, is boarded in the parent room and marked there."""
    marks = {surface.id: surface.mark for surface in geometry.surfaces}
    return replace(
        geometry,
        plan_sides=tuple(
            replace(
                side,
                mark=marks.get(f"{geometry.room}/{side.wall}")
                or f"{code_of_parent}-{letters[side.of]}",
            )
            for side in geometry.plan_sides
        ),
    )


def _rooms_behind(house: House) -> dict[str, str]:
    """The id of the room behind each partition; raises `BadValue` where a partition and its rooms
    do not fit."""
    behind: dict[str, str] = {}
    partitions = {partition.id: partition for partition in house.partitions}
    for room in house.rooms:
        if isinstance(room.shape, BehindPartition):
            of = room.shape.partition
            if of not in partitions:
                raise BadValue(
                    f"{room.name}: it lies behind partition {of!r}, and the house has no such "
                    "partition"
                )
            if of in behind:
                raise BadValue(
                    f"{room.name} and {house.room(behind[of]).name} both lie behind "
                    f"{partitions[of].name}"
                )
            behind[of] = room.id
    for partition in house.partitions:
        if partition.id not in behind:
            raise BadValue(
                f"{partition.name}: no room lies behind it; add a room whose shape is behind "
                f"partition {partition.id!r}"
            )
        if isinstance(house.room(partition.room).shape, SurfaceList | BehindPartition):
            raise BadValue(
                f"{partition.name}: {house.room(partition.room).name} has no outline of its own to "
                "stand in; give the "
                "partition in the room that was measured"
            )
    return behind


def _plain_room(room: Room, shape: SurfaceList, house: House) -> tuple[RoomGeometry, list[Placed]]:
    placed = place_plain(room, shape.surfaces, house)
    drawn = []
    for plain in shape.surfaces:
        face = draw_plain(plain, room, house.rules)
        if plain.id in placed:
            face = replace(face, surface=move_into(face.surface, face.origin, placed[plain.id]))
        drawn.append(face)
    _check_names(room, [plain.id for plain in shape.surfaces])
    there = list(placed.values())
    return _finish(room, drawn, house, plan=(), notes=_notes_of(there, house)), there


def _notes_of(placed: Iterable[Placed], house: House) -> list[RoomNote]:
    return [note for on_face in placed for note in overlap_notes(on_face, house.units)]


def _walked_room(
    room: Room, house: House, behind: Mapping[str, str], when: Mapping[str, FramedWhen]
) -> tuple[list[RoomGeometry], list[PartitionShape], list[Placed]]:
    """A room with an outline, the rooms that its partitions cut off, those partitions' frames, and
    what stands on each surface."""
    measured = measure(room, house)
    placed = place_room(measured, house)
    partitions = [partition for partition in house.partitions if partition.room == room.id]
    cut = with_chases(room, measured.whole, house.units)
    divided = divide(room, cut, partitions, behind, when, units=house.units)
    rooms = {room.id: room} | {
        divider.behind: house.room(divider.behind) for divider in divided.partitions
    }

    drawn = {
        id_: draw(
            piece, measured.whole, rooms[id_], house.rules, parent=None if id_ == room.id else room
        )
        for id_, piece in divided.standing.items()
    }
    drawn = with_built(
        room, divided.standing, drawn, measured.whole, rooms, house.rules, house.units
    )
    # The faces of each partition framed after board, by room and together: they are hung as one.
    later: dict[str, list[tuple[Drawn, ...]]] = {id_: [] for id_ in rooms}
    things: dict[str, dict[str, Placed]] = {id_: dict(placed) for id_ in rooms}
    own_faces: dict[str, list[Placed]] = {id_: [] for id_ in rooms}
    own_faces[room.id] += placed.values()
    names = built_faces(room.built)
    for id_, surfaces in drawn.items():
        faces = {one.of: one.surface for one in surfaces if one.of in names}
        on_built = place_built(room, faces, house)
        things[id_] |= on_built
        own_faces[id_] += on_built.values()
    sides: dict[str, dict[str, PartitionFace]] = {id_: {} for id_ in rooms}
    frames = []
    for divider in sorted(
        divided.partitions, key=lambda divider: divider.framed is FramedWhen.AFTER
    ):
        legs, planes = divider.legs, measured.whole.planes
        if divider.framed is FramedWhen.AFTER:
            standing = _standing_around(divided, divider.home, drawn, later)
            after = faces_after(divider, rooms, house, planes, standing)
            later[divider.home].append(after.parent)
            later[divider.behind].append(after.behind)
            legs, planes = after.legs, after.planes
        for leg in legs:
            seen, own = place_on_faces(divider, leg, whole_faces(leg, planes), rooms, house)
            for id_, there in things.items():
                is_behind = divider.behind in divided.rooms_from(id_)
                there[leg.id] = own if is_behind else seen
                sides[id_][leg.id] = PartitionFace(leg.id, is_behind, leg.mirror)
            own_faces[divider.home].append(seen)
            own_faces[divider.behind].append(own)
            frames.append(frame_of(divider, leg, planes, seen, room, house))

    _check_connected(room, rooms, measured, divided, drawn)
    _check_divided(room, house, measured, divided, rooms, things, drawn)
    made = []
    for id_, own_room in rooms.items():
        is_parent = id_ == room.id
        notes = list(measured.notes) if is_parent else _notes_behind(own_room, room, divided)
        notes += _notes_of(own_faces[id_], house)
        made.append(
            _finish(
                own_room,
                [
                    _of_partition(_with_things(one, things[id_]), sides[id_])
                    for one in drawn.get(id_, ())
                ],
                house,
                plan=divided.floors[id_].corners,
                plan_sides=tuple(
                    PlanSide(
                        part.surface,
                        part.full_name,
                        of=part.id,
                        number=part.number,
                        shift=part.shift,
                    )
                    for part in divided.floors[id_].walls
                ),
                notes=notes,
                closing_error=measured.closing_error if is_parent else Nm(0),
                later=[
                    tuple(
                        _of_partition(_with_things(face, things[id_]), sides[id_]) for face in faces
                    )
                    for faces in later[id_]
                ],
            )
        )
    return made, frames, [there for some in own_faces.values() for there in some]


def _standing_around(
    divided: Divided,
    home: str,
    drawn: Mapping[str, Sequence[Drawn]],
    later: Mapping[str, Sequence[Sequence[Drawn]]],
) -> list[Drawn]:
    """What a partition framed after board stands between: the surfaces of its room, or where that
    is made by another such partition, those that run through from the rooms it was cut from."""
    standing: list[Drawn] = []
    for id_ in reversed(list(divided.rooms_from(home))):
        standing += drawn.get(id_, ())
        standing += (face for faces in later[id_] for face in faces)
    return standing


def _with_things(drawn: Drawn, things: Mapping[str, Placed]) -> Drawn:
    placed = things.get(drawn.of)
    return (
        drawn
        if placed is None
        else replace(drawn, surface=move_into(drawn.surface, drawn.origin, placed))
    )


def _of_partition(drawn: Drawn, sides: Mapping[str, PartitionFace]) -> Drawn:
    """The surface, told which side of which leg it is on."""
    face = sides.get(drawn.of)
    return (
        drawn
        if face is None
        else replace(drawn, surface=replace(drawn.surface, partition_face=face))
    )


def _check_divided(
    room: Room,
    house: House,
    measured: MeasuredRoom,
    divided: Divided,
    rooms: Mapping[str, Room],
    things: Mapping[str, Mapping[str, Placed]],
    drawn: Mapping[str, Sequence[Drawn]],
) -> None:
    """Refuse what a partition or a built-in would stand on, framed before or after board alike."""
    if not divided.partitions and not room.built:
        return
    left_uncut = [
        _with_things(one, things[id_]).surface
        for id_, piece in divided.floors.items()
        for one in draw(piece, measured.whole, rooms[id_], house.rules)
    ]
    names = built_faces(room.built)
    there = [
        placed
        for on_room in things.values()
        for name, placed in on_room.items()
        if name not in names
    ]
    check_undivided(room, there, left_uncut)
    if room.built:
        standing = [
            _with_things(one, things[id_]).surface
            for id_, surfaces in drawn.items()
            for one in surfaces
        ]
        check_undivided(room, there, standing)


def _check_connected(
    room: Room,
    rooms: Mapping[str, Room],
    measured: MeasuredRoom,
    divided: Divided,
    drawn: Mapping[str, Sequence[Drawn]],
) -> None:
    """Refuse two surfaces of one name, and choices and things for surfaces that a room does not
    have."""
    planes = ["ceiling", *(plane.part for plane in measured.whole.planes)]
    walls = [part.id for part in measured.whole.walls]
    faces = divided.leg_ids
    for name in {*faces, *planes} & {*walls} | {*faces} & {*planes}:
        raise BadValue(
            f"{room.name}: {name!r} names two of its surfaces; give the wall or partition another "
            "id"
        )
    for id_, own_room in rooms.items():
        parts = (
            [*walls, *faces]
            if own_room is room
            else [part.id for part in divided.floors[id_].walls]
        )
        standing = [one.surface.id.split("/", 1)[1] for one in drawn.get(id_, ())]
        _check_names(own_room, list(dict.fromkeys([*parts, *planes, *standing])))
    for divider in divided.partitions:
        own_room = rooms[divider.behind]
        own_faces = _faces_of(divided, divider.behind)
        elsewhere = [opening.name for opening in own_room.openings]
        elsewhere += [cut.name for cut in own_room.cutouts if cut.surface not in own_faces]
        elsewhere += [item.name for item in own_room.hidden if item.surface not in own_faces]
        for name in elsewhere:
            raise BadValue(
                f"{own_room.name}, {name}: {own_room.name} lies behind {divider.partition.name}; "
                "give what "
                "stands in its "
                f"other walls and its ceiling in {room.name}, measured there, and openings of the "
                "partition with "
                "the partition"
            )

    not_here = set(divided.leg_ids) - _faces_of(divided, room.id)
    unseen = [cutout.name for cutout in room.cutouts if cutout.surface in not_here]
    unseen += [item.name for item in room.hidden if item.surface in not_here]
    for name in unseen:
        raise BadValue(
            f"{room.name}, {name}: that partition is not seen from {room.name}; give "
            "what is on it in a room beside it"
        )
    for divider in divided.partitions:
        for opening in divider.partition.openings:
            if opening.wall not in divider.partition.run_ids:
                raise BadValue(
                    f"{divider.partition.name}, {opening.name}: {opening.wall!r} is no leg of it; "
                    f"there are {', '.join(divider.partition.run_ids)}"
                )


def _faces_of(divided: Divided, room: str) -> set[str]:
    """The legs of partitions that make a face of the room, by their ids."""
    return {
        leg.id
        for divider in divided.partitions
        if room in (divider.home, divider.behind)
        for leg in divider.legs
    }


def _notes_behind(room: Room, parent: Room, divided: Divided) -> list[RoomNote]:
    """What of a room behind a partition has no effect, so that nothing is passed over in
    silence."""
    notes = []
    if room.ceiling != Ceiling():
        notes.append(
            RoomNote(
                room.id,
                f"{room.name} has the ceiling of {parent.name}; its own ceiling is not used",
            )
        )
    waiting = [choice.of for choice in room.surfaces if choice.of not in divided.leg_ids]
    if waiting and room.id not in divided.standing:
        notes.append(
            RoomNote(
                room.id,
                f"The partition is framed after board, so the walls and ceiling of {room.name} are "
                "those of "
                f"{parent.name}; what is chosen here for {', '.join(waiting)} is not used",
            )
        )
    return notes


def _check_names(room: Room, known: Sequence[str]) -> None:
    """Refuse choices and a hanging order for surfaces that the room does not have."""
    for name in (*(choice.of for choice in room.surfaces), *room.hang_first):
        if name not in known:
            raise BadValue(
                f"{room.name}: {name!r} is no surface of the room; there are {', '.join(known)}"
            )


def _finish(
    room: Room,
    drawn: Sequence[Drawn],
    house: House,
    *,
    plan: tuple[tuple[Nm, Nm], ...],
    notes: Sequence[RoomNote],
    closing_error: Nm = Nm(0),
    later: Sequence[tuple[Drawn, ...]] = (),
    plan_sides: tuple[PlanSide, ...] = (),
) -> RoomGeometry:
    """Sizes to board, corners and notes for the drawn surfaces; `later` are the faces of each
    partition that stands between finished ones, so that nothing of a neighbour comes off them."""
    order = hang_order([face.surface for face in drawn], room.hang_first)
    order += hang_order([face.surface for faces in later for face in faces], room.hang_first)
    treatments = {face.surface.id: face.treatment for face in drawn}
    told = [(face, treatments) for face in drawn]
    told += [(face, _among_finished(face, faces)) for faces in later for face in faces]
    tellers = {
        face.surface.id: {one.surface.id for one in faces}
        for faces in (drawn, *later)
        for face in faces
    }
    surfaces: list[Surface] = []
    corners: list[Corner] = []
    gathered = [*notes, *_lining_notes(room, drawn, house)]
    own = {face.surface.id for face in drawn if face.of in house.built_faces}
    for face, around in told:
        surface = replace(face.surface, origin=face.origin, units=house.units)
        if surface.action.gets_board:
            area = board_area(surface, face.cosines, around, order, house.rules)
            surface = replace(
                surface, board_area=area.cut, outer_area=area.outer, inner_area=area.inner
            )
            if not area.cut:
                gathered.append(
                    RoomNote(
                        surface.id,
                        f"{in_room(surface, room)} is too small to board once its neighbors' "
                        "board is off it",
                    )
                )
        gathered += _in_line_notes(face, around, room)
        surfaces.append(surface)
        corners += _corners(face, around, house.rules, tellers[face.surface.id], own)
    surfaces.sort(key=lambda surface: surface.kind is SurfaceKind.CEILING)
    gathered += [*size_notes(room, surfaces, house), *board_notes(room, surfaces, house)]
    return RoomGeometry(
        room=room.id,
        name=room.name,
        plan=plan,
        closing_error=closing_error,
        floor_area=round(Fraction(area2(plan)) / 2),
        surfaces=tuple(surfaces),
        corners=tuple(corners),
        hang_order=order,
        notes=tuple(gathered),
        plan_sides=plan_sides,
    )


def _in_line_notes(drawn: Drawn, around: Mapping[str, Treatment], room: Room) -> list[RoomNote]:
    """A wall that runs on in line into the next one makes no corner; where their boards meet is not
    among the seams."""
    surface = drawn.surface
    edge = surface.edges[_right_side(surface)]
    if edge.kind is not EdgeKind.FREE or edge.neighbour not in around:
        return []
    return [
        RoomNote(
            surface.id,
            f"{in_room(surface, room)} runs on in line into {edge.neighbour}: no corner is counted "
            "there, and each "
            "is planned by itself; boards may run across",
        )
    ]


def _among_finished(drawn: Drawn, together: Sequence[Drawn]) -> dict[str, Treatment]:
    """Treatments as a face sees them that is drawn between finished faces: its neighbours take
    nothing more, but for those of the same partition, which are hung together with it."""
    done = replace(drawn.treatment, action=Action.LEAVE, lining=Nm(0))
    around = {edge.neighbour: done for edge in drawn.surface.edges if edge.neighbour is not None}
    return {**around, **{face.surface.id: face.treatment for face in together}}


def _lining_notes(room: Room, drawn: Sequence[Drawn], house: House) -> list[RoomNote]:
    assumed = [face for face in drawn if face.treatment.lining_assumed]
    if not assumed:
        return []
    thickness = tape_reading(assumed[0].treatment.lining, house.units)
    names = ", ".join(face.surface.name.removeprefix(f"{room.name}, ") for face in assumed)
    return [
        RoomNote(
            room.id,
            f"The old lining of {names} is taken as {thickness} thick; measure it and give it as "
            "lining",
        )
    ]


def _corners(
    drawn: Drawn,
    treatments: Mapping[str, Treatment],
    rules: Rules,
    tellers: Collection[str],
    built: Collection[str],
) -> list[Corner]:
    """The lines told from one surface where it or its neighbour gets board: a wall's to the next
    wall (at both ends where its neighbor is not one of the `tellers`, and so tells nothing of it),
    then to the ceiling over it; a ceiling plane's ridge."""
    surface = drawn.surface
    sides = finished_sides(surface, drawn.cosines, treatments, rules)
    corners = []
    for index, edge in enumerate(surface.edges):
        if (
            edge.neighbour is None
            or index not in sides
            or not _is_told_here(surface, index, tellers, built)
        ):
            continue
        if any(treatments[id_].action.gets_board for id_ in (surface.id, edge.neighbour)):
            inside = edge.kind is not EdgeKind.OUTSIDE_CORNER
            corners.append(
                Corner(inside=inside, first=surface.id, second=edge.neighbour, length=sides[index])
            )
    return corners


def _is_told_here(
    surface: Surface, index: int, tellers: Collection[str], built: Collection[str]
) -> bool:
    """Whether this side's line is told from this surface, so that each line is told once. `built`
    are the faces of soffits and skylight wells, which tell their own."""
    edge = surface.edges[index]
    if edge.kind in (EdgeKind.INSIDE_CORNER, EdgeKind.OUTSIDE_CORNER):
        if surface.id in built:
            return edge.neighbour not in built or surface.id < (edge.neighbour or "")
        if edge.neighbour in built:
            return False
        return index == _right_side(surface) or edge.neighbour not in tellers
    return edge.kind is EdgeKind.CEILING or (
        edge.kind is EdgeKind.RIDGE and surface.id < (edge.neighbour or "")
    )


def _right_side(surface: Surface) -> int:
    """Which side of a wall's outline is its right end: the second, but where stairs put corners of
    the floor before it."""
    outline = surface.outline
    right = max(u for u, _ in outline)
    upright = (
        index
        for index, (here, there) in enumerate(zip(outline, outline[1:] + outline[:1], strict=True))
        if here[0] == there[0] == right and surface.kind is SurfaceKind.WALL
    )
    return next(upright, 1)
