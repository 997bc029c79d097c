"""A pile planned out of those sizes of sheets that a store has. Nothing is read or stored here."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import Any

from remodel.bridge.piles import Pile, shapes_now, work_out_pile
from remodel.bridge.plans import BoardPlan
from takeoff.errors import TakeoffError

__all__ = ["buys", "plan_of_sizes"]

# The board, thickness, width and length of a sheet, as its key as an item says them.
Size = tuple[str, int, int, int]


def buys(plan: BoardPlan, size: Size) -> bool:
    """Whether a plan takes a whole sheet of a size, bought or at hand."""
    board, thickness, width, length = size
    return any(
        (sheet.board, sheet.thickness, sheet.width, sheet.length)
        == (board, thickness, width, length)
        for sheet in plan.sheets
    )


def plan_of_sizes(
    pile: Pile, board: str, thickness: int, sizes: Collection[tuple[int, int]]
) -> tuple[BoardPlan, Mapping[str, Any]] | None:
    """The first plan of a pile that buys sheets of one kind of board in `sizes` alone, by width and
    length, with the surfaces it was made for. Whole sheets and offcuts at hand are cut all the
    same. None where the boards cannot be cut out of those."""
    key = (board, thickness)
    rules = pile.house.rules
    on_sale = pile.house.catalogue.sheets if rules.sheets is None else rules.sheets
    kept = tuple(
        sheet
        for sheet in on_sale
        if (sheet.board, sheet.thickness) != key or (sheet.width, sheet.length) in sizes
    )
    other = replace(pile, house=replace(pile.house, rules=replace(rules, sheets=kept)))
    try:
        result = work_out_pile(other).result
    except TakeoffError:
        return None
    if any(summary.refused for summary in result.summaries):
        return None
    plan = next(
        (pool.plan for pool in result.pools if (pool.board, pool.thickness) == key),
        None,
    )
    return None if plan is None else (plan, shapes_now(pile, plan))
