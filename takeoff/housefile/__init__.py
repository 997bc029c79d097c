"""The house file: JSON that a person can write by hand, read and written without loss.

    {
      "version": 1,
      "name": "Our house",
      "units": "in",
      "rooms": [
        {
          "name": "Kitchen",
          "shape": {"quick": {"length": "14 ft 2 1/2 in", "width": "11 ft"}},
          "ceiling": {"height": "8 ft"},
          "openings": [
            {"kind": "door", "wall": "A", "left": "3 ft", "sill": 0,
             "width": "34 in", "height": "82 1/2 in"}
          ]
        }
      ]
    }

Keys are the fields of the value classes in `takeoff.house`, `takeoff.rules` and
`takeoff.catalogue`, where each is explained; `house.schema.json` beside this module (JSON Schema,
draft 2020-12) lists them all with their defaults. The classes are the one declaration: reading,
writing and the schema are worked out of them.

Lengths are texts (`"12 ft 6 1/2 in"`, `"12' 6 1/2"`, `"3810 mm"`: see `takeoff.units`) or numbers,
which are inches or millimetres as `units` says. Prices and other decimals are numbers or texts,
read exactly. Amounts are a number and a unit, `"4.5 gal"`. Words to choose from are spelt as in
`takeoff.choices`.

A room's shape has one key: `quick` (its walls are A B C D), `walls` (walked clockwise), `surfaces`
(a plain list), or `behind` (the id of the partition that makes it). Rooms that name the same
`pile`, an id of your own, are bought together and share offcuts; where no room names one, the whole
house is bought as one. What is on sale and owned stands under `rules` as `sheets` and `owned`; a
whole sheet among the owned has the id of its size, like `sheet-regular-0.5x48x144in`, and other ids
are those of offcuts. A kind of board's weights are an object, `{"1/2 in": 1.6}`.

What a file leaves out is the default; those of the rules are `Rules.metric()` in a house in `mm`.
Ids and the names of walls, legs, openings, cut-outs and hidden items may be left out too: a wall is
then A, B, C ... in the order walked (its id, whatever it is called), a leg is called by its place
in the partition, another thing by its kind, and an id comes from the name behind its room's id,
with a number where it is taken. The same file gets the same ids at every reading; writing it makes
them permanent. `wall` may be left out of a partition's opening.

What is let into a surface stands with its choice: `patches` are a list of sizes, and `insulation`
is the R-value on the bag (the RSI in a house in `mm`) with the area it fills, `{"r": 13, "area":
"84 sq ft"}`. An opening whose `edge` is `return` may give its `return_depth`.
What is built into a room stands under `built`: `{"id": "soffit", "name": "Soffit", "kind":
"soffit", "wall": "A", "left": "2 ft", "width": "6 ft", "depth": "13 in", "height": "12 in"}`. Other
kinds are `chase`, `skylight well` (with `away`) and `stairs` (with `climbs`). A wall that comes out
stands under `taken_out`: `{"id": "bar", "name": "Bar wall", "wall": "C", "at": "40 in", "length":
"5 ft"}`. An opening says with `found` whether it is `cut` into a wall that stands, or `closed`.

Stock names a material on sale or a sheet on sale, by its id. Sheets are counted (`"3 each"`), and a
stick is one entry with its length.

A file without a `catalogue` uses the one handed to `read_house`: one of metric goods
in a house in `mm`. `write_house` leaves out a catalogue equal to the one handed to it."""

from __future__ import annotations

from dataclasses import replace
from typing import cast

from takeoff.catalogue import Catalogue
from takeoff.errors import HouseFileError, Problem
from takeoff.house import House
from takeoff.housefile._codecs import ObjectCodec
from takeoff.housefile._json import Object, parse, text_of
from takeoff.housefile._reading import Reading
from takeoff.housefile._references import unknown_boards, unknown_names
from takeoff.housefile._scalars import FAILED, Schema
from takeoff.housefile._stock import OnSale
from takeoff.housefile._texts import tidy_text
from takeoff.housefile._writable import with_writable_texts
from takeoff.needs.paints import with_paints
from takeoff.units import UnitSystem

__all__ = [
    "VERSION",
    "OnSale",
    "house_schema",
    "read_catalogue",
    "read_house",
    "tidy_text",
    "with_writable_texts",
    "write_catalogue",
    "write_house",
]

VERSION = 1


