from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from takeoff.choices import Action, CutoutKind, OpeningEdge, OpeningKind, Substrate
from takeoff.framing.edges import Support, UnsupportedEdge, UnsupportedEdgeKind
from takeoff.geometry.surface import PlacedCutout, PlacedOpening
from takeoff.needs import hanging
from takeoff.needs.backers import backer_length, panel_share, strips
from takeoff.needs.fastening import fastening, lines
from takeoff.rules import BoardChoice
from takeoff.units import Nm, UnitSystem
from tests.takeoff.needs_room import (
    CATALOGUE,
    RULES,
    assert_reasons_add_up,
    boarded,
    by_material,
    face,
    framed,
    framing_of,
    inches,
    room_of,
    sheet,
)

COARSE = "screw-coarse-1.25"


def take(surface, plan=None, *, rules=RULES, sheets=(), unsupported=()):
    plan = plan or boarded(surface)
    needs = hanging.needs(
        room_of(surface),
        [framed(surface, rules)],
        [plan],
        sheets,
        unsupported,
        rules=rules,
        catalogue=CATALOGUE,
        units=UnitSystem.INCH,
    )
    assert_reasons_add_up(needs)
    return by_material(needs)


def screws(surface, plan=None, rules=RULES):
    """Screws on the surface, without the spare ones."""
    plan = plan or boarded(surface)
    how = fastening(framed(surface, rules), plan, CATALOGUE.board(plan.board), rules)
    return sum(line.screws for line in lines(framed(surface, rules), plan, how.spacing, rules))


def test_wall_of_two_boards_takes_four_screws_on_each_of_ten_studs_twice():
    # 12 ft wall, studs at 0, 16 ... 144 in: ten lines a board, 4 screws each at 16 in.
    assert screws(face()) == 2 * 10 * 4


def test_ceiling_screws_stand_twelve_inches_apart():
    assert screws(face("ceiling")) == 2 * 10 * 5


def test_butt_seam_on_framing_has_a_row_of_screws_in_each_board():
    surface = face()
    assert screws(surface, boarded(surface, {0: (96,)})) == screws(surface) + 4


def test_floating_seam_is_screwed_to_its_backer_from_both_sides():
    surface = face()
    plan = boarded(surface, {0: (88,)}, floating=True)
    assert screws(surface, plan) == screws(surface) + 2 * 4
    need = take(surface, plan)[COARSE]
    assert [reason.amount.value for reason in need.reasons if "SC-backer" in reason.figures] == [8]


def test_wall_on_wide_framing_has_fewer_lines_but_closer_screws():
    surface = framing_of(face(), spacing=inches(24))
    assert screws(surface) == 2 * 7 * 5


def test_steel_framing_takes_fine_screws_three_eighths_past_it():
    surface = framing_of(face(), substrate=Substrate.STEEL)
    assert set(take(surface)) == {"screw-fine-1"}


def test_board_over_old_lining_takes_longer_screws():
    surface = face(action=Action.BOARD_OVER, lining=inches("1/2"))
    assert "screw-coarse-1.625" in take(surface)


def test_members_stop_at_openings():
    window = PlacedOpening(
        id="w",
        name="Window",
        kind=OpeningKind.WINDOW,
        left=inches(40),
        bottom=inches(36),
        right=inches(88),
        top=inches(80),
        edge=OpeningEdge.CASED,
    )
    with_window = face(openings=(window,))
    # Ten studs of 8 ft; those at 48, 64 and 80 in lose the window's 44 in; one stands full height
    # at each side of it.
    screw_lines = lines(framed(with_window), boarded(with_window), inches(16), RULES)
    assert sum(line.length for line in screw_lines) == inches(10 * 96 - 3 * 44 + 2 * 96)


def test_studs_that_touch_share_one_line_of_screws():
    doubled = framing_of(face(), extra=(inches("35/2"),))
    assert screws(doubled) == screws(face())


def test_floating_ceiling_corner_leaves_out_the_screws_along_the_wall():
    rules = replace(RULES, floating_corners=True)
    surface = face("ceiling")
    # The lines in the two corners go; the eight others start 12 in from the wall at one end: 3
    # spaces of 12 in.
    assert screws(surface, rules=rules) == 2 * 8 * 4


def test_floating_wall_corner_starts_a_foot_below_the_ceiling():
    rules = replace(RULES, floating_corners=True)
    # Only the high board's lines start lower: 35 1/2 in at 16 in is 4 screws as before.
    assert screws(face(), rules=rules) == 2 * 10 * 4
    tight = face(framing=replace(face().framing, spacing=inches(24)))
    assert screws(tight, rules=rules) == 7 * 5 + 7 * 4


def test_adhesive_beads_every_line_and_spreads_screws_only_as_its_label_says():
    rules = replace(RULES, adhesive=True)
    needs = take(face(), rules=rules)
    assert needs["adhesive"].amount.value == 2 * 10 * 4
    assert needs["adhesive"].amount.unit == "ft"
    assert screws(face(), rules=rules) == screws(face()) == 2 * 10 * 4
    assert screws(face(), rules=replace(rules, adhesive_screws=inches(24))) == 2 * 10 * 3


