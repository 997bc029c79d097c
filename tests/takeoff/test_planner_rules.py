"""Every rule of the planner, broken once in a plan that is otherwise good: the checker names it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from takeoff.boards.allowed import floating_forbidden, refused
from takeoff.boards.check import check_plan
from takeoff.boards.hung import place
from takeoff.boards.plan import AsBuilt, BoardPlan, Bound, BoundBasis, Joint, JointKind
from takeoff.boards.planner_rules import FLOATING_RULES, PLANNER_RULES
from takeoff.catalogue import BoardEdges, BoardKind, Cutting
from takeoff.choices import JointMode, Orientation, Runs
from takeoff.framing.members import FramedSurface
from takeoff.house import Framing
from takeoff.quantities import Cents
from takeoff.rules import BoardChoice
from takeoff.units import INCH, Nm
from tests.takeoff import hand_plan
from tests.takeoff.hand_plan import (
    CATALOGUE,
    FRAMED,
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
from tests.takeoff.strips import HAIR, strip_ceiling, tongue_ceiling
from tests.takeoff.test_check import (
    FLOATING_JOINTS,
    FLOATS,
    FROM_A,
    FROM_B,
    OWNED,
    box_at,
    ceiling,
    ceiling_plan,
    floating,
    rectangle,
    row,
    rules_broken,
    with_piece,
    with_row,
    with_sheet,
    with_sheets,
    with_surface,
)

FLOATING_PLAN = plan(FLOATING_JOINTS, kind=FLOATS)
FROM_HALL = {"source": "hall", "price": Cents(0)}


def kinds(**changes: object):
    """The catalogue with a regular board that is something else besides."""
    kind = replace(CATALOGUE.boards[0], **changes)  # type: ignore[arg-type]
    return replace(CATALOGUE, boards=(kind, *CATALOGUE.boards[1:]))


def floats(catalogue=CATALOGUE, **changes: object) -> set[str]:
    """What the checker says of the wall with floating seams."""
    return rules_broken(FLOATING_PLAN, floating(**changes), catalogue=catalogue)


def along(made: BoardPlan, surface: FramedSurface) -> set[str]:
    return rules_broken(with_surface(made, along_framing=True), surface)


def ceiling_along(**changes: object) -> set[str]:
    """Boards along the members of a ceiling whose long edge lies 40 in from its side."""
    courses = (row(0, 0, 40, 96, factory="low"), row(1, 40, 80, 96, factory="low"))
    surface = ceiling(96, 80, 16, runs=Runs.ALONG, orientation=Orientation.ALONG, **changes)
    return along(ceiling_plan(courses), surface)


def two_rooms(keep: bool) -> set[str]:
    """The wall's lowest right piece hangs in another room, and comes from an offcut of this one."""
    made, first = plan(), plan().surfaces[0]
    here = [piece for piece in first.pieces if piece.code != "G"]
    there = replace(first.pieces[-1], surface="hall/a", row=0)
    hall = replace(
        first,
        surface="hall/a",
        room="hall",
        rows=(replace(ROWS[2], index=0, segments=((inches(136), inches(168)),)),),
        joints=(),
        pieces=(there,),
    )
    sheets = (*SHEETS[:4], replace(SHEETS[4], room="hall"))
    both = replace(made, surfaces=(replace(first, pieces=tuple(here)), hall), sheets=sheets)
    walls = [FRAMED, framed(id="hall/a", room="hall")]
    rules = replace(RULES, keep_offcuts=keep)
    return {breach.rule for breach in check_plan(both, walls, rules, CATALOGUE)}


def nearer_door() -> set[str]:
    door = replace(hand_plan.DOOR, left=inches(103.9375))
    segments = ((Nm(0), door.left), (inches(136), inches(168)))
    courses = (ROWS[0], replace(ROWS[1], segments=segments), replace(ROWS[2], segments=segments))
    return rules_broken(plan({0: (96,), 1: (64,), 2: ()}, rows=courses), framed(openings=(door,)))


def high_floor_gap() -> set[str]:
    courses, joints = ROWS[:2], {0: (96,), 1: (64,)}
    area = tuple((u, Nm(max(v, inches(15.75)))) for u, v in hand_plan.WALL.board_area)
    rules = replace(RULES, floor_gap=inches(0.5), largest_floor_gap=inches(16.25))
    return rules_broken(plan(joints, rows=courses, rules=rules), framed(board_area=area), rules)


