"""Ceilings boarded by hand with a strip as narrow as is asked for: the checker's tests of narrow
board start from them."""

from __future__ import annotations

from dataclasses import replace

from takeoff.boards.plan import BoardPlan
from takeoff.framing.members import FramedSurface
from takeoff.geometry.surface import Edge, EdgeKind
from takeoff.quantities import Cents
from takeoff.units import Nm
from tests.takeoff import hand_plan
from tests.takeoff.hand_plan import inches, plan
from tests.takeoff.test_check import ceiling, ceiling_plan, rectangle, row

# The last row is ripped by a sixteenth less than two inches off its sheets.
HAIR = (row(0, 0, 48, 96), row(1, 48, 94.0625, 96, factory="low"))


def strip_ceiling(height: float) -> tuple[FramedSurface, BoardPlan]:
    """A ceiling whose second row is this high."""
    rows = (row(0, 0, 48, 96), row(1, 48, 48 + height, 96, factory="low"))
    return ceiling(96, 48 + height, 16), ceiling_plan(rows)


def arm_ceiling(width: float) -> tuple[FramedSurface, BoardPlan]:
    """A ceiling of two whole rows, the second of them only as long as this."""
    corners = ((0, 0), (96, 0), (96, 48), (width, 48), (width, 96), (0, 96))
    area = tuple((inches(u), inches(v)) for u, v in corners)
    edges = (Edge(EdgeKind.WALL),) * 6
    surface = ceiling(96, 96, 16, outline=area, board_area=area, edges=edges)
    return surface, ceiling_plan((row(0, 0, 48, 96), row(1, 48, 96, width)))


def tongue_ceiling(
    height: float, *, joint: bool = True, length: float = 144
) -> tuple[FramedSurface, BoardPlan]:
    """A ceiling of one row, 48 in high to 96 in along it and from there on only this high: in two
    pieces that meet at the step, or in one."""
    corners = ((0, 0), (length, 0), (length, height), (96, height), (96, 48), (0, 48))
    area = tuple((inches(u), inches(v)) for u, v in corners)
    edges = (Edge(EdgeKind.WALL),) * 6
    surface = ceiling(length, 48, 16, outline=area, board_area=area, edges=edges)
    joints = (96,) if joint else ()
    made = plan({0: joints}, rows=(row(0, 0, 48, length),), lengths={96: height})
    cut = [replace(piece, surface="den/ceiling") for piece in made.surfaces[0].pieces]
    if joint:
        beyond = rectangle(96, length, 0, height)
        cut[1] = replace(cut[1], high=Nm(inches(height)), outline=beyond)
    else:
        cut[0] = replace(cut[0], outline=area)
    sheets = hand_plan.one_sheet_each(cut)
    steps = replace(made.surfaces[0], surface="den/ceiling", pieces=tuple(cut))
    cost = Cents(sum(sheet.price for sheet in sheets))
    return surface, replace(made, surfaces=(steps,), sheets=sheets, sheet_cost=cost)
