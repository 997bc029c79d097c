from __future__ import annotations

import ast
import re
from dataclasses import fields, replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest

from takeoff.errors import BadValue
from takeoff.quantities import Amount
from takeoff.reference import Status, figures, level, levels, lumber
from takeoff.reference.data import tables
from takeoff.rules import Rules
from takeoff.units import INCH, Nm

ROOT = Path(__file__).parents[2]

# Defaults of the rules that a figure stands behind, and the inches they come to.
DEFAULTS = {
    "stagger": ("HL-09", "16"),
    "opening_clearance": ("HL-11", "8"),
    "shortest_piece": ("HL-piece", "12"),
    "mid_bay_tolerance": ("BB-05", "2"),
    "floating_clear_bay": ("BB-clear", "21/2"),
    "floor_gap": ("HL-20", "1/2"),
    "largest_floor_gap": ("HL-20-largest", "3/2"),
    "fitting": ("HL-fitting", "1/8"),
    "kerf": ("HL-kerf", "1/8"),
    "narrow_strip": ("HL-strip", "12"),
    "unit_allowance_width": ("FR-unit-width", "2"),
    "unit_allowance_height": ("FR-unit-height", "2"),
    "assumed_wall_spacing": ("FR-wall-spacing", "16"),
    "assumed_ceiling_spacing": ("FR-ceiling-spacing", "24"),
    "partition_slack": ("FR-slack", "1/4"),
    "gap_to_prefill": ("HL-07", "1/8"),
}


@pytest.mark.parametrize(("rule", "id_", "inches"), [(rule, *of) for rule, of in DEFAULTS.items()])
def test_default_of_a_rule_is_its_figure(rule, id_, inches):
    assert getattr(Rules(), rule) == figures.length(id_) == Fraction(inches) * INCH


def test_preferred_stagger_is_the_far_end_of_its_figure():
    assert Rules().preferred_stagger == figures.figure("HL-09").high * INCH


def test_every_length_rule_names_its_figure_or_is_known_to_have_none():
    # A new length among the rules needs a figure, or a word here why it has none.
    without = {"longest_board", "closing_tolerance", "preferred_stagger", "adhesive_screws"}
    lengths = {
        field.name
        for field in fields(Rules)
        if field.type in ("Nm", "Nm | None") and not field.name.isupper()
    }
    assert lengths - without == set(DEFAULTS)


def test_every_figure_has_a_source_and_says_what_it_is():
    for entry in figures.by_id().values():
        assert entry.source.strip(), entry.id
        assert entry.what.strip(), entry.id


def test_figure_in_a_range_lies_in_it():
    for entry in figures.by_id().values():
        if entry.low is not None:
            assert entry.low <= entry.number, entry.id
        if entry.high is not None:
            assert entry.number <= entry.high, entry.id


def test_figure_that_sources_disagree_on_says_why_it_is_the_default():
    disagreeing = [
        figures.figure(id_)
        for id_ in ("CN-tape", "CN-compound", "CN-screws", "SC-per-lb-1.25", "WT-03")
    ]
    assert all(
        entry.low is not None and entry.high is not None and entry.reason for entry in disagreeing
    )


def test_compound_default_is_the_cluster_and_not_the_low_outlier():
    assert figures.number("CN-compound") == Fraction("9.4")
    assert figures.figure("CN-compound").high == 11
    assert figures.number("CN-compound-book") == 5


def test_figure_from_memory_is_shown_as_check_your_local_code():
    assert figures.figure("GB-28").status is Status.MEMORY
    assert figures.figure("GB-28").status.caution == "check your local code"
    assert Status.PUBLISHED.caution == ""


def test_decimals_are_exact():
    assert figures.number("DL-01") == Fraction(55, 100)


def test_unknown_figure_is_refused_by_name():
    with pytest.raises(BadValue, match="XX-99"):
        figures.figure("XX-99")


def test_rule_in_words_is_no_number():
    with pytest.raises(BadValue, match="in words"):
        figures.number("GB-30")


def test_weight_is_no_length():
    with pytest.raises(BadValue, match="psf"):
        figures.length("WT-03")


def test_length_that_is_no_whole_number_of_nanometres_is_refused():
    with pytest.raises(BadValue, match="nanometers"):
        replace(figures.figure("HL-01"), value=Fraction(1, 3)).length  # noqa: B018


def test_rate_knows_its_dimensions():
    assert figures.rate("CN-tape").of(Amount(Fraction(500), "sq ft")) == Amount(Fraction(190), "ft")
    with pytest.raises(BadValue, match="not a rate"):
        figures.rate("HL-01")


def test_percent_is_a_part_of_one():
    assert figures.percent("TP-waste") == Fraction(1, 10)
    with pytest.raises(BadValue, match="not percent"):
        figures.percent("CN-tape")


def test_levels_never_ask_for_fewer_coats_than_the_one_below():
    for lower, higher in pairwise(levels()):
        for coats in ("flat", "angle", "fastener", "bead"):
            assert getattr(lower, coats) <= getattr(higher, coats)


def test_level_four_takes_three_coats_on_flats_and_two_on_angles():
    # Later wording of GA-214; the older one had three coats on angles too.
    assert (level(4).flat, level(4).angle, level(4).fastener) == (3, 2, 3)


def test_level_six_is_refused():
    with pytest.raises(BadValue, match="0 to 5"):
        level(6)


def test_lumber_is_smaller_than_its_name():
    assert (lumber("2x4").thickness, lumber("2x4").width) == (Nm(3 * INCH // 2), Nm(7 * INCH // 2))
    with pytest.raises(BadValue, match="2x5"):
        lumber("2x5")


def words_of_code():
    """Every string that stands in the code of the product by itself, or begins one."""
    modules = [*(ROOT / "takeoff").rglob("*.py"), *(ROOT / "remodel").rglob("*.py")]
    return {
        node.value
        for module in modules
        for node in ast.walk(ast.parse(module.read_text()))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }


def test_every_figure_the_code_names_exists():
    begun = "GB HL BB BP WT HF FR NL DL CN CM TP PT SC AD FB BE HB WS HR IN SE PA RT TO HG TS SU"
    prefixes = begun.replace(" ", "|")
    named = {word for word in words_of_code() if re.fullmatch(rf"({prefixes})-[\w.-]*\w", word)}
    assert len(named) > 50
    assert named <= set(figures.by_id())


def test_every_figure_is_read_by_code_or_marked_for_reading():
    words = words_of_code()
    # `FR-07-` is followed by the stud: the figures of all studs are read by it.
    begun = tuple(word for word in words if re.fullmatch(r"[A-Z]{2}-\d+-", word))
    for row in tables()["figure"]:
        read = row["id"] in words or row["id"].startswith(begun)
        assert read is not row.get("for_reading", False), row["id"]


def test_count_is_a_whole_number_of_things():
    assert figures.count("NL-02") == 4
    with pytest.raises(BadValue, match="not a count"):
        figures.count("BB-length")
    with pytest.raises(BadValue, match="GB-30"):
        figures.count("GB-30")
