"""Worked examples that were seen in print: houses made of their measures, through the whole
takeoff, and what our figures by area come to on theirs.

Numbers are those of our reference notes, "Consumption, drying times, labour rates and worked
examples", section 5. Those of studs and plates that the product counts itself are in
`test_stud_counts`.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from takeoff.choices import Action, OpeningKind, SurfaceKind
from takeoff.house import (
    Ceiling,
    Finish,
    Framing,
    House,
    Opening,
    PlainSurface,
    QuickRoom,
    Room,
    SurfaceChoice,
    SurfaceList,
)
from takeoff.job import take_off
from takeoff.quantities import Amount
from takeoff.reference import figures
from takeoff.units import FOOT, INCH, Nm
from tests.takeoff.houses import default_catalogue

# Square feet a gallon, as the painters' pages all take it; ours is lower, so that a can is not
# short.
PAGES = 350


def needs(*rooms: Room, sheets: tuple[str, ...] = ()) -> dict[str, Fraction]:
    """What rooms take of each material, with sheets of these lengths alone where any are named."""
    house = House(id="h", name="An example", catalogue=default_catalogue(), rooms=rooms)
    if sheets:
        kept = tuple(
            sheet
            for sheet in house.catalogue.sheets
            if (sheet.board, sheet.thickness, sheet.width) == ("regular", INCH // 2, 48 * INCH)
            and f"{sheet.length // FOOT} ft" in sheets
        )
        house = replace(house, rules=replace(house.rules, sheets=kept))
    found: dict[str, Fraction] = {}
    for need in take_off(house).needs:
        found[need.material] = found.get(need.material, Fraction(0)) + need.amount.value
    return found


def painted(length: int, width: int, height: int, *, windows: int) -> dict[str, Fraction]:
    """The paint of a room in feet, all of it there already, with a door of 20 sq ft (PT-door) and
    windows of 15 (PT-window), in gallons at what the pages take a gallon to cover."""
    door = Opening(
        id="door",
        name="Door",
        kind=OpeningKind.DOOR,
        wall="A",
        left=Nm(FOOT),
        sill=Nm(0),
        width=Nm(36 * INCH),
        height=Nm(80 * INCH),
    )
    panes = tuple(
        Opening(
            id=f"window-{number}",
            name="Window",
            kind=OpeningKind.WINDOW,
            wall="C",
            left=Nm((1 + 4 * number) * FOOT),
            sill=Nm(24 * INCH),
            width=Nm(36 * INCH),
            height=Nm(60 * INCH),
        )
        for number in range(windows)
    )
    assert figures.number("PT-door") == 20
    assert figures.number("PT-window") == 15
    room = Room(
        id="r",
        name="Room",
        shape=QuickRoom(length=Nm(length * FOOT), width=Nm(width * FOOT)),
        ceiling=Ceiling(height=Nm(height * FOOT)),
        openings=(door, *panes),
        finish=Finish(paint_coats=1),
        surfaces=tuple(
            SurfaceChoice(of=of, action=Action.LEAVE) for of in ("A", "B", "C", "D", "ceiling")
        ),
    )
    ours = figures.number("PT-paint") / PAGES
    return {item: amount * ours for item, amount in needs(room).items()}


def test_painted_room_in_gallons():
    # reference.com: 10 x 15 x 9 ft, one door, one window; "1.2 gal"; ceiling "0.43 gal".
    paint = painted(15, 10, 9, windows=1)
    assert round(paint["paint-wall"], 1) == Fraction(12, 10)
    assert round(paint["paint-ceiling"], 2) == Fraction(43, 100)


def test_painted_walls_round_up_to_whole_gallons():
    # esppainting.com: 700 sq ft less one door and two windows, 2 gallons for a coat, 4 for two.
    walls = painted(20, 15, 10, windows=2)["paint-wall"]
    assert (-(-walls // 1), -(-2 * walls // 1)) == (2, 4)


def test_wall_of_a_book_takes_one_sheet_more_than_its_area():
    """Example 16-3, p. 203 of Estimating in Building Construction: 148 ft of wall 8 ft high in 4 x
    8 ft sheets is 37, by area, and 39 with the 5 % that it buys more (WS-board). Boards lie across
    studs here, and the second row begins with a part of a board, so that its seams are off those of
    the first: one sheet more than by area."""
    wall = Room(
        id="w",
        name="Hall",
        shape=SurfaceList(
            surfaces=(
                PlainSurface(
                    id="a",
                    name="Wall",
                    kind=SurfaceKind.WALL,
                    width=Nm(148 * FOOT),
                    height=Nm(8 * FOOT),
                ),
            )
        ),
        wall_framing=Framing(spacing=Nm(16 * INCH), first=Nm(16 * INCH)),
    )
    taken = needs(wall, sheets=("8 ft",))
    assert taken["sheet-regular-0.5x48x96in"] == 37 + 1


@pytest.mark.parametrize(
    ("figure", "square_feet", "amount"),
    [
        # P. 203: 346 ft x 10 ft x 2 faces, "use 7,000 sq ft".
        ("CN-tape", 7000, 2660),
        ("CN-compound-book", 7000, 35),
        ("CN-screws", 7000, 7000),
        # vbhomerepair.com: .14, .48, .09, .005 and 1.125 a square foot.
        ("CN-compound-lb", 1000, 140),
        ("CN-tape-page", 1000, 480),
        ("CN-powder", 1000, 90),
        ("CN-nails", 1000, 5),
        ("CN-screws-page", 1000, 1125),
    ],
)
def test_figure_by_area_says_what_its_source_does(figure, square_feet, amount):
    area = Amount(Fraction(square_feet), "sq ft")
    assert figures.rate(figure).of(area).value == amount
