"""Each rule broken once in a plan that is otherwise good, and good plans of every shape left
alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from takeoff.boards.check import check_plan
from takeoff.boards.plan import (
    BoardPlan,
    Bound,
    BoundBasis,
    Course,
    Joint,
    JointKind,
    Offcut,
    Piece,
    PlacedPiece,
    Sheet,
    SurfacePlan,
)
from takeoff.catalogue import BoardKind, Catalogue, Cutting, OwnedSheet, SheetOnSale
from takeoff.choices import (
    CeilingRows,
    CutoutKind,
    HiddenKind,
    JointMode,
    Orientation,
    Runs,
    SurfaceKind,
)
from takeoff.framing.members import FramedSurface, Member, MemberKind
from takeoff.geometry.surface import Edge, EdgeKind, PlacedCutout, PlacedHidden, Surface
from takeoff.house import Framing
from takeoff.quantities import Cents
from takeoff.rules import BoardChoice, Rules
from takeoff.units import INCH, Nm
from tests.takeoff import hand_plan
from tests.takeoff.hand_plan import (
    CATALOGUE,
    FRAMED,
    HALF,
    ROWS,
    RULES,
    SHEETS,
    STUDS,
    framed,
    inches,
    placed,
    plan,
    sheet,
    strip,
    stud,
)

FLOATS = JointKind.FLOATING
# Mid-bay places of the wall: 80 to 96 in the top row, 64 to 80 (or 48 to 64) in the middle one.
FLOATING_JOINTS = {0: (88,), 1: (56,), 2: ()}


def rules_broken(
    made: BoardPlan,
    surface: FramedSurface = FRAMED,
    rules: Rules = RULES,
    catalogue: Catalogue = CATALOGUE,
    **owned: Sequence[OwnedSheet],
) -> set[str]:
    return {breach.rule for breach in check_plan(made, [surface], rules, catalogue, **owned)}


def with_surface(made: BoardPlan, **changes: object) -> BoardPlan:
    return replace(made, surfaces=(replace(made.surfaces[0], **changes),))  # type: ignore[arg-type]


def with_piece(made: BoardPlan, code: str, **changes: object) -> BoardPlan:
    changed = [
        replace(piece, **changes) if piece.code == code else piece  # type: ignore[arg-type]
        for piece in made.surfaces[0].pieces
    ]
    return with_surface(made, pieces=tuple(changed))


def with_sheets(*sheets: Sheet) -> BoardPlan:
    """The wall's plan cut from other sheets, its money right."""
    return plan(sheets=sheets)


def with_sheet(number: int, **changes: object) -> BoardPlan:
    return with_sheets(*SHEETS[:number], replace(SHEETS[number], **changes), *SHEETS[number + 1 :])  # type: ignore[arg-type]


def with_row(number: int, **changes: object) -> tuple[Course, ...]:
    return (*ROWS[:number], replace(ROWS[number], **changes), *ROWS[number + 1 :])  # type: ignore[arg-type]


def rectangle(start: float, end: float, low: float, high: float) -> tuple[tuple[Nm, Nm], ...]:
    return tuple(
        (inches(x), inches(y)) for x, y in ((start, low), (end, low), (end, high), (start, high))
    )


def test_hand_made_plan_keeps_every_rule():
    assert check_plan(plan(), [FRAMED], RULES, CATALOGUE) == ()


def test_breach_reads_as_a_sentence_with_place_and_rule():
    (breach,) = check_plan(
        plan({0: (96,), 1: (80,), 2: ()}), [FRAMED], replace(RULES, stagger=inches(20)), CATALOGUE
    )
    assert str(breach) == (
        "den/a: The joint at 6' 8\" in row 2 (1' 4 1/2\" to 5' 4 1/2\") is 1' 4\" from one in the "
        "row above; "
        "at least 1' 8\" is needed (stagger)"
    )


# --- rows ---


def test_row_higher_than_its_sheets_is_a_breach():
    narrow = tuple(replace(row, sheet_width=inches(47)) for row in ROWS)
    assert "row_height" in rules_broken(plan(rows=narrow))


def test_rows_that_do_not_touch_are_a_breach():
    assert "rows" in rules_broken(plan(rows=with_row(2, high=inches(16))))


def test_rows_counted_from_the_floor_are_a_breach():
    rows = (
        replace(ROWS[0], low=inches(96.5), factory_high=False),
        replace(ROWS[1], low=inches(48.5), high=inches(96.5)),
        replace(ROWS[2], high=inches(48.5), factory_low=True),
    )
    # The middle row now passes the top of the door, so it is not split there any more.
    rows = (rows[0], replace(rows[1], segments=((Nm(0), inches(168)),)), rows[2])
    assert rules_broken(
        plan(
            {
                0: (80,),
                1: (48,),
                2: (),
            },
            rows=rows,
        )
    ) == {"rows"}


def test_two_rows_of_one_number_are_a_breach():
    assert "rows" in rules_broken(plan(rows=with_row(2, index=1)))


def test_remainder_higher_than_the_largest_floor_gap_must_be_boarded():
    rows = ROWS[:2]
    upper = {0: (96,), 1: (64,)}
    lifted = tuple((u, Nm(max(v, inches(15.75)))) for u, v in hand_plan.WALL.board_area)
    floor = replace(RULES, floor_gap=inches(0.5), largest_floor_gap=inches(16.5))
    assert (
        rules_broken(plan(upper, rows=rows, rules=floor), framed(board_area=lifted), floor) == set()
    )
    floor = replace(floor, largest_floor_gap=inches(16.25))
    assert rules_broken(plan(upper, rows=rows, rules=floor), framed(board_area=lifted), floor) == {
        "largest_floor_gap"
    }


