"""Runs longer than any stick on sale, in as few equal parts as they take."""

from __future__ import annotations

from takeoff.catalogue import Catalogue
from takeoff.errors import BadValue
from takeoff.needs.materials import Material
from takeoff.quantities import convert, same_kind
from takeoff.reference import figures
from takeoff.units import INCH, Nm

__all__ = ["in_parts", "longest_stick", "stick_lengths"]


def stick_lengths(catalogue: Catalogue, material: Material) -> tuple[Nm, ...]:
    """Return the lengths of a material's sticks on sale, or the longest that ordinary yards keep
    (FR-longest-lumber) where the catalogue has none."""
    try:
        packs = catalogue.material(material.id).packs
    except BadValue:
        return (figures.length("FR-longest-lumber"),)
    inches = [
        convert(pack.holds, "in").value for pack in packs if same_kind(pack.holds, packs[0].holds)
    ]
    return tuple(Nm(int(length * INCH)) for length in inches)


def longest_stick(catalogue: Catalogue, material: Material) -> Nm:
    """Return the longest of a material's sticks on sale (see `stick_lengths`)."""
    return max(stick_lengths(catalogue, material))


def in_parts(run: Nm, longest: Nm) -> tuple[Nm, ...]:
    """Cut `run` into as few parts as `longest` allows. The parts are as even as whole nanometres
    can be, and add up to `run`.

    >>> in_parts(Nm(7), Nm(3))
    (2, 2, 3)
    """
    parts = -(-run // longest)
    return tuple(Nm(run * (part + 1) // parts - run * part // parts) for part in range(parts))
