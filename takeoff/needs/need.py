"""A need: an amount of a material that a phase of a room takes, with its reasons."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from takeoff.quantities import Amount

__all__ = ["CrossCheck", "Need", "Phase", "Reason"]


class Phase(StrEnum):
    """The phases of a room that carry quantities, in the order of the work."""

    TEAR_OUT = "strip-out"
    FRAMING = "framing"
    INSULATION = "insulation"
    PARTITIONS = "partitions"
    HANGING = "hanging"
    TAPING = "taping"
    FINISHING = "finishing"

    @property
    def label(self) -> str:
        """What people read for it. The phase that tears out is stored under a name of before."""
        return "tear-out" if self is Phase.TEAR_OUT else self.value


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One reason of a need: what was counted (`text`), its share of the need, and the trade figures
    it rests on.

    `surface` is the surface it comes from, where there is one. The amounts of the reasons add up to
    the need, before any rounding that `text` names. `lengths` are its sticks to cut, in nanometres,
    and `piece` is what a cut list calls each of them, where that is shorter than `text`.
    """

    text: str
    amount: Amount
    surface: str | None = None
    figures: tuple[str, ...] = ()
    lengths: tuple[int, ...] = ()
    piece: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """An amount of `material` (by its id) that one phase of one room takes. `lengths` are the
    sticks to cut, in nanometres."""

    phase: Phase
    room: str
    material: str
    amount: Amount
    reasons: tuple[Reason, ...]
    lengths: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossCheck:
    """Our amount of a bulk material beside that of a handbook for the same area. Where they are
    more than 15 % apart, `why` gives the reason.

    `name` says what is added up where that is more than one material; it is empty where `material`
    says it all.
    """

    phase: Phase
    material: str
    ours: Amount
    handbook: Amount
    figure: str
    why: str = ""
    name: str = ""