def test_adhesive_is_for_walls_only():
    rules = replace(RULES, adhesive=True)
    assert "adhesive" not in take(face("ceiling"), rules=rules)
    assert screws(face("ceiling"), rules=rules) == screws(face("ceiling"))


def test_tile_backer_takes_its_own_screws_closer():
    surface = face(board=BoardChoice(kind="cement", thickness=inches("1/2")))
    needs = take(surface)
    assert set(needs) == {"screw-tile-1.25"}
    assert screws(surface) == 2 * 10 * 7


def test_ceiling_that_braces_the_house_is_screwed_at_seven_inches():
    assert screws(face("ceiling", braces=True)) == 2 * 10 * 8


def test_spare_screws_are_a_reason_of_their_own():
    need = take(face())[COARSE]
    assert need.amount.value == 80 + 4
    assert need.reasons[-1].figures == ("SC-spare",)


def test_reasons_name_the_surface_and_its_figures():
    reason = take(face())[COARSE].reasons[0]
    assert reason.surface == "room/wall"
    assert {"GB-06", "GB-27", "HL-01-layout"} <= set(reason.figures)


def test_sheets_bought_are_needs_and_owned_ones_are_not():
    surface = face()
    sheets = (
        sheet("S1", "P1"),
        sheet("S2", "P2", source="hallway"),
        sheet("S3", "P2", 8),
        sheet("X", "Q", room="other"),
    )
    needs = take(surface, sheets=sheets)
    assert needs["sheet-regular-0.5x48x144in"].amount.value == 1
    assert needs["sheet-regular-0.5x48x96in"].amount.value == 1
    assert needs["sheet-regular-0.5x48x144in"].reasons[0].surface == surface.id


def test_backer_takes_a_strip_and_two_shims():
    surface = face()
    needs = take(surface, boarded(surface, {0: (88,), 1: (40,)}, floating=True))
    # Two strips of the ten in a 4 x 8 ft panel; four shims of 4 ft.
    assert needs["panel-3-4"].amount.value == Fraction(2, 10)
    assert needs["shim-strip"].amount.value == 16


def test_backer_is_no_longer_than_its_row():
    assert backer_length(inches(17)) == inches(17)
    assert backer_length(inches(54)) == inches(48)


def test_short_backers_share_a_strip():
    kerf = inches("1/8")
    assert strips([inches(20), inches(20), inches(30)], kerf) == 2
    assert strips([inches(24), inches(24)], kerf) == 2
    assert strips([inches(24), inches(24)], Nm(0)) == 1
    assert panel_share(2, kerf) == Fraction(1, 5)


def unsupported(support: Support, *, certain: bool = True) -> UnsupportedEdge:
    return UnsupportedEdge(
        kind=UnsupportedEdgeKind.INSIDE_CORNER,
        surface="room/wall",
        length=inches(96),
        support=support,
        certain=certain,
        text="nothing at the corner",
    )


def test_clips_stand_sixteen_inches_apart_with_one_at_each_end():
    assert take(face(), unsupported=[unsupported(Support.CLIP)])["drywall-clip"].amount.value == 7


def test_reason_of_a_clip_does_not_name_its_surface_twice():
    surface = face()
    edge = replace(unsupported(Support.CLIP), text=f"{surface.name}: nothing at the corner")
    (reason,) = take(surface, unsupported=[edge])["drywall-clip"].reasons
    assert reason.text.startswith("nothing at the corner: clips")


@pytest.mark.parametrize(
    "edge", [unsupported(Support.NAILER), unsupported(Support.CLIP, certain=False)]
)
def test_clips_are_not_bought_for_nailers_or_for_edges_nobody_has_looked_at(edge):
    assert "drywall-clip" not in take(face(), unsupported=[edge])


def box(name: str, kind: CutoutKind = CutoutKind.BOX) -> PlacedCutout:
    return PlacedCutout(
        id=name,
        name=name,
        kind=kind,
        left=inches(20),
        bottom=inches(12),
        right=inches(22),
        top=inches(16),
    )


def test_boarding_over_takes_an_extender_for_every_box():
    surface = face(
        action=Action.BOARD_OVER,
        lining=inches("1/2"),
        cutouts=(box("a"), box("b"), box("pipe", CutoutKind.PIPE)),
    )
    assert take(surface)["box-extender"].amount.value == 2


def test_boards_on_open_framing_need_no_extender():
    assert "box-extender" not in take(face(cutouts=(box("a"),)))


def test_new_layer_of_a_quarter_inch_leaves_boxes_within_what_is_allowed():
    # NEC 314.20: set back at most 1/4 in.
    surface = face(
        action=Action.BOARD_OVER,
        lining=inches("1/2"),
        board=BoardChoice(kind="regular", thickness=inches("1/4")),
        cutouts=(box("a"),),
    )
    assert "box-extender" not in take(surface)


def test_no_screw_reaches_through_an_absurd_lining():
    surface = face(action=Action.BOARD_OVER, lining=inches(4))
    with pytest.raises(ValueError, match="strip a layer"):
        take(surface)
