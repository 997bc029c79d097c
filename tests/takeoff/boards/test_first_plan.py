"""The first plan: known rooms with a known best answer, and what the rules forbid."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from takeoff.boards.blocking import unsupported_butt_ends
from takeoff.boards.check import check_plan
from takeoff.boards.first_plan import plan_pool
from takeoff.boards.longest_first import plan_longest_first
from takeoff.boards.plan import BoundBasis, JointKind
from takeoff.catalogue import OwnedSheet
from takeoff.choices import JointMode, OpeningKind, Orientation, SurfaceKind
from takeoff.errors import CannotBoard
from takeoff.geometry.polygon import area2
from takeoff.units import INCH, Nm
from tests.bench.rooms import seeded_house
from tests.bench.run import pool_of
from tests.takeoff.boards.hand import (
    CATALOGUE,
    CUTTING,
    HALF,
    framed,
    inches,
    member,
    opening,
    outline,
    sheet,
    stated,
)


def plan_of(*surfaces, rules=CUTTING):
    plan = plan_pool(stated(*surfaces, rules=rules))
    assert check_plan(plan, surfaces, rules, CATALOGUE) == ()
    return plan


def test_wall_of_exactly_two_sheets_has_two_sheets_and_no_seam():
    plan = plan_of(framed(144, 96))
    assert [sheet.length for sheet in plan.sheets] == [inches(144)] * 2
    assert plan.total == 3600
    assert plan.surfaces[0].joints == ()


def test_wall_of_two_and_a_third_sheets_a_row_wastes_nothing():
    # 168 in courses: 96 + 72 and 72 + 96, from two 8 ft sheets and one 12 ft: 24 + 18 and two 4 ft
    # seams at 1.00 a foot
    plan = plan_of(framed(168, 96))
    assert plan.sheet_cost == 4200
    assert plan.seam_cost == 800


def test_seam_price_can_be_anything_exact():
    plan = plan_of(framed(168, 96), rules=replace(CUTTING, seam_price=Decimal("0.37")))
    assert plan.seam_cost == Fraction(37 * 8)


def test_offcuts_of_one_surface_serve_the_next():
    # two 48 in courses of each wall come out of one 8 ft sheet
    plan = plan_of(framed(48, 48, id="r1/a"), framed(48, 48, id="r1/b"))
    assert plan.total == 1200


def test_two_strips_come_out_of_one_rip():
    ceiling = framed(96, 72, kind=SurfaceKind.CEILING, id="r1/ceiling")
    plan = plan_of(ceiling, framed(96, 24, id="r1/a"))
    assert [len(sheet.strips) for sheet in plan.sheets].count(2) == 1
    assert plan.total == 2400


def test_owned_sheets_are_used_first():
    spare = OwnedSheet(
        id="spare", board="regular", thickness=HALF, width=inches(48), length=inches(144), count=1
    )
    plan = plan_of(framed(144, 96), rules=replace(CUTTING, owned=(spare,)))
    assert [sheet.source for sheet in plan.sheets].count("spare") == 1
    assert plan.total == 1800


def test_owned_sheet_longer_than_any_on_sale_saves_the_seam():
    spare = OwnedSheet(
        id="spare", board="regular", thickness=HALF, width=inches(48), length=inches(192), count=1
    )
    plan = plan_of(framed(192, 48), rules=replace(CUTTING, owned=(spare,)))
    assert plan.total == 0


def test_pieces_longer_than_any_on_sale_are_refused_where_too_few_are_owned():
    spare = OwnedSheet(
        id="spare", board="regular", thickness=HALF, width=inches(48), length=inches(192), count=1
    )
    members = tuple(member(k * 12, 0, 96) for k in (0, 16))
    with pytest.raises(CannotBoard) as refusal:
        plan_of(framed(192, 96, members=members), rules=replace(CUTTING, owned=(spare,)))
    assert refusal.value.rule == "sheets"


def test_either_takes_the_floating_seam_where_it_saves_money():
    # members 24 in apart leave 144 + 24 or a waste; at mid-bay 156 in courses split evenly, 78 + 78
    members = tuple(member(k * 26, 0, 48) for k in range(7))
    rules = replace(
        CUTTING,
        sheets=(sheet(8, 1200), sheet(6, 900)),
        backer_price=Decimal(0),
        shim_price=Decimal(0),
    )
    on_framing = plan_of(framed(130, 48, members=members), rules=rules)
    either = plan_of(framed(130, 48, members=members, joint_mode=JointMode.EITHER), rules=rules)
    assert on_framing.total == 2100 + 400
    assert either.total <= on_framing.total


def test_floating_seams_bring_backers_and_shims():
    plan = plan_of(framed(160, 48, joint_mode=JointMode.FLOATING))
    (joint,) = plan.surfaces[0].joints
    assert joint.kind is JointKind.FLOATING
    assert plan.backer_cost == 350 + 30


def test_joints_at_exactly_the_stagger_are_allowed():
    members = tuple(member(k, 0, 96) for k in (0, 72, 88, 160))
    plan = plan_of(framed(160, 96, members=members))
    assert sorted(joint.at for joint in plan.surfaces[0].joints) == [inches(72), inches(88)]


def test_preferred_stagger_is_kept_where_its_price_is_worth_it():
    wall = framed(168, 96)
    rules = replace(CUTTING, preferred_stagger=inches(60), preferred_stagger_price=Decimal(50))
    first, second = sorted(joint.at for joint in plan_of(wall, rules=rules).surfaces[0].joints)
    assert second - first >= inches(60)


def test_piece_of_exactly_the_shortest_length_is_allowed_and_none_shorter():
    members = tuple(member(k, 0, 48) for k in (0, 12, 156))
    assert len(plan_of(framed(156, 48, members=members)).surfaces[0].pieces) == 2
    closer = tuple(member(k, 0, 48) for k in (0, 11.875, 155.875))
    with pytest.raises(CannotBoard) as refusal:
        plan_of(framed(155.875, 48, members=closer, wet=True))
    assert refusal.value.rule == "shortest_piece"


def test_stretch_beside_a_door_shorter_than_the_shortest_piece_is_one_piece():
    plan = plan_of(framed(96, 96, openings=(opening(6, 0, 44, 82.5, OpeningKind.DOOR),)))
    assert min(piece.end - piece.start for piece in plan.surfaces[0].pieces) == inches(6)


def test_gable_wall_is_cut_to_its_slope():
    wall = framed(192, 120, shape=outline((0, 0), (192, 0), (192, 96), (96, 144), (0, 96)))
    members = tuple(member(16 * k, 0, 96 + min(8 * k, 96 - 8 * k)) for k in range(13))
    plan = plan_of(replace(wall, members=members))
    top = [piece for piece in plan.surfaces[0].pieces if piece.row == 0]
    assert sum(area2(piece.outline) for piece in top) == inches(192) * inches(48)
    assert max(piece.high for piece in top) == inches(144)


def test_standing_boards_are_planned_with_their_butt_ends():
    plan = plan_of(framed(96, 168, orientation=Orientation.ALONG))
    assert plan.surfaces[0].along_framing
    assert plan.surfaces[0].joints


def test_bound_rests_on_area_and_is_no_more_than_the_plan():
    plan = plan_of(framed(150, 96))
    assert plan.bound.basis is BoundBasis.AREA
    # 150 x 96 sq in at 1200 cents for 48 x 96
    assert plan.bound.value == Fraction(150 * 96 * 1200, 48 * 96)
    assert plan.bound.value <= plan.total


def test_sheets_are_named_in_the_order_they_are_cut():
    plan = plan_of(framed(168, 96), framed(168, 96, id="r2/a"))
    assert [sheet.code for sheet in plan.sheets] == ["R1", "R2", "R3", "S1", "S2"]
    rooms = [sheet.room for sheet in plan.sheets]
    assert rooms == sorted(rooms)


def test_offcut_worth_keeping_is_listed_with_its_factory_edges():
    plan = plan_of(framed(72, 48))
    (offcut,) = plan.sheets[0].offcuts
    assert (offcut.length, offcut.width, offcut.factory_edges) == (inches(24), inches(48), 2)


def test_wider_board_is_chosen_where_it_saves_a_row():
    rules = replace(CUTTING, sheets=(*CATALOGUE.sheets, sheet(12, 2100, width=54)))
    plan = plan_of(framed(144, 108), rules=rules)
    assert {sheet.width for sheet in plan.sheets} == {Nm(54 * INCH)}


def test_butt_ends_of_standing_boards_ask_for_blocking():
    wall = framed(96, 168, orientation=Orientation.ALONG)
    plan = plan_of(wall)
    edges = unsupported_butt_ends(plan, {wall.surface.id: wall.surface})
    assert [edge.length for edge in edges] == [joint.length for joint in plan.surfaces[0].joints]
    assert edges[0].text.startswith("r1/a: nothing to screw to behind the butt seam")
    assert "blocking" in {note.rule for note in plan.surfaces[0].notes}
    assert unsupported_butt_ends(plan_of(framed(168, 96)), {}) == ()


@pytest.mark.parametrize("mode", [JointMode.FRAMING, JointMode.EITHER])
def test_no_dearer_than_the_longest_boards(mode):
    # A room where the steps by themselves end dearer, by 12.50.
    pool = pool_of(seeded_house(1, joint_mode=mode))
    assert plan_pool(pool).total <= plan_longest_first(pool).total
