"""Levels of finish: how many coats each kind of seam, fastener and bead gets."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from takeoff.errors import BadValue
from takeoff.reference.data import Status, tables

__all__ = ["Level", "level", "levels"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """Coats at a level of finish, the bedding coat counted. `skim` is a thin coat over the whole
    surface."""

    level: int
    flat: int
    angle: int
    fastener: int
    bead: int
    tape: bool
    skim: bool
    sand: bool
    source: str
    status: Status

    @property
    def id(self) -> str:
        """The id a reason names it by, `FL-0` to `FL-5`."""
        return f"FL-{self.level}"


@cache
def levels() -> tuple[Level, ...]:
    """Levels 0 to 5 in order."""
    return tuple(Level(**{**row, "status": Status(row["status"])}) for row in tables()["level"])


def level(number: int) -> Level:
    """The level of that number; raises `BadValue` outside 0 to 5."""
    for level in levels():
        if level.level == number:
            return level
    raise BadValue(f"Level of finish must be 0 to 5, for example 4; got {number}")
