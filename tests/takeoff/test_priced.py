"""A choice priced both ways: against takeoffs of houses in which the field was changed by hand."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from functools import cache

import pytest

from takeoff.choices import FramedWhen, JointMode, OpeningKind, Orientation, Side
from takeoff.errors import BadValue
from takeoff.framing.edges import Support
from takeoff.hours import hours_of_rooms
from takeoff.house import BehindPartition, Finish, House, Opening, Partition, Room, SurfaceChoice
from takeoff.job import Takeoff, take_off
from takeoff.plan_figures import FigureKind
from takeoff.priced.choice import Choice, ChoiceKind, choices_of, house_with, side_now
from takeoff.priced.figures import CHOICE_LINES, SideFigures
from takeoff.priced.pricing import Lean, PricedChoice, lean_of, priced
from takeoff.priced.state import free_rooms, overtaken
from takeoff.priced.words import kind_words
from takeoff.report.choices_text import choices_text
from takeoff.rules import Rules
from takeoff.seams import SeamKind
from takeoff.sequence.graph import Known, Place, Site, Thing, graph_of
from takeoff.unit_prices import UnitPrices
from takeoff.units import FOOT, Nm
from tests.takeoff.geometry.rooms import house, inches, quick
from tests.takeoff.houses import default_catalogue, demo_house


def closet(*, door: bool = True, wall_at: int = 84, **more: object) -> House:
    """A room of 10 ft by 8 ft with a closet wall across it, its door 30 in wide."""
    opening = Opening(
        id="door",
        name="Closet door",
        kind=OpeningKind.DOOR,
        wall="wall",
        left=inches(24),
        sill=Nm(0),
        width=inches(30),
        height=inches(82),
    )
    wall = Partition(
        id="wall",
        name="Closet wall",
        room="kitchen",
        wall="A",
        at=inches(wall_at),
        side=Side.RIGHT,
        openings=(opening,) if door else (),
        **more,
    )
    behind = Room(id="closet", name="Closet", shape=BehindPartition(partition="wall"))
    made = house(quick(120, 96), behind, partitions=(wall,))
    return replace(made, catalogue=default_catalogue())


def rooms(*names: str, **more: object) -> House:
    made = (replace(quick(96, 84, **more), id=name.lower(), name=name) for name in names)
    return replace(house(*made), catalogue=default_catalogue())


def one_of(made: House, kind: ChoiceKind) -> Choice:
    return next(choice for choice in choices_of(made) if choice.kind is kind)


@cache
def closet_both_ways() -> PricedChoice:
    made = closet()
    return priced(made, one_of(made, ChoiceKind.PARTITION))


def by_hand(takeoff: Takeoff) -> dict[str, object]:
    """What a takeoff comes to, added up here from its own lists."""
    prices = UnitPrices(takeoff.house)
    hours = hours_of_rooms(takeoff).values()
    return {
        "sheets": len(takeoff.sheets),
        "pieces": sum(len(plan.pieces) for plan in takeoff.surface_plans),
        "butts": sum(len(plan.joints) for plan in takeoff.surface_plans),
        "corner": sum(seam.length for seam in takeoff.seams if seam.kind is SeamKind.INSIDE_CORNER),
        "edges": sum(edge.support is not Support.CLIP for edge in takeoff.unsupported_edges),
        "hours": sum((one.total for one in hours), Fraction(0)),
        "cost": sum((prices.of(need)[1] or Fraction(0) for need in takeoff.needs), Fraction(0)),
    }


def priced_so(figures: SideFigures) -> dict[str, object]:
    return {name: getattr(figures, name) for name in by_hand_names()}


def by_hand_names() -> tuple[str, ...]:
    return ("sheets", "pieces", "butts", "corner", "edges", "hours", "cost")


def test_partition_both_ways_equals_two_separate_takeoffs():
    both = closet_both_ways()
    before, after = (
        by_hand(take_off(closet(framed=when))) for when in (FramedWhen.BEFORE, FramedWhen.AFTER)
    )

    assert priced_so(both.one.figures) == before
    assert priced_so(both.other.figures) == after
    assert before != after
    assert both.money == after["cost"] - before["cost"]
    assert both.hours == after["hours"] - before["hours"]


def test_ceiling_both_ways_equals_two_separate_takeoffs():
    framing = replace(rooms("Den").rules, assumed_ceiling_spacing=inches(16))
    made = replace(rooms("Den"), rules=framing)
    both = priced(made, one_of(made, ChoiceKind.CEILING))
    (den,) = made.rooms
    for side, way in zip(both.sides, (Orientation.ACROSS, Orientation.ALONG), strict=True):
        chosen = replace(den, surfaces=(SurfaceChoice(of="ceiling", orientation=way),))
        assert priced_so(side.figures) == by_hand(take_off(replace(made, rooms=(chosen,))))


def test_level_both_ways_equals_two_separate_takeoffs():
    made = rooms("Den")
    both = priced(made, one_of(made, ChoiceKind.LEVEL))
    for side, level in zip(both.sides, (4, 5), strict=True):
        (den,) = rooms("Den", finish=Finish(wall_level=level, ceiling_level=level)).rooms
        assert priced_so(side.figures) == by_hand(take_off(replace(made, rooms=(den,))))
    assert both.hours > 0


def test_joints_both_ways_equals_two_separate_takeoffs():
    made = replace(house(quick(200, 96)), catalogue=default_catalogue())
    both = priced(made, one_of(made, ChoiceKind.JOINTS))
    for side, mode in zip(both.sides, (JointMode.FRAMING, JointMode.FLOATING), strict=True):
        rules = replace(made.rules, joint_mode=mode)
        assert side.stays == ()
        assert priced_so(side.figures) == by_hand(take_off(replace(made, rules=rules)))
    assert both.one.figures.backers == 0 < both.other.figures.backers


def test_shared_sheets_equal_a_takeoff_of_one_pile():
    made = rooms("Den", "Nook")
    both = priced(made, one_of(made, ChoiceKind.SHEETS))
    apart, shared = (
        take_off(
            replace(made, rooms=tuple(replace(room, pile=pile or room.id) for room in made.rooms))
        )
        for pile in ("", "one")
    )

    assert priced_so(both.one.figures) == by_hand(apart)
    assert priced_so(both.other.figures) == by_hand(shared)
    assert both.other.figures.cost <= both.one.figures.cost


def test_rooms_one_by_one_take_more_rounds_for_the_same_board():
    made = rooms("Den", "Nook")
    both = priced(made, one_of(made, ChoiceKind.ROUNDS))
    one, other = both.one.figures, both.other.figures

    assert (one.sheets, one.cost) == (other.sheets, other.cost)
    assert (one.rounds_hanging, one.rounds_taping, one.trips) == (2, 2, 4)
    assert (other.rounds_hanging, other.rounds_taping, other.trips) == (1, 1, 2)
    # a day before the second coat, the third, and sanding
    assert (one.drying, other.drying) == (6, 3)
    assert both.leaning.side == "at-once"
    assert not both.choice.stored


def test_nothing_but_the_choice_is_changed():
    made = closet()
    choice = one_of(made, ChoiceKind.PARTITION)
    one, other = (house_with(made, choice, side) for side in choice.sides)

    assert one != other
    assert replace(other, partitions=one.partitions) == one


def test_partition_framed_after_is_hung_in_a_round_more_and_leaves_one_ceiling():
    both = closet_both_ways()
    before, after = both.one.figures, both.other.figures

    assert (before.rounds_hanging, after.rounds_hanging) == (1, 2)
    assert (before.rounds_taping, after.rounds_taping) == (1, 1)
    assert (before.ceilings, after.ceilings) == (2, 1)


def test_backing_says_what_stands_where():
    both = closet_both_ways()
    facts = {fact.what: fact for fact in both.facts}
    backing = facts["Blocking and backing"]

    assert "tee studs in Wall A and Wall C" in backing.one
    assert "blocks between the studs of Wall A and Wall C" in backing.other


def test_longest_board_into_a_closet_goes_from_its_door_to_the_far_corner():
    # The wall is 96 in long; its door, from 24 to 54 in, leaves 72 in to the far wall.
    # The closet is 120 - 84 - 3 1/2 = 32 1/2 in deep: 78.99 in, told in whole inches.
    (fact,) = (one for one in closet_both_ways().facts if one.what.startswith("Longest"))

    assert fact.one.startswith("6' 6\" on edge through its door")


def test_piece_that_does_not_pass_the_door_is_told():
    both = closet_both_ways()
    longest = max(
        piece.end - piece.start
        for plan in both.takeoffs[0].surface_plans
        if plan.room == "closet"
        for piece in plan.pieces
    )

    assert longest > 79 * FOOT // 12
    assert any("longer than the 6' 6\"" in text for text in both.one.warnings)


def test_closet_without_a_door_takes_no_board_once_its_faces_hang():
    made = closet(door=False)
    both = priced(made, one_of(made, ChoiceKind.PARTITION))
    (fact,) = (one for one in both.facts if one.what.startswith("Longest"))

    assert fact.one.startswith("none once its faces are hung")


def test_every_side_has_words_and_every_why_is_of_a_figure():
    fields = {line.field for line in CHOICE_LINES}
    for kind in ChoiceKind:
        words = kind_words(kind)
        assert len(set(words.side_ids)) == 2
        assert set(words.why) <= fields, kind
        assert words.keeps, kind


def test_why_stands_beside_figures_that_differ_alone():
    both = closet_both_ways()

    assert any(line.why for line in both.lines)
    assert all(line.differs for line in both.lines if line.why)


def test_lean_is_to_the_side_that_is_cheaper_at_any_pace():
    made = rooms("Den")
    leaning = priced(made, one_of(made, ChoiceKind.LEVEL)).leaning

    assert (leaning.lean, leaning.side) == (Lean.CLEAR, "level-4")


@pytest.mark.parametrize(
    ("cents", "hours", "worth", "lean", "ahead"),
    [
        (-9000, 0, 1500, Lean.CLEAR, 1),
        (9000, 0, 1500, Lean.CLEAR, 0),
        # dearer by six hours' worth, quicker by ten hours: ahead at any pace from 0.7 to 1.4
        (9000, -10, 1500, Lean.CLEAR, 1),
        # quicker by seven hours: not at 0.7 times as long
        (9000, -7, 1500, Lean.BY_PACE, 0),
        (-9000, 7, 1500, Lean.BY_PACE, 1),
        (1000, 0, 1500, Lean.EVEN, 0),
        (50, 100, 0, Lean.EVEN, 0),
        (-500, 100, 0, Lean.CLEAR, 1),
    ],
)
def test_lean_holds_over_the_spread_of_paces(cents, hours, worth, lean, ahead):
    assert lean_of(Fraction(cents), Fraction(hours), Fraction(worth)) == (lean, ahead)


def test_money_alone_decides_where_an_hour_counts_nothing():
    made = replace(rooms("Den"), rules=Rules(hour=Decimal(0)))
    leaning = priced(made, one_of(made, ChoiceKind.LEVEL)).leaning

    assert "money alone decides" in " ".join(leaning.rests_on)
    assert leaning.side == "level-4"


def test_side_that_is_not_of_the_choice_is_refused():
    made = closet()
    with pytest.raises(BadValue, match="before or after"):
        house_with(made, one_of(made, ChoiceKind.PARTITION), "never")


def test_house_says_which_side_it_has():
    made = closet(framed=FramedWhen.AFTER)

    assert side_now(made, one_of(made, ChoiceKind.PARTITION)) == "after"
    assert side_now(made, one_of(made, ChoiceKind.LEVEL)) == "level-4"
    assert side_now(made, one_of(made, ChoiceKind.JOINTS)) == "framing"
    either = replace(made, rules=replace(made.rules, joint_mode=JointMode.EITHER))
    assert side_now(either, one_of(either, ChoiceKind.JOINTS)) == ""


def test_load_bearing_wall_and_ceiling_that_the_table_forbids_are_no_choices():
    kinds = {choice.kind for choice in choices_of(closet(bearing=True))}

    # half an inch lies across joists two feet apart, never along them
    assert not kinds & {ChoiceKind.PARTITION, ChoiceKind.CEILING}


def test_one_room_has_nothing_to_share_and_finished_rooms_nothing_to_choose():
    assert {choice.kind for choice in choices_of(rooms("Den"))} == {
        ChoiceKind.JOINTS,
        ChoiceKind.LEVEL,
    }
    assert choices_of(rooms("Den", "Nook", finished=True)) == ()


def test_choice_of_the_house_leaves_out_rooms_that_are_begun():
    made = rooms("Den", "Nook", "Hall")
    (choice,) = (one for one in choices_of(made, {"den", "hall"}) if one.kind is ChoiceKind.SHEETS)

    assert choice.rooms == ("den", "hall")


@pytest.mark.parametrize(
    "choice", ["partition.main-closet-wall", "partition.small-closet-wall", "joints.living"]
)
def test_demo_house_has_choices_in_which_either_way_costs_something(choice):
    """Fewer sheets for more hours, fewer pieces for a round more: no side is better in all."""
    made = demo_house("hollow-lane")
    both = priced(made, next(one for one in choices_of(made) if one.id == choice))
    less = {line.line.field for line in both.lines if line.other < line.one}
    more = {line.line.field for line in both.lines if line.other > line.one}

    assert len(less) >= 2
    assert len(more) >= 2
    assert both.leaning.says
    assert both.keeps


def test_rooms_of_a_large_house_are_not_all_bought_at_once():
    names = [f"Room{number}" for number in range(12)]
    (choice,) = (one for one in choices_of(rooms(*names)) if one.kind is ChoiceKind.SHEETS)

    assert choice.rooms == tuple(name.lower() for name in names[:8])


def test_text_sets_every_choice_side_by_side_and_names_no_other_room():
    takeoff = take_off(rooms("Den", "Nook"))
    text = choices_text(takeoff, ["den"])

    assert "DEN: LEVEL 4 OR LEVEL 5 FINISH" in text
    assert "NOOK: LEVEL" not in text
    assert "Level 4, now" in text
    assert "None of this is an order" in text


# overtaken by the work


PARTITION = Choice(kind=ChoiceKind.PARTITION, name="Closet wall", rooms=("den",), of="wall")


def den(thing: dict[str, Known] | None = None, **known: Known) -> Site:
    facts = frozenset(
        {"ceiling", "walls", "second coat", "third coat", "sanded", "primed", "painted"}
    )
    things = (Thing(id="wall", name="Closet wall", known=thing or {"partition-first": Known()}),)
    kinds = {name.replace("_", "-"): one for name, one in known.items()}
    return Site(places=(Place(room="den", name="Den", facts=facts, known=kinds, things=things),))


@pytest.mark.parametrize(
    ("site", "says"),
    [
        (den(), ""),
        (den({"partition-first": Known(done=True)}), "Closet wall is framed"),
        (den({"partition-later": Known(begun=True)}), "Closet wall is being framed"),
        (den(hang_ceiling=Known(begun=True)), "Board is up on the ceiling of Den"),
        (den(hang_walls=Known(done=True)), "Board is up on walls of Den"),
        (den(tape=Known(begun=True)), ""),
    ],
)
def test_partition_is_overtaken_once_it_stands_or_board_is_up(site, says):
    assert overtaken(PARTITION, graph_of(site)) == says


@pytest.mark.parametrize(
    ("kind", "site", "is_overtaken"),
    [
        (ChoiceKind.CEILING, den(hang_walls=Known(begun=True)), False),
        (ChoiceKind.CEILING, den(hang_ceiling=Known(begun=True)), True),
        (ChoiceKind.JOINTS, den(hang_walls=Known(begun=True)), True),
        (ChoiceKind.LEVEL, den(third_coat=Known(done=True)), False),
        (ChoiceKind.LEVEL, den(prime=Known(begun=True)), True),
        (ChoiceKind.SHEETS, den(), False),
        (ChoiceKind.SHEETS, den(hang_walls=Known(begun=True)), True),
    ],
)
def test_other_choices_are_overtaken_by_their_own_step(kind, site, is_overtaken):
    choice = Choice(
        kind=kind, name="", rooms=("den",), of="" if kind is ChoiceKind.SHEETS else "den"
    )

    assert bool(overtaken(choice, graph_of(site))) is is_overtaken


def test_rooms_with_board_ordered_or_cut_are_no_longer_free():
    assert free_rooms(graph_of(den())) == {"den"}
    for kind in ("board_ordered", "cut", "hang_walls"):
        assert free_rooms(graph_of(den(**{kind: Known(done=True)}))) == frozenset()


def test_figures_are_told_in_steps_of_what_is_shown():
    areas = [line for line in CHOICE_LINES if line.kind is FigureKind.AREA]
    figures = SideFigures(offcuts=32 * FOOT**2)

    assert [line.steps(figures, "in") for line in areas] == [32]
    # 32 sq ft are 2.973 m2
    assert [line.steps(figures, "mm") for line in areas] == [30]
