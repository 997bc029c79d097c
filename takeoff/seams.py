"""Every joint of a room by kind and length: what is taped, beaded or left."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from takeoff.units import Nm

__all__ = ["Seam", "SeamKind"]


class SeamKind(StrEnum):
    """`TAPERED`: two factory edges. `CUT_EDGE`: a long seam where one edge was cut, so no taper helps the tape."""

    TAPERED = "tapered"
    CUT_EDGE = "cut edge"
    BUTT_ON_FRAMING = "butt on framing"
    FLOATING_BUTT = "floating butt"
    INSIDE_CORNER = "inside corner"
    OUTSIDE_CORNER = "outside corner"
    RIDGE = "ridge"
    OPENING_EDGE = "edge at opening"


@dataclass(frozen=True, slots=True, kw_only=True)
class Seam:
    """One joint. `surfaces` is one id, or two where surfaces meet; `row` the lower of the two rows it lies between,
    or the row a butt seam is in. `level` is the finish level that governs it; `wet` ones are bedded in mortar."""

    kind: SeamKind
    room: str
    surfaces: tuple[str, ...]
    length: Nm
    row: int | None = None
    level: int = 4
    mortar: bool = False
