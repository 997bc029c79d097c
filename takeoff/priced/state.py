"""Which choice the work has overtaken, read off the order of work."""

from __future__ import annotations

from takeoff.priced.choice import Choice, ChoiceKind
from takeoff.sequence.graph import Graph, Step

__all__ = ["free_rooms", "overtaken"]


_BOARD = ("board-ordered", "cut", "hang-ceiling", "hang-walls")


def free_rooms(graph: Graph) -> frozenset[str]:
    """The ids of the rooms of a house in which no board is ordered, cut or hung: a choice of the
    whole house is still theirs."""
    return frozenset(
        place.room
        for place in graph.site.places
        if not place.finished
        and not any(_is_begun(graph.steps.get(f"{place.room}/{kind}")) for kind in _BOARD)
    )


def overtaken(choice: Choice, graph: Graph) -> str:
    """Why a choice can no longer be made by a press, as a sentence; empty where it can. `graph` has
    the steps of its rooms."""
    if choice.kind is ChoiceKind.PARTITION:
        return _of_partition(choice, graph)
    if choice.kind is ChoiceKind.CEILING:
        return _begun(graph, choice.of, "hang-ceiling", "The ceiling hangs, at least in part")
    if choice.kind is ChoiceKind.JOINTS:
        return _begun(graph, choice.of, "hang-ceiling", "The ceiling hangs, at least in part") or (
            _begun(graph, choice.of, "hang-walls", "Walls are boarded, at least in part")
        )
    if choice.kind is ChoiceKind.LEVEL:
        return _begun(graph, choice.of, "prime", "The room is primed, at least in part") or _begun(
            graph, choice.of, "paint", "The room is painted, at least in part"
        )
    hung = [
        graph.steps[f"{room}/{kind}"].room_name
        for room in choice.rooms
        for kind in ("hang-ceiling", "hang-walls")
        if _is_begun(graph.steps.get(f"{room}/{kind}"))
    ]
    if hung:
        return f"Board hangs in {' and '.join(dict.fromkeys(hung))}"
    return ""


def _of_partition(choice: Choice, graph: Graph) -> str:
    its_own = [step for step in graph.steps.values() if step.thing == choice.of]
    for step in its_own:
        if step.kind.id in ("partition-first", "partition-later") and _is_begun(step):
            return f"{step.thing_name} is {'framed' if step.is_done else 'being framed'}"
    for step in its_own:
        for kind in ("hang-ceiling", "hang-walls"):
            hung = graph.steps.get(f"{step.room}/{kind}")
            if _is_begun(hung):
                what = "the ceiling" if kind == "hang-ceiling" else "walls"
                return f"Board is up on {what} of {step.room_name}"
    return ""


def _begun(graph: Graph, room: str, kind: str, says: str) -> str:
    return says if _is_begun(graph.steps.get(f"{room}/{kind}")) else ""


def _is_begun(step: Step | None) -> bool:
    return step is not None and (step.is_done or step.known.begun)