def board_over_a_door() -> set[str]:
    """The door leaves a sixteenth less than a core of the row above it, which has board there."""
    return rules_broken(
        plan({0: (80,), 1: (64,), 2: ()}),
        framed(openings=(replace(hand_plan.DOOR, top=inches(110.5625)),)),
    )


def low_floor_gap() -> set[str]:
    """The wall's lowest row ends a sixteenth nearer to the floor than the least gap."""
    area = tuple((u, Nm(max(v, inches(0.5625)))) for u, v in hand_plan.WALL.board_area)
    return rules_broken(plan(), framed(outer_area=area, inner_area=area))


def floating_along() -> set[str]:
    made = plan({0: (88,), 1: ()}, kind=FLOATS, rows=FROM_A)
    cut = tuple(replace(piece, surface="den/ceiling") for piece in made.surfaces[0].pieces)
    surface = replace(made.surfaces[0], surface="den/ceiling", pieces=cut, along_framing=True)
    members = {"runs": Runs.ALONG, "orientation": Orientation.ALONG}
    return rules_broken(replace(made, surfaces=(surface,)), ceiling(96, 80, 16, **members))


def hung_elsewhere() -> set[str]:
    """The wall's first board hangs an inch lower than its plan has it."""
    made = plan()
    (board,) = place(made.surfaces[0], hand_plan.WALL, {"A"})
    moved = replace(board, low=Nm(board.low - INCH), high=Nm(board.high - INCH))
    built = AsBuilt(boards=(moved,))
    return {breach.rule for breach in check_plan(made, [FRAMED], RULES, CATALOGUE, built=built)}


