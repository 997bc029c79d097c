"""Members behind a surface: where they stand, as centre lines with an extent."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from takeoff.choices import Runs
from takeoff.geometry.surface import Surface
from takeoff.units import Nm

__all__ = ["FramedSurface", "Member", "MemberKind"]


class MemberKind(StrEnum):
    """`LAYOUT` is on the spacing, `EXTRA` was named singly, `END` closes the run, `OPENING` stands beside one."""

    LAYOUT = "layout"
    EXTRA = "extra"
    END = "end"
    OPENING = "opening"
    NAILER = "nailer"


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """One stud, joist, rafter or furring strip: `centre` is a u where it runs across, a v where it runs along.

    `low` to `high` is its extent along itself (v where it runs across). Where an opening interrupts a stud there are
    two members, below and above it.
    """

    kind: MemberKind
    runs: Runs
    centre: Nm
    width: Nm
    low: Nm
    high: Nm


@dataclass(frozen=True, slots=True, kw_only=True)
class FramedSurface:
    """A surface with its members in order of centre; `provisional` where they were assumed, not looked at.

    `start_backed` and `end_backed`: whether the board's edge at the low and high end of the run of members has
    something behind it (None: not known, so it is listed to be looked at).
    """

    surface: Surface
    members: tuple[Member, ...]
    provisional: bool
    start_backed: bool | None
    end_backed: bool | None
