"""The linear programme: courses as paths, sheets as patterns, columns priced in until no pattern
can help."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from takeoff.solve.bound import EVERYTHING, Dual, Limits, Prices, settle
from takeoff.solve.knapsack import Pattern
from takeoff.solve.network import MONEY, Network
from takeoff.solve.pattern_sources import ByKnapsack, Source

if TYPE_CHECKING:
    import highspy

__all__ = ["CLOSE", "Relaxation", "links", "new_highs"]

CLOSE = MONEY // 100  # a hundredth of a cent
_PRIMAL_FROM, _CALM_FROM = 450, 900  # piece sizes from which a programme is large; measured
_USED = 1e-6
_MENDS = 8  # times the last prices are mended where lengths are rounded
_STALLED = 4  # rounds that gain nothing, after which a bound is mended and taken
_MOST_COLUMNS = 600  # a round; more slow the programme more than they help


def new_highs() -> Any:
    """HiGHS, silent, on one thread, from a fixed seed: the same answer for the same work."""
    import highspy

    # The wrapper prints a banner as it is made, before any option can be set; the solver under it
    # does not.
    highs = highspy._core._Highs()
    for name, value in (
        ("output_flag", False),
        ("threads", 1),
        ("random_seed", 1),
        ("parallel", "off"),
    ):
        highs.setOptionValue(name, value)
    return highs


def links(
    network: Network, active: frozenset[int] | None = None, *, any_end: bool = False
) -> list[tuple[int, int]]:
    """(larger, smaller) sizes where the larger may always stand in for the smaller, cut shorter or
    trimmed.

    Of `active` sizes only where given. Both are of one group of ends, or of none: else a pattern
    might hold, in the guise of another's piece, more of a group than any plan has. With `any_end`
    of any: where answers are sought and not bounds.
    """
    # Sizes of one class differ in length alone, so each longer one can be cut to the next shorter.
    # A link to the next is enough: the others follow from link to link.
    classes: dict[tuple[Any, ...], list[int]] = {}
    for i in sorted(network.active if active is None else active):
        size = network.sizes[i]
        ends = -1 if any_end else network.ends.get(i, -1)
        key = (
            size.full,
            size.group,
            size.sheet_width,
            size.edges,
            tuple(sorted(size.from_sheets)),
            ends,
            size.width,
        )
        classes.setdefault(key, []).append(i)
    ordered = sorted(classes)
    for key in ordered:
        classes[key].sort(key=lambda i: -network.sizes[i].length)
    pairs: list[tuple[int, int]] = []
    for number, key in enumerate(ordered):
        members = classes[key]
        pairs += list(pairwise(members))
        below = ordered[number - 1] if number else None
        # Full-width pieces are never trimmed. Ripped ones may be, from a class that differs in
        # width alone.
        if key[0] or below is None or below[:-1] != key[:-1]:
            continue
        narrower = classes[below]
        k = 0
        for i in members:
            # Both classes are longest first, so the longest narrower size that still fits is met by
            # one walk down the two lists.
            while k < len(narrower) and network.sizes[narrower[k]].length > network.sizes[i].length:
                k += 1
            if k < len(narrower):
                pairs.append((i, narrower[k]))
    return pairs


class ConstraintRows:
    """Row numbers of the programme, and its fixed columns as (cost, lower, upper, entries)."""

    def __init__(self, network: Network) -> None:
        self.network = network
        self.lower: list[float] = []
        self.upper: list[float] = []
        # Of each size at least as much is cut as the arcs ask for.
        self.demand = {i: self._row(0.0, None) for i in sorted(network.active)}
        # Each surface has one layout.
        self.surface = [self._row(1.0, 1.0) for _ in network.layouts]
        # What comes into a node goes out again; a segment's path begins in the share of its layout.
        self.node: dict[tuple[int, int], int] = {}
        for s, segment in enumerate(network.segments):
            for i in sorted({arc.tail for arc in segment.arcs}):
                self.node[s, i] = self._row(0.0, 0.0)
        # Of the joints of a clash no more is used than of their layout.
        self.clash = [self._row(None, 0.0) for _ in network.clashes]
        # Owned sheets are used as often as there are. Sheets on sale have rows that count them,
        # which bind only in parts that limit the count.
        self.limit = {
            i: self._row(None, float(stock.limit))
            for i, stock in enumerate(network.stock)
            if stock.limit is not None
        }
        self.count = {
            i: self._row(0.0, None) for i, stock in enumerate(network.stock) if stock.limit is None
        }
        self.total = self._row(0.0, None)

    def _row(self, lower: float | None, upper: float | None) -> int:
        self.lower.append(float("-inf") if lower is None else lower)
        self.upper.append(float("inf") if upper is None else upper)
        return len(self.lower) - 1

    def layout_column(self, surface: int, layout: int) -> dict[int, float]:
        entries = {self.surface[surface]: 1.0}
        for s in self.network.of_layout[surface, layout]:
            entries[self.node[s, 0]] = -1.0
        for number, clash in enumerate(self.network.clashes):
            if (clash.surface, clash.layout) == (surface, layout):
                entries[self.clash[number]] = -1.0
        return entries

    def clashes_of(self) -> dict[tuple[int, int], list[int]]:
        clashes: dict[tuple[int, int], list[int]] = {}
        for number, clash in enumerate(self.network.clashes):
            for joint in clash.joints:
                clashes.setdefault(joint, []).append(self.clash[number])
        return clashes

    def pattern_column(self, pattern: Pattern) -> dict[int, float]:
        entries: dict[int, float] = {}
        for size in pattern.sizes:
            entries[self.demand[size]] = entries.get(self.demand[size], 0.0) + 1.0
        if pattern.stock in self.limit:
            entries[self.limit[pattern.stock]] = 1.0
        else:
            entries[self.count[pattern.stock]] = entries[self.total] = 1.0
        return entries

    def bounds(self, limits: Limits) -> list[tuple[int, float, float]]:
        """Row bounds of the numbers of sheets within `limits`."""
        row_bounds = []
        for row, (low, high) in [(self.total, limits.total)] + [
            (row, limits.count(i)) for i, row in self.count.items()
        ]:
            row_bounds.append((row, float(low), float("inf") if high is None else float(high)))
        return row_bounds


class Columns:
    """Columns gathered in the solver's own form."""

    def __init__(self) -> None:
        self.cost: list[float] = []
        self.upper: list[float] = []
        self.starts: list[int] = []
        self.index: list[int] = []
        self.value: list[float] = []

    def add(self, cost: float, entries: dict[int, float], upper: float = float("inf")) -> int:
        self.cost.append(cost)
        self.upper.append(upper)
        self.starts.append(len(self.index))
        self.index += entries.keys()
        self.value += entries.values()
        return len(self.cost) - 1

    def load(self, highs: highspy.Highs) -> None:
        import numpy as np

        count = len(self.cost)
        highs.addCols(
            count,
            np.array(self.cost),
            np.zeros(count),
            np.array(self.upper),
            len(self.index),
            np.array(self.starts, dtype=np.int32),
            np.array(self.index, dtype=np.int32),
            np.array(self.value),
        )


