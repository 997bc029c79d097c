"""Each rule of the order of work speaks where it should, and keeps silent where it should."""

import pytest

from takeoff.errors import BadValue
from takeoff.sequence.graph import Graph, Known, Wait, graph_of
from takeoff.sequence.rules import FACTS, Rule, Severity, Where, contradictions, rules
from takeoff.sequence.telling import Doing, told_before
from tests.takeoff.sequence.sites import DONE, done_in, site

RULES = {rule.id: rule for rule in rules()}
EVERY_FACT = frozenset(FACTS)
OPEN = site(EVERY_FACT)
WHOLE = graph_of(OPEN)


def waits_of(rule: Rule, graph: Graph) -> list[Wait]:
    """What the rule speaks about in the house: one wait for each pair of kinds of steps."""
    waits = [wait for waits in graph.waits.values() for wait in waits if wait.rule == rule]
    kinds_of = {
        (graph.steps[wait.step].kind.id, wait.after and graph.steps[wait.after].kind.id): wait
        for wait in waits
    }
    return list(kinds_of.values())


def doing_of(graph: Graph, wait: Wait) -> Doing:
    step = graph.steps[wait.step]
    return Doing(kind=step.kind.id, room=step.room, thing=step.thing)


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_a_rule_speaks_while_the_step_before_is_open(rule):
    waits = waits_of(rule, WHOLE)
    assert waits
    for wait in waits:
        # all is done but the two steps of the rule
        others = [id_ for id_ in WHOLE.steps if id_ not in (wait.step, wait.after)]
        graph = graph_of(done_in(OPEN, others))
        told = told_before(graph, [doing_of(graph, wait)])
        assert (rule.id, wait.after) in [
            (one.rule.id, one.after.id if one.after else "") for one in told
        ]
        assert all("{" not in one.first for one in told)


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_a_rule_keeps_silent_once_the_step_before_is_done_or_its_facts_are_not_so(rule):
    for wait in waits_of(rule, WHOLE) if rule.after else ():
        graph = graph_of(done_in(OPEN, [wait.after]))
        told = told_before(graph, [doing_of(graph, wait)])
        assert (rule.id, wait.after) not in [
            (one.rule.id, one.after.id if one.after else "") for one in told
        ]
    for fact in rule.facts:
        assert not waits_of(rule, graph_of(site(EVERY_FACT - {fact})))


@pytest.mark.parametrize("rule", [rule for rule in rules() if rule.gap], ids=lambda rule: rule.id)
def test_a_rule_with_a_gap_speaks_until_the_hours_are_over(rule):
    wait = waits_of(rule, WHOLE)[0]
    for hours, short in ((rule.gap - 1, 1), (rule.gap, None), (None, None)):
        graph = graph_of(done_in(OPEN, [wait.after], Known(done=True, hours=hours)))
        told = [
            one
            for one in told_before(graph, [doing_of(graph, wait)])
            if one.rule == rule and one.after.id == wait.after
        ]
        assert [one.short for one in told] == ([] if short is None else [short])


def test_every_rule_names_its_source_or_says_that_there_is_none():
    for rule in rules():
        assert rule.why.endswith(".")
        assert rule.first.endswith(".")
        assert bool(rule.source) == (rule.status != "common practice"), rule.id
        assert rule.source_text


# What published texts ask for, (the step that waits, the step before it).
# IRC 2015 R109.1.2, R109.1.4, R109.1.5.1 (as printed in Washington State's checklist for
# factory-built housing, 2020): services are seen before they are covered, rated board before tape.
# ASTM C840 4.1 (as quoted by AWCI): 40 °F to hang; 50 °F for 48 h before joint treatment.
# 29 CFR 1926.850 (a) and (c): structure surveyed and services shut off before demolition.
# ToughRock gypsum board user manual, p. 4: ceilings before walls.
PUBLISHED = [
    ("hang-walls", "rough-in-inspected", "stop"),
    ("hang-ceiling", "rough-in-inspected", "stop"),
    ("tape", "fire-inspected", "stop"),
    ("hang-walls", "dry-and-warm", "think"),
    ("tape", "warm", "think"),
    ("tear-out", "bearing-known", "stop"),
    ("tear-out", "shut-offs", "stop"),
    ("hang-walls", "hang-ceiling", "think"),
]


