"""Where openings, boxes and what is behind the board stand on a surface, from the readings of a
tape.

Things are placed on whole walls and ceiling planes, as they were measured; `move_into` takes them
over to what partitions leave of a surface.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import TypeVar

from takeoff.built_in import built_faces
from takeoff.choices import Found, MeasureTo, OpeningGiven, OpeningKind, SurfaceKind
from takeoff.errors import BadValue
from takeoff.geometry.ceilings import CeilingPlane, plane_parts, wall_shape
from takeoff.geometry.overlaps import meet
from takeoff.geometry.pieces import MeasuredRoom
from takeoff.geometry.polygon import Exact, bounds, holds_rectangle, length_of, root
from takeoff.geometry.problems import Problems
from takeoff.geometry.surface import (
    Placed,
    PlacedCutout,
    PlacedHidden,
    PlacedOpening,
    Point,
    Surface,
)
from takeoff.house import Cutout, HiddenItem, House, Measure, Opening, PlainSurface, Room
from takeoff.rules import Rules
from takeoff.units import Nm, UnitSystem, tape_reading

__all__ = [
    "check_undivided",
    "move_into",
    "place_built",
    "place_on_face",
    "place_plain",
    "place_room",
]

Thing = PlacedOpening | PlacedCutout | PlacedHidden
Item = Cutout | HiddenItem
# How many times as far along as square to it a wall runs that counts as straight: a tape of walls
# closes to the sixteenth, not exactly.
_SQUARE = 100
_Some = TypeVar("_Some", PlacedOpening, PlacedCutout, PlacedHidden)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Face:
    """A surface to place things on: its name, its parts, and what a reading from each origin means.

    `tape_from` and `tape_to` are the u that readings from the left and right start at; `ceiling` is
    the height that readings from the ceiling start at, over a u.
    """

    name: str
    parts: tuple[tuple[Point, ...], ...]
    is_upright: bool = True
    tape_from: Nm
    tape_to: Nm
    ceiling: Callable[[Fraction], Exact]

    @property
    def empty(self) -> Placed:
        """The face with nothing on it yet."""
        return Placed(
            name=self.name,
            parts=self.parts,
            is_upright=self.is_upright,
            tape_from=self.tape_from,
            tape_to=self.tape_to,
        )


def place_room(measured: MeasuredRoom, house: House) -> dict[str, Placed]:
    """Return what stands on each whole wall and ceiling plane of a room, by the name of the surface
    without the room.

    Readings start at the faces the room was measured to. Raises `BadValue`, which names the thing,
    where a thing names no surface of the room, is not wholly on it, or cannot be placed by its
    readings, and where openings overlap. Other overlaps are let through: see
    `takeoff.geometry.overlaps`.
    """
    room = measured.room
    walls = {
        part.id: _wall_face(measured, index) for index, part in enumerate(measured.whole.walls)
    }
    planes = [plane.part for plane in measured.whole.planes]
    own_partitions = {
        run
        for partition in house.partitions
        if partition.room == room.id
        for run in partition.run_ids
    }
    built = built_faces(room.built)
    known = [*walls, *planes, *([] if "ceiling" in planes else ["ceiling"])]
    placed: dict[str, Placed] = {}
    problems = Problems()
    for opening in room.openings:
        with problems.of_each():
            face = walls.get(opening.wall)
            if face is None:
                raise BadValue(
                    f"{room.name}, {opening.name}: {opening.wall!r} is no wall of the room; it has "
                    f"{', '.join(walls)}"
                )
            _add(
                placed,
                opening.wall,
                _opening(opening, face, house.rules, house.units),
                face,
                house.units,
            )
    for item in _items(room):
        if item.surface in own_partitions or item.surface in built:
            continue  # placed on the face of the partition or built-in, once that stands
        with problems.of_each():
            if item.surface in walls:
                wall = walls[item.surface]
                _add(placed, item.surface, _on_wall(item, wall, house.units), wall, house.units)
            elif item.surface in known:
                part, thing, plane = _on_ceiling(item, measured, house.units)
                _add(placed, part, thing, plane, house.units)
            else:
                raise BadValue(
                    f"{room.name}, {item.name}: {item.surface!r} is no surface of the room; "
                    f"there are {', '.join(known)}"
                )
    problems.refuse()
    return placed


def place_built(room: Room, faces: Mapping[str, Surface], house: House) -> dict[str, Placed]:
    """Return what stands on the `faces` of what is built into a room, by their names. Readings
    start at the ends of a face, at its lower edge and at its upper one; on the underside of a
    soffit the lower edge is that at the wall. Raises `BadValue` as `place_room` does."""
    placed = {}
    for name, face in faces.items():
        items = [item for item in _items(room) if item.surface == name]
        if items:
            placed[name] = place_on_face(face.name, face.outline, (), items, house)
    return placed


def _wall_face(measured: MeasuredRoom, index: int) -> _Face:
    part = measured.whole.walls[index]
    start = measured.measured[index]
    dx, dy = measured.whole.along(index)
    length = length_of((0, 0), (dx, dy))

    def ceiling(u: Fraction) -> Exact:
        beyond = (u - part.tape_from) / length
        point = (start[0] + beyond * dx, start[1] + beyond * dy)
        return min(plane.height(point) for plane in measured.measured_planes)

    shape = wall_shape(*measured.whole.side(index), measured.whole.planes)
    name = f"{measured.room.name}, {part.name}"
    return _Face(
        name=name,
        parts=(shape.outline,),
        tape_from=part.tape_from,
        tape_to=part.tape_to,
        ceiling=ceiling,
    )


def place_plain(room: Room, surfaces: Iterable[PlainSurface], house: House) -> dict[str, Placed]:
    """Return what stands on each rectangle of a plain list. On its ceilings, readings start as on a
    wall.

    Raises `BadValue` as `place_room` does.
    """
    faces = {}
    for plain in surfaces:
        outline = (
            (Nm(0), Nm(0)),
            (plain.width, Nm(0)),
            (plain.width, plain.height),
            (Nm(0), plain.height),
        )
        faces[plain.id] = (plain, _rectangle_face(f"{room.name}, {plain.name}", outline))
    placed: dict[str, Placed] = {}
    problems = Problems()
    for opening in room.openings:
        with problems.of_each():
            if opening.wall not in faces or faces[opening.wall][0].kind is not SurfaceKind.WALL:
                raise BadValue(
                    f"{room.name}, {opening.name}: {opening.wall!r} is no wall of the room"
                )
            face = faces[opening.wall][1]
            _add(
                placed,
                opening.wall,
                _opening(opening, face, house.rules, house.units),
                face,
                house.units,
            )
    for item in _items(room):
        with problems.of_each():
            if item.surface not in faces:
                raise BadValue(
                    f"{room.name}, {item.name}: {item.surface!r} is no surface of the room; "
                    f"there are {', '.join(faces)}"
                )
            face = faces[item.surface][1]
            _add(placed, item.surface, _on_wall(item, face, house.units), face, house.units)
    problems.refuse()
    return placed


def _rectangle_face(name: str, outline: tuple[Point, ...]) -> _Face:
    _, _, right, top = bounds(outline)
    return _Face(name=name, parts=(outline,), tape_from=Nm(0), tape_to=right, ceiling=lambda _: top)


def place_on_face(
    name: str,
    outline: tuple[Point, ...],
    openings: Iterable[Opening],
    items: Iterable[Item],
    house: House,
) -> Placed:
    """Return what stands on the face of a partition. Readings start at the ends, the floor and the
    top of the face itself. Raises `BadValue` as `place_room` does."""
    face = _sloped_face(name, outline)
    placed: dict[str, Placed] = {}
    problems = Problems()
    for opening in openings:
        with problems.of_each():
            _add(placed, "", _opening(opening, face, house.rules, house.units), face, house.units)
    for item in items:
        with problems.of_each():
            _add(placed, "", _on_wall(item, face, house.units), face, house.units)
    problems.refuse()
    return placed.get("", face.empty)


def _sloped_face(name: str, outline: tuple[Point, ...]) -> _Face:
    top = outline[2:]
    _, _, right, _ = bounds(outline)

    def ceiling(u: Fraction) -> Exact:
        for (right_u, right_v), (left_u, left_v) in pairwise(top):
            if left_u <= u <= right_u and left_u < right_u:
                return left_v + (u - left_u) * Fraction(right_v - left_v, right_u - left_u)
        return top[0][1]

    return _Face(name=name, parts=(outline,), tape_from=Nm(0), tape_to=right, ceiling=ceiling)


def _items(room: Room) -> list[Item]:
    return [*room.cutouts, *room.hidden]


def _add(placed: dict[str, Placed], of: str, thing: Thing, face: _Face, units: UnitSystem) -> None:
    on_face = placed.get(of, face.empty)
    if isinstance(thing, PlacedOpening) and thing.found is Found.CLOSED:
        placed[of] = replace(on_face, closed=(*on_face.closed, thing))
    elif isinstance(thing, PlacedOpening):
        for other in on_face.openings:
            if meet(other, thing):
                spans = " and ".join(
                    f"{opening.name} (from {tape_reading(opening.left, units)} to "
                    f"{tape_reading(opening.right, units)})"
                    for opening in (thing, other)
                )
                raise BadValue(
                    f"{face.name}: {spans} overlap; check where each starts and how wide it is"
                )
        placed[of] = replace(on_face, openings=(*on_face.openings, thing))
    elif isinstance(thing, PlacedCutout):
        placed[of] = replace(on_face, cutouts=(*on_face.cutouts, thing))
    else:
        placed[of] = replace(on_face, hidden=(*on_face.hidden, thing))


def _opening(opening: Opening, face: _Face, rules: Rules, units: UnitSystem) -> PlacedOpening:
    """The rough opening. Around a unit its allowance lies half on either side, and half under a
    window; a door stands on the floor, so all its height allowance is above it."""
    left_edge, bottom = Nm(face.tape_from + opening.left), opening.sill
    wider = higher = 0
    if opening.given is OpeningGiven.UNIT:
        wider, higher = rules.unit_allowance_width, rules.unit_allowance_height
        left_edge = Nm(left_edge - wider // 2)
        if opening.kind is OpeningKind.WINDOW:
            bottom = Nm(max(0, bottom - higher // 2))
    placed = PlacedOpening(
        opening.id,
        opening.name,
        opening.kind,
        left_edge,
        bottom,
        Nm(left_edge + opening.width + wider),
        Nm(bottom + opening.height + higher),
        opening.edge,
        opening.return_depth,
        opening.found,
        opening.nonbearing,
    )
    _check_on(placed, face, units)
    return placed


def _on_wall(item: Item, face: _Face, units: UnitSystem) -> PlacedCutout | PlacedHidden:
    if item.across.origin not in ("left", "right") or item.up.origin not in ("floor", "ceiling"):
        raise BadValue(
            f"{face.name}, {item.name}: on a wall, measure across from 'left' or 'right' and up "
            "from 'floor' or "
            f"'ceiling'; got {item.across.origin!r} and {item.up.origin!r}"
        )
    if isinstance(item, Cutout) and item.along is not None:
        raise BadValue(
            f"{face.name}, {item.name}: along is for ceilings; on a wall the width is level"
        )
    height = item.width if item.height is None else item.height
    if item.across.origin == "left":
        left_edge = face.tape_from + _to_near_edge(item.across, item.width)
    else:
        left_edge = face.tape_to - _to_near_edge(item.across, item.width) - item.width
    if item.up.origin == "floor":
        bottom: Exact = _to_near_edge(item.up, height)
    else:
        bottom = (
            face.ceiling(left_edge + Fraction(item.width, 2))
            - _to_near_edge(item.up, height)
            - height
        )
    placed = _thing(item, Nm(round(left_edge)), Nm(round(bottom)))
    _check_on(placed, face, units)
    return placed


def _to_near_edge(reading: Measure, size: Nm) -> Fraction:
    """From the reading's origin to the edge of the thing nearer to it."""
    over = {
        MeasureTo.NEAR: Fraction(0),
        MeasureTo.CENTRE: Fraction(size, 2),
        MeasureTo.FAR: Fraction(size),
    }
    return reading.distance - over[reading.to]


