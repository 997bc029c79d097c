"""The table of the residential code for gypsum board on framing, row by row, and the row that a
surface is fastened by."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from takeoff.choices import Orientation
from takeoff.reference.data import Status, single_figures, tables
from takeoff.units import INCH, Nm

__all__ = ["BoardRow", "Place", "allowed_rows", "board_rows", "row_for", "table_thickness"]


class Place(StrEnum):
    WALL = "wall"
    CEILING = "ceiling"
    GARAGE_CEILING = "garage ceiling"


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardRow:
    """One row of the table: how board of a `thickness` may lie in a `place`, how far apart its
    framing may be at most, and how far apart its fasteners.

    `orientation` ACROSS means only across the framing, BEST means either way. `layers` 2 is a
    second layer on a first of the same thickness. `support` names what agrees with the row.
    """

    id: str
    thickness: Nm
    place: Place
    orientation: Orientation
    max_spacing: Nm
    nails: Nm
    screws: Nm
    adhesive: bool
    layers: int
    type_x: bool
    source: str
    status: Status
    support: str


@cache
def board_rows() -> tuple[BoardRow, ...]:
    """Return every row of the table in its order. A row for two thicknesses comes twice, once for
    each."""
    rows = []
    for row in tables()["board"]:
        for thickness in row["thickness"]:
            eighths = {"3/8": 3, "1/2": 4, "5/8": 5}[thickness]
            rows.append(
                BoardRow(
                    id=row["id"],
                    thickness=Nm(eighths * INCH // 8),
                    place=Place(row["place"]),
                    orientation=Orientation(row["orientation"]),
                    max_spacing=Nm(row["max_spacing"] * INCH),
                    nails=Nm(row["nails"] * INCH),
                    screws=Nm(row["screws"] * INCH),
                    adhesive=row.get("adhesive", False),
                    layers=row.get("layers", 1),
                    type_x=row.get("type_x", False),
                    source=row["source"],
                    status=Status(row["status"]),
                    support=row["support"],
                )
            )
    return tuple(rows)


def table_thickness(thickness: Nm) -> Nm | None:
    """Return the thickness of the table that a board counts as, so that 12.5 mm counts as 1/2 in;
    None where none is near."""
    near = single_figures()["GB-metric"].length
    alike = [row.thickness for row in board_rows() if abs(row.thickness - thickness) <= near]
    return min(alike, key=lambda of_row: abs(of_row - thickness), default=None)


def allowed_rows(
    *, thickness: Nm, place: Place, across: bool, spacing: Nm, adhesive: bool = False
) -> tuple[BoardRow, ...]:
    """Return the rows that let one layer of this board lie so on framing at `spacing`, the closest
    framing first.

    There is none where the table forbids it: the choice is then refused. Rows with adhesive are for
    walls only, since one maker allows no adhesive with few nails on ceilings at all. The row of a
    garage's ceiling is for fire-rated board, which the caller has to look at.
    """
    known = table_thickness(thickness)
    rows = [
        row
        for row in board_rows()
        if row.thickness == known
        and row.place is place
        and row.layers == 1
        and row.type_x == (place is Place.GARAGE_CEILING)
        and (across or row.orientation is not Orientation.ACROSS)
        and row.max_spacing >= spacing
        and row.adhesive == (adhesive and place is Place.WALL)
    ]
    return tuple(sorted(rows, key=lambda row: (row.max_spacing, row.id)))


def row_for(
    *, thickness: Nm, place: Place, across: bool, spacing: Nm, adhesive: bool = False
) -> BoardRow | None:
    """Return the row that a surface is fastened by: the one for the closest framing that still
    allows it, or None where no row does.

    A 1/2 in wall on 16 in framing takes screws at 16 in (GB-06), the same wall on 24 in framing at
    12 in (GB-05).
    """
    rows = allowed_rows(
        thickness=thickness, place=place, across=across, spacing=spacing, adhesive=adhesive
    )
    return rows[0] if rows else None