def test_cut_edge_between_rows_is_a_breach():
    rows = with_row(2, factory_low=True, factory_high=False)
    assert rules_broken(plan(rows=rows)) == {"factory_edges"}


def test_ripped_row_cannot_keep_both_factory_edges():
    assert rules_broken(plan(rows=with_row(2, factory_low=True))) == {"factory_edges"}


def test_row_within_an_openings_height_must_be_split_there():
    through = with_row(1, segments=((Nm(0), inches(168)),))
    assert rules_broken(plan({0: (80,), 1: (64,), 2: ()}, rows=through)) == {"segments"}


def test_segment_that_stops_short_is_a_breach():
    assert rules_broken(plan(rows=with_row(0, segments=((Nm(0), inches(160)),)))) >= {"segments"}


# --- cover ---


def test_missing_piece_is_a_breach():
    made = plan()
    made = with_surface(made, pieces=made.surfaces[0].pieces[:-1])
    assert rules_broken(replace(made, sheets=SHEETS[:-1])) == {"cover"}


def test_overlapping_pieces_are_a_breach():
    made = with_piece(plan(), "G", start=inches(140), outline=rectangle(140, 168, 0.5, 16.5))
    twice = [*made.surfaces[0].pieces, replace(made.surfaces[0].pieces[-1], code="H")]
    assert "overlap" in rules_broken(with_surface(made, pieces=tuple(twice)))


def test_outline_that_is_not_the_surfaces_part_is_a_breach():
    assert rules_broken(with_piece(plan(), "F", outline=rectangle(0, 104, 0.5, 16))) == {
        "outline",
        "cover",
    }


def test_piece_out_of_its_row_is_a_breach():
    assert "outline" in rules_broken(with_piece(plan(), "F", high=inches(17)))


def test_piece_over_the_door_in_a_split_row_is_a_breach():
    made = with_piece(plan(), "G", start=inches(130), outline=rectangle(130, 168, 0.5, 16.5))
    assert rules_broken(made) == {"cover", "piece_size"}


# --- joints ---


def test_joint_left_out_is_a_breach():
    made = with_surface(plan(), joints=plan().surfaces[0].joints[:1])
    assert rules_broken(made) == {"joints", "seam_cost"}


def test_joint_where_no_pieces_meet_is_a_breach():
    extra = Joint(row=1, at=inches(32), kind=JointKind.FRAMING, length=inches(48))
    made = with_surface(plan(), joints=(*plan().surfaces[0].joints, extra))
    assert rules_broken(made) == {"joints", "seam_cost"}


def test_wrong_seam_length_is_a_breach():
    assert rules_broken(plan(lengths={96: 47})) == {"seam_length"}


def test_seam_over_a_door_is_the_board_above_it():
    wide = replace(hand_plan.DOOR, left=inches(88))
    segments = ((Nm(0), inches(88)), (inches(136), inches(168)))
    rows = (ROWS[0], replace(ROWS[1], segments=segments), replace(ROWS[2], segments=segments))
    studs = [stud for stud in STUDS if stud.centre not in (inches(96), inches(103.25))] + [
        stud(96, low=82.5)
    ]
    made = plan({0: (96,), 1: (48,), 2: ()}, rows=rows, lengths={96: 30})
    assert rules_broken(made, framed(openings=(wide,), members=studs)) == set()
    assert rules_broken(
        plan({0: (96,), 1: (48,), 2: ()}, rows=rows), framed(openings=(wide,), members=studs)
    ) == {"seam_length"}


def test_joint_between_studs_is_a_breach_unless_it_floats():
    assert rules_broken(plan({0: (96,), 1: (56,), 2: ()})) == {"on_framing"}


def test_joint_on_a_stud_that_ends_behind_it_is_a_breach():
    short = [
        replace(stud, high=inches(60)) if stud.centre == inches(64) else stud for stud in STUDS
    ]
    assert rules_broken(plan(), framed(members=short)) == {"on_framing"}


def test_joints_closer_than_the_stagger_are_a_breach():
    assert rules_broken(plan({0: (80,), 1: (64,), 2: ()})) == set()
    assert rules_broken(plan({0: (64,), 1: (64,), 2: ()})) == {"stagger"}


def test_joint_a_sixteenth_too_near_a_door_is_a_breach():
    nearer = replace(hand_plan.DOOR, left=inches(103.9375))
    segments = ((Nm(0), nearer.left), (inches(136), inches(168)))
    rows = (ROWS[0], replace(ROWS[1], segments=segments), replace(ROWS[2], segments=segments))
    assert rules_broken(
        plan({0: (96,), 1: (64,), 2: ()}, rows=rows), framed(openings=(nearer,))
    ) == {"opening_clearance"}


def test_piece_under_the_shortest_is_a_breach_but_not_where_the_segment_is_shorter():
    thirty_three = replace(RULES, shortest_piece=inches(33))
    assert rules_broken(plan({0: (96,), 1: (64,), 2: ()}), rules=thirty_three) == set()
    forty_one = replace(RULES, shortest_piece=inches(41))
    assert rules_broken(plan(), rules=forty_one) == {"shortest_piece"}


def test_piece_longer_than_gets_into_the_room_is_a_breach():
    made = plan(sheets=hand_plan.one_sheet_each(plan().surfaces[0].pieces))
    assert rules_broken(made, framed(longest_board=inches(120))) == set()
    assert rules_broken(made, framed(longest_board=inches(103))) == {"longest_board"}


