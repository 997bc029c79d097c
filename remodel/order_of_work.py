"""The order of work of a house: what is done, what can start, what stops, and what people said and
accepted of it.

    order = order_of(room)
    asked = order.stops([Doing(kind="hang-walls", room=room.key)])

Nothing here refuses a write: what stops is asked about where the work is told
(`remodel/pages/stops.py`), and is kept once somebody accepts it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from operator import attrgetter
from typing import Any
from uuid import UUID

from django.db.models import Q
from django.utils import timezone

from remodel.board.models import PlacedPiece
from remodel.board.placed import piece_key, split_key
from remodel.board.queries import takes_of_house, takes_of_rooms
from remodel.bridge.sequence import (
    COAT_STEPS,
    Doing,
    Graph,
    Outlook,
    PartitionRow,
    PhaseRow,
    PlannedRow,
    RoomRow,
    Severity,
    Step,
    Told,
    doings_of_phase,
    graph_of_rows,
    outlook_of,
    start_of_phase,
    told_before,
)
from remodel.bridge.takes import RoomTakes
from remodel.cards.models import COATS, DoneMark
from remodel.history.errors import Refused
from remodel.history.services import By, change, create, recorded, remove
from remodel.house.models import (
    Cutout,
    HiddenItem,
    House,
    Partition,
    Room,
    SurfaceChoice,
    Wall,
)
from remodel.house.queries import PLANE_NAMES
from remodel.supply.models import OrderRoom
from remodel.ticks import Ticked
from remodel.work.faces import face_close
from remodel.work.models import AcceptedStop, ClosedFace, Phase, PhaseState, Photo, SaidStep

__all__ = [
    "Doing",
    "OrderOfWork",
    "Told",
    "accept",
    "accept_no_more",
    "close_face",
    "order_of",
    "order_of_house",
    "say_step",
]

# The columns that steps are made from; a room has many more.
_OF_ROOMS = (
    *("house", "key", "name", "position", "finished", "texture", "compound"),
    "behind__room__key",
)
_HANGING = ("hang-ceiling", "hang-walls")
_STARTED = (PhaseState.READY, PhaseState.IN_PROGRESS)


@dataclass(frozen=True)
class OrderOfWork:
    """The graph of a house, or of some of its rooms, with the keys of what was accepted of it.
    `closed` are the faces that are closed, by their room and key there."""

    graph: Graph
    accepted: frozenset[str]
    closed: Mapping[tuple[UUID, str], ClosedFace]

    def told(self, doings: Sequence[Doing]) -> list[Told]:
        """All to say before some steps but what was accepted."""
        return self.not_accepted(told_before(self.graph, doings))

    def not_accepted(self, told: Iterable[Told]) -> list[Told]:
        return [one for one in told if one.key not in self.accepted]

    def stops(self, doings: Sequence[Doing]) -> list[Told]:
        """What stops some steps, and was not accepted."""
        return [one for one in self.told(doings) if one.severity is Severity.STOP]

    def missing(self, room: Room, face: str) -> list[Told]:
        """What is not in, not seen or not photographed of a face, accepted or not."""
        told = told_before(self.graph, [self.closing_of(room, face)])
        return [one for one in told if one.severity is not Severity.NOTE]

    def closing_of(self, room: Room, face: str) -> Doing:
        """Closing one face of a room."""
        return Doing(kind="close-faces", room=room.key, faces=frozenset({face}))

    def faces_of(self, room: Room) -> frozenset[str]:
        """The faces of a room that get board, its partitions' own among them."""
        steps = self.graph.of_room(room.key)
        hung = [step for step in steps if step.kind.id in _HANGING]
        own = {step.thing for step in steps if step.kind.id == "hang-faces"}
        return frozenset().union(own, *(step.faces for step in hung))

    def faces_to_close(self, room: Room) -> frozenset[str]:
        """The faces of a room that can be hung now, have no board and are not closed; none where
        somebody said that they go on without closing."""
        closing = self.graph.steps.get(f"{room.key}/close-faces")
        if closing is None or any(key.endswith(f" {closing.id}") for key in self.accepted):
            return frozenset()
        now = (one.step for one in self.outlook.now if one.step.room == room.key)
        faces = {face for step in now if step.kind.id in _HANGING for face in step.faces}
        return frozenset(faces - closing.known.faces.keys())

    @cached_property
    def outlook(self) -> Outlook:
        return outlook_of(self.graph, self.accepted)

    def of_ticks(self, room: Room, ticks: Iterable[Ticked]) -> list[Doing]:
        """The steps that some ticks of a room's pile are part of."""
        faces: dict[tuple[str, str, str], set[str]] = {}
        for one in ticks:
            key = one.room_key or room.key
            for kind, thing, face in self._steps_of_tick(key, one):
                faces.setdefault((key, kind, thing), set()).add(face)
        return [
            Doing(kind=kind, room=key, thing=thing, faces=frozenset(on))
            for (key, kind, thing), on in faces.items()
        ]

    def _steps_of_tick(self, room: str, one: Ticked) -> list[tuple[str, str, str]]:
        """The kind and thing of each step that a tick is part of, with the face it is on."""
        if one.kind in COAT_STEPS:
            return [(COAT_STEPS[one.kind], "", one.item)]
        if one.kind == DoneMark.Kind.HUNG:
            face = split_key(one.item)[0]
            return [("cut", "", face), (*self._hanging(room, face), face)]
        if one.kind == DoneMark.Kind.CUT:
            return [("cut", "", split_key(one.item)[0])]
        return []  # a step of the hanging order is a reminder

    def _hanging(self, room: str, face: str) -> tuple[str, str]:
        if f"{room}/hang-faces/{face}" in self.graph.steps:
            return "hang-faces", face
        ceiling = self.graph.steps.get(f"{room}/hang-ceiling")
        return ("hang-ceiling" if ceiling and face in ceiling.faces else "hang-walls"), ""

    def of_step(self, step: Step) -> list[Doing]:
        """One step by itself."""
        return [Doing(kind=step.kind.id, room=step.room, thing=step.thing)]

    def of_day(self, phase: Phase) -> list[Doing]:
        """What a day of a phase is spent on."""
        return start_of_phase(self.graph, phase.room.key, phase.key)

    def of_move(self, phase: Phase, state: str) -> list[Doing]:
        """What it means to put a phase into a state: to begin it, or to have done all of it."""
        if state == PhaseState.DONE:
            return doings_of_phase(self.graph, phase.room.key, phase.key)
        return self.of_day(phase) if state in _STARTED else []

    def of_closing(self, room: Room) -> list[Doing]:
        """What it means to call a room done: all that is left of it, in one press."""
        return [
            Doing(kind=step.kind.id, room=room.key, thing=step.thing)
            for step in self.graph.of_room(room.key)
            if step.kind.phase and not step.is_done
        ]

    def of_plan(self, rooms: Iterable[Room], state: str) -> list[Doing]:
        """What it means that the plan of some rooms is ordered, cut or hung."""
        steps = {
            "ordered": ("board-ordered",),
            "cut": ("cut",),
            "hung": ("cut", "hang-ceiling", "hang-walls"),
        }
        return [Doing(kind=kind, room=room.key) for room in rooms for kind in steps.get(state, ())]

    def of_order(self, rooms: Iterable[Room], phases: Collection[str]) -> list[Doing]:
        """What it means to order for some rooms and phases."""
        if "hanging" not in phases:
            return []
        return [Doing(kind="board-ordered", room=room.key) for room in rooms]


