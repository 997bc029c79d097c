"""What can start now, what the other steps wait for, and which step frees most work."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from takeoff.sequence.graph import Graph, Step, Wait
from takeoff.sequence.rules import Severity, ToldBy

__all__ = ["Blocked", "Outlook", "Startable", "outlook_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Startable:
    """A step that can start now. `frees` is how many open steps wait for it, straight or through
    others."""

    step: Step
    frees: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Blocked:
    """A step that waits, and for which steps; `words` are a person's own for what it waits for."""

    step: Step
    waits_for: tuple[Step, ...]
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What is next in a house, in the order of its rooms and of a list; `most` is what frees most
    work of all that can start."""

    now: tuple[Startable, ...]
    waiting: tuple[Blocked, ...]
    most: Startable | None

    def of_room(self, room: str) -> Outlook:
        """What is next in one room. The house's own steps that it waits for are among them."""
        waiting = tuple(one for one in self.waiting if one.step.room == room)
        wanted = {other.id for one in waiting for other in one.waits_for}
        now = tuple(
            one
            for one in self.now
            if one.step.room == room or (not one.step.room and one.step.id in wanted)
        )
        return Outlook(now=now, waiting=waiting, most=_most(now))


def outlook_of(graph: Graph, accepted: Collection[str] = ()) -> Outlook:
    """What is next in a house. `accepted` are the keys of what people took on themselves (see
    `telling.Told`): nothing waits for it any more.

    A step can start when no stop is in its way, and nothing else of the work itself. What is only
    said to be done is a step of its own where a stop rests on it and the step that waits for it is
    otherwise near; other things of that kind are told at the step itself. Faces are closed one by
    one, on their own pages, so they are no steps here.
    """
    blocking = {
        step.id: [
            wait.after
            for wait in graph.waits[step.id]
            if wait.after and _blocks(graph, wait, accepted)
        ]
        for step in graph.steps.values()
        if not step.is_done and step.kind.told is not ToldBy.FACE
    }
    waited_for = _dependents(blocking)
    shown = [
        graph.steps[id_]
        for id_ in blocking
        if _is_work(graph.steps[id_]) or _is_wanted(graph, id_, waited_for, blocking)
    ]
    now, waiting = [], []
    for step in shown:
        others = tuple(graph.steps[other] for other in dict.fromkeys(blocking[step.id]))
        if others or step.known.waits_for:
            waiting.append(Blocked(step=step, waits_for=others, words=step.known.waits_for))
        else:
            now.append(Startable(step=step, frees=len(_all_after(step.id, waited_for))))
    return Outlook(now=tuple(now), waiting=tuple(waiting), most=_most(now))


def _most(now: Iterable[Startable]) -> Startable | None:
    freeing = [one for one in now if one.frees]
    return max(freeing, key=lambda one: one.frees) if freeing else None


def _is_work(step: Step) -> bool:
    return step.kind.told.is_work and step.kind.id != "board-ordered"


def _blocks(graph: Graph, wait: Wait, accepted: Collection[str]) -> bool:
    after = graph.steps[wait.after]
    if after.is_done or wait.key in accepted:
        return False
    return wait.rule.severity is Severity.STOP or (
        wait.rule.severity is Severity.THINK and after.kind.told.is_work
    )


def _is_wanted(
    graph: Graph,
    id_: str,
    waited_for: Mapping[str, list[str]],
    blocking: Mapping[str, list[str]],
) -> bool:
    """Whether a step that is only said to be done is what some work waits for, and nothing of the
    work itself comes before that."""
    return any(
        not any(_is_work(graph.steps[other]) for other in blocking[waiting])
        for waiting in waited_for.get(id_, ())
    )


def _dependents(blocking: Mapping[str, list[str]]) -> dict[str, list[str]]:
    after: dict[str, list[str]] = {}
    for step, others in blocking.items():
        for other in others:
            after.setdefault(other, []).append(step)
    return after


def _all_after(step: str, waited_for: Mapping[str, list[str]]) -> set[str]:
    """Every step that waits for a step, straight or through others."""
    reached: set[str] = set()
    to_visit = [step]
    while to_visit:
        for other in waited_for.get(to_visit.pop(), ()):
            if other not in reached:
                reached.add(other)
                to_visit.append(other)
    return reached
