"""Cuts that take off next to nothing, and tongues beside openings: how the card says them."""

from __future__ import annotations

from dataclasses import replace

from takeoff.boards.plan import Offcut, PlacedPiece, Sheet, Strip
from takeoff.cards.card import sheet_cards
from takeoff.cards.cuts import cut_count, square_cuts
from takeoff.cards.frames import SideUp
from takeoff.choices import OpeningKind
from takeoff.house import House, Opening, Room
from takeoff.job import take_off
from takeoff.rules import Rules
from takeoff.units import INCH, Nm, UnitSystem
from tests.takeoff.boards.corners import RULES, room
from tests.takeoff.needs_room import CATALOGUE, inches


def words(of: Room, rules: Rules = RULES) -> list[str]:
    house = House(id="h", name="House", rooms=(of,), rules=rules, catalogue=CATALOGUE)
    cards = sheet_cards(take_off(house))
    said = [cut.text for card in cards for cut in card.cuts]
    said += [note for card in cards for piece in card.pieces for note in piece.notes]
    return said


def test_rip_that_takes_less_than_two_inches_off_is_scored_on_both_faces():
    # With sheets of one width nothing else is left.
    rules = replace(RULES, widths=(inches(48),))
    said = words(room(inches(144), inches(143), inches(97)), rules)
    assert any("comes off: score both faces, or saw it" in text for text in said)


def test_end_that_is_a_hair_too_long_is_rasped():
    # Wall B is hung last, between the faces of A and C: no gap takes a hair there.
    said = words(room(inches(145), Nm(int(144.875 * INCH)), inches(97)))
    assert any("comes off, so rasp it down" in text for text in said)


def test_tongue_beside_a_window_is_named():
    window = Opening(
        id="w",
        name="Window",
        kind=OpeningKind.WINDOW,
        wall="A",
        left=inches(40),
        sill=Nm(int(50.25 * INCH)),
        width=inches(40),
        height=inches(30),
    )
    said = words(room(inches(144), inches(120), Nm(int(97.125 * INCH)), openings=(window,)))
    assert any(text.startswith("A tongue of") for text in said)


def sheet_ripped_at(at, low, high, *pieces: PlacedPiece) -> Sheet:
    """A new sheet of 8 ft whose part before the rip stays whole."""
    return Sheet(
        code="K1",
        room="k",
        board="regular",
        thickness=inches(0.5),
        width=inches(48),
        length=inches(96),
        factory_edges=2,
        price=1298,
        source=None,
        crosscuts=(),
        rip_at=inches(at),
        strips=(Strip(low=inches(low), high=inches(high), factory_edges=1, pieces=pieces),),
        offcuts=(Offcut(id="K1.1", length=inches(at), width=inches(48), factory_edges=2),)
        if at
        else (),
    )


def cuts_of(sheet: Sheet, up: SideUp = SideUp.FACE) -> list[str]:
    board = CATALOGUE.board("regular")
    cuts = [cut.text for cut in square_cuts(sheet, board, UnitSystem.INCH, up)]
    assert cut_count(sheet, [], UnitSystem.INCH) == len(cuts)
    return cuts


def test_part_of_a_sheet_that_stays_whole_comes_off_before_the_rip():
    piece = PlacedPiece(piece="K-A1", start=inches(12.125), end=inches(96), width=inches(30))
    off, rip = cuts_of(sheet_ripped_at(12.125, 0, 30, piece))
    assert off == (
        "Crosscut at 1' 0 1/8\" from the left end: the part at the left (offcut K1.1) stays whole; "
        "the rest, 6' 11 7/8\" long, is ripped next"
    )
    assert rip == (
        "Rip what is left lengthwise at 2' 6\" from the near edge: the near strip is 2' 6\" wide "
        "and is K-A1"
    )


def test_strip_comes_out_no_wider_than_its_piece_whichever_side_is_up():
    """Its rip is rounded to the tape into the strip: a hair over 29 15/16 in from one edge is a
    hair under 18 1/16 in from the other."""
    wide = inches(30) - Nm(INCH // 32)
    piece = PlacedPiece(piece="K-A1", start=inches(0), end=inches(96), width=wide)
    sheet = replace(
        sheet_ripped_at(0, 0, 30, piece),
        strips=(Strip(low=Nm(0), high=wide, factory_edges=1, pieces=(piece,)),),
    )
    (face_up,) = cuts_of(sheet)
    assert face_up.startswith("""Rip the sheet lengthwise at 2' 5 15/16" from the near edge""")
    (back_up,) = cuts_of(sheet, SideUp.BACK)
    assert back_up.startswith("""Rip the sheet lengthwise at 1' 6 1/16" from the near edge""")


def test_piece_as_wide_as_its_strip_by_the_tape_is_not_trimmed():
    pieces = (
        PlacedPiece(piece="K-A1", start=inches(0), end=inches(40), width=inches(30)),
        PlacedPiece(
            piece="K-A2", start=inches(40), end=inches(96), width=Nm(inches(30) - INCH // 100)
        ),
    )
    assert not any("Trim" in cut for cut in cuts_of(sheet_ripped_at(0, 0, 30.01, *pieces)))
    ragged = (pieces[0], replace(pieces[1], width=inches(29.75)))
    cuts = cuts_of(sheet_ripped_at(0, 0, 30, *ragged))
    assert cuts[-1] == (
        """Trim K-A2 to 2' 5 3/4" on its cut side, the far one here; only 1/4" comes off, so """
        "rasp it down"
    )
    assert "what is left is K-A2" in cuts[1]
