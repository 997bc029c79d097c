"""Where a programme's patterns come from: the best of all by knapsack, or out of a list that holds
all that count."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from math import prod
from typing import Any

from takeoff.solve.compatible import Compatible
from takeoff.solve.knapsack import Pattern, Pricer, stock_groups
from takeoff.solve.network import MONEY, Network
from takeoff.solve.patterns import TooMany, patterns_within

__all__ = ["ByKnapsack", "BySearch", "Listed", "Source"]

_WAYS = 64  # ways two strips may share groups of ends that are counted at most; each costs time
# How much more than it costs a pattern must be worth to be searched for, the most first: the last
# is let go.
_BEYOND = tuple(MONEY * part // 100 for part in (4000, 1000, 200, 20, 1))


class Source(ABC):
    """Patterns for given values of the piece sizes (`MONEY` parts, one a size). `mends` is how
    often prices are mended a round where they turn out too high."""

    mends = 0

    def opening(self) -> list[Pattern]:
        """Patterns to begin with."""
        return []

    @abstractmethod
    def price(
        self, values: Sequence[int], costs: Mapping[int, int]
    ) -> tuple[list[Pattern], dict[int, int] | None]:
        """Patterns that are worth more than they cost, the greatest surplus first, and for each
        stock what its best pattern is worth at most, where that is known then: else `worth` says
        it."""

    def worth(self, values: Sequence[int]) -> dict[int, int]:
        """The most any pattern of each stock is worth, never less than the truth."""
        raise NotImplementedError("this source's prices come with what patterns are worth")

    def count(self, used: Iterable[tuple[Pattern, float]]) -> bool:
        """Rule out patterns of a solution that no plan can use. `used` are the solution's patterns
        with how often each is used. Returns whether anything was ruled out."""
        return False

    def offers(self, pattern: Pattern) -> bool:
        """Whether the pattern is not ruled out."""
        return True


class ByKnapsack(Source):
    """All patterns of a network, but for those whose strips together hold more of a group of ends
    than any plan does, as far as such groups are counted."""

    mends = 2

    def __init__(self, network: Network, like: ByKnapsack | None = None) -> None:
        """Groups counted in `like`, of the same pool, are counted here from the first."""
        self.network = network
        self.stock_groups = stock_groups(network)
        if like is not None:
            counted = {
                stock_group.stock: like.named(stock_group.shared)
                for stock_group in like.stock_groups
            }
            self.stock_groups = [
                replace(stock_group, shared=self._numbers(counted.get(stock_group.stock, ())))
                for stock_group in self.stock_groups
            ]
        self._of_stock = {
            i: number
            for number, stock_group in enumerate(self.stock_groups)
            for i in stock_group.stock
        }

    def opening(self) -> list[Pattern]:
        """For each size the patterns that would use it well if pieces were worth their area."""
        network = self.network
        rates = [
            one.price * MONEY / (one.length * one.width)
            for one in network.stock
            if one.limit is None
        ]

        # Only where to begin: any values would do, for the programme asks for what it misses.
        rate = max(rates, default=1.0) or 1.0
        values = [int(rate * size.length * size.width) + 1 for size in network.sizes]
        patterns: list[Pattern] = []
        for stock_group in self.stock_groups:
            patterns += _opening(network, Pricer(network, stock_group, values, up=True))
        return patterns

    def price(
        self, values: Sequence[int], costs: Mapping[int, int]
    ) -> tuple[list[Pattern], dict[int, int] | None]:
        worth: dict[int, int] = {}
        patterns: list[Pattern] = []
        for stock_group in self.stock_groups:
            pricer = Pricer(self.network, stock_group, values, up=True)
            worth |= {i: pricer.value(i) for i in stock_group.stock}
            patterns += _with_each_size(pricer, costs)
        return patterns, worth if self.network.exact else None

    def worth(self, values: Sequence[int]) -> dict[int, int]:
        return self.rounded_down(values, {})[1]

    def rounded_down(
        self, values: Sequence[int], costs: Mapping[int, int]
    ) -> tuple[list[Pattern], dict[int, int]]:
        """As `price`, over all that fits where lengths are rounded down: that is every pattern, and
        some that are a hair too long."""
        worth: dict[int, int] = {}
        patterns: list[Pattern] = []
        for stock_group in self.stock_groups:
            pricer = Pricer(self.network, stock_group, values, up=False)
            worth |= {i: pricer.value(i) for i in stock_group.stock}
            if costs:
                patterns += _with_each_size(pricer, costs)
        return patterns, worth

    def count(self, used: Iterable[tuple[Pattern, float]]) -> bool:
        most = self.network.most
        over: dict[tuple[int, int], float] = {}
        for pattern, value in used:
            for group, held in self._ends_held(pattern).items():
                if held > most[group]:
                    key = (self._of_stock[pattern.stock], group)
                    over[key] = over.get(key, 0.0) + value
        # Groups that the solution overdraws most are counted first, while the ways to share stay
        # few.
        changed = False
        for (number, group), _ in sorted(over.items(), key=lambda one: (-one[1], one[0])):
            stock_group = self.stock_groups[number]
            if (
                group not in stock_group.shared
                and prod(most[counted] + 1 for counted in (*stock_group.shared, group)) <= _WAYS
            ):
                self.stock_groups[number] = replace(
                    stock_group, shared=(*stock_group.shared, group)
                )
                changed = True
        return changed

    def offers(self, pattern: Pattern) -> bool:
        number = self._of_stock.get(pattern.stock)
        shared = self.stock_groups[number].shared if number is not None else ()
        if not shared:
            return True
        return not any(
            held > self.network.most[group]
            for group, held in self._ends_held(pattern).items()
            if group in shared
        )

    def named(self, groups: Sequence[int]) -> list[int]:
        """A size of each of these groups."""
        return [
            min(size for size, of in self.network.ends.items() if of == group) for group in groups
        ]

    def _numbers(self, sizes: Iterable[int]) -> tuple[int, ...]:
        ends = self.network.ends
        return tuple(dict.fromkeys(ends[size] for size in sizes if size in ends))

    def _ends_held(self, pattern: Pattern) -> dict[int, int]:
        """How many pieces of each group of ends a pattern's strips hold."""
        ends = self.network.ends
        held: dict[int, int] = {}
        for strip in pattern.strips:
            for size in strip:
                if size in ends:
                    held[ends[size]] = held.get(ends[size], 0) + 1
        return held


