"""Cuttings to the proven best, or close: patterns made as a linear programme asks for them, then
whole numbers of them.

The programme (P. C. Gilmore and R. E. Gomory, *A linear programming approach to the cutting-stock
problem*, Operations Research 9, 1961) is solved in floats, but nothing rests on them: its prices of
pieces are cut down to whole numbers, the dearest filling of each stick is found for those in exact
arithmetic, and the bound follows from the two (A. A. Farley, *A note on bounding a class of linear
programming problems*, Operations Research 38, 1990).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from typing import Any

import highspy
import numpy as np

from takeoff.cutting.bounds import attainable
from takeoff.cutting.fill import StickCut, cheap_cuts
from takeoff.cutting.knapsack import most_valuable

__all__ = ["prove"]

_SCALE = 1 << 24  # prices of pieces are whole numbers of this part of a cent
_KNAPSACK_NODES = 200_000
_PATTERNS_A_TURN = 6
_MOST_TURNS = 2_000
_DIVE_TURNS = 12
_DIVES = 4
_PIECES_TO_DIVE_TWICE = 200
_MIP_NODES = 2_000

# which stick, and (piece, count) of what is cut from it
Pattern = tuple[int, tuple[tuple[int, int], ...]]


def prove(
    pieces: Sequence[tuple[int, int]],
    stock: Sequence[tuple[int, int]],
    owned: Sequence[int],
    cuts: Sequence[StickCut],
    bound: int,
) -> tuple[list[StickCut], int]:
    """A cutting at least as cheap as `cuts`, and a bound at least as high as `bound`; equal where
    the best is proven.

    `pieces` (length, count) come longest first, `stock` (length, price) shortest first; each
    `owned` length is free, once. Deterministic: work is limited in steps, never by time.
    """
    master = _Master(pieces, stock, owned)
    for cut in cuts:
        master.add_cut(cut)
    best, cost = list(cuts), _cost(cuts, stock)
    demand = [count for _, count in pieces]
    free = master.free_counts
    # First the bound, and the patterns that come with it: the dives choose among those.
    bound = max(bound, master.price_out(demand, free, cost))
    for skipped in range(_DIVES if len(pieces) <= _PIECES_TO_DIVE_TWICE else 1):
        if cost > bound:
            best, cost = _better(best, cost, master.dive(demand, free, skipped), stock)
    if cost > bound:
        best, cost = _better(best, cost, master.whole_numbers(demand, free, cost), stock)
    return best, bound


def _better(
    best: list[StickCut],
    cost: int,
    candidate: list[StickCut] | None,
    stock: Sequence[tuple[int, int]],
) -> tuple[list[StickCut], int]:
    if candidate is not None and _cost(candidate, stock) < cost:
        return candidate, _cost(candidate, stock)
    return best, cost


def _cost(cuts: Sequence[StickCut], stock: Sequence[tuple[int, int]]) -> int:
    return sum(stock[cut.stock][1] for cut in cuts if cut.stock is not None)


@dataclass(frozen=True, slots=True)
class _Solution:
    value: float
    amounts: list[float]
    piece_prices: list[int]
    free_prices: list[int]


def _solver() -> Any:
    """HiGHS on one thread from a fixed seed, so that the same work gives the same answer. The bare
    solver, because its wrapper prints a banner when made."""
    solver = highspy._core._Highs()
    # Threads or time would make the answer depend on the machine.
    for option, value in (("output_flag", False), ("threads", 1), ("random_seed", 1)):
        solver.setOptionValue(option, value)
    return solver


class _Master:
    """The linear programme over the patterns found so far: enough of every piece, no owned stick
    twice."""

    def __init__(
        self,
        pieces: Sequence[tuple[int, int]],
        stock: Sequence[tuple[int, int]],
        owned: Sequence[int],
    ) -> None:
        self.sizes = [length for length, _ in pieces]
        self.demand = [count for _, count in pieces]
        self.stock = list(stock)
        frees = sorted(Counter(owned).items(), reverse=True)
        self.free_lengths = [length for length, _ in frees]
        self.free_counts = [count for _, count in frees]
        self.asked = [*self.demand, *self.free_counts]
        self.patterns: list[Pattern] = []
        self.known: set[Pattern] = set()
        self.solver = _solver()
        for count in self.demand:
            # More pieces than asked for may be cut: what is not wanted is left on the stick.
            self.solver.addRow(count, highspy.kHighsInf, 0, [], [])
        for count in self.free_counts:
            self.solver.addRow(-highspy.kHighsInf, count, 0, [], [])

    def length(self, stick: int) -> int:
        on_sale = len(self.stock)
        return self.stock[stick][0] if stick < on_sale else self.free_lengths[stick - on_sale]

    def price(self, stick: int) -> int:
        return self.stock[stick][1] if stick < len(self.stock) else 0

    def add(self, pattern: Pattern) -> bool:
        if pattern in self.known:
            return False
        self.known.add(pattern)
        self.patterns.append(pattern)
        stick, taken = pattern
        rows = [piece for piece, _ in taken]
        amounts = [float(count) for _, count in taken]
        if stick >= len(self.stock):
            # An owned stick takes one from its own row, so that none is used twice.
            rows.append(len(self.sizes) + stick - len(self.stock))
            amounts.append(1.0)
        self.solver.addCol(
            float(self.price(stick)),
            0.0,
            highspy.kHighsInf,
            len(rows),
            np.array(rows, dtype=np.int32),
            np.array(amounts, dtype=np.float64),
        )
        return True

    def add_cut(self, cut: StickCut) -> None:
        place = {size: index for index, size in enumerate(self.sizes)}
        taken = tuple(sorted((place[size], count) for size, count in Counter(cut.pieces).items()))
        stick = (
            cut.stock
            if cut.stock is not None
            else len(self.stock) + self.free_lengths.index(cut.length)
        )
        self.add((stick, taken))

    def solve(self, demand: Sequence[int], free: Sequence[int]) -> _Solution:
        for row, count in enumerate((*demand, *free)):
            if count != self.asked[row]:
                self.asked[row] = count
                least, most = (
                    (count, highspy.kHighsInf) if row < len(demand) else (-highspy.kHighsInf, count)
                )
                self.solver.changeRowBounds(row, float(least), float(most))
        self.solver.run()
        solution = self.solver.getSolution()
        duals = list(solution.row_dual)
        return _Solution(
            value=self.solver.getInfo().objective_function_value,
            amounts=list(solution.col_value),
            # Whole numbers from here on, rounded down: whatever they are, the bound they give is
            # exact.
            piece_prices=[max(0, int(dual * _SCALE)) for dual in duals[: len(demand)]],
            free_prices=[max(0, int(-dual * _SCALE)) for dual in duals[len(demand) :]],
        )

    def price_out(
        self, demand: Sequence[int], free: Sequence[int], enough: int, *, turns: int = _MOST_TURNS
    ) -> int:
        """Add patterns until none is worth adding; return the best bound met on the way, at most
        `enough`."""
        prices = [price for _, price in self.stock]
        bound = 0
        for _ in range(turns):
            solved = self.solve(demand, free)
            patterns, exact = self._patterns_worth(solved, demand, free)
            bound = max(bound, attainable(ceil(exact), prices))
            # No bound of this programme can pass its own value rounded up to a price that sticks
            # add up to.
            if bound >= enough or bound >= attainable(ceil(solved.value - 1e-6), prices):
                break
            added = [self.add(pattern) for pattern in patterns]
            # The same patterns again: rounded prices no longer tell the solver anything.
            if not any(added):
                break
        return min(bound, enough)

    def _patterns_worth(
        self, solved: _Solution, demand: Sequence[int], free: Sequence[int]
    ) -> tuple[list[Pattern], Fraction]:
        """Patterns of each stick that pay, and the bound that the prices prove."""
        patterns: list[Pattern] = []
        shrink = Fraction(1)
        given = 0
        for stick in range(len(self.stock) + len(self.free_lengths)):
            owned = stick - len(self.stock)
            cost = self.price(stick) * _SCALE if owned < 0 else solved.free_prices[owned]
            room, values = self.length(stick), solved.piece_prices
            filling = most_valuable(
                self.sizes, values, demand, room, above=cost, nodes=_KNAPSACK_NODES
            )
            # An owned stick is charged with the most it can yield at these prices, once for each
            # there is. For sticks on sale all prices are scaled down instead, until no filling is
            # worth more than its stick (Farley's bound).
            if owned >= 0:
                given += free[owned] * filling.limit
            elif filling.limit > cost:
                shrink = min(shrink, Fraction(cost, filling.limit))
            patterns += [(stick, taken) for taken in filling.takings[-_PATTERNS_A_TURN:]]
        needed = sum(
            price * count for price, count in zip(solved.piece_prices, demand, strict=True)
        )
        return patterns, shrink * max(0, needed - given) / _SCALE

    def dive(
        self, demand: Sequence[int], free: Sequence[int], skipped: int
    ) -> list[StickCut] | None:
        """Settle the patterns the programme likes best, a few at a time, and price the rest anew
        each time.

        The first time that none comes a whole number of times, so many of the best liked are passed
        over.
        """
        unmet, spare = list(demand), list(free)
        chosen: list[Pattern] = []
        while any(unmet):
            solved = self.solve(unmet, spare)
            amounts = [
                # A pattern with more of a piece than is still wanted would cut for nothing.
                amount if self._fits(k, unmet) else 0.0
                for k, amount in enumerate(solved.amounts)
            ]

            whole = [
                (k, int(amount + 1e-6)) for k, amount in enumerate(amounts) if amount > 1 - 1e-6
            ]
            if not whole:
                liked = sorted(
                    (k for k, amount in enumerate(amounts) if amount > 1e-6),
                    key=lambda k: -amounts[k],
                )
                if not liked:
                    break
                whole = [(liked[min(skipped, len(liked) - 1)], 1)]
                skipped = 0

            for k, times in whole:
                for _ in range(times):
                    if not self._fits(k, unmet) or not self._spare(k, spare):
                        break
                    self._take(k, unmet, spare, chosen)
            if any(unmet):
                # What is left asks for other patterns than the whole did.
                self.price_out(unmet, spare, 1 << 62, turns=_DIVE_TURNS)
        cuts = self._cuts(chosen)
        if any(unmet):
            rest = [(size, count) for size, count in zip(self.sizes, unmet, strict=True) if count]
            owned = [
                length
                for length, count in zip(self.free_lengths, spare, strict=True)
                for _ in range(count)
            ]
            # Pieces no pattern fits any more are cut one stick after another.
            last = cheap_cuts(rest, self.stock, owned, 0)
            if last is None:
                return None
            cuts += last
        return cuts

    def _fits(self, k: int, unmet: Sequence[int]) -> bool:
        return all(unmet[piece] >= count for piece, count in self.patterns[k][1])

    def _spare(self, k: int, spare: Sequence[int]) -> bool:
        stick = self.patterns[k][0]
        return stick < len(self.stock) or spare[stick - len(self.stock)] > 0

    def _take(self, k: int, unmet: list[int], spare: list[int], chosen: list[Pattern]) -> None:
        stick, taken = self.patterns[k]
        for piece, count in taken:
            unmet[piece] -= count
        if stick >= len(self.stock):
            spare[stick - len(self.stock)] -= 1
        chosen.append(self.patterns[k])

    def whole_numbers(
        self, demand: Sequence[int], free: Sequence[int], below: int
    ) -> list[StickCut] | None:
        """The best whole numbers of the patterns found so far that cost less than `below`; None
        where none does."""
        self.solve(demand, free)
        columns = np.arange(len(self.patterns), dtype=np.int32)
        kinds = np.full(len(columns), int(highspy.HighsVarType.kInteger), dtype=np.uint8)
        self.solver.changeColsIntegrality(len(columns), columns, kinds)
        self.solver.setOptionValue("mip_max_nodes", _MIP_NODES)
        # Only cuttings cheaper than the best are of interest; the solver drops all other branches.
        self.solver.setOptionValue("objective_bound", float(below))
        self.solver.run()

        info = self.solver.getInfo()
        feasible = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
        amounts = (
            [round(amount) for amount in self.solver.getSolution().col_value] if feasible else []
        )
        unmet, spare = list(demand), list(free)
        chosen: list[Pattern] = []
        for k, times in enumerate(amounts):
            for _ in range(times):
                stick, taken = self.patterns[k]
                if not self._spare(k, spare):
                    return None
                # The programme may cut more than is asked for; the surplus is not cut.
                kept = tuple(
                    (piece, min(count, unmet[piece])) for piece, count in taken if unmet[piece]
                )
                for piece, count in kept:
                    unmet[piece] -= count
                if stick >= len(self.stock):
                    spare[stick - len(self.stock)] -= 1
                if kept:
                    chosen.append((stick, kept))
        return None if any(unmet) or not feasible else self._cuts(chosen)

    def _cuts(self, chosen: Sequence[Pattern]) -> list[StickCut]:
        """The patterns as cuts, each bought stick exchanged for the cheapest that holds its
        pieces."""
        cuts = []
        for stick, taken in chosen:
            pieces = tuple(self.sizes[piece] for piece, count in taken for _ in range(count))
            if stick >= len(self.stock):
                cuts.append(StickCut(self.length(stick), None, pieces))
                continue
            # Stock is shortest first and so cheapest first.
            held = next(k for k, (length, _) in enumerate(self.stock) if length >= sum(pieces))
            cuts.append(StickCut(self.stock[held][0], held, pieces))
        return cuts
