import re
from dataclasses import replace
from fractions import Fraction

import pytest

from takeoff.cards.card import piece_cards, sheet_cards
from takeoff.cards.card_words import (
    hole_check,
    mark_rows,
    opening_check,
    screw_words,
    where_words,
)
from takeoff.cards.cuts import last_cuts
from takeoff.cards.frames import Lay, SideUp
from takeoff.cards.marks import CardSettings, CutWhen
from takeoff.cards.sides import Finish, Meeting, PieceSide, Side
from takeoff.cards.tape import tape
from takeoff.catalogue import OwnedSheet, SheetOnSale
from takeoff.choices import CutoutKind, OpeningKind, Runs, SurfaceKind
from takeoff.drawing.canvas import Polygon, TextLine
from takeoff.drawing.piece_drawing import piece_drawing
from takeoff.drawing.sheet_drawing import sheet_drawing
from takeoff.drawing.style import PHONE
from takeoff.errors import BadValue
from takeoff.house import (
    Ceiling,
    Cutout,
    House,
    Measure,
    PlainSurface,
    QuickRoom,
    Room,
    SurfaceList,
)
from takeoff.job import take_off
from takeoff.needs.fastening import fastening, lines
from takeoff.rules import Rules
from takeoff.units import FOOT, INCH, Nm, UnitSystem, parse_length
from tests.takeoff.drawing.house import CATALOGUE, box, inches, opening, takeoff

BACK = CardSettings(up=SideUp.BACK)


def with_hole(cards, name):
    return [(piece, hole) for piece in cards.values() for hole in piece.holes if hole.name == name]


def side(card, which):
    return next(side for side in card.sides if side.side is which)


def on_surface(name):
    return [piece for (surface, _), piece in piece_cards(takeoff()).items() if surface == name]


def test_every_piece_of_every_plan_has_one_card():
    made = takeoff()
    planned = sorted((p.surface, p.code) for plan in made.surface_plans for p in plan.pieces)
    cards = sheet_cards(made)
    assert sorted((p.surface, p.code) for card in cards for p in card.pieces) == planned
    assert len(cards) == len(made.sheets)


def test_hole_is_dimensioned_from_the_pieces_own_edges_with_the_allowance():
    # the switch's left edge is 30 1/4 in from the framing corner, its foot 60 in up, 2 x 4 in
    ((card, hole),) = with_hole(
        piece_cards(takeoff(), CardSettings(allowance=inches(0.125))), "Switch"
    )
    lay = card.on.lay
    assert hole.left == inches(30.25) - lay.left - inches(0.125)
    assert hole.near == inches(60) - lay.bottom - inches(0.125)
    assert hole.cut.right - hole.cut.left == inches(2.25)
    assert hole.cut.far - hole.cut.near == inches(4.25)


@pytest.mark.parametrize("settings", [CardSettings(), BACK], ids=["face up", "back up"])
def test_two_measures_and_the_hole_make_the_piece(settings):
    for piece in piece_cards(takeoff(), settings).values():
        for hole in piece.holes:
            assert hole.left + (hole.cut.right - hole.cut.left) + hole.right == piece.on.lay.long
            assert hole.near + (hole.cut.far - hole.cut.near) + hole.far == piece.on.lay.across


