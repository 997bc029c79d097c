"""Sheets of a plan that are hard to lift, with their weight."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from remodel.bridge.records import board_kinds_value
from remodel.bridge.supply import sheet_sizes
from remodel.bridge.views import RoomView
from takeoff.boards.stock import is_hard_to_lift, is_large
from takeoff.quantities import Amount, convert
from takeoff.units import FOOT, Nm

__all__ = ["heavy_sheets"]


def heavy_sheets(view: RoomView, pool: tuple[str, int], house: Any) -> tuple[str, ...]:
    """The wide or long sheets of a board that are cut in a room and heavier than is lifted there,
    each size once: `54 in x 12 ft weighs 86 lb`.

    What is lifted is what somebody said of the room or the house, and a usual weight where nobody
    did. `house` is its row, whose boards are only looked up where there is such a sheet.
    """
    sizes = {
        (sheet.width, sheet.length)
        for sheet in view.sheets
        if (sheet.board, int(sheet.thickness)) == pool and is_large(sheet.width, sheet.length)
    }
    kinds = board_kinds_value(house).boards if sizes else ()
    kind = next((one for one in kinds if one.id == pool[0]), None)
    psf = None if kind is None else kind.weight(Nm(pool[1]))
    if kind is None or psf is None:
        return ()
    lifts = [
        surface.framed.surface.heaviest_lift
        for surface in view.surfaces
        if surface.framed.surface.heaviest_lift is not None
    ]
    lift = min(lifts, default=None)
    return tuple(
        f"{sheet_sizes(pool[1], width, length)[1]} weighs "
        + _weight(Fraction(psf) * width * length / FOOT**2, house.units)
        for width, length in sorted(sizes)
        if is_hard_to_lift(kind, Nm(pool[1]), width, length, lift)
    )


def _weight(pounds: Fraction, units: str) -> str:
    """A sheet's weight in whole pounds, or whole kilograms in a house in millimeters."""
    weight = Amount(pounds, "lb")
    if units == "mm":
        weight = convert(weight, "kg")
    return f"{round(weight.value)} {weight.unit}"
