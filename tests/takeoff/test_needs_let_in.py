"""What is let into surfaces and turned into openings, counted by hand through a whole house."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from takeoff.choices import (
    Above,
    Action,
    BeadKind,
    CutoutKind,
    FramedWhen,
    OpeningEdge,
    OpeningKind,
    PatchHeld,
    Runs,
    Side,
)
from takeoff.errors import BadValue
from takeoff.house import (
    BehindPartition,
    Ceiling,
    Cutout,
    Framing,
    House,
    Insulation,
    Measure,
    Opening,
    Partition,
    Patch,
    QuickRoom,
    Room,
    SurfaceChoice,
)
from takeoff.job import take_off
from takeoff.needs.need import Phase
from takeoff.quantities import Amount
from takeoff.rules import BoardChoice, Rules
from takeoff.units import INCH, Nm, UnitSystem
from tests.takeoff.houses import default_catalogue
from tests.takeoff.needs_room import assert_reasons_add_up, inches

LEFT = tuple(SurfaceChoice(of=of, action=Action.LEAVE) for of in ("B", "C", "D", "ceiling"))
PARTITIONS = Phase.PARTITIONS
STUDS = Framing(
    spacing=inches(16), runs=Runs.ACROSS, start_backed=True, end_backed=True, first=inches("3/4")
)
JOISTS = Framing(
    spacing=inches(24), runs=Runs.ACROSS, first=inches(12), start_backed=True, end_backed=True
)
WINDOW = Opening(
    id="window",
    name="Window",
    kind=OpeningKind.WINDOW,
    wall="A",
    left=inches(60),
    sill=inches(36),
    width=inches(36),
    height=inches(48),
    edge=OpeningEdge.RETURN,
    return_depth=inches("9/2"),
)


def den(*surfaces: SurfaceChoice, **changes) -> Room:
    """A room 12 by 10 by 8 ft to the framing; what is not said of a surface stays as it is."""
    told = {choice.of for choice in surfaces}
    return Room(
        **{
            "id": "den",
            "name": "Den",
            "shape": QuickRoom(length=inches(144), width=inches(120)),
            "ceiling": Ceiling(height=inches(96)),
            "wall_framing": STUDS,
            "surfaces": (*surfaces, *(choice for choice in LEFT if choice.of not in told)),
        }
        | changes
    )


def house(room: Room, rules: Rules | None = None, *more: Room, **changes) -> House:
    units = changes.get("units", UnitSystem.INCH)
    return House(
        id="house",
        name="House",
        rooms=(room, *more),
        rules=rules or Rules(),
        catalogue=default_catalogue(units),
        **changes,
    )


def needs_of(room: Room, rules: Rules | None = None, **changes):
    needs = take_off(house(room, rules, **changes)).needs
    assert_reasons_add_up(needs)
    return {(need.phase, need.material): need for need in needs}


def of_reasons(need, words: str):
    """The sum of a need's reasons that have these words in them."""
    amounts = [reason.amount.value for reason in need.reasons if words in reason.text]
    assert amounts, [reason.text for reason in need.reasons]
    return sum(amounts)


@pytest.fixture(scope="module")
def returned():
    """Wall A of the den with its window's board turned in 4-1/2 in deep, on four sides."""
    board = SurfaceChoice(of="A", action=Action.BOARD)
    return needs_of(den(board, openings=(WINDOW,)))


def test_return_takes_a_share_of_the_sheet_that_costs_least_by_area(returned):
    # Two jambs of 48 in, head and sill of 36 in, 4-1/2 in wide, out of a sheet 48 by 96 in.
    need = returned[Phase.HANGING, "sheet-regular-0.5x48x96in"]
    assert of_reasons(need, '4 strips 4 1/2" wide') == Fraction(168 * 9, 2 * 48 * 96)


def test_return_is_screwed_along_both_edges_of_its_strips(returned):
    # At most 16 in apart from 1/2 in off the ends: 4 on 48 in and 4 on 36 in, in two lines.
    need = returned[Phase.HANGING, "screw-coarse-1.25"]
    assert of_reasons(need, "two lines of screws") == 2 * (4 + 4 + 4 + 4)


def test_return_is_beaded_at_the_wall_and_trimmed_at_the_frame(returned):
    sides = (inches(48), inches(48), inches(36), inches(36))
    assert returned[Phase.TAPING, "corner-bead"].lengths == sides
    assert returned[Phase.TAPING, "l-trim"].lengths == sides
    # Every 12 in and at both ends: 5, 5, 4 and 4, on two flanges of the bead and one of the trim.
    assert returned[Phase.TAPING, "nails-board"].amount.value == (2 + 1) * (5 + 5 + 4 + 4)


