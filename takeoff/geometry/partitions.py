"""Planned partitions: how each cuts a room's plan in two, where its faces stand, and the frame
between them.

A partition framed before board cuts framing from framing: each side's walls and ceiling end at it.
Framed after, it stands between finished faces that run through. Both cut the same plan, so the
rooms are the same either way.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from takeoff.choices import FramedWhen, Runs, Side, SurfaceKind
from takeoff.errors import BadValue
from takeoff.geometry.ceilings import CeilingPlane, wall_shape
from takeoff.geometry.faces import Drawn, cosine_between, partition_framing, to_surface
from takeoff.geometry.openings import place_on_face
from takeoff.geometry.pieces import FloorPlan, WallPart
from takeoff.geometry.polygon import Exact, ExactPoint, bounds, length_of
from takeoff.geometry.shapes import PartitionShape
from takeoff.geometry.surface import Edge, EdgeKind, Placed, Point
from takeoff.geometry.treatment import Treatment, decide
from takeoff.house import Cutout, HiddenItem, House, Partition, Room
from takeoff.reference import figures
from takeoff.reference.lumber import lumber
from takeoff.units import Nm, UnitSystem, tape_reading

__all__ = [
    "Divided",
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
    """One partition in the plan of its room, from framing to framing. Each face goes from its left
    end to its right end, as a person in front of it sees them.

    `parent_face` is seen from the parent room, `behind_face` from the room behind. `start` and
    `end` are the walls at its two ends. `start_at` and `end_at` are the places of its middle along
    those whole walls.
    """

    partition: Partition
    framed: FramedWhen
    behind: str
    parent_face: tuple[Point, Point]
    behind_face: tuple[Point, Point]
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
    each.

    Raises `BadValue` where a partition has no place on its wall, does not run square into one other
    wall, or is cut off from the parent room by another.
    """
    floors, standing = {room.id: whole}, {room.id: whole}
    dividers = []
    for partition in sorted(
        partitions, key=lambda partition: framed[partition.id] is FramedWhen.AFTER
    ):
        kept, cut_off, divider = _cut(
            floors[room.id], room, partition, behind[partition.id], framed[partition.id], units
        )
        floors[room.id], floors[divider.behind] = kept, cut_off
        if divider.framed is FramedWhen.BEFORE:
            standing[room.id], standing[divider.behind] = kept, cut_off
        dividers.append(divider)
    places = {partition.id: place for place, partition in enumerate(partitions)}
    return Divided(
        floors=floors,
        standing=standing,
        partitions=tuple(sorted(dividers, key=lambda divider: places[divider.partition.id])),
    )