def arc_entries(
    network: Network,
    rows: ConstraintRows,
    s: int,
    k: int,
    clashes: dict[tuple[int, int], list[int]],
) -> dict[int, float]:
    """The column of a segment's k-th arc: into its head, out of its tail, one piece asked for."""
    segment = network.segments[s]
    arc = segment.arcs[k]
    entries = {rows.node[s, arc.tail]: 1.0}
    if (s, arc.head) in rows.node:
        entries[rows.node[s, arc.head]] = -1.0
        for row in clashes.get((s, arc.head), ()):
            entries[row] = 1.0
    if arc.size is not None:
        entries[rows.demand[arc.size]] = -1.0
    return entries


class Relaxation:
    """Column generation on a network. After `solve`, `dual` holds the proven bound, `patterns` the
    columns."""

    def __init__(
        self,
        network: Network,
        seed: Iterable[Pattern] = (),
        *,
        source: Source | None = None,
        until: Callable[[], float] | None = None,
        opening: bool = True,
    ) -> None:
        """`seed` are patterns to begin with, with those of the source's `opening` where asked."""
        import numpy as np

        self.until = until
        self.impossible = False
        self.network = network
        self.source = source or ByKnapsack(network)
        self.rows = ConstraintRows(network)
        self.links = links(network)
        # Shortest first: a pass over the links in this order carries a value from link to link all
        # the way up, and a pass backwards carries it down.
        self.upward = sorted(
            self.links,
            key=lambda link: (network.sizes[link[1]].length, network.sizes[link[1]].width, link),
        )
        self.patterns: list[Pattern] = []
        self.known: set[tuple[int, tuple[int, ...]]] = set()
        self.dual: Dual | None = None
        self.value = float("inf")
        self.rounds = 0
        self.highs = new_highs()

        infinite = float("inf")
        count = len(self.rows.lower)
        self.highs.addRows(
            count,
            np.array(self.rows.lower),
            np.array(self.rows.upper),
            0,
            np.zeros(count, dtype=np.int32),
            np.array([], dtype=np.int32),
            np.array([]),
        )

        columns = Columns()
        clashes = self.rows.clashes_of()
        self.layouts = [(s, index) for s, kept in enumerate(network.layouts) for index in kept]
        for s, index in self.layouts:
            columns.add(float(network.layout_hours(s, index)), self.rows.layout_column(s, index))
        self.arcs = [
            (s, k) for s, segment in enumerate(network.segments) for k in range(len(segment.arcs))
        ]
        for s, k in self.arcs:
            segment = network.segments[s]
            cost = segment.cost(segment.arcs[k]) / MONEY
            columns.add(cost, arc_entries(network, self.rows, s, k, clashes), infinite)
        for larger, smaller in self.links:
            columns.add(0.0, {self.rows.demand[larger]: -1.0, self.rows.demand[smaller]: 1.0})
        # A piece may be had at a price no plan pays, so that every part of the problem has a
        # solution.
        dear = 40.0 * max((stock.price for stock in network.stock), default=1) + 1.0
        for row in self.rows.demand.values():
            columns.add(dear, {row: 1.0})

        self.first_pattern = len(columns.cost)
        self.limits = EVERYTHING
        columns.load(self.highs)
        # The programme is solved again after every few columns, from where it stood; presolve would
        # throw that away each time.
        self.highs.setOptionValue("presolve", "off")
        self._large = len(network.active) >= _CALM_FROM
        self.add(seed)
        if opening:
            self.add(self.source.opening())

    def add(self, patterns: Iterable[Pattern]) -> int:
        """Add the patterns that are not there yet. Returns how many were new."""
        columns = Columns()
        for pattern in patterns:
            key = (pattern.stock, pattern.sizes)
            if key in self.known or not key[1]:
                continue
            self.known.add(key)
            self.patterns.append(pattern)
            columns.add(
                float(self.network.stock[pattern.stock].price), self.rows.pattern_column(pattern)
            )
        if columns.cost:
            columns.load(self.highs)
        return len(columns.cost)

    def useful(self, most: int) -> list[Pattern]:
        """Up to `most` patterns that are worth most of what they cost at the prices of the last
        bound."""
        if self.dual is None:
            return self.patterns[:most]
        sizes, cost = self.dual.prices.sizes, self.dual.stock
        return sorted(
            self.patterns,
            key=lambda pattern: (
                cost[pattern.stock] - sum(sizes[size] for size in pattern.sizes),
                pattern.stock,
                pattern.sizes,
            ),
        )[:most]

    def within(self, limits: Limits) -> None:
        """Turn to a part of the problem; `dual` and `value` are of that part from the next `solve`
        on."""
        import numpy as np

        self.dual, self.value = None, float("inf")
        # bounds move: dual steps go on from the solution before
        self.highs.setOptionValue("simplex_strategy", 1)
        if limits.layouts != self.limits.layouts or limits.arcs != self.limits.arcs:
            # What is ruled out stays in the programme with a bound of zero, so that the basis fits
            # every part.
            upper = [0.0 if key in limits.layouts else 1.0 for key in self.layouts]
            upper += [0.0 if key in limits.arcs else float("inf") for key in self.arcs]
            count = len(upper)
            self.highs.changeColsBounds(
                count, np.arange(count, dtype=np.int32), np.zeros(count), np.array(upper)
            )
        for row, low, high in self.rows.bounds(limits):
            self.highs.changeRowBounds(row, low, high)
        self.limits = limits

    def run(self) -> bool:
        """Solve the programme as it stands. Returns whether it has a solution, which is then in
        `value` and `solution`."""
        import highspy

        if self.until is not None:
            self.highs.setOptionValue(
                "time_limit", self.highs.getRunTime() + max(0.01, self.until())
            )

        self.highs.run()
        if len(self.network.active) >= _PRIMAL_FROM:
            # Columns come to a solved programme from now on: primal steps go on from there, where
            # it is large.
            self.highs.setOptionValue("simplex_strategy", 4)

        status = self.highs.getModelStatus()
        # Only the solver's own word counts as no solution: a time limit or a fault proves nothing.
        self.impossible = status == highspy.HighsModelStatus.kInfeasible
        if status != highspy.HighsModelStatus.kOptimal:
            self.value = float("inf")
            return False
        self.value = self.highs.getInfo().objective_function_value
        self.solution = self.highs.getSolution()
        return True

    def solve(
        self,
        *,
        most_rounds: int = 400,
        cutoff: int | None = None,
        stop: Callable[[], bool] | None = None,
        close: int = CLOSE,
        counting: bool = True,
        mending: bool = True,
    ) -> Dual | None:
        """Add columns until the proven bound lies within `close` of the programme's value, or
        reaches `cutoff` (both as `Dual.value`). With `counting` patterns that the solution uses and
        no plan can use are ruled out on the way. With `mending` the last bound is raised where
        lengths are rounded.

        Returns the dual with the best bound; None where the part of the problem has no plan.
        """
        values: list[float] = []
        for _ in range(most_rounds):
            self.rounds += 1
            if not self.run():
                if self.impossible:
                    self.dual = None
                return self.dual

            prices = self.prices(self.solution.row_dual)
            # Far from the end a large programme's prices swing: price halfway from those of the
            # best bound.
            calm = self._calm(prices) if self._large and self.dual is not None else prices
            # Whatever prices are used, the bound they give is true; better prices only make it
            # higher.
            added = self._price(calm)

            if self.dual is None:
                return None
            if (cutoff is not None and self.dual.value >= cutoff) or (stop is not None and stop()):
                break
            values.append(self.value)
            # Where lengths are rounded, programme and bound do not meet by themselves: it ends when
            # they lie near each other and the programme hardly moves.
            rounded = not self.network.exact and close > CLOSE
            if (
                rounded
                and len(values) > _STALLED
                and (values[-_STALLED - 1] - self.value) * MONEY < close
                and self.value * MONEY - self.dual.value < self.dual.value // 40
            ):
                break
            # The programme over all patterns lies between the two, so nothing much can come once
            # they meet. Where halfway prices added nothing, the programme's own prices are tried
            # before it ends.
            near = self.value * MONEY - self.dual.value < close
            if (near or (not added and (calm is prices or not self._price(prices)))) and not (
                counting and self._count()
            ):
                break
        if mending:
            self._mend_bound(stop)
        return self.dual

    def _mend_bound(self, stop: Callable[[], bool] | None) -> None:
        """Raise the bound where lengths are rounded: what is a hair too long for its sheet brings
        down the prices of its own sizes, and not all of them."""
        if self.dual is None or self.network.exact or not isinstance(self.source, ByKnapsack):
            return
        prices, costs = self.prices(self.solution.row_dual), self.costs(self.solution.row_dual)
        for _ in range(_MENDS):
            if stop is not None and stop():
                return
            over, worth = self.source.rounded_down(prices.sizes, costs)
            dual = settle(self.network, prices, worth, self.limits)
            if dual is not None and dual.value > self.dual.value:
                self.dual = dual
            mended = self._mended(prices, over)
            if mended.sizes == prices.sizes:
                return
            prices = mended

    def _count(self) -> bool:
        """Rule out what the solution uses and no plan can use. Returns whether there was
        anything."""
        import numpy as np

        values = self.solution.col_value
        used = [
            (pattern, values[i])
            for i, pattern in enumerate(self.patterns, start=self.first_pattern)
            if i < len(values) and values[i] > _USED
        ]
        if not self.source.count(used):
            return False
        gone = [
            i
            for i, pattern in enumerate(self.patterns, start=self.first_pattern)
            if not self.source.offers(pattern)
        ]
        # A column that is ruled out is fixed at zero and not removed, so that the numbers of all
        # others stay.
        none = np.zeros(len(gone))
        self.highs.changeColsBounds(len(gone), np.array(gone, dtype=np.int32), none, none)
        return True

    def _price(self, prices: Prices) -> int:
        """Add the patterns worth more than they cost at these prices, and take their bound; how
        many were new.

        Prices are then mended where those patterns show them too high, and tried again: a bound
        that gives way in the few sizes of a bad pattern loses less than one that brings every price
        down.
        """
        costs = self.costs(self.solution.row_dual)
        priced: list[Pattern] = []
        for turn in range(self.source.mends + 1):
            helpful, worth = self.source.price(prices.sizes, costs)
            priced += helpful[: _MOST_COLUMNS if turn == 0 else _MOST_COLUMNS // 4]
            mended = (
                self._mended(prices, helpful[:_MOST_COLUMNS])
                if turn < self.source.mends
                else prices
            )
            if mended.sizes == prices.sizes:
                break
            prices = mended

        # The bound is worked out in whole numbers from the prices alone. That they came from a
        # solver in floats makes it no less true.
        if worth is None:
            worth = self.source.worth(prices.sizes)
        dual = settle(self.network, prices, worth, self.limits)
        if dual is None:
            self.dual = None
            return 0
        if self.dual is None or dual.value > self.dual.value:
            self.dual = dual
        return self.add(priced)

    def _mended(self, prices: Prices, patterns: Sequence[Pattern]) -> Prices:
        """Prices at which none of these patterns is worth more than its sheet costs."""
        sizes = list(prices.sizes)
        cost = self.costs(self.solution.row_dual)
        for pattern in patterns:
            most, worth = cost[pattern.stock], sum(sizes[size] for size in pattern.sizes)
            if worth > most:
                for size in set(pattern.sizes):
                    # Every size of the pattern gives way in the same measure, until the pattern is
                    # worth its sheet.
                    sizes[size] = sizes[size] * most // worth
        # A smaller size may then not be worth more than one that can stand in for it.
        for larger, smaller in reversed(self.upward):
            sizes[smaller] = min(sizes[smaller], sizes[larger])
        return Prices(tuple(sizes), prices.clashes, prices.sheet)

    def _calm(self, prices: Prices) -> Prices:
        """Halfway between these prices and those of the best bound so far."""
        assert self.dual is not None
        before = self.dual.prices
        return Prices(
            tuple(
                (one + other) // 2 for one, other in zip(prices.sizes, before.sizes, strict=True)
            ),
            tuple(
                (one + other) // 2
                for one, other in zip(prices.clashes, before.clashes, strict=True)
            ),
            (prices.sheet + before.sheet) // 2,
        )

    def prices(self, duals: Sequence[float]) -> Prices:
        """The prices that dual values of the rows stand for."""
        rows = self.rows
        sizes = [0] * len(self.network.sizes)
        for i, row in rows.demand.items():
            # Prices become whole numbers here, and all that is proven later rests on these whole
            # numbers.
            sizes[i] = max(0, int(duals[row] * MONEY))
        # A larger size is worth no less than one it can stand in for: exactly, so that no pattern
        # falls between.
        for larger, smaller in self.upward:
            sizes[larger] = max(sizes[larger], sizes[smaller])
        clashes = tuple(max(0, int(-duals[row] * MONEY)) for row in rows.clash)
        return Prices(tuple(sizes), clashes, int(duals[rows.total] * MONEY))

    def costs(self, duals: Sequence[float]) -> dict[int, int]:
        """What one sheet of each stock costs at these duals, the rent of scarce ones included."""
        cost = {i: max(0, int(-duals[row] * MONEY)) for i, row in self.rows.limit.items()}
        for i, row in self.rows.count.items():
            cost[i] = self.network.stock[i].price * MONEY - int(
                (duals[row] + duals[self.rows.total]) * MONEY
            )
        return cost
