"""Where the legs of a planned partition stand in a plan: both faces of every leg, and how far the
frame of each reaches.

A partition leaves its wall square and turns square. Where it turns, the frame of the leg before the
corner runs through to the outside of the corner, and the frame of the next leg begins against it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from takeoff.choices import Runs, Side, Substrate, Turn
from takeoff.errors import BadValue
from takeoff.geometry.pieces import FloorPlan
from takeoff.geometry.polygon import Exact, ExactPoint, first_crossing, length_of
from takeoff.geometry.surface import Point
from takeoff.house import Framing, Partition
from takeoff.reference.lumber import is_steel, stud_size
from takeoff.units import Nm, UnitSystem, tape_reading

__all__ = ["Leg", "LegLine", "Path", "leg_framing", "path_of"]

_Vector = tuple[Exact, Exact]


@dataclass(frozen=True, slots=True, kw_only=True)
class LegLine:
    """One face of a leg, from its left end to its right end as a person in front of it sees it."""

    left: Point
    right: Point

    @property
    def along(self) -> tuple[int, int]:
        return self.right[0] - self.left[0], self.right[1] - self.left[1]

    @property
    def length(self) -> Nm:
        return Nm(round(length_of(self.left, self.right)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """A leg in the plan, from framing to framing. `parent_face` is seen from the parent room,
    `behind_face` from the room behind.

    `left_over` and `right_over` say how far the frame runs on past the left and right end of the
    parent face; less than zero where it begins short of it, against the leg before.
    """

    id: str
    name: str
    parent_face: LegLine
    behind_face: LegLine
    left_over: Nm
    right_over: Nm
    ends_in_corner: bool

    @property
    def mirror(self) -> Nm:
        """What a place on the parent face and the same place on the face behind add up to, each
        counted from its own left end."""
        return _along(self.parent_face, self.behind_face.left)


@dataclass(frozen=True, slots=True, kw_only=True)
class Path:
    """The legs of a partition from the wall it starts at. `left` and `right` are its two sides
    corner by corner, left and right of a person who faces that wall. `near` is where the left one
    starts along the piece of the wall, and `hit` the wall that both sides run into."""

    left: tuple[Point, ...]
    right: tuple[Point, ...]
    near: Nm
    hit: int
    legs: tuple[Leg, ...]


def path_of(
    floor_plan: FloorPlan, index: int, near: Nm, partition: Partition, units: UnitSystem
) -> Path:
    """Return the way of `partition` through the plan, from `near` along the wall of that index.

    Raises `BadValue` where a leg is no longer than the partition is thick, runs into a wall or into
    another leg before its corner, or where the last leg does not run into one other wall.
    """
    thickness = stud_size(partition.stud).width
    (dx, dy), (x, y) = floor_plan.along(index), floor_plan.corners[index]
    long = Fraction(length_of((0, 0), (dx, dy)))
    along_wall: _Vector = (dx / long, dy / long)
    way: _Vector = (-along_wall[1], along_wall[0])
    keeps_left = partition.side is Side.RIGHT
    # The direction from the parent's side of the partition to the side of the room it makes.
    inward = along_wall if keeps_left else _times(along_wall, -1)
    first = near if keeps_left else Nm(near + thickness)
    parent: list[ExactPoint] = [_moved((x, y), along_wall, first)]
    behind: list[ExactPoint] = [_moved(parent[0], inward, thickness)]
    turns = [leg.turn for leg in partition.legs]
    for run, (_, name, length) in enumerate(partition.runs[:-1]):
        assert length is not None  # only the last leg has none
        before = turns[run - 1] if run else None
        of_parent, of_behind = _side_lengths(length, before, turns[run], thickness)
        if min(of_parent, of_behind) <= 0:
            least = tape_reading(Nm(length - min(of_parent, of_behind)), units)
            raise BadValue(
                f"{name}: {tape_reading(length, units)} leaves nothing of its shorter side; "
                f"enter more than {least}, on its longer side"
            )
        for side, reach in ((parent, of_parent), (behind, of_behind)):
            met = _first_wall(floor_plan, side[-1], way, None if run else index)
            if met.distance <= reach:
                most = Nm(length - round(reach - met.distance))
                raise BadValue(
                    f"{name}: it runs into {_names(floor_plan, met.walls)} before its corner; "
                    f"enter less than {tape_reading(most, units)}, on its longer side"
                )
            side.append(_moved(side[-1], way, reach))
        way, inward = (
            (inward, _times(way, -1)) if turns[run] is Turn.TOWARD else (_times(inward, -1), way)
        )
    ends = [
        _first_wall(floor_plan, side[-1], way, index if not turns else None)
        for side in (parent, behind)
    ]
    hit = _shared_wall(floor_plan, partition, ends if keeps_left else ends[::-1])
    parent.append(ends[0].point)
    behind.append(ends[1].point)
    if turns:
        _refuse_crossing(partition, parent, behind)
    sides = [tuple(_whole(point) for point in side) for side in (parent, behind)]
    return Path(
        left=sides[0] if keeps_left else sides[1],
        right=sides[1] if keeps_left else sides[0],
        near=near,
        hit=hit,
        legs=_legs(partition, sides[0], sides[1], thickness),
    )


def _side_lengths(length: Nm, before: Turn | None, after: Turn, thickness: Nm) -> tuple[Nm, Nm]:
    """How long the parent's side of a leg is and the side behind it, where the longer is `length`.
    Each corner toward the room behind makes its side a thickness shorter, each away the other."""
    shorter = sum(
        0 if turn is None else 1 if turn is Turn.TOWARD else -1 for turn in (before, after)
    )
    return (
        Nm(length + min(0, shorter) * thickness),
        Nm(length - max(0, shorter) * thickness),
    )


def _legs(
    partition: Partition, parent: Sequence[Point], behind: Sequence[Point], thickness: Nm
) -> tuple[Leg, ...]:
    from_left = partition.side is Side.RIGHT
    legs = []
    for run, (id_, name, _) in enumerate(partition.runs):
        starts_at = partition.legs[run - 1].turn if run else None
        ends_at = partition.legs[run].turn if run < len(partition.legs) else None
        # The frame runs through to the outside of the corner it ends in, and begins at the inside
        # of the corner it starts in.
        at_start = Nm(-thickness) if starts_at is Turn.TOWARD else Nm(0)
        at_end = thickness if ends_at is Turn.AWAY else Nm(0)
        mine, theirs = (parent[run], parent[run + 1]), (behind[run], behind[run + 1])
        legs.append(
            Leg(
                id=id_,
                name=name,
                parent_face=_line(mine, turned=not from_left),
                behind_face=_line(theirs, turned=from_left),
                left_over=at_start if from_left else at_end,
                right_over=at_end if from_left else at_start,
                ends_in_corner=ends_at is not None,
            )
        )
    return tuple(legs)


def _line(ends: tuple[Point, Point], *, turned: bool) -> LegLine:
    start, end = ends
    return LegLine(left=end, right=start) if turned else LegLine(left=start, right=end)


def leg_framing(leg: Leg, spacing: Nm, stud: str, *, faces_parent: bool) -> Framing:
    """Return the studs behind one face of a leg. They stand on the spacing from the left end of
    its frame, as seen from the parent room, with a stud at both ends of the frame.

    Where the face begins before its frame, at a corner, that end stud is told as a single one.
    """
    stud_width, steel = stud_size(stud).thickness, is_steel(stud)
    start = Nm(-leg.left_over)
    end = Nm(leg.parent_face.length + leg.right_over)
    half = Nm(stud_width // 2)
    if faces_parent:
        long = leg.parent_face.length
        first = Nm(start + spacing if start > -spacing else (start + spacing) % spacing)
        end_studs = (Nm(start + half), Nm(end - half))
    else:
        long = leg.behind_face.length
        # From behind, the layout comes from the right: its last stud before the left end is the
        # first.
        reach = Nm(leg.mirror - start)
        first = Nm(reach % spacing or spacing)
        end_studs = (Nm(leg.mirror - end + half), Nm(reach - half))
    return Framing(
        spacing=spacing,
        first=first,
        runs=Runs.ACROSS,
        extra=tuple(at for at in end_studs if stud_width < at < long - stud_width),
        member_width=stud_width,
        start_backed=True,
        end_backed=True,
        substrate=Substrate.STEEL if steel else Substrate.WOOD,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Met:
    """Where a way through the plan first meets walls: two where it meets their corner."""

    point: ExactPoint
    distance: Fraction
    walls: tuple[int, ...]


def _first_wall(floor_plan: FloorPlan, start: ExactPoint, way: _Vector, skip: int | None) -> _Met:
    """The first wall from `start` along `way`, a step of one, but the wall of index `skip`."""
    met: list[tuple[Fraction, int]] = []
    for wall in range(len(floor_plan.corners)):
        if wall == skip:
            continue
        (ax, ay), (ex, ey) = floor_plan.corners[wall], floor_plan.along(wall)
        across = way[0] * ey - way[1] * ex
        if across == 0:
            continue
        to_wall = (ax - start[0], ay - start[1])
        on_wall = Fraction(to_wall[0] * way[1] - to_wall[1] * way[0]) / across
        distance = Fraction(to_wall[0] * ey - to_wall[1] * ex) / across
        if 0 <= on_wall <= 1 and distance > 0:
            met.append((distance, wall))
    nearest = min(met)[0]
    return _Met(
        point=_moved(start, way, nearest),
        distance=nearest,
        walls=tuple(wall for distance, wall in met if distance == nearest),
    )


def _shared_wall(floor_plan: FloorPlan, partition: Partition, ends: Sequence[_Met]) -> int:
    """The wall that both sides of the last leg run into; `ends` are of the left side first."""
    shared = [wall for wall in ends[0].walls if wall in ends[1].walls]
    if not shared:
        raise BadValue(
            f"{partition.name}: it does not run into one wall but into "
            f"{_names(floor_plan, ends[0].walls)} on one face and "
            f"{_names(floor_plan, ends[1].walls)} on the other; move it so that both faces meet "
            "the same wall"
        )
    return shared[0]


def _names(floor_plan: FloorPlan, walls: Iterable[int]) -> str:
    return " and ".join(floor_plan.walls[wall].name for wall in walls)


def _refuse_crossing(
    partition: Partition, parent: Sequence[ExactPoint], behind: Sequence[ExactPoint]
) -> None:
    """Refuse a partition of which one leg would stand in another."""
    if first_crossing([*parent, *reversed(behind)]) is not None:
        raise BadValue(
            f"{partition.name}: its legs run into each other; check the length of each leg and the "
            "way it turns"
        )


def _whole(point: ExactPoint) -> Point:
    return Nm(round(point[0])), Nm(round(point[1]))


def _moved(point: ExactPoint, way: _Vector, distance: Exact) -> ExactPoint:
    return point[0] + way[0] * distance, point[1] + way[1] * distance


def _times(way: _Vector, factor: int) -> _Vector:
    return way[0] * factor, way[1] * factor


def _along(line: LegLine, point: Point) -> Nm:
    """How far from the left end of a line a point beside it lies, along the line."""
    (x, y), (dx, dy) = line.left, line.along
    return Nm(
        round(
            Fraction((point[0] - x) * dx + (point[1] - y) * dy)
            / Fraction(length_of((0, 0), (dx, dy)))
        )
    )
