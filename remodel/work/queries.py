"""What is next, what waits, and what to think of before a step."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Sum

from remodel.house.models import HiddenItem, House, Partition, Room
from remodel.work.models import DayLog, Phase, PhaseState

__all__ = ["Progress", "StepWarning", "hours_of", "progress_of", "step_warnings"]


@dataclass(frozen=True, slots=True)
class Progress:
    """A room's phases at a glance: how many of how many are done, what is next, what waits and for
    what."""

    phases: tuple[Phase, ...]
    done: int
    of: int
    next: Phase | None
    waiting: tuple[Phase, ...]


@dataclass(frozen=True, slots=True)
class StepWarning:
    """Something to know before a step. `severity` is stop, think or note; `source` says where the
    rule is from."""

    severity: str
    text: str
    reason: str
    source: str = "common practice, no published source"


def progress_of(room: Room) -> Progress:
    """Of a room fetched with its phases; no query of its own."""
    phases = tuple(
        sorted(
            (phase for phase in room.phases.all() if not phase.left_out),
            key=lambda phase: phase.position,
        )
    )
    open_ = [phase for phase in phases if phase.state != PhaseState.DONE]
    return Progress(
        phases=phases,
        done=len(phases) - len(open_),
        of=len(phases),
        # Phases come in order: what stands behind one that waits is not next.
        next=open_[0] if open_ and open_[0].state != PhaseState.BLOCKED else None,
        waiting=tuple(phase for phase in open_ if phase.state == PhaseState.BLOCKED),
    )


def step_warnings(phase: Phase, state: str) -> list[StepWarning]:
    """What to think of before a phase of a room is started or done; empty for any other step."""
    if state not in (PhaseState.IN_PROGRESS, PhaseState.DONE, PhaseState.READY):
        return []
    room = phase.room
    others = {phase.key: phase for phase in room.phases.all()}
    if phase.key == "hanging":
        return [*_before_board(others), *_blocking(room), *_partitions(room)]
    if phase.key == "taping":
        return [*_unfinished(others, ("hanging",), "taping"), _TAPING_COLD]
    if phase.key == "finishing":
        return list(_unfinished(others, ("taping",), "finishing"))
    return []


_TAPING_COLD = StepWarning(
    "think",
    "Keep the room at 50 °F (10 °C) or warmer from two days before taping until the compound is "
    "dry.",
    "Drying compound that freezes or dries cold shrinks, cracks and loses its bond.",
    "GA-216, application and finishing of gypsum panel products; check the maker's sheet",
)


def _before_board(others: dict[str, Phase]) -> Iterable[StepWarning]:
    for key, what in (("rough-in", "Rough-in"), ("insulation", "Insulation")):
        phase = others.get(key)
        if phase is not None and not phase.left_out and phase.state != PhaseState.DONE:
            yield StepWarning(
                "stop",
                f"{what} is {phase.get_state_display().lower()}. Have it done and signed off "
                "before board closes it.",
                "What is behind the board cannot be inspected or put right without opening it "
                "again.",
            )


def _blocking(room: Room) -> Iterable[StepWarning]:
    for item in HiddenItem.objects.filter(room=room, planned=True):
        yield StepWarning(
            "stop",
            f"{item.name} is planned and not in yet.",
            "It must be behind the board before its surface is closed.",
        )


def _partitions(room: Room) -> Iterable[StepWarning]:
    for partition in Partition.objects.filter(room=room, framed="after", blocking_recorded=False):
        yield StepWarning(
            "stop",
            f"{partition} is framed after board, and no blocking is recorded where it meets the "
            "walls and the ceiling.",
            "A partition on finished faces needs something behind the board to be fastened to.",
        )
    for partition in Partition.objects.filter(room=room, framed="before"):
        yield StepWarning(
            "think",
            f"{partition} is framed before board: frame it first, or change it to after board and "
            "compare both.",
            "Board hung first runs through behind it, and its corners are then taped on finished "
            "faces.",
        )


def _unfinished(others: dict[str, Phase], keys: Iterable[str], what: str) -> Iterable[StepWarning]:
    for key in keys:
        phase = others.get(key)
        if phase is not None and not phase.left_out and phase.state != PhaseState.DONE:
            yield StepWarning(
                "think",
                f"{phase.name} is {phase.get_state_display().lower()}, and {what} comes after it.",
                "Work done out of order is damaged by what follows.",
            )


def hours_of(house: House) -> dict[tuple[UUID, str], int]:
    """Minutes logged by room and phase key; one query."""
    hours = (
        DayLog.objects.filter(room__house=house, room__deleted_at=None)
        .values("room", "phase__key")
        .annotate(all=Sum("minutes"))
    )
    return {(hour["room"], hour["phase__key"] or ""): hour["all"] for hour in hours}
