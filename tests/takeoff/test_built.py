"""A whole takeoff of a house that is half hung: what hangs is in its plans, and everything that is
made of plans is made of these too."""

from __future__ import annotations

import json
from dataclasses import replace
from random import Random

import pytest

from takeoff.boards.hung import place
from takeoff.boards.plan import AsBuilt
from takeoff.cards.card import sheet_cards
from takeoff.cards.hanging import hanging_order
from takeoff.choices import Action
from takeoff.drawing.room_set import room_set
from takeoff.house import House, QuickRoom, SurfaceChoice
from takeoff.job import Takeoff, partition_choices, take_off
from takeoff.report.document import document
from takeoff.report.plan_text import plan_text
from takeoff.units import INCH, Nm
from tests.bench.rooms import seeded_house
from tests.takeoff.boards.half_hung import built_of_takeoff, chosen_at_random, pieces_on
from tests.takeoff.houses import demo_house, demo_takeoff


def half_hung(takeoff: Takeoff, share: float = 0.5) -> AsBuilt:
    pieces = [piece for surface in takeoff.surface_plans for piece in surface.pieces]
    return built_of_takeoff(takeoff, chosen_at_random(pieces, Random(7), share))


def measured_anew(house: House, sixteenths: int) -> House:
    """Every quick room as much longer and higher, and narrower."""
    off = sixteenths * INCH // 16
    rooms = []
    for room in house.rooms:
        if isinstance(room.shape, QuickRoom):
            shape = QuickRoom(length=Nm(room.shape.length + off), width=Nm(room.shape.width - off))
            ceiling = replace(room.ceiling, height=Nm(room.ceiling.height + off))
            room = replace(room, shape=shape, ceiling=ceiling)
        rooms.append(room)
    return replace(house, rooms=tuple(rooms))


def without_cut(house: House, built: AsBuilt) -> House:
    """The house with those of its owned sheets that are not cut yet."""
    used = [sheet.source for sheet in built.sheets]
    owned = tuple(
        replace(sheet, count=sheet.count - used.count(sheet.id))
        for sheet in house.rules.owned
        if sheet.count > used.count(sheet.id)
    )
    return replace(house, rules=replace(house.rules, owned=owned))


@pytest.mark.parametrize("sixteenths", [0, 1, 32])
def test_half_hung_house_is_written_drawn_and_carded_whole(sixteenths):
    house = demo_house("quay-flat")
    built = half_hung(demo_takeoff("quay-flat"))
    takeoff = take_off(measured_anew(house, sixteenths), built=built)
    assert takeoff.refused == ()
    text = json.dumps(document(takeoff)) + plan_text(takeoff)
    assert all(board.mark in text for board in built.boards)
    carded = {piece.code for card in sheet_cards(takeoff) for piece in card.pieces}
    assert {code for one in built.sheets for code in pieces_on(one)} <= carded
    for room in takeoff.rooms:
        assert room_set(takeoff, room.room)
        assert hanging_order(takeoff, room.room)
    assert bool(takeoff.amiss) == bool(sixteenths)


def test_house_that_all_hangs_costs_what_was_paid():
    first = demo_takeoff("quay-flat")
    built = half_hung(first, share=1.1)
    again = take_off(first.house, built=built)
    assert again.amiss == ()
    # Columns may be counted from the other side once all of them hang.
    assert sorted(str(replace(seam, row=None)) for seam in again.seams) == sorted(
        str(replace(seam, row=None)) for seam in first.seams
    )
    assert sum(plan.total for plan in again.plans) == sum(plan.total for plan in first.plans)
    assert again.needs == first.needs


def test_what_hangs_on_a_surface_that_gets_no_board_any_more_is_amiss():
    house = seeded_house(4)
    first = take_off(house)
    surface = first.surface_plans[0]
    surfaces = {one.id: one for room in first.rooms for one in room.surfaces}
    codes = {piece.code for piece in surface.pieces}
    built = AsBuilt(boards=place(surface, surfaces[surface.surface], codes))
    (room,) = house.rooms
    of = surface.surface.partition("/")[2]
    others = tuple(choice for choice in room.surfaces if choice.of != of)
    left = replace(room, surfaces=(*others, SurfaceChoice(of=of, action=Action.LEAVE)))
    again = take_off(replace(house, rooms=(left,)), built=built)
    assert [(breach.where, breach.rule) for breach in again.amiss] == [(surface.surface, "placed")]
    assert all(code in again.amiss[0].message for code in codes)


def test_owned_sheets_that_are_cut_count_once_and_a_what_if_keeps_what_hangs():
    first = demo_takeoff("hollow-lane")
    owned = {sheet.id: sheet.count for sheet in first.house.rules.owned}
    codes = {code for sheet in first.sheets if sheet.source in owned for code in pieces_on(sheet)}
    assert codes
    built = built_of_takeoff(first, codes)
    again = take_off(without_cut(first.house, built), built=built)
    assert again.refused == ()
    used = [sheet.source for sheet in again.sheets]
    assert all(used.count(one) <= count for one, count in owned.items())
    choices = partition_choices(again)
    assert choices
    assert all(choice.takeoff.built == built for choice in choices)
