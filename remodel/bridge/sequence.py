"""The order of work of rows: what phases, ticks, partitions and blocks come to as steps."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace

from remodel.bridge.takes import RoomTakes
from takeoff.reference import figures
from takeoff.sequence.graph import Graph, Known, Place, Site, Step, Thing, graph_of
from takeoff.sequence.outlook import Blocked, Outlook, Startable, outlook_of
from takeoff.sequence.rules import Kind, Severity, kinds
from takeoff.sequence.telling import (
    Doing,
    Told,
    doings_of_phase,
    start_of_phase,
    told_before,
)

__all__ = [
    "COAT_STEPS",
    "Blocked",
    "Doing",
    "Graph",
    "Outlook",
    "PartitionRow",
    "PhaseRow",
    "PlannedRow",
    "RoomRow",
    "Severity",
    "Startable",
    "Step",
    "Told",
    "doings_of_phase",
    "graph_of_rows",
    "outlook_of",
    "start_of_phase",
    "told_before",
]

# Ticks of coats, and the step each is.
COAT_STEPS = {
    "taped": "tape",
    "second": "second-coat",
    "third": "third-coat",
    "sanded": "sand",
    "primed": "prime",
    "painted": "paint",
}
# Facts that say whether a surface asks for a coat.
_COAT_FACTS = {
    "second": "second coat",
    "third": "third coat",
    "sanded": "sanded",
    "primed": "primed",
    "painted": "painted",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PhaseRow:
    """A phase: its state as stored, since how many hours it is done, and what it waits for."""

    state: str
    left_out: bool = False
    hours: int | None = None
    waits_for: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartitionRow:
    """A planned partition. `backed` says that its backing is recorded as in."""

    key: str
    name: str
    after_board: bool
    backed: bool
    behind: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedRow:
    """Something planned behind the board that is not in yet, and the surface that hides it."""

    key: str
    name: str
    surface: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomRow:
    """A room, with all that its steps are made from.

    `choices` are the words of `rules.FACTS` that its surfaces give. `takes` is None where it could
    not be worked out. `hung` are the keys of pieces that hang; `coats` the surfaces that have each
    coat, with the hours since. `closed` are the surfaces that somebody closed, and `photographed`
    those of which there is a photo.
    """

    key: str
    name: str
    phases: Mapping[str, PhaseRow]
    parent: str = ""
    finished: bool = False
    choices: frozenset[str] = frozenset()
    sets: bool = False
    takes: RoomTakes | None = None
    hung: Collection[str] = ()
    cut: Collection[str] = ()
    coats: Mapping[str, Mapping[str, int]] = field(default_factory=dict)
    partitions: tuple[PartitionRow, ...] = ()
    planned: tuple[PlannedRow, ...] = ()
    ceilings: frozenset[str] = frozenset()
    closed: frozenset[str] = frozenset()
    photographed: frozenset[str] = frozenset()
    ordered: bool = False
    coldest: float | None = None  # °F, where somebody said so


def graph_of_rows(rooms: Iterable[RoomRow], said: Mapping[str, int]) -> Graph:
    """The graph of a house. `said` are the ids of steps that people say are done, with the hours
    since."""
    own = {id_.removeprefix("/"): hours for id_, hours in said.items() if id_.startswith("/")}
    return graph_of(
        Site(
            places=tuple(_place(room, said) for room in rooms),
            known={kind: Known(done=True, hours=hours) for kind, hours in own.items()},
        )
    )


def _place(room: RoomRow, said: Mapping[str, int]) -> Place:
    faces = _faces_of(room)
    later = {one.key for one in room.partitions if one.after_board}
    ceilings = frozenset(face for face in faces if face in room.ceilings)
    walls = frozenset(faces) - ceilings - later
    place = Place(
        room=room.key,
        name=room.name,
        facts=_facts_of(room, ceilings, walls),
        left_out=frozenset(key for key, phase in room.phases.items() if phase.left_out),
        parent=room.parent,
        ceilings=ceilings,
        walls=walls,
        finished=room.finished,
    )
    known = _Room(room, faces, said)
    return replace(
        place,
        known={kind.id: known.of(kind, place) for kind in kinds().values()},
        things=tuple(known.things(faces)),
    )


def _faces_of(room: RoomRow) -> dict[str, list[str]]:
    """The surfaces that get board, each with the keys of its pieces."""
    faces: dict[str, list[str]] = {}
    for place in room.takes.places if room.takes else ():
        faces.setdefault(place.key.rpartition(".")[0], []).append(place.key)
    return faces


def _facts_of(room: RoomRow, ceilings: frozenset[str], walls: frozenset[str]) -> frozenset[str]:
    facts = set(room.choices)
    if room.takes is None:
        # Nobody knows what such a room takes, so it may take all.
        return frozenset(facts | {"ceiling", "walls", *_COAT_FACTS.values()})
    asked = {take.kind.value for take in room.takes.takes}
    facts |= {fact for kind, fact in _COAT_FACTS.items() if kind in asked}
    if ceilings:
        facts.add("ceiling")
    if walls:
        facts.add("walls")
    if any(take.item == "corner-bead" for take in room.takes.takes):
        facts.add("outside corners")
    if not room.sets:
        facts.add("drying compound")
    if room.coldest is not None and room.coldest < figures.number("TP-tape"):
        facts.add("cold")
    return frozenset(facts)


class _Room:
    """What is known of the steps of one room."""

    def __init__(
        self, room: RoomRow, faces: Mapping[str, list[str]], said: Mapping[str, int]
    ) -> None:
        self._room, self._faces, self._said = room, faces, said

    def of(self, kind: Kind, place: Place) -> Known:
        """What is known of a step of the room itself."""
        if kind.id == "board-ordered":
            return Known(done=self._room.ordered)
        return self._known(kind, f"{self._room.key}/{kind.id}", self._by_ticks(kind, place))

    def _known(self, kind: Kind, id_: str, ticks: Known | None = None) -> Known:
        """A step is done where its phase is done, where somebody says so, or by its ticks."""
        known = ticks or Known()
        phase = self._room.phases.get(kind.phase)
        if id_ in self._said:
            return replace(known, done=True, hours=self._said[id_])
        if phase is None:
            return known
        if phase.state == "done":
            return replace(
                known, done=True, hours=phase.hours if known.hours is None else known.hours
            )
        begun = known.begun or (phase.state == "in progress" and ticks is None)
        waits_for = phase.waits_for if phase.state == "blocked" and kind.told.is_work else ""
        return replace(known, begun=begun, waits_for=waits_for)

    def _by_ticks(self, kind: Kind, place: Place) -> Known | None:
        if kind.id == "hang-ceiling":
            return self._hung(place.ceilings)
        if kind.id == "hang-walls":
            return self._hung(place.walls)
        if kind.id == "cut":
            pieces = [key for keys in self._faces.values() for key in keys]
            cut = [key for key in pieces if key in self._room.cut or key in self._room.hung]
            return Known(done=bool(pieces) and len(cut) == len(pieces), begun=bool(cut))
        if kind.id == "close-faces":
            return self._faced(self._room.closed)
        if kind.id == "photographed":
            return self._faced(self._room.photographed)
        for tick, step in COAT_STEPS.items():
            if kind.id == step:
                return self._coated(tick)
        return None

    def _faced(self, faces: Collection[str]) -> Known:
        """What is done face by face. On a face with board nothing is left to look at."""
        begun = {key.rpartition(".")[0] for key in self._room.hung}
        on = {*faces, *begun}
        done = bool(self._faces) and self._faces.keys() <= on
        return Known(done=done, begun=bool(faces), faces=dict.fromkeys(on))

    def _hung(self, faces: Collection[str]) -> Known:
        pieces = [key for face in faces for key in self._faces.get(face, ())]
        hung = [key for key in pieces if key in self._room.hung]
        return Known(done=bool(pieces) and len(hung) == len(pieces), begun=bool(hung))

    def _coated(self, tick: str) -> Known:
        takes = self._room.takes
        asked = {take.name for take in takes.takes if take.kind.value == tick} if takes else set()
        on = dict(self._room.coats.get(tick, {}))
        done = bool(asked) and asked <= on.keys()
        # The face that was coated last is dry last.
        return Known(done=done, begun=bool(on), hours=min(on.values(), default=None), faces=on)

    def things(self, faces: Mapping[str, list[str]]) -> Iterable[Thing]:
        """The partitions of the room, and what is planned behind its board."""
        for one in self._room.partitions:
            yield Thing(
                id=one.key,
                name=one.name,
                known={kind: self._of_partition(one, kind) for kind in _steps_of(one, faces)},
                behind=one.behind,
            )
        for item in self._room.planned:
            yield Thing(
                id=item.key,
                name=item.name,
                known={"blocking": Known()},
                faces=_parts_of(item.surface, faces),
            )

    def _of_partition(self, one: PartitionRow, kind: str) -> Known:
        if kind == "backing":
            return Known(done=one.backed)
        ticks = self._hung({one.key}) if kind == "hang-faces" else None
        known = self._known(kinds()[kind], f"{self._room.key}/{kind}/{one.key}", ticks)
        if kind == "backing-bought" and one.backed:
            return replace(known, done=True)
        return known


def _parts_of(surface: str, faces: Iterable[str]) -> frozenset[str]:
    """The faces that a surface is boarded in: planes of a ceiling, parts of a wall. Which of them
    hides something is known to the geometry alone, so it is told at each."""
    parts = {face for face in faces if face.startswith(f"{surface}-")}
    if surface != "ceiling":
        parts = {face for face in parts if face.removeprefix(f"{surface}-").isdigit()}
    found = parts | {face for face in faces if face == surface}
    return frozenset(found or {surface})


def _steps_of(one: PartitionRow, faces: Mapping[str, list[str]]) -> tuple[str, ...]:
    if not one.after_board:
        return ("partition-first",)
    of_faces = ("hang-faces",) if one.key in faces else ()
    return ("backing-bought", "backing", "partition-later", *of_faces)
