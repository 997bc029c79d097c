"""The JSON document: its schema, and that an outside program can re-check a plan and its money from
it alone."""

import json
from decimal import Decimal
from fractions import Fraction
from functools import cache

import jsonschema
import pytest
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from takeoff.report.document import SCHEMA_FILE, document, document_schema
from takeoff.units import INCH
from tests.takeoff.houses import DEMO_HOUSES, demo_takeoff

FOOT = 304_800_000


@cache
def written(name):
    return json.loads(json.dumps(document(demo_takeoff(name))))


@pytest.fixture(params=DEMO_HOUSES)
def doc(request):
    return written(request.param)


def test_schema_beside_the_module_is_the_one_it_makes():
    """Where it differs: `make schemas`, then read what changed."""
    assert json.loads(SCHEMA_FILE.read_text(encoding="utf-8")) == document_schema()


def test_schema_is_a_schema():
    jsonschema.Draft202012Validator.check_schema(document_schema())


def test_document_is_as_its_schema_says(doc):
    jsonschema.Draft202012Validator(document_schema()).validate(doc)


def test_schema_refuses_a_document_with_a_part_missing(doc):
    short = {key: value for key, value in doc.items() if key != "plans"}
    with pytest.raises(jsonschema.ValidationError, match="plans"):
        jsonschema.Draft202012Validator(document_schema()).validate(short)


def test_document_says_the_caution_that_stands_under_every_text(doc):
    assert doc["caution"].startswith("These are quantities, not a verdict")


def test_every_piece_is_cut_from_exactly_one_sheet(doc):
    for plan in doc["plans"]:
        pieces = sorted(
            piece["code"] for surface in plan["surfaces"] for piece in surface["pieces"]
        )
        cut = [placed["piece"] for sheet in plan["sheets"] for placed in sheet["crosscuts"]]
        cut += [
            placed["piece"]
            for sheet in plan["sheets"]
            for strip in sheet["strips"]
            for placed in strip["pieces"]
        ]
        assert sorted(cut) == pieces


def test_no_more_is_cut_from_a_sheet_than_it_holds(doc):
    for plan in doc["plans"]:
        for sheet in plan["sheets"]:
            area = sum(
                (placed["end"] - placed["start"]) * sheet["width"] for placed in sheet["crosscuts"]
            )
            for strip in sheet["strips"]:
                assert 0 <= strip["low"] < strip["high"] <= sheet["width"]
                area += sum(
                    (placed["end"] - placed["start"]) * placed["width"]
                    for placed in strip["pieces"]
                )
            assert area <= sheet["length"] * sheet["width"]


def test_pieces_cover_each_surface_by_another_library_s_geometry(doc):
    """shapely: no piece reaches past the shape that edges may lie in, and what none covers of what
    must be covered is openings, and strips beside them under two inches wide."""
    surfaces = {surface["id"]: surface for room in doc["rooms"] for surface in room["surfaces"]}
    for plan in doc["plans"]:
        for laid in plan["surfaces"]:
            surface = surfaces[laid["surface"]]
            boards = unary_union([Polygon(piece["outline"]) for piece in laid["pieces"]])
            openings = [
                box(opening["left"], opening["bottom"], opening["right"], opening["top"])
                for opening in surface["openings"]
            ]
            outer = Polygon(surface["outer_area"])
            bare = Polygon(surface["inner_area"]).difference(unary_union([boards, *openings]))
            width = max(u for u, _ in surface["outline"]) - min(u for u, _ in surface["outline"])
            assert bare.buffer(1000 - INCH).is_empty
            strips = [
                part for part in getattr(bare, "geoms", [bare]) if part.area > 1e6 * width**0.5
            ]
            assert all(part.distance(unary_union(openings)) < 1000 for part in strips)
            assert boards.difference(outer).area <= 1e6 * width**0.5


def test_money_of_a_plan_adds_up_from_its_sheets_and_joints(doc):
    for plan in doc["plans"]:
        assert plan["sheet_cost"] == sum(sheet["price"] for sheet in plan["sheets"])
        seams = sum(joint["length"] for surface in plan["surfaces"] for joint in surface["joints"])
        price = Fraction(Decimal(doc["rules"]["seam_price"])) * 100 / FOOT
        assert Fraction(plan["seam_cost"]) == seams * price
        total = plan["sheet_cost"] + Fraction(plan["seam_cost"]) + Fraction(plan["backer_cost"])
        total += plan["work_cost"]
        assert Fraction(plan["bound"]["value"]) <= total


def test_reasons_of_a_need_add_up_to_it(doc):
    for need in doc["needs"]:
        parts = [reason["amount"] for reason in need["reasons"]]
        assert {part["unit"] for part in parts} == {need["amount"]["unit"]}
        assert sum(Fraction(part["value"]) for part in parts) == Fraction(need["amount"]["value"])


def test_every_figure_a_reason_names_is_in_the_document(doc):
    known = {figure["id"] for figure in doc["figures"]}
    named = {
        name for need in doc["needs"] for reason in need["reasons"] for name in reason["figures"]
    }
    assert named
    assert named <= known


def test_packs_of_a_line_cover_what_is_needed_beyond_what_is_on_hand(doc):
    for line in doc["supply"]["lines"]:
        if not line["unmet"] and all(
            pack["holds"]["unit"] == line["need"]["unit"] for pack in line["packs"]
        ):
            bought = sum(pack["count"] * Fraction(pack["holds"]["value"]) for pack in line["packs"])
            assert bought + Fraction(line["on_hand"]["value"]) >= Fraction(line["need"]["value"])


def test_supply_cost_is_the_sum_of_its_packs(doc):
    lines = doc["supply"]["lines"]
    assert all(
        line["cost"] == sum(pack["count"] * pack["price"] for pack in line["packs"])
        for line in lines
    )
    assert doc["supply"]["cost"] == sum(line["cost"] for line in lines)