@pytest.mark.parametrize(("step", "before", "severity"), PUBLISHED)
def test_what_published_texts_ask_for_is_asked_for(step, before, severity):
    found = [rule for rule in rules() if step in rule.steps and before in rule.after]
    assert severity in [rule.severity for rule in found]


def test_taping_and_coats_are_told_of_cold_only_where_somebody_said_it_is_cold():
    cold = site({"cold", "walls"})
    told = told_before(graph_of(cold), [Doing(kind="tape", room="kitchen")])
    assert "too-cold-to-tape" in [one.rule.id for one in told if one.severity is Severity.STOP]
    told = told_before(graph_of(site({"walls"})), [Doing(kind="tape", room="kitchen")])
    assert "too-cold-to-tape" not in [one.rule.id for one in told]


def test_a_block_stops_only_the_board_that_hides_it():
    graph = graph_of(site())

    def stops(*faces):
        doing = Doing(kind="hang-walls", room="kitchen", faces=frozenset(faces))
        return [one.rule.id for one in told_before(graph, [doing])]

    assert "blocking-before-board" in stops("A")
    assert "blocking-before-board" not in stops("B")
    assert "blocking-before-board" in stops()


def test_a_coat_waits_for_the_coat_under_it_on_its_own_face_alone():
    graph = graph_of(done_in(site(), ["kitchen/tape"], Known(begun=True, faces={"A": 30})))

    def told(face):
        doing = Doing(kind="second-coat", room="kitchen", faces=frozenset({face}))
        return [one.rule.id for one in told_before(graph, [doing])]

    assert told("A") == []
    assert "tape-before-second-coat" in told("B")


def test_steps_that_are_done_in_one_press_do_not_wait_for_each_other():
    graph = graph_of(site({"ceiling", "walls"}))
    both = [Doing(kind=kind, room="kitchen") for kind in ("hang-ceiling", "hang-walls")]
    assert "ceiling-before-walls" not in [one.rule.id for one in told_before(graph, both)]
    assert "ceiling-before-walls" in [one.rule.id for one in told_before(graph, both[1:])]


def test_rules_that_contradict_each_other_are_found():
    again = RULES["hung-before-taping"]
    against = Rule(
        id="taped-before-hanging",
        steps=("hang-walls",),
        after=("tape",),
        where=Where.ROOM,
        severity=Severity.STOP,
        first="Tape first.",
        why="A test.",
        source="",
        status=again.status,
    )
    assert contradictions(rules()) is None
    told = contradictions([*rules(), against])
    assert told is not None
    assert "tape" in told
    assert "hang-walls" in told


def test_a_circle_through_several_rooms_is_found_in_the_graph():
    assert graph_of(OPEN).circle is None
    backwards = Rule(
        id="closet-first",
        steps=("hang-walls",),
        after=("hang-walls",),
        where=Where.BESIDE,
        severity=Severity.THINK,
        first="Hang the room beside first.",
        why="A test.",
        source="",
        status=RULES["hung-before-taping"].status,
    )
    told = graph_of(OPEN, [*rules(), backwards]).circle
    assert told is not None
    assert "kitchen/hang-walls" in told


def test_an_unknown_fact_is_refused():
    from takeoff.sequence.rules import _facts

    with pytest.raises(BadValue, match="unknown fact"):
        _facts({"id": "a-rule", "facts": ["weather"]})


def test_nothing_is_told_where_WHOLE_is_done():
    graph = graph_of(done_in(site(), graph_of(site()).steps, DONE))
    doings = [
        Doing(kind=step.kind.id, room=step.room, thing=step.thing) for step in graph.steps.values()
    ]
    told = [one for doing in doings for one in told_before(graph, [doing])]
    assert all(one.after is None for one in told)