BREACHES: dict[str, Callable[[], set[str]]] = {
    "surfaces": lambda: rules_broken(plan(), framed(id="den/b")),
    "board": lambda: rules_broken(
        plan(), framed(board=BoardChoice(kind="regular", thickness=Nm(5 * INCH // 8)))
    ),
    "orientation": lambda: rules_broken(plan(), framed(orientation=Orientation.ALONG)),
    "long_edges": ceiling_along,
    "braces_along": lambda: ceiling_along(braces=True),
    "framing_table": lambda: rules_broken(plan(), framed(framing=Framing(spacing=inches(25)))),
    "tile_backer_framing": lambda: rules_broken(
        plan(), framed(framing=Framing(spacing=inches(17))), catalogue=kinds(tile_backer=True)
    ),
    "placed": hung_elsewhere,
    "rows": lambda: rules_broken(plan(rows=with_row(2, high=inches(16)))),
    "ceiling_rows": lambda: rules_broken(
        ceiling_plan(FROM_B),
        ceiling(96, 80, 16),
        replace(RULES, ceiling_rows=type(RULES.ceiling_rows).SIDE_A),
    ),
    "row_height": lambda: rules_broken(
        plan(rows=tuple(replace(course, sheet_width=inches(47)) for course in ROWS))
    ),
    "widths": lambda: rules_broken(plan(), rules=replace(RULES, widths=(inches(54),))),
    "narrow": lambda: rules_broken(strip_ceiling(1.9375)[1], strip_ceiling(1.9375)[0]),
    "hair_rip": lambda: rules_broken(ceiling_plan(HAIR), ceiling(96, 94.0625, 16)),
    "least_floor_gap": low_floor_gap,
    "largest_floor_gap": high_floor_gap,
    "segments": lambda: rules_broken(
        plan({0: (80,), 1: (64,), 2: ()}, rows=with_row(1, segments=((Nm(0), inches(168)),)))
    ),
    "filler": board_over_a_door,
    "cover": lambda: rules_broken(with_surface(plan(), pieces=plan().surfaces[0].pieces[:-1])),
    "overlap": lambda: rules_broken(
        with_surface(
            plan(),
            pieces=(
                *plan().surfaces[0].pieces,
                replace(plan().surfaces[0].pieces[-1], code="H"),
            ),
        )
    ),
    "outline": lambda: rules_broken(with_piece(plan(), "F", outline=rectangle(0, 104, 0.5, 16))),
    "core": lambda: rules_broken(tongue_ceiling(1.9375)[1], tongue_ceiling(1.9375)[0]),
    "shortest_piece": lambda: rules_broken(plan(), rules=replace(RULES, shortest_piece=inches(41))),
    "longest_board": lambda: rules_broken(plan(), framed(longest_board=inches(103))),
    "joints": lambda: rules_broken(with_surface(plan(), joints=plan().surfaces[0].joints[:1])),
    "seam_length": lambda: rules_broken(plan(lengths={96: 47})),
    "joint_mode": lambda: rules_broken(FLOATING_PLAN),
    "on_framing": lambda: rules_broken(plan({0: (96,), 1: (56,), 2: ()})),
    "opening_clearance": nearer_door,
    "stagger": lambda: rules_broken(plan({0: (64,), 1: (64,), 2: ()})),
    "floating_clear_bay": lambda: rules_broken(
        plan({0: (85.625,), 1: (56,), 2: ()}, kind=FLOATS),
        floating(members=(*STUDS, stud(91.25))),
    ),
    "mid_bay_tolerance": lambda: rules_broken(
        plan({0: (91,), 1: (56,), 2: ()}, kind=FLOATS), floating()
    ),
    "backer_place": lambda: floats(cutouts=(box_at(55, 30),)),
    "along_framing": floating_along,
    "rated": lambda: floats(rated="U305"),
    "fire_rated": lambda: floats(kinds(fire_rated=True)),
    "wet": lambda: floats(wet=True),
    "braces": lambda: floats(braces=True),
    "tile_backer": lambda: floats(kinds(tile_backer=True)),
    "square_edges": lambda: floats(kinds(edges=BoardEdges.SQUARE)),
    "on_sale": lambda: rules_broken(with_sheet(0, length=inches(97))),
    "price": lambda: rules_broken(with_sheet(0, price=Cents(1))),
    "sheet_width": lambda: rules_broken(with_sheet(0, width=inches(54))),
    "heaviest_lift": lambda: rules_broken(
        plan(),
        framed(heaviest_lift=Decimal(76)),
        catalogue=kinds(weights=((hand_plan.HALF, Decimal("1.6")),)),
    ),
    "owned": lambda: rules_broken(
        with_sheets(replace(SHEETS[0], **FROM_HALL), *SHEETS[1:]),  # type: ignore[arg-type]
        owned=[replace(OWNED, length=inches(95))],
    ),
    "offcut": lambda: rules_broken(with_sheet(4, length=inches(121))),
    "keep_offcuts": lambda: two_rooms(keep=False),
    "rooms": lambda: rules_broken(with_sheet(0, room="hall")),
    "piece_cut": lambda: rules_broken(with_sheets(*SHEETS[:-1])),
    "piece_size": lambda: rules_broken(with_sheet(0, crosscuts=(placed("A", 0, 95.9375),))),
    "sheet_layout": lambda: rules_broken(
        with_sheet(1, crosscuts=(placed("B", 0, 72), placed("C", 71, 135)))
    ),
    "kerf": lambda: rules_broken(plan(), catalogue=kinds(cutting=Cutting.SAW)),
    "rip": lambda: rules_broken(
        with_sheets(
            *SHEETS[:3],
            replace(SHEETS[3], rip_at=None, strips=(), crosscuts=(placed("F", 0, 104, 16),)),
            sheet("S5", 8, rip_at=Nm(0), strips=(strip(0, 16, placed("G", 0, 32, 16)),)),
        )
    ),
    "factory_edges": lambda: rules_broken(with_sheet(4, factory_edges=0)),
    "sheet_cost": lambda: rules_broken(replace(plan(), sheet_cost=Cents(1))),
    "seam_cost": lambda: rules_broken(replace(plan(), seam_cost=Fraction(1))),
    "backer_cost": lambda: rules_broken(replace(plan(), backer_cost=Fraction(1))),
    "work_cost": lambda: rules_broken(replace(plan(), work_cost=Cents(1))),
    "bound": lambda: rules_broken(
        replace(plan(), bound=Bound(value=plan().total + 1, basis=BoundBasis.SOLVER))
    ),
}


@pytest.mark.parametrize("rule", PLANNER_RULES)
def test_checker_names_each_rule_of_the_planner_where_a_plan_breaks_it(rule):
    assert rule in BREACHES[rule]()


def test_no_breach_is_tried_of_a_rule_the_planner_has_not():
    assert set(BREACHES) == set(PLANNER_RULES)


def test_the_plans_that_are_broken_here_are_good_ones():
    assert rules_broken(plan()) == set()
    assert floats() == set()
    assert rules_broken(ceiling_plan(FROM_A), ceiling(96, 80, 16)) == set()


@pytest.mark.parametrize(("braces", "across"), [(True, False), (False, False), (True, True)])
def test_ceiling_that_braces_is_refused_along_its_joists_alone(braces, across):
    surface = ceiling(96, 80, 16, braces=braces).surface
    reason = refused(surface, BoardKind(id="regular", name="Regular"), RULES, across=across)
    assert (reason is not None and reason.rule == "braces_along") == (braces and not across)


@pytest.mark.parametrize(
    ("rule", "changes", "kind"),
    [
        ("rated", {"rated": "U305"}, {}),
        ("fire_rated", {}, {"fire_rated": True}),
        ("wet", {"tiled": True}, {}),
        ("braces", {"braces": True}, {}),
        ("tile_backer", {}, {"tile_backer": True}),
        ("square_edges", {}, {"edges": BoardEdges.SQUARE}),
        (None, {}, {}),
    ],
)
def test_planner_and_checker_forbid_a_floating_seam_for_the_same_reason(rule, changes, kind):
    surface = floating(**changes)
    board = BoardKind(id="regular", name="Regular", **kind)
    assert floating_forbidden(surface.surface, board) == rule
    assert floats(kinds(**kind), **changes) == ({rule} if rule else set())
    assert rule is None or rule in FLOATING_RULES


def test_rated_fire_board_is_told_of_its_assembly_first():
    surface = floating(rated="U305")
    assert floats(kinds(fire_rated=True), rated="U305") == {"rated"}
    fire = BoardKind(id="regular", name="Regular", fire_rated=True)
    assert floating_forbidden(surface.surface, fire) == "rated"


def test_seam_on_framing_of_fire_rated_board_or_tile_backer_is_no_breach():
    for kind in ({"fire_rated": True}, {"tile_backer": True}):
        assert rules_broken(plan(), floating(), catalogue=kinds(**kind)) == set()


def test_an_offcut_serves_another_room_where_offcuts_are_kept():
    assert "keep_offcuts" not in two_rooms(keep=True)


def test_rows_are_counted_from_one_where_people_are_told_of_them():
    extra = Joint(row=0, at=inches(32), kind=JointKind.FRAMING, length=inches(48))
    made = with_surface(plan(), joints=(*plan().surfaces[0].joints, extra))
    off = replace(made.surfaces[0].pieces[0], row=6)
    made = with_surface(made, pieces=(off, *made.surfaces[0].pieces[1:]))
    messages = [breach.message for breach in check_plan(made, [FRAMED], RULES, CATALOGUE)]
    assert "There is a joint at 2' 8\" in row 1 where no two pieces meet" in messages
    assert "Piece A is in row 7, which Wall A has not" in messages
    assert any(message.startswith("row 1 (5' 4 1/2\" to") for message in messages)
    assert not any("row 0" in message for message in messages)


def test_standing_courses_are_columns_counted_from_one():
    made = with_surface(plan(rows=with_row(0, sheet_width=inches(47))), rows_run=Runs.ACROSS)
    messages = [
        breach.message
        for breach in check_plan(made, [FRAMED], RULES, CATALOGUE)
        if breach.rule == "row_height"
    ]
    assert len(messages) == 1
    assert messages[0].startswith("column 1 (")


def test_each_rule_is_said_in_a_sentence():
    for sentence in PLANNER_RULES.values():
        assert sentence[0].isupper()
        assert sentence.endswith(".")


def test_tile_backer_may_lie_on_framing_as_close_as_its_limit():
    near = framed(framing=Framing(spacing=inches(16)))
    assert rules_broken(plan(), near, catalogue=kinds(tile_backer=True)) == set()
    far = framed(framing=Framing(spacing=inches(17)), rated="U305")
    assert "tile_backer_framing" not in rules_broken(plan(), far, catalogue=kinds(tile_backer=True))


def test_joint_mode_of_a_house_may_be_either():
    assert floats(joint_mode=JointMode.EITHER) == set()
