"""Hand goods of each phase and what is torn out, counted by hand through a whole house."""

from fractions import Fraction

import pytest

from takeoff.choices import Action, OldLining
from takeoff.house import Ceiling, House, QuickRoom, Room, SurfaceChoice
from takeoff.job import take_off
from takeoff.needs.need import Phase
from takeoff.reference import figures
from takeoff.rules import Rules
from tests.takeoff.houses import default_catalogue
from tests.takeoff.needs_room import assert_reasons_add_up, inches


def takeoff_of(*surfaces: SurfaceChoice, hand_goods: bool = True):
    """A room 12 by 10 by 8 ft: wall A is torn out, the ceiling boarded, the rest stays."""
    others = (SurfaceChoice(of=of, action=Action.LEAVE) for of in "BCD")
    room = Room(
        id="den",
        name="Den",
        shape=QuickRoom(length=inches(144), width=inches(120)),
        ceiling=Ceiling(height=inches(96)),
        surfaces=(*surfaces, *others),
    )
    rules = Rules(hand_goods=hand_goods)
    made = take_off(
        House(id="h", name="House", rooms=(room,), rules=rules, catalogue=default_catalogue())
    )
    assert_reasons_add_up(made.needs)
    return made


PLASTER = SurfaceChoice(
    of="A",
    action=Action.STRIP_AND_BOARD,
    lining=inches("7/8"),
    old_lining=OldLining.PLASTER,
)


@pytest.fixture(scope="module")
def den():
    return takeoff_of(PLASTER)


def amounts(made):
    return {(need.phase, need.material): need.amount.value for need in made.needs}


def test_plaster_torn_out_is_bagged_by_its_weight(den):
    # 96 sq ft at 10 lb: 960 lb, 20 bags of 50 lb. By volume, 14 cu ft as rubble, 4 bags would do.
    assert amounts(den)[Phase.TEAR_OUT, "rubble-bag"] == 20


def test_what_comes_off_is_told_with_dumpster_bags_and_trips(den):
    (told,) = (text for text in den.warnings if "comes off" in text)
    assert "960 lb" in told
    assert "14 cu ft as rubble" in told
    assert "contractor bags 20, or pickup trips 1" in told
    assert "counts as board" not in told


def test_old_board_weighs_by_its_thickness_and_says_that_nobody_told():
    made = takeoff_of(SurfaceChoice(of="A", action=Action.STRIP_AND_BOARD, lining=inches("1/2")))
    # 96 sq ft at 2.08 lb: 200 lb, 4 bags.
    assert figures.number("TO-board") * 4 == Fraction("2.08")
    assert amounts(made)[Phase.TEAR_OUT, "rubble-bag"] == 4
    assert any("It counts as board in Den, Wall A" in text for text in made.warnings)


def test_masks_and_sheeting_are_of_the_first_dusty_phase(den):
    got = amounts(den)
    assert got[Phase.TEAR_OUT, "mask"] == 1
    # 120 sq ft of floor and a fifth for laps and doorways.
    assert got[Phase.TEAR_OUT, "sheeting"] == 144
    # The new wall and ceiling are sanded: 96 and 120 sq ft, at most 300 a mask.
    assert got[Phase.TAPING, "mask"] == 1
    assert (Phase.TAPING, "sheeting") not in got
    only_new = amounts(takeoff_of(SurfaceChoice(of="A", action=Action.BOARD)))
    assert only_new[Phase.TAPING, "sheeting"] == 144
    assert not [phase for phase, _ in only_new if phase == Phase.TEAR_OUT]


def test_lift_is_rented_by_the_day_and_blades_go_by_sheets(den):
    got = amounts(den)
    assert got[Phase.HANGING, "lift-day"] == 1
    sheets = sum(value for (_, item), value in got.items() if item.startswith("sheet-"))
    # Three courses of ceiling and two of wall, 12 ft long each: 5 sheets, 4 a blade.
    assert sheets == 5
    assert got[Phase.HANGING, "knife-blade"] == 2
    (line,) = (line for line in den.supply.lines if line.material == "lift-day")
    assert [(pack.name, pack.count) for pack in line.packs] == [("day", 1)]


def test_hand_goods_are_counted_only_where_they_are_wanted():
    goods = {"knife-blade", "lift-day", "mask", "sheeting", "rubble-bag"}
    assert not goods & {item for _, item in amounts(takeoff_of(PLASTER, hand_goods=False))}
