"""How far the phases of rooms are, and the hours spent on them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Sum

from remodel.bridge.words import QUANTITY_PHASES, Choices
from remodel.house.models import House, Room
from remodel.work.models import GIVEN_PHASES, AddedNeed, DayLog, Phase, PhaseState

__all__ = [
    "Progress",
    "hours_of",
    "names_in_row",
    "names_of_phases",
    "phases_with_needs",
    "progress_of",
    "takes_something",
]

# Of these nothing is counted but what people add.
_EMPTY = frozenset({"rough-in"})


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


def phases_with_needs(house: House | UUID) -> Choices:
    """The phases of a house that take something, as (key, name): those that every room has, then
    those that people named and added something to. Rooms share a phase of one key."""
    added = dict(
        AddedNeed.objects.filter(
            phase__room__house=house,
            phase__room__deleted_at=None,
            phase__deleted_at=None,
        )
        .order_by("phase__room__position", "phase__position")
        .values_list("phase__key", "phase__name")
    )
    given = [(key, name) for key, name in QUANTITY_PHASES if key not in _EMPTY or key in added]
    keys = {key for key, _ in QUANTITY_PHASES}
    return given + [(key, name) for key, name in added.items() if key not in keys]


def takes_something(phase: Phase) -> bool:
    """Whether a phase takes anything: one of every room that does, or any that people added to."""
    counted = {key for key, _ in QUANTITY_PHASES} - _EMPTY
    return phase.key in counted or phase.added.exists()


def names_of_phases(house: House | UUID, *, among: Iterable[str] | None = None) -> dict[str, str]:
    """What each phase of a house is called, by key, those that were removed among them. Where all
    `among` are phases that every room has, nothing is looked up."""
    if among is not None and not set(among) - dict(GIVEN_PHASES).keys() - {""}:
        return dict(GIVEN_PHASES)
    own = Phase.all_objects.filter(room__house=house, own=True).values_list("key", "name")
    return dict(GIVEN_PHASES) | dict(own)


def names_in_row(phases: Choices) -> str:
    """Phases one after the other, as a heading has them: `Hanging, taping, Trim`. Names that people
    gave stay as they were typed."""
    given = dict(GIVEN_PHASES)
    words = [name.lower() if key in given else name for key, name in phases]
    text = ", ".join(words)
    return text[:1].upper() + text[1:]
