"""What the frames of soffits and chases take: sticks of their stud, and nails.

A soffit has a ledger on its wall, a ladder down from the ceiling at its front, and pieces between
them. A chase is framed as a small partition is, with plates and studs in each of its sides.
"""

from __future__ import annotations

from collections.abc import Sequence

from takeoff.built_in import BuiltIn
from takeoff.choices import BuiltKind
from takeoff.framing.partition import stud_count
from takeoff.geometry.rooms import RoomGeometry
from takeoff.geometry.surface import Surface
from takeoff.needs.materials import NAILS_8D, NAILS_16D, lumber_material
from takeoff.needs.need import Need, Phase
from takeoff.needs.tally import Tally
from takeoff.reference import figures, lumber
from takeoff.units import Nm, UnitSystem

__all__ = ["needs"]


def needs(room: RoomGeometry, built: Sequence[BuiltIn], *, units: UnitSystem) -> tuple[Need, ...]:
    """Return what framing what is `built` into a house takes where its faces are in `room`. What is
    left as it stands takes nothing."""
    tally = Tally(Phase.FRAMING, room.room, units)
    faces = {surface.id.split("/", 1)[1]: surface for surface in room.surfaces}
    for one in built:
        front = faces.get(f"{one.id}-front")
        if front is None or not front.action.gets_board or front.action.keeps_lining:
            continue
        if one.kind is BuiltKind.SOFFIT:
            _soffit(tally, one, front)
        elif one.kind is BuiltKind.CHASE:
            _chase(tally, one, front, [f"{one.id}-{side}" in faces for side in ("left", "right")])
    return tally.needs()


def _soffit(tally: Tally, built: BuiltIn, front: Surface) -> None:
    assert built.depth is not None
    assert built.height is not None
    thick = lumber(built.stud).thickness
    long = _wide(front)
    across = stud_count(long, built.spacing)
    rung, joist = Nm(built.height - 2 * thick), Nm(built.depth - 2 * thick)
    _cut(tally, built, [long] * 3, "a ledger on the wall, and two rails of its front", "FR-soffit")
    _along(tally, built, [long] * 2, "its ledger and upper rail")
    for what, length in (("rungs of its front", rung), ("pieces from the wall out", joist)):
        if length > 0:
            apart = f"{across} {what}, {tally.shown(built.spacing)} apart, one at each end"
            _cut(tally, built, [length] * across, apart, "FR-soffit")
            tally.count(
                NAILS_16D,
                2 * figures.count("NL-block") * across,
                f"{built.name}, {what}: {figures.number('NL-block')} at each end",
                "NL-block",
            )


def _chase(tally: Tally, built: BuiltIn, front: Surface, sides: Sequence[bool]) -> None:
    assert built.depth is not None
    size = lumber(built.stud)
    long = _wide(front)
    stud = Nm(max(v for _, v in front.outline) - 2 * size.thickness)
    out = Nm(built.depth - size.width)
    plates = [long] * 2 + ([out] * 2 * sum(sides) if out > 0 else [])
    between = -(-built.depth // built.spacing) - 1
    studs = stud_count(long, built.spacing) + sum(sides) * (1 + between)
    _cut(tally, built, plates, "plates at its floor and ceiling", "FR-chase")
    _along(tally, built, plates, "its plates")
    apart = (
        f"{studs} studs, {tally.shown(built.spacing)} apart in its front, and one at the wall in "
        "each side"
    )
    _cut(tally, built, [stud] * studs, apart, "FR-chase")
    tally.count(
        NAILS_16D,
        figures.count("NL-01") * studs,
        f"{built.name}, studs: {figures.number('NL-01')} through a plate into one end",
        "NL-01",
    )
    tally.count(
        NAILS_8D,
        figures.count("NL-02") * studs,
        f"{built.name}, studs: {figures.number('NL-02')} toe nails at the other end",
        "NL-02",
    )


def _wide(front: Surface) -> Nm:
    return Nm(max(u for u, _ in front.outline))


def _cut(tally: Tally, built: BuiltIn, sticks: Sequence[Nm], what: str, figure: str) -> None:
    tally.cut(
        lumber_material(built.stud),
        sticks,
        f"{built.name}: {what}",
        figure,
        "FR-14",
        piece=built.name,
    )


def _along(tally: Tally, built: BuiltIn, sticks: Sequence[Nm], what: str) -> None:
    spacing = figures.length("NL-nailer")
    tally.count(
        NAILS_16D,
        sum(-(-stick // spacing) + 1 for stick in sticks),
        f"{built.name}: {what}, nailed every {tally.shown(spacing)}",
        "NL-nailer",
    )
