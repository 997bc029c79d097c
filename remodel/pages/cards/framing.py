"""Framing that stands in the hanging list where it belongs: backing before the board that hides it,
a partition framed after board between the board behind it and its own faces."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from remodel.bridge.sequence import Step
from remodel.house.models import Room
from remodel.order_of_work import order_of
from remodel.pages.next_steps import Links

__all__ = ["with_framing"]

_BACKING = "backing"
_FRAME = ("partition-first", "partition-later")


def with_framing(room: Room, lines: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """The lines of a hanging list with those of what is still to be framed. Each of them has a
    `framing`, the step, with the words of it and its `url`; they have no number."""
    if not lines:
        return []
    graph = order_of(room).graph
    links = Links(room.house, Room.objects.filter(house=room.house_id))
    open_ = [step for step in graph.steps.values() if step.thing and not step.is_done]
    mine = [step for step in open_ if step.room == room.key]
    first = [step for step in mine if step.kind.id in (_BACKING, "partition-first")]
    # The room behind a partition has no wall to hang on before that stands.
    first += [step for step in open_ if step.behind == room.key and step.kind.id in _FRAME]
    shown = [_line(step, links, now=False) for step in first] + list(lines)
    for step in mine:
        if step.kind.id == "partition-later":
            shown.insert(_place(shown, step), _line(step, links, now=True))
    return shown


def _place(lines: Sequence[dict[str, Any]], step: Step) -> int:
    """Before the first board on the partition's own face; where it has none, after the last
    board."""
    boards = [index for index, line in enumerate(lines) if "step" in line and line["step"].piece]
    own = [
        index for index in boards if lines[index]["step"].surface.partition("/")[2] == step.thing
    ]
    return own[0] if own else (boards[-1] + 1 if boards else len(lines))


def _line(step: Step, links: Links, *, now: bool) -> dict[str, Any]:
    return {
        "framing": f"{step.name} now" if now else f"{step.name} first",
        "why": _WHY[step.kind.id],
        "url": links.of(step),
        "done": False,
    }


_WHY = {
    "backing": "the board hides where it goes, and the partition is fastened to it",
    "partition-first": "the boards on both sides end at its framing",
    "partition-later": "the board it stands on is up, and its own faces and corners come next",
}
