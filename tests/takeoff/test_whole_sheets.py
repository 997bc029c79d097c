"""Whole sheets that are here: a plan takes them at no price, and needs count them all the same."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import cache

import pytest

from takeoff.boards.check import check_plan
from takeoff.boards.plan import Sheet
from takeoff.cards.card import sheet_cards, source_words
from takeoff.cards.frames import SideUp
from takeoff.cards.sides import Finish
from takeoff.catalogue import OwnedSheet, SheetOnSale, StockItem, sheet_id
from takeoff.errors import BadValue
from takeoff.house import Ceiling, House, QuickRoom, Room
from takeoff.housefile import read_house, write_house
from takeoff.job import SearchOptions, Takeoff, take_off
from takeoff.needs.shares import Tick, takes_of
from takeoff.places import sheets_of
from takeoff.quantities import Amount
from takeoff.report.before_text import before_lines
from takeoff.report.plan_text import plan_text
from takeoff.rules import Rules
from takeoff.solve.effort import Effort
from takeoff.units import FOOT, INCH, Nm
from tests.bench.rooms import CATALOGUE, SHEETS_ON_SALE
from tests.takeoff.boards.half_hung import built_of_takeoff, pieces_on
from tests.takeoff.houses import demo_house

SEARCH = SearchOptions(effort=Effort(parts=20, patterns=200, nodes=200))
HOW = pytest.mark.parametrize("search", [None, SEARCH], ids=["first plan", "search"])
SMALL, LARGER = (125, 99), (150, 111)
EIGHT, TWELVE = 8, 12


def whole(feet: int, count: int, *, board: str = "regular") -> OwnedSheet:
    thickness, width, length = Nm(INCH // 2), Nm(48 * INCH), Nm(feet * FOOT)
    return OwnedSheet(
        id=sheet_id(board, thickness, width, length),
        board=board,
        thickness=thickness,
        width=width,
        length=length,
        count=count,
    )


def on_sale(*feet: int) -> tuple[SheetOnSale, ...]:
    return tuple(sheet for sheet in SHEETS_ON_SALE if sheet.length // FOOT in feet)


def room(key: str, length: int, width: int, pile: str = "") -> Room:
    return Room(
        id=key,
        name=key,
        shape=QuickRoom(length=Nm(length * INCH), width=Nm(width * INCH)),
        ceiling=Ceiling(height=Nm(8 * FOOT)),
        pile=pile,
    )


def house(*rooms: Room, feet: tuple[int, ...] = (8, 9, 10, 12), **rules: object) -> House:
    return House(
        id="house",
        name="House",
        rooms=rooms or (room("den", 150, 111),),
        rules=Rules(sheets=on_sale(*feet), **rules),  # type: ignore[arg-type]
        catalogue=CATALOGUE,
    )


def with_owned(house: House, *owned: OwnedSheet) -> House:
    return replace(house, rules=replace(house.rules, owned=owned))


def eights(size: tuple[int, int]) -> House:
    """A room for which sheets of 8 ft alone are on sale."""
    return house(room("den", *size), feet=(EIGHT,))


@cache
def without(size: tuple[int, int], search: SearchOptions | None) -> Takeoff:
    return take_off(eights(size), search=search)


@cache
def with_three_twelves() -> Takeoff:
    return take_off(with_owned(house(), whole(TWELVE, 3)))


def here(done: Takeoff) -> list[Sheet]:
    return [sheet for sheet in done.sheets if sheet.source is not None and sheet.is_whole]


def sheet_needs(done: Takeoff) -> Counter[str]:
    return Counter(
        {
            need.material: int(need.amount.value)
            for need in done.needs
            if need.material.startswith("sheet-")
        }
    )


# A search that small proves the best plan of the small room alone.
@pytest.mark.parametrize(
    ("size", "search"),
    [(SMALL, None), (SMALL, SEARCH), (LARGER, None)],
    ids=["small", "small, searched", "larger"],
)
def test_needs_stay_and_the_plan_costs_less_by_the_whole_sheets_of_its_own_size(size, search):
    plain = without(size, search)
    count = len(plain.sheets) // 2
    done = take_off(with_owned(eights(size), whole(EIGHT, count)), search=search)
    assert len(here(done)) == count
    assert all(sheet.price == 0 for sheet in here(done))
    assert sheet_needs(done) == sheet_needs(plain)
    saved = count * SHEETS_ON_SALE[0].price
    assert done.plans[0].sheet_cost == plain.plans[0].sheet_cost - saved
    assert done.plans[0].total <= plain.plans[0].total - saved


@HOW
@pytest.mark.parametrize("count", [1, 2, 40])
def test_plan_takes_no_more_than_there_are_and_buys_none_while_some_are_left(count, search):
    done = take_off(with_owned(house(), whole(TWELVE, count)), search=search)
    bought = [sheet for sheet in done.sheets if sheet.source is None]
    assert len(here(done)) == count if bought else 0 < len(here(done)) < count


@HOW
@pytest.mark.parametrize("size", [SMALL, LARGER], ids=["small", "larger"])
def test_longer_sheets_that_are_here_serve_a_room_whose_own_plan_has_shorter_ones(size, search):
    plain = without(size, search)
    assert {sheet.length for sheet in plain.sheets} == {8 * FOOT}
    twelve = whole(TWELVE, 4)
    done = take_off(with_owned(eights(size), twelve), search=search)
    assert sheet_needs(done)[twelve.id] == 4
    assert done.plans[0].total < plain.plans[0].total


def test_first_plan_is_no_dearer_than_its_own_with_what_is_here_in_it():
    plain = take_off(house())
    counts = Counter(sheet.length // FOOT for sheet in plain.sheets)
    owned = [whole(int(feet), count) for feet, count in counts.items()]
    assert len(owned) > 1
    done = take_off(with_owned(plain.house, *owned))
    assert done.plans[0].sheet_cost == 0


def test_size_that_is_no_longer_sold_is_taken_and_nothing_is_bought_for_it():
    long = whole(14, 2)
    done = take_off(with_owned(house(), long))
    assert sheet_needs(done)[long.id] == 2
    (line,) = [line for line in done.supply.lines if line.material == long.id]
    assert (line.on_hand.value, line.packs, line.unmet) == (2, (), "")


def test_sheets_that_are_here_are_taken_off_what_is_bought_once():
    twelve = whole(TWELVE, 3)
    told_twice = replace(
        with_three_twelves().house, stock=(StockItem(material=twelve.id, amount=Amount(3, "each")),)
    )
    for done in (with_three_twelves(), take_off(told_twice)):
        (line,) = [line for line in done.supply.lines if line.material == twelve.id]
        assert line.on_hand.value == 3
        assert sum(pack.count for pack in line.packs) == sheet_needs(done)[twelve.id] - 3


def test_takes_and_places_count_them_as_sheets_bought():
    done = with_three_twelves()
    cut = {
        (take.name, take.item): take.amount
        for take in takes_of(done, "den", ["plan"])
        if take.kind is Tick.CUT
    }
    planned = sheets_of(done.plans, ["plan"], "den")
    assert len(here(done)) == 3
    assert cut == {(sheet.code, sheet.item): 1000 for sheet in planned}
    assert {sheet.source for sheet in planned} == {None}


def test_offcuts_are_still_no_need():
    offcut = replace(whole(TWELVE, 3), id="left-over")
    done = take_off(with_owned(house(), offcut))
    used = [sheet for sheet in done.sheets if sheet.source == "left-over"]
    assert used
    assert sum(sheet_needs(done).values()) == len(done.sheets) - len(used)
    planned = sheets_of(done.plans, ["plan"], "den")
    assert {sheet.source for sheet in planned} == {None, "left-over"}


@pytest.mark.parametrize("piles", [1, 2], ids=["bought together", "bought apart"])
def test_rooms_take_each_once(piles):
    rooms = (room("den", 150, 111, "one"), room("hall", 125, 99, "one" if piles == 1 else "two"))
    done = take_off(with_owned(house(*rooms), whole(TWELVE, 14)))
    assert len(done.plans) == piles
    assert len(here(done)) == 14
    assert {sheet.room for sheet in here(done)} == {"den", "hall"}


def test_each_pool_takes_its_own_board():
    demo = demo_house("hollow-lane")
    plain = take_off(demo)
    bought = {sheet.item: sheet for sheet in plain.sheets if sheet.source is None}
    owned = tuple(
        OwnedSheet(
            id=sheet.item,
            board=sheet.board,
            thickness=sheet.thickness,
            width=sheet.width,
            length=sheet.length,
        )
        for sheet in bought.values()
    )
    boards = {sheet.board for sheet in owned}
    assert len(boards) > 1
    done = take_off(with_owned(demo, *demo.rules.owned, *owned))
    assert done.refused == plain.refused
    assert set(Counter(sheet.source for sheet in here(done)).values()) == {1}
    assert {sheet.board for sheet in here(done)} == boards


@HOW
def test_half_hung_room_takes_them_for_its_rest_alone(search):
    plain = take_off(house())
    codes = {code for sheet in plain.sheets[:4] for code in pieces_on(sheet)}
    built = built_of_takeoff(plain, codes)
    twelve = whole(TWELVE, 2)
    done = take_off(with_owned(plain.house, twelve), built=built, search=search)
    assert (done.amiss, done.refused) == ((), ())
    assert done.sheets[: len(built.sheets)] == built.sheets
    assert len(here(done)) == 2
    # Those that are cut stay needs, and are no part of what is here then.
    cut = {code for sheet in here(done) for code in pieces_on(sheet)} | codes
    again = built_of_takeoff(done, cut)
    rest = take_off(with_owned(plain.house, replace(twelve, count=1)), built=again)
    assert (rest.amiss, rest.refused) == ((), ())
    assert len(here(rest)) == 3
    assert sum(sheet_needs(rest).values()) == sum(sheet.is_whole for sheet in rest.sheets)


def checked(done: Takeoff, *owned: OwnedSheet) -> set[str]:
    rules = replace(done.house.rules, owned=owned)
    breaches = check_plan(done.plans[0], done.framed, rules, done.house.catalogue)
    return {breach.rule for breach in breaches}


def test_checker_catches_one_too_many():
    done, twelve = with_three_twelves(), whole(TWELVE, 3)
    assert len(here(done)) == 3
    assert checked(done, twelve) == set()
    assert checked(done, replace(twelve, count=2)) == {"owned"}
    assert checked(done) == {"offcut"}


def test_checker_catches_a_whole_sheet_that_is_told_smaller():
    done, longer = take_off(with_owned(house(), whole(14, 3))), whole(14, 3)
    assert checked(done, longer) == set()
    plan = done.plans[0]
    sheets = [
        replace(sheet, length=Nm(sheet.length - INCH), offcuts=()) if sheet.source else sheet
        for sheet in plan.sheets
    ]
    # The pieces of one at least end well before its own end.
    assert any(
        max((piece.end for piece in sheet.crosscuts), default=0) <= sheet.length - INCH
        for sheet in here(done)
    )
    wrong = replace(done, plans=(replace(plan, sheets=tuple(sheets)),))
    assert "owned" in checked(wrong, longer)
    # An offcut may be told smaller than it is.
    offcut = replace(longer, id="left-over")
    named = [
        replace(sheet, source="left-over") if sheet.source else sheet
        for sheet in wrong.plans[0].sheets
    ]
    told = replace(done, plans=(replace(plan, sheets=tuple(named)),))
    assert "owned" not in checked(told, offcut)


def test_sheets_that_do_not_get_into_a_room_are_not_taken():
    limited = house(longest_board=Nm(10 * FOOT))
    done = take_off(with_owned(limited, whole(TWELVE, 3), whole(EIGHT, 1)))
    assert {sheet.length for sheet in here(done)} == {8 * FOOT}


def test_house_file_reads_and_writes_them():
    demo = demo_house("hollow-lane")
    owned = (whole(TWELVE, 3), whole(EIGHT, 2, board="moisture-resistant"))
    assert read_house(write_house(with_owned(demo, *owned))).rules.owned == owned


def test_whole_sheet_has_both_factory_edges():
    with pytest.raises(BadValue, match="factory_edges must be 2; give an offcut an id of its own"):
        replace(whole(TWELVE, 1), factory_edges=1)


def test_id_of_another_size_makes_no_whole_sheet():
    assert whole(TWELVE, 1).whole
    assert not replace(whole(TWELVE, 1), length=Nm(8 * FOOT)).whole
    assert not replace(whole(TWELVE, 1), board="moisture-resistant").whole


def test_texts_and_cards_tell_a_whole_sheet_that_is_here():
    done = with_three_twelves()
    text = plan_text(done)
    assert text.count("(a whole sheet that is here)") == 3
    assert "sheet-regular" not in text
    before = " ".join(" ".join(before_lines(done)).split())
    assert "sheets bought and 3 whole sheets on hand." in before
    assert source_words("any", 2, SideUp.FACE, whole=True) == "a whole sheet that is here"
    cards = [card for card in sheet_cards(done) if card.sheet.source]
    assert {card.from_ for card in cards} == {"a whole sheet that is here"}
    # Its ends come from the factory, as those of a sheet that is bought.
    finishes = {side.finish for card in cards for piece in card.pieces for side in piece.sides}
    assert Finish.END in finishes
