"""What a takeoff says to people: the supply list as text and CSV, and the reasons."""

import csv
import io
from dataclasses import replace
from fractions import Fraction

import pytest

from takeoff.errors import BadValue
from takeoff.job import chosen_needs, partition_choices, supply_for, take_off
from takeoff.needs.need import Phase
from takeoff.quantities import Amount, money
from takeoff.report.csv_text import supply_csv
from takeoff.report.numbers import amount_text, decimal_text
from takeoff.report.plan_text import plan_text
from takeoff.report.supply_text import supply_text
from takeoff.report.text_table import PAGE_WIDTH, TextColumn, paragraph, table_lines
from takeoff.report.why_text import why_text
from tests.takeoff.houses import DEMO_HOUSES, demo_house, demo_takeoff


@pytest.fixture(scope="module")
def lane():
    return demo_takeoff("hollow-lane")


@pytest.fixture(scope="module")
def lane_text(lane):
    return supply_text(lane, lane.supply)


def parsed(supply):
    return list(csv.DictReader(io.StringIO(supply_csv(supply, currency="USD"))))


def test_text_has_a_part_for_each_phase_in_the_order_of_the_work(lane_text):
    places = [
        lane_text.index(f"\n{phase.label.upper()}\n")
        for phase in Phase
        if phase is not Phase.ROUGH_IN
    ]
    assert places == sorted(places)


def test_text_says_that_prices_are_samples(lane_text):
    assert "Sample prices: invented" in lane_text


def test_text_does_not_call_confirmed_prices_samples(lane):
    supply = replace(lane.supply, sample_prices=False)
    assert "Sample prices" not in supply_text(lane, supply)


@pytest.mark.parametrize("name", DEMO_HOUSES)
def test_no_line_is_wider_than_the_page(name):
    takeoff = demo_takeoff(name)
    assert max(map(len, supply_text(takeoff, takeoff.supply).splitlines())) <= PAGE_WIDTH


def test_text_names_each_partition_that_may_be_framed_the_other_way(lane_text, lane):
    part = lane_text[lane_text.index("PARTITIONS: FRAMED") :].split("\n\n")[0]
    assert "--choices" in part
    assert [line.split(",")[0].removeprefix("  - ") for line in part.splitlines()[1:3]] == [
        partition.name for partition in lane.house.partitions
    ]
    assert part.count("now after board") == 2


def test_text_names_what_cannot_be_boarded_and_what_to_change(lane):
    from takeoff.boards.house_plan import Refusal

    refused = replace(
        lane,
        refused=(Refusal(surface="x", row=0, rule="stagger", message="Hall: no joint; relax it"),),
    )
    text = supply_text(refused, refused.supply)
    assert text.index("CANNOT BE BOARDED") < text.index("\nFRAMING\n")
    assert "Hall: no joint; relax it (stagger in the house file)" in text


def test_total_of_the_text_is_the_supply_list_s(lane_text, lane):
    (total,) = [line for line in lane_text.splitlines() if line.startswith("  All of the above")]
    assert total.endswith(money(lane.supply.cost, "USD"))


def test_phases_not_asked_for_are_not_said_to_take_nothing(lane):
    supply = supply_for(lane, phases=[Phase.TAPING])
    text = supply_text(lane, supply, phases=[Phase.TAPING])
    assert "\nTAPING\n" in text
    assert "FRAMING" not in text
    assert "All of the above" not in text


def test_part_of_a_house_is_not_followed_by_the_whole_house_s_plans(lane):
    supply = supply_for(lane, rooms=["bath"])
    text = supply_text(lane, supply, rooms=["bath"])
    assert "Only Bath, out of the plans of the whole house." in text
    assert "BOARD PLANS" not in text


def test_house_without_rooms_says_what_to_add():
    empty = take_off(replace(demo_house("hollow-lane"), rooms=(), partitions=()))
    assert "no rooms yet: add one under rooms" in supply_text(empty, empty.supply)


def test_what_an_earlier_phase_leaves_over_is_marked(lane):
    later = next(
        line
        for line in lane.supply.lines
        if line.material == "shim-strip" and line.phase == Phase.HANGING
    )
    assert later.on_hand.value
    part = supply_text(lane, lane.supply).split("\nHANGING\n")[1].split("\nTAPING\n")[0]
    assert f"{amount_text(later.on_hand, lane.house.units)}*" in part
    assert "* with what is left over from framing" in part


def test_poured_thing_bought_with_next_to_nothing_over_is_called_tight(lane):
    paint = next(line for line in lane.supply.lines if line.material == "paint-wall")
    tight = replace(paint, left_over=Amount(paint.need.value / 100, "gal"))
    ample = replace(paint, left_over=Amount(paint.need.value / 10, "gal"))
    assert "tight" in supply_text(lane, replace(lane.supply, lines=(tight,)))
    assert "tight" not in supply_text(lane, replace(lane.supply, lines=(ample,)))


