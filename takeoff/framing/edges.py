"""Edges of board that have nothing to screw to. They are listed before hanging, each with what
supports it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from takeoff.choices import FramedWhen, Runs, SurfaceKind
from takeoff.framing.members import FramedSurface, MemberKind, RunEnd, run_ends, runs_of
from takeoff.geometry.polygon import length_of
from takeoff.geometry.rooms import PartitionShape, RoomGeometry
from takeoff.geometry.surface import EdgeKind, Surface
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = ["Support", "UnsupportedEdge", "UnsupportedEdgeKind", "tee_edges", "unsupported_edges"]


class UnsupportedEdgeKind(StrEnum):
    CEILING_ALONG_JOISTS = "ceiling edge where joists run along the wall"
    INSIDE_CORNER = "inside corner with one stud"
    WALL_TOP = "wall top without a plate"
    STANDING_BUTT = "butt end of a standing board between members"
    TEE = "tee of a partition"
    BRACED_PERIMETER = "perimeter of a ceiling that braces"


class Support(StrEnum):
    NAILER = "nailer"
    STUD = "stud"
    CLIP = "clip"
    BLOCKING = "blocking"


@dataclass(frozen=True, slots=True, kw_only=True)
class UnsupportedEdge:
    """An edge of board without support: on which surface, where, how long, and what to put behind
    it.

    `certain` is false where nobody has looked; the page then asks for a look before the board is
    hung. `counted` says whether the needs hold the support until somebody looks: they do where the
    framing, as far as it is known or assumed, has nothing at the edge, and do not where a member
    should stand there. `blocks` are the clear widths of the bays to block, where that is the
    support.
    """

    kind: UnsupportedEdgeKind
    surface: str
    length: Nm
    support: Support
    certain: bool
    text: str
    counted: bool = True
    blocks: tuple[Nm, ...] = ()


def unsupported_edges(
    room: RoomGeometry, framed: Sequence[FramedSurface], rules: Rules
) -> tuple[UnsupportedEdge, ...]:
    """Return the unsupported board edges of `room`, surface by surface in the order of the room.

    On a ceiling these are sides along the joists that no member reaches. On a wall they are inside
    corners where the studs end without backing or where nobody has looked, and a sloping top, where
    the board may pass above the plate. Surfaces that get no board have none. An edge at either end
    of a member is held by the member and is never listed.
    """
    # A surface's name begins with its room's; once is enough in a sentence.
    names = {surface.id: surface.name.removeprefix(f"{room.name}, ") for surface in room.surfaces}
    # only under a slope has a wall a slanted top
    slopes = any(wall.sloped for wall in room.surfaces if wall.kind is SurfaceKind.WALL)
    edges: list[UnsupportedEdge] = []
    for framed_surface in framed:
        surface = framed_surface.surface
        if surface.room != room.room or not surface.action.gets_board:
            continue
        if surface.kind is SurfaceKind.CEILING:
            edges += _ceiling_sides(framed_surface, names, "rafters" if slopes else "joists")
            edges += _braced_perimeter(framed_surface, names)
        else:
            edges += _wall_corners(surface, names, rules)
            edges += _wall_top(surface)
    order = {surface.id: place for place, surface in enumerate(room.surfaces)}
    return tuple(sorted(edges, key=lambda edge: order.get(edge.surface, len(order))))


def tee_edges(shape: PartitionShape, rules: Rules) -> tuple[UnsupportedEdge, ...]:
    """Return the places where an end of a partition framed before board meets a wall between two of
    its studs.

    The wall board of both rooms ends there, so the wall needs backing on either side of the
    partition. There is one entry for each such end, and each names its wall; where clips hold the
    board there is one for each room, for each hangs its own. A partition that stands on finished
    faces has none: the board of the wall runs through behind it. Studs that go there are among the
    pieces of `partition_frame`.
    """
    if shape.framed is FramedWhen.AFTER:
        return ()
    height = Nm(max(v for _, v in shape.outline) - min(v for _, v in shape.outline))
    walls = shape.tee_walls or ("the wall",) * shape.tees
    clips = rules.edge_support == Support.CLIP
    whose = "this room" if clips else "both rooms"
    return tuple(
        UnsupportedEdge(
            kind=UnsupportedEdgeKind.TEE,
            surface=face,
            length=height,
            support=Support.CLIP if clips else Support.STUD,
            certain=True,
            text=f"{shape.name} meets {wall} without a stud for the board on each side: the board "
            f"of {whose} ends there on nothing",
        )
        for face in (shape.faces if clips else shape.faces[:1])
        for wall in walls
    )


def _ceiling_sides(
    framed: FramedSurface, names: Mapping[str, str], members: str
) -> list[UnsupportedEdge]:
    surface = framed.surface
    added = {
        (member.centre, member.kind)
        for member in framed.members
        if member.kind in (MemberKind.NAILER, MemberKind.END)
    }
    half = framed.members[0].width // 2 if framed.members else 0
    edges = []
    for end in run_ends(surface):
        centre = Nm(end.at + end.inward * half)
        if (centre, MemberKind.NAILER) in added:
            certain, counted, what = (
                not framed.provisional,
                True,
                f"no {members[:-1]} is within reach of its edge",
            )
            if framed.provisional:
                what = f"as assumed, {what}: it is counted as a {Support.NAILER} until you look"
        elif (centre, MemberKind.END) in added and end.backed is None:
            certain, counted = False, False
            what = (
                "nobody has looked whether its edge has anything behind it: nothing is counted "
                "for it"
            )
        else:
            continue
        edges.append(
            UnsupportedEdge(
                kind=UnsupportedEdgeKind.CEILING_ALONG_JOISTS,
                surface=surface.id,
                length=Nm(end.high - end.low),
                support=Support.NAILER,
                certain=certain,
                counted=counted,
                text=f"{surface.name}: the {members} run along "
                f"{_neighbour(surface, end, names)}, and {what}",
            )
        )
    return edges


def _braced_perimeter(framed: FramedSurface, names: Mapping[str, str]) -> list[UnsupportedEdge]:
    """The sides of a ceiling that braces which cross its joists: each bay there is blocked over
    the wall. A side along the joists has its joist or its nailer."""
    surface = framed.surface
    if not surface.braces:
        return []
    across = 0 if runs_of(surface) is Runs.ACROSS else 1
    corners = surface.outline
    edges = []
    for index, (here, there) in enumerate(zip(corners, corners[1:] + corners[:1], strict=True)):
        edge = surface.edges[index]
        if here[across] == there[across] or edge.kind is EdgeKind.RIDGE:
            continue
        low, high = sorted((here[across], there[across]))
        blocks = _bays_between(framed, low, high)
        if not blocks:
            continue
        beside = names.get(edge.neighbour or "", edge.neighbour or "its neighbor")
        edges.append(
            UnsupportedEdge(
                kind=UnsupportedEdgeKind.BRACED_PERIMETER,
                surface=surface.id,
                length=Nm(round(length_of(here, there))),
                support=Support.BLOCKING,
                certain=True,
                blocks=blocks,
                text=f"{surface.name}: its board braces the house, so each bay is blocked along "
                f"{beside}, flat over the top plate",
            )
        )
    return edges


def _bays_between(framed: FramedSurface, low: Nm, high: Nm) -> tuple[Nm, ...]:
    """The clear widths between the members, and from the ends to the first and the last of them,
    from one place along their run to another."""
    faces = sorted(
        (member.centre - member.width // 2, member.centre + member.width // 2)
        for member in framed.members
        if low <= member.centre <= high
    )
    starts = [low, *(far for _, far in faces)]
    ends = [*(near for near, _ in faces), high]
    return tuple(Nm(end - start) for start, end in zip(starts, ends, strict=True) if end > start)


def _wall_corners(
    surface: Surface, names: Mapping[str, str], rules: Rules
) -> list[UnsupportedEdge]:
    edges = []
    for end in run_ends(surface):
        if end.backed:
            continue
        if end.kind is EdgeKind.INSIDE_CORNER:
            kind = UnsupportedEdgeKind.INSIDE_CORNER
            where = f"the corner with {_neighbour(surface, end, names)}"
        elif end.kind is EdgeKind.CEILING and end.backed is False:
            kind = UnsupportedEdgeKind.WALL_TOP
            where = "its top"
        else:
            continue
        edges.append(
            UnsupportedEdge(
                kind=kind,
                surface=surface.id,
                length=Nm(end.high - end.low),
                support=Support(rules.edge_support),
                certain=end.backed is False,
                counted=end.backed is False,
                text=f"{surface.name}: nothing to screw to at {where}"
                if end.backed is False
                else f"{surface.name}: look whether there is something to screw to at {where}; "
                "nothing is counted for it",
            )
        )
    return edges


def _wall_top(surface: Surface) -> list[UnsupportedEdge]:
    """A sloping top over upright studs: the studs of a gable often stand on a plate, set back or
    wider apart."""
    if runs_of(surface) is not Runs.ACROSS:
        return []
    corners = surface.outline
    sides = zip(corners, corners[1:] + corners[:1], strict=True)
    length = Nm(round(sum(length_of(a, b) for a, b in sides if a[0] != b[0] and a[1] != b[1])))
    if not length:
        return []
    return [
        UnsupportedEdge(
            kind=UnsupportedEdgeKind.WALL_TOP,
            surface=surface.id,
            length=length,
            support=Support.NAILER,
            certain=False,
            counted=False,
            text=f"{surface.name}: look whether there is something to screw to along the sloping "
            "top, above the plate; "
            "nothing is counted for it",
        )
    ]


def _neighbour(surface: Surface, end: RunEnd, names: Mapping[str, str]) -> str:
    neighbour = surface.edges[end.index].neighbour
    return names.get(neighbour, neighbour) if neighbour else "its neighbor"