def test_readings_of_a_check_add_up_on_the_tape():
    ((card, hole),) = with_hole(piece_cards(takeoff()), "Switch")
    text = hole_check(hole, card, UnitSystem.INCH)
    across = text.split(": ", 1)[1].split("; ")[0]
    to_left, to_right, wide, together = (
        parse_length(
            part.split(" from")[0].split(" along")[0].removeprefix("together "),
            unit=UnitSystem.INCH,
        )
        for part in across.split(", ")
    )
    assert to_left + to_right + wide == together
    assert Fraction(together, INCH // 16).denominator == 1


def test_back_up_mirrors_a_mark_across_the_long_edge_only():
    ((_, face),) = with_hole(piece_cards(takeoff()), "Switch")
    ((_, back),) = with_hole(piece_cards(takeoff(), BACK), "Switch")
    assert (back.left, back.right) == (face.left, face.right)
    assert (back.near, back.far) == (face.far, face.near)


def test_wall_edges_say_what_they_meet():
    top = next(
        piece
        for piece in on_surface("loft/A")
        if "top row" in piece.goes and side(piece, Side.LEFT).meeting is Meeting.SURFACE
    )
    assert side(top, Side.TOP).text == "against the ceiling"
    assert side(top, Side.LEFT).text == "toward Wall D"
    assert side(top, Side.BOTTOM).text.startswith("meets ")
    bottom = next(piece for piece in on_surface("loft/A") if "bottom row" in piece.goes)
    assert side(bottom, Side.BOTTOM).text == "toward the floor"


def test_neighbours_name_each_other():
    cards = piece_cards(takeoff())
    for card in cards.values():
        for edge in card.sides:
            for code in edge.codes:
                other = cards[(card.surface, code)]
                assert any(card.code in back.codes for back in other.sides), (card.code, code)


def test_ceiling_edges_name_walls_and_the_ridge():
    texts = {edge.text for piece in on_surface("loft/ceiling-near") for edge in piece.sides}
    assert {"toward Wall A", "toward Wall B", "toward Wall D"} <= texts
    assert "at the ridge, meets ceiling, far slope" in texts


def test_long_edges_know_taper_from_cut():
    cards = piece_cards(takeoff())
    for plan in takeoff().surface_plans:
        for piece in plan.pieces:
            row = next(row for row in plan.rows if row.index == piece.row)
            card = cards[(piece.surface, piece.code)]
            low, high = (
                (Side.BOTTOM, Side.TOP) if plan.rows_run is Runs.ALONG else (Side.LEFT, Side.RIGHT)
            )
            if len(card.sides) == 4 and not any(edge.sloped for edge in card.sides):
                assert (side(card, low).finish is Finish.TAPERED) is row.factory_low
                assert (side(card, high).finish is Finish.TAPERED) is row.factory_high


def test_factory_edge_of_a_strip_lies_at_the_sheets_own_edge():
    seen = 0
    for card in sheet_cards(takeoff()):
        for strip in card.sheet.strips:
            for placed in strip.pieces:
                piece = next(piece for piece in card.pieces if piece.code == placed.piece)
                ends = [
                    {piece.on.to_sheet(edge.start)[1], piece.on.to_sheet(edge.end)[1]}
                    for edge in piece.sides
                    if edge.finish is Finish.TAPERED
                ]
                assert all(len(ys) == 1 and ys <= {0, card.sheet.width} for ys in ends)
                seen += len(ends)
    assert seen


@pytest.mark.parametrize("settings", [CardSettings(), BACK], ids=["face up", "back up"])
def test_pieces_lie_on_their_sheet_and_never_on_each_other(settings):
    for card in sheet_cards(takeoff(), settings):
        places = []
        for piece in card.pieces:
            lay = piece.on.lay
            x, y = piece.on.start, piece.on.low
            assert x >= 0
            assert x + lay.long <= card.sheet.length
            assert y >= 0
            assert y + lay.across <= card.sheet.width
            places.append((x, y, x + lay.long, y + lay.across))
        for k, a in enumerate(places):
            for b in places[k + 1 :]:
                assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]


def _verb(cut):
    """The first letters of a cut; of a line that is marked and not cut, those of the cut it is in
    place of."""
    if cut.marked:
        return "Trim" if " wide on its cut side" in cut.text else "Cros"
    return cut.text[:4]


def test_crosscuts_come_before_the_rip_and_strips_after():
    rank = {"Cros": 0, "Saw ": 0, "Rip ": 1, "Trim": 3, "Last": 4}
    for card in sheet_cards(takeoff()):
        order = [2 if " strip at " in cut.text else rank[_verb(cut)] for cut in card.cuts]
        square = [kind for kind in order if kind != rank["Last"]]
        assert order == [*square, *[rank["Last"]] * (len(order) - len(square))]
        first = square.index(1) if 1 in square else len(square)
        assert all(kind == 0 for kind in square[:first])
        assert all(kind > 0 for kind in square[first:])
        assert [cut.number for cut in card.cuts] == list(range(1, len(card.cuts) + 1))


