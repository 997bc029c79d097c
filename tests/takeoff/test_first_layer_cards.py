"""Cards of the first of two layers, read by one who knows only their words."""

from dataclasses import replace

from takeoff.boards.first_layers import FIRST
from takeoff.cards.card import sheet_cards
from takeoff.cards.first_layer import first_layer_takeoff
from takeoff.cards.tape import tape
from takeoff.job import take_off
from takeoff.units import UnitSystem, parse_length
from tests.properties.card_reader import Words, cut_from_sheet
from tests.takeoff.test_first_layers import TWO
from tests.takeoff.test_needs_let_in import den, house


def test_first_layer_is_cut_by_its_own_cards_under_marks_that_no_other_board_has():
    made = take_off(house(den(TWO)))
    under = first_layer_takeoff(made)
    assert under is not None
    cards, seen = sheet_cards(under), sheet_cards(made)
    cut = {}
    for card in cards:
        words = Words(
            size=" x ".join(str_of(side) for side in (card.sheet.length, card.sheet.width)),
            source=card.from_,
            cuts=[step.text for step in card.cuts],
            pieces={
                piece.code: (
                    f"{str_of(piece.on.lay.long)} x {str_of(piece.on.lay.across)}",
                    piece.on.turned,
                )
                for piece in card.pieces
            },
        )
        cut |= cut_from_sheet(words, UnitSystem.INCH)

    # by hand: studs at 3/4 in and every 16 in of 143 in; boards 95 in long, and 32-1/8, 48, 48 and
    # 14-5/8 in wide
    widths = sorted(int(piece.across) for piece in cut.values())
    assert widths == [inches('14 5/8"'), inches('32 1/8"'), inches('48"'), inches('48"')]
    assert all(piece.long == inches('95"') for piece in cut.values())
    marks = {piece.code for card in cards for piece in card.pieces} | {c.sheet.code for c in cards}
    assert all(mark.endswith(FIRST) for mark in marks)
    assert not marks & {piece.code for card in seen for piece in card.pieces}
    assert not marks & {card.sheet.code for card in seen}


def test_screws_on_a_card_of_the_first_layer_are_those_of_one_layer():
    under = first_layer_takeoff(take_off(house(den(TWO))))
    assert under is not None
    pieces = [piece for card in sheet_cards(under) for piece in card.pieces]

    assert {piece.screw.split(" in ")[0] for piece in pieces} == {"1-1/4"}
    assert sum(piece.screws for piece in pieces) == (3 + 4 + 4 + 2) * 7  # as they are counted


def test_house_of_single_layers_has_no_first_layer():
    assert first_layer_takeoff(take_off(house(den(replace(TWO, layers=1))))) is None


def inches(text):
    return int(parse_length(text, unit=UnitSystem.INCH))


def str_of(length):
    return tape(length, UnitSystem.INCH, up=False)
