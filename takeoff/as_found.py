"""What of a room is not as it was found: walls that are taken out."""

from __future__ import annotations

from dataclasses import dataclass

from takeoff._checks import check_id, check_length
from takeoff.choices import OldLining
from takeoff.errors import BadValue
from takeoff.units import FOOT, INCH, Nm

__all__ = ["TakenOut"]

_LONGEST = Nm(300 * FOOT)


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenOut:
    """A wall that stands in a room now and is taken out, so that the room is measured without it.

    It stands square off `wall`, `at` from that wall's left end to its near face, and is `length`
    long and `thickness` thick, its linings too. `end` is the wall it runs to; None where it ends in
    the room. `height` None is that of the room's ceiling at its lowest. `old_lining` is what is on
    both its faces; None means that nobody has said. `nonbearing` says that somebody who may tell
    has seen that nothing rests on it.
    """

    id: str
    name: str
    wall: str
    at: Nm
    length: Nm
    thickness: Nm = Nm(9 * INCH // 2)
    end: str | None = None
    height: Nm | None = None
    old_lining: OldLining | None = None
    nonbearing: bool = False

    def __post_init__(self) -> None:
        check_id(self.id, "Wall taken out")
        if not self.name.strip():
            raise BadValue(f"Wall taken out {self.id} must have a name, for example 'Pantry wall'")
        check_length(self.at, f"{self.name} at", zero=True, most=_LONGEST)
        check_length(self.length, f"{self.name} length", most=_LONGEST)
        check_length(self.height, f"{self.name} height", most=Nm(40 * FOOT))
        check_length(self.thickness, f"{self.name} thickness", most=Nm(3 * FOOT))
        if self.end == self.wall:
            raise BadValue(
                f"{self.name}: it cannot end at the wall it starts at; give the wall across from "
                "it as end, or leave end out where it stops in the room"
            )
