"""A room of a metric flat with steel studs, counted by hand through the whole takeoff."""

from fractions import Fraction

import pytest

from takeoff.choices import Action, Orientation, Runs, Substrate
from takeoff.house import Ceiling, Framing, House, QuickRoom, Room, SurfaceChoice
from takeoff.job import take_off
from takeoff.needs.need import Phase
from takeoff.report.why_text import why_text
from takeoff.rules import Rules
from takeoff.units import MM, Nm, UnitSystem
from tests.takeoff.houses import default_catalogue
from tests.takeoff.needs_room import assert_reasons_add_up


def mm(value: int) -> Nm:
    return Nm(value * MM)


@pytest.fixture(scope="module")
def flat():
    """Wall A of a room 3 by 2 m and 2.4 m high is boarded on steel studs 600 mm apart; its left
    corner has nothing behind it. The rest stays, under a ceiling of old board."""
    studs = Framing(
        spacing=mm(600),
        first=mm(25),
        member_width=mm(50),
        runs=Runs.ACROSS,
        substrate=Substrate.STEEL,
        start_backed=False,
        end_backed=True,
    )
    room = Room(
        id="room",
        name="Room",
        shape=QuickRoom(length=mm(3000), width=mm(2000)),
        ceiling=Ceiling(height=mm(2400)),
        surfaces=(
            SurfaceChoice(
                of="A", action=Action.BOARD, framing=studs, orientation=Orientation.ACROSS
            ),
            *(SurfaceChoice(of=of, action=Action.LEAVE) for of in ("B", "C", "D", "ceiling")),
        ),
    )
    house = House(
        id="flat",
        name="Flat",
        units=UnitSystem.MILLIMETRE,
        rooms=(room,),
        rules=Rules.metric(),
        catalogue=default_catalogue(UnitSystem.MILLIMETRE),
    )
    made = take_off(house)
    assert_reasons_add_up(made.needs)
    return made


def amount(flat, phase: Phase, item: str) -> Fraction:
    (need,) = (need for need in flat.needs if (need.phase, need.material) == (phase, item))
    return need.amount.value


def test_two_courses_are_two_sheets_as_long_as_the_wall(flat):
    assert amount(flat, Phase.HANGING, "sheet-regular-12.5x1200x3000mm") == 2


def test_board_is_screwed_to_steel_by_the_row_for_wide_framing(flat):
    # Studs at 25, 625, ... 2425 mm and one at the far end: 6 under each course. Screws at most
    # 12 in apart on studs over 16 in apart: 5 on 1200 mm, and 5 on the lower course. Three spare.
    assert amount(flat, Phase.HANGING, "screw-fine-1") == 6 * 5 * 2 + 3


def test_corner_with_nothing_behind_it_takes_a_steel_stud_screwed_every_sixteen_inches(flat):
    (need,) = (need for need in flat.needs if need.material == "steel-stud")
    assert need.lengths == (mm(2400),)
    # 2400 mm at most 406 apart: 7.
    assert amount(flat, Phase.FRAMING, "screw-framing") == 7


def test_what_is_bought_is_metric_and_of_steel(flat):
    bought = {line.material: line for line in flat.supply.lines}
    assert [(pack.name, pack.count) for pack in bought["steel-stud"].packs] == [("2.5 m", 1)]
    assert bought["screw-fine-1"].name == "25 mm fine-thread drywall screw (steel)"
    assert [(pack.name, pack.count) for pack in bought["screw-fine-1"].packs] == [("box of 500", 1)]
    assert not {"2x4", "nails-16d", "nails-8d"} & set(bought)
    assert all(line.cost > 0 or not line.packs for line in flat.supply.lines)
    assert flat.supply.unmet == ()


def test_why_of_a_steel_stud_names_what_it_rests_on(flat):
    text = why_text(flat, flat.needs, "steel stud")
    assert "nothing to screw to at the corner" in text
    assert "2.4 m" in text