# --- floating seams ---


def floating(**changes: object) -> FramedSurface:
    return framed(**({"joint_mode": JointMode.FLOATING} | changes))  # type: ignore[arg-type]


def test_floating_plan_keeps_every_rule():
    assert rules_broken(plan(FLOATING_JOINTS, kind=FLOATS), floating()) == set()
    assert (
        rules_broken(plan(FLOATING_JOINTS, kind=FLOATS), floating(joint_mode=JointMode.EITHER))
        == set()
    )


def test_floating_seam_where_only_framing_is_allowed_is_a_breach():
    assert rules_broken(plan(FLOATING_JOINTS, kind=FLOATS)) == {"joint_mode"}


def test_seam_on_framing_where_only_floating_is_allowed_is_a_breach():
    assert rules_broken(plan(), floating()) == {"joint_mode"}


def test_seam_on_framing_of_a_wet_surface_is_no_breach_in_a_floating_house():
    assert rules_broken(plan(), floating(wet=True)) == set()


@pytest.mark.parametrize(
    ("changes", "rule"),
    [
        ({"rated": "U305"}, "rated"),
        ({"wet": True}, "wet"),
        ({"tiled": True}, "wet"),
        ({"braces": True}, "braces"),
    ],
)
def test_floating_seam_where_none_may_be_is_a_breach(changes, rule):
    assert rules_broken(plan(FLOATING_JOINTS, kind=FLOATS), floating(**changes)) == {rule}


def test_floating_seam_of_square_edged_board_is_a_breach():
    square = replace(CATALOGUE, boards=(replace(CATALOGUE.boards[1], id="regular"),))
    assert rules_broken(plan(FLOATING_JOINTS, kind=FLOATS), floating(), catalogue=square) == {
        "square_edges"
    }


def test_floating_seam_is_allowed_two_inches_off_the_middle_and_no_more():
    near = plan({0: (90,), 1: (56,), 2: ()}, kind=FLOATS)
    far = plan({0: (90.0625,), 1: (56,), 2: ()}, kind=FLOATS)
    assert rules_broken(near, floating()) == set()
    assert rules_broken(far, floating()) == {"mid_bay_tolerance"}


def test_floating_seam_in_a_narrow_bay_is_a_breach():
    # A stud at 91 1/4 leaves 9 3/4 in clear from the one at 80; the seam stands in the middle of
    # it.
    narrow = floating(members=(*STUDS, stud(91.25)))
    assert rules_broken(plan({0: (85.625,), 1: (56,), 2: ()}, kind=FLOATS), narrow) == {
        "floating_clear_bay"
    }


def box_at(start: float, low: float) -> PlacedCutout:
    return PlacedCutout(
        "box", "Box", CutoutKind.BOX, inches(start), inches(low), inches(start + 2), inches(low + 3)
    )


def test_box_in_the_backers_place_is_a_breach_and_one_beside_it_is_not():
    made = plan(FLOATING_JOINTS, kind=FLOATS)
    # The backer lies 51 1/2 to 60 1/2 along the middle row.
    assert rules_broken(made, floating(cutouts=(box_at(49.5, 30),))) == set()
    assert rules_broken(made, floating(cutouts=(box_at(49.5625, 30),))) == {"backer_place"}
    assert rules_broken(made, floating(cutouts=(box_at(55, 2),))) == set()


@pytest.mark.parametrize("kind", [HiddenKind.BLOCKING, HiddenKind.PIPE, HiddenKind.DUCT])
def test_hidden_thing_in_the_backers_place_is_a_breach(kind):
    thing = PlacedHidden(
        "h",
        "Thing",
        kind,
        inches(48),
        inches(40),
        inches(64),
        inches(45.5),
        planned=False,
        lumber="2x6",
    )
    assert rules_broken(plan(FLOATING_JOINTS, kind=FLOATS), floating(hidden=(thing,))) == {
        "backer_place"
    }


def test_header_in_the_backers_place_is_a_breach():
    studs = [stud for stud in STUDS if stud.centre != inches(112)]
    # Without the cripple at 112 the bay over the door is clear from 104 to 127 1/4.
    made = plan({0: (115.625,), 1: (56,), 2: ()}, kind=FLOATS, lengths={115.625: 30})
    assert rules_broken(made, floating(members=studs)) == {"backer_place"}


# --- what the framing allows ---


