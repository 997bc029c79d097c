"""What framing a planned partition takes: its sticks and the nails of every connection.

The backing of a partition that is framed after board is taken by the framing of its room: it goes
in before the board that hides it, and bought with the partition it would come too late.
"""

from __future__ import annotations

from collections.abc import Sequence

from takeoff.framing.partition import FramePiece, PartitionFrame, Role
from takeoff.needs.materials import NAILS_8D, NAILS_16D, lumber_material
from takeoff.needs.need import Need, Phase
from takeoff.needs.tally import Tally
from takeoff.reference import figures
from takeoff.units import UnitSystem

__all__ = ["backing_needs", "needs"]

_STANDING = (Role.STUD, Role.KING, Role.CRIPPLE)
_LYING = (Role.HEADER, Role.SILL, Role.BACKING)
_BESIDE = (Role.TRIMMER, Role.CORNER_STUD, Role.TEE_STUD)


def needs(frame: PartitionFrame, *, units: UnitSystem) -> tuple[Need, ...]:
    """What partition `frame` takes, but for its backing, as needs of the room it stands in.

    Nails by connection (the code's table, from memory): a standing stick is toe-nailed at one end
    and end-nailed through the plate at the other; one that stands beside another is face-nailed to
    it; headers, sills and blocks are nailed at both ends; plates are face-nailed to what they lie
    on.
    """
    pieces = [piece for piece in frame.pieces if piece.role is not Role.BACKING]
    return _needs_of(frame, pieces, Phase.PARTITIONS, units)


def backing_needs(frame: PartitionFrame, *, units: UnitSystem) -> tuple[Need, ...]:
    """What the backing of partition `frame` takes behind the board of its room: needs of the
    framing there. None where it is framed before board."""
    pieces = [piece for piece in frame.pieces if piece.role is Role.BACKING]
    return _needs_of(frame, pieces, Phase.FRAMING, units)


def _needs_of(
    frame: PartitionFrame, pieces: Sequence[FramePiece], phase: Phase, units: UnitSystem
) -> tuple[Need, ...]:
    tally = Tally(phase, frame.room, units)
    for piece in pieces:
        tally.cut(
            lumber_material(piece.lumber),
            [piece.length] * piece.count,
            f"{_named(frame.name, piece)} {tally.stick(piece.length)} long, {piece.text}",
            *piece.figures,
        )
    for piece in pieces:
        _nails(tally, frame.name, piece)
    return tally.needs()


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
