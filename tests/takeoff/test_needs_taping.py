from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from takeoff.choices import Compound, OpeningEdge, OpeningKind, Tape
from takeoff.geometry.surface import PlacedOpening
from takeoff.house import Finish
from takeoff.needs import taping
from takeoff.needs.coats import (
    SeamShape,
    coats,
    fastener_gallons,
    seam_gallons,
    shape_of,
    skim_gallons,
)
from takeoff.reference import level
from takeoff.rules import BoardChoice
from takeoff.seams import Seam, SeamKind
from takeoff.units import FOOT, UnitSystem
from tests.takeoff.needs_room import (
    CATALOGUE,
    RULES,
    assert_reasons_add_up,
    boarded,
    by_material,
    face,
    framed,
    inches,
    room_of,
)

DRYING = "compound-drying"


def seam(kind: SeamKind, feet: int = 10, **changes) -> Seam:
    given = {"kind": kind, "room": "room", "surfaces": ("room/wall",), "length": inches(12 * feet)}
    return Seam(**(given | changes))


def take(*seams, surface=None, finish=None, rules=RULES, plans=()):
    surface = surface or face()
    needs = taping.needs(
        room_of(surface),
        finish or Finish(),
        [framed(surface)],
        plans,
        seams,
        rules=rules,
        catalogue=CATALOGUE,
        units=UnitSystem.INCH,
    )
    assert_reasons_add_up(needs)
    return by_material(needs)


def compound(*seams, **given) -> Fraction:
    """Gallons without waste."""
    return take(*seams, **given)[DRYING].amount.value / Fraction(11, 10)


def test_tape_is_the_seams_and_ten_percent():
    needs = take(seam(SeamKind.TAPERED), seam(SeamKind.INSIDE_CORNER, 8))
    assert (needs["tape-paper"].amount.value, needs["tape-paper"].amount.unit) == (
        Fraction(198, 10),
        "ft",
    )


def test_mesh_goes_on_flat_seams_and_paper_in_corners():
    finish = Finish(tape=Tape.MESH, compound=Compound.SETTING)
    needs = take(
        seam(SeamKind.TAPERED),
        seam(SeamKind.RIDGE, 2),
        seam(SeamKind.INSIDE_CORNER, 8),
        finish=finish,
    )
    assert needs["tape-mesh"].amount.value == 11
    assert needs["tape-paper"].amount.value == 11
    assert DRYING not in needs


def test_mesh_with_drying_compound_is_refused():
    with pytest.raises(ValueError, match="setting"):
        Finish(tape=Tape.MESH)


def test_outside_corner_takes_bead_and_no_tape():
    needs = take(seam(SeamKind.OUTSIDE_CORNER, 8))
    assert "tape-paper" not in needs
    # Like the board, it stays 1/2 in off the floor.
    assert needs["corner-bead"].lengths == (inches("191/2"),)
    # Every 12 in and both ends, on two flanges.
    assert needs["nails-board"].amount.value == 2 * 9


def test_bead_is_one_stick_a_corner():
    needs = take(seam(SeamKind.OUTSIDE_CORNER, 8), seam(SeamKind.OUTSIDE_CORNER, 9))
    assert needs["corner-bead"].lengths == (inches("215/2"), inches("191/2"))


@pytest.mark.parametrize(
    ("corner", "sticks"),
    [
        ("777/8", [96]),  # 8' 1 1/8": a stick of 8 ft ends 1-1/8 in off the floor
        ("195/2", [96]),  # 1-1/2 in off the floor is the most that a baseboard covers
        ("781/8", ["777/8"]),  # 1/8 in more takes a stick of 10 ft
        ("241/2", [120]),
        (122, [60.75, 60.75]),
    ],
)
def test_stick_that_reaches_down_to_the_largest_floor_gap_is_not_spliced(corner, sticks):
    run = seam(SeamKind.OUTSIDE_CORNER, 0, length=inches(corner))
    assert take(run)["corner-bead"].lengths == tuple(inches(stick) for stick in sticks)


def test_bead_longer_than_any_stick_says_it_is_spliced():
    need = take(seam(SeamKind.OUTSIDE_CORNER, 12))["corner-bead"]
    assert need.lengths == (inches("287/4"), inches("287/4"))
    assert "spliced" in need.reasons[0].text


def test_levels_without_bead_coats_take_no_bead():
    assert "corner-bead" not in take(seam(SeamKind.OUTSIDE_CORNER, 8, level=1))


def opening(
    edge: OpeningEdge, kind: OpeningKind = OpeningKind.WINDOW, bottom: int = 36
) -> PlacedOpening:
    return PlacedOpening(
        id="o",
        name="Opening",
        kind=kind,
        left=inches(40),
        bottom=inches(bottom),
        right=inches(70),
        top=inches(80),
        edge=edge,
    )


@pytest.mark.parametrize(
    ("edge", "kind", "bottom", "sticks"),
    [
        (OpeningEdge.RETURN, OpeningKind.WINDOW, 36, (44, 44, 30, 30)),
        (OpeningEdge.BEAD, OpeningKind.PASSAGE, 0, (79.5, 79.5, 30)),  # jambs off the floor
        (OpeningEdge.CASED, OpeningKind.WINDOW, 36, ()),
    ],
)
def test_openings_that_end_in_a_bead_take_a_stick_a_side(edge, kind, bottom, sticks):
    needs = take(surface=face(openings=(opening(edge, kind, bottom),)))
    beads = needs["corner-bead"].lengths if "corner-bead" in needs else ()
    assert beads == tuple(inches(stick) for stick in sticks)


