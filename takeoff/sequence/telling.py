"""What stands in the way of something that a person is about to do."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from takeoff.sequence.graph import Graph, Step, Wait, meet
from takeoff.sequence.rules import Rule, Severity, ToldBy, Where

__all__ = ["Doing", "Told", "doings_of_phase", "start_of_phase", "told_before"]

_ORDER = {Severity.STOP: 0, Severity.THINK: 1, Severity.NOTE: 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class Doing:
    """A step that is about to be done: on some faces (none: on all), or about a thing.

    One that only `begins` is not done by the press: others of the press still wait for it.
    """

    kind: str
    room: str
    faces: frozenset[str] = frozenset()
    thing: str = ""
    begins: bool = False

    @property
    def step(self) -> str:
        return f"{self.room}/{self.kind}/{self.thing}" if self.thing else f"{self.room}/{self.kind}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One thing to say before a step. `first` is what to do, `why` what happens otherwise.

    `key` names what is told, whatever step it is told at: who accepts it under that key is not
    asked for it again. `room` is the room it is accepted for, empty for the whole house. `after`
    is the step that is still to be done, None where the rule speaks without one. `short` is how
    many hours are still missing, 0 where it is no matter of time. `faces` are those on which the
    step before is open, where only some faces are about to be worked on.
    """

    rule: Rule
    key: str
    room: str
    step: Step
    first: str
    after: Step | None = None
    short: int = 0
    faces: frozenset[str] = frozenset()

    @property
    def asks(self) -> bool:
        """Whether it is asked once, though it does not stop anything."""
        return self.rule.asks and bool(self.faces)

    @property
    def severity(self) -> Severity:
        return self.rule.severity

    @property
    def why(self) -> str:
        return self.rule.why


def told_before(graph: Graph, doings: Iterable[Doing]) -> tuple[Told, ...]:
    """Everything to say before some steps that are done together: stops first, each once.

    A step waits for none that is done with it in the same press. Nothing is told of a step that a
    room does not have.
    """
    doings = [doing for doing in doings if doing.step in graph.steps]
    together = {doing.step for doing in doings if not doing.faces and not doing.begins}
    told: dict[str, Told] = {}
    for doing in doings:
        for wait in graph.waits[doing.step]:
            if wait.after in together:
                continue
            one = _told(graph, doing, wait)
            if one is not None:
                before = told.setdefault(one.key, one)
                told[one.key] = replace(before, faces=before.faces | one.faces)
    open_ = {one.after.id for one in told.values() if one.after}
    return tuple(
        sorted(
            (one for one in told.values() if not _is_implied(graph, one, open_)),
            key=lambda one: _ORDER[one.severity],
        )
    )


def _is_implied(graph: Graph, one: Told, open_: set[str]) -> bool:
    """Whether it goes without saying: work that is told of as not done was not inspected either."""
    return (
        one.after is not None
        and one.after.kind.told is ToldBy.SAID
        and any(wait.after in open_ for wait in graph.waits[one.after.id])
    )


def _told(graph: Graph, doing: Doing, wait: Wait) -> Told | None:
    step, rule = graph.steps[doing.step], wait.rule
    if not wait.after:
        return Told(rule=rule, key=wait.key, room=step.room, step=step, first=rule.first)
    after = graph.steps[wait.after]
    if rule.where is Where.IN and not meet(doing.faces, after.faces):
        return None
    faces = doing.faces if rule.where is Where.FACE else frozenset()
    short = 0
    if after.is_done_on(faces):
        hours = after.hours_on(faces)
        short = rule.gap - hours if hours is not None else 0
        if short <= 0:
            return None
    return Told(
        rule=rule,
        key=wait.key,
        room=step.room if after.room else "",
        step=step,
        first=rule.first.format(after=after.name, thing=after.thing_name),
        after=after,
        short=short,
        faces=faces - after.known.faces.keys(),
    )


def doings_of_phase(graph: Graph, room: str, phase: str) -> list[Doing]:
    """All steps of a phase of a room that are not done: what is about to be done with the phase."""
    return [
        Doing(kind=step.kind.id, room=room, thing=step.thing)
        for step in graph.of_room(room)
        if step.kind.phase == phase and not step.is_done
    ]


def start_of_phase(graph: Graph, room: str, phase: str) -> list[Doing]:
    """The step of a phase that is next in a room, with those of its group: what a day of that phase
    is spent on. A step that is only said to be done is no work of a day."""
    working = [doing for doing in doings_of_phase(graph, room, phase) if not _is_said(graph, doing)]
    begun = [doing for doing in working if graph.steps[doing.step].known.begun]
    if not working:
        return []
    first = graph.steps[(begun or working)[0].step]
    return [
        replace(doing, begins=True)
        for doing in working
        if doing.step == first.id
        or (first.kind.group and graph.steps[doing.step].kind.group == first.kind.group)
    ]


def _is_said(graph: Graph, doing: Doing) -> bool:
    return not graph.steps[doing.step].kind.told.is_work