def order_of(*rooms: Room, coldest: Any = None) -> OrderOfWork:
    """The order of work of some rooms of one house, with the rooms cut off from them and those
    they are cut off from. `coldest` is how cold the first gets, in °F, where somebody said so."""
    heads = {room.behind.room_id if room.behind else room.pk for room in rooms}
    near = Room.objects.filter(Q(pk__in=heads) | Q(behind__room__in=heads))
    takes = takes_of_rooms(near)
    cold = {rooms[0].pk: float(coldest)} if coldest is not None else {}
    return _order_of(rooms[0].house_id, near, takes, cold)


def order_of_house(
    house: House,
    takes: Mapping[UUID, RoomTakes] | None = None,
    phases: Iterable[Phase] | None = None,
) -> OrderOfWork:
    """The order of work of a whole house. `takes` and `phases` are those of its rooms, where they
    are read already."""
    rooms = Room.objects.filter(house=house)
    takes = takes_of_house(house.pk) if takes is None else takes
    return _order_of(house.pk, rooms, takes, {}, phases)


def _order_of(
    house: UUID,
    rooms: Any,
    takes: Mapping[UUID, RoomTakes],
    cold: Mapping[UUID, float],
    phases: Iterable[Phase] | None = None,
) -> OrderOfWork:
    reading = _Reading(house, rooms, phases)
    said = SaidStep.objects.filter(house=house, done=True).values_list("step", "at")
    graph = graph_of_rows(
        [reading.room(room, takes.get(room.pk), cold.get(room.pk)) for room in reading.rooms],
        {step: reading.hours_since(at) for step, at in said},
    )
    accepted = AcceptedStop.objects.filter(house=house).values_list("key", flat=True)
    return OrderOfWork(graph=graph, accepted=frozenset(accepted), closed=reading.closed)