def test_reasons_of_beads_round_an_opening_say_how_many_sticks_and_how_long_in_all():
    square = PlacedOpening(
        id="o",
        name="Window",
        kind=OpeningKind.WINDOW,
        left=inches(40),
        bottom=inches(36),
        right=inches(88),
        top=inches(84),
        edge=OpeningEdge.BEAD,
    )
    needs = take(surface=face(openings=(square,)))
    (bead,) = needs["corner-bead"].reasons
    assert bead.text.startswith("4 sticks 4' 0\" long")
    assert any(
        reason.text.startswith("16 ft of bead at an opening")
        for reason in needs["compound-drying"].reasons
    )


def test_edge_under_a_casing_takes_nothing():
    assert take(seam(SeamKind.OPENING_EDGE, edge=OpeningEdge.CASED, opening="o")) == {}


def test_level_zero_takes_nothing():
    assert take(seam(SeamKind.TAPERED, level=0)) == {}


def test_tapered_seam_at_level_four_is_three_coats_worked_by_hand():
    # 4 in x 1/16 + 10 in x 1/64 + 16 in x 1/128 = 0.53125 sq in; 120 in of it, 231 cu in a gallon.
    assert compound(seam(SeamKind.TAPERED)) == Fraction("0.53125") * 120 / 231


def test_inside_corner_at_level_four_is_two_coats():
    # 4 in x 1/16 + 6 in x 1/64.
    assert compound(seam(SeamKind.INSIDE_CORNER)) == Fraction("0.34375") * 120 / 231


def test_butt_seam_takes_more_than_a_tapered_and_a_floating_one_no_more():
    tapered = compound(seam(SeamKind.TAPERED))
    assert compound(seam(SeamKind.BUTT_ON_FRAMING)) > tapered
    assert compound(seam(SeamKind.CUT_EDGE)) == compound(seam(SeamKind.BUTT_ON_FRAMING))
    assert compound(seam(SeamKind.FLOATING_BUTT)) == tapered


@pytest.mark.parametrize("kind", [kind for kind in SeamKind if kind is not SeamKind.OPENING_EDGE])
def test_higher_level_never_takes_less(kind):
    volumes = []
    for number in range(6):
        volumes.append(
            sum(
                seam_gallons(c, inches(120)).value
                for c in coats(shape_of(kind), level(number), Compound.DRYING)
            )
        )
    assert volumes == sorted(volumes)
    assert volumes[0] == 0 < volumes[4]


def test_setting_compound_is_pounds_of_powder_and_feathered_less():
    finish = Finish(compound=Compound.SETTING)
    need = take(seam(SeamKind.TAPERED), finish=finish)["compound-setting"]
    # 4 in x 1/16 + 8 in x 1/64 + 12 in x 1/128; 260/47 lb a gallon; waste 10 %.
    assert need.amount.unit == "lb"
    assert need.amount.value == Fraction("0.46875") * 120 / 231 * Fraction(260, 47) * Fraction(
        11, 10
    )


def test_fasteners_in_the_field_are_covered_and_those_under_tape_are_not():
    surface = face()
    needs = take(surface=surface, plans=[boarded(surface)])
    # Two boards, ten lines of four: those at both ends of a line and the lines in the corners lie
    # under tape.
    field = 2 * 8 * 2
    # Three dabs of 4 sq in, 1/64 in thick, and 10 % of waste; 231 cu in to a gallon.
    assert needs[DRYING].amount.value == Fraction(field * 3 * 4, 64 * 231) * Fraction(11, 10)


def test_fastener_takes_a_two_inch_dab():
    assert fastener_gallons(1, 3).value == Fraction(4, 64) * 3 / 231


def test_level_five_is_skimmed_over_all_but_openings():
    window = opening(OpeningEdge.CASED)
    plain = take(surface=face(openings=(window,), finish_level=5))[DRYING].amount.value / Fraction(
        11, 10
    )
    area = 144 * 96 - 30 * 44
    assert plain == Fraction(area, 64 * 231)  # 1/64 in thick, 231 cu in to a gallon


def test_thousand_square_feet_of_skim_is_two_pails():
    # 1/64 in over 1000 sq ft, 231 cu in to a gallon: 9.74, two pails of 4.5 to 5. Common practice,
    # no published source.
    gallons = skim_gallons(Fraction(1000 * FOOT**2)).value
    assert gallons == Fraction(1000 * 144, 64 * 231)
    assert Fraction(9) < gallons < Fraction(10)


def test_tile_backer_is_taped_in_mortar_and_takes_no_compound():
    surface = face(board=BoardChoice(kind="cement", thickness=inches("1/2")))
    needs = take(seam(SeamKind.CUT_EDGE, mortar=True), surface=surface, plans=[boarded(surface)])
    assert set(needs) == {"tape-alkali", "mortar"}
    assert needs["tape-alkali"].amount.value == 11
    assert needs["mortar"].amount.value == Fraction(4, 10)


def test_gap_wider_than_an_eighth_is_filled_with_setting_compound():
    wide = replace(RULES, fitting=inches("1/4"))
    corner = seam(SeamKind.INSIDE_CORNER)
    need = take(corner, rules=wide)["compound-setting"]
    # 120 in x 1/4 x 1/2.
    assert need.amount.value == Fraction(120, 8) / 231 * Fraction(260, 47)
    assert "compound-setting" not in take(corner)


def test_reasons_name_coat_level_and_figures():
    first = take(seam(SeamKind.TAPERED))[DRYING].reasons[0]
    assert '3 coats at level 4: 4", 10", 16" wide' in first.text
    assert {"FL-4", "CM-bed-width", "CM-bed-thickness"} <= set(first.figures)
    assert first.surface == "room/wall"


def test_other_rooms_seams_are_passed_by():
    assert take(seam(SeamKind.TAPERED, room="other")) == {}


def test_every_seam_kind_has_a_shape():
    assert {shape_of(kind) for kind in SeamKind} == set(SeamShape)
