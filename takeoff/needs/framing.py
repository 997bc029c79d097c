"""What the framing of a room takes before board goes up: members brought into line, planned
blocking, and nailers for unsupported edges."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from takeoff.catalogue import Catalogue
from takeoff.choices import HiddenKind, Remedy, Runs, Substrate, SurfaceKind
from takeoff.framing.edges import Support, UnsupportedEdge, UnsupportedEdgeKind
from takeoff.framing.members import FramedSurface, Member
from takeoff.geometry.rooms import RoomGeometry
from takeoff.geometry.surface import PlacedHidden, Surface
from takeoff.house import UnevenMember
from takeoff.needs.control_joints import joints_of
from takeoff.needs.materials import (
    FRAMING_SCREWS,
    NAILS_8D,
    NAILS_16D,
    SHIMS,
    STEEL_STUD,
    Material,
    lumber_material,
    screw_material,
)
from takeoff.needs.need import Need, Phase
from takeoff.needs.sticks import in_parts, longest_stick
from takeoff.needs.tally import Tally
from takeoff.quantities import from_nm
from takeoff.reference import figures, lumber
from takeoff.units import INCH, Nm, UnitSystem

__all__ = ["needs"]

NAILER = lumber_material("2x4")
"""Lumber of nailers, of studs added beside a corner, and of sisters, in framing of wood. In framing
of steel they are steel studs."""

# Through a block or a furring strip of wood into steel, or through steel into a block.
_INTO_STEEL = screw_material("fine", Nm(13 * INCH // 8))
_FURRING = (lumber_material("1x2"), lumber_material("2x2"))


def needs(
    room: RoomGeometry,
    framed: Sequence[FramedSurface],
    unsupported: Sequence[UnsupportedEdge],
    *,
    catalogue: Catalogue,
    units: UnitSystem,
) -> tuple[Need, ...]:
    """Return what framing `room` takes. `framed` and `unsupported` may hold those of other rooms
    too, which are not counted.

    Uneven members on surfaces that get board are brought into line. Planned blocking is cut to its
    bays. Edges known to be unsupported get their nailer or stud. Clips go up with the board, and
    what a partition's tee takes is framed with the partition. For an edge that nobody has looked
    at, support is bought where nothing is behind it as far as one knows.
    """
    tally = Tally(Phase.FRAMING, room.room, units)
    behind = {
        surface_framed.surface.id: surface_framed
        for surface_framed in framed
        if surface_framed.surface.room == room.room
    }
    for surface_framed in behind.values():
        if surface_framed.surface.action.gets_board:
            for uneven in surface_framed.surface.framing.uneven:
                _uneven(tally, surface_framed, uneven, catalogue)
        _control_joints(tally, surface_framed.surface, catalogue)
        for item in surface_framed.surface.hidden:
            if item.planned and item.kind is HiddenKind.BLOCKING:
                _blocking(tally, surface_framed, item)
    for edge in unsupported:
        if edge.surface in behind and _is_counted(edge):
            surface = behind[edge.surface].surface
            if edge.blocks:
                _perimeter(tally, edge, surface)
            else:
                _nailer(tally, edge, surface, catalogue)
    return tally.needs()


def _control_joints(tally: Tally, surface: Surface, catalogue: Catalogue) -> None:
    """A stud more for each control joint of a wall, where the board and the framing are parted."""
    if surface.kind is not SurfaceKind.WALL:
        return
    material = STEEL_STUD if _is_steel(surface) else NAILER
    for run in joints_of(surface):
        tally.cut(
            material,
            in_parts(run, longest_stick(catalogue, material)),
            "a stud more at a control joint, one for the board at either side",
            "HL-16-stud",
            surface=surface.id,
            piece=f"{surface.name}, control joint",
        )


def _is_counted(edge: UnsupportedEdge) -> bool:
    """Whether framing buys for an edge: clips are hung with the board, tees framed with
    partitions."""
    return (
        edge.counted
        and edge.support is not Support.CLIP
        and edge.kind is not UnsupportedEdgeKind.TEE
    )


def _uneven(
    tally: Tally, framed: FramedSurface, uneven: UnevenMember, catalogue: Catalogue
) -> None:
    at = [member for member in framed.members if abs(member.centre - uneven.at) <= member.width]
    run = Nm(sum(member.high - member.low for member in at))
    if not run:
        outline = framed.surface.outline
        axis = 1 if framed.members and framed.members[0].runs is Runs.ACROSS else 0
        run = Nm(max(p[axis] for p in outline) - min(p[axis] for p in outline))
    where = f"stud or joist at {tally.shown(uneven.at)} stands back by {tally.shown(uneven.out_by)}"
    surface = framed.surface.id
    if uneven.remedy is Remedy.SHIM:
        layer = figures.length("FR-shim-thickness")
        layers = -(-uneven.out_by // layer)
        tally.take(
            SHIMS,
            from_nm(Nm(layers * run), "ft"),
            f"{where}: {layers} layers of {tally.shown(layer)} shim along {tally.run(run)}",
            "FR-shim-thickness",
            surface=surface,
        )
        return
    steel = _is_steel(framed.surface)
    if uneven.remedy is Remedy.SISTER:
        material, what = (STEEL_STUD if steel else NAILER), "a sister beside it"
    else:
        material = next(
            (strip for strip in _FURRING if lumber(strip.id).thickness >= uneven.out_by),
            _FURRING[-1],
        )
        what = f"a {material.id} furring strip, ripped or shimmed to the line"
    sticks = in_parts(run, longest_stick(catalogue, material))
    tally.cut(
        material,
        sticks,
        f"{where}: {what}",
        "FR-14",
        surface=surface,
        piece=f"{framed.surface.name}, {uneven.remedy}",
    )
    nails = NAILS_16D if uneven.remedy is Remedy.SISTER else NAILS_8D
    if steel:
        nails = FRAMING_SCREWS if uneven.remedy is Remedy.SISTER else _INTO_STEEL
    tally.count(
        nails,
        _along(sticks),
        f"{where}: {what}, {_fixed(steel)} every {tally.shown(figures.length('NL-nailer'))}",
        "NL-nailer",
        surface=surface,
    )


def _blocking(tally: Tally, framed: FramedSurface, item: PlacedHidden) -> None:
    bays = list(_bays(framed.members, item))
    if not bays:
        return
    size = lumber(item.lumber)
    across = framed.members[0].runs is Runs.ACROSS
    high = item.top - item.bottom if across else item.right - item.left
    courses = max(1, -(-high // size.width))
    in_courses = f", {courses} courses" if courses > 1 else ""
    tally.cut(
        lumber_material(item.lumber),
        bays * courses,
        f"blocking for {item.name} in {len(bays)} bays{in_courses}",
        "FR-14",
        surface=framed.surface.id,
        piece=f"{framed.surface.name}, {item.name}",
    )
    tally.count(
        _INTO_STEEL if _is_steel(framed.surface) else NAILS_16D,
        2 * figures.count("NL-block") * len(bays) * courses,
        f"blocking for {item.name}: {figures.number('NL-block')} at each end of a block",
        "NL-block",
        surface=framed.surface.id,
    )


def _bays(members: Sequence[Member], item: PlacedHidden) -> Iterator[Nm]:
    """Clear widths of the bays that a thing behind the board reaches into."""
    if not members:
        return
    across = members[0].runs is Runs.ACROSS
    start, end = (item.left, item.right) if across else (item.bottom, item.top)
    low, high = (item.bottom, item.top) if across else (item.left, item.right)
    beside = sorted(
        (member for member in members if member.low < high and member.high > low),
        key=lambda member: member.centre,
    )
    for before, after in pairwise(beside):
        face, next_face = before.centre + before.width // 2, after.centre - after.width // 2
        if next_face > face and face < end and next_face > start:
            yield Nm(next_face - face)


def _nailer(tally: Tally, edge: UnsupportedEdge, surface: Surface, catalogue: Catalogue) -> None:
    steel = _is_steel(surface)
    material: Material = STEEL_STUD if steel else NAILER
    sticks = in_parts(edge.length, longest_stick(catalogue, material))
    tally.cut(
        material,
        sticks,
        f"{edge.text.removeprefix(f'{surface.name}: ')}: a {edge.support}",
        "GB-30",
        surface=edge.surface,
        piece=f"{surface.name}, {edge.support}",
    )
    tally.count(
        FRAMING_SCREWS if steel else NAILS_16D,
        _along(sticks),
        f"{edge.support} {_fixed(steel)} every {tally.shown(figures.length('NL-nailer'))}",
        "NL-nailer",
        surface=edge.surface,
    )


def _perimeter(tally: Tally, edge: UnsupportedEdge, surface: Surface) -> None:
    """The blocks along a side of a ceiling that braces, one a bay."""
    tally.cut(
        lumber_material(str(figures.figure("GB-31-blocking").value)),
        edge.blocks,
        edge.text.removeprefix(f"{surface.name}: "),
        "GB-31-blocking",
        surface=edge.surface,
        piece=f"{surface.name}, perimeter block",
    )
    tally.count(
        NAILS_16D,
        2 * figures.count("NL-block") * len(edge.blocks),
        f"{len(edge.blocks)} perimeter blocks: {figures.number('NL-block')} at each end",
        "NL-block",
        surface=edge.surface,
    )


def _is_steel(surface: Surface) -> bool:
    return surface.framing.substrate is Substrate.STEEL


def _fixed(steel: bool) -> str:
    return "screwed" if steel else "nailed"


def _along(sticks: Sequence[Nm]) -> int:
    return sum(-(-stick // figures.length("NL-nailer")) + 1 for stick in sticks)
