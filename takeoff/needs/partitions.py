"""What framing a planned partition takes: its sticks and the nails of every connection.

The backing of a partition that is framed after board is taken by the framing of its room: it goes
in before the board that hides it, and bought with the partition it would come too late.
"""

from __future__ import annotations

from collections.abc import Sequence

from takeoff.framing.over_plates import PlateBlocks
from takeoff.framing.partition import FramePiece, PartitionFrame, Role
from takeoff.needs.materials import (
    ANCHORS,
    FRAMING_SCREWS,
    NAILS_8D,
    NAILS_16D,
    Material,
    lumber_material,
    screw_material,
    steel_material,
    treated_material,
)
from takeoff.needs.need import Need, Phase
from takeoff.needs.tally import Tally
from takeoff.reference import figures, is_steel
from takeoff.units import INCH, Nm, UnitSystem

__all__ = ["backing_needs", "block_needs", "frame_needs", "needs"]

_BLOCKS = lumber_material("2x4")
_TRACKS = (Role.SOLE_PLATE, Role.TOP_PLATE, Role.HEADER, Role.SILL)
# Through a track into wood.
_TRACK_SCREWS = screw_material("coarse", Nm(13 * INCH // 8))
_STANDING = (Role.STUD, Role.KING, Role.CRIPPLE)
_LYING = (Role.HEADER, Role.SILL, Role.BACKING)
_BESIDE = (Role.TRIMMER, Role.CORNER_STUD, Role.TEE_STUD)


def needs(frame: PartitionFrame, *, slab: bool = False, units: UnitSystem) -> tuple[Need, ...]:
    """What partition `frame` takes, but for its backing, as needs of the room it stands in. On a
    `slab` its sole plates are of treated lumber, and anchored in place of nailed.

    Nails by connection (the code's table, from memory): a standing stick is toe-nailed at one end
    and end-nailed through the plate at the other; one that stands beside another is face-nailed to
    it; headers, sills and blocks are nailed at both ends; plates are face-nailed to what they lie
    on.
    """
    pieces = [piece for piece in frame.pieces if piece.role is not Role.BACKING]
    return frame_needs(frame, pieces, Phase.PARTITIONS, units, slab=slab)


def backing_needs(frame: PartitionFrame, *, units: UnitSystem) -> tuple[Need, ...]:
    """What the backing of partition `frame` takes behind the board of its room: needs of the
    framing there. None where it is framed before board."""
    pieces = [piece for piece in frame.pieces if piece.role is Role.BACKING]
    return frame_needs(frame, pieces, Phase.FRAMING, units)


def frame_needs(
    frame: PartitionFrame,
    pieces: Sequence[FramePiece],
    phase: Phase,
    units: UnitSystem,
    *,
    slab: bool = False,
) -> tuple[Need, ...]:
    """What these pieces of a frame take: their sticks, and the nails or anchors of each."""
    tally = Tally(phase, frame.room, units)
    for piece in pieces:
        treated = slab and piece.role is Role.SOLE_PLATE and not is_steel(piece.lumber)
        tally.cut(
            _material(piece, treated=treated),
            [piece.length] * piece.count,
            f"{_named(frame.name, piece)} {tally.stick(piece.length)} long, {piece.text}"
            + (", treated, for it lies on concrete" if treated else ""),
            *piece.figures,
            *(("FR-steel-sizes",) if is_steel(piece.lumber) else ()),
            *(("TS-treated",) if treated else ()),
            piece=f"{frame.name}, {piece.role}",
        )
    for piece in pieces:
        if slab and piece.role is Role.SOLE_PLATE:
            _anchors(tally, frame.name, piece)
        elif is_steel(piece.lumber):
            _screws(tally, frame.name, piece)
        else:
            _nails(tally, frame.name, piece)
    return tally.needs()


def block_needs(
    frame: PartitionFrame, blocks: PlateBlocks, *, before_board: bool, units: UnitSystem
) -> tuple[Need, ...]:
    """What the blocks over the top plate of `frame` take: with the partition where it is framed
    before board, and with the framing of the room where it stands on finished faces."""
    phase = Phase.PARTITIONS if before_board else Phase.FRAMING
    tally = Tally(phase, frame.room, units)
    what = f"{frame.name}: {blocks.count} blocks between the joists of {blocks.ceiling}"
    when = "" if before_board else ", put in before it is closed"
    tally.cut(
        _BLOCKS,
        [blocks.length] * blocks.count,
        f"{what} over its top plate, at most {tally.shown(figures.length('FR-plate-blocks'))} "
        f"apart{when}",
        "FR-plate-blocks",
    )
    ends, up = 2 * figures.count("NL-block"), figures.count("NL-01")
    tally.count(
        NAILS_16D,
        (ends + up) * blocks.count,
        f"{what}: {ends // 2} at each end of a block and {up} up into it through the plate",
        "NL-block",
        "NL-01",
    )
    return tally.needs()


def _anchors(tally: Tally, name: str, piece: FramePiece) -> None:
    """Anchors of a sole plate: one near each end, and between them at most so far apart."""
    spacing, end = figures.length("TS-anchors"), figures.length("TS-end")
    between = max(0, piece.length - 2 * end)
    each = -(-between // spacing) + 1
    tally.count(
        ANCHORS,
        each * piece.count,
        f"{_named(name, piece)}, {each} anchors each: within {tally.shown(end)} of its ends and at "
        f"most {tally.shown(spacing)} apart",
        "TS-anchors",
        "TS-end",
    )


def _material(piece: FramePiece, *, treated: bool) -> Material:
    if is_steel(piece.lumber):
        return steel_material(piece.lumber, track=piece.role in _TRACKS)
    return treated_material(piece.lumber) if treated else lumber_material(piece.lumber)


def _screws(tally: Tally, name: str, piece: FramePiece) -> None:
    """Screws of steel: through both flanges at both ends of what stands or lies between tracks, and
    along what stands beside another stud. Tracks are fastened to floor and ceiling."""
    what = _named(name, piece)
    if piece.role in (Role.SOLE_PLATE, Role.TOP_PLATE):
        spacing = figures.length("NL-track")
        along = -(-piece.length // spacing) + 1
        text = f"{what}, fastened every {tally.shown(spacing)}"
        tally.count(_TRACK_SCREWS, along * piece.count, text, "NL-track")
        return
    ends = 2 * figures.count("NL-steel")
    tally.count(FRAMING_SCREWS, ends * piece.count, f"{what}, {ends // 2} at each end", "NL-steel")


def _nails(tally: Tally, name: str, piece: FramePiece) -> None:
    what = _named(name, piece)
    if piece.role in _STANDING:
        toe, end = figures.count("NL-02"), figures.count("NL-01")
        tally.count(NAILS_8D, toe * piece.count, f"{what}, {toe} toe-nailed at one end", "NL-02")
        tally.count(
            NAILS_16D, end * piece.count, f"{what}, {end} through the plate at the other", "NL-01"
        )
    elif piece.role in _LYING:
        at_ends = 2 * figures.count("NL-block")
        tally.count(
            NAILS_16D, at_ends * piece.count, f"{what}, {at_ends // 2} at each end", "NL-block"
        )
    elif piece.role in _BESIDE:
        spacing = figures.length("NL-05")
        along = -(-piece.length // spacing) + 1
        tally.count(
            NAILS_16D,
            along * piece.count,
            f"{what}, face-nailed every {tally.shown(spacing)}",
            "NL-05",
        )
    else:
        spacing = figures.length("NL-04")
        along = -(-piece.length // spacing) + 1
        tally.count(
            NAILS_16D,
            along * piece.count,
            f"{what}, face-nailed every {tally.shown(spacing)}",
            "NL-04",
        )


def _named(name: str, piece: FramePiece) -> str:
    return f"{name}: {piece.count} {piece.role}{'s' if piece.count > 1 else ''}"