def test_cuts_of_a_sheet_used_whole_are_none():
    for card in sheet_cards(takeoff()):
        if len(card.sheet.crosscuts) == 1 and card.sheet.crosscuts[0].end == card.sheet.length:
            assert not [cut for cut in card.cuts if not cut.text.startswith("Last")]


def test_sloped_piece_is_cut_to_its_slope_last():
    slopes = [cut for card in sheet_cards(takeoff()) for cut in card.cuts if "slope" in cut.text]
    assert slopes
    for card in sheet_cards(takeoff()):
        if any("slope" in cut.text for cut in card.cuts):
            assert card.cuts[-1].text.startswith("Last")


def test_screw_lines_carry_the_screws_that_hanging_counts():
    made = takeoff()
    framed = {framed_surface.surface.id: framed_surface for framed_surface in made.framed}
    cards = piece_cards(made)
    for plan in made.surface_plans:
        board = made.house.catalogue.board(plan.board)
        spacing = fastening(framed[plan.surface], plan, board, made.house.rules).spacing
        counted = lines(framed[plan.surface], plan, spacing, made.house.rules)
        for piece in plan.pieces:
            expected = sum(
                line.screws for line in counted if line.piece == piece.code and not line.backer
            )
            assert cards[(plan.surface, piece.code)].screws == expected


def test_screw_lines_lie_over_their_members():
    made = takeoff()
    framed = {framed_surface.surface.id: framed_surface for framed_surface in made.framed}
    for (surface, _), card in piece_cards(made, BACK).items():
        for line in card.screw_lines:
            spot = (line.at, line.low) if line.upright else (line.low, line.at)
            u, v = card.on.lay.from_lying(spot)
            assert any(
                abs((u if member.runs is Runs.ACROSS else v) - member.centre) <= member.width
                for member in framed[surface].members
            )