def _thing(item: Item, left_edge: Nm, bottom: Nm) -> PlacedCutout | PlacedHidden:
    right_edge = Nm(left_edge + item.width)
    top = Nm(bottom + (item.width if item.height is None else item.height))
    if isinstance(item, Cutout):
        return PlacedCutout(item.id, item.name, item.kind, left_edge, bottom, right_edge, top)
    return PlacedHidden(
        item.id, item.name, item.kind, left_edge, bottom, right_edge, top, item.planned, item.lumber
    )


def _check_on(thing: Thing, face: _Face, units: UnitSystem) -> None:
    if any(
        holds_rectangle(part, thing.left, thing.bottom, thing.right, thing.top)
        for part in face.parts
    ):
        return
    least_u, least_v, most_u, most_v = bounds([corner for part in face.parts for corner in part])
    sloped = any(len(part) > 4 or part[2][1] != part[-1][1] for part in face.parts)
    raise BadValue(
        f"{face.name}, {thing.name}: it would reach from {tape_reading(thing.left, units)} to "
        f"{tape_reading(thing.right, units)} across and {tape_reading(thing.bottom, units)} to "
        f"{tape_reading(thing.top, units)} up, and the surface goes from "
        f"{tape_reading(least_u, units)} to "
        f"{tape_reading(most_u, units)} and {tape_reading(least_v, units)} to "
        f"{tape_reading(most_v, units)}"
        f"{' under its slope' if sloped else ''}; "
        "check its size and where it was measured from"
    )


