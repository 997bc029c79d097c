"""The framing table: IRC table R702.3.5 (rows from memory) with the maker's sheets named beside
them in reference/."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from takeoff.boards.problem import formulate
from takeoff.catalogue import BoardEdges, BoardKind, Catalogue
from takeoff.choices import JointMode, Orientation, Runs, SurfaceKind
from takeoff.errors import CannotBoard
from takeoff.rules import BoardChoice
from takeoff.units import INCH, Nm
from tests.takeoff.boards.hand import CATALOGUE, PLAIN, framed, member, sheet

KINDS = (
    BoardKind(id="regular", name="regular board", weights=((Nm(INCH // 2), Decimal("1.6")),)),
    BoardKind(id="ceiling", name="ceiling board", sag_resistant=True),
    BoardKind(id="tile", name="tile backer", tile_backer=True, edges=BoardEdges.SQUARE),
    BoardKind(id="x", name="type X board", fire_rated=True),
)


def on_sale(thickness: Nm) -> Catalogue:
    sheets = [
        sheet(feet, 1200, board=kind.id, thickness=thickness) for kind in KINDS for feet in (8, 12)
    ]
    return Catalogue(boards=KINDS, sheets=tuple(sheets))


def problem(
    *, eighths: int = 4, board: str = "regular", ceiling: bool = True, spacing: float = 24, **fields
):
    thickness = Nm(eighths * INCH // 8)
    surface = framed(
        144,
        96,
        kind=SurfaceKind.CEILING if ceiling else SurfaceKind.WALL,
        spacing=spacing,
        board=BoardChoice(kind=board, thickness=thickness),
        **fields,
    )
    return formulate(surface, PLAIN, on_sale(thickness))


def refusal(**fields) -> CannotBoard:
    with pytest.raises(CannotBoard) as caught:
        problem(**fields)
    return caught.value


def test_half_inch_on_24_inch_ceilings_lies_across_only():
    assert problem().layouts
    reason = refusal(orientation=Orientation.ALONG)
    assert reason.rule == "framing"
    assert "across" in str(reason)


def test_half_inch_along_a_ceiling_needs_16_inch_framing():
    assert problem(spacing=16, orientation=Orientation.ALONG).layouts


def test_best_takes_the_direction_that_is_allowed():
    assert {layout.along_framing for layout in problem(orientation=Orientation.BEST).layouts} == {
        False
    }
    both = problem(spacing=16, orientation=Orientation.BEST)
    assert {layout.along_framing for layout in both.layouts} == {False, True}


def test_three_eighths_needs_16_inch_framing():
    assert problem(eighths=3, spacing=16).layouts
    assert "1/2" in str(refusal(eighths=3, spacing=24))


@pytest.mark.parametrize("load", ["water_texture", "insulated"])
def test_loaded_ceiling_at_24_inches_needs_sag_resistant_or_five_eighths(load):
    reason = refusal(**{load: True})
    assert reason.rule == "board"
    assert "sag-resistant" in str(reason)
    assert problem(board="ceiling", **{load: True}).layouts
    assert problem(eighths=5, **{load: True}).layouts
    assert problem(spacing=16, **{load: True}).layouts


@pytest.mark.parametrize("load", ["water_texture", "insulated"])
def test_three_eighths_carries_nothing_on_a_ceiling(load):
    assert refusal(eighths=3, spacing=16, **{load: True}).rule == "board"


def test_water_based_texture_forbids_boards_along_the_framing():
    assert (
        refusal(spacing=16, water_texture=True, orientation=Orientation.ALONG).rule == "orientation"
    )


def test_tile_backer_needs_16_inch_framing():
    assert problem(board="tile", ceiling=False, spacing=16).layouts
    assert "tile backer" in str(refusal(board="tile", ceiling=False, spacing=24))


def test_fire_rated_board_without_an_assembly_cannot_confirm_a_rating():
    (note,) = problem(board="x", ceiling=False, spacing=16).layouts[0].notes
    assert "cannot confirm" in note.text


def test_named_assembly_comes_before_the_table():
    (note,) = problem(rated="U305", orientation=Orientation.ALONG).layouts[0].notes[:1]
    assert "U305" in note.text


def test_square_edged_rows_ask_for_no_factory_edge_where_ripped():
    last = (
        problem(board="tile", ceiling=False, spacing=16, joint_mode=JointMode.EITHER)
        .layouts[0]
        .courses[-1]
    )
    assert last.full
    surface = framed(96, 60, board=BoardChoice(kind="tile", thickness=Nm(INCH // 2)))
    ripped = formulate(surface, PLAIN, on_sale(Nm(INCH // 2))).layouts[0].courses[-1]
    assert (ripped.factory_low, ripped.factory_high) == (False, False)


def test_members_along_a_ceiling_turn_its_rows():
    assert problem(runs=Runs.ALONG).layouts[0].rows_run is Runs.ACROSS


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        ({"longest_board": Nm(90 * INCH)}, "longest_board"),
        ({"heaviest_lift": Decimal(40)}, "heaviest_lift"),
        ({"sheets": ()}, "sheets"),
        ({"widths": (Nm(54 * INCH),)}, "widths"),
    ],
)
def test_rule_that_leaves_no_sheet_is_named(change, rule):
    kinds = Catalogue(boards=KINDS, sheets=CATALOGUE.sheets)
    with pytest.raises(CannotBoard) as caught:
        formulate(framed(96, 96), replace(PLAIN, **change), kinds)
    assert caught.value.rule == rule


def test_lift_of_two_people_shortens_the_longest_board():
    # 1.6 psf x 4 ft x 12 ft = 76.8 lb; 10 ft is 64 lb
    kinds = Catalogue(boards=KINDS, sheets=CATALOGUE.sheets)
    surface = framed(96, 96)
    assert (
        formulate(surface, replace(PLAIN, heaviest_lift=Decimal("76.8")), kinds).longest
        == 144 * INCH
    )
    assert (
        formulate(surface, replace(PLAIN, heaviest_lift=Decimal("76.7")), kinds).longest
        == 120 * INCH
    )


def test_stretch_wider_than_the_board_spans_is_pointed_out():
    members = tuple(member(k * 16, 0, 96) for k in (0, 1, 2, 4, 5, 6, 7, 8, 9))
    notes = problem(ceiling=False, spacing=16, members=members).layouts[0].notes
    assert [note.rule for note in notes] == ["framing"]
    assert "2' 8\"" in notes[0].text
