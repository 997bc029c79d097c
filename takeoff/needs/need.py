"""A need: an amount of a material that a phase of a room takes, with its reasons."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from takeoff.quantities import Amount

__all__ = ["CrossCheck", "Need", "Phase", "Reason", "in_phase_order", "phase_label"]


class Phase(StrEnum):
    """The phases that every room has, in the order of the work. People name others of their own,
    which are texts that begin with `own-`."""

    TEAR_OUT = "strip-out"
    FRAMING = "framing"
    ROUGH_IN = "rough-in"
    INSULATION = "insulation"
    PARTITIONS = "partitions"
    HANGING = "hanging"
    TAPING = "taping"
    FINISHING = "finishing"

    @property
    def label(self) -> str:
        """What people read for it. The phase that tears out is stored under a name of before."""
        return "tear-out" if self is Phase.TEAR_OUT else self.value


def phase_label(phase: str, own: Mapping[str, str]) -> str:
    """Return what people read for a phase. `own` has the names of the phases that they named
    themselves, which are read as they were typed."""
    if phase in own:
        return own[phase]
    try:
        return Phase(phase).label
    except ValueError:
        return phase.removeprefix("own-")


def in_phase_order(phases: Iterable[str]) -> list[str]:
    """Return each of the phases once: those that every room has in the order of the work, then
    those that people named, as they come."""
    named = dict.fromkeys(phases)
    given = [phase.value for phase in Phase if phase in named]
    return given + [phase for phase in named if phase not in given]


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
    """An amount of `material` (by its id) that one phase of one room takes. `phase` is a `Phase` or
    one that people named. `lengths` are the sticks to cut, in nanometres."""

    phase: str
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
