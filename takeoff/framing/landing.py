"""Where a partition framed after board lands: whether something behind the board holds it at both
ends and at the top, and where to open if not.

What holds it is a member behind its middle, members that cross it, or blocking that is recorded as
in. Planned blocking is none yet.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from takeoff.choices import FramedWhen, HiddenKind, Runs, SurfaceKind
from takeoff.framing.members import Member, MemberKind, frame
from takeoff.geometry.rooms import PartitionShape, RoomGeometry, room_shapes
from takeoff.geometry.surface import PlacedHidden, Point, Surface
from takeoff.house import House
from takeoff.reference import figures, stud_size
from takeoff.units import Nm, tape_reading

__all__ = ["Landing", "landings"]

_BLOCKS = (HiddenKind.BLOCKING, HiddenKind.BACKER)


@dataclass(frozen=True, slots=True, kw_only=True)
class Landing:
    """One place where a partition meets what was boarded before. `held` is None where nobody has
    looked at the framing there. `text` says what holds it, or where to open."""

    where: str
    held: bool | None
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Strip:
    """Where the frame lies against a surface, in the coordinates of the whole wall or plane. It is
    long `upright` on a wall."""

    surface: Surface
    low: Point
    high: Point
    upright: bool

    @property
    def middle(self) -> int:
        axis = 0 if self.upright else 1
        return (self.low[axis] + self.high[axis]) // 2

    @property
    def long(self) -> int:
        axis = 1 if self.upright else 0
        return self.high[axis] - self.low[axis]


def landings(house: House, partition: str) -> tuple[Landing, ...]:
    """Where the partition of that id lands: its ends, the ceiling, the floor. Empty where it is
    framed before board, for then everything is in sight."""
    rooms, shapes = room_shapes(house)
    legs = [shape for shape in shapes if (shape.partition or shape.id) == partition]
    if not legs or any(leg.framed is FramedWhen.BEFORE for leg in legs):
        return ()
    # The same frames cut the same walls where they stand first: there each meets an edge.
    first = {one.id: FramedWhen.BEFORE for one in house.partitions}
    as_before, _ = room_shapes(house, framed=first)
    # Walls of different rooms have the same ids; those of one room and of what is cut off it, not.
    home = {
        legs[0].room,
        *(one.faces[1].partition("/")[0] for one in shapes if one.room == legs[0].room),
    }
    near = [shape for shape in rooms if shape.room in home]
    found = [_landing(house, strip, near) for leg in legs for strip in _strips(leg, as_before)]
    room = house.room(legs[0].room)
    return (*found, _floor(slab=room.slab))


def _strips(leg: PartitionShape, rooms: Iterable[RoomGeometry]) -> Iterator[_Strip]:
    """Where a leg lies against walls and ceilings: the edges that its face there makes, as deep as
    its studs."""
    deep = stud_size(leg.stud).width
    for surface in (surface for room in rooms for surface in room.surfaces):
        corners = surface.outline
        ends = zip(surface.edges, corners, (*corners[1:], corners[0]), strict=True)
        for edge, start, end in ends:
            if edge.neighbour != leg.faces[0] or start == end:
                continue
            across, up = end[0] - start[0], end[1] - start[1]
            if across and up:
                continue  # slanted: what lies over it is for the eye
            # The outline runs counter-clockwise, so the frame lies to the right of each edge.
            beyond = (start[0] + deep * _sign(up), start[1] - deep * _sign(across))
            points = [start, end, beyond]
            yield _Strip(
                surface=surface,
                low=_moved(surface, min(p[0] for p in points), min(p[1] for p in points)),
                high=_moved(surface, max(p[0] for p in points), max(p[1] for p in points)),
                upright=bool(up),
            )


def _moved(surface: Surface, u: int, v: int) -> Point:
    return Nm(u + surface.origin[0]), Nm(v + surface.origin[1])


def _sign(value: int) -> int:
    return (value > 0) - (value < 0)


def _landing(house: House, strip: _Strip, rooms: Sequence[RoomGeometry]) -> Landing:
    """What holds the frame along one strip, by the surfaces that were boarded before it."""
    key = _whole(strip.surface)
    there = [
        surface
        for room in rooms
        for surface in room.surfaces
        if _whole(surface) == key
        and surface.kind is strip.surface.kind
        and _reaches(surface, strip)
    ]
    is_wall = strip.surface.kind is SurfaceKind.WALL
    name = strip.surface.name.partition(", ")[2] or strip.surface.name
    where = f"{name[:1].upper()}{name[1:]}"
    if not there:
        return Landing(
            where=where, held=None, text="What is behind it is not known: look yourself."
        )
    blocks = [item for surface in there for item in _blocks(surface, strip)]
    wanted = _blocks_wanted(strip, is_wall=is_wall)
    if len([item for item in blocks if not item.planned]) >= wanted:
        return Landing(
            where=where, held=True, text=f"Blocking is recorded behind it: {_named(blocks)}."
        )
    framed = [frame(surface, house.rules) for surface in there]
    members = [
        (member, surface)
        for one, surface in zip(framed, there, strict=True)
        for member in one.members
        if member.kind is not MemberKind.NAILER
    ]
    if any(one.provisional for one in framed):
        return Landing(
            where=where,
            held=None,
            text=f"Nobody has looked where the {_word(is_wall)}s stand. "
            + _recorded(blocks, wanted),
        )
    crossing = [member for member, _ in members if _lies_across(member, strip)]
    along = sorted(
        member.centre + surface.origin[0 if strip.upright else 1]
        for member, surface in members
        if not _lies_across(member, strip)
    )
    if len(crossing) > 1:
        text = f"{len(crossing)} {_word(is_wall)}s cross it: fasten it to each."
        return Landing(where=where, held=True, text=text)
    half = members[0][0].width // 2 if members else 0
    if any(abs(center - strip.middle) <= half for center in along):
        text = f"A {_word(is_wall)} stands behind its middle: fasten it to that."
        return Landing(where=where, held=True, text=text)
    return Landing(
        where=where,
        held=False,
        text=f"{_recorded(blocks, wanted)} "
        + _where_to_open(house, strip, along, wanted, is_wall=is_wall),
    )


def _word(is_wall: bool) -> str:
    return "stud" if is_wall else "joist"


def _whole(surface: Surface) -> str:
    """The wall or plane that a surface is part of: parts are numbered from 2."""
    key = surface.id.partition("/")[2]
    whole, _, number = key.rpartition("-")
    return whole if whole and number.isdigit() else key


def _reaches(surface: Surface, strip: _Strip) -> bool:
    corners = [_moved(surface, *corner) for corner in surface.outline]
    us, vs = [u for u, _ in corners], [v for _, v in corners]
    return (
        min(us) < strip.high[0]
        and strip.low[0] < max(us)
        and min(vs) < strip.high[1]
        and strip.low[1] < max(vs)
    )


def _blocks(surface: Surface, strip: _Strip) -> Iterator[PlacedHidden]:
    """The blocking of a surface that the middle of the strip crosses."""
    axis = 0 if strip.upright else 1
    for item in surface.hidden:
        low = _moved(surface, item.left, item.bottom)
        high = _moved(surface, item.right, item.top)
        other = 1 - axis
        if (
            item.kind in _BLOCKS
            and low[axis] <= strip.middle <= high[axis]
            and low[other] < strip.high[other]
            and strip.low[other] < high[other]
        ):
            yield item


def _blocks_wanted(strip: _Strip, *, is_wall: bool) -> int:
    if is_wall:
        return figures.count("FR-tee-blocks")
    return -(-strip.long // figures.length("FR-plate-blocks")) + 1


def _named(blocks: Iterable[PlacedHidden]) -> str:
    return ", ".join(item.name for item in blocks if not item.planned)


def _recorded(blocks: Sequence[PlacedHidden], wanted: int) -> str:
    """How much of the blocking is recorded, in a sentence."""
    there = len([item for item in blocks if not item.planned])
    planned = len(blocks) - there
    begin = (
        f"{there} of {wanted} blocks are recorded behind it"
        if there
        else "No blocking is recorded behind it"
    )
    return f"{begin}; {planned} planned, not in yet." if planned else f"{begin}."


def _lies_across(member: Member, strip: _Strip) -> bool:
    """Whether a member runs square to the strip and crosses it."""
    return (member.runs is Runs.ACROSS) != strip.upright


def _where_to_open(
    house: House, strip: _Strip, centers: Sequence[int], wanted: int, *, is_wall: bool
) -> str:
    below = [center for center in centers if center < strip.middle]
    above = [center for center in centers if center > strip.middle]
    word, units = _word(is_wall), house.units
    if not below or not above:
        return f"Open the board beside it, and put {wanted} blocks to the nearest {word}."
    near = min((below[-1], above[0]), key=lambda center: abs(center - strip.middle))
    side = "the left end" if strip.upright else "the lower side of its drawing"
    ends = " and ".join(tape_reading(Nm(center), units) for center in (below[-1], above[0]))
    off = tape_reading(Nm(abs(near - strip.middle)), units, feet=False)
    way = "farther from" if near > strip.middle else "nearer to"
    return (
        f"Open the bay between the {word}s at {ends} from {side} of the whole surface, and put in "
        f"{wanted} blocks. Or move the partition {off} {way} that side: then a {word} stands "
        "behind it."
    )


def _floor(*, slab: bool) -> Landing:
    how = (
        "It stands on a slab: anchor its treated sole plate."
        if slab
        else "Screw its sole plate through the floor into the subfloor, and into joists where you "
        "find them."
    )
    text = f"{how} Look first for pipes, wires and heating in the floor."
    return Landing(where="Floor", held=True, text=text)
