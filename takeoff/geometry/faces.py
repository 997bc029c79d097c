"""The surfaces of one plan: the true shape of each wall and ceiling plane, and what each of its
sides meets."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from takeoff.choices import Runs, SurfaceKind
from takeoff.geometry.ceilings import CeilingPlane, PlanePart, plane_parts, wall_shape
from takeoff.geometry.pieces import FloorPlan, WallPart
from takeoff.geometry.polygon import Exact, ExactPoint, root
from takeoff.geometry.surface import Edge, EdgeKind, Point, Surface
from takeoff.geometry.treatment import Treatment, decide, default_runs, moved_framing
from takeoff.house import Framing, PlainSurface, Room
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = ["Drawn", "cosine_between", "draw", "draw_plain", "to_surface"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """A surface before its size to board is worked out, and what that needs.

    `of` is the wall's or plane's name without its room; `origin` is where the surface's (0, 0) lies
    on the whole wall or plane, before partitions cut it. `cosines` are of the angle through the
    room at each side (0 for square ones).
    """

    surface: Surface
    of: str
    origin: Point
    cosines: tuple[Fraction, ...]
    treatment: Treatment


def draw(
    floor_plan: FloorPlan, whole: FloorPlan, room: Room, rules: Rules, *, parent: Room | None = None
) -> tuple[Drawn, ...]:
    """Return the surfaces of `floor_plan`, without openings and board area: walls in the order of
    the outline, then ceiling planes.

    `whole` is the plan before partitions cut it. `parent` is the room that the plan was cut from,
    where it is of a room behind a partition.
    """
    planes = plane_parts(floor_plan.corners, floor_plan.planes)
    names = _plane_names(planes, floor_plan.planes)
    walls = [
        _draw_wall(floor_plan, index, planes, names, room, rules, parent=parent)
        for index in range(len(floor_plan.walls))
    ]
    wholes = plane_parts(whole.corners, whole.planes)
    ceilings = [
        _draw_ceiling(floor_plan, part, name, planes, names, wholes, room, rules, parent=parent)
        for part, name in zip(planes, names, strict=True)
    ]
    return (*walls, *ceilings)


def _plane_names(parts: Sequence[PlanePart], planes: Sequence[CeilingPlane]) -> list[str]:
    """What each part's surface is called: the plane's own name, numbered from 2 where a bent plan
    has several."""
    names: list[str] = []
    for part in parts:
        base = planes[part.plane].part
        earlier = sum(1 for other in parts[: len(names)] if other.plane == part.plane)
        names.append(f"{base}-{earlier + 1}" if earlier else base)
    return names


def _draw_wall(
    floor_plan: FloorPlan,
    index: int,
    planes: Sequence[PlanePart],
    plane_names: Sequence[str],
    room: Room,
    rules: Rules,
    *,
    parent: Room | None,
) -> Drawn:
    part = floor_plan.walls[index]
    count = len(floor_plan.walls)
    shape = wall_shape(*floor_plan.side(index), floor_plan.planes)
    right_wall, left_wall = (index + 1) % count, (index - 1) % count
    along = floor_plan.along(index)
    edges = [Edge(EdgeKind.FLOOR), _corner(floor_plan, index, right_wall, right_wall, room)]
    cosines = [Fraction(0), cosine_between(along, floor_plan.along(right_wall))]
    for plane in shape.tops:
        over = [
            n
            for p, n in zip(planes, plane_names, strict=True)
            if p.plane == plane and index in p.walls
        ]
        edges.append(Edge(EdgeKind.CEILING, f"{room.id}/{over[0]}" if over else None))
        cosines.append(floor_plan.planes[plane].cosine_to_wall(along))
    edges.append(_corner(floor_plan, left_wall, index, left_wall, room))
    cosines.append(cosine_between(floor_plan.along(left_wall), along))
    of = (part.surface, part.id)
    treatment = decide(
        room,
        SurfaceKind.WALL,
        of,
        rules,
        parent=parent,
        parent_of=() if part.studs or parent is None else of,
    )
    return Drawn(
        surface=to_surface(
            treatment,
            id_=f"{room.id}/{part.surface}",
            room=room,
            name=f"{room.name}, {part.full_name}",
            kind=SurfaceKind.WALL,
            outline=shape.outline,
            edges=edges,
            framing=_wall_framing(part, floor_plan.length(index), treatment, parent),
        ),
        of=part.id,
        origin=(part.shift, Nm(0)),
        cosines=tuple(cosines),
        treatment=treatment,
    )


def _wall_framing(
    part: WallPart, length: Nm, treatment: Treatment, parent: Room | None
) -> tuple[Framing, bool]:
    if part.studs is not None:
        framing = moved_framing(part.studs, part.shift, length, part.whole)
    elif parent is None or treatment.framing_inherited:
        framing = moved_framing(treatment.framing, part.shift, length, part.whole)
    else:
        framing = treatment.framing
    runs, known = default_runs(SurfaceKind.WALL, level=True, wide=length, deep=Nm(0))
    return (framing, True) if framing.runs else (replace(framing, runs=runs), known)


def _corner(floor_plan: FloorPlan, before: int, after: int, neighbour: int, room: Room) -> Edge:
    (ax, ay), (bx, by) = floor_plan.along(before), floor_plan.along(after)
    turn = ax * by - ay * bx
    kind = (
        EdgeKind.INSIDE_CORNER
        if turn > 0
        else EdgeKind.OUTSIDE_CORNER
        if turn < 0
        else EdgeKind.FREE
    )
    return Edge(kind, f"{room.id}/{floor_plan.walls[neighbour].surface}")


def cosine_between(one: tuple[int, int], other: tuple[int, int]) -> Fraction:
    """Cosine of the angle, through the room, between two walls walked one after the other."""
    product = one[0] * other[0] + one[1] * other[1]
    if product == 0:
        return Fraction(0)
    return -product / root((one[0] ** 2 + one[1] ** 2) * (other[0] ** 2 + other[1] ** 2))


def _draw_ceiling(
    floor_plan: FloorPlan,
    part: PlanePart,
    name: str,
    planes: Sequence[PlanePart],
    plane_names: Sequence[str],
    wholes: Sequence[PlanePart],
    room: Room,
    rules: Rules,
    *,
    parent: Room | None,
) -> Drawn:
    plane = floor_plan.planes[part.plane]
    points = [plane.to_surface(corner) for corner in part.corners]
    left_edge, bottom, right_edge, top = _extent(points)
    whole_points = [plane.to_surface(c) for p in wholes if p.plane == part.plane for c in p.corners]
    whole_left, whole_bottom, whole_right, whole_top = _extent(whole_points)
    edges, cosines = [], []
    for wall, ridge in zip(part.walls, part.ridges, strict=True):
        if wall is not None:
            edges.append(Edge(EdgeKind.WALL, f"{room.id}/{floor_plan.walls[wall].surface}"))
            cosines.append(plane.cosine_to_wall(floor_plan.along(wall)))
        elif ridge is not None:
            over = [n for p, n in zip(planes, plane_names, strict=True) if p.plane == ridge]
            edges.append(Edge(EdgeKind.RIDGE, f"{room.id}/{over[0]}" if over else None))
            cosines.append(plane.cosine_to_plane(floor_plan.planes[ridge]))
        else:
            edges.append(Edge(EdgeKind.FREE))
            cosines.append(Fraction(0))
    outline, kept = _from_lowest_left(
        [(Nm(round(u - left_edge)), Nm(round(v - bottom))) for u, v in points]
    )
    edges, cosines = [edges[k] for k in kept], [cosines[k] for k in kept]
    of = (name, plane.part, "ceiling")
    treatment = decide(room, SurfaceKind.CEILING, of, rules, parent=parent, parent_of=of)
    framing = treatment.framing
    runs, known = framing.runs, True
    if runs is None:
        wide, deep = Nm(round(whole_right - whole_left)), Nm(round(whole_top - whole_bottom))
        runs, known = default_runs(SurfaceKind.CEILING, level=plane.is_level, wide=wide, deep=deep)
        framing = replace(framing, runs=runs)
    origin = (Nm(round(left_edge - whole_left)), Nm(round(bottom - whole_bottom)))
    if parent is None or treatment.framing_inherited:
        shift, low, high, whole_low, whole_high = (
            (origin[0], left_edge, right_edge, whole_left, whole_right)
            if runs is Runs.ACROSS
            else (origin[1], bottom, top, whole_bottom, whole_top)
        )
        framing = moved_framing(
            framing, shift, Nm(round(high - low)), Nm(round(whole_high - whole_low))
        )
    return Drawn(
        surface=to_surface(
            treatment,
            id_=f"{room.id}/{name}",
            room=room,
            name=f"{room.name}, {plane.name}{name.removeprefix(plane.part).replace('-', ' ')}",
            kind=SurfaceKind.CEILING,
            outline=outline,
            edges=edges,
            framing=(framing, known),
            read_turned=plane.is_level and plane.part == "ceiling",
        ),
        of=plane.part,
        origin=origin,
        cosines=tuple(cosines),
        treatment=treatment,
    )


def _extent(points: Sequence[ExactPoint]) -> tuple[Exact, Exact, Exact, Exact]:
    us, vs = [u for u, _ in points], [v for _, v in points]
    return min(us), min(vs), max(us), max(vs)


def _from_lowest_left(points: Sequence[Point]) -> tuple[tuple[Point, ...], list[int]]:
    """The outline turned to start at its lowest left corner, without sides of no length, and the
    sides kept."""
    kept = [k for k in range(len(points)) if points[k] != points[(k + 1) % len(points)]]
    first = min(range(len(kept)), key=lambda k: (points[kept[k]][1], points[kept[k]][0]))
    kept = kept[first:] + kept[:first]
    return tuple(points[k] for k in kept), kept


def draw_plain(plain: PlainSurface, room: Room, rules: Rules) -> Drawn:
    """Draw one rectangle of a plain list. All its sides are free, but the bottom of a wall is its
    floor."""
    treatment = decide(room, plain.kind, (plain.id,), rules)
    is_wall = plain.kind is SurfaceKind.WALL
    framing = treatment.framing
    known = True
    if framing.runs is None:
        runs, known = default_runs(plain.kind, level=True, wide=plain.width, deep=plain.height)
        framing = replace(framing, runs=runs)
    zero = Nm(0)
    return Drawn(
        surface=to_surface(
            treatment,
            id_=f"{room.id}/{plain.id}",
            room=room,
            name=f"{room.name}, {plain.name}",
            kind=plain.kind,
            outline=(
                (zero, zero),
                (plain.width, zero),
                (plain.width, plain.height),
                (zero, plain.height),
            ),
            edges=(
                Edge(EdgeKind.FLOOR if is_wall else EdgeKind.FREE),
                Edge(EdgeKind.FREE),
                Edge(EdgeKind.FREE),
                Edge(EdgeKind.FREE),
            ),
            framing=(framing, known),
        ),
        of=plain.id,
        origin=(zero, zero),
        cosines=(Fraction(0),) * 4,
        treatment=treatment,
    )


def to_surface(
    treatment: Treatment,
    *,
    id_: str,
    room: Room,
    name: str,
    kind: SurfaceKind,
    outline: tuple[Point, ...],
    edges: Iterable[Edge],
    framing: tuple[Framing, bool],
    read_turned: bool = False,
) -> Surface:
    """Return the surface with its treatment. Openings and board area are not in it yet."""
    return Surface(
        id=id_,
        room=room.id,
        name=name,
        kind=kind,
        outline=outline,
        edges=tuple(edges),
        board_area=(),
        action=treatment.action,
        lining=treatment.lining,
        board=treatment.board,
        orientation=treatment.orientation,
        joint_mode=treatment.joint_mode,
        framing=framing[0],
        runs_known=framing[1],
        rated=treatment.rated,
        wet=treatment.wet,
        braces=treatment.braces,
        insulated=treatment.insulated,
        maybe_insulated=treatment.maybe_insulated,
        under_living=treatment.under_living,
        layers=treatment.layers,
        insulation=treatment.insulation,
        old_lining=treatment.old_lining,
        patches=treatment.patches,
        tiled=treatment.tiled,
        water_texture=treatment.water_texture,
        paint=treatment.paint,
        most_load=treatment.most_load,
        finish_level=treatment.finish_level,
        longest_board=treatment.longest_board,
        heaviest_lift=treatment.heaviest_lift,
        read_turned=read_turned,
    )