def _on_ceiling(
    item: Item, measured: MeasuredRoom, units: UnitSystem
) -> tuple[str, PlacedCutout | PlacedHidden, _Face]:
    """The plane a thing is on by its name, the thing's place there and the plane's face; readings
    go square to two walls, along the ceiling's face."""
    room, whole = measured.room, measured.whole
    ids = [part.id for part in whole.walls]
    for reading in (item.across, item.up):
        if reading.origin not in ids:
            raise BadValue(
                f"{room.name}, {item.name}: on a ceiling, both readings name walls that are not "
                "parallel; "
                f"{reading.origin!r} is no wall of the room; there are {', '.join(ids)}"
            )
    sides = (ids.index(item.across.origin), ids.index(item.up.origin))
    parts = plane_parts(whole.corners, whole.planes)
    wanted = [
        index
        for index, plane in enumerate(whole.planes)
        if item.surface == plane.part
        or (
            item.surface == "ceiling"
            and all(any(side in p.walls for p in parts if p.plane == index) for side in sides)
        )
    ]
    if len(wanted) != 1:
        raise BadValue(
            f"{room.name}, {item.name}: say which slope it is on, as surface "
            f"{' or '.join(repr(plane.part) for plane in whole.planes)}, and measure from walls "
            "under that slope"
        )
    index = wanted[0]
    plane = whole.planes[index]
    outlines = [
        [plane.to_surface(corner) for corner in p.corners] for p in parts if p.plane == index
    ]
    left_edge = min(u for outline in outlines for u, _ in outline)
    bottom = min(v for outline in outlines for _, v in outline)
    # A face measured under an old lining lies square under the framing, which on a slope is not
    # plumb under it.
    lining = (plane.base - measured.measured_planes[index].base) / plane.stretch
    drop = lining * root(plane.stretch**2 - 1)
    sides_by_id = {wall: whole.side(side) for side, wall in enumerate(ids)}
    item = _as_it_lies(item, room.name, plane, sides_by_id)
    height = item.width if item.height is None else item.height
    # A reading puts the center of the thing on a line parallel to its wall: (nu, nv) points square
    # from the wall into the room, and the line is as far in as the tape reads, plus the way from
    # the part that was read to the centre.
    lines = []
    for reading, side in ((item.across, sides[0]), (item.up, sides[1])):
        ends = (measured.measured[side], measured.measured[(side + 1) % len(ids)])
        (pu, pv), (qu, qv) = (plane.to_surface(end) for end in ends)
        run = length_of((pu, pv), (qu, qv))
        nu, nv = Fraction(pv - qv) / run, Fraction(qu - pu) / run
        reach = (abs(nu) * item.width + abs(nv) * height) / 2
        past = {MeasureTo.NEAR: reach, MeasureTo.CENTRE: Fraction(0), MeasureTo.FAR: -reach}[
            reading.to
        ]
        lines.append((nu, nv, nu * pu + nv * (pv - drop) + reading.distance + past))
    (a, b, c), (d, e, f) = lines
    across = a * e - b * d
    if across == 0:
        raise BadValue(
            f"{room.name}, {item.name}: walls {item.across.origin} and {item.up.origin} are "
            "parallel; measure from "
            "two walls that meet, or would"
        )
    # Where the two lines cross, counted from the lowest left corner of the plane.
    u, v = (c * e - b * f) / across - left_edge, (a * f - c * d) / across - bottom
    placed = _thing(
        item, Nm(round(u - Fraction(item.width, 2))), Nm(round(v - Fraction(height, 2)))
    )
    face = _Face(
        name=f"{room.name}, {plane.name}",
        parts=tuple(
            tuple((Nm(round(pu - left_edge)), Nm(round(pv - bottom))) for pu, pv in outline)
            for outline in outlines
        ),
        is_upright=False,
        tape_from=Nm(0),
        tape_to=Nm(0),
        ceiling=lambda _: 0,
    )
    _check_on(placed, face, units)
    return plane.part, placed, face


