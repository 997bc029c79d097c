"""The steps of a house as one graph: every step of every room, and what it waits for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from takeoff.errors import BadValue
from takeoff.sequence.rules import Kind, Of, Rule, Where, circle_in, kinds, rules

__all__ = ["Graph", "Known", "Place", "Site", "Step", "Thing", "Wait", "graph_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What is known of a step: whether it is begun and done, and for how many hours it is done
    (None: nobody knows, long enough).

    `faces` are the surfaces on which it is done, with those hours. `waits_for` are a person's own
    words for what it waits for.
    """

    done: bool = False
    begun: bool = False
    hours: int | None = None
    faces: Mapping[str, int | None] = field(default_factory=dict)
    waits_for: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """Something planned in a room that is a step of its own: a partition, a block behind the board.

    `known` holds the kinds of steps it has. `faces` are the surfaces it stands on or hides behind;
    none means all of the room. `behind` is the room that a partition cuts off.
    """

    id: str
    name: str
    known: Mapping[str, Known]
    faces: frozenset[str] = frozenset()
    behind: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A room. `facts` are what is so in it (see `rules.FACTS`), `left_out` the phases that are no
    part of its work. `ceilings` and `walls` are the surfaces that get board. A `finished` room has
    nothing left to do."""

    room: str
    name: str
    facts: frozenset[str] = frozenset()
    known: Mapping[str, Known] = field(default_factory=dict)
    things: tuple[Thing, ...] = ()
    left_out: frozenset[str] = frozenset()
    parent: str = ""
    ceilings: frozenset[str] = frozenset()
    walls: frozenset[str] = frozenset()
    finished: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """A house: its rooms, and what is known of its own steps."""

    places: tuple[Place, ...]
    known: Mapping[str, Known] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step. Its `id` is `room/kind`, of a thing `room/kind/thing`, and of the house `/kind`."""

    id: str
    kind: Kind
    name: str
    room: str = ""
    room_name: str = ""
    thing: str = ""
    thing_name: str = ""
    behind: str = ""
    faces: frozenset[str] = frozenset()
    known: Known = field(default_factory=Known)

    @property
    def is_done(self) -> bool:
        return self.known.done

    def is_done_on(self, faces: frozenset[str]) -> bool:
        """Whether it is done on all of some faces; on none named, whether it is done at all."""
        return self.is_done or (bool(faces) and faces <= self.known.faces.keys())

    def hours_on(self, faces: frozenset[str]) -> int | None:
        """For how many hours it is done on some faces; None where nobody knows."""
        on = [self.known.faces[face] for face in faces if face in self.known.faces]
        hours = [hours for hours in (on or [self.known.hours]) if hours is not None]
        return min(hours, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """That one step waits for another, or (without `after`) that a rule is told with it."""

    rule: Rule
    step: str
    after: str = ""

    @property
    def key(self) -> str:
        """What is accepted when people go on all the same: the rule and the step that is still to
        be done, whatever step it is told at; without one, the rule and the room."""
        return f"{self.rule.id} {self.after or self.step.partition('/')[0]}"


@dataclass(frozen=True, kw_only=True)
class Graph:
    """All steps of a house by id, in the order of its rooms and of a list, and what each waits
    for."""

    site: Site
    steps: Mapping[str, Step]
    waits: Mapping[str, tuple[Wait, ...]]

    @cached_property
    def circle(self) -> str | None:
        """A sentence that names steps which wait for each other; None where all can be done."""
        return circle_in(
            {
                step: [wait.after for wait in waits if wait.after]
                for step, waits in self.waits.items()
            }
        )

    def of_room(self, room: str) -> list[Step]:
        """The steps of a room, in the order of a list."""
        return [step for step in self.steps.values() if step.room == room]


def graph_of(site: Site, with_rules: Sequence[Rule] | None = None) -> Graph:
    """Make the steps of a house, and let each wait for what the rules say. `with_rules` are other
    rules than the product's own."""
    steps = {step.id: step for step in _steps_of(site)}
    finder = _Finder(site, steps.values())
    by_kind: dict[str, list[Rule]] = {}
    for rule in rules() if with_rules is None else with_rules:
        for kind in rule.steps:
            by_kind.setdefault(kind, []).append(rule)
    return Graph(
        site=site,
        steps=steps,
        waits={
            step.id: tuple(finder.waits_of(step, by_kind.get(step.kind.id, ())))
            for step in steps.values()
        },
    )


def _steps_of(site: Site) -> Iterable[Step]:
    for kind in kinds().values():
        if kind.of is Of.HOUSE:
            known = site.known.get(kind.id, Known())
            yield Step(id=f"/{kind.id}", kind=kind, name=kind.name, known=known)
    for place in site.places:
        if place.finished:
            continue
        for kind in kinds().values():
            if kind.phase in place.left_out:
                continue
            if kind.of is Of.ROOM and kind.facts <= place.facts:
                yield Step(
                    id=f"{place.room}/{kind.id}",
                    kind=kind,
                    name=kind.name,
                    room=place.room,
                    room_name=place.name,
                    faces=_faces_of(kind, place),
                    known=place.known.get(kind.id, Known()),
                )
            elif kind.of is Of.THING:
                yield from _thing_steps(kind, place)


def _thing_steps(kind: Kind, place: Place) -> Iterable[Step]:
    for thing in place.things:
        if kind.id in thing.known:
            yield Step(
                id=f"{place.room}/{kind.id}/{thing.id}",
                kind=kind,
                name=kind.name.format(thing=thing.name),
                room=place.room,
                room_name=place.name,
                thing=thing.id,
                thing_name=thing.name,
                behind=thing.behind,
                faces=thing.faces,
                known=thing.known[kind.id],
            )


def _faces_of(kind: Kind, place: Place) -> frozenset[str]:
    return {"hang-ceiling": place.ceilings, "hang-walls": place.walls}.get(kind.id, frozenset())


class _Finder:
    """Finds the steps of a house that a rule names."""

    def __init__(self, site: Site, steps: Iterable[Step]) -> None:
        self._places = {place.room: place for place in site.places}
        self._in_room: dict[tuple[str, str], list[Step]] = {}
        self._all: dict[str, list[Step]] = {}
        self._walls_of: dict[tuple[str, str], list[Step]] = {}
        for step in steps:
            self._in_room.setdefault((step.room, step.kind.id), []).append(step)
            self._all.setdefault(step.kind.id, []).append(step)
            if step.behind:
                self._walls_of.setdefault((step.behind, step.kind.id), []).append(step)
        self._beside: dict[str, set[str]] = {}
        for place in site.places:
            if place.parent:
                self._beside.setdefault(place.room, set()).add(place.parent)
                self._beside.setdefault(place.parent, set()).add(place.room)

    def waits_of(self, step: Step, its_rules: Iterable[Rule]) -> Iterable[Wait]:
        place = self._places.get(step.room)
        facts = place.facts if place else frozenset()
        for rule in its_rules:
            if not rule.facts <= facts:
                continue
            if not rule.after:
                yield Wait(rule=rule, step=step.id)
            for kind in rule.after:
                for other in self._found(step, kind, rule.where):
                    if other.id != step.id:
                        yield Wait(rule=rule, step=step.id, after=other.id)

    def _found(self, step: Step, kind: str, where: Where) -> list[Step]:
        if where in (Where.ROOM, Where.FACE):
            return self._in_room.get((step.room, kind), [])
        if where is Where.IN:
            here = self._in_room.get((step.room, kind), [])
            return [other for other in here if meet(step.faces, other.faces)]
        if where is Where.THING:
            here = self._in_room.get((step.room, kind), [])
            return [other for other in here if other.thing == step.thing]
        if where is Where.OWN_WALL:
            return self._walls_of.get((step.room, kind), [])
        if where is Where.HOUSE:
            return self._in_room.get(("", kind), [])
        if where is Where.EVERYWHERE:
            return self._all.get(kind, [])
        if where is Where.PARENT:
            place = self._places.get(step.room)
            return self._in_room.get((place.parent, kind), []) if place and place.parent else []
        if where is Where.BESIDE:
            rooms = sorted(self._beside.get(step.room, ()))
            return [other for room in rooms for other in self._in_room.get((room, kind), [])]
        raise BadValue(f"No such place of a step: {where}")


def meet(faces: frozenset[str], others: frozenset[str]) -> bool:
    """Whether two sets of faces share one. None named means all of the room."""
    return not faces or not others or bool(faces & others)
