"""Board that is heavier than a surface may carry, told before it is bought."""

from dataclasses import replace
from decimal import Decimal

import pytest

from takeoff.cautions import load_notes
from takeoff.choices import Action
from takeoff.errors import BadValue
from takeoff.geometry.rooms import room_shapes
from takeoff.house import Ceiling, House, QuickRoom, Room, SurfaceChoice
from takeoff.rules import BoardChoice
from takeoff.units import UnitSystem
from tests.takeoff.houses import default_catalogue
from tests.takeoff.needs_room import inches


def told(most: str, units: UnitSystem = UnitSystem.INCH, **choice) -> list[str]:
    board = BoardChoice(kind="sag-resistant", thickness=inches("1/2"))
    ceiling = SurfaceChoice(of="ceiling", most_load=Decimal(most), **{"board": board} | choice)
    room = Room(
        id="den",
        name="Den",
        shape=QuickRoom(length=inches(144), width=inches(120)),
        ceiling=Ceiling(height=inches(96)),
        surfaces=(ceiling,),
    )
    house = House(
        id="h", name="House", units=units, rooms=(room,), catalogue=default_catalogue(units)
    )
    (geometry,), _ = room_shapes(house)
    return list(load_notes(geometry, house))


@pytest.mark.parametrize(
    ("most", "choice", "load"),
    [
        # 1/2 in is four eighths of 0.55 lb: 2.2
        ("2.1", {}, "2.2 lb per sq ft"),
        ("4.3", {"layers": 2}, "4.4 lb per sq ft"),
        # over 5/8 in of old board: 2.2 and five eighths, 2.75
        ("4.9", {"action": Action.BOARD_OVER, "lining": inches("5/8")}, "5.0 lb per sq ft"),
        # old board that stays and gets nothing new
        ("2.7", {"action": Action.LEAVE, "lining": inches("5/8")}, "2.8 lb per sq ft"),
    ],
)
def test_what_is_over_the_limit_is_told_with_what_it_comes_to(most, choice, load):
    (text,) = told(most, **choice)
    assert f"counts {load} (ASCE 7-05 table C3-1), and you said that it may carry {most}" in text


def test_what_is_just_at_the_limit_is_not_told():
    assert not told("2.2")


def test_a_metric_limit_is_in_kilograms():
    # 2.2 lb per sq ft is 10.74 kg per square meter.
    assert not told("10.8", UnitSystem.MILLIMETRE)
    assert "counts 10.7 kg/m2" in told("10.7", UnitSystem.MILLIMETRE)[0]


@pytest.mark.parametrize("most", ["0", "-3", "501", "NaN"])
def test_an_impossible_limit_is_refused_with_what_to_enter(most):
    with pytest.raises(BadValue, match="more than zero and at most 500, for example 5"):
        replace(SurfaceChoice(of="ceiling"), most_load=Decimal(most))
