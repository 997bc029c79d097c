"""Cans of the colors that a house is painted in, on its price list."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from takeoff.catalogue import Catalogue, MaterialOnSale
from takeoff.choices import SurfaceKind
from takeoff.house import House, Room, SurfaceList
from takeoff.needs.materials import CEILING_PAINT, WALL_PAINT, Material, paint_material
from takeoff.paint import Paint

__all__ = ["missing_paints", "with_paints"]


def with_paints(house: House) -> House:
    """The house with each color it is painted in on its price list, in the cans and at the prices
    of paint of any color. A color that is on it stays as it is there."""
    missing = missing_paints(house)
    if not missing:
        return house
    catalogue = house.catalogue
    return replace(house, catalogue=replace(catalogue, materials=(*catalogue.materials, *missing)))


def missing_paints(house: House) -> tuple[MaterialOnSale, ...]:
    """What `with_paints` adds: none where the house has no paint of any color on sale."""
    there = {material.id for material in house.catalogue.materials}
    missing: dict[str, MaterialOnSale] = {}
    for kind, paint in _colors(house):
        material = paint_material(kind, paint)
        cans = _cans(house.catalogue, kind.id)
        if material.id not in there and cans is not None:
            made = replace(cans, id=material.id, name=material.name)
            missing.setdefault(material.id, made)
    return tuple(missing.values())


def _colors(house: House) -> Iterator[tuple[Material, Paint]]:
    """Each color that is said, with the kind of paint that the surface takes."""
    for room in house.rooms:
        if room.finish.wall_paint:
            yield WALL_PAINT, room.finish.wall_paint
        if room.finish.ceiling_paint:
            yield CEILING_PAINT, room.finish.ceiling_paint
        for choice in room.surfaces:
            if choice.paint:
                ceiling = _is_ceiling(room, choice.of)
                yield (CEILING_PAINT if ceiling else WALL_PAINT), choice.paint


def _is_ceiling(room: Room, of: str) -> bool:
    if isinstance(room.shape, SurfaceList):
        return any(
            surface.id == of and surface.kind is SurfaceKind.CEILING
            for surface in room.shape.surfaces
        )
    return of == "ceiling" or of.startswith("ceiling-")


def _cans(catalogue: Catalogue, item: str) -> MaterialOnSale | None:
    return next((material for material in catalogue.materials if material.id == item), None)
