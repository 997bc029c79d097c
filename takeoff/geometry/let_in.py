"""What is let into surfaces, checked against their size: patches, batts, and board that is turned
into openings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

from takeoff.errors import BadValue
from takeoff.geometry.polygon import area2, bounds
from takeoff.geometry.problems import Problems
from takeoff.geometry.shapes import PartitionShape, RoomGeometry
from takeoff.geometry.surface import PlacedOpening, Surface
from takeoff.quantities import Amount, convert, display
from takeoff.reference import figures, stud_size
from takeoff.units import INCH, Nm, UnitSystem, tape_reading

__all__ = ["check_let_in", "with_own_extras"]


def with_own_extras(geometry: RoomGeometry) -> RoomGeometry:
    """Return the room with each patch and batt on one surface only.

    A choice for the whole ceiling is every plane's, and so is a choice for a wall that a partition
    cuts in two. What is let in was measured once, so the first of these surfaces keeps it.
    """
    seen: set[int] = set()
    surfaces = []
    for surface in geometry.surfaces:
        patches, insulation = surface.patches, surface.insulation
        if id(patches) in seen:
            surface = replace(surface, patches=())
        if insulation is not None and id(insulation) in seen:
            surface = replace(surface, insulation=None)
        seen |= {id(extra) for extra in (patches, insulation) if extra}
        surfaces.append(surface)
    return replace(geometry, surfaces=tuple(surfaces))


def check_let_in(
    rooms: Iterable[RoomGeometry], partitions: Iterable[PartitionShape], problems: Problems
) -> None:
    """Gather a `BadValue` for each patch larger than its surface, each batt that is more than its
    surface, and each return deeper than its partition."""
    surfaces = {surface.id: surface for room in rooms for surface in room.surfaces}
    for surface in surfaces.values():
        with problems.of_each():
            _check_patches(surface)
        with problems.of_each():
            _check_insulation(surface)
    for shape in partitions:
        deepest = Nm(stud_size(shape.stud).width + figures.length("RT-far-board"))
        for face in shape.faces:
            for opening in surfaces[face].openings if face in surfaces else ():
                with problems.of_each():
                    _check_depth(opening, surfaces[face], deepest)


def _check_patches(surface: Surface) -> None:
    if not surface.patches:
        return
    left, bottom, right, top = bounds(surface.outline)
    wide, high = Nm(right - left), Nm(top - bottom)
    whole = Fraction(area2(surface.outline), 2)
    patched = sum(patch.width * patch.height * patch.count for patch in surface.patches)
    for patch in surface.patches:
        if patch.width > wide or patch.height > high:
            size = f"{_shown(patch.width, surface)} by {_shown(patch.height, surface)}"
            raise BadValue(
                f"{surface.name}: a patch of {size} is larger than the surface; enter at most "
                f"{_shown(wide, surface)} by {_shown(high, surface)}"
            )
    if patched > abs(whole):
        raise BadValue(
            f"{surface.name}: its patches are more than the whole surface; enter fewer, or choose "
            "to tear out and board it"
        )


def _check_insulation(surface: Surface) -> None:
    if surface.insulation is None:
        return
    whole = convert(
        Amount(abs(Fraction(area2(surface.outline), 2)) / Fraction(INCH) ** 2, "sq in"), "sq ft"
    )
    if convert(surface.insulation.area, "sq ft").value > whole.value:
        raise BadValue(
            f"{surface.name}: {display(surface.insulation.area, surface.units)} of insulation is "
            f"more than the surface, which is {display(whole, surface.units)}; enter what is "
            "between its studs or joists"
        )


def _check_depth(opening: PlacedOpening, surface: Surface, deepest: Nm) -> None:
    if opening.return_depth is not None and opening.return_depth > deepest:
        raise BadValue(
            f"{surface.name}, {opening.name}: a return {_shown(opening.return_depth, surface)} "
            f"deep is deeper than the wall; enter at most {_shown(deepest, surface)}"
        )


def _shown(size: Nm, surface: Surface) -> str:
    return tape_reading(size, surface.units, feet=surface.units is UnitSystem.INCH)
