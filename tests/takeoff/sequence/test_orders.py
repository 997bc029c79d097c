"""Whole orders of work: a good one is never stopped, a bad one never passes a stop unsaid."""

import random

import pytest

from takeoff.sequence.graph import graph_of
from takeoff.sequence.outlook import outlook_of
from takeoff.sequence.rules import Severity
from takeoff.sequence.telling import Doing, told_before
from tests.takeoff.sequence.sites import done_in, site

# An order in which such a house is remodeled well, written by hand.
_BOARD = """
/shut-offs /hazards-tested kitchen/bearing-known pantry/bearing-known closet/bearing-known
kitchen/tear-out pantry/tear-out closet/tear-out kitchen/framing pantry/framing closet/framing
kitchen/partition-first/pantry-wall
kitchen/measured pantry/measured closet/measured /leaks-fixed
kitchen/backing-bought/closet-wall kitchen/backing/closet-wall kitchen/blocking/rail
kitchen/board-ordered pantry/board-ordered closet/board-ordered
kitchen/large-things-in pantry/large-things-in closet/large-things-in
kitchen/rough-in pantry/rough-in closet/rough-in
kitchen/rough-in-inspected pantry/rough-in-inspected closet/rough-in-inspected /alarms-looked-at
kitchen/air-sealed pantry/air-sealed closet/air-sealed
kitchen/insulation pantry/insulation closet/insulation
kitchen/insulation-inspected pantry/insulation-inspected closet/insulation-inspected
kitchen/dry-and-warm pantry/dry-and-warm closet/dry-and-warm
kitchen/photographed pantry/photographed closet/photographed
kitchen/close-faces pantry/close-faces closet/close-faces
kitchen/cut kitchen/hang-ceiling kitchen/hang-walls
kitchen/partition-later/closet-wall kitchen/hang-faces/closet-wall
pantry/cut pantry/hang-ceiling pantry/hang-walls closet/cut closet/hang-ceiling closet/hang-walls
/lift-back
"""
GOOD = _BOARD.split() + [
    f"{room}/{kind}"
    for kinds in (
        "fire-inspected waterproofed bead warm tape second-coat third-coat sand",
        "prime texture boxes-flush paint tile trim",
    )
    for kind in kinds.split()
    for room in ("kitchen", "pantry", "closet")
]


def doing(step: str) -> Doing:
    room, kind, *thing = step.split("/")
    return Doing(kind=kind, room=room, thing=thing[0] if thing else "")


def stops_before(house, step):
    told = told_before(graph_of(house), [doing(step)])
    return {one.after.id for one in told if one.severity is Severity.STOP and one.after}


def test_a_good_order_has_every_step_and_is_never_stopped():
    house = site()
    assert sorted(GOOD) == sorted(graph_of(house).steps)
    for step in GOOD:
        told = told_before(graph_of(house), [doing(step)])
        assert [one.first for one in told if one.severity is not Severity.NOTE and one.after] == []
        house = done_in(house, [step])


def shuffled(seed: int) -> list[str]:
    order = list(GOOD)
    random.Random(seed).shuffle(order)
    return order


@pytest.mark.parametrize("seed", range(2))
def test_no_order_passes_a_stop_unsaid(seed):
    check_order(seed)


@pytest.mark.deep
@pytest.mark.parametrize("seed", range(2, 60))
def test_no_order_of_many_passes_a_stop_unsaid(seed):
    check_order(seed)


# The stops of such a house, written by hand: each step that must not be done before the other.
MUST = [
    ("kitchen/tear-out", "/shut-offs"),
    ("kitchen/tear-out", "/hazards-tested"),
    ("kitchen/hang-walls", "/leaks-fixed"),
    ("kitchen/hang-ceiling", "kitchen/rough-in"),
    ("kitchen/hang-walls", "kitchen/insulation"),
    ("kitchen/hang-walls", "kitchen/blocking/rail"),
    ("kitchen/hang-walls", "kitchen/backing/closet-wall"),
    ("kitchen/hang-walls", "kitchen/partition-first/pantry-wall"),
    ("kitchen/partition-later/closet-wall", "kitchen/hang-walls"),
    ("kitchen/hang-faces/closet-wall", "kitchen/partition-later/closet-wall"),
    ("closet/hang-walls", "kitchen/partition-later/closet-wall"),
    ("pantry/hang-walls", "kitchen/partition-first/pantry-wall"),
    ("kitchen/tape", "kitchen/hang-faces/closet-wall"),
    ("kitchen/tape", "kitchen/hang-ceiling"),
    ("kitchen/paint", "kitchen/hang-walls"),
    ("kitchen/tile", "kitchen/waterproofed"),
]


def check_order(seed: int) -> None:
    house = site()
    for step in shuffled(seed):
        graph = graph_of(house)
        told = stops_before(house, step)
        for waiting, before in MUST:
            if waiting == step and not graph.steps[before].is_done:
                assert before in told
        house = done_in(house, [step])


def test_following_what_can_start_finishes_the_house_without_a_stop():
    house, done = site(), []
    while True:
        graph = graph_of(house)
        outlook = outlook_of(graph)
        if not outlook.now:
            break
        step = (outlook.most or outlook.now[0]).step.id
        assert not stops_before(house, step)
        done.append(step)
        house = done_in(house, [step])
    assert not outlook.waiting
    work = {
        id_
        for id_, step in graph.steps.items()
        if step.kind.told.is_work and step.kind.id != "board-ordered"
    }
    assert work <= set(done)


def test_what_is_accepted_holds_up_nothing_any_more():
    graph = graph_of(done_in(site({"walls"}), ["kitchen/framing", "kitchen/insulation"]))
    waiting = {
        one.step.id: [other.id for other in one.waits_for] for one in outlook_of(graph).waiting
    }
    assert "kitchen/rough-in" in waiting["kitchen/hang-walls"]
    accepted = {"rough-in-before-board kitchen/rough-in"}
    again = {
        one.step.id: [other.id for other in one.waits_for]
        for one in outlook_of(graph, accepted).waiting
    }
    assert "kitchen/rough-in" not in again["kitchen/hang-walls"]


def test_the_step_that_frees_most_work_comes_before_the_most_steps():
    outlook = outlook_of(graph_of(site()))
    assert outlook.most is not None
    assert outlook.most.frees == max(one.frees for one in outlook.now)
    assert outlook.most.step.id in ("/shut-offs", "/hazards-tested", "/leaks-fixed")
    pantry = outlook.of_room("pantry")
    assert {one.step.room for one in pantry.now} <= {"pantry", ""}
