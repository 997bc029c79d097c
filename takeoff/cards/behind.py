"""What a surface hides, in words: each thing with its distances from two sides, and the members
that a screw finds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from takeoff.boards.plan import JointKind
from takeoff.cards.lookup import Seen, see
from takeoff.cards.tape import tape
from takeoff.choices import HiddenKind, Runs, SurfaceKind
from takeoff.framing.members import MemberKind
from takeoff.geometry.polygon import bounds
from takeoff.geometry.surface import EdgeKind
from takeoff.job import Takeoff
from takeoff.needs.backers import backer_length
from takeoff.reference import figures
from takeoff.units import Nm

__all__ = ["BehindFace", "HiddenThing", "SeamBacker", "behind_face", "seam_backers"]


@dataclass(frozen=True, slots=True, kw_only=True)
class HiddenThing:
    """One thing behind the board: what it is, and where its edges are across and up, in words.
    `id` is empty for a backer of a seam, which the plan puts there. `planned` is not in yet."""

    id: str
    name: str
    what: str
    across: str
    up: str
    planned: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class BehindFace:
    """What a surface hides. `left` and `bottom` name the two sides that distances are from.
    `members` are the centers of studs or joists in words, one line each way they run, and
    `assumed` says that nobody looked where they are."""

    left: str
    bottom: str
    things: tuple[HiddenThing, ...]
    members: tuple[str, ...]
    assumed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SeamBacker:
    """The backer of a floating seam as a rectangle of the surface; `joint` is the seam's place in
    its row, and `long` its length."""

    row: int
    joint: Nm
    long: Nm
    left: Nm
    bottom: Nm
    right: Nm
    top: Nm


def seam_backers(seen: Seen) -> Iterator[SeamBacker]:
    """The backers of the seams that float, which the plan puts behind the board."""
    plan = seen.plan
    if plan is None:
        return
    half = figures.length("BB-width") // 2
    rows = {row.index: row for row in plan.rows}
    for joint in plan.joints:
        if joint.kind is not JointKind.FLOATING:
            continue
        row = rows[joint.row]
        long = backer_length(Nm(row.high - row.low))
        middle = (row.low + row.high) // 2
        low, high = (joint.at - half, middle - long // 2), (joint.at + half, middle + long // 2)
        if plan.rows_run is Runs.ACROSS:
            low, high = (low[1], low[0]), (high[1], high[0])
        yield SeamBacker(
            row=joint.row,
            joint=joint.at,
            long=long,
            left=Nm(low[0]),
            bottom=Nm(low[1]),
            right=Nm(high[0]),
            top=Nm(high[1]),
        )


def behind_face(takeoff: Takeoff, surface: str) -> BehindFace:
    """What the surface of that id hides. Raises `BadValue` where there is no such surface."""
    seen = see(takeoff, surface)
    left, bottom = _sides(seen)
    return BehindFace(
        left=left,
        bottom=bottom,
        things=(*_noted(seen, left, bottom), *_backers(seen, left, bottom)),
        members=tuple(_members(seen, left, bottom)),
        assumed=seen.framed.provisional,
    )


def _sides(seen: Seen) -> tuple[str, str]:
    """What the surface meets at its left end and at its bottom."""
    surface = seen.surface
    low_u, low_v, _, _ = bounds(surface.outline)
    left, bottom = "the left end", "the lower side of the drawing"
    corners = surface.outline
    for edge, start, end in zip(surface.edges, corners, (*corners[1:], corners[0]), strict=True):
        name = seen.names.get(edge.neighbour or "", "")
        if start[0] == end[0] == low_u and name:
            left = name
        if start[1] == end[1] == low_v and (name or edge.kind is EdgeKind.FLOOR):
            bottom = "the floor" if edge.kind is EdgeKind.FLOOR else name
    if surface.kind is SurfaceKind.WALL and bottom.startswith("the lower"):
        bottom = "the floor"
    return left, bottom


def _noted(seen: Seen, left: str, bottom: str) -> Iterator[HiddenThing]:
    for item in seen.surface.hidden:
        lumber = f"{item.lumber} " if item.kind is HiddenKind.BLOCKING else ""
        across, up = _where(seen, left, bottom, (item.left, item.right), (item.bottom, item.top))
        yield HiddenThing(
            id=item.id,
            name=item.name,
            what=f"{lumber}{item.kind.value}",
            across=across,
            up=up,
            planned=item.planned,
        )


def _backers(seen: Seen, left: str, bottom: str) -> Iterator[HiddenThing]:
    for one in seam_backers(seen):
        across, up = _where(seen, left, bottom, (one.left, one.right), (one.bottom, one.top))
        yield HiddenThing(
            id="", name=f"Seam backer, row {one.row + 1}", what="seam backer", across=across, up=up
        )


def _where(
    seen: Seen, left: str, bottom: str, across: tuple[Nm, Nm], up: tuple[Nm, Nm]
) -> tuple[str, str]:
    low_u, low_v, _, _ = bounds(seen.surface.outline)
    units = seen.house.units

    def span(ends: tuple[Nm, Nm], start: Nm) -> str:
        return " to ".join(tape(Nm(end - start), units) for end in ends)

    return f"{span(across, low_u)} from {left}", f"{span(up, low_v)} from {bottom}"


def _members(seen: Seen, left: str, bottom: str) -> Iterator[str]:
    """The centers of studs or joists, each once, with the side they are read from."""
    low_u, low_v, _, _ = bounds(seen.surface.outline)
    word = "Studs" if seen.surface.kind is SurfaceKind.WALL else "Joists or rafters"
    for runs, start, side in ((Runs.ACROSS, low_u, left), (Runs.ALONG, low_v, bottom)):
        centers = sorted(
            {
                member.centre
                for member in seen.framed.members
                if member.runs is runs and member.kind is not MemberKind.NAILER
            }
        )
        if centers:
            read = ", ".join(tape(Nm(center - start), seen.house.units) for center in centers)
            yield f"{word}, centers from {side}: {read}"