def _as_it_lies(
    item: Item, room: str, plane: CeilingPlane, sides: Mapping[str, tuple[Point, Point]]
) -> Item:
    """A box or vent of a ceiling with the size along u as its width, where it says along which
    wall its longer side lies."""
    if isinstance(item, HiddenItem) or item.along is None or item.height is None:
        return item
    if item.along not in sides:
        raise BadValue(
            f"{room}, {item.name}: {item.along!r} is no wall of the room; its longer side lies "
            f"along one of {', '.join(sides)}"
        )
    (pu, pv), (qu, qv) = (plane.to_surface(end) for end in sides[item.along])
    run, rise = abs(Fraction(qu) - pu), abs(Fraction(qv) - pv)
    long, short = max(item.width, item.height), min(item.width, item.height)
    if rise * _SQUARE < run:
        return replace(item, width=long, height=short)
    if run * _SQUARE < rise:
        return replace(item, width=short, height=long)
    raise BadValue(
        f"{room}, {item.name}: {item.along} is slanted, and a hole is cut square to the rows of "
        "board; choose a wall that runs square along it"
    )


def move_into(surface: Surface, origin: Point, placed: Placed) -> Surface:
    """Return `surface` with the things of the whole surface that stand on it. `origin` is where its
    (0, 0) lies on the whole surface.

    An opening or a box counts only where it is wholly on `surface`. Something hidden is cut off at
    its ends.
    """
    openings = tuple(
        thing
        for thing in (_moved(opening, origin) for opening in placed.openings)
        if _on(thing, surface)
    )
    cutouts = tuple(
        thing
        for thing in (_moved(cutout, origin) for cutout in placed.cutouts)
        if _on(thing, surface)
    )
    least_u, least_v, most_u, most_v = bounds(surface.outline)
    hidden = []
    for behind in placed.hidden:
        item = _moved(behind, origin)
        kept = replace(
            item,
            left=max(item.left, least_u),
            bottom=max(item.bottom, least_v),
            right=min(item.right, most_u),
            top=min(item.top, most_v),
        )
        if kept.left < kept.right and kept.bottom < kept.top:
            hidden.append(kept)
    closed = (_moved(opening, origin) for opening in placed.closed)
    changed = [opening for opening in openings if opening.found is Found.CUT]
    changed += [opening for opening in closed if _on(opening, surface)]
    # A skylight well has cut its hole already.
    openings = (*surface.openings, *openings)
    return replace(
        surface,
        openings=openings,
        cutouts=cutouts,
        hidden=tuple(hidden),
        changed=tuple(changed),
    )


