"""Planned partitions: how each cuts a room's plan in two, where its faces stand, and the frame
between them.

A partition framed before board cuts framing from framing: each side's walls and ceiling end at it.
Framed after, it stands between finished faces that run through. Both cut the same plan, so the
rooms are the same either way.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from takeoff.choices import FramedWhen, Runs, Side, SurfaceKind, Turn
from takeoff.errors import BadValue
from takeoff.geometry.ceilings import CeilingPlane, wall_shape
from takeoff.geometry.faces import Drawn, cosine_between, to_surface
from takeoff.geometry.legs import Leg, LegLine, leg_framing, path_of
from takeoff.geometry.openings import place_on_face
from takeoff.geometry.pieces import FloorPlan, WallPart
from takeoff.geometry.polygon import ExactPoint, length_of
from takeoff.geometry.shapes import PartitionShape
from takeoff.geometry.surface import Edge, EdgeKind, Placed, Point
from takeoff.geometry.treatment import decide
from takeoff.house import Cutout, HiddenItem, House, Partition, Room
from takeoff.reference import figures
from takeoff.reference.lumber import stud_size
from takeoff.units import Nm, UnitSystem, tape_reading

__all__ = [
    "Divided",
    "FacesAfter",
    "PlacedPartition",
    "divide",
    "faces_after",
    "frame_of",
    "place_on_faces",
    "whole_faces",
]

Outline = tuple[Point, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedPartition:
    """One partition in the plan of its room, from framing to framing.

    `home` is the room on the side that the partition is seen from, `behind` the one it makes.
    `start` and `end` are the walls at its two ends. `start_at` and `end_at` are the places of its
    middle along those whole walls.
    """

    partition: Partition
    framed: FramedWhen
    home: str
    behind: str
    legs: tuple[Leg, ...]
    start: WallPart
    end: WallPart
    start_along: tuple[int, int]
    end_along: tuple[int, int]
    start_at: Nm
    end_at: Nm


@dataclass(frozen=True, slots=True, kw_only=True)
class Divided:
    """The plan of a room after its partitions have cut it, by room id. `floors` is cut by all
    partitions. `standing` is cut only by those framed before board, so it holds the plans that have
    walls and ceilings of their own."""

    floors: Mapping[str, FloorPlan]
    standing: Mapping[str, FloorPlan]
    partitions: tuple[PlacedPartition, ...]

    @property
    def leg_ids(self) -> tuple[str, ...]:
        return tuple(leg.id for divider in self.partitions for leg in divider.legs)

    def rooms_from(self, room: str) -> Iterator[str]:
        """The room, the room that it was cut from, and so on to the one that was measured."""
        homes = {divider.behind: divider.home for divider in self.partitions}
        at: str | None = room
        while at is not None:
            yield at
            at = homes.get(at)


def divide(
    room: Room,
    whole: FloorPlan,
    partitions: Sequence[Partition],
    behind: Mapping[str, str],
    framed: Mapping[str, FramedWhen],
    *,
    units: UnitSystem,
) -> Divided:
    """Cut the plan `whole` by each partition of `room` in turn: first those framed before board,
    then those framed after, in the order of the house. `behind` gives the id of the room behind
    each. A partition cuts the part of the plan that it starts in, which may lie behind another.

    Raises `BadValue` where a partition has no place on its wall, or no way to another wall (see
    `path_of`).
    """
    floors, standing = {room.id: whole}, {room.id: whole}
    dividers = []
    for partition in sorted(
        partitions, key=lambda partition: framed[partition.id] is FramedWhen.AFTER
    ):
        home, index = _start_wall(floors, room, partition, units)
        kept, cut_off, divider = _cut(
            floors[home], home, index, partition, behind[partition.id], framed[partition.id], units
        )
        floors[home], floors[divider.behind] = kept, cut_off
        if divider.framed is FramedWhen.BEFORE:
            standing[home], standing[divider.behind] = kept, cut_off
        dividers.append(divider)
    places = {partition.id: place for place, partition in enumerate(partitions)}
    return Divided(
        floors={id_: _numbered(floor_plan) for id_, floor_plan in floors.items()},
        standing={id_: _numbered(floor_plan) for id_, floor_plan in standing.items()},
        partitions=tuple(sorted(dividers, key=lambda divider: places[divider.partition.id])),
    )


def _numbered(floor_plan: FloorPlan) -> FloorPlan:
    """The plan with the parts of each wall numbered along the wall."""
    parts: dict[str, list[Nm]] = {}
    for part in floor_plan.walls:
        parts.setdefault(part.id, []).append(part.shift)
    return replace(
        floor_plan,
        walls=tuple(
            replace(part, number=1 + sorted(parts[part.id]).index(part.shift))
            for part in floor_plan.walls
        ),
    )


def _cut(
    floor_plan: FloorPlan,
    home: str,
    index: int,
    partition: Partition,
    behind: str,
    framed: FramedWhen,
    units: UnitSystem,
) -> tuple[FloorPlan, FloorPlan, PlacedPartition]:
    """What the partition leaves the room it stands in, what it cuts off, and where it stands."""
    size = stud_size(partition.stud)
    start = floor_plan.walls[index]
    near = Nm(start.tape_from + partition.at - start.shift)
    path = path_of(floor_plan, index, near, partition, units)
    end = floor_plan.walls[path.hit]

    def faces(*, faces_parent: bool) -> list[WallPart]:
        parts = []
        for leg in path.legs:
            line = leg.parent_face if faces_parent else leg.behind_face
            studs = leg_framing(leg, partition.spacing, partition.stud, faces_parent=faces_parent)
            parts.append(
                WallPart(
                    id=leg.id,
                    name=leg.name,
                    shift=Nm(0),
                    whole=line.length,
                    tape_from=Nm(0),
                    tape_to=line.length,
                    studs=studs,
                    faces_parent=faces_parent,
                )
            )
        return parts

    # The walls go clockwise. As seen from the start wall, the plan on the left is bounded by the
    # walls after the one that the partition hits, up to the start wall, and by the left side of
    # the partition from there to the wall it hits; the plan on the right by the walls after the
    # start wall, up to the one it hits, and by the right side of the partition back to the start.
    keeps_left = partition.side is Side.RIGHT
    count = len(floor_plan.corners)
    # wall after `hit` .. the start wall; all walls, or none, where it comes back to the start wall
    # farther on or nearer
    around = path.hit == index
    farther = _shifted(floor_plan, index, path.left[-1]) > _shifted(floor_plan, index, path.left[0])
    many = (count if farther else 0) if around else (index - path.hit) % count
    between = [(path.hit + 1 + k) % count for k in range(many)]
    left_part = _joined(
        floor_plan,
        [(path.left[-1], replace(end, shift=_shifted(floor_plan, path.hit, path.left[-1])))]
        + [(floor_plan.corners[k], floor_plan.walls[k]) for k in between]
        + list(zip(path.left[:-1], faces(faces_parent=keeps_left), strict=True)),
    )
    # wall after the start .. `hit`
    many = (0 if farther else count) if around else (path.hit - index) % count
    between = [(index + 1 + k) % count for k in range(many)]
    right_part = _joined(
        floor_plan,
        [(path.right[0], replace(start, shift=_shifted(floor_plan, index, path.right[0])))]
        + [(floor_plan.corners[k], floor_plan.walls[k]) for k in between]
        + list(zip(path.right[:0:-1], reversed(faces(faces_parent=not keeps_left)), strict=True)),
    )
    divider = PlacedPartition(
        partition=partition,
        framed=framed,
        home=home,
        behind=behind,
        legs=path.legs,
        start=start,
        end=end,
        start_along=floor_plan.along(index),
        end_along=floor_plan.along(path.hit),
        start_at=Nm(start.shift + near + size.width // 2),
        end_at=Nm(
            sum(_shifted(floor_plan, path.hit, side[-1]) for side in (path.left, path.right)) // 2
        ),
    )
    return (left_part, right_part, divider) if keeps_left else (right_part, left_part, divider)


def _start_wall(
    floors: Mapping[str, FloorPlan], room: Room, partition: Partition, units: UnitSystem
) -> tuple[str, int]:
    """The room and the index of the wall, or of the piece of it, that the partition starts at. A
    partition that starts on another one starts on the face that is seen from the measured room's
    side."""
    thickness = stud_size(partition.stud).width
    reaches = []
    for id_, floor_plan in floors.items():
        for index, part in enumerate(floor_plan.walls):
            if part.id != partition.wall or (part.studs is not None and not part.faces_parent):
                continue
            low = Nm(part.shift - part.tape_from)
            high = Nm(low + floor_plan.length(index) - thickness)
            if low < partition.at < high:
                return id_, index
            reaches.append((low, high, part.name))
    if not reaches:
        walls = dict.fromkeys(part.id for plan in floors.values() for part in plan.walls)
        raise BadValue(
            f"{partition.name}: {partition.wall!r} is no wall of {room.name} there; it has "
            f"{', '.join(walls)}"
        )
    between = " or ".join(
        f"more than {tape_reading(max(low, Nm(0)), units)} and less than "
        f"{tape_reading(high, units)}"
        for low, high, _ in sorted(reaches)
        if low < high
    )
    raise BadValue(
        f"{partition.name}: at {tape_reading(partition.at, units)} along {reaches[0][2]} it does "
        f"not stand between that wall's ends; enter {between} "
        f"(it is {tape_reading(thickness, units)} thick)"
    )


def _whole(point: ExactPoint) -> Point:
    return Nm(round(point[0])), Nm(round(point[1]))


def _shifted(floor_plan: FloorPlan, index: int, point: Point) -> Nm:
    return Nm(floor_plan.walls[index].shift + round(length_of(floor_plan.corners[index], point)))


def _joined(floor_plan: FloorPlan, sides: Sequence[tuple[Point, WallPart]]) -> FloorPlan:
    """A piece under the same ceiling from (corner, wall that starts there): without walls of no
    length, and starting with the wall that comes first in `floor_plan`."""
    kept = [side for k, side in enumerate(sides) if side[0] != sides[(k + 1) % len(sides)][0]]
    places = {part.id: place for place, part in enumerate(floor_plan.walls)}
    first = min(
        range(len(kept)),
        key=lambda k: (places.get(kept[k][1].id, len(places)), kept[k][1].shift),
    )
    kept = kept[first:] + kept[:first]
    return replace(
        floor_plan,
        corners=tuple(corner for corner, _ in kept),
        walls=tuple(wall for _, wall in kept),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class FacesAfter:
    """The faces of a partition framed after board. `legs` lie between finished faces, `planes` are
    those of the finished ceiling; `parent` and `behind` have a face of each leg."""

    legs: tuple[Leg, ...]
    planes: tuple[CeilingPlane, ...]
    parent: tuple[Drawn, ...]
    behind: tuple[Drawn, ...]


def faces_after(
    divider: PlacedPartition,
    rooms: Mapping[str, Room],
    house: House,
    planes: Sequence[CeilingPlane],
    standing: Sequence[Drawn],
) -> FacesAfter:
    """Return both faces of every leg of a partition framed after board. They lie between the
    finished faces that stand already.

    `planes` are the ceiling of the parent room at the framing. `standing` are the surfaces on
    either side, and the faces of partitions that were framed before this one.
    """
    around = _Around(rooms, house, standing, planes)
    ends = [_leg_ends(divider, place, around.by_name) for place in range(len(divider.legs))]
    legs = [
        _between_faces(divider, leg, of_leg) for leg, of_leg in zip(divider.legs, ends, strict=True)
    ]
    parent, behind = (
        tuple(
            _face_after(divider, leg, rooms[room], of_leg, around)
            for leg, of_leg in zip(legs, ends, strict=True)
        )
        for room in (divider.home, divider.behind)
    )
    return FacesAfter(legs=tuple(legs), planes=around.finished, parent=parent, behind=behind)


class _Around:
    """What a partition framed after board stands between: surfaces by their names without a room,
    and the planes of the ceiling over it, at the framing and `finished`."""

    def __init__(
        self,
        rooms: Mapping[str, Room],
        house: House,
        standing: Sequence[Drawn],
        planes: Sequence[CeilingPlane],
    ) -> None:
        self.rooms, self.house = rooms, house
        self.by_name = {drawn.of: drawn for drawn in standing}
        self.ceilings = [self.by_name[plane.part] for plane in planes if plane.part in self.by_name]
        self.finished = tuple(
            plane.raised(-self.by_name[plane.part].treatment.finished)
            for plane in planes
            if plane.part in self.by_name
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _LegEnd:
    """What a leg framed after board meets at one end: a wall, by the direction it is walked in, its
    finished thickness and the id of its surface; or the next leg by its id, where there is a
    `turn`."""

    along: tuple[int, int]
    finished: Nm = Nm(0)
    surface: str = ""
    turn: Turn | None = None


def _leg_ends(
    divider: PlacedPartition, place: int, by_name: Mapping[str, Drawn]
) -> tuple[_LegEnd, _LegEnd]:
    """What the leg meets where it starts and where it ends, as the partition is walked."""
    turns = [leg.turn for leg in divider.partition.legs]
    ends = []
    for turn, next_leg, wall, along in (
        (turns[place - 1] if place else None, place - 1, divider.start, divider.start_along),
        (
            turns[place] if place < len(turns) else None,
            place + 1,
            divider.end,
            divider.end_along,
        ),
    ):
        if turn is None:
            drawn = by_name[wall.id]
            ends.append(
                _LegEnd(
                    along=along,
                    finished=drawn.treatment.finished,
                    surface=drawn.surface.id,
                )
            )
        else:
            other = divider.legs[next_leg]
            ends.append(_LegEnd(along=other.parent_face.along, surface=other.id, turn=turn))
    return ends[0], ends[1]


def _between_faces(divider: PlacedPartition, leg: Leg, ends: tuple[_LegEnd, _LegEnd]) -> Leg:
    """The leg with both its faces moved in, where it meets a wall, to that wall's finished face.
    Raises `BadValue` where nothing is left of it."""
    from_left = divider.partition.side is Side.RIGHT

    def moved(line: LegLine, *, starts_left: bool) -> LegLine:
        first, last = ends if starts_left else ends[::-1]
        corners = []
        for corner, end, way in ((line.left, first, 1), (line.right, last, -1)):
            if end.turn is not None:
                corners.append(corner)
                continue
            # Square to the wall its face is `finished` away; along the partition, farther where
            # the wall is slanted.
            (dx, dy), (ex, ey) = line.along, end.along
            square = Fraction(abs(dx * ey - dy * ex)) / length_of((0, 0), end.along)
            part = way * Fraction(end.finished) / square
            corners.append(_whole((corner[0] + part * dx, corner[1] + part * dy)))
        short = LegLine(left=corners[0], right=corners[1])
        if short.along[0] * line.along[0] + short.along[1] * line.along[1] <= 0:
            raise BadValue(
                f"{leg.name}: nothing is left between the finished faces of "
                f"{divider.start.name} and {divider.end.name}; move it, or frame it before board"
            )
        return short

    return replace(
        leg,
        parent_face=moved(leg.parent_face, starts_left=from_left),
        behind_face=moved(leg.behind_face, starts_left=not from_left),
    )


def _face_after(
    divider: PlacedPartition,
    leg: Leg,
    room: Room,
    ends: tuple[_LegEnd, _LegEnd],
    around: _Around,
) -> Drawn:
    faces_parent = room.id == divider.home
    line = leg.parent_face if faces_parent else leg.behind_face
    # The left end of a face is where the leg starts, on one side of it.
    starts_left = faces_parent == (divider.partition.side is Side.RIGHT)
    left_end, right_end = ends if starts_left else ends[::-1]
    shape = wall_shape(line.left, line.right, around.finished)
    treatment = decide(
        room,
        SurfaceKind.WALL,
        (leg.id,),
        around.house.rules,
        parent=None if faces_parent else around.rooms[divider.home],
    )
    studs = leg_framing(
        leg,
        divider.partition.spacing,
        divider.partition.stud,
        faces_parent=faces_parent,
    )
    ceilings = [around.ceilings[top].surface.id for top in shape.tops]
    surface = to_surface(
        treatment,
        id_=f"{room.id}/{leg.id}",
        room=room,
        name=f"{room.name}, {leg.name}",
        kind=SurfaceKind.WALL,
        outline=shape.outline,
        edges=(
            Edge(EdgeKind.FLOOR),
            _edge_after(right_end, room, faces_parent=faces_parent),
            *(Edge(EdgeKind.CEILING, ceiling) for ceiling in ceilings),
            _edge_after(left_end, room, faces_parent=faces_parent),
        ),
        framing=(studs, True),
    )
    cosines = (
        Fraction(0),
        _cosine_after(line.along, right_end),
        *(around.finished[top].cosine_to_wall(line.along) for top in shape.tops),
        _cosine_after(line.along, left_end),
    )
    return Drawn(
        surface=surface, of=leg.id, origin=(Nm(0), Nm(0)), cosines=cosines, treatment=treatment
    )


def _edge_after(end: _LegEnd, room: Room, *, faces_parent: bool) -> Edge:
    if end.turn is None:
        return Edge(EdgeKind.INSIDE_CORNER, end.surface)
    is_outside = (end.turn is Turn.TOWARD) == faces_parent
    kind = EdgeKind.OUTSIDE_CORNER if is_outside else EdgeKind.INSIDE_CORNER
    return Edge(kind, f"{room.id}/{end.surface}")


def _cosine_after(along: tuple[int, int], end: _LegEnd) -> Fraction:
    """Cosine of the angle to what a face meets; legs meet square."""
    return Fraction(0) if end.turn is not None else cosine_between(along, end.along)


def whole_faces(leg: Leg, planes: Sequence[CeilingPlane]) -> tuple[Outline, Outline]:
    """Return the outlines of both faces of a leg, from framing to framing, the face in the parent
    room first."""
    parent, behind = (
        wall_shape(line.left, line.right, planes).outline
        for line in (leg.parent_face, leg.behind_face)
    )
    return parent, behind


def place_on_faces(
    divider: PlacedPartition,
    leg: Leg,
    outlines: tuple[Outline, Outline],
    rooms: Mapping[str, Room],
    house: House,
) -> tuple[Placed, Placed]:
    """Return what stands on both faces of a leg, the face in the parent room first: the openings
    of the leg as seen from either side, and the boxes and hidden things of each room. Raises
    `BadValue` for a thing that is not wholly on its face."""
    home, behind = rooms[divider.home], rooms[divider.behind]
    openings = [opening for opening in divider.partition.openings if opening.wall == leg.id]
    seen = place_on_face(
        f"{home.name}, {leg.name}", outlines[0], openings, _items_on(home, leg.id), house
    )
    name = f"{behind.name}, {leg.name}"
    own = place_on_face(name, outlines[1], (), _items_on(behind, leg.id), house)
    mirrored = tuple(
        replace(opening, left=Nm(leg.mirror - opening.right), right=Nm(leg.mirror - opening.left))
        for opening in seen.openings
    )
    for opening in mirrored:
        if not 0 <= opening.left < opening.right <= leg.behind_face.length:
            raise BadValue(
                f"{name}, {opening.name}: it would reach into the corner behind it, as seen from "
                f"{behind.name}; keep it farther from the corner"
            )
    return seen, replace(own, openings=mirrored)


def _items_on(room: Room, surface: str) -> list[Cutout | HiddenItem]:
    """The boxes and hidden things that a room gives on one of its surfaces."""
    items: list[Cutout | HiddenItem] = [*room.cutouts, *room.hidden]
    return [item for item in items if item.surface == surface]


def frame_of(
    divider: PlacedPartition,
    leg: Leg,
    planes: Sequence[CeilingPlane],
    seen: Placed,
    parent: Room,
    house: House,
) -> PartitionShape:
    """Return the frame of a leg under `planes`, as seen from its parent room. `seen` is what stands
    on that face."""
    partition = divider.partition
    ends = ((divider.start, divider.start_at), (divider.end, divider.end_at))
    own_ends = [
        end
        for end, at in zip(ends, (divider.legs[0], divider.legs[-1]), strict=True)
        if at.id == leg.id
    ]
    tees = tuple(part.name for part, at in own_ends if _is_tee(part, divider, at, parent, house))
    return PartitionShape(
        id=leg.id,
        partition=partition.id,
        name=leg.name,
        room=partition.room,
        framed=divider.framed,
        outline=_frame_outline(leg, planes),
        openings=tuple(
            (opening.left, opening.bottom, opening.right, opening.top) for opening in seen.openings
        ),
        stud=partition.stud,
        spacing=partition.spacing,
        tees=len(tees),
        tee_walls=tees,
        corners=int(leg.ends_in_corner),
        units=house.units,
        faces=(f"{divider.home}/{leg.id}", f"{divider.behind}/{leg.id}"),
    )


def _frame_outline(leg: Leg, planes: Sequence[CeilingPlane]) -> Outline:
    """The outline of the leg's frame, drawn from the left end of its parent face."""
    line = leg.parent_face
    (dx, dy), long = line.along, Fraction(length_of(line.left, line.right))

    def beyond(point: Point, distance: Nm) -> Point:
        return _whole((point[0] + distance * dx / long, point[1] + distance * dy / long))

    shape = wall_shape(
        beyond(line.left, Nm(-leg.left_over)), beyond(line.right, leg.right_over), planes
    )
    return tuple((Nm(u - leg.left_over), v) for u, v in shape.outline)


