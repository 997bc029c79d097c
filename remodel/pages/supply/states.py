"""Where the phases of each room stand, as one chooses what to order for."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from remodel.house.models import House
from remodel.supply.claims import in_line
from remodel.work.models import Phase, PhaseState
from remodel.work.queries import phases_with_needs

__all__ = ["PhaseShown", "phases_by_room", "phases_words", "to_be_ordered"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PhaseShown:
    """A phase of a room: where it stands in words, whether it takes nothing any more, whether it
    was ordered, and whether anything was done about it at all."""

    key: str
    name: str
    words: str
    ended: bool
    ordered: bool
    begun: bool


def phases_by_room(house: House) -> dict[UUID, list[PhaseShown]]:
    """The phases of each room that take something, in their order, in three queries."""
    ordered = in_line(house)
    shown: dict[UUID, list[PhaseShown]] = {
        room: [] for room in house.rooms.values_list("pk", flat=True)
    }
    taking = [key for key, _ in phases_with_needs(house)]
    phases = Phase.objects.filter(room__house=house, room__deleted_at=None, key__in=taking)
    for phase in phases.order_by("position"):
        ended = phase.left_out or phase.state == PhaseState.DONE
        state = "left out" if phase.left_out else phase.get_state_display().lower()
        mine = phase.pk in ordered and not ended
        words = [state] if state != PhaseState.NOT_STARTED or not mine else []
        words += ["ordered"] if mine else []
        shown[phase.room_id].append(
            PhaseShown(
                key=phase.key,
                name=phase.name,
                words=f"{phase.name} {', '.join(words)}",
                ended=ended,
                ordered=mine,
                begun=ended or phase.state != PhaseState.NOT_STARTED,
            )
        )
    return shown


def to_be_ordered(phases: Sequence[PhaseShown], chosen: Collection[str]) -> bool:
    """Whether a room is ticked beforehand: some chosen phase of it (any, where none is chosen yet)
    is neither done, left out nor ordered."""
    return any(
        not phase.ended and not phase.ordered
        for phase in phases
        if not chosen or phase.key in chosen
    )


def phases_words(phases: Sequence[PhaseShown]) -> SafeString:
    """The phases of a room for beside its box. The page shows those of the phases that are ticked;
    while none is, those that are begun or ordered."""
    rows = format_html_join(
        "",
        '<span class="room-phase room-phase-{}{}">{}</span>',
        (
            (phase.key, "" if phase.ordered or phase.begun else " room-phase-plain", phase.words)
            for phase in phases
        ),
    )
    return format_html('<span class="room-phases">{}</span>', rows) if phases else SafeString("")