class _Reading:
    """The rows that the steps of some rooms are made from, each table in one query."""

    def __init__(self, house: UUID, rooms: Any, phases: Iterable[Phase] | None) -> None:
        self._now, self._today = timezone.now(), timezone.localdate()
        self.rooms: list[Room] = list(
            rooms.select_related("behind__room").only(*_OF_ROOMS).order_by("position", "key")
        )
        ids = [room.pk for room in self.rooms]
        self._phases: dict[UUID, dict[str, PhaseRow]] = {}
        columns = ("room_id", "key", "state", "left_out", "done_on", "waits_for")
        rows = (
            Phase.objects.filter(room__in=ids).values_list(*columns)
            if phases is None
            else map(attrgetter(*columns), phases)
        )
        for room, key, state, left_out, done_on, waits_for in rows:
            self._phases.setdefault(room, {})[key] = PhaseRow(
                state=state,
                left_out=left_out,
                hours=_hours_between(done_on, self._today),
                waits_for=waits_for,
            )
        orders = OrderRoom.objects.filter(
            room__in=ids, order__state__in=("placed", "closed"), order__deleted_at=None
        )
        self._ordered = {
            room
            for room, phases in orders.values_list("room", "order__phases")
            if "hanging" in phases
        }
        self._boxes = set(
            Cutout.objects.filter(room__in=ids, kind="box").values_list("room", flat=True)
        )
        self._ceilings = _by_room(
            Wall.objects.filter(room__in=ids, kind="ceiling").values_list("room", "key")
        )
        self._choices = self._choices_of(ids)
        self._partitions: dict[UUID, list[PartitionRow]] = {}
        behind = {room.behind_id: room.key for room in self.rooms if room.behind_id}
        for row in Partition.objects.filter(room__in=ids):
            self._partitions.setdefault(row.room_id, []).append(
                PartitionRow(
                    key=row.key,
                    name=row.name,
                    after_board=row.framed == "after",
                    backed=row.blocking_recorded,
                    behind=behind.get(row.pk, ""),
                )
            )
        self._planned: dict[UUID, list[PlannedRow]] = {}
        for item in HiddenItem.objects.filter(room__in=ids, planned=True).select_related("wall"):
            self._planned.setdefault(item.room_id, []).append(
                PlannedRow(key=item.key, name=item.name, surface=item.surface_key)
            )
        self._coats: dict[UUID, dict[str, dict[str, int]]] = {}
        self._cut: dict[UUID, set[str]] = {}
        marks = DoneMark.objects.filter(room__in=ids, done=True, kind__in=[*COATS, "cut"])
        for room, kind, key, at in marks.values_list("room", "kind", "item", "at"):
            if kind == "cut":
                self._cut.setdefault(room, set()).add(key)
            else:
                coat = self._coats.setdefault(room, {}).setdefault(kind, {})
                coat[key] = self.hours_since(at)
        self._hung: dict[UUID, set[str]] = {}
        pieces = PlacedPiece.objects.filter(room__in=ids, state=PlacedPiece.State.HUNG)
        for room, surface, mark in pieces.values_list("room", "surface", "mark"):
            self._hung.setdefault(room, set()).add(piece_key(surface, mark))

        closed = ClosedFace.objects.filter(room__in=ids).select_related("person")
        self.closed = {(face.room_id, face.surface): face for face in closed}
        self._closed = _by_room(self.closed)
        photos = Photo.objects.filter(room__in=ids).values_list("room", "wall__key", "plane")
        self._photographed = _by_room((room, wall or plane) for room, wall, plane in photos)

    def hours_since(self, at: datetime) -> int:
        return max(0, int((self._now - at).total_seconds()) // 3600)

    def _choices_of(self, ids: Sequence[UUID]) -> dict[UUID, set[str]]:
        words: dict[UUID, set[str]] = {}
        rows = SurfaceChoice.objects.filter(room__in=ids)
        columns = ("room", "action", "wet", "tiled", "insulated", "rated")
        for room, action, wet, tiled, insulated, rated in rows.values_list(*columns):
            so = {
                "tear-out": action == "strip and board",
                "wet": wet,
                "tiled": tiled,
                "insulated": insulated,
                "rated": rated,
            }
            words.setdefault(room, set()).update(word for word, is_so in so.items() if is_so)
        return words

    def room(self, room: Room, takes: RoomTakes | None, coldest: float | None) -> RoomRow:
        facts = set(self._choices.get(room.pk, ()))
        facts |= {"boxes"} if room.pk in self._boxes else set()
        facts |= {"texture"} if room.texture else set()
        surfaces = {place.key.rpartition(".")[0] for place in takes.places} if takes else set()
        planes = {key for key in surfaces if key in PLANE_NAMES}
        return RoomRow(
            key=room.key,
            name=room.name,
            phases=self._phases.get(room.pk, {}),
            parent=room.behind.room.key if room.behind else "",
            finished=room.finished,
            choices=frozenset(facts),
            sets=room.compound == "setting",
            takes=takes,
            hung=self._hung.get(room.pk, ()),
            cut=self._cut.get(room.pk, ()),
            coats=self._coats.get(room.pk, {}),
            partitions=tuple(self._partitions.get(room.pk, ())),
            planned=tuple(self._planned.get(room.pk, ())),
            ceilings=frozenset(self._ceilings.get(room.pk, set()) | planes),
            closed=frozenset(self._closed.get(room.pk, ())),
            photographed=frozenset(self._photographed.get(room.pk, ())),
            ordered=room.pk in self._ordered,
            coldest=coldest,
        )


def _by_room(pairs: Iterable[tuple[UUID, str]]) -> dict[UUID, set[str]]:
    found: dict[UUID, set[str]] = {}
    for room, word in pairs:
        found.setdefault(room, set()).add(word)
    return found


def _hours_between(done_on: date | None, today: date) -> int | None:
    """Hours of whole days: of a phase only the day is known on which it was done."""
    return (today - done_on).days * 24 if done_on else None


@recorded("accepted a stop")
def accept(*, by: By, house: House, told: Told, reason: str) -> AcceptedStop:
    """Take a stop on oneself, with the reason: it is not asked for again. One that is accepted
    already takes the new reason."""
    if not reason.strip():
        raise Refused(
            "Say why you go on, for example The inspector saw it on Tuesday", field="reason"
        )
    stands = AcceptedStop.objects.filter(house=house, key=told.key).first()
    if stands is not None:
        return change(stands, reason=reason.strip())
    return create(
        AcceptedStop(
            house=house,
            room=Room.objects.filter(house=house, key=told.room).first() if told.room else None,
            key=told.key,
            text=told.first[:600],
            reason=reason.strip(),
            person=by.person,
            at=timezone.now(),
        )
    )


@recorded("took an accepted stop up again")
def accept_no_more(*, by: By, accepted: AcceptedStop) -> AcceptedStop:
    """Let a stop that was accepted be asked for again."""
    return remove(accepted)


@recorded("closed a face")
def close_face(*, by: By, room: Room, face: str) -> ClosedFace:
    """Close a face of a room. What is not in, not seen or not photographed is kept with it, with
    the reason that was accepted."""
    missing = order_of(room).missing(room, face)
    accepted = AcceptedStop.objects.filter(
        house=room.house_id, key__in=[one.key for one in missing]
    )
    reasons = dict(accepted.values_list("key", "reason"))
    return face_close(
        by=by,
        room=room,
        surface=face,
        without=[f"{one.first} {reasons.get(one.key, '')}".strip() for one in missing],
    )


@recorded("told that a step is done")
def say_step(*, by: By, house: House, step: Step, done: bool = True) -> SaidStep:
    """Say that a step of the order of work is done, or is not after all. Said twice, it is said
    since the first time."""
    if not step.kind.done:
        raise Refused(f"{step.name}: tick it where it is done")
    row = SaidStep.all_objects.filter(house=house, step=step.id).first()
    values = {"done": done, "person": by.person, "at": timezone.now()}
    if row is not None:
        return row if row.done == done else change(row, **values)
    room = Room.objects.filter(house=house, key=step.room).first() if step.room else None
    return create(SaidStep(house=house, room=room, step=step.id, **values))