def test_corners_of_a_return_are_taped_and_its_trim_is_filled_on_one_leg(returned):
    need = returned[Phase.TAPING, "compound-drying"]
    # Bead, both legs, and trim, one leg: each 14 ft.
    assert of_reasons(need, "14 ft of trim") * 2 == of_reasons(need, "14 ft of bead")
    # Four corners 4-1/2 in deep are taped beside the seams there were, with a tenth for waste.
    beaded = replace(WINDOW, return_depth=None)
    without = needs_of(den(SurfaceChoice(of="A", action=Action.BOARD), openings=(beaded,)))
    tape = Phase.TAPING, "tape-paper"
    more = returned[tape].amount.value - without[tape].amount.value
    assert more == Fraction(18, 12) * Fraction(11, 10)


def test_return_is_painted_with_its_wall(returned):
    # 144 by 96 in less the window, and 168 in of strips 4-1/2 in wide: two coats at 300 sq ft.
    square_feet = Fraction(144 * 96 - 36 * 48 + 756, 144)
    need = returned[Phase.FINISHING, "paint-wall"]
    own = [reason for reason in need.reasons if reason.surface == "den/A"]
    assert sum(reason.amount.value for reason in own) == square_feet * 2 / 300


def test_passage_is_beaded_at_both_faces_of_its_wall():
    passage = replace(
        WINDOW, kind=OpeningKind.PASSAGE, sill=inches(0), height=inches(80), name="Passage"
    )
    room = den(SurfaceChoice(of="A", action=Action.BOARD), openings=(passage,))
    needs = needs_of(room)
    # Jambs stay 1/2 in off the floor, as board does.
    assert needs[Phase.TAPING, "corner-bead"].lengths == (inches("159/2"),) * 4 + (inches(36),) * 2
    assert (Phase.TAPING, "l-trim") not in needs


def test_paper_faced_bead_takes_no_nails():
    room = den(
        SurfaceChoice(of="A", action=Action.BOARD),
        openings=(replace(WINDOW, edge=OpeningEdge.BEAD, return_depth=None),),
    )
    needs = needs_of(room, Rules(bead=BeadKind.PAPER))
    assert needs[Phase.TAPING, "corner-bead-paper"].lengths[0] == inches(48)
    assert (Phase.TAPING, "nails-board") not in needs


def patched(*patches: Patch, **choice):
    return den(SurfaceChoice(of="A", action=Action.PATCH, patches=patches, **choice))


@pytest.fixture(scope="module")
def holes():
    """Two holes of 14 by 10 in in old board 1/2 in thick."""
    return needs_of(
        patched(Patch(width=inches(14), height=inches(10), count=2), lining=inches("1/2"))
    )


def test_hole_takes_two_strips_that_reach_three_inches_beyond_it(holes):
    # 10 in wide is less than 16, so one strip along each of the longer sides.
    assert holes[Phase.HANGING, "1x3"].lengths == (inches(20),) * 4


def test_hole_is_screwed_into_the_strips_and_the_strips_into_the_old_board(holes):
    # Each: 2 strips x 2 ends x 2, and 2 lines of 14 in at most 4 in apart (13 in between: 5).
    need = holes[Phase.HANGING, "screw-coarse-1.25"]
    assert of_reasons(need, '2 patches 14" by 10"') == 2 * (8 + 10)


def test_hole_takes_its_share_of_a_sheet(holes):
    need = holes[Phase.HANGING, "sheet-regular-0.5x48x96in"]
    assert need.amount.value == Fraction(2 * 14 * 10, 48 * 96)


def test_hole_is_taped_round_its_edge_and_primed_with_the_compound(holes):
    # 2 x (14 + 10) in, twice: 8 ft, and a tenth for waste.
    assert holes[Phase.TAPING, "tape-paper"].amount.value == Fraction(8 * 11, 10)
    # 10 in beyond each edge: 34 by 30 in, twice, at 250 sq ft a gallon.
    assert holes[Phase.FINISHING, "primer"].amount.value == Fraction(2 * 34 * 30, 144 * 250)
    assert of_reasons(holes[Phase.TAPING, "compound-drying"], "8 ft of edge of a patch") > 0


