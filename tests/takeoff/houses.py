"""The demo houses and the default catalogue, read once for the tests that look at the whole job."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from takeoff.catalogue import Catalogue
from takeoff.house import House
from takeoff.housefile import read_catalogue, read_house
from takeoff.job import Takeoff, take_off
from takeoff.units import UnitSystem

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
DEMO_HOUSES = ("hollow-lane", "quay-flat")


@cache
def default_catalogue(units: UnitSystem = UnitSystem.INCH) -> Catalogue:
    metric = "-metric" if units is UnitSystem.MILLIMETRE else ""
    return read_catalogue((FIXTURES / f"catalogue{metric}.json").read_bytes())


@cache
def demo_house(name: str) -> House:
    return read_house(
        (FIXTURES / f"{name}.json").read_bytes(),
        catalogue=default_catalogue(),
        metric_catalogue=default_catalogue(UnitSystem.MILLIMETRE),
    )


@cache
def demo_takeoff(name: str) -> Takeoff:
    return take_off(demo_house(name))
