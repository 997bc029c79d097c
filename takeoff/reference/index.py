"""Every figure by id, rows of tables among them, so that any reason can be followed to its
source."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from takeoff.errors import BadValue
from takeoff.reference import figures as single
from takeoff.reference.board_rows import BoardRow, board_rows
from takeoff.reference.figures import Figure
from takeoff.reference.levels import Level, levels
from takeoff.units import INCH

__all__ = ["figure", "figures"]


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
        f"{row.bead}"
        f"{', skim over all' if row.skim else ''}",
        unit="",
        source=row.source,
        status=row.status,
    )


@cache
def figures() -> Mapping[str, Figure]:
    """Every figure by its id: single ones in the order of the data files, then board rows, then
    levels."""
    found = dict(single.figures())
    found.update((row.id, _of_row(row)) for row in board_rows())
    found.update((row.id, _of_level(row)) for row in levels())
    return MappingProxyType(found)


def figure(id: str) -> Figure:  # noqa: A002 - the word people know it by
    """The figure of that id; raises `BadValue` where there is none."""
    found = figures().get(id)
    if found is None:
        raise BadValue(f"No trade figure {id!r}")
    return found