def test_patch_of_board_that_nobody_sells_is_listed_as_missing():
    cement = BoardChoice(kind="cement", thickness=inches("1/2"))
    room = patched(Patch(width=inches(14), height=inches(10)), board=cement)
    made = house(room, Rules(sheets=()))
    (line,) = (
        line for line in take_off(made).supply.lines if line.material.startswith("sheet-cement")
    )
    assert "No material" in line.unmet


def test_patches_are_named_where_compound_is_more_than_the_handbooks():
    holes = Patch(width=inches(14), height=inches(10), count=12)
    board = SurfaceChoice(of="B", action=Action.BOARD)
    room = den(SurfaceChoice(of="A", action=Action.PATCH, patches=(holes,)), board)
    checks = {check.figure: check for check in take_off(house(room)).cross_checks}
    assert checks["CN-compound"].why.startswith("Patches and board turned into openings")


def test_wide_hole_takes_strips_between():
    needs = needs_of(patched(Patch(width=inches(40), height=inches(30)), lining=inches("1/2")))
    # 30 in at most 16 apart: three strips, each 46 in.
    assert needs[Phase.HANGING, "1x3"].lengths == (inches(46),) * 3


def test_part_boarded_flush_to_plaster_is_shimmed_out_to_its_face():
    flush = Patch(
        width=inches(32), height=inches(48), held=PatchHeld.FRAMING, thickness=inches("7/8")
    )
    needs = needs_of(patched(flush))
    # 5/8 in board, 1/4 in behind it in layers of 1/16, along 3 studs of 48 in.
    assert needs[Phase.HANGING, "shim-strip"].amount.value == 4 * 3 * 4
    assert needs[Phase.HANGING, "sheet-regular-0.625x48x96in"].amount.value == Fraction(1, 3)
    # 4 screws a stud at most 16 in apart, through 7/8 in and 5/8 in into the wood: 1-5/8 in.
    assert of_reasons(needs[Phase.HANGING, "screw-coarse-1.625"], "flush on framing") == 12
    assert (Phase.HANGING, "1x3") not in needs


def test_batts_are_counted_as_given_and_a_sheet_with_its_laps():
    given = Insulation(r=Decimal(13), area=Amount(Fraction(84), "sq ft"), retarder=True)
    needs = needs_of(den(SurfaceChoice(of="A", action=Action.LEAVE, insulation=given)))
    assert needs[Phase.INSULATION, "batts-r13"].amount.value == 84
    assert needs[Phase.INSULATION, "vapor-sheet"].amount.value == Fraction(924, 10)


def test_metric_batts_are_asked_for_by_rsi():
    given = Insulation(r=Decimal("2.3"), area=Amount(Fraction(8), "m2"))
    room = den(SurfaceChoice(of="A", action=Action.LEAVE, insulation=given))
    takeoff = take_off(house(room, units=UnitSystem.MILLIMETRE))
    (line,) = (line for line in takeoff.supply.lines if line.material == "batts-r13")
    assert line.name == "Batts, RSI 2.3"
    assert [(pack.name, pack.count) for pack in line.packs] == [("bag of 8.2 sq m", 1)]


def test_nothing_of_insulation_is_counted_that_nobody_asked_for():
    phases = {phase for phase, _ in needs_of(den(SurfaceChoice(of="A", action=Action.BOARD)))}
    assert Phase.INSULATION not in phases


def test_batts_of_a_whole_gabled_ceiling_are_counted_once():
    given = Insulation(r=Decimal(30), area=Amount(Fraction(50), "sq ft"))
    gable = Ceiling(kind="gable", height=inches(96), low_wall="A", high=inches(120))
    room = den(
        SurfaceChoice(of="ceiling", action=Action.LEAVE, insulation=given),
        SurfaceChoice(of="A", action=Action.LEAVE),
        ceiling=gable,
    )
    assert needs_of(room)[Phase.INSULATION, "batts-r30"].amount.value == 50


def test_sealant_goes_along_the_plates_and_round_boxes_where_wanted():
    box = Cutout(
        id="box",
        name="Box",
        kind=CutoutKind.BOX,
        surface="A",
        across=Measure(origin="left", distance=inches(30)),
        up=Measure(origin="floor", distance=inches(16)),
        width=inches("9/4"),
        height=inches("15/4"),
    )
    door = replace(
        WINDOW,
        kind=OpeningKind.DOOR,
        sill=inches(0),
        height=inches(80),
        edge=OpeningEdge.CASED,
        return_depth=None,
    )
    room = den(SurfaceChoice(of="A", action=Action.BOARD), cutouts=(box,), openings=(door,))
    needs = needs_of(room, Rules(sealant=True))
    # 12 ft at the ceiling, 9 ft at the floor beside the door, and 12 in round the box.
    assert needs[Phase.HANGING, "sealant"].amount.value == 12 + 9 + 1
    assert (Phase.HANGING, "sealant") not in needs_of(room)


