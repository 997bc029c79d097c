"""The order of work of a large house: how long its graph, what is next, and one question take."""

from __future__ import annotations

import time
from statistics import median

from takeoff.sequence.graph import Place, Site, graph_of
from takeoff.sequence.outlook import outlook_of
from takeoff.sequence.rules import FACTS, rules
from takeoff.sequence.telling import Doing, told_before

__all__ = ["order_of_work"]

ROOMS, ROUNDS = 60, 15


def order_of_work() -> None:
    """Print the median of each in milliseconds of this process (aim: 100 ms for graph and
    outlook together, in a house of 60 rooms with 15 steps or more each)."""
    facts = frozenset(FACTS) - {"cold"}
    site = Site(
        places=tuple(Place(room=f"r{k}", name=f"Room {k}", facts=facts) for k in range(ROOMS))
    )
    rules()  # read once a process
    graphs, outlooks, questions = [], [], []
    for _ in range(ROUNDS):
        start = time.process_time()
        graph = graph_of(site)
        built = time.process_time()
        outlook_of(graph)
        looked = time.process_time()
        told_before(graph, [Doing(kind="hang-walls", room="r7")])
        asked = time.process_time()
        graphs.append(built - start)
        outlooks.append(looked - built)
        questions.append(asked - looked)
    steps, waits = len(graph.steps), sum(len(some) for some in graph.waits.values())
    print(f"  {ROOMS} rooms, {steps} steps, {waits} waits")
    for name, times in (("graph", graphs), ("what is next", outlooks), ("a question", questions)):
        print(f"  {name:<14} {median(times) * 1000:7.1f} ms")
