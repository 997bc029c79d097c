"""Which pieces one plan can hold beside each other, against every plan there is."""

from __future__ import annotations

from itertools import combinations

from takeoff.framing.members import Member
from takeoff.rules import Rules
from takeoff.solve.compatible import Compatible
from takeoff.solve.compile_network import compile_pool
from takeoff.solve.network import Network
from takeoff.solve.relaxation import links
from takeoff.units import INCH, Nm
from tests.takeoff.boards.hand import framed, member, sheet, stated
from tests.takeoff.solve.plans import every_plan


def network() -> Network:
    """A wall of two full rows, and a low one ripped to 20 in; members from 15 in on, so that a
    row's ends and what lies between them differ in length."""
    rules = Rules(floor_gap=Nm(0), fitting=Nm(0), sheets=(sheet(6, 1000), sheet(8, 1300)))

    def studs(width: int, height: int) -> tuple[Member, ...]:
        return tuple(member(at, 0, height) for at in (0, *range(15, width, 24), width))

    return compile_pool(
        stated(
            framed(110, 96, members=studs(110, 96)),
            framed(82, 20, members=studs(82, 20), id="r1/b"),
            rules=rules,
        )
    )


def test_pieces_of_every_plan_go_together():
    net = network()
    compatible = Compatible(net, links(net))
    seen = set()
    for plan in every_plan(net):
        for count in (2, 3, len(plan)):
            for some in combinations(sorted(plan), count):
                if some not in seen:
                    seen.add(some)
                    assert compatible.together(some)
                    assert compatible.may_stand_for(some)
                    assert all(compatible.beside[a] >> b & 1 for a, b in combinations(some, 2))
    assert len(seen) > 100


def test_pairs_that_no_plan_has_do_not_go_together():
    net = network()
    compatible = Compatible(net, links(net))
    pairs = {pair for plan in every_plan(net) for pair in combinations(sorted(plan), 2)}
    apart = [
        (a, b)
        for a in compatible.beside
        for b in compatible.beside
        if a <= b and (a, b) not in pairs
    ]
    assert apart
    # What cannot be told from two pieces alone (whether the rest of a row can be made up) is let
    # through.
    excluded = [pair for pair in apart if not compatible.together(pair)]
    assert len(excluded) > len(apart) // 2


def test_a_row_has_one_first_piece_whatever_its_length():
    net = network()
    low = next(s for s, segment in enumerate(net.segments) if segment.surface == 1)
    firsts = sorted(
        {arc.size for arc in net.segments[low].arcs if arc.tail == 0 and arc.size is not None}
    )
    assert len(firsts) > 2
    compatible = Compatible(net, links(net))
    assert not any(compatible.may_stand_for((a, b)) for a in firsts for b in firsts)
    groups = {net.ends[size] for size in firsts}
    assert len(groups) == 1
    assert net.most[groups.pop()] == 1


def test_two_rows_that_begin_alike_share_a_group_of_two():
    net = network()
    first = next(arc.size for arc in net.segments[0].arcs if arc.tail == 0)
    assert first is not None
    assert net.most[net.ends[first]] == 2


def test_joints_of_touching_rows_too_near_for_the_stagger_are_told_apart():
    net = network()
    arc = next(
        arc
        for arc in net.segments[0].arcs
        if arc.tail == 0 and arc.head < len(net.segments[0].at) - 1
    )
    assert arc.size is not None
    compatible = Compatible(net, links(net))
    # The same first joint in both rows would be no stagger at all; a smaller piece of the same
    # group may stand for it.
    assert not compatible.together((arc.size, arc.size))
    longest = max(
        (arc for arc in net.segments[0].arcs if arc.tail == 0),
        key=lambda arc: net.segments[0].at[arc.head],
    )
    assert longest.size is not None
    assert compatible.may_stand_for((longest.size, longest.size))
    assert net.segments[0].at[longest.head] >= 24 * INCH