def partitioned(*, at="96", framed=FramedWhen.BEFORE, **changes):
    """The den with a partition square off wall A, from there to wall C."""
    closet = Room(id="closet", name="Closet", shape=BehindPartition(partition="wall"))
    wall = Partition(
        id="wall",
        name="Closet wall",
        room="den",
        wall="A",
        at=inches(at),
        side=Side.RIGHT,
        framed=framed,
    )
    room = den(SurfaceChoice(of="A", action=Action.LEAVE), **changes)
    return take_off(house(room, None, closet, partitions=(wall,)))


def test_sole_plate_on_a_slab_is_treated_and_anchored():
    on_slab, on_wood = (
        {need.material: need for need in partitioned(slab=slab).needs if need.phase is PARTITIONS}
        for slab in (True, False)
    )
    assert on_slab["2x4-treated"].lengths == (inches(120),)
    # 12 in from each end, and 96 in between them at most 32 in apart.
    assert on_slab["concrete-anchor"].amount.value == 4
    assert "concrete-anchor" not in on_wood
    # 16d nails every 16 in along 120 in of plate, and one more: 9 that the anchors replace.
    assert on_wood["nails-16d"].amount.value - on_slab["nails-16d"].amount.value == 9


def blocks_of(takeoff):
    """The blocks over the partition's plate, with the phase they are bought in."""
    reasons = [
        (need.phase, reason)
        for need in takeoff.needs
        for reason in need.reasons
        if need.material == "2x4" and "over its top plate" in reason.text
    ]
    assert len(reasons) <= 1
    return reasons[0] if reasons else (None, None)


@pytest.mark.parametrize(
    ("framed", "phase"),
    [(FramedWhen.BEFORE, Phase.PARTITIONS), (FramedWhen.AFTER, Phase.FRAMING)],
)
def test_plate_that_runs_between_joists_is_nailed_to_blocks(framed, phase):
    # Joists at 84 and 108 in, the plate from 96 to 99-1/2: a block every 24 in of its 120.
    takeoff = partitioned(framed=framed, ceiling_framing=JOISTS)
    found, reason = blocks_of(takeoff)
    assert found is phase
    assert reason.amount.value * 12 == 6 * (24 - Fraction(3, 2))
    (nails,) = (
        reason.amount.value
        for need in takeoff.needs
        for reason in need.reasons
        if need.material == "nails-16d" and "up into it" in reason.text
    )
    assert nails == 6 * (2 + 2 + 2)


@pytest.mark.parametrize(
    ("at", "framing", "blocks"),
    [
        ("82", JOISTS, False),  # the joist at 84 in lies over the plate
        ("81", JOISTS, False),  # and 1-1/4 in of it, from 83-1/4 to 84-1/2
        ("169/2", JOISTS, True),  # only 1/4 in of it does
        ("96", replace(JOISTS, runs=Runs.ALONG), False),  # joists cross the plate
    ],
)
def test_plate_under_a_joist_takes_no_blocks(at, framing, blocks):
    assert (blocks_of(partitioned(at=at, ceiling_framing=framing))[0] is not None) is blocks


def test_plate_under_joists_that_nobody_saw_is_to_be_looked_at():
    takeoff = partitioned(ceiling_framing=replace(JOISTS, spacing=None))
    assert blocks_of(takeoff) == (None, None)
    assert any("may run between two joists" in text for text in takeoff.warnings)


