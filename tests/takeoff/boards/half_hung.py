"""Surfaces that are half hung: some pieces of a plan put down as they are, the sheets they came
from begun, and the rest stated anew around them."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from random import Random
from typing import Any

from takeoff.boards.check import Findings, examine_plan
from takeoff.boards.hung import begun, place, rests_of
from takeoff.boards.plan import AsBuilt, BoardPlan, Piece, Sheet, SurfacePlan
from takeoff.boards.problem import Pool, formulate
from takeoff.catalogue import Catalogue
from takeoff.framing.members import FramedSurface
from takeoff.geometry.surface import Surface
from takeoff.job import Takeoff
from takeoff.rules import Rules
from takeoff.units import Nm
from tests.takeoff.boards.hand import CATALOGUE, PLAIN, pool, replace

__all__ = [
    "around",
    "built_of",
    "built_of_takeoff",
    "chosen_at_random",
    "examined",
    "of_row",
    "pieces_on",
    "rest_of",
]


def pieces_on(sheet: Sheet) -> list[str]:
    """The pieces that a sheet holds."""
    placed = (*sheet.crosscuts, *(piece for strip in sheet.strips for piece in strip.pieces))
    return [piece.piece for piece in placed]


def _built(
    laid: Sequence[SurfacePlan],
    sheets: Sequence[Sheet],
    surfaces: dict[str, Surface],
    codes: Collection[str],
    rules: Rules,
    kerf: Nm = Nm(0),
) -> AsBuilt:
    boards = [board for plan in laid for board in place(plan, surfaces[plan.surface], codes)]
    return AsBuilt(
        boards=tuple(boards),
        sheets=tuple(
            begun(sheet, codes, kerf, rules)
            for sheet in sheets
            if any(code in codes for code in pieces_on(sheet))
        ),
    )


def built_of(plan: BoardPlan, before: Pool, codes: Collection[str]) -> AsBuilt:
    """The pieces `codes` of a plan hung, and their sheets as far cut as that takes."""
    surfaces = {problem.framed.surface.id: problem.framed.surface for problem in before.surfaces}
    return _built(plan.surfaces, plan.sheets, surfaces, codes, before.rules, before.kerf)


def built_of_takeoff(takeoff: Takeoff, codes: Collection[str]) -> AsBuilt:
    surfaces = {surface.id: surface for room in takeoff.rooms for surface in room.surfaces}
    return _built(takeoff.surface_plans, takeoff.sheets, surfaces, codes, takeoff.house.rules)


def of_row(plan: BoardPlan, row: int) -> set[str]:
    return {piece.code for surface in plan.surfaces for piece in surface.pieces if piece.row == row}


def chosen_at_random(pieces: Sequence[Piece], random: Random, share: float = 0.5) -> set[str]:
    return {piece.code for piece in pieces if random.random() < share}


def around(
    built: AsBuilt,
    *surfaces: FramedSurface,
    rules: Rules = PLAIN,
    catalogue: Catalogue = CATALOGUE,
    **fields: Any,
) -> Pool:
    """The pool of what is left to board of `surfaces`."""
    rules = replace(rules, owned=rules.owned + rests_of(built))
    standing = {plan.surface: plan for plan in built.standing}
    problems = [
        formulate(surface, rules, catalogue, built.boards, standing.get(surface.surface.id))
        for surface in surfaces
    ]
    taken = {board.mark for board in built.boards} | {sheet.code for sheet in built.sheets}
    taken |= set(built.taken)
    return pool(
        *problems,
        rules=rules,
        cut=built.sheets,
        taken=frozenset(taken),
        standing=built.standing,
        **fields,
    )


def examined(
    plan: BoardPlan, rest: Pool, built: AsBuilt, catalogue: Catalogue = CATALOGUE
) -> Findings:
    framed = [problem.framed for problem in rest.surfaces]
    return examine_plan(plan, framed, rest.rules, catalogue, owned=rest.owned, built=built)


def rest_of(plan: BoardPlan, built: AsBuilt) -> list[Piece]:
    """The pieces of a plan that do not hang yet."""
    hung = {board.mark for board in built.boards}
    return [
        piece for surface in plan.surfaces for piece in surface.pieces if piece.code not in hung
    ]
