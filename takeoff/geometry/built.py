"""Soffits, chases, skylight wells and stairs: the faces they add to a room, and what they take off
the walls and the ceiling that they stand against.

A chase cuts the plan of the room, as a step in the walls would. A soffit cuts the ceiling by its
plan and the walls by its height. A skylight well is a hole in the ceiling with four faces of its
own. Stairs and the floor above them are where the board of a wall stops.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from takeoff.built_in import BuiltIn, built_faces
from takeoff.choices import (
    Action,
    BuiltKind,
    OpeningEdge,
    OpeningKind,
    Runs,
    Side,
    SurfaceKind,
)
from takeoff.errors import BadValue
from takeoff.geometry.faces import Drawn, cosine_between, draw, to_surface
from takeoff.geometry.pieces import FloorPlan, WallPart
from takeoff.geometry.polygon import first_crossing, holds_rectangle, length_of
from takeoff.geometry.surface import Edge, EdgeKind, PlacedOpening, Point
from takeoff.geometry.treatment import Treatment, decide
from takeoff.house import Framing, Room
from takeoff.rules import Rules
from takeoff.units import Nm, UnitSystem, tape_reading

__all__ = ["with_built", "with_chases"]

# A corner whose cosine is less than this is square, as a tape measures it.
_SQUARE = Fraction(1, 50)


def with_chases(room: Room, plan: FloorPlan, units: UnitSystem) -> FloorPlan:
    """Return the plan of a room with its chases cut out, each with faces of its own.

    Raises `BadValue` where a chase has no place on its wall.
    """
    for built in room.built:
        if built.kind is BuiltKind.CHASE:
            plan = _notched(_place(room, plan, built, units), built, units)
    return plan


def with_built(
    room: Room,
    plans: Mapping[str, FloorPlan],
    drawn: Mapping[str, Sequence[Drawn]],
    whole: FloorPlan,
    rooms: Mapping[str, Room],
    rules: Rules,
    units: UnitSystem,
) -> dict[str, tuple[Drawn, ...]]:
    """Return the surfaces of each piece of a room with what is built into it: the faces of soffits
    and skylight wells, and what those and stairs take off walls and ceilings.

    `plans` are the pieces that partitions framed before board leave, by their rooms, and `rooms`
    the rooms of all pieces. Raises `BadValue` where something has no place.
    """
    made = {id_: list(surfaces) for id_, surfaces in drawn.items()}
    overhead = dict(plans)
    # A well is measured over the whole ceiling, before soffits cut it.
    for built in sorted(room.built, key=lambda built: built.kind is not BuiltKind.WELL):
        if built.kind is BuiltKind.CHASE:
            continue
        home = _home(room, plans, built, units)
        own = rooms[home]
        place = _place(room, plans[home], built, units)
        surfaces = _Surfaces(made[home], own)
        if built.kind is BuiltKind.SOFFIT:
            over = _notched(_place(room, overhead[home], built, units), built, units)
            _soffit(surfaces, place, built, over, whole, rules, units)
            overhead[home] = over
        elif built.kind is BuiltKind.WELL:
            _well(surfaces, place, built, rules, units)
        else:
            _stairs(surfaces, place, built, units)
        made[home] = surfaces.drawn
    names = built_faces(room.built)
    return {
        id_: tuple(_new(one) if one.of in names else one for one in surfaces)
        for id_, surfaces in made.items()
    }


def _new(drawn: Drawn) -> Drawn:
    """A face that is built now: no old lining is on its framing, and nothing lies on its board
    unless somebody says so."""
    treatment = replace(drawn.treatment, maybe_insulated=False)
    if treatment.action is Action.BOARD:
        treatment = replace(treatment, lining=Nm(0), lining_assumed=False)
    surface = replace(
        drawn.surface,
        lining=treatment.lining,
        maybe_insulated=treatment.maybe_insulated,
    )
    return replace(drawn, surface=surface, treatment=treatment)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """Where a thing stands on a wall of a plan: from `low` to `high` along the side `index`."""

    plan: FloorPlan
    index: int
    low: Nm
    high: Nm

    @property
    def wall(self) -> WallPart:
        return self.plan.walls[self.index]

    @property
    def before(self) -> int:
        return (self.index - 1) % len(self.plan.walls)

    @property
    def after(self) -> int:
        return (self.index + 1) % len(self.plan.walls)

    @property
    def length(self) -> Nm:
        return self.plan.length(self.index)


def _home(room: Room, plans: Mapping[str, FloorPlan], built: BuiltIn, units: UnitSystem) -> str:
    """The room whose part of the wall has the thing on it."""
    for id_, plan in plans.items():
        if any(True for _ in _places(plan, built)):
            return id_
    _place(room, plans[room.id], built, units)
    raise AssertionError("a thing without a place is refused")


def _places(plan: FloorPlan, built: BuiltIn) -> Iterator[_Place]:
    for index, part in enumerate(plan.walls):
        if part.id != built.wall or part.studs is not None:
            continue
        length = plan.length(index)
        low = Nm(part.tape_from + built.left - part.shift) if built.left else Nm(-part.shift)
        high = Nm(part.tape_from + built.left + built.width - part.shift)
        if built.left + built.width == part.tape_to - part.tape_from:
            high = Nm(part.whole - part.shift)
        if low >= 0 and high <= length:
            yield _Place(plan=plan, index=index, low=low, high=high)


def _place(room: Room, plan: FloorPlan, built: BuiltIn, units: UnitSystem) -> _Place:
    for place in _places(plan, built):
        return place
    walls = {part.id: part for part in plan.walls if part.studs is None}
    if built.wall not in walls:
        raise BadValue(
            f"{room.name}, {built.name}: {built.wall!r} is no wall of the room; it has "
            f"{', '.join(walls)}"
        )
    ends = tape_reading(Nm(built.left + built.width), units)
    raise BadValue(
        f"{room.name}, {built.name}: it would stand from {tape_reading(built.left, units)} to "
        f"{ends} along {walls[built.wall].name}, and there is no such stretch free of that wall; "
        "enter another left or width, or end it at the partition, chase or soffit that stands "
        "there"
    )


def _notched(place: _Place, built: BuiltIn, units: UnitSystem) -> FloorPlan:
    """The plan without the rectangle that a chase or soffit takes, with its sides as walls."""
    plan, index = place.plan, place.index
    depth = built.depth
    assert depth is not None
    start = plan.corners[index]
    along, length = plan.along(index), place.length
    studs = Framing(spacing=built.spacing, first=built.spacing, start_backed=True, end_backed=True)

    def at(far: int, out: int) -> Point:
        x = Fraction(along[0] * far - along[1] * out, length)
        y = Fraction(along[1] * far + along[0] * out, length)
        return Nm(start[0] + round(x)), Nm(start[1] + round(y))

    def face(side: str, wide: Nm) -> WallPart:
        what = "front" if side == "front" else f"{side} side"
        return WallPart(
            id=f"{built.id}-{side}",
            name=f"{built.name}, {what}",
            shift=Nm(0),
            whole=wide,
            tape_from=Nm(0),
            tape_to=wide,
            studs=studs,
        )

    at_start, at_end = place.low == 0, place.high == length
    for touches, neighbour in ((at_start, place.before), (at_end, place.after)):
        if touches:
            _check_corner(plan, index, neighbour, built, depth, units)
    sides: list[tuple[Point, WallPart]] = []
    for k, (corner, part) in enumerate(zip(plan.corners, plan.walls, strict=True)):
        if k == place.after and at_end:
            sides.append(
                (_on_way(*plan.side(k), depth), replace(part, shift=Nm(part.shift + depth)))
            )
        elif k != index:
            sides.append((corner, part))
        else:
            if not at_start:
                sides += [(start, part), (at(place.low, 0), face("left", depth))]
            first = (
                _on_way(start, plan.corners[place.before], depth)
                if at_start
                else at(place.low, depth)
            )
            sides.append((first, face("front", Nm(place.high - place.low))))
            if not at_end:
                sides += [
                    (at(place.high, depth), face("right", depth)),
                    (at(place.high, 0), replace(part, shift=Nm(part.shift + place.high))),
                ]
    corners = tuple(corner for corner, _ in sides)
    if first_crossing(corners) is not None:
        raise BadValue(
            f"{built.name}: {tape_reading(depth, units)} out from {place.wall.name} it would reach "
            "into another wall; make its depth less"
        )
    return replace(plan, corners=corners, walls=tuple(part for _, part in sides))


def _check_corner(
    plan: FloorPlan, index: int, neighbour: int, built: BuiltIn, depth: Nm, units: UnitSystem
) -> None:
    """Refuse a thing in a corner that is not square and inside, or that another one fills."""
    one, other = plan.along(index), plan.along(neighbour)
    # A wall's own turn is at its far end, and that at its start is the turn of the wall before it.
    first, second = (other, one) if neighbour == (index - 1) % len(plan.walls) else (one, other)
    turns = first[0] * second[1] - first[1] * second[0]
    beside = plan.walls[neighbour]
    if turns <= 0 or abs(cosine_between(one, other)) > _SQUARE:
        raise BadValue(
            f"{built.name}: its end stands in a corner with {beside.name} that is not a square "
            "inside corner; end it before the corner, or walk its sides as walls of the room"
        )
    if beside.studs is not None or plan.length(neighbour) <= depth:
        raise BadValue(
            f"{built.name}: it stands {tape_reading(depth, units)} out where {beside.name} has no "
            "room for its end; end it before that corner, or list the faces of both as a room of "
            "plain surfaces"
        )


def _on_way(start: Point, end: Point, far: Nm) -> Point:
    """The point `far` from `start` on the way to `end`."""
    length = length_of(start, end)
    return (
        Nm(start[0] + round(Fraction((end[0] - start[0]) * far) / length)),
        Nm(start[1] + round(Fraction((end[1] - start[1]) * far) / length)),
    )


class _Surfaces:
    """The surfaces of one piece of a room while things are built into it."""

    def __init__(self, drawn: list[Drawn], room: Room) -> None:
        self.drawn = drawn
        self.room = room

    def named(self, name: str) -> Drawn:
        wanted = f"{self.room.id}/{name}"
        return next(one for one in self.drawn if one.surface.id == wanted)

    def put(self, changed: Drawn) -> None:
        """Put a surface in place of the one of its id, or after all others."""
        ids = [one.surface.id for one in self.drawn]
        if changed.surface.id in ids:
            self.drawn[ids.index(changed.surface.id)] = changed
        else:
            self.drawn.append(changed)

    def cut(self, name: str, path: Sequence[Point], labels: Sequence[Edge]) -> None:
        """Cut a surface along `path`, which begins and ends on its outline and has what stays on
        its left. `labels` are the new sides."""
        self.put(_cut(self.named(name), path, labels))


def _cut(drawn: Drawn, path: Sequence[Point], labels: Sequence[Edge]) -> Drawn:
    outline = list(drawn.surface.outline)
    count = len(outline)

    def side_of(point: Point, *, leaving: bool) -> int:
        """The side that holds a point; at a corner the one that is walked from it where the path
        has ended (`leaving`), and the one that is walked to it where it begins."""
        for k in range(count):
            a, b = outline[k], outline[(k + 1) % count]
            cross = (b[0] - a[0]) * (point[1] - a[1]) - (b[1] - a[1]) * (point[0] - a[0])
            dot = (point[0] - a[0]) * (b[0] - a[0]) + (point[1] - a[1]) * (b[1] - a[1])
            size = (b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2
            if cross == 0 and (0 <= dot < size if leaving else 0 < dot <= size):
                return k
        raise BadValue(
            f"{drawn.surface.name}: something built there does not fit on it; make it smaller, or "
            "move it away from what else is built there"
        )

    first, last = side_of(path[0], leaving=False), side_of(path[-1], leaving=True)
    sides: list[tuple[Point, Edge, Fraction]] = []
    edges, cosines = drawn.surface.edges, drawn.cosines
    sides.append((path[-1], edges[last], cosines[last]))
    start, end = outline[last], outline[(last + 1) % count]
    farther = sum((path[-1][n] - path[0][n]) * (end[n] - start[n]) for n in (0, 1)) > 0
    # Where the path ends on the side that it began on, all others stay, or none does.
    steps = (count if farther else 0) if first == last else (first - last) % count
    for step in range(1, steps + 1):
        k = (last + step) % count
        sides.append((outline[k], edges[k], cosines[k]))
    sides += [(point, label, Fraction(0)) for point, label in zip(path[:-1], labels, strict=True)]
    kept = [side for n, side in enumerate(sides) if side[0] != sides[(n + 1) % len(sides)][0]]
    lowest = min(range(len(kept)), key=lambda n: (kept[n][0][1], kept[n][0][0]))
    kept = kept[lowest:] + kept[:lowest]
    return replace(
        drawn,
        surface=replace(
            drawn.surface,
            outline=tuple(point for point, _, _ in kept),
            edges=tuple(edge for _, edge, _ in kept),
        ),
        cosines=tuple(cosine for _, _, cosine in kept),
    )


def _soffit(
    surfaces: _Surfaces,
    place: _Place,
    built: BuiltIn,
    over: FloorPlan,
    whole: FloorPlan,
    rules: Rules,
    units: UnitSystem,
) -> None:
    room, plan = surfaces.room, place.plan
    depth, drop = built.depth, built.height
    assert depth is not None
    assert drop is not None
    if len(plan.planes) != 1 or not plan.planes[0].is_level:
        raise BadValue(
            f"{room.name}, {built.name}: a soffit hangs from a flat ceiling; under a slope, list "
            "its faces as a room of plain surfaces"
        )
    high = Nm(round(plan.planes[0].base))
    if drop >= high:
        raise BadValue(
            f"{room.name}, {built.name}: it would hang down {tape_reading(drop, units)} under a "
            f"ceiling {tape_reading(high, units)} high; make its height less, or give it as a chase"
        )
    names = {side: f"{room.id}/{built.id}-{side}" for side in ("front", "under", "left", "right")}
    for one in draw(over, whole, room, rules):
        if one.surface.kind is SurfaceKind.CEILING:
            surfaces.put(_with_wells(surfaces, one, built))
        elif one.of in built.faces:
            wide = max(u for u, _ in one.surface.outline)
            surface = replace(
                one.surface,
                outline=((Nm(0), Nm(0)), (wide, Nm(0)), (wide, drop), (Nm(0), drop)),
                edges=(
                    Edge(EdgeKind.OUTSIDE_CORNER, names["under"]),
                    *one.surface.edges[1:],
                ),
            )
            surfaces.put(replace(one, surface=surface))
    low, top = Nm(high - drop), high
    at_start, at_end = place.low == 0, place.high == place.length
    under = Edge(EdgeKind.CEILING, names["under"])

    def inside(face: str) -> Edge:
        return Edge(EdgeKind.INSIDE_CORNER, names[face])

    def notch(index: int, start: Nm, end: Nm, left_face: str, right_face: str) -> None:
        """Cut the top of a wall between two places, whose sides meet those faces."""
        length = plan.length(index)
        path: list[Point] = [(end, low), (start, low)]
        labels = [under]
        if end < length:
            path, labels = [(end, top), *path], [inside(right_face), *labels]
        if start > 0:
            path, labels = [*path, (start, top)], [*labels, inside(left_face)]
        surfaces.cut(plan.walls[index].surface, path, labels)

    notch(place.index, place.low, place.high, "left", "right")
    if at_start:
        length = plan.length(place.before)
        notch(place.before, Nm(length - depth), length, "front", "")
    if at_end:
        notch(place.after, Nm(0), depth, "", "front")

    def end_of_under(touches: bool, neighbour: int, side: str) -> Edge:
        if touches:
            return Edge(EdgeKind.WALL, f"{room.id}/{plan.walls[neighbour].surface}")
        return Edge(EdgeKind.OUTSIDE_CORNER, names[side])

    wide = Nm(place.high - place.low)
    surfaces.put(
        _face(
            room,
            rules,
            built,
            "under",
            SurfaceKind.CEILING,
            ((Nm(0), Nm(0)), (wide, Nm(0)), (wide, depth), (Nm(0), depth)),
            (
                Edge(EdgeKind.WALL, f"{room.id}/{place.wall.surface}"),
                end_of_under(at_end, place.after, "right"),
                Edge(EdgeKind.OUTSIDE_CORNER, names["front"]),
                end_of_under(at_start, place.before, "left"),
            ),
        )
    )


def _with_wells(surfaces: _Surfaces, over: Drawn, built: BuiltIn) -> Drawn:
    """The ceiling that a soffit leaves, with the holes that skylight wells have cut already."""
    before = surfaces.named(over.surface.id.split("/", 1)[1])
    du, dv = (before.origin[n] - over.origin[n] for n in (0, 1))
    holes = tuple(
        replace(
            hole,
            left=Nm(hole.left + du),
            right=Nm(hole.right + du),
            bottom=Nm(hole.bottom + dv),
            top=Nm(hole.top + dv),
        )
        for hole in before.surface.openings
    )
    for hole in holes:
        if not holds_rectangle(over.surface.outline, hole.left, hole.bottom, hole.right, hole.top):
            raise BadValue(
                f"{surfaces.room.name}: {built.name} would hang under {hole.name}; check where "
                "each begins, and how far it stands out"
            )
    return replace(over, surface=replace(over.surface, openings=holes))


def _well(
    surfaces: _Surfaces, place: _Place, built: BuiltIn, rules: Rules, units: UnitSystem
) -> None:
    room = surfaces.room
    long, away, near = built.depth, built.away, built.height
    assert long is not None
    assert away is not None
    assert near is not None
    far = built.far_height or near
    wall = f"{room.id}/{place.wall.surface}"
    ceiling, hole = _hole(surfaces, wall, place, built, away, long)
    for other in ceiling.surface.openings:
        if (
            other.left < hole.right
            and hole.left < other.right
            and (other.bottom < hole.top and hole.bottom < other.top)
        ):
            raise BadValue(
                f"{room.name}: {built.name} and {other.name} overlap in the ceiling; check where "
                "each begins and how wide it is"
            )
    surfaces.put(
        replace(
            ceiling,
            surface=replace(ceiling.surface, openings=(*ceiling.surface.openings, hole)),
        )
    )
    # One faces each side from inside the shaft, and goes round it to the right.
    wide = built.width
    around = (
        ("near", wide, near, near),
        ("right", long, near, far),
        ("far", wide, far, far),
        ("left", long, far, near),
    )
    for k, (side, width, left_high, right_high) in enumerate(around):
        beside = [f"{room.id}/{built.id}-{around[(k + step) % 4][0]}" for step in (1, -1)]
        surfaces.put(
            _face(
                room,
                rules,
                built,
                side,
                SurfaceKind.WALL,
                ((Nm(0), Nm(0)), (width, Nm(0)), (width, right_high), (Nm(0), left_high)),
                (
                    Edge(EdgeKind.OUTSIDE_CORNER, ceiling.surface.id),
                    Edge(EdgeKind.INSIDE_CORNER, beside[0]),
                    Edge(EdgeKind.FRAME),
                    Edge(EdgeKind.INSIDE_CORNER, beside[1]),
                ),
            )
        )


def _hole(
    surfaces: _Surfaces, wall: str, place: _Place, built: BuiltIn, away: Nm, long: Nm
) -> tuple[Drawn, PlacedOpening]:
    """The ceiling plane that a skylight well goes through, and its hole there."""
    room = surfaces.room
    for one in surfaces.drawn:
        if one.surface.kind is not SurfaceKind.CEILING or one.of in built_faces(room.built):
            continue
        outline = one.surface.outline
        for k, edge in enumerate(one.surface.edges):
            if edge.neighbour != wall:
                continue
            (pu, pv), (qu, qv) = outline[k], outline[(k + 1) % len(outline)]
            length = length_of((pu, pv), (qu, qv))
            across, up = Fraction(qu - pu) / length, Fraction(qv - pv) / length
            if min(abs(across), abs(up)) > _SQUARE:
                continue
            corners = [
                (pu + across * far - up * out, pv + up * far + across * out)
                for far in (place.low, place.high)
                for out in (away, away + long)
            ]
            hole = PlacedOpening(
                built.id,
                built.name,
                OpeningKind.WINDOW,
                Nm(round(min(u for u, _ in corners))),
                Nm(round(min(v for _, v in corners))),
                Nm(round(max(u for u, _ in corners))),
                Nm(round(max(v for _, v in corners))),
                OpeningEdge.CASED,
            )
            if holds_rectangle(outline, hole.left, hole.bottom, hole.right, hole.top):
                return one, hole
    raise BadValue(
        f"{room.name}, {built.name}: its hole does not lie wholly in the ceiling that begins at "
        f"{place.wall.name}; measure it from the low wall of its slope, and check away, depth and "
        "width"
    )


def _stairs(surfaces: _Surfaces, place: _Place, built: BuiltIn, units: UnitSystem) -> None:
    rise = built.height
    assert rise is not None
    name = place.wall.surface
    outline = surfaces.named(name).surface.outline
    top = min(v for u, v in outline if v > 0)
    if rise >= top:
        raise BadValue(
            f"{surfaces.room.name}, {built.name}: it climbs {tape_reading(rise, units)} along a "
            f"wall {tape_reading(top, units)} high; measure the ceiling of a stairwell from the "
            "floor below"
        )
    end = place.length
    path: list[Point]
    if built.climbs is Side.RIGHT:
        path = [(place.low, Nm(0)), (place.high, rise), (end, rise)]
        if place.high == 0:
            path = path[1:]
    else:
        path = [(Nm(0), rise), (place.low, rise), (place.high, Nm(0))]
        if place.low == end:
            path = [(Nm(0), rise), (end, rise)]
    path = [point for k, point in enumerate(path) if k == 0 or point != path[k - 1]]
    labels = [
        Edge(EdgeKind.FREE if here[0] == there[0] else EdgeKind.FLOOR)
        for here, there in pairwise(path)
    ]
    surfaces.cut(name, path, labels)


def _face(
    room: Room,
    rules: Rules,
    built: BuiltIn,
    side: str,
    kind: SurfaceKind,
    outline: tuple[Point, ...],
    edges: tuple[Edge, ...],
) -> Drawn:
    """One face of its own frame. Its studs, or the pieces across it, stand as the frame says unless
    somebody chose otherwise."""
    name = f"{built.id}-{side}"
    treatment: Treatment = decide(room, kind, (name,), rules)
    own = next((choice.framing for choice in room.surfaces if choice.of == name), None)
    framing = own or Framing(
        spacing=built.spacing, first=built.spacing, start_backed=True, end_backed=True
    )
    framing = replace(framing, runs=framing.runs or Runs.ACROSS)
    what = {"under": "underside", "front": "front"}.get(side, f"{side} side")
    return Drawn(
        surface=to_surface(
            replace(treatment, framing=framing),
            id_=f"{room.id}/{name}",
            room=room,
            name=f"{room.name}, {built.name}, {what}",
            kind=kind,
            outline=outline,
            edges=edges,
            framing=(framing, True),
        ),
        of=name,
        origin=(Nm(0), Nm(0)),
        cosines=(Fraction(0),) * len(edges),
        treatment=replace(treatment, framing=framing),
    )
