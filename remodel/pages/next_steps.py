"""What is next, in the words of a page: steps that can start, and what the others wait for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby
from uuid import UUID

from django.urls import reverse

from remodel.bridge.sequence import Blocked, Outlook, Startable, Step
from remodel.house.models import House, Partition, Room
from remodel.order_of_work import OrderOfWork
from remodel.web.parts import Task
from remodel.work.models import Phase, PhaseState

__all__ = ["Links", "NextShown", "StepShown", "next_phase", "next_shown", "tasks_of"]

_MOST_TASKS = 4  # more on a page that has other things to say tire
_THING_PAGES = ("partition-first", "partition-later", "backing", "backing-bought")


@dataclass(frozen=True, slots=True, kw_only=True)
class StepShown:
    """A step on a page. `url` is where it is done or told, `done` what a button says that tells it
    is done, empty where it is ticked elsewhere. `waits_for` are other steps, in words."""

    id: str
    name: str
    room: str
    url: str
    done: str = ""
    begun: bool = False
    frees: int = 0
    waits_for: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class NextShown:
    now: tuple[StepShown, ...]
    waiting: tuple[StepShown, ...]
    most: StepShown | None

    @property
    def now_by_room(self) -> list[tuple[str, list[StepShown]]]:
        """What can start, under the name of its room; what is of no room comes first, under an
        empty name."""
        return _by_room(self.now)

    @property
    def waiting_by_room(self) -> list[tuple[str, list[StepShown]]]:
        return _by_room(self.waiting)


class Links:
    """The pages where the steps of a house are done, read in two queries at most. `phases` are
    those of the rooms, where they are read already."""

    def __init__(
        self, house: House, rooms: Iterable[Room], phases: Iterable[Phase] | None = None
    ) -> None:
        self._house = house
        self._rooms = {room.key: room.pk for room in rooms}
        rows = (
            Phase.objects.filter(room__in=self._rooms.values()).values_list("pk", "room", "key")
            if phases is None
            else ((phase.pk, phase.room_id, phase.key) for phase in phases)
        )
        self._phases: Mapping[tuple[UUID, str], UUID] = {(room, key): pk for pk, room, key in rows}
        partitions = Partition.objects.filter(house=house)
        self._partitions: Mapping[str, UUID] = dict(partitions.values_list("key", "pk"))

    def of(self, step: Step) -> str:
        """The page of a step; of one that is only said to be done, where it is said."""
        room = self._rooms.get(step.room)
        if room is None:
            return reverse("house-next", args=[self._house.pk])
        kind = step.kind.id
        if kind in _THING_PAGES and step.thing in self._partitions:
            return reverse("partition-detail", args=[self._partitions[step.thing]])
        if kind == "blocking":
            return reverse("surface-behind", args=[room, min(step.faces)])
        if kind == "cut":
            return reverse("room-cards", args=[room])
        if kind.startswith("hang-"):
            return reverse("room-hanging", args=[room])
        if step.kind.told.is_work and (room, step.kind.phase) in self._phases:
            return reverse("phase-detail", args=[self._phases[room, step.kind.phase]])
        return reverse("room-next", args=[room])


def next_shown(outlook: Outlook, links: Links) -> NextShown:
    """An outlook for a page."""
    now = {one.step.id: _startable(one, links) for one in outlook.now}
    waits = {one.step.id: one for one in outlook.waiting}
    return NextShown(
        now=tuple(now.values()),
        waiting=tuple(
            _shown(
                one.step,
                links,
                waits_for=(
                    *([one.words] if one.words else []),
                    *(_where(other, one.step.room) for other in _nearest(one, waits)),
                ),
            )
            for one in outlook.waiting
        ),
        most=now[outlook.most.step.id] if outlook.most else None,
    )


def _nearest(one: Blocked, waits: Mapping[str, Blocked]) -> list[Step]:
    """What a step waits for, without what those steps wait for themselves: sanding waits for the
    last coat, and that says all of the coats and the board before it."""
    farther: set[str] = set()
    for other in one.waits_for:
        _add_waited_for(other.id, waits, farther)
    return [other for other in one.waits_for if other.id not in farther]


def _add_waited_for(id_: str, waits: Mapping[str, Blocked], found: set[str]) -> None:
    for other in waits[id_].waits_for if id_ in waits else ():
        if other.id not in found:
            found.add(other.id)
            _add_waited_for(other.id, waits, found)


def _by_room(steps: Iterable[StepShown]) -> list[tuple[str, list[StepShown]]]:
    """Steps by room, which they are in the order of."""
    return [(room, list(those)) for room, those in groupby(steps, key=lambda one: one.room)]


def _startable(one: Startable, links: Links) -> StepShown:
    return _shown(one.step, links, frees=one.frees)


def _shown(
    step: Step, links: Links, *, frees: int = 0, waits_for: tuple[str, ...] = ()
) -> StepShown:
    return StepShown(
        id=step.id,
        name=step.name,
        room=step.room_name,
        url=links.of(step),
        done=step.kind.done,
        begun=step.known.begun,
        frees=frees,
        waits_for=waits_for,
    )


def _where(step: Step, room: str) -> str:
    """A step as another one's sentence names it, with its room where that is another."""
    return step.name if step.room in ("", room) else f"{step.name} ({step.room_name})"


def next_phase(order: OrderOfWork, room: Room, phases: Iterable[Phase]) -> Phase | None:
    """The phase that a room goes on with: of the first step that no other work stands before, else
    the first of the person's own. What is only to be said or looked at is asked when it begins."""
    waiting = {one.step.id: one for one in order.outlook.waiting}
    open_ = {
        phase.key: phase
        for phase in phases
        if not phase.left_out and phase.state not in (PhaseState.DONE, PhaseState.BLOCKED)
    }
    for step in order.graph.of_room(room.key):
        if step.is_done or not step.kind.told.is_work or step.kind.phase not in open_:
            continue
        others = waiting[step.id].waits_for if step.id in waiting else ()
        if not any(other.kind.told.is_work for other in others):
            return open_[step.kind.phase]
    return next((phase for phase in open_.values() if phase.own), None)


def tasks_of(order: OrderOfWork, links: Links) -> list[Task]:
    """The first steps that can start in a house, what frees most work first: one a room, so that a
    house of many rooms is not told of one alone."""
    outlook = order.outlook
    ranked = sorted(outlook.now, key=lambda one: one is not outlook.most)
    seen: set[str] = set()
    tasks = []
    for one in ranked:
        if one.step.room in seen and one.step.room:
            continue
        seen.add(one.step.room)
        shown = _startable(one, links)
        tasks.append(
            Task(
                name=f"{shown.name}, {shown.room}" if shown.room else shown.name,
                status="in_progress" if shown.begun else "ready",
                url=shown.url,
                note=_frees(one) if one is outlook.most else "",
            )
        )
    return tasks[:_MOST_TASKS]


def _frees(one: Startable) -> str:
    return f"Frees most: {one.frees} step{'' if one.frees == 1 else 's'} wait for it"