class BySearch(Source):
    """The patterns that a plan can use, and no others, by search: slower a time, but no bound is
    worth more."""

    def __init__(
        self,
        knapsack: ByKnapsack,
        links: Sequence[tuple[int, int]],
        compatible: Compatible,
        *,
        most: int,
        steps: int,
        stop: Callable[[], bool] | None = None,
    ) -> None:
        """`most` patterns are given a time, and so many `steps` are searched."""
        self.network, self.knapsack, self.links, self.compatible = (
            knapsack.network,
            knapsack,
            links,
            compatible,
        )
        self._stop = stop
        self._most, self._steps = most, steps
        self._level = 0

    def price(
        self, values: Sequence[int], costs: Mapping[int, int]
    ) -> tuple[list[Pattern], dict[int, int]]:
        stock = [costs.get(i, 0) for i in range(len(self.network.stock))]
        patterns: list[Pattern] = []
        # Far from the end many patterns are worth far more than they cost, and only those are
        # sought. As these run out the search asks for less and less.
        whole = True
        while True:
            beyond = _BEYOND[self._level]
            try:
                patterns = patterns_within(
                    self.network,
                    self.knapsack.stock_groups,
                    values,
                    stock,
                    self.links,
                    -beyond,
                    most=self._most,
                    steps=self._steps,
                    compatible=self.compatible,
                    stop=self._stop,
                )
            except TooMany as many:
                patterns, whole = many.patterns, False
                self._level = 0  # far from the end: the next time the worst first
            if patterns or not whole or beyond == _BEYOND[-1]:
                break
            self._level += 1
        # The knapsack's bound is true for all patterns, and so for those of plans.
        worth = self.knapsack.worth(values)
        if whole and not patterns:
            # The search went through all and met nothing worth that much more than it costs: a
            # sharper bound than the knapsack's, and as true.
            worth = {i: min(most, costs[i] + beyond) for i, most in worth.items()}
        return patterns, worth