def test_backer_stands_behind_both_boards_of_a_floating_seam():
    cards = piece_cards(takeoff())
    pairs = [(card, mark) for card in cards.values() for mark in card.backers]
    assert pairs
    for card, mark in pairs:
        (code,) = mark.meets
        assert any(card.code in back.meets for back in cards[(card.surface, code)].backers)
        assert mark.area.right - mark.area.left <= Nm(9 * INCH // 2)


def test_notch_at_the_bottom_edge_is_sawn_at_its_sides_and_folded():
    notches = [
        notch
        for piece in on_surface("loft/A")
        for notch in piece.notches
        if notch.open_sides == ("near",)
    ]
    assert notches
    for notch in notches:
        deep, wide = notch.area.far - notch.area.near, notch.area.right - notch.area.left
        assert (
            f"saw in from the near edge twice, {tape(deep, UnitSystem.INCH)} deep, then score the "
            f"third side ({tape(wide, UnitSystem.INCH)})"
        ) in notch.steps[0]


def test_thin_leg_beside_a_notch_is_pointed_out():
    room = Room(
        id="r",
        name="Room",
        shape=QuickRoom(length=inches(96), width=inches(96)),
        openings=(opening("slot", "A", 4, 0, 36, 80, OpeningKind.PASSAGE),),
    )
    made = take_off(House(id="h", name="H", rooms=(room,), catalogue=CATALOGUE))
    steps = [
        step
        for card in piece_cards(made).values()
        for notch in card.notches
        for step in notch.steps
    ]
    assert any("stays beside it: do not lift the board by it" in step for step in steps)


def test_opening_may_be_left_whole_and_sawn_later():
    settings = CardSettings(sawn_later=frozenset({"window"}))
    notches = [
        notch for card in piece_cards(takeoff(), settings).values() for notch in card.notches
    ]
    window = [notch for notch in notches if notch.id == "window"]
    assert window
    assert all(notch.later and "saw it out along the framing" in notch.steps[0] for notch in window)
    assert not any(notch.later for notch in notches if notch.id != "window")


def test_hole_cut_in_place_is_marked_by_its_centre_with_the_cautions():
    ((card, hole),) = with_hole(
        piece_cards(takeoff(), CardSettings(in_place=frozenset({"switch"}))), "Switch"
    )
    assert hole.when is CutWhen.IN_PLACE
    assert any(
        "Power off and tested" in note and "the bit set shallow" in note for note in card.notes
    )
    facts = piece_drawing(card, UnitSystem.INCH).facts
    x, _ = hole.cut.middle
    readings = [fact for fact in facts if fact.says == "center of Switch"]
    assert tape(x, UnitSystem.INCH) in {fact.label for fact in readings}
    assert not any(fact.label == tape(hole.cut.left, UnitSystem.INCH) for fact in readings)


def test_hole_that_would_nearly_fit_mirrored_is_warned_of():
    # a wall of 96 in boarded by one board from 1/2 + 1/8 in to as much short of the other end: its
    # middle is at 48 in
    def notes(at):
        room = Room(
            id="r",
            name="Room",
            shape=QuickRoom(length=inches(120), width=inches(96)),
            cutouts=(box("b", "B", at, 60, name="Box"),),
        )
        made = take_off(House(id="h", name="H", rooms=(room,), catalogue=CATALOGUE))
        return [
            note
            for card in piece_cards(made).values()
            for hole in card.holes
            for note in hole.notes
        ]

    assert any(
        'Box turned left and right would still nearly fit: only 1" off' in note
        for note in notes(47.5)
    )
    # in the very middle both places are one
    assert not any("left and right" in note for note in notes(47))
    assert not any("left and right" in note for note in notes(30))


def test_hole_near_an_edge_and_on_a_member_is_warned_of():
    room = Room(
        id="r",
        name="Room",
        shape=QuickRoom(length=inches(120), width=inches(96)),
        cutouts=(box("edge", "B", 40, 1, name="Low"), box("stud", "B", 31, 60, name="On a stud")),
    )
    made = take_off(House(id="h", name="H", rooms=(room,), catalogue=CATALOGUE))
    notes = [
        note for card in piece_cards(made).values() for hole in card.holes for note in hole.notes
    ]
    assert any(note.startswith("Low is ") and "from an edge" in note for note in notes)
    assert any(note.startswith("On a stud lies on a stud") for note in notes)
    assert not any(note.startswith("Low lies on a stud") for note in notes)


@pytest.mark.parametrize(
    ("surface", "settings", "arrow", "words"),
    [
        ("loft/A", CardSettings(), "far", "its top edge toward Wall A"),
        ("loft/A", BACK, "near", "its bottom edge toward Wall A"),
        ("odd/ceiling", CardSettings(), "right", "flip it over its long edge (ends stay put)"),
        ("odd/ceiling", BACK, "right", "rises without turning"),
    ],
)
def test_card_says_how_the_piece_lies(surface, settings, arrow, words):
    for (of, _), card in piece_cards(takeoff(), settings).items():
        if of == surface:
            assert card.lying.arrow == arrow
            assert words in card.lying.text


def test_arrow_of_a_wall_points_out_of_the_side_that_is_the_top():
    made = takeoff()
    kinds = {surface.id: surface.kind for room in made.rooms for surface in room.surfaces}
    for settings in (CardSettings(), BACK):
        for (surface, _), card in piece_cards(made, settings).items():
            if kinds[surface] is SurfaceKind.WALL:
                lay = card.on.lay
                x, y = lay.to_lying((Nm(lay.left + lay.width // 2), Nm(lay.bottom + lay.height)))
                where = {"far": y == lay.across, "near": y == 0, "right": x == lay.long}
                assert where[card.lying.arrow]


def test_standing_board_lies_with_its_top_to_the_right():
    plan = next(plan for plan in takeoff().surface_plans if plan.surface == "loft/C")
    assert plan.rows_run is Runs.ACROSS
    for card in on_surface("loft/C"):
        assert card.on.lay.upright
        assert card.lying.arrow == "right"


def test_screw_words_say_count_spacing_and_edge():
    card = on_surface("loft/A")[0]
    assert screw_words(card, UnitSystem.INCH).startswith(
        "24 screws, 1-1/4 in coarse-thread drywall screw (wood): 6 lines of 4, at most"
    )
    assert (card.screws, len(card.screw_lines)) == (24, 6)
    assert '3/8" or more from every edge' in screw_words(card, UnitSystem.INCH)


def test_sheet_drawing_lists_its_cuts_in_order():
    card = max(sheet_cards(takeoff()), key=lambda sheet_card: len(sheet_card.cuts))
    facts = sheet_drawing(card, UnitSystem.INCH).facts
    numbered = [fact.label for fact in facts if fact.kind == "Cut" and fact.label.isdigit()]
    assert sorted(numbered, key=int) == [str(n) for n in range(1, len(card.cuts) + 1)]


@pytest.mark.parametrize("settings", [CardSettings(), BACK], ids=["face up", "back up"])
def test_every_hole_hangs_where_its_box_is(settings):
    made = takeoff()
    boxes = {
        cutout.id: cutout
        for room in made.rooms
        for surface in room.surfaces
        for cutout in surface.cutouts
    }
    seen = set()
    for card in piece_cards(made, settings).values():
        for hole in card.holes:
            if hole.crosses:
                continue
            cutout = boxes[hole.id]
            hung = [
                card.on.from_sheet(card.on.to_sheet(card.on.lay.from_lying(corner)))
                for corner in ((hole.box.left, hole.box.near), (hole.box.right, hole.box.far))
            ]
            us, vs = [u for u, _ in hung], [v for _, v in hung]
            reach = (min(us), max(us), min(vs), max(vs))
            lay = card.on.lay
            # what of a box lies past the board, as in the gap at the floor, is no hole in it
            assert reach == (
                max(cutout.left, lay.left),
                min(cutout.right, lay.left + lay.width),
                max(cutout.bottom, lay.bottom),
                min(cutout.top, lay.bottom + lay.height),
            )
            seen.add(hole.id)
    assert {"switch", "lamp", "vent", "hebrew", "one", "two", "low"} <= seen


def test_hole_beside_an_opening_and_in_one_is_warned_of():
    def notes(at):
        room = Room(
            id="r",
            name="Room",
            shape=QuickRoom(length=inches(120), width=inches(96)),
            openings=(opening("door", "A", 50, 0, 36, 80),),
            cutouts=(box("b", "A", at, 60, name="Box"),),
        )
        made = take_off(House(id="h", name="H", rooms=(room,), catalogue=CATALOGUE))
        return [
            note
            for card in piece_cards(made).values()
            for hole in card.holes
            for note in hole.notes
        ]

    assert any(note.startswith('Box is less than 2" from Door') for note in notes(46.25))
    assert any(note.startswith("Box lies in Door") for note in notes(60))
    assert not any("Door" in note for note in notes(40))


def test_sheet_says_which_pieces_lie_end_for_end_on_it():
    turned_count = 0
    for card in sheet_cards(takeoff()):
        notes = [
            fact.says
            for fact in sheet_drawing(card, UnitSystem.INCH).facts
            if "Turned 180° on this sheet" in fact.says
        ]
        turned = [piece.code for piece in card.pieces if piece.on.turned]
        assert bool(notes) is bool(turned)
        assert all(code in notes[0] for code in turned)
        turned_count += len(turned)
    assert turned_count


def test_offcut_on_hand_says_which_way_its_own_edge_lies():
    owned = OwnedSheet(
        id="spare",
        board="regular",
        thickness=inches(0.5),
        width=inches(30),
        length=inches(150),
        factory_edges=1,
    )
    room = Room(
        id="r",
        name="Room",
        shape=QuickRoom(length=inches(120), width=inches(96)),
        ceiling=Ceiling(height=inches(120)),
    )
    made = take_off(
        House(id="h", name="H", rooms=(room,), catalogue=CATALOGUE, rules=Rules(owned=(owned,)))
    )
    for settings, where in ((CardSettings(), "near you"), (BACK, "away from you")):
        (card,) = [card for card in sheet_cards(made, settings) if card.sheet.source == "spare"]
        assert card.from_ == f"from offcut spare, its own long edge {where}"
        for piece in card.pieces:
            near = {
                piece.on.to_sheet(edge.start)[1]
                for edge in piece.sides
                if edge.finish is Finish.TAPERED
            }
            assert near <= {0 if settings is not BACK else card.sheet.width}


def two_rooms_of_one_pile():
    """Each room has one wall of 5 ft to board, and two such come out of one sheet of 10 ft."""
    walls = tuple(
        Room(
            id=name.lower(),
            name=name,
            shape=SurfaceList(
                surfaces=(
                    PlainSurface(
                        id="a", name="A", kind=SurfaceKind.WALL, width=inches(60), height=inches(48)
                    ),
                )
            ),
            pile="both",
        )
        for name in ("Hall", "Den")
    )
    sheets = tuple(
        SheetOnSale(
            board="regular",
            thickness=inches(0.5),
            width=inches(48),
            length=inches(12 * feet),
            price=price,
        )
        for feet, price in ((8, 1200), (10, 1500))
    )
    rules = Rules(sheets=sheets, floor_gap=Nm(0), fitting=Nm(0))
    return take_off(House(id="h", name="House", rooms=walls, catalogue=CATALOGUE, rules=rules))


def test_card_says_where_a_piece_for_a_later_room_waits_and_for_which():
    (card,) = sheet_cards(two_rooms_of_one_pile())
    own, later = card.pieces
    assert own.waits == ""
    assert card.waits == (f"{later.code} waits in Hall for Den",)
    assert (
        later.waits
        == later.notes[0]
        == f"For Den: cut with this sheet, marked {later.code} Den. It waits in Hall until then"
    )


def test_sheet_drawing_names_the_room_of_a_piece_that_waits():
    (card,) = sheet_cards(two_rooms_of_one_pile())
    drawn = sheet_drawing(card, UnitSystem.INCH)
    assert "waits in Hall for Den" in drawn.svg
    assert any("Den, " in text for text in re.findall(r">([^<]+)<", drawn.svg))


def register_on_ceiling(along, *, origin="B"):
    """A register of 4 x 12 in, its middle 40 in from Wall B and from Wall A of a flat ceiling."""
    vent = Cutout(
        id="v",
        name="Register",
        kind=CutoutKind.VENT,
        surface="ceiling",
        across=Measure(origin=origin, distance=inches(40)),
        up=Measure(origin="A", distance=inches(40)),
        width=inches(4),
        height=inches(12),
        along=along,
    )
    room = Room(
        id="r",
        name="Room",
        shape=QuickRoom(length=inches(120), width=inches(96)),
        cutouts=(vent,),
    )
    made = take_off(House(id="h", name="H", rooms=(room,), catalogue=CATALOGUE))
    (placed,) = [hole for r in made.rooms for s in r.surfaces for hole in s.cutouts]
    return placed.right - placed.left, placed.top - placed.bottom


@pytest.mark.parametrize(
    ("along", "size"), [("A", (12, 4)), ("C", (12, 4)), ("B", (4, 12)), ("D", (4, 12))]
)
def test_longer_side_of_a_register_lies_along_the_wall_it_was_given(along, size):
    # Wall A is at the bottom of a ceiling as one looks up, so what lies along it is level there
    assert register_on_ceiling(along) == tuple(inches(side) for side in size)


def test_register_of_an_older_house_keeps_its_width_along_the_first_wall():
    assert register_on_ceiling(None) == (inches(4), inches(12))


def test_register_along_no_wall_of_its_room_is_refused():
    with pytest.raises(BadValue, match="'X' is no wall of the room"):
        register_on_ceiling("X")


@pytest.mark.parametrize("surface", ["odd/ceiling", "loft/ceiling-near", "loft/C"])
def test_arrow_of_ceilings_and_standing_boards_says_in_words_where_the_end_goes(surface):
    pieces = on_surface(surface)
    assert pieces
    ceiling = surface != "loft/C"
    for card in pieces:
        assert card.lying.arrow_text == ("THIS END TO WALL B" if ceiling else "TOP") or (
            # boards that lie across the first wall point the other way
            ceiling and card.on.lay.upright
        )
        svg = piece_drawing(card, UnitSystem.INCH).svg
        assert f">{card.lying.arrow_text}<" in svg


def test_round_light_is_given_by_its_center_and_its_diameter():
    ((card, hole),) = with_hole(piece_cards(takeoff()), "Lamp")
    along, across, wide = hole_check(hole, card, UnitSystem.INCH).split("; ")
    # 6 in and a sixteenth around it
    assert wide == '6 1/8" in diameter'
    x, y = hole.cut.middle
    assert along.startswith(f"Lamp: center {tape(x, UnitSystem.INCH)} from the left end, ")
    assert across.startswith(f"center {tape(y, UnitSystem.INCH)} from the near edge, ")


def door_in_a_board(at):
    room = Room(
        id="r",
        name="Room",
        shape=QuickRoom(length=inches(120), width=inches(96)),
        openings=(opening("door", "B", at, 0, 36, 80),),
    )
    made = take_off(House(id="h", name="H", rooms=(room,), catalogue=CATALOGUE))
    return [(card, notch) for card in piece_cards(made).values() for notch in card.notches]


def test_door_has_the_measures_from_both_ends_and_both_edges():
    # one board of 95 3/4 in from 1/8 in beyond the board of the wall before it, 1/2 in thick
    marks = door_in_a_board(20)
    card, notch = next(pair for pair in marks if pair[1].open_sides == ("near",))
    left, right = notch.area.left, card.on.lay.long - notch.area.right
    words = opening_check(notch, card, UnitSystem.INCH)
    assert f"Door: {tape(left, UnitSystem.INCH)} from the left end" in words
    assert f"{tape(right, UnitSystem.INCH)} from the right end, 3' 0\" along" in words
    assert "; out over the near edge, " in words


def test_door_that_would_nearly_fit_turned_is_warned_of():
    def notes(at):
        return [note for card, _ in door_in_a_board(at) for note in card.notes if "turned" in note]

    # its middle at 47, the board's at 48
    assert any(
        'Door turned left and right would still nearly fit: only 2" off' in note
        for note in notes(29)
    )
    assert not notes(30)
    assert not notes(12)


def test_code_of_a_narrow_piece_stands_on_no_other_piece():
    # a row of 3 in is left under two of 48 in
    room = Room(
        id="r",
        name="Room",
        shape=QuickRoom(length=inches(120), width=inches(96)),
        ceiling=Ceiling(height=inches(100)),
    )
    made = take_off(House(id="h", name="H", rooms=(room,), catalogue=CATALOGUE))
    for card in sheet_cards(made):
        drawing = sheet_drawing(card, UnitSystem.INCH, page=PHONE)
        shapes = [
            shape.corners
            for shape in drawing.canvas.shapes
            if isinstance(shape, Polygon) and shape.cls == "edge"
        ]
        by_code = dict(zip((piece.code for piece in card.pieces), shapes, strict=True))
        words = [s for s in drawing.canvas.shapes if isinstance(s, TextLine) and s.cls == "code"]
        assert {word.text for word in words} == set(by_code)
        for word in words:
            for code, corners in by_code.items():
                xs, ys = [x for x, _ in corners], [y for _, y in corners]
                inside = min(xs) < word.x < max(xs) and min(ys) < word.y < max(ys)
                assert not inside or code == word.text, (word.text, code)


@pytest.mark.parametrize(
    ("jog", "how"), [(0.25, "rasp it down"), (1.5, "saw it"), (12, "score and fold the longer")]
)
def test_corner_that_is_cut_out_is_scored_only_where_it_snaps(jog, how):
    outline = [(0, 0), (60, 0), (60, 30), (60 - jog, 30), (60 - jog, 48), (0, 48)]
    points = [(inches(x), inches(y)) for x, y in outline]
    sides = [
        PieceSide(
            start=start,
            end=end,
            side=Side.TOP,
            sloped=False,
            meeting=Meeting.SURFACE,
            text="toward Wall C",
        )
        for start, end in zip(points, [*points[1:], points[0]], strict=True)
    ]
    lay = Lay(left=Nm(0), bottom=Nm(0), width=inches(60), height=inches(48), upright=False)
    (cut,) = last_cuts("K-A1", sides, lay, UnitSystem.INCH)
    assert how in cut.text
    assert ("score" in cut.text) is (jog == 12)


def test_slope_is_marked_by_both_its_ends_and_its_length():
    ((card, cut),) = [
        (card, cut)
        for card in piece_cards(takeoff()).values()
        for cut in card.last_cuts
        if card.code == "L-B1"
    ]
    (x0, y0), (x1, y1) = cut.spots
    units = UnitSystem.INCH
    long = tape(round(((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5), units)
    assert f": {long} along the slope; the far part comes off" in cut.text
    for (x, y), end in (((x0, y0), "from "), ((x1, y1), "to ")):
        ends = {0: "left end", card.on.lay.long: "right end"}
        words = (
            f"{end}the {ends[x]}, {tape(y, units)} from the near edge"
            if x in ends and 0 < y < card.on.lay.across
            else ends.get(x, "edge")
        )
        assert words in cut.text


def test_screws_are_told_in_whole_inches_and_their_lines_in_eighths():
    card = on_surface("loft/A")[0]
    assert 'at most 16" apart' in screw_words(card, UnitSystem.INCH)
    readings = [
        fact.label
        for piece in piece_cards(takeoff()).values()
        for fact in piece_drawing(piece, UnitSystem.INCH).facts
        if fact.kind == "Screw line"
    ]
    assert readings
    assert not [reading for reading in readings if "/16" in reading]


def test_drawing_and_words_of_one_mark_have_one_number():
    for card in piece_cards(takeoff()).values():
        rows = mark_rows(card, UnitSystem.INCH)
        facts = piece_drawing(card, UnitSystem.INCH).facts
        for row in rows:
            for end, measure in (("left end", row.left), ("right end", row.right)):
                drawn = {
                    fact.label
                    for fact in facts
                    if fact.kind == f"From the {end}" and row.name in fact.says
                }
                assert not drawn or measure in drawn, (row.name, end, drawn)


def test_piece_says_where_on_its_wall_it_hangs_and_what_it_weighs():
    lower = next(card for card in on_surface("loft/A") if "bottom row" in card.goes)
    left = tape(lower.on.lay.left, UnitSystem.INCH)
    gap = tape(lower.on.lay.bottom, UnitSystem.INCH)
    assert lower.place == (
        f"Left side {left} from the framing corner on its left, lower edge {gap} above the subfloor"
    )
    area = Fraction(lower.on.lay.long, FOOT) * Fraction(lower.on.lay.across, FOOT)
    board = CATALOGUE.board("regular").weight(inches(0.5))
    assert lower.pounds == round(area * Fraction(board))


def test_piece_of_a_ceiling_says_its_place_from_two_walls():
    for card in on_surface("odd/ceiling"):
        lay = card.on.lay
        left, near = (tape(at, UnitSystem.INCH) for at in (lay.left, lay.bottom))
        assert card.place == (
            f"{left} from the framing at Wall D and {near} from the framing at Wall A"
        )


def test_key_plan_shows_the_part_of_the_wall_that_a_piece_covers():
    """A piece of the wall that is walked first lies at the top of the plan, as far from its start
    as the piece is from the left corner; the letters stand at their walls in order."""
    made = takeoff()
    plans = {plan.surface: plan for plan in made.surface_plans}
    for (surface, code), card in piece_cards(made).items():
        if not surface.startswith("loft/"):
            continue
        key = card.key_plan
        assert key is not None
        assert [letter for *_, letter in key.walls] == ["A", "B", "C", "D"]
        if surface == "loft/A":
            piece = next(piece for piece in plans[surface].pieces if piece.code == code)
            us = [u for u, _ in piece.outline]
            (start, _), (end, _) = key.walls[0][0], key.walls[0][1]
            assert start < end
            assert key.here == ((start + min(us), 0), (start + max(us), 0))
        else:
            xs, ys = [x for x, _ in key.here], [y for _, y in key.here]
            assert min(xs) >= 0
            assert min(ys) >= 0
            assert max(xs) <= max(x for x, _ in key.outline)
            assert max(ys) <= max(y for _, y in key.outline)


def test_weight_of_a_piece_is_told_in_the_units_of_its_house():
    card = replace(on_surface("loft/A")[0], pounds=62, place="")
    # 62 lb are 28.1 kg, by the pound of 0.45359237 kg (the international yard and pound of 1959)
    whole = replace(card, holes=(), notches=())
    assert where_words(card, UnitSystem.INCH) == "About 62 lb before cutouts"
    assert where_words(whole, UnitSystem.INCH) == "About 62 lb"
    assert where_words(whole, UnitSystem.MILLIMETRE) == "About 28 kg"
