"""Board edges with nothing to screw to, found before hanging, each with what mends it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from takeoff.units import Nm

__all__ = ["LooseEdge", "LooseEdgeKind", "Support"]


class LooseEdgeKind(StrEnum):
    CEILING_ALONG_JOISTS = "ceiling edge where joists run along the wall"
    INSIDE_CORNER = "inside corner with one stud"
    WALL_TOP = "wall top without a plate"
    STANDING_BUTT = "butt end of a standing board between members"
    TEE = "tee of a partition"


class Support(StrEnum):
    NAILER = "nailer"
    STUD = "stud"
    CLIP = "clip"


@dataclass(frozen=True, slots=True, kw_only=True)
class LooseEdge:
    """An edge of board without support: which surface, where, how long, what to put behind it.

    `certain` is false where nobody has looked: the page asks for a look before the board is hung.
    """

    kind: LooseEdgeKind
    surface: str
    length: Nm
    support: Support
    certain: bool
    text: str