def _is_tee(part: WallPart, partition: PlacedPartition, at: Nm, parent: Room, house: House) -> bool:
    """Whether the wall lacks a stud for the board on either side of the partition, whose middle
    meets it at `at`; so where studs are not known.

    A partition framed before board parts the board of its wall in two, and each of the two ends
    needs a stud that stands out beside the partition. A stud behind its middle holds neither. Of a
    partition framed after board the middle is what has to be held, for the wall's board runs
    through.
    """
    framing = part.studs or decide(parent, SurfaceKind.WALL, (part.id,), house.rules).framing
    if framing.spacing is None or framing.runs is Runs.ALONG:
        centers = list(framing.extra)
    else:
        layout = range(framing.first, part.whole + 1, framing.spacing)
        centers = [
            *framing.extra,
            *(
                Nm(center)
                for center in layout
                if not any(
                    2 * abs(missing - center) <= framing.spacing for missing in framing.missing
                )
            ),
        ]
    half = framing.member_width // 2
    if partition.framed is FramedWhen.AFTER:
        return not any(abs(center - at) <= half for center in centers)
    side = stud_size(partition.partition.stud).width // 2
    bearing = figures.length("FR-tee-bearing")
    return not all(
        any(
            way * (center - at) - half <= side and way * (center - at) + half >= side + bearing
            for center in centers
        )
        for way in (-1, 1)
    )