def _cut(
    floor_plan: FloorPlan,
    room: Room,
    partition: Partition,
    behind: str,
    framed: FramedWhen,
    units: UnitSystem,
) -> tuple[FloorPlan, FloorPlan, PlacedPartition]:
    """What the partition leaves the parent room, what it cuts off, and where it stands."""
    thickness = lumber(partition.stud).width
    index = _start_wall(floor_plan, room, partition, thickness, units)
    start = floor_plan.walls[index]
    near = Nm(start.tape_from + partition.at - start.shift)
    (near_start, near_end, near_walls), (far_start, far_end, far_walls) = (
        _chord(floor_plan, index, Nm(near + step)) for step in (0, thickness)
    )
    shared = [wall for wall in near_walls if wall in far_walls]
    if not shared:
        raise BadValue(
            f"{partition.name}: it does not run into one wall but into "
            f"{_names(floor_plan, near_walls)} "
            "on one face and "
            f"{_names(floor_plan, far_walls)} on the other; move it so that both faces meet the "
            "same "
            "wall"
        )
    hit = shared[0]
    end = floor_plan.walls[hit]
    face_length = tuple(
        Nm(round(length_of(*ends))) for ends in ((near_start, near_end), (far_start, far_end))
    )

    def face(length: Nm, *, faces_parent: bool) -> WallPart:
        return WallPart(
            id=partition.id,
            name=partition.name,
            shift=Nm(0),
            whole=length,
            tape_from=Nm(0),
            tape_to=length,
            partition=partition,
            faces_parent=faces_parent,
        )

    # The walls go clockwise. As seen from the start wall, the plan on the left is bounded by the
    # walls after the one that the partition hits, up to the start wall; the plan on the right by
    # the walls after the start wall, up to the one it hits. Each is closed by a face of the
    # partition.
    keeps_left = partition.side is Side.RIGHT
    count = len(floor_plan.corners)
    # wall after `hit` .. the start wall
    between = [(hit + 1 + k) % count for k in range((index - hit) % count)]
    left_part = _joined(
        floor_plan,
        [(near_end, replace(end, shift=_shifted(floor_plan, hit, near_end)))]
        + [(floor_plan.corners[k], floor_plan.walls[k]) for k in between]
        + [(near_start, face(face_length[0], faces_parent=keeps_left))],
    )
    # wall after the start .. `hit`
    between = [(index + 1 + k) % count for k in range((hit - index) % count)]
    right_part = _joined(
        floor_plan,
        [(far_start, replace(start, shift=_shifted(floor_plan, index, far_start)))]
        + [(floor_plan.corners[k], floor_plan.walls[k]) for k in between]
        + [(far_end, face(face_length[1], faces_parent=not keeps_left))],
    )
    left_face, right_face = (near_start, near_end), (far_end, far_start)
    divider = PlacedPartition(
        partition=partition,
        framed=framed,
        behind=behind,
        parent_face=left_face if keeps_left else right_face,
        behind_face=right_face if keeps_left else left_face,
        start=start,
        end=end,
        start_along=floor_plan.along(index),
        end_along=floor_plan.along(hit),
        start_at=Nm(start.shift + near + thickness // 2),
        end_at=Nm((_shifted(floor_plan, hit, near_end) + _shifted(floor_plan, hit, far_end)) // 2),
    )
    return (left_part, right_part, divider) if keeps_left else (right_part, left_part, divider)


def _start_wall(
    floor_plan: FloorPlan, room: Room, partition: Partition, thickness: Nm, units: UnitSystem
) -> int:
    for index, part in enumerate(floor_plan.walls):
        if part.id != partition.wall:
            continue
        low = Nm(part.shift - part.tape_from)
        high = Nm(low + floor_plan.length(index) - thickness)
        if not low < partition.at < high:
            raise BadValue(
                f"{partition.name}: at {tape_reading(partition.at, units)} along {part.name} it "
                "does not stand "
                f"between that wall's ends; enter more than {tape_reading(max(low, Nm(0)), units)} "
                "and less than "
                f"{tape_reading(high, units)} (it is {tape_reading(thickness, units)} thick)"
            )
        return index
    raise BadValue(
        f"{partition.name}: {partition.wall!r} is no wall of {room.name} there; it has "
        f"{', '.join(part.id for part in floor_plan.walls)}"
    )


def _names(floor_plan: FloorPlan, walls: Iterable[int]) -> str:
    return " and ".join(floor_plan.walls[wall].name for wall in walls)


def _chord(floor_plan: FloorPlan, index: int, along: Nm) -> tuple[Point, Point, tuple[int, ...]]:
    """From a place on a wall square into the room to the first wall there: both ends, and the walls
    met (two where it meets their corner)."""
    (x, y), (dx, dy) = floor_plan.corners[index], floor_plan.along(index)
    part = Fraction(along) / length_of((0, 0), (dx, dy))
    start = (x + part * dx, y + part * dy)
    met: list[tuple[Exact, int]] = []
    for wall in range(len(floor_plan.corners)):
        if wall == index:
            continue
        (ax, ay), (ex, ey) = floor_plan.corners[wall], floor_plan.along(wall)
        facing = dx * ex + dy * ey  # how the wall lies to the way in, (-dy, dx)
        if facing == 0:
            continue
        on_wall = Fraction((start[0] - ax) * dx + (start[1] - ay) * dy) / facing
        if not 0 <= on_wall <= 1:
            continue
        point = (ax + on_wall * ex, ay + on_wall * ey)
        way_in = (point[1] - start[1]) * dx - (point[0] - start[0]) * dy
        if way_in > 0:
            met.append((way_in, wall))
    # Walls that the way in reaches at the same distance share a corner there.
    nearest = min(met)[0]
    way = Fraction(nearest) / (dx * dx + dy * dy)
    end = (start[0] - way * dy, start[1] + way * dx)
    return _whole(start), _whole(end), tuple(wall for way_in, wall in met if way_in == nearest)


def _whole(point: ExactPoint) -> Point:
    return Nm(round(point[0])), Nm(round(point[1]))


def _shifted(floor_plan: FloorPlan, index: int, point: Point) -> Nm:
    return Nm(floor_plan.walls[index].shift + round(length_of(floor_plan.corners[index], point)))


def _joined(floor_plan: FloorPlan, sides: Sequence[tuple[Point, WallPart]]) -> FloorPlan:
    """A piece under the same ceiling from (corner, wall that starts there): without walls of no
    length, and starting with the wall that comes first in `floor_plan`."""
    kept = [side for k, side in enumerate(sides) if side[0] != sides[(k + 1) % len(sides)][0]]
    places = {part.id: place for place, part in enumerate(floor_plan.walls)}
    first = min(range(len(kept)), key=lambda k: places.get(kept[k][1].id, len(places)))
    kept = kept[first:] + kept[:first]
    return replace(
        floor_plan,
        corners=tuple(corner for corner, _ in kept),
        walls=tuple(wall for _, wall in kept),
    )


def faces_after(
    divider: PlacedPartition,
    rooms: Mapping[str, Room],
    house: House,
    planes: Sequence[CeilingPlane],
    standing: Sequence[Drawn],
) -> tuple[Drawn, Drawn]:
    """Return both faces of a partition framed after board, the face in the parent room first. They
    lie between the finished faces that stand already.

    `planes` are the ceiling of the parent room at the framing. `standing` are its surfaces, and the
    faces of partitions that were framed before this one.
    """
    parent = rooms[divider.partition.room]
    by_name = {drawn.of: drawn for drawn in standing}
    planes = [plane for plane in planes if plane.part in by_name]
    lowered = tuple(plane.raised(-by_name[plane.part].treatment.finished) for plane in planes)
    start, end = by_name[divider.start.id], by_name[divider.end.id]
    from_start = divider.partition.side is Side.RIGHT
    faces = []
    for room, corners, starts in (
        (parent, divider.parent_face, from_start),
        (rooms[divider.behind], divider.behind_face, not from_start),
    ):
        first, last = (start, end) if starts else (end, start)
        before, after = (
            (divider.start_along, divider.end_along)
            if starts
            else (divider.end_along, divider.start_along)
        )
        left_end, right_end = _between_faces(
            corners, before, after, first.treatment.finished, last.treatment.finished
        )
        along = (right_end[0] - left_end[0], right_end[1] - left_end[1])
        if (
            along[0] * (corners[1][0] - corners[0][0]) + along[1] * (corners[1][1] - corners[0][1])
            <= 0
        ):
            raise BadValue(
                f"{divider.partition.name}: nothing is left between the finished faces of "
                f"{divider.start.name} and "
                f"{divider.end.name}; move it, or frame it before board"
            )
        shape = wall_shape(left_end, right_end, lowered)
        treatment = _face_treatment(divider.partition, room, parent, house)
        length = shape.outline[1][0]
        framing = partition_framing(divider.partition, length, faces_parent=room is parent)
        surface = to_surface(
            treatment,
            id_=f"{room.id}/{divider.partition.id}",
            room=room,
            name=f"{room.name}, {divider.partition.name}",
            kind=SurfaceKind.WALL,
            outline=shape.outline,
            edges=(
                Edge(EdgeKind.FLOOR),
                Edge(EdgeKind.INSIDE_CORNER, last.surface.id),
                *(
                    Edge(EdgeKind.CEILING, by_name[planes[top].part].surface.id)
                    for top in shape.tops
                ),
                Edge(EdgeKind.INSIDE_CORNER, first.surface.id),
            ),
            framing=(framing, True),
        )
        cosines = (
            Fraction(0),
            cosine_between(along, after),
            *(planes[top].cosine_to_wall(along) for top in shape.tops),
            cosine_between(before, along),
        )
        faces.append(
            Drawn(
                surface=surface,
                of=divider.partition.id,
                origin=(Nm(0), Nm(0)),
                cosines=cosines,
                treatment=treatment,
            )
        )
    return faces[0], faces[1]


def _face_treatment(partition: Partition, room: Room, parent: Room, house: House) -> Treatment:
    return decide(
        room,
        SurfaceKind.WALL,
        (partition.id,),
        house.rules,
        parent=None if room is parent else parent,
    )


def _between_faces(
    corners: tuple[Point, Point],
    before: tuple[int, int],
    after: tuple[int, int],
    first: Nm,
    last: Nm,
) -> tuple[Point, Point]:
    """A face's ends moved in from the framing of the walls at its left and right to their finished
    faces."""
    left_end, right_end = corners
    along = (right_end[0] - left_end[0], right_end[1] - left_end[1])
    ends = []
    for corner, wall, thickness, way in (
        (left_end, before, first, 1),
        (right_end, after, last, -1),
    ):
        # Square to the wall its face is `thickness` away; along the partition, farther where the
        # wall is slanted.
        square = Fraction(abs(along[0] * wall[1] - along[1] * wall[0])) / length_of((0, 0), wall)
        part = way * Fraction(thickness) / square
        ends.append(_whole((corner[0] + part * along[0], corner[1] + part * along[1])))
    return ends[0], ends[1]


def whole_faces(
    divider: PlacedPartition, planes: Sequence[CeilingPlane], after: tuple[Drawn, Drawn] | None
) -> tuple[Outline, Outline]:
    """Return the outlines of both faces, the face in the parent room first. They go from framing to
    framing, or are those that `after` drew."""
    if after is not None:
        return after[0].surface.outline, after[1].surface.outline
    return wall_shape(*divider.parent_face, planes).outline, wall_shape(
        *divider.behind_face, planes
    ).outline


def place_on_faces(
    divider: PlacedPartition,
    outlines: tuple[Outline, Outline],
    rooms: Mapping[str, Room],
    house: House,
) -> tuple[Placed, Placed]:
    """Return what stands on both faces, the face in the parent room first: the openings of the
    partition as seen from either side, and the boxes and hidden things of each room. Raises
    `BadValue` for a thing that is not wholly on its face."""
    parent, behind = rooms[divider.partition.room], rooms[divider.behind]
    of = divider.partition.id
    seen = place_on_face(
        f"{parent.name}, {divider.partition.name}",
        outlines[0],
        divider.partition.openings,
        _items_on(parent, of),
        house,
    )
    own = place_on_face(
        f"{behind.name}, {divider.partition.name}", outlines[1], (), _items_on(behind, of), house
    )
    # The two faces are of one length but where the wall at the far end is slanted: then they share
    # the start wall.
    width = bounds(outlines[0 if divider.partition.side is Side.LEFT else 1])[2]
    mirrored = tuple(
        replace(opening, left=Nm(width - opening.right), right=Nm(width - opening.left))
        for opening in seen.openings
    )
    return seen, replace(own, openings=mirrored)


def _items_on(room: Room, surface: str) -> list[Cutout | HiddenItem]:
    """The boxes and hidden things that a room gives on one of its surfaces."""
    items: list[Cutout | HiddenItem] = [*room.cutouts, *room.hidden]
    return [item for item in items if item.surface == surface]


def frame_of(
    divider: PlacedPartition,
    outlines: tuple[Outline, Outline],
    seen: Placed,
    parent: Room,
    house: House,
) -> PartitionShape:
    """Return the frame of the partition as seen from its parent room. `seen` is what stands on that
    face."""
    partition = divider.partition
    ends = ((divider.start, divider.start_at), (divider.end, divider.end_at))
    tees = tuple(part.name for part, at in ends if _is_tee(part, divider, at, parent, house))
    return PartitionShape(
        id=partition.id,
        name=partition.name,
        room=partition.room,
        framed=divider.framed,
        outline=outlines[0],
        openings=tuple(
            (opening.left, opening.bottom, opening.right, opening.top) for opening in seen.openings
        ),
        stud=partition.stud,
        spacing=partition.spacing,
        tees=len(tees),
        tee_walls=tees,
        units=house.units,
        faces=(f"{partition.room}/{partition.id}", f"{divider.behind}/{partition.id}"),
    )


def _is_tee(part: WallPart, partition: PlacedPartition, at: Nm, parent: Room, house: House) -> bool:
    """Whether the wall lacks a stud for the board on either side of the partition, whose middle
    meets it at `at`; so where studs are not known.

    A partition framed before board parts the board of its wall in two, and each of the two ends
    needs a stud that stands out beside the partition. A stud behind its middle holds neither. Of a
    partition framed after board the middle is what has to be held, for the wall's board runs
    through.
    """
    if part.partition is not None:
        framing = partition_framing(part.partition, part.whole, faces_parent=part.faces_parent)
    else:
        framing = decide(parent, SurfaceKind.WALL, (part.id,), house.rules).framing
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
    side = lumber(partition.partition.stud).width // 2
    bearing = figures.length("FR-tee-bearing")
    return not all(
        any(
            way * (center - at) - half <= side and way * (center - at) + half >= side + bearing
            for center in centers
        )
        for way in (-1, 1)
    )
