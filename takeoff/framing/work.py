"""Lumber and shims that go onto framing already there: uneven members, planned blocking, loose edges."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

from takeoff.choices import HiddenKind, Remedy, Runs
from takeoff.errors import BadValue
from takeoff.framing.edges import LooseEdge, LooseEdgeKind, Support
from takeoff.framing.members import FramedSurface, Member
from takeoff.framing.partition import LONGEST_LUMBER
from takeoff.reference import length, lumber
from takeoff.units import Nm, UnitSystem, format_length

__all__ = ["FURRING", "NAILER", "SISTER", "FramingWork", "WorkKind", "blocking", "edge_support", "uneven_work"]

# Usual sizes for these jobs; common practice, no published source.
FURRING = "1x2"
NAILER = "2x4"
SISTER = "2x4"


class WorkKind(StrEnum):
    """What is done. `SHIM` and `CLIP` are counted singly; the others are sticks of lumber cut to length."""

    SHIM = "shim"
    SISTER = "sister"
    FURRING = "furring"
    BLOCKING = "blocking"
    NAILER = "nailer"
    STUD = "stud"
    CLIP = "clip"


@dataclass(frozen=True, slots=True, kw_only=True)
class FramingWork:
    """One job on framing that stands: what goes where, and why.

    Sticks have a `lumber` size and a finished `length`; shims and clips have no lumber, `length` being what they are
    spread over. `count` is of sticks, shims (each one layer thick) or clips. `figures` are trade figures it rests on.
    """

    kind: WorkKind
    surface: str
    lumber: str | None
    length: Nm
    count: int
    text: str
    figures: tuple[str, ...] = ()


def uneven_work(framed: FramedSurface, *, longest: Nm = LONGEST_LUMBER) -> tuple[FramingWork, ...]:
    """What brings the members of a surface that are out of line into plane, in the order they were named.

    A shimmed member takes shims as thick as it stands back, at places along its whole length; a sistered one a stick
    of its length beside it; a furred one a strip of its length on its face. A member in two parts, or longer than the
    longest stick, takes a piece for each part. Raises `BadValue` where no member stands within its own width of the
    place named.
    """
    surface = framed.surface
    found = []
    for uneven in surface.framing.uneven:
        near = [m for m in framed.members if abs(m.centre - uneven.at) <= m.width]
        nearest = min((abs(m.centre - uneven.at) for m in near), default=None)
        parts = [m for m in near if abs(m.centre - uneven.at) == nearest]
        if not parts:
            others = sorted({m.centre for m in framed.members}, key=lambda centre: abs(centre - uneven.at))
            example = f", like {_shown(others[0])}" if others else ""
            raise BadValue(f"{surface.name}: no member stands at {_shown(uneven.at)}; enter one's centre{example}")
        where = f"{surface.name}, member at {_shown(uneven.at)}, {_shown(uneven.out_by)} out of line"
        for part in parts:
            found += _mended(surface.id, uneven.remedy, uneven.out_by, Nm(part.high - part.low), where, longest)
    return tuple(found)


def _mended(surface: str, remedy: Remedy, out_by: Nm, run: Nm, where: str, longest: Nm) -> list[FramingWork]:
    if remedy is Remedy.SHIM:
        places = -(-run // length("FR-shim-pair")) + 1
        layers = -(-out_by // length("FR-shim-thickness"))
        return [
            FramingWork(
                kind=WorkKind.SHIM,
                surface=surface,
                lumber=None,
                length=run,
                count=places * layers,
                text=f"{where}: {places} places, {layers} shims thick",
                figures=("FR-shim-pair", "FR-shim-thickness"),
            )
        ]
    kind, size, how = (
        (WorkKind.SISTER, SISTER, "a sister beside it")
        if remedy is Remedy.SISTER
        else (WorkKind.FURRING, FURRING, "a strip on its face")
    )
    return [
        FramingWork(kind=kind, surface=surface, lumber=size, length=part, count=1, text=f"{where}: {how}")
        for part in _parts(run, longest)
    ]


def blocking(framed: FramedSurface) -> tuple[FramingWork, ...]:
    """Planned blocking of a surface, cut to fit between its members, item by item.

    A block fills each bay that the item reaches into, whatever part of it the item takes; an item higher than its
    lumber is wide takes several rows. Bays run between neighbouring members at the item's middle height; where the item
    reaches past the last member, the block goes to the surface's end.
    """
    surface = framed.surface
    found = []
    for item in surface.hidden:
        if not item.planned or item.kind is not HiddenKind.BLOCKING:
            continue
        upright = not framed.members or framed.members[0].runs is Runs.ACROSS
        low, high = (item.left, item.right) if upright else (item.bottom, item.top)
        near, far = (item.bottom, item.top) if upright else (item.left, item.right)
        ends = [corner[0 if upright else 1] for corner in surface.outline]
        rows = -(-(far - near) // lumber(item.lumber).width)
        for clear in _bays(framed.members, min(ends), max(ends), (near + far) // 2, low, high):
            found.append(
                FramingWork(
                    kind=WorkKind.BLOCKING,
                    surface=surface.id,
                    lumber=item.lumber,
                    length=clear,
                    count=rows,
                    text=f"{surface.name}: {item.name}, between members",
                )
            )
    return tuple(found)


def _bays(members: Iterable[Member], start: Nm, end: Nm, along: int, low: Nm, high: Nm) -> list[Nm]:
    """Clear widths of the bays that `low` to `high` reaches into, in order."""
    standing = sorted(m.centre for m in members if m.low <= along <= m.high)
    half = max((m.width for m in members), default=0) // 2
    faces = [start, *(face for centre in standing for face in (centre - half, centre + half)), end]
    bays = zip(faces[::2], faces[1::2], strict=True)
    return [Nm(right - left) for left, right in bays if right > left and left < high and right > low]


def edge_support(
    edges: Sequence[LooseEdge], *, uncertain: bool = False, longest: Nm = LONGEST_LUMBER
) -> tuple[FramingWork, ...]:
    """What goes behind each loose edge, in the edges' order: a nailer, a stud, or clips.

    Edges nobody has looked at are left out unless `uncertain` is true. Tees are left out: their studs are sticks of the
    partition. An edge longer than the longest stick takes its nailer in parts.
    """
    found = []
    for edge in edges:
        if edge.kind is LooseEdgeKind.TEE or not (edge.certain or uncertain):
            continue
        if edge.support is Support.CLIP:
            count = -(-edge.length // length("FR-12")) + 1
            found.append(
                FramingWork(
                    kind=WorkKind.CLIP,
                    surface=edge.surface,
                    lumber=None,
                    length=edge.length,
                    count=count,
                    text=edge.text,
                    figures=("FR-12",),
                )
            )
            continue
        kind = WorkKind.NAILER if edge.support is Support.NAILER else WorkKind.STUD
        found += [
            FramingWork(kind=kind, surface=edge.surface, lumber=NAILER, length=part, count=1, text=edge.text)
            for part in _parts(edge.length, longest)
        ]
    return tuple(found)


def _parts(run: Nm, longest: Nm) -> list[Nm]:
    """A run in as few parts as the longest stick allows, as even as whole nanometres are."""
    count = max(1, -(-run // longest))
    marks = [round(Fraction(run * k, count)) for k in range(count + 1)]
    return [Nm(high - low) for low, high in pairwise(marks) if high > low]


def _shown(nm: Nm) -> str:
    return format_length(nm, UnitSystem.INCH, feet=False)
