"""Cuts that take off next to nothing, and tongues beside openings: how the card says them."""

from __future__ import annotations

from dataclasses import replace

from takeoff.cards.card import sheet_cards
from takeoff.choices import OpeningKind
from takeoff.house import House, Opening, Room
from takeoff.job import take_off
from takeoff.rules import Rules
from takeoff.units import INCH, Nm
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
