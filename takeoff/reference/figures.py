"""The one way to a trade figure: by its id, in the type that its use takes.

    from takeoff.reference import figures

    figures.length("BB-length")     a length in whole nanometres; of figures in in, ft, mm or m
    figures.count("NL-02")          a whole number of things; of figures in each
    figures.minutes("HR-piece")     minutes of work as a decimal, as rules have them; of figures in
                                    min, or min per ft or sq ft
    figures.percent("TP-waste")     a part of one, 1/10 for 10; of figures in percent
    figures.rate("CN-compound")     so much per so much, its dimensions checked; of figures in
                                    units like gal per 1000 sq ft
    figures.number("DL-01")         the number as it stands, in the unit of the figure
    figures.figure("HL-01")         all of it: what it says, its source, how well it is known
    figures.by_id()                 every figure, rows of tables among them

Numbers are exact. Each function raises `BadValue` where there is no figure of that id, or where the
unit of the figure is of another kind.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from functools import cache
from types import MappingProxyType

from takeoff.errors import BadValue
from takeoff.quantities import Amount, Rate
from takeoff.reference.board_rows import BoardRow, board_rows
from takeoff.reference.data import Figure, single_figures
from takeoff.reference.levels import Level, levels
from takeoff.units import INCH, Nm

__all__ = ["by_id", "count", "figure", "length", "minutes", "number", "percent", "rate"]

_PER = re.compile(r"(?P<unit>[a-z0-9 ]+) per (?:(?P<count>[0-9]+) )?(?P<basis>[a-z][a-z0-9 ]*)")


@cache
def by_id() -> Mapping[str, Figure]:
    """Every figure by its id: single ones in the order of the data files, then rows of the board
    table, then levels of finish."""
    entries = dict(single_figures())
    entries.update((row.id, _of_row(row)) for row in board_rows())
    entries.update((row.id, _of_level(row)) for row in levels())
    return MappingProxyType(entries)


def figure(id: str) -> Figure:  # noqa: A002 - the word people know it by
    """The figure of that id, with its source and status."""
    entry = by_id().get(id)
    if entry is None:
        raise BadValue(f"No trade figure {id!r}")
    return entry


def number(id: str) -> Fraction:  # noqa: A002
    """The number of a figure, in the unit of the figure."""
    return figure(id).number


@cache
def length(id: str) -> Nm:  # noqa: A002
    """A figure that is a length, in whole nanometres.

    >>> length("GB-27")
    15875000
    """
    return figure(id).length


@cache
def count(id: str) -> int:  # noqa: A002
    """A figure that is a whole number of things.

    >>> count("NL-02")
    4
    """
    entry = figure(id)
    if entry.unit != "each":
        raise BadValue(f"Figure {id} is in {entry.unit or 'words'}, not a count")
    if entry.number.denominator != 1:
        raise BadValue(f"Figure {id} is not a whole number")
    return entry.number.numerator


@cache
def minutes(id: str) -> Decimal:  # noqa: A002
    """A figure in minutes of one person's work, also by the foot or the square foot.

    >>> minutes("HR-piece")
    Decimal('12')
    """
    entry = figure(id)
    if entry.unit.partition(" ")[0] != "min":
        raise BadValue(f"Figure {id} is in {entry.unit or 'words'}, not minutes")
    return Decimal(entry.number.numerator) / Decimal(entry.number.denominator)


@cache
def percent(id: str) -> Fraction:  # noqa: A002
    """A figure in percent, as a part of one.

    >>> percent("TP-waste")
    Fraction(1, 10)
    """
    entry = figure(id)
    if entry.unit != "percent":
        raise BadValue(f"Figure {id} is in {entry.unit or 'words'}, not percent")
    return entry.number / 100


@cache
def rate(id: str) -> Rate:  # noqa: A002
    """A figure that is so much per so much.

    >>> rate("CN-compound").of(Amount(Fraction(500), "sq ft"))
    Amount(value=Fraction(47, 10), unit='gal')
    """
    entry = figure(id)
    match = _PER.fullmatch(entry.unit)
    if match is None:
        raise BadValue(f"Figure {id} is in {entry.unit or 'words'}, not a rate")
    return Rate(
        Amount(entry.number, match["unit"]),
        Amount(Fraction(int(match["count"] or 1)), match["basis"]),
    )


def _of_row(row: BoardRow) -> Figure:
    eighths = ", ".join(
        f"{board_row.thickness * 8 // INCH}/8"
        for board_row in board_rows()
        if board_row.id == row.id
    )
    eighths = eighths.replace("4/8", "1/2")
    way = "across the framing" if row.orientation.value == "across" else "either way"
    return Figure(
        id=row.id,
        what=f"{eighths} in board, {row.place}{', two layers' if row.layers == 2 else ''}, {way}"
        f"{', with adhesive' if row.adhesive else ''}: framing, nails, screws",
        value=f"framing at most {row.max_spacing // INCH} in; "
        f"nails {row.nails // INCH} in; screws {row.screws // INCH} in",
        unit="",
        source=row.source,
        edition="2018/2021 wording",
        status=row.status,
        reason=f"support seen: {row.support}",
    )


def _of_level(row: Level) -> Figure:
    return Figure(
        id=row.id,
        what=f"Level {row.level} finish: coats",
        value=f"flat seams {row.flat}, angles {row.angle}, fasteners {row.fastener}, beads "
        f"{row.bead}{', skim over all' if row.skim else ''}",
        unit="",
        source=row.source,
        status=row.status,
    )
