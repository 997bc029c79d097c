"""How far the phases of rooms are, and the hours spent on them."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from django.db.models import Sum

from remodel.house.models import House, Room
from remodel.work.models import DayLog, Phase, PhaseState

__all__ = ["Progress", "hours_of", "progress_of"]


@dataclass(frozen=True, slots=True)
class Progress:
    """A room's phases at a glance: how many are done, and what waits."""

    phases: tuple[Phase, ...]
    done: int
    of: int
    waiting: tuple[Phase, ...]


def progress_of(room: Room) -> Progress:
    """The progress of a room that was fetched with its phases, without a query of its own."""
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
        waiting=tuple(phase for phase in open_ if phase.state == PhaseState.BLOCKED),
    )


def hours_of(house: House) -> dict[tuple[UUID, str], int]:
    """Minutes logged by room and phase key, in one query."""
    hours = (
        DayLog.objects.filter(room__house=house, room__deleted_at=None)
        .values("room", "phase__key")
        .annotate(all=Sum("minutes"))
    )
    return {(hour["room"], hour["phase__key"] or ""): hour["all"] for hour in hours}
