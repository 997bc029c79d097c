"""Sheets of a plan that are hard to lift, with their weight."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Any

from remodel.bridge.records import board_kinds_value
from remodel.bridge.supply import sheet_sizes
from remodel.bridge.views import RoomView
from takeoff.reference import figures
from takeoff.units import FOOT, INCH, Nm

__all__ = ["heavy_sheets"]

_WIDE = 48 * INCH  # wider than the sheets everybody handles
_LONG = 12 * FOOT


def heavy_sheets(view: RoomView, pool: tuple[str, int], house: Any) -> tuple[str, ...]:
    """The wide or long sheets of a board that are cut in a room and heavier than is lifted there,
    each size once: `54 in x 12 ft weighs 86 lb`.

    What is lifted is what somebody said of the room or the house, and a usual weight where nobody
    did. `house` is its row, whose boards are only looked up where there is such a sheet.
    """
    sizes = {
        (int(sheet.width), int(sheet.length))
        for sheet in view.sheets
        if (sheet.board, int(sheet.thickness)) == pool
        and (sheet.width > _WIDE or sheet.length > _LONG)
    }
    kinds = board_kinds_value(house).boards if sizes else ()
    psf = next((kind.weight(Nm(pool[1])) for kind in kinds if kind.id == pool[0]), None)
    if psf is None:
        return ()
    lifts = [
        surface.framed.surface.heaviest_lift
        for surface in view.surfaces
        if surface.framed.surface.heaviest_lift is not None
    ]
    most = Fraction(min(lifts)) if lifts else figures.number("HL-lift")
    return tuple(
        f"{sheet_sizes(pool[1], width, length)[1]} weighs {round(_pounds(psf, width, length))} lb"
        for width, length in sorted(sizes)
        if _pounds(psf, width, length) > most
    )


def _pounds(psf: Decimal, width: int, length: int) -> Fraction:
    return Fraction(psf) * width * length / FOOT**2
