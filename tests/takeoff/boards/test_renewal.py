"""Plans are kept until a piece that is open is impossible; then only what fell is planned anew."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from random import Random

import pytest

from takeoff.boards.plan import BoardPlan, Offcut, Strip
from takeoff.boards.renewal import NOTHING_DONE, Done, Renewal, renew
from takeoff.catalogue import BoardKind, Cutting, OwnedSheet
from takeoff.choices import Action, CutoutKind, HiddenKind, Orientation
from takeoff.house import Cutout, HiddenItem, House, Measure, Room
from takeoff.job import Takeoff, take_off
from takeoff.needs.materials import sheet_id
from takeoff.quantities import Cents
from takeoff.rules import BoardChoice, Minutes
from takeoff.units import FOOT, INCH, Nm
from tests.takeoff.aims import SHEETS_AND_SEAMS
from tests.takeoff.boards.half_hung import chosen_at_random, pieces_on
from tests.takeoff.boards.hand import CATALOGUE, HALF, SHEETS, sheet
from tests.takeoff.boards.renewed import (
    assert_sound,
    done_of,
    marks_of,
    measured,
    sheet_of,
    small_house,
    told,
    with_room,
)

# The first room has the code R and the second RA, so R-C3 is the third piece of the first one's C.
HOUSE = small_house()
FIRST = take_off(HOUSE)
(PLAN,) = FIRST.plans
TOP_ROW = {piece.code for one in FIRST.surface_plans for piece in one.pieces if piece.row == 0}


def same(plans: Sequence[BoardPlan], others: Sequence[BoardPlan] = FIRST.plans) -> bool:
    """Whether the plans are the very objects."""
    return len(plans) == len(others) and all(map(lambda a, b: a is b, plans, others))


def renewed(done: Done, house: House = HOUSE, plans: Sequence[BoardPlan] = FIRST.plans) -> Renewal:
    """What comes of an edit, after everything that always holds was looked at."""
    renewal = renew(house, plans, done)
    assert_sound(renewal, plans, done)
    return renewal


def surfaces_of(renewal: Renewal) -> set[str]:
    return {one.surface for one in renewal.fallen}


def codes(renewal: Renewal) -> set[str]:
    return {one.code for one in renewal.takeoff.sheets}


def half_hung(takeoff: Takeoff, seed: int, share: float = 0.5) -> Done:
    pieces = [piece for plan in takeoff.surface_plans for piece in plan.pieces]
    return done_of(takeoff, chosen_at_random(pieces, Random(seed), share))


@pytest.mark.parametrize("done", [NOTHING_DONE, half_hung(FIRST, 1)], ids=["nothing", "half"])
def test_plans_of_a_house_that_nothing_changed_in_are_the_same(done):
    renewal = renewed(done)
    assert same(renewal.takeoff.plans)
    assert renewal.takeoff.supply == FIRST.supply
    assert renewal.takeoff.needs == FIRST.needs
    assert (renewal.fallen, renewal.struck, renewal.dissolved) == ((), (), ())
    assert renewal.takeoff.amiss == ()


def with_box(room: Room) -> Room:
    box = Cutout(
        id="box",
        name="box",
        kind=CutoutKind.BOX,
        surface="A",
        across=Measure(origin="left", distance=Nm(50 * INCH)),
        up=Measure(origin="floor", distance=Nm(16 * INCH)),
        width=Nm(2 * INCH),
        height=Nm(4 * INCH),
    )
    return replace(room, cutouts=(box,))


def with_hidden(kind: HiddenKind, *, planned: bool = False) -> House:
    item = HiddenItem(
        id="hidden",
        name="hidden",
        kind=kind,
        surface="B",
        across=Measure(origin="left", distance=Nm(40 * INCH)),
        up=Measure(origin="floor", distance=Nm(34 * INCH)),
        width=Nm(10 * INCH),
        height=Nm(5 * INCH),
        planned=planned,
    )
    return with_room(HOUSE, lambda room: replace(room, hidden=(item,)))


DEARER = tuple(replace(one, price=one.price + 200) for one in SHEETS)


@pytest.mark.parametrize(
    "house",
    [
        with_room(HOUSE, with_box),
        with_hidden(HiddenKind.PIPE),
        with_hidden(HiddenKind.BLOCKING, planned=True),
        with_hidden(HiddenKind.BLOCKING),
        with_room(HOUSE, lambda room: replace(room, finish=replace(room.finish, wall_level=5))),
        with_room(HOUSE, lambda room: replace(room, name="Den", longest_board=Nm(10 * FOOT))),
        with_room(HOUSE, lambda room: replace(room, heaviest_lift=Decimal(30))),
        replace(HOUSE, rules=replace(HOUSE.rules, sheets=DEARER)),
        replace(HOUSE, rules=replace(HOUSE.rules, stagger=Nm(60 * INCH))),
        replace(HOUSE, rules=replace(HOUSE.rules, shortest_piece=Nm(100 * INCH))),
    ],
    ids=[
        "box",
        "pipe",
        "blocking-planned",
        "blocking-in",
        "finish",
        "name-longest",
        "lift",
        "price",
        "stagger",
        "shortest",
    ],
)
@pytest.mark.parametrize("done", [NOTHING_DONE, half_hung(FIRST, 2)], ids=["nothing", "half"])
def test_edits_that_make_no_piece_impossible_change_no_plan(house, done):
    renewal = renewed(done, house)
    assert same(renewal.takeoff.plans)
    assert (renewal.fallen, renewal.struck, renewal.recut) == ((), (), ())


def test_what_no_plan_falls_for_is_amiss():
    shorter = with_room(HOUSE, lambda room: replace(room, longest_board=Nm(10 * FOOT)))
    rules = replace(shorter.rules, sheets=DEARER, stagger=Nm(60 * INCH))
    renewal = renewed(NOTHING_DONE, replace(shorter, rules=rules))
    assert {one.rule for one in renewal.takeoff.amiss} >= {"longest_board", "price", "stagger"}


def test_price_of_seams_is_the_price_now():
    dearer = replace(HOUSE, rules=replace(HOUSE.rules, seam_price=Decimal("2.5")))
    (plan,) = renewed(half_hung(FIRST, 2), dearer).takeoff.plans
    assert (plan.surfaces, plan.sheets) == (PLAN.surfaces, PLAN.sheets)
    assert plan.seam_cost > PLAN.seam_cost


@pytest.mark.parametrize(
    "aim",
    [
        {"hour": Decimal(0)},
        {"hour": Decimal(90)},
        {"minutes": Minutes(piece=Decimal(60), butt_foot=Decimal(0))},
    ],
)
def test_no_plan_falls_for_what_hours_are_worth_now(aim):
    other = replace(HOUSE, rules=replace(HOUSE.rules, **aim))
    for done in (NOTHING_DONE, half_hung(FIRST, 2)):
        renewal = renewed(done, other)
        assert renewal.fallen == ()
        (plan,) = renewal.takeoff.plans
        assert (plan.surfaces, plan.sheets) == (PLAN.surfaces, PLAN.sheets)
        assert plan.work_cost != PLAN.work_cost
        # What no plan can cost less than is not known at the new worth.
        assert plan.bound.value == 0
        again = renewed(done, other, renewal.takeoff.plans)
        assert same(again.takeoff.plans, renewal.takeoff.plans)


def test_plan_from_before_hours_counted_is_given_its_hours_and_stays():
    before = replace(PLAN, work_cost=Cents(0))
    (plan,) = renewed(NOTHING_DONE, plans=[before]).takeoff.plans
    assert (plan.surfaces, plan.sheets) == (PLAN.surfaces, PLAN.sheets)
    assert plan.work_cost == PLAN.work_cost


# R-A1 and R-C2 share R1; R-A2, R-A4 and R-C3 share R2; R3 is of R-A3 alone.
ONE_HUNG = done_of(FIRST, {"R-A1"})
SEVEN_OFF = told(ONE_HUNG, "R-A1", 7)


def test_sheets_are_shared_as_the_stories_below_take_them_to_be():
    assert pieces_on(sheet_of(FIRST.plans, "R-A1")) == ["R-A1", "R-C2"]
    assert pieces_on(sheet_of(FIRST.plans, "R-C3")) == ["R-A2", "R-A4", "R-C3"]
    assert pieces_on(sheet_of(FIRST.plans, "R-A3")) == ["R-A3"]


def test_joint_told_seven_inches_off_lets_its_own_surface_fall():
    renewal = renewed(SEVEN_OFF)
    assert [(one.surface, one.rule) for one in renewal.fallen] == [("r1/A", "placed")]
    assert set(renewal.struck) == {"R-A2", "R-A3", "R-A4"}
    ends = [piece.start for piece in renewal.takeoff.surface_plans[0].pieces]
    assert Nm(89 * INCH) in ends


def test_sheet_that_held_a_struck_piece_dissolves_and_the_others_keep_their_cards():
    renewal = renewed(SEVEN_OFF)
    assert set(renewal.dissolved) == {"R2", "R3"}
    # R-C3 lay on a dissolved sheet and stays where it is; R-C2 is on one that is begun.
    assert set(renewal.recut) == {"R-C3"}
    plans = renewal.takeoff.plans
    assert sheet_of(plans, "R-C2").code == "R1"
    kept = {one.code: one for one in renewal.takeoff.sheets}
    assert all(kept[one.code] == one for one in FIRST.sheets if one.code not in {"R1", "R2", "R3"})
    untouched = {one.surface: one for one in FIRST.surface_plans if one.surface != "r1/A"}
    for one in renewal.takeoff.surface_plans:
        if one.surface in untouched:
            assert one.pieces == untouched[one.surface].pieces
            assert one.joints == untouched[one.surface].joints


def test_begun_sheet_keeps_what_is_cut_and_what_stands_and_gives_the_rest():
    done = told(done_of(FIRST, {"R-A1", "R-C3"}), "R-A1", 7)
    renewal = renewed(done)
    begun = sheet_of(renewal.takeoff.plans, "R-C3")
    assert (begun.code, pieces_on(begun)) == ("R2", ["R-C3"])
    assert begun.offcuts
    assert not {one.id for one in begun.offcuts} & marks_of(FIRST.plans)
    # The rest is big enough for a piece again, and costs nothing.
    again = [one for one in renewal.takeoff.sheets if (one.source or "").startswith("R2.")]
    assert again
    assert {one.price for one in again} == {0}


def from_an_offcut() -> BoardPlan:
    """The plan with R2 cut apart: R-A2 of it, and R-A4 and R-C3 of its offcut, as a sheet R10."""
    sheets = []
    for one in PLAN.sheets:
        if one.code != "R2":
            sheets.append(one)
            continue
        assert one.rip_at is not None
        at = one.rip_at
        rest = Offcut(
            id="R2.1", length=Nm(one.length - at), width=one.width, factory_edges=one.factory_edges
        )
        strips = tuple(
            Strip(
                low=strip.low,
                high=strip.high,
                factory_edges=strip.factory_edges,
                pieces=tuple(
                    replace(piece, start=Nm(piece.start - at), end=Nm(piece.end - at))
                    for piece in strip.pieces
                ),
            )
            for strip in one.strips
        )
        sheets.append(replace(one, rip_at=None, strips=(), offcuts=(rest,)))
        sheets.append(
            replace(
                one,
                code="R10",
                source="R2.1",
                price=0,
                length=rest.length,
                crosscuts=(),
                rip_at=Nm(0),
                strips=strips,
                offcuts=(),
            )
        )
    return replace(PLAN, sheets=tuple(sheets))


def test_sheet_of_an_offcut_goes_with_the_sheet_it_was_to_come_from():
    plan = from_an_offcut()
    assert same(renewed(ONE_HUNG, plans=[plan]).takeoff.plans, [plan])
    # R-A2 falls, and with R2 the offcut that R-C3 was to be cut of; R-C3 stays where it is.
    renewal = renewed(SEVEN_OFF, plans=[plan])
    assert {"R2", "R10"} <= set(renewal.dissolved)
    assert "R-C3" in renewal.recut


def test_offcut_that_was_meant_for_a_struck_piece_is_free():
    plan = from_an_offcut()
    before = replace(FIRST, plans=(plan,))
    done = told(done_of(before, {"R-A2", "R-C1"}), "R-C1", 7)
    renewal = renewed(done, plans=[plan])
    assert surfaces_of(renewal) == {"r1/C"}
    assert "R10" in renewal.dissolved
    begun = sheet_of(renewal.takeoff.plans, "R-A2")
    assert [one.id for one in begun.offcuts] == ["R2.1"]
    assert "R2.1" in {one.source for one in renewal.takeoff.sheets}


def test_offcut_that_is_gone_lets_its_piece_be_cut_from_something_else():
    plan = from_an_offcut()
    before = replace(FIRST, plans=(plan,))
    done = replace(done_of(before, {"R-A2"}), gone=frozenset({"R2.1"}))
    renewal = renewed(done, plans=[plan])
    assert renewal.fallen == ()
    assert renewal.dissolved == ("R10",)
    assert set(renewal.recut) == {"R-A4", "R-C3"}
    assert "R2.1" not in {one.source for one in renewal.takeoff.sheets}
    for one, other in zip(renewal.takeoff.surface_plans, PLAN.surfaces, strict=True):
        assert (one.pieces, one.joints) == (other.pieces, other.joints)


def test_offcut_that_is_gone_and_was_meant_for_nothing_changes_nothing():
    done = replace(done_of(FIRST, {"R-B1"}), gone=frozenset({"R6.1"}))
    assert same(renewed(done).takeoff.plans)
    fallen = renewed(replace(done_of(FIRST, {"R-B1", "R-A1"}), gone=frozenset({"R6.1"})))
    assert same(fallen.takeoff.plans)
    renewal = renewed(
        told(replace(done_of(FIRST, {"R-B1", "R-A1"}), gone=frozenset({"R6.1"})), "R-A1", 7)
    )
    assert "R6.1" not in {o.id for one in renewal.takeoff.sheets for o in one.offcuts}


def sold(*feet: int) -> House:
    sheets = tuple(one for one in SHEETS if one.length // FOOT in feet)
    return replace(HOUSE, rules=replace(HOUSE.rules, sheets=sheets))


def test_boards_of_a_size_that_is_no_longer_sold_are_cut_from_another_and_joints_stay():
    renewal = renewed(ONE_HUNG, sold(8, 12))
    of_ten = {one.code for one in FIRST.sheets if one.length == 10 * FOOT}
    assert set(renewal.dissolved) == of_ten - {"R1"}
    assert "R1" in codes(renewal)
    assert renewal.fallen == ()
    assert renewal.struck == ()
    assert {one.length // FOOT for one in renewal.takeoff.sheets if one.code not in {"R1"}} == {12}
    for one, other in zip(renewal.takeoff.surface_plans, PLAN.surfaces, strict=True):
        assert (one.pieces, one.joints) == (other.pieces, other.joints)


def test_surface_with_a_piece_that_nothing_on_sale_is_long_enough_for_falls():
    renewal = renewed(ONE_HUNG, sold(8, 10))
    assert surfaces_of(renewal) == {f"r1/{wall}" for wall in "ABCD"} | {"r2/B", "r2/D"}
    assert {one.rule for one in renewal.fallen} == {"sheets"}
    assert renewal.takeoff.refused == ()
    # What may be cut as before keeps its cards.
    assert {"RA5", "RA6", "RA7", "RA8"} <= codes(renewal)


def whole(feet: int, count: int) -> OwnedSheet:
    size = ("regular", HALF, Nm(48 * INCH), Nm(feet * FOOT))
    return OwnedSheet(
        id=sheet_id(*size),
        board=size[0],
        thickness=HALF,
        width=size[2],
        length=size[3],
        count=count,
    )


def owning(house: House, *owned: OwnedSheet) -> House:
    return replace(house, rules=replace(house.rules, owned=owned))


def test_sheets_that_are_here_are_cut_as_planned_though_no_longer_sold():
    waiting = [one for one in FIRST.sheets if one.length == 12 * FOOT]
    (plan,) = renewed(ONE_HUNG, owning(sold(8, 10), whole(12, len(waiting)))).takeoff.plans
    assert (plan.surfaces, plan.sheets) == (PLAN.surfaces, PLAN.sheets)
    short = renewed(ONE_HUNG, owning(sold(8, 10), whole(12, len(waiting) - 1)))
    # RA-D2 is longer than any sheet that is left for it, so the joints of its wall may move.
    assert surfaces_of(short) == {"r2/D"}
    assert short.dissolved == ("RA3", "RA4")


def test_sheets_that_are_here_are_used_once_the_cards_that_stay_have_theirs():
    waiting = sum(one.length == 12 * FOOT for one in FIRST.sheets) - 2  # R2 and R3 dissolve
    for spare in (0, 1):
        renewal = renewed(SEVEN_OFF, owning(HOUSE, whole(12, waiting + spare)))
        used = [one for one in renewal.takeoff.sheets if one.source == whole(12, 1).id]
        assert len(used) == spare


def test_piece_that_was_cut_wrong_is_cut_again_under_a_new_mark():
    done = done_of(FIRST, {"R-A1"}, {"R-A3"})
    wrong = replace(done, boards=tuple(one for one in done.boards if one.mark != "R-A3"))
    renewal = renewed(wrong)
    assert [(one.surface, one.rule) for one in renewal.fallen] == [("r1/A", "cut_wrong")]
    marks = {piece.code for piece in renewal.takeoff.surface_plans[0].pieces}
    assert "R-A3" not in marks
    assert "R-A3" not in renewal.struck
    # What it was cut from is used up and paid for.
    (sheet_cut,) = [one for one in renewal.takeoff.sheets if one.code == "R3"]
    assert pieces_on(sheet_cut) == ["R-A3"]
    assert renewal.takeoff.plans[0].sheet_cost > PLAN.sheet_cost


def test_board_that_was_cut_from_another_sheet_frees_its_place_on_its_own():
    done = replace(done_of(FIRST, {"R-A3"}), sheets=(), cut=frozenset())
    renewal = renewed(done)
    assert renewal.fallen == ()
    assert renewal.dissolved == ("R3",)
    assert "R-A3" not in {mark for one in renewal.takeoff.sheets for mark in pieces_on(one)}


def test_board_of_an_older_plan_lets_its_surface_fall():
    older = replace(ONE_HUNG.boards[0], mark="R-A91")
    done = replace(ONE_HUNG, boards=(older,), hung=frozenset({"R-A91"}), sheets=(), cut=frozenset())
    renewal = renewed(done)
    assert surfaces_of(renewal) == {"r1/A"}
    assert "R-A1" in renewal.struck
    assert "R-A91" in {piece.code for piece in renewal.takeoff.surface_plans[0].pieces}


def test_studs_that_stand_elsewhere_let_the_surface_fall_and_free_what_is_cut():
    def moved(room: Room) -> Room:
        choices = tuple(
            replace(one, framing=replace(one.framing, first=Nm(5 * INCH)))
            if one.of == "A" and one.framing
            else one
            for one in room.surfaces
        )
        return replace(room, surfaces=choices)

    house = with_room(HOUSE, moved)
    renewal = renewed(done_of(FIRST, {"R-A1"}, {"R-A3"}), house)
    assert [(one.surface, one.rule) for one in renewal.fallen] == [("r1/A", "on_framing")]
    # R-A1 hangs and stays, R-A3 lies on the floor and ends where no stud is.
    assert [one.id for one in renewal.spare] == ["R-A3"]
    assert {one.rule for one in renewal.takeoff.amiss} == {"on_framing"}
    assert "R-A3" in {one.source for one in renewal.takeoff.sheets}


def test_cut_piece_stays_where_it_is_planned_where_only_others_fell():
    done = told(done_of(FIRST, {"R-A1"}, {"R-A3"}), "R-A1", 7)
    renewal = renewed(done)
    assert surfaces_of(renewal) == {"r1/A"}
    assert renewal.spare == ()
    assert "R-A3" in {piece.code for piece in renewal.takeoff.surface_plans[0].pieces}


def test_cut_piece_whose_place_is_too_short_now_is_the_first_to_be_cut_again():
    done = done_of(FIRST, set(), {"R-B1"})
    shorter = owning(measured(HOUSE, wider=-32), whole(12, 8))
    renewal = renewed(done, shorter)
    (spare,) = renewal.spare
    assert (spare.id, spare.length, spare.width) == ("R-B1", Nm(127 * INCH), Nm(48 * INCH))
    (again,) = [one for one in renewal.takeoff.sheets if one.source == "R-B1"]
    assert again.price == 0
    assert pieces_on(again)


def test_cut_piece_that_hangs_where_another_hangs_now_is_spare():
    done = done_of(FIRST, {"R-A1"}, {"R-A2"})
    longer = tuple(
        replace(
            one,
            end=Nm(one.end + 16 * INCH),
            outline=tuple((Nm(u + 16 * INCH) if u else u, v) for u, v in one.outline),
        )
        if one.mark == "R-A1"
        else one
        for one in done.boards
    )
    renewal = renewed(replace(done, boards=longer))
    assert [one.id for one in renewal.spare] == ["R-A2"]
    # It is cut down to what is left of its row.
    assert "R-A2" in {one.source for one in renewal.takeoff.sheets}


@pytest.mark.parametrize("sixteenths", [-32, -16, -8, -1, 1, 8, 9, 16, 32])
@pytest.mark.parametrize("way", ["longer", "wider", "higher"])
def test_walls_corrected_after_the_first_row_hangs(way, sixteenths):
    done = done_of(FIRST, TOP_ROW)
    renewal = renewed(done, measured(HOUSE, **{way: sixteenths}))
    # Walls A and C are hung first, so the others cover a gap of a sixteenth at their ends.
    covered = (way, sixteenths) == ("longer", 1)
    walls = {"longer": "" if covered else "AC", "wider": "BD", "higher": "ABCD"}[way]
    assert surfaces_of(renewal) == {f"r1/{wall}" for wall in walls}
    assert renewal.takeoff.refused == ()
    assert not [one for one in renewal.struck if one in TOP_ROW]
    kept = {one.code: one for one in renewal.takeoff.sheets}
    assert all(kept[one.code] == one for one in FIRST.sheets if one.room == "r2")


def test_longest_board_below_a_hung_piece_changes_nothing_until_something_falls():
    short = with_room(HOUSE, lambda room: replace(room, longest_board=Nm(8 * FOOT)))
    done = done_of(FIRST, {"R-C1"})
    assert same(renewed(done, short).takeoff.plans)
    renewal = renewed(told(done, "R-C1", 16), short)
    assert surfaces_of(renewal) == {"r1/C"}
    new = [one for one in renewal.takeoff.sheets if one.code not in marks_of(FIRST.plans)]
    assert new
    assert all(one.length <= 8 * FOOT for one in new)


def leaving(wall: str, house: House = HOUSE) -> House:
    def left(room: Room) -> Room:
        choices = tuple(
            replace(one, action=Action.LEAVE) if one.of == wall else one for one in room.surfaces
        )
        return replace(room, surfaces=choices)

    return with_room(house, left)


def test_surface_that_is_left_after_all_strikes_its_pieces_and_comes_back_open():
    renewal = renewed(ONE_HUNG, leaving("C"))
    assert set(renewal.struck) == {"R-C1", "R-C2", "R-C3", "R-C4"}
    assert surfaces_of(renewal) == {"r1/C"}
    assert "r1/C" not in {one.surface for one in renewal.takeoff.surface_plans}
    back = renewed(
        replace(ONE_HUNG, taken=frozenset(marks_of(FIRST.plans))), HOUSE, renewal.takeoff.plans
    )
    assert back.fallen == ()
    assert back.struck == ()
    (plan,) = [one for one in back.takeoff.surface_plans if one.surface == "r1/C"]
    assert not {piece.code for piece in plan.pieces} & marks_of(FIRST.plans)
    assert {one.code for one in renewal.takeoff.sheets} <= codes(back)


def test_boards_that_hang_where_nothing_is_boarded_any_more_are_said():
    renewal = renewed(ONE_HUNG, leaving("A"))
    assert renewal.takeoff.refused == ()
    assert "R-A1" in " ".join(one.message for one in renewal.takeoff.amiss)


def test_wall_of_another_board_goes_into_a_plan_of_its_own_in_the_same_call():
    kinds = (*CATALOGUE.boards, BoardKind(id="moist", name="moist board"))
    house = replace(HOUSE, catalogue=replace(CATALOGUE, boards=kinds))
    rules = replace(house.rules, sheets=(*SHEETS, sheet(12, 2500, board="moist")))

    def moist(room: Room) -> Room:
        board = BoardChoice(kind="moist", thickness=HALF)
        choices = tuple(
            replace(one, board=board) if one.of == "B" else one for one in room.surfaces
        )
        return replace(room, surfaces=choices)

    changed = with_room(replace(house, rules=rules), moist)
    renewal = renewed(done_of(FIRST, {"R-A1"}, {"R-B1"}), changed)
    assert [plan.surfaces[0].board for plan in renewal.takeoff.plans] == ["regular", "moist"]
    assert [(one.surface, one.rule) for one in renewal.fallen] == [("r1/B", "board")]
    assert [one.id for one in renewal.spare] == ["R-B1"]
    assert renewal.dissolved == ("R7",)
    # Hung in the old board, it stays, and is said.
    hung = renewed(done_of(FIRST, {"R-A1", "R-B1"}), changed)
    assert "board" in {one.rule for one in hung.takeoff.amiss}
    assert hung.takeoff.refused == ()


def test_pool_without_a_plan_is_planned_and_the_others_stay():
    renewal = renew(HOUSE, (), NOTHING_DONE)
    assert renewal.takeoff.plans == FIRST.plans


def test_hung_boards_that_leave_no_rest_are_refused_by_name_and_all_else_is_planned():
    house = small_house((112, 112), sheets=(sheet(8, 1200),), stagger=Nm(60 * INCH))
    first = take_off(house)
    assert first.refused == ()
    top = next(piece for piece in first.surface_plans[0].pieces if piece.row == 0)
    other = next(one for one in first.surface_plans[0].joints if one.row == 1)
    done = told(done_of(first, {top.code}), top.code, (top.end / INCH) - 56)
    assert other
    renewal = renewed(done, house, first.plans)
    assert [one.surface for one in renewal.takeoff.refused] == [first.surface_plans[0].surface]
    stood = {one.surface: one for one in renewal.takeoff.surface_plans}
    for one in first.surface_plans[1:]:
        assert stood[one.surface] == one
    assert "has no plan" in " ".join(one.message for one in renewal.takeoff.amiss)
    # The next edit finds the others as they are.
    again = renewed(done, house, renewal.takeoff.plans)
    assert same(again.takeoff.plans, renewal.takeoff.plans)


def test_begun_sheet_gives_no_place_twice():
    plan = from_an_offcut()
    before = replace(FIRST, plans=(plan,))
    # R-C3 is cut of R2.1, so R2 is begun though R-A2 is not cut of it.
    done = told(done_of(before, {"R-A1", "R-C3"}), "R-A1", 7)
    assert {one.code for one in done.sheets} == {"R1", "R2", "R10"}
    renewal = renewed(replace(done, taken=frozenset({"R2.2"})), plans=[plan])
    (begun,) = [one for one in renewal.takeoff.sheets if one.code == "R2"]
    assert [(one.id, one.length) for one in begun.offcuts] == [
        ("R2.1", Nm(72 * INCH)),
        ("R2.3", Nm(72 * INCH)),
    ]


def test_board_cut_from_another_sheet_frees_its_place_on_a_begun_one():
    done = replace(done_of(FIRST, {"R-A1", "R-C2"}), cut=frozenset({"R-C2"}))
    renewal = renewed(done)
    assert renewal.fallen == ()
    (begun,) = [one for one in renewal.takeoff.sheets if one.code == "R1"]
    assert pieces_on(begun) == ["R-C2"]


def test_boards_laid_the_other_way_free_what_is_cut():
    def stands(room: Room) -> Room:
        choices = tuple(
            replace(one, orientation=Orientation.ALONG) if one.of == "A" else one
            for one in room.surfaces
        )
        return replace(room, surfaces=choices)

    house = with_room(HOUSE, stands)
    done = done_of(FIRST, set(), {"R-A2"})
    # Nobody asks for what is planned to be turned, unless it cannot lie as it is.
    renewal = renewed(done, house)
    assert [(one.surface, one.rule) for one in renewal.fallen] == [("r1/A", "orientation")]
    assert [one.id for one in renewal.spare] == ["R-A2"]


@pytest.mark.parametrize(
    ("mark", "edges", "width"), [("R-B1", 2, 48), ("R-B2", 1, 46), ("R-B91", 2, 48)]
)
def test_spare_piece_has_the_factory_edges_that_it_was_left(mark, edges, width):
    name = "R-B1" if mark == "R-B91" else mark
    done = done_of(FIRST, set(), {name})
    if mark == "R-B91":
        # A piece of an older plan, which no plan has a place for.
        (board,) = done.boards
        done = Done(boards=(replace(board, mark=mark),))
    (spare,) = renewed(done, measured(HOUSE, wider=-32)).spare
    assert (spare.id, spare.factory_edges, spare.width) == (mark, edges, Nm(int(width * INCH)))


def test_lower_row_that_is_cut_too_high_or_too_low_now_is_spare():
    done = done_of(FIRST, set(), {"R-B2"})
    for sixteenths in (-16, -1, 32):
        renewal = renewed(done, measured(HOUSE, higher=sixteenths))
        assert [one.id for one in renewal.spare] == ["R-B2"]
    # A sixteenth more is open in a corner that is taped, with the rows going on from the cut board.
    renewal = renewed(done, measured(HOUSE, higher=1))
    assert renewal.spare == ()
    assert "r1/B" not in {one.surface for one in renewal.fallen}
    # Cut for a row that hangs above it, it may leave less open at the floor, and no more: it leaves
    # as much as may be.
    below = done_of(FIRST, {"R-B1"}, {"R-B2"})
    for sixteenths, spare in ((-32, ["R-B2"]), (-1, []), (1, ["R-B2"]), (32, ["R-B2"])):
        renewal = renewed(below, measured(HOUSE, higher=sixteenths))
        assert [one.id for one in renewal.spare] == spare
    # The upper one hangs from the ceiling as before.
    upper = renewed(done_of(FIRST, set(), {"R-B1"}), measured(HOUSE, higher=32))
    assert upper.spare == ()


@pytest.mark.parametrize("sixteenths", [1, 2, 4])
def test_rows_stand_where_a_board_of_theirs_is_cut_and_does_not_hang_yet(sixteenths):
    higher = measured(HOUSE, higher=sixteenths)
    done = done_of(FIRST, set(), {"R-B2"})
    renewal = renewed(done, higher)
    # The walls alike that nothing is cut for count their rows anew.
    assert surfaces_of(renewal) == {"r1/A", "r1/C", "r1/D"}
    assert [one.where for one in renewal.takeoff.amiss] == ["r1/B"]
    again = renewed(done, higher, renewal.takeoff.plans)
    assert same(again.takeoff.plans, renewal.takeoff.plans)
    # A board that is cut otherwise than planned holds no row of the plan.
    otherwise = renewed(told(done, "R-B2", 7), higher)
    assert {one.surface: one.rule for one in otherwise.fallen}["r1/B"] == "rows"


def test_saw_that_takes_more_than_was_planned_lets_sheets_be_cut_anew():
    sawn = replace(CATALOGUE, boards=(replace(CATALOGUE.boards[0], cutting=Cutting.SAW),))
    house = replace(HOUSE, catalogue=sawn, rules=replace(HOUSE.rules, kerf=Nm(0)))
    first = take_off(house)
    wider = replace(house, rules=replace(house.rules, kerf=Nm(INCH // 8)))
    renewal = renewed(NOTHING_DONE, wider, first.plans)
    assert renewal.fallen == ()
    # A sheet that is one piece is cut by no saw.
    uncut = {one.code for one in first.sheets if len(pieces_on(one)) == 1 and not one.offcuts}
    assert uncut
    assert set(renewal.dissolved) == {one.code for one in first.sheets} - uncut
    for one, other in zip(renewal.takeoff.surface_plans, first.surface_plans, strict=True):
        assert (one.pieces, one.joints) == (other.pieces, other.joints)


def test_rooms_that_are_bought_apart_from_now_on_share_no_sheet():
    house = small_house((100, 80), (40, 40), sheets=SHEETS[2:])
    first = take_off(house)
    room_of = {piece.code: one.room for one in first.surface_plans for piece in one.pieces}

    def shared(takeoff: Takeoff) -> list[str]:
        rooms_on = {
            one.code: {room_of.get(mark, "") for mark in pieces_on(one)} for one in takeoff.sheets
        }
        return [code for code, rooms in rooms_on.items() if len(rooms) > 1]

    assert shared(first)
    apart = with_room(house, lambda room: replace(room, pile="one"))
    apart = with_room(apart, lambda room: replace(room, pile="two"), 1)
    for done in (NOTHING_DONE, half_hung(first, 3, 0.2)):
        renewal = renewed(done, apart, first.plans)
        assert renewal.fallen == ()
        assert len(renewal.takeoff.plans) == 2
        begun = {one.code for one in done.sheets}
        assert set(shared(renewal.takeoff)) <= begun


def test_walls_that_stand_do_not_fall_for_one_that_this_would_not_help():
    # Joints that far apart leave no way to board a wall of 112 in with sheets of 8 ft.
    long = replace(whole(12, 8), id="long")
    house = small_house((112, 112), sheets=SHEETS[:1], owned=(long,), stagger=Nm(90 * INCH))
    first = take_off(house)
    assert first.refused == ()
    renewal = renewed(NOTHING_DONE, owning(house, replace(long, count=3)), first.plans)
    assert surfaces_of(renewal) == {"r1/B", "r1/C", "r1/D"}
    assert len(renewal.takeoff.refused) == 2
    stood = {one.surface: one for one in renewal.takeoff.surface_plans}
    assert stood["r1/A"] == next(one for one in first.surface_plans if one.surface == "r1/A")
    bought = [one for one in renewal.takeoff.sheets if one.source is None]
    assert len(bought) == 1


@pytest.mark.parametrize("keep", [True, False])
def test_offcut_of_a_sheet_still_to_be_cut_serves_what_is_hung_no_earlier(keep):
    rules = {**SHEETS_AND_SEAMS, "keep_offcuts": keep, "sheets": SHEETS[2:]}
    house = small_house((112, 112), (40, 40), **rules)
    first = take_off(house)
    rest = {offcut.id: one.room for one in first.sheets for offcut in one.offcuts}
    assert set(rest.values()) == {"r1", "r2"}
    for number, longer in ((1, {"longer": 16}), (0, {"longer": -16})):
        renewal = renewed(NOTHING_DONE, measured(house, at=number, **longer), first.plans)
        assert renewal.fallen
        used = {one.source for one in renewal.takeoff.sheets if one.source}
        assert bool(used) == (keep and number == 1)
        assert all(rest[source] == "r1" for source in used)
        again = renewed(NOTHING_DONE, renewal.takeoff.house, renewal.takeoff.plans)
        assert again.takeoff.amiss == ()
        assert same(again.takeoff.plans, renewal.takeoff.plans)