def _moved(thing: _Some, origin: Point) -> _Some:
    u, v = origin
    return replace(
        thing,
        left=Nm(thing.left - u),
        bottom=Nm(thing.bottom - v),
        right=Nm(thing.right - u),
        top=Nm(thing.top - v),
    )


def _on(thing: Thing, surface: Surface) -> bool:
    return holds_rectangle(surface.outline, thing.left, thing.bottom, thing.right, thing.top)


def check_undivided(room: Room, placed: Iterable[Placed], surfaces: Iterable[Surface]) -> None:
    """Raise `BadValue` for an opening or a box that a partition of `room`, or what is built into
    it, would stand on. `surfaces` are all that these leave of the room, so that none of them holds
    it."""
    kept: set[str] = set()
    for surface in surfaces:
        kept.update(opening.id for opening in surface.openings)
        kept.update(cutout.id for cutout in surface.cutouts)
    for on_face in placed:
        things: list[PlacedOpening | PlacedCutout] = [*on_face.openings, *on_face.cutouts]
        for thing in things:
            if thing.id not in kept:
                raise BadValue(
                    f"{room.name}, {thing.name}: a partition{_or_built(room)} would stand on it; "
                    "move that, or the thing, so that it lies wholly on one side"
                )


def _or_built(room: Room) -> str:
    return "".join(f" or {built.name}" for built in room.built)