def test_box_of_screws_bought_with_next_to_nothing_over_is_called_tight_and_a_stick_is_not(lane):
    screws = next(line for line in lane.supply.lines if line.material == "screw-coarse-1.25")
    tight = replace(screws, left_over=Amount(screws.need.value / 50, "each"))
    ample = replace(screws, left_over=Amount(screws.need.value / 30, "each"))
    assert "tight" in supply_text(lane, replace(lane.supply, lines=(tight,)))
    assert "tight" not in supply_text(lane, replace(lane.supply, lines=(ample,)))
    sticks = next(line for line in lane.supply.lines if line.material == "corner-bead")
    exact = replace(sticks, left_over=Amount(Fraction(0), "ft"))
    assert "tight" not in supply_text(lane, replace(lane.supply, lines=(exact,)))


def test_plan_text_has_every_piece_and_sheet(lane):
    text = plan_text(lane)
    for plan in lane.plans:
        for laid in plan.surfaces:
            assert all(f"{piece.code}: " in text for piece in laid.pieces)
        assert all(f"  {sheet.code}, " in text for sheet in plan.sheets)


def test_plan_text_of_a_room_has_no_other_room_s_surfaces(lane):
    text = plan_text(lane, ["bath"])
    assert "Bath, Wall A" in text
    assert "Kitchen" not in text


def test_measure_is_never_parted_at_the_end_of_a_line():
    text = "x" * 94 + " 48 in x 12 ft"
    assert [line.strip() for line in paragraph(text)] == ["x" * 94, "48 in x 12 ft"]


def test_one_phase_and_room_hold_no_other(lane):
    needs = chosen_needs(lane, phases=[Phase.HANGING], rooms=["bath"])
    assert needs
    assert {(need.phase, need.room) for need in needs} == {(Phase.HANGING, "bath")}
    supply = supply_for(lane, phases=[Phase.HANGING], rooms=["bath"])
    assert {line.phase for line in supply.lines} == {Phase.HANGING}


def test_why_gives_every_reason_of_an_item_with_its_room(lane):
    text = why_text(lane, lane.needs, "corner bead")
    needs = [need for need in lane.needs if need.material == "corner-bead"]
    assert sum(len(need.reasons) for need in needs) > 1
    for need in needs:
        for reason in need.reasons:
            assert reason.text.split()[0] in text


def test_why_names_each_figure_with_source_and_status(lane):
    text = why_text(lane, lane.needs, "joint compound")
    assert "Figures these rest on:" in text
    assert "common practice, no published source" in text


def test_why_marks_figures_from_memory_for_a_look_at_the_code(lane):
    assert "check your local code" in why_text(lane, lane.needs, "1-1/4 in coarse")


def test_why_of_an_unknown_item_lists_those_there_are(lane):
    with pytest.raises(BadValue, match="Paper joint tape"):
        why_text(lane, lane.needs, "marble")


def test_why_of_nothing_is_not_everything(lane):
    with pytest.raises(BadValue, match="No item"):
        why_text(lane, lane.needs, "  ")


def test_csv_rows_add_up_to_the_list(lane):
    cents = sum(Fraction(row["cost"]) for row in parsed(lane.supply)) * 100
    assert cents == lane.supply.cost


def test_csv_text_that_a_spreadsheet_would_run_is_defused(lane):
    line = replace(lane.supply.lines[0], name="=HYPERLINK(1)", material="@id")
    (row, *_) = parsed(replace(lane.supply, lines=(line,)))
    assert row["item"] == "'=HYPERLINK(1)"
    assert row["item id"] == "'@id"


def test_csv_item_with_enough_on_hand_still_has_its_row(lane):
    line = replace(lane.supply.lines[0], packs=(), cost=0)
    (row,) = parsed(replace(lane.supply, lines=(line,)))
    assert row["packs to buy"] == "0"


def test_partition_choices_leave_the_way_of_the_file_as_the_takeoff_has_it(lane):
    house = demo_house("hollow-lane")
    chosen = {
        (choice.partition, choice.framed): choice.takeoff for choice in partition_choices(lane)
    }
    assert len(chosen) == 2 * len(house.partitions)
    for partition in house.partitions:
        assert chosen[partition.id, partition.framed].supply == lane.supply


def test_long_cell_goes_on_in_the_next_line():
    lines = list(
        table_lines(
            (TextColumn("Item", 8), TextColumn("Need", 4, right=True)),
            [("paper joint tape", "7")],
            indent="",
        )
    )
    assert lines == ["Item      Need", "paper        7", "joint", "tape"]


@pytest.mark.parametrize(
    ("cents", "text"),
    [(0, "$0.00"), (120450, "$1,204.50"), (-5, "-$0.05"), (Fraction(5, 2), "$0.02")],
)
def test_money_is_whole_cents_half_to_even(cents, text):
    assert money(cents, "USD") == text


def test_decimal_text_has_no_idle_zeros():
    assert [decimal_text(Fraction(text)) for text in ("1000", "1/8", "-1/3")] == [
        "1000",
        "0.125",
        "-0.333333",
    ]