FIRE = BoardChoice(kind="fire-rated", thickness=Nm(5 * INCH // 8))


def garage(board: BoardChoice = FIRE, above: Above | None = Above.ROOM, **framing) -> Room:
    ceiling = SurfaceChoice(
        of="ceiling",
        action=Action.BOARD,
        board=board,
        above=above,
        insulated=False,
        framing=replace(JOISTS, **framing),
    )
    return den(ceiling, SurfaceChoice(of="A", action=Action.LEAVE), garage=True)


def test_garage_ceiling_under_a_room_is_screwed_every_six_inches():
    takeoff = take_off(house(garage()))
    assert takeoff.refused == ()
    screws = next(need for need in takeoff.needs if need.material == "screw-coarse-1.25")
    reason = screws.reasons[0]
    assert 'at most 6" apart' in reason.text
    assert "GB-09" in reason.figures
    # Six joists 24 in apart and one at each end, under courses of 48, 48 and 24 in that are each
    # one board 12 ft long. From 1/2 in off its edges: 9 screws on 48 in, 5 on 24 in.
    assert reason.amount.value == 8 * (9 + 9 + 5)


@pytest.mark.parametrize(
    ("room", "cure"),
    [
        (garage(BoardChoice(kind="regular", thickness=Nm(5 * INCH // 8))), "fire-rated (Type X)"),
        (garage(spacing=inches(32)), "at most 24"),
    ],
)
def test_garage_ceiling_under_a_room_refuses_what_does_not_serve(room, cure):
    (refusal,) = take_off(house(room)).refused
    assert cure in refusal.message


def test_garage_under_an_attic_takes_any_ceiling_board():
    regular = BoardChoice(kind="regular", thickness=Nm(INCH // 2))
    assert take_off(house(garage(regular, above=Above.ATTIC))).refused == ()


def ceiling_notes(**choice):
    ceiling = SurfaceChoice(of="ceiling", action=Action.BOARD, framing=JOISTS, **choice)
    takeoff = take_off(house(den(ceiling, SurfaceChoice(of="A", action=Action.LEAVE))))
    assert takeoff.refused == ()
    return [note.text for plan in takeoff.surface_plans for note in plan.notes]


@pytest.mark.parametrize(
    ("choice", "told"),
    [
        ({}, True),
        ({"above": Above.ATTIC}, True),
        ({"above": Above.ROOM}, False),
        ({"insulated": False}, False),
        ({"board": BoardChoice(kind="sag-resistant", thickness=Nm(INCH // 2))}, False),
    ],
)
def test_ceiling_counts_as_insulated_until_somebody_says_what_is_above(choice, told):
    notes = ceiling_notes(**choice)
    assert any("counts as insulated" in note for note in notes) is told


@pytest.mark.parametrize(
    ("room", "sentence"),
    [
        (patched(Patch(width=inches(150), height=inches(12))), "larger than the surface"),
        (
            patched(Patch(width=inches(140), height=inches(90), count=2)),
            "more than the whole surface",
        ),
        (
            den(
                SurfaceChoice(
                    of="A",
                    action=Action.LEAVE,
                    insulation=Insulation(r=Decimal(13), area=Amount(Fraction(97), "sq ft")),
                )
            ),
            "more than the surface, which is 96 sq ft",
        ),
    ],
)
def test_what_does_not_fit_its_surface_is_refused_with_what_to_enter(room, sentence):
    with pytest.raises(BadValue, match=sentence) as error:
        take_off(house(room))
    assert "enter" in str(error.value)


@pytest.mark.parametrize(("units", "r"), [("in", "2.3"), ("mm", "13")])
def test_r_value_of_the_other_units_is_refused_with_those_on_sale(units, r):
    given = Insulation(r=Decimal(r), area=Amount(Fraction(10), "sq ft"))
    room = den(SurfaceChoice(of="A", action=Action.LEAVE, insulation=given))
    with pytest.raises(BadValue, match="enter one of"):
        house(room, units=UnitSystem(units))


def test_return_deeper_than_any_wall_is_refused():
    with pytest.raises(BadValue, match="no deeper than a wall is thick"):
        replace(WINDOW, return_depth=inches(25))


def test_return_deeper_than_its_partition_is_refused():
    opening = replace(
        WINDOW, id="way", kind=OpeningKind.PASSAGE, wall="wall", left=inches(40), sill=inches(0),
        height=inches(80), return_depth=inches(6),
    )  # fmt: skip
    closet = Room(id="closet", name="Closet", shape=BehindPartition(partition="wall"))
    wall = Partition(
        id="wall",
        name="Closet wall",
        room="den",
        wall="A",
        at=inches(72),
        side=Side.RIGHT,
        openings=(opening,),
    )
    room = den(SurfaceChoice(of="A", action=Action.LEAVE))
    with pytest.raises(BadValue, match="deeper than the wall; enter at most"):
        take_off(house(room, None, closet, partitions=(wall,)))


def test_patches_go_with_a_surface_that_stays():
    with pytest.raises(BadValue, match="choose action 'patch'"):
        SurfaceChoice(
            of="A", action=Action.BOARD, patches=(Patch(width=inches(8), height=inches(8)),)
        )