def read_house(
    text: str | bytes,
    *,
    catalogue: Catalogue | None = None,
    metric_catalogue: Catalogue | None = None,
) -> House:
    """Return the house a file holds. `catalogue` serves one that brings none, and
    `metric_catalogue`, where given, one in millimeters that brings none. Each color of paint that
    is said is on its price list then.

    Raises `HouseFileError` with everything wrong: first what cannot be read, in the order of the
    file, then names of what is not there. Where a problem hides what lies below it (a list in place
    of a room), that is all that is said of it; after 100 problems reading stops. A file is refused
    whole over 2 MB or 20 levels, or where it is not UTF-8 or not JSON.
    """
    raw = _file(text)
    units = raw.get("units")
    reading = Reading(
        units=UnitSystem.MILLIMETRE if units == UnitSystem.MILLIMETRE else UnitSystem.INCH
    )
    _check_version(raw, reading, required=True)
    house = _value(House, raw, reading)
    if isinstance(house, House):
        metric = house.units is UnitSystem.MILLIMETRE
        served = (metric_catalogue or catalogue) if metric else catalogue
        if "catalogue" not in raw and served is not None:
            house = replace(house, catalogue=served)
        house = with_paints(house)
        for problem in unknown_names(house, reading.place_of, lost=reading.lost):
            reading.problem(problem.place, problem.message)
    return cast(House, _unless_wrong(house, reading))


def write_house(house: House, *, catalogue: Catalogue | None = None) -> str:
    """Return the JSON text of a house, which reads back to the same values.

    Lengths are in the house's own units; what equals its default is left out, and so is a catalogue
    equal to `catalogue`: hand the same one to `read_house`. Raises `BadValue` for what no file
    holds: a control character in a name, a decimal of more than 20 places.
    """
    written = {"version": VERSION, **ObjectCodec.of(House).write(house, house.units)}
    written.pop("catalogue", None)
    if house.catalogue != (catalogue or Catalogue()):
        written["catalogue"] = ObjectCodec.of(Catalogue).write(house.catalogue, house.units)
    return text_of(written)


def read_catalogue(text: str | bytes) -> Catalogue:
    """Return the catalogue a file holds: what `catalogue` is in a house file, alone. Bare numbers
    are inches.

    Raises `HouseFileError` as `read_house` does. `version` may be left out.
    """
    raw = _file(text)
    reading = Reading(units=UnitSystem.INCH)
    _check_version(raw, reading, required=False)
    catalogue = _value(Catalogue, raw, reading)
    if isinstance(catalogue, Catalogue):
        for problem in unknown_boards(catalogue, reading.place_of, lost=reading.lost):
            reading.problem(problem.place, problem.message)
    return cast(Catalogue, _unless_wrong(catalogue, reading))


def write_catalogue(catalogue: Catalogue) -> str:
    """Return the JSON text of a catalogue, which reads back to the same values. Raises `BadValue`
    as `write_house`."""
    return text_of(
        {"version": VERSION, **ObjectCodec.of(Catalogue).write(catalogue, UnitSystem.INCH)}
    )


def house_schema() -> Schema:
    """Return the JSON Schema (draft 2020-12) of a house file; names that must name something are
    beyond a schema."""
    definitions: dict[str, Schema] = {}
    ObjectCodec.of(House).schema(definitions)
    house = definitions.pop("House")
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Halfbay house file, version 1",
        **house,
        "properties": {"version": {"const": VERSION}, **house["properties"]},
        "required": ["version", *house["required"]],
        "$defs": definitions,
    }


def _file(text: str | bytes) -> Object:
    raw = parse(text)
    if not isinstance(raw, Object):
        raise HouseFileError(
            (
                Problem(
                    "", 'The file must be one object in curly brackets, for example {"version": 1}'
                ),
            )
        )
    return raw


def _check_version(raw: Object, reading: Reading, *, required: bool) -> None:
    version = raw.pop("version", None if required else VERSION)
    if version != VERSION or isinstance(version, bool):
        reading.problem(
            "version", f"Give the version of the format, {VERSION}; no other can be read"
        )


def _value(kind: type, raw: Object, reading: Reading) -> object:
    reading.reserve(raw)
    return ObjectCodec.of(kind).read(raw, "", reading)


def _unless_wrong(value: object, reading: Reading) -> object:
    if reading.problems:
        raise HouseFileError(tuple(reading.problems))
    if value is FAILED:
        raise AssertionError("a file was refused without a reason")
    return value