def test_other_board_than_chosen_is_a_breach():
    assert rules_broken(
        plan(), framed(board=BoardChoice(kind="regular", thickness=Nm(5 * INCH // 8)))
    ) == {"board"}


def test_board_across_where_along_was_chosen_is_a_breach():
    assert rules_broken(plan(), framed(orientation=Orientation.ALONG)) == {"orientation"}


def test_plan_that_misstates_how_it_lies_on_the_framing_is_a_breach():
    assert "orientation" in rules_broken(with_surface(plan(), along_framing=True))


def test_half_inch_wall_on_framing_over_24_in_stands_in_no_row_of_the_table():
    assert rules_broken(plan(), framed(framing=Framing(spacing=inches(24)))) == set()
    assert rules_broken(plan(), framed(framing=Framing(spacing=inches(24.0625)))) == {
        "framing_table"
    }


def test_assumed_spacing_is_held_against_the_table_too():
    far = replace(RULES, assumed_wall_spacing=inches(25))
    assert rules_broken(plan(), framed(framing=Framing()), rules=far) == {"framing_table"}


# --- sheets ---


def test_piece_cut_from_no_sheet_is_a_breach():
    assert rules_broken(with_sheets(*SHEETS[:-1])) == {"piece_cut"}


def test_piece_cut_twice_is_a_breach():
    assert rules_broken(with_sheets(*SHEETS, sheet("S6", 8, crosscuts=(placed("A", 0, 96),)))) == {
        "piece_cut"
    }


def test_piece_of_no_surface_on_a_sheet_is_a_breach():
    assert rules_broken(with_sheets(*SHEETS, sheet("S6", 8, crosscuts=(placed("Z", 0, 96),)))) == {
        "piece_cut"
    }


def test_piece_cut_too_short_is_a_breach():
    assert rules_broken(with_sheet(0, crosscuts=(placed("A", 0, 95.9375),))) == {"piece_size"}


def test_strip_narrower_than_its_piece_is_a_breach():
    assert rules_broken(with_sheet(3, strips=(strip(0, 15.5, placed("F", 0, 104, 16)),))) == {
        "piece_size"
    }


def test_piece_trimmed_from_a_wider_strip_is_no_breach():
    wider = strip(0, 20, placed("F", 0, 104, 16))
    rest = Offcut(id="S4-1", length=inches(120), width=inches(28), factory_edges=1)
    last = replace(SHEETS[4], width=inches(28))
    assert (
        rules_broken(
            with_sheets(*SHEETS[:3], replace(SHEETS[3], strips=(wider,), offcuts=(rest,)), last)
        )
        == set()
    )


def test_pieces_that_overlap_on_a_sheet_are_a_breach():
    assert rules_broken(with_sheet(1, crosscuts=(placed("B", 0, 72), placed("C", 71, 135)))) == {
        "sheet_layout"
    }


def test_piece_past_the_end_of_its_sheet_is_a_breach():
    assert rules_broken(with_sheet(1, crosscuts=(placed("B", 0, 72), placed("C", 81, 145)))) == {
        "sheet_layout"
    }


def test_saw_must_have_its_kerf_between_pieces():
    sawn = replace(
        CATALOGUE, boards=(BoardKind(id="regular", name="Regular", cutting=Cutting.SAW),)
    )
    made = with_sheets(
        *SHEETS[:1],
        replace(SHEETS[1], crosscuts=(placed("B", 0, 72), placed("C", 72.125, 136.125))),
        replace(SHEETS[2], crosscuts=(placed("D", 0, 40), placed("E", 40.125, 72.125))),
        replace(SHEETS[3], offcuts=(replace(hand_plan.OFFCUT, width=inches(31.875)),)),
        replace(SHEETS[4], width=inches(31.875)),
    )
    assert rules_broken(made, catalogue=sawn) == set()
    tight = replace(made.sheets[1], crosscuts=SHEETS[1].crosscuts)
    assert rules_broken(
        replace(made, sheets=(made.sheets[0], tight, *made.sheets[2:])), catalogue=sawn
    ) == {"kerf"}
    # The rip takes a kerf too, so the offcut of the first plan is an eighth too wide.
    wide = (*made.sheets[:3], *SHEETS[3:])
    assert rules_broken(replace(made, sheets=wide), catalogue=sawn) == {"offcut"}


def test_ripped_piece_cannot_be_crosscut_from_the_whole_width():
    flat = replace(
        SHEETS[3], rip_at=None, strips=(), crosscuts=(placed("F", 0, 104, 16),), offcuts=()
    )
    alone = sheet("S5", 8, rip_at=Nm(0), strips=(strip(0, 16, placed("G", 0, 32, 16)),))
    assert rules_broken(with_sheets(*SHEETS[:3], flat, alone)) == {"rip"}


def test_two_strips_beside_one_another_may_have_a_factory_edge_each():
    both = (strip(0, 16, placed("F", 0, 104, 16)), strip(16, 48, placed("G", 0, 32, 16)))
    assert (
        rules_broken(with_sheets(*SHEETS[:3], replace(SHEETS[3], strips=both, offcuts=()))) == set()
    )


def test_three_strips_take_more_than_one_rip():
    three = (
        strip(0, 16, placed("F", 0, 104, 16)),
        strip(16, 32, placed("G", 0, 32, 16)),
        strip(32, 48, factory_edges=0),
    )
    assert "rip" in rules_broken(
        with_sheets(*SHEETS[:3], replace(SHEETS[3], strips=three, offcuts=()))
    )


def test_strip_from_the_middle_of_a_sheet_takes_more_than_one_rip():
    middle = (strip(8, 24, placed("F", 0, 104, 16), factory_edges=0),)
    alone = sheet("S5", 8, rip_at=Nm(0), strips=(strip(0, 16, placed("G", 0, 32, 16)),))
    broken = rules_broken(
        with_sheets(*SHEETS[:3], replace(SHEETS[3], strips=middle, offcuts=()), alone)
    )
    assert broken == {"rip", "factory_edges"}


def test_rip_that_starts_inside_a_whole_piece_is_a_breach():
    ripped = replace(
        SHEETS[2],
        length=inches(120),
        price=Cents(1700),
        rip_at=inches(70),
        strips=(strip(0, 16, placed("G", 70, 102, 16)),),
    )
    assert rules_broken(with_sheets(*SHEETS[:2], ripped, SHEETS[3])) == {"rip"}


def test_strip_that_claims_a_factory_edge_it_lacks_is_a_breach():
    assert rules_broken(with_sheet(4, factory_edges=0)) == {"factory_edges"}


def test_piece_from_a_cut_strip_is_a_breach_where_its_row_needs_a_factory_edge():
    cut = strip(0, 16, placed("G", 0, 32, 16), factory_edges=0)
    assert rules_broken(with_sheet(4, strips=(cut,))) == {"factory_edges"}


def test_sheet_that_is_not_on_sale_is_a_breach():
    assert rules_broken(with_sheet(0, length=inches(97))) == {"on_sale"}


def test_sheet_at_another_price_is_a_breach():
    assert rules_broken(with_sheet(0, price=Cents(1))) == {"price"}


def test_sheet_of_another_board_is_a_breach():
    assert rules_broken(with_sheet(0, board="square")) == {"on_sale", "board"}


def test_sheet_of_another_width_than_its_row_is_a_breach():
    wide = SheetOnSale(
        board="regular", thickness=HALF, width=inches(54), length=inches(120), price=Cents(1700)
    )
    more = replace(RULES, sheets=(*(RULES.sheets or ()), wide))
    made = with_sheet(3, width=inches(54), offcuts=(replace(hand_plan.OFFCUT, width=inches(38)),))
    assert rules_broken(made, rules=more) == {"sheet_width"}


def test_width_the_rules_leave_out_is_a_breach():
    wide = replace(RULES, widths=(inches(54),))
    assert rules_broken(plan(), rules=wide) == {"widths"}
    # A width chosen for the surface itself goes before the rule.
    chosen = BoardChoice(kind="regular", thickness=HALF, width=inches(48))
    assert rules_broken(plan(), framed(board=chosen), wide) == set()
    assert rules_broken(plan(), framed(board=replace(chosen, width=inches(54)))) == {"widths"}


def test_sheet_too_long_for_the_house_is_a_breach():
    assert rules_broken(plan(), rules=replace(RULES, longest_board=inches(143))) == {
        "longest_board"
    }


def test_sheet_too_heavy_to_lift_is_a_breach():
    kind = BoardKind(id="regular", name="Regular", weights=((HALF, Decimal("1.6")),))
    heavy = replace(CATALOGUE, boards=(kind,))
    # 12 ft x 4 ft at 1.6 psf is 76.8 lb.
    assert rules_broken(plan(), framed(heaviest_lift=Decimal(77)), catalogue=heavy) == set()
    assert rules_broken(plan(), framed(heaviest_lift=Decimal(76)), catalogue=heavy) == {
        "heaviest_lift"
    }


OWNED = OwnedSheet(
    id="hall", board="regular", thickness=HALF, width=inches(48), length=inches(96), factory_edges=2
)
FROM_HALL = {"source": "hall", "price": Cents(0)}


def test_owned_sheet_is_free_and_there_is_one_of_it():
    made = with_sheets(replace(SHEETS[0], **FROM_HALL), *SHEETS[1:])
    assert rules_broken(made, owned=[OWNED]) == set()
    assert rules_broken(made, rules=replace(RULES, owned=(OWNED,))) == set()
    twice = with_sheets(
        replace(SHEETS[0], **FROM_HALL), SHEETS[1], replace(SHEETS[2], **FROM_HALL), *SHEETS[3:]
    )
    assert rules_broken(twice, owned=[OWNED]) == {"owned"}


def test_owned_sheet_larger_than_it_is_is_a_breach():
    made = with_sheets(replace(SHEETS[0], **FROM_HALL), *SHEETS[1:])
    assert rules_broken(made, owned=[replace(OWNED, length=inches(95))]) == {"owned"}


def test_owned_sheet_at_a_price_is_a_breach():
    assert rules_broken(with_sheet(0, source="hall"), owned=[OWNED]) == {"price"}


def test_owned_offcut_with_one_factory_edge_cannot_serve_a_middle_row():
    made = with_sheets(
        SHEETS[0], SHEETS[1], replace(SHEETS[2], factory_edges=1, **FROM_HALL), *SHEETS[3:]
    )
    assert rules_broken(made, owned=[replace(OWNED, factory_edges=1)]) == {"factory_edges"}


def test_offcut_that_no_earlier_sheet_left_is_a_breach():
    assert rules_broken(with_sheets(*SHEETS[:3], SHEETS[4], SHEETS[3])) == {"offcut"}


def test_offcut_used_twice_is_a_breach():
    again = replace(SHEETS[4], code="S6", strips=(), rip_at=None)
    assert rules_broken(with_sheets(*SHEETS, again)) == {"offcut"}


def test_offcut_that_grew_is_a_breach():
    assert rules_broken(with_sheet(4, length=inches(121))) == {"offcut"}


def test_offcut_that_overlaps_a_piece_is_a_breach():
    larger = replace(hand_plan.OFFCUT, width=inches(33))
    assert rules_broken(with_sheet(3, offcuts=(larger,))) == {"offcut"}


def test_two_offcuts_in_one_place_are_a_breach():
    beside = Offcut(id="S4-2", length=inches(120), width=inches(8), factory_edges=0)
    assert rules_broken(with_sheet(3, offcuts=(hand_plan.OFFCUT, beside))) == {"offcut"}


def test_offcut_at_the_end_of_a_strip_is_no_breach():
    end = Offcut(id="S4-2", length=inches(16), width=inches(16), factory_edges=1)
    assert rules_broken(with_sheet(3, offcuts=(hand_plan.OFFCUT, end))) == set()


# --- money ---


@pytest.mark.parametrize("cost", ["sheet_cost", "seam_cost", "backer_cost"])
def test_money_that_does_not_add_up_is_a_breach(cost):
    made = plan()
    assert rules_broken(replace(made, **{cost: getattr(made, cost) + 1})) == {cost}


def test_bound_above_the_plans_own_total_is_a_breach():
    made = plan()
    tight = Bound(value=made.total, basis=BoundBasis.SOLVER)
    assert rules_broken(replace(made, bound=tight)) == set()
    assert rules_broken(replace(made, bound=replace(tight, value=made.total + Fraction(1, 7)))) == {
        "bound"
    }


def test_pairs_under_the_preferred_stagger_are_priced():
    priced = replace(RULES, preferred_stagger_price=Decimal("2.50"))
    made = plan({0: (80,), 1: (64,), 2: ()})
    assert rules_broken(made, rules=priced) == {"seam_cost"}
    assert rules_broken(replace(made, seam_cost=made.seam_cost + 250), rules=priced) == set()


def test_backers_are_counted_by_48_in_or_part():
    # 48 in of seam twice: two backers with two shims each at the default 3.50 and 0.15.
    made = plan(FLOATING_JOINTS, kind=FLOATS)
    assert made.backer_cost == 2 * (350 + 2 * 15)
    assert rules_broken(replace(made, backer_cost=made.backer_cost - 380), floating()) == {
        "backer_cost"
    }


# --- surfaces ---


def test_surface_left_out_of_its_rooms_plan_is_a_breach():
    other = framed(id="den/b", name="Wall B")
    assert [breach.rule for breach in check_plan(plan(), [FRAMED, other], RULES, CATALOGUE)] == [
        "surfaces"
    ]


def test_surface_of_another_room_may_be_in_another_plan():
    other = framed(id="hall/b", room="hall", name="Wall B")
    assert check_plan(plan(), [FRAMED, other], RULES, CATALOGUE) == ()


def test_surface_that_is_not_there_is_a_breach():
    assert rules_broken(plan(), framed(id="den/b")) >= {"surfaces"}


# --- ceilings, slopes, standing boards ---


def ceiling(
    width: float, depth: float, spacing: float, *, runs: Runs = Runs.ACROSS, **changes: object
) -> FramedSurface:
    """A flat ceiling, members every `spacing` from 0 across it or along it."""
    outline = rectangle(0, width, 0, depth)
    far, high = (width, depth) if runs is Runs.ACROSS else (depth, width)
    members = [
        Member(
            kind=MemberKind.LAYOUT,
            runs=runs,
            centre=inches(at),
            width=inches(1.5),
            low=Nm(0),
            high=inches(high),
        )
        for at in range(0, int(far) + 1, int(spacing))
    ]
    surface = Surface(
        id="den/ceiling",
        room="den",
        name="Ceiling",
        kind=SurfaceKind.CEILING,
        outline=outline,
        edges=(Edge(EdgeKind.WALL),) * 4,
        board_area=outline,
        board=BoardChoice(kind="regular", thickness=HALF),
        framing=Framing(spacing=inches(spacing), runs=runs),
    )
    return FramedSurface(
        surface=replace(surface, **changes),  # type: ignore[arg-type]
        members=tuple(members),
        provisional=False,
        start_backed=True,
        end_backed=True,
    )


def row(index: int, low: float, high: float, length: float, *, factory: str = "both") -> Course:
    return Course(
        index=index,
        low=inches(low),
        high=inches(high),
        sheet_width=inches(48),
        factory_low=factory in ("both", "low"),
        factory_high=factory in ("both", "high"),
        segments=((Nm(0), inches(length)),),
    )


def ceiling_plan(rows: Sequence[Course], **changes: object) -> BoardPlan:
    """Rows of one piece each, every piece from a sheet of its own."""
    made = plan({row.index: () for row in rows}, rows=rows, sheets=())
    cut = tuple(replace(piece, surface="den/ceiling") for piece in made.surfaces[0].pieces)
    sheets = hand_plan.one_sheet_each(cut)
    surface = replace(made.surfaces[0], surface="den/ceiling", pieces=cut, **changes)  # type: ignore[arg-type]
    return replace(
        made,
        surfaces=(surface,),
        sheets=sheets,
        sheet_cost=Cents(sum(sheet.price for sheet in sheets)),
    )


FROM_A = (row(0, 0, 48, 96), row(1, 48, 80, 96, factory="low"))
FROM_B = (row(0, 0, 32, 96, factory="high"), row(1, 32, 80, 96))
SHARED = (row(0, 0, 40, 96, factory="high"), row(1, 40, 80, 96, factory="low"))
UNEVEN = (row(0, 0, 39, 96, factory="high"), row(1, 39, 80, 96, factory="low"))


@pytest.mark.parametrize(
    ("origin", "good", "bad"),
    [
        (CeilingRows.SIDE_A, FROM_A, FROM_B),
        (CeilingRows.SIDE_B, FROM_B, FROM_A),
        (CeilingRows.EITHER, FROM_B, UNEVEN),
        (CeilingRows.SIDE_A, SHARED, UNEVEN),
    ],
)
def test_ceiling_rows_count_from_the_side_the_rules_say(origin, good, bad):
    rules = replace(RULES, ceiling_rows=origin)
    assert rules_broken(ceiling_plan(good), ceiling(96, 80, 16), rules) == set()
    assert rules_broken(ceiling_plan(bad), ceiling(96, 80, 16), rules) == {"ceiling_rows"}


@pytest.mark.parametrize("asked", [False, True])
def test_both_edge_rows_may_share_the_rip_whatever_the_rules_say(asked):
    rules = replace(RULES, shared_edge_rip=asked)
    assert rules_broken(ceiling_plan(SHARED), ceiling(96, 80, 16), rules) == set()


def test_edge_rows_that_share_a_rip_are_alike_to_a_sixteenth():
    def parted(at: float) -> BoardPlan:
        return ceiling_plan((row(0, 0, at, 96, factory="high"), row(1, at, 80, 96, factory="low")))

    assert rules_broken(parted(40.03125), ceiling(96, 80, 16)) == set()
    assert rules_broken(parted(40.0625), ceiling(96, 80, 16)) == {"ceiling_rows"}


def test_edge_rows_that_share_a_rip_turn_their_factory_edges_to_one_another():
    rows = (SHARED[0], replace(SHARED[1], factory_low=False, factory_high=True))
    assert rules_broken(ceiling_plan(rows), ceiling(96, 80, 16)) == {"factory_edges"}


def test_half_inch_ceiling_along_16_in_framing_is_allowed_and_along_24_in_is_not():
    rows = (row(0, 0, 48, 96), row(1, 48, 80, 96, factory="low"))
    made = ceiling_plan(rows, along_framing=True)
    along = {"runs": Runs.ALONG, "orientation": Orientation.ALONG}
    assert rules_broken(made, ceiling(96, 80, 16, **along)) == set()
    assert rules_broken(made, ceiling(96, 80, 24, **along)) == {"framing_table"}


def test_long_edge_off_the_members_is_a_breach_along_the_framing():
    rows = (row(0, 0, 40, 96, factory="low"), row(1, 40, 80, 96, factory="low"))
    made = ceiling_plan(rows, along_framing=True)
    along = {"runs": Runs.ALONG, "orientation": Orientation.ALONG}
    assert rules_broken(made, ceiling(96, 80, 16, **along)) == {"long_edges"}
    assert rules_broken(made, ceiling(96, 80, 8, **along)) == set()


def test_insulated_half_inch_ceiling_at_24_in_must_be_sag_resistant():
    stiff = replace(
        CATALOGUE, boards=(BoardKind(id="regular", name="Ceiling board", sag_resistant=True),)
    )
    loaded = ceiling(96, 80, 24, insulated=True)
    assert rules_broken(ceiling_plan(FROM_A), ceiling(96, 80, 24)) == set()
    assert rules_broken(ceiling_plan(FROM_A), loaded) == {"framing_table"}
    assert rules_broken(ceiling_plan(FROM_A), loaded, catalogue=stiff) == set()
    assert rules_broken(ceiling_plan(FROM_A), ceiling(96, 80, 16, insulated=True)) == set()


def sloping_wall() -> tuple[FramedSurface, BoardPlan]:
    """A wall 8 ft long whose top rises from 48 in to 80: one whole row to the eave, a triangle
    above it."""
    area = ((Nm(0), Nm(0)), (inches(96), Nm(0)), (inches(96), inches(80)), (Nm(0), inches(48)))
    surface = framed(
        outline=area, board_area=area, openings=(), members=[stud(at) for at in range(0, 97, 16)]
    )
    top, bottom = row(0, 48, 80, 96, factory="low"), row(1, 0, 48, 96)
    made = plan({0: (), 1: ()}, rows=(top, bottom))
    return surface, with_piece(
        made, "A", outline=((Nm(0), inches(48)), (inches(96), inches(48)), (inches(96), inches(80)))
    )


def test_row_cut_to_a_sloping_top_is_bought_as_its_rectangle():
    surface, made = sloping_wall()
    assert rules_broken(made, surface) == set()


def test_whole_rectangle_on_a_sloping_top_is_a_breach():
    surface, made = sloping_wall()
    assert rules_broken(with_piece(made, "A", outline=rectangle(0, 96, 48, 80)), surface) == {
        "outline"
    }


def test_slope_is_forgiven_one_nanometre_and_no_more():
    surface, made = sloping_wall()

    def off_by(nm: int) -> BoardPlan:
        peak = (inches(96), Nm(inches(80) - nm))
        return with_piece(made, "A", outline=((Nm(0), inches(48)), (inches(96), inches(48)), peak))

    assert rules_broken(off_by(1), surface) == set()
    assert rules_broken(off_by(20), surface) >= {"outline"}


def test_standing_boards_may_stop_a_floor_gap_up_and_no_higher():
    wall = framed(
        outline=rectangle(0, 96, 0, 97),
        board_area=rectangle(0, 96, 0.5, 97),
        openings=(),
        orientation=Orientation.ALONG,
        members=[stud(at, high=97) for at in range(0, 97, 16)],
    )

    def standing(start: float) -> BoardPlan:
        columns = tuple(
            replace(
                row(number, 48 * number, 48 * number + 48, 97),
                segments=((inches(start), inches(97)),),
            )
            for number in (0, 1)
        )
        made = plan({0: (), 1: ()}, rows=columns)
        turned = tuple(
            replace(piece, outline=tuple((y, x) for x, y in reversed(piece.outline)))
            for piece in made.surfaces[0].pieces
        )
        return with_surface(made, pieces=turned, rows_run=Runs.ACROSS, along_framing=True)

    assert rules_broken(standing(0.5), wall) == set()
    assert rules_broken(standing(1.5), wall) == set()
    assert rules_broken(standing(1.5625), wall) == {"segments", "cover"}


def test_a_plan_of_nonsense_gives_breaches_and_raises_nothing():
    nothing = Piece(
        code="A", surface="x", row=9, start=Nm(5), end=Nm(1), low=Nm(0), high=Nm(0), outline=()
    )
    surface = SurfacePlan(
        surface="den/a",
        room="?",
        board="?",
        thickness=Nm(1),
        rows_run=Runs.ACROSS,
        along_framing=True,
        rows=(),
        joints=(Joint(row=4, at=Nm(-3), kind=FLOATS, length=Nm(-1)),),
        pieces=(nothing, nothing),
    )
    wrong = replace(SHEETS[4], board="?", source="none", strips=(strip(9, 3, placed("A", 3, 1)),))
    made = replace(plan(), surfaces=(surface, surface), sheets=(wrong, wrong))
    assert len(rules_broken(made)) > 5


def stepped_ceiling() -> tuple[FramedSurface, BoardPlan]:
    """One row 48 in deep that steps back to 40 half way along, with its joint at the step."""
    area = tuple(
        (inches(u), inches(v))
        for u, v in ((0, 0), (192, 0), (192, 40), (96, 40), (96, 48), (0, 48))
    )
    surface = ceiling(192, 48, 16, outline=area, board_area=area, edges=(Edge(EdgeKind.WALL),) * 6)
    made = plan({0: (96,)}, rows=(row(0, 0, 48, 192),), lengths={96: 40})
    first, second = made.surfaces[0].pieces
    short = replace(
        second, surface="den/ceiling", high=inches(40), outline=rectangle(96, 192, 0, 40)
    )
    cut = (replace(first, surface="den/ceiling"), short)
    sheets = hand_plan.one_sheet_each(cut)
    steps = replace(made.surfaces[0], surface="den/ceiling", pieces=cut)
    return surface, replace(
        made, surfaces=(steps,), sheets=sheets, sheet_cost=Cents(sum(s.price for s in sheets))
    )


def test_seam_at_a_step_is_where_both_sides_have_board():
    surface, made = stepped_ceiling()
    assert rules_broken(made, surface) == set()
    whole = replace(made.surfaces[0].joints[0], length=inches(48))
    assert rules_broken(with_surface(made, joints=(whole,)), surface) == {
        "seam_length",
        "seam_cost",
    }


def test_piece_beside_a_step_is_bought_no_wider_than_its_board():
    surface, made = stepped_ceiling()
    assert rules_broken(with_piece(made, "B", high=inches(48)), surface) == {
        "outline",
        "piece_size",
    }


MARKED = framed(code="D", letter="A")


def marked_plan() -> BoardPlan:
    """The good plan with the marks of room D and its wall A on pieces, sheets and offcuts."""
    made = plan()
    pieces = {
        piece.code: f"D-A{number}" for number, piece in enumerate(made.surfaces[0].pieces, start=1)
    }

    def named(some: Sequence[PlacedPiece]) -> tuple[PlacedPiece, ...]:
        return tuple(replace(one, piece=pieces[one.piece]) for one in some)

    sheets = tuple(
        replace(
            one,
            code=f"D{one.code[1:]}",
            source=one.source and "D4.1",
            crosscuts=named(one.crosscuts),
            strips=tuple(replace(part, pieces=named(part.pieces)) for part in one.strips),
            offcuts=tuple(replace(offcut, id="D4.1") for offcut in one.offcuts),
        )
        for one in made.sheets
    )
    surface = replace(
        made.surfaces[0],
        pieces=tuple(replace(one, code=pieces[one.code]) for one in made.surfaces[0].pieces),
    )
    return replace(made, surfaces=(surface,), sheets=sheets)


def renamed(made: BoardPlan, was: str, now: str) -> BoardPlan:
    """The plan with another mark on one of its pieces, sheets or offcuts, wherever it stands."""

    def named(some: Sequence[PlacedPiece]) -> tuple[PlacedPiece, ...]:
        return tuple(replace(one, piece=now if one.piece == was else one.piece) for one in some)

    surface = replace(
        made.surfaces[0],
        pieces=tuple(
            replace(one, code=now if one.code == was else one.code)
            for one in made.surfaces[0].pieces
        ),
    )
    sheets = tuple(
        replace(
            one,
            code=now if one.code == was else one.code,
            source=now if one.source == was else one.source,
            crosscuts=named(one.crosscuts),
            strips=tuple(replace(part, pieces=named(part.pieces)) for part in one.strips),
            offcuts=tuple(
                replace(offcut, id=now if offcut.id == was else offcut.id) for offcut in one.offcuts
            ),
        )
        for one in made.sheets
    )
    return replace(made, surfaces=(surface,), sheets=sheets)


def test_plan_with_the_marks_of_its_room_and_wall_is_good():
    assert rules_broken(marked_plan(), MARKED) == set()


@pytest.mark.parametrize(
    ("was", "now"),
    [
        ("D-A2", "A-02"),
        ("D-A2", "D-B2"),
        ("D-A2", "K-A2"),
        ("D-A2", "D-A02"),
        ("D1", "K1"),
        ("D1", "R1"),
        ("D1", "D-1"),
        ("D1", "D0"),
        ("D4.1", "D3.1"),
        ("D4.1", "D4-1"),
    ],
)
def test_mark_of_another_room_or_wall_or_form_is_found(was, now):
    assert rules_broken(renamed(marked_plan(), was, now), MARKED) == {"marks"}


def test_sheet_with_the_mark_of_a_piece_is_found():
    assert "marks" in rules_broken(renamed(marked_plan(), "D1", "D-A7"), MARKED)


def test_surface_that_has_no_letter_may_be_marked_in_any_way():
    assert rules_broken(marked_plan()) == set()
