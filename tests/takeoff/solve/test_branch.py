"""Parts of the problem: splits lose no plan and count none twice, and a part's bound is as good as
its programme."""

from __future__ import annotations

from random import Random

import pytest

from takeoff.boards.first_plan import plan_pool
from takeoff.solve.bound import EVERYTHING, Limits
from takeoff.solve.branch import Brancher, whole_arcs
from takeoff.solve.compile_network import compile_pool
from takeoff.solve.network import MONEY, Network
from takeoff.solve.relaxation import Relaxation
from takeoff.solve.translate import to_answer
from tests.bench.rooms import seeded_house
from tests.takeoff.solve.test_best import pool_of

Rows = tuple[frozenset[tuple[int, int]], frozenset[tuple[int, int]]]  # arcs, and (surface, layout)


def drawn(network: Network, surface: int, random: Random) -> Rows:
    """Rows of one surface, drawn step by step until no joints of them exclude each other."""
    while True:
        layout = random.choice(network.layouts[surface])
        arcs = set()
        for s in network.of_layout[surface, layout]:
            node, last = 0, len(network.segments[s].at) - 1
            while node != last:
                k = random.choice(
                    [k for k, arc in enumerate(network.segments[s].arcs) if arc.tail == node]
                )
                arcs.add((s, k))
                node = network.segments[s].arcs[k].head
        joints = {(s, network.segments[s].arcs[k].head) for s, k in arcs}
        if all(len(joints.intersection(clash.joints)) < 2 for clash in network.clashes):
            return frozenset(arcs), frozenset({(surface, layout)})


def holds(limits: Limits, rows: Rows) -> bool:
    return not (limits.arcs & rows[0] or limits.layouts & rows[1])


def some_rows(network: Network) -> list[Rows]:
    """Rows of the whole network, two hundred times."""
    random = Random(1)
    surfaces = range(len(network.layouts))
    choices = []
    for _ in range(200):
        mine = [drawn(network, surface, random) for surface in surfaces]
        choices.append(
            (
                frozenset().union(*(arcs for arcs, _ in mine)),
                frozenset().union(*(at for _, at in mine)),
            )
        )
    return choices


@pytest.fixture(scope="module")
def network() -> Network:
    return compile_pool(pool_of(seeded_house(20)))


@pytest.fixture(scope="module")
def relaxation(network: Network) -> Relaxation:
    relaxation = Relaxation(network)
    relaxation.solve()
    return relaxation


def test_each_way_to_split_has_every_rows_in_one_of_its_two_parts(network, relaxation):
    relaxation.within(EVERYTHING)
    relaxation.run()
    uses = [
        use
        for use in Brancher(network, relaxation).all(EVERYTHING)
        if use.key[0] not in ("total", "stock")
    ]
    assert {use.key[0] for use in uses} >= {"joint", "first", "last"}
    for rows in some_rows(network):
        for use in uses:
            assert holds(use.below, rows) != holds(use.above, rows), use.key


def test_ways_to_differ_from_whole_rows_and_the_rows_themselves_have_every_rows_once(
    network, relaxation
):
    answer = to_answer(network, plan_pool(network.pool))
    assert answer is not None
    held = set(answer.pieces)
    others = {
        (s, k)
        for s, segment in enumerate(network.segments)
        for k, arc in enumerate(segment.arcs)
        if (s, arc.tail, arc.head) not in held
    }
    relaxation.within(Limits(arcs=frozenset(others)))
    assert relaxation.run()
    parts, rest = Brancher(network, relaxation).flips(EVERYTHING)
    assert holds(rest, (frozenset(whole_arcs(relaxation)), frozenset(enumerate(answer.layouts))))
    for rows in some_rows(network):
        assert sum(holds(part, rows) for part in (*parts, rest)) == 1


def test_bound_of_a_part_with_limited_numbers_of_sheets_reaches_its_programme():
    network = compile_pool(pool_of(seeded_house(15)))
    relaxation = Relaxation(network)
    relaxation.within(Limits(counts=((2, 0, 4), (0, 0, 2), (1, 4, 4)), total=(12, 12)))
    dual = relaxation.solve()
    assert dual is not None
    assert relaxation.value * MONEY - dual.value < MONEY
