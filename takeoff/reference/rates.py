"""Figures that are rates, with their dimensions: `9.4 gal per 1000 sq ft`."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache

from takeoff.errors import BadValue
from takeoff.quantities import Amount, Rate
from takeoff.reference.figures import Figure, figure

__all__ = ["percent", "rate"]

_PER = re.compile(r"(?P<unit>[a-z0-9 ]+) per (?:(?P<count>[0-9]+) )?(?P<basis>[a-z][a-z0-9 ]*)")


@cache
def rate(id: str) -> Rate:  # noqa: A002 - the word people know it by
    """The figure of that id as a rate; raises `BadValue` where its unit is not so much per so much.

    >>> rate("CN-compound").of(Amount(Fraction(500), "sq ft"))
    Amount(value=Fraction(47, 10), unit='gal')
    """
    found: Figure = figure(id)
    match = _PER.fullmatch(found.unit)
    if match is None:
        raise BadValue(f"Figure {id} is in {found.unit or 'words'}, not a rate")
    return Rate(
        Amount(found.number, match["unit"]),
        Amount(Fraction(int(match["count"] or 1)), match["basis"]),
    )


def percent(id: str) -> Fraction:  # noqa: A002
    """The figure of that id as a part of one; raises `BadValue` where it is not in percent."""
    found = figure(id)
    if found.unit != "percent":
        raise BadValue(f"Figure {id} is in {found.unit or 'words'}, not percent")
    return found.number / 100