class Listed(Source):
    """The patterns of a list, and no others: a bound that rests on it is one of the plans cut from
    these alone."""

    def __init__(self, network: Network, patterns: Sequence[Pattern]) -> None:
        import numpy as np

        self.network, self.patterns = network, patterns
        widest = max((len(pattern.sizes) for pattern in patterns), default=0)
        # Short rows are filled up with one size more, whose value is always zero: so all patterns
        # are valued by one sum over a table.
        nothing = len(network.sizes)
        self._sizes: Any = np.full((len(patterns), widest), nothing, dtype=np.int64)
        for row, pattern in zip(self._sizes, patterns, strict=True):
            row[: len(pattern.sizes)] = pattern.sizes
        self._stock: Any = np.array([pattern.stock for pattern in patterns], dtype=np.int64)

    def price(
        self, values: Sequence[int], costs: Mapping[int, int]
    ) -> tuple[list[Pattern], dict[int, int]]:
        import numpy as np

        worth = self._each(values)
        cost = np.array([costs.get(i, 0) for i in range(len(self.network.stock))], dtype=np.int64)
        over = worth - cost[self._stock]
        better = np.flatnonzero(over > 0)
        # A stable order gives the same columns for the same prices on every machine.
        better = better[np.argsort(-over[better], kind="stable")]
        return [self.patterns[i] for i in better.tolist()], self._best(worth)

    def within(self, values: Sequence[int], costs: Sequence[int], gap: int) -> list[Pattern]:
        """Those that cost at most `gap` more than their pieces are worth."""
        return [self.patterns[i] for i in (self._over(values, costs) <= gap).nonzero()[0].tolist()]

    def best(self, values: Sequence[int], costs: Sequence[int], count: int) -> list[Pattern]:
        """Those `count` that cost the least more than their pieces are worth."""
        return [
            self.patterns[i]
            for i in self._over(values, costs).argsort(kind="stable")[:count].tolist()
        ]

    def _over(self, values: Sequence[int], costs: Sequence[int]) -> Any:
        import numpy as np

        return np.array(costs, dtype=np.int64)[self._stock] - self._each(values)

    def _each(self, values: Sequence[int]) -> Any:
        import numpy as np

        return np.array([*values, 0], dtype=np.int64)[self._sizes].sum(axis=1)

    def _best(self, worth: Any) -> dict[int, int]:
        return {
            i: int(worth[self._stock == i].max(initial=0)) for i in range(len(self.network.stock))
        }


def _with_each_size(pricer: Pricer, costs: Mapping[int, int]) -> list[Pattern]:
    """The best pattern of each stock, and with each full-width size; those that cost less than they
    are worth."""
    by_excess: list[tuple[int, Pattern]] = []
    for i in pricer.stock_group.stock:
        short = costs[i] - pricer.value(i)
        if short < 0:
            by_excess.append((short, pricer.pattern(i)))
    for size in pricer.stock_group.full:
        pricer.network.ask()
        short, i = min(
            (
                (
                    costs[i]
                    - pricer.values[size]
                    - int(pricer.best[pricer.capacity[i] - pricer.lengths[size]]),
                    i,
                )
                for i in pricer.stock_group.stock
                if pricer.lengths[size] <= pricer.capacity[i]
            ),
            default=(0, 0),
        )
        if short < 0:
            by_excess.append((short, pricer.pattern(i, using=size)))
    by_excess.sort(key=lambda pair: pair[0])
    return [pattern for _, pattern in by_excess]


def _opening(network: Network, pricer: Pricer) -> list[Pattern]:
    """The best pattern of each stock, and with each size."""
    # Where sizes are many each is tried with one stock only, so that the opening stays small.
    few = len(network.sizes) < 300
    stock = pricer.stock_group.stock
    patterns = [pricer.pattern(i) for i in stock if pricer.value(i)]
    for size in pricer.stock_group.full:
        network.ask()
        fitting = [i for i in stock if pricer.lengths[size] <= pricer.capacity[i]]
        if fitting and not few:
            cost = {
                i: network.stock[i].price * MONEY
                - int(pricer.best[pricer.capacity[i] - pricer.lengths[size]])
                for i in fitting
            }
            fitting = [min(fitting, key=lambda i: (cost[i], i))]
        patterns += [pricer.pattern(i, using=size) for i in fitting]
    for size in pricer.stock_group.ripped:
        network.ask()
        for i in stock if few else stock[:1]:
            if pricer.lengths[size] <= pricer.capacity[i]:
                pattern = pricer.ripped_pattern(i, size)
                if pattern is not None:
                    patterns.append(pattern)
    return patterns
