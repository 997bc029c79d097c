"""A lower bound from prices of piece sizes, in whole numbers alone.

Any prices give a bound (Lagrange): let each pattern be worth at most what its sheet costs, pay
those prices for the pieces of the courses, and no plan costs less than the cheapest courses. Prices
come from a linear programme in floating point; here they are made whole numbers, brought down until
an exact knapsack over all patterns finds none worth more than its sheet, and added up in integers.
So the bound holds whatever the solver did.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from takeoff.solve.network import MONEY, Network

__all__ = ["EVERYTHING", "Dual", "Limits", "Prices", "settle"]

# More than any path costs: it stands for "no way through".
FAR = 1 << 60


@dataclass(frozen=True, slots=True)
class Limits:
    """A part of the problem: arcs and layouts ruled out, and between how many sheets may be bought,
    of each stock and in all (no upper number where None)."""

    arcs: frozenset[tuple[int, int]] = frozenset()
    layouts: frozenset[tuple[int, int]] = frozenset()
    counts: tuple[tuple[int, int, int | None], ...] = ()
    total: tuple[int, int | None] = (0, None)

    def count(self, stock: int) -> tuple[int, int | None]:
        for index, low, high in self.counts:
            if index == stock:
                return low, high
        return 0, None


EVERYTHING = Limits()


@dataclass(frozen=True, slots=True)
class Prices:
    """Prices in `MONEY` parts of a cent: of each size, of each clash of joints, and of one sheet
    more being bought (above zero where more must be bought, below where fewer may)."""

    sizes: tuple[int, ...]
    clashes: tuple[int, ...]
    sheet: int = 0


@dataclass(slots=True)
class Dual:
    """A proven bound and what it says of each choice: how much more than the bound any plan using
    it must cost.

    `value` is in `MONEY` parts of a cent. `arc_excess[segment][k]` is for the segment's k-th arc,
    `layout_excess` by (surface, layout); `stock` is what one sheet of each stock costs at these
    prices, rent of owned ones included.
    """

    value: int
    prices: Prices
    stock: list[int]
    arc_excess: list[list[int]]
    layout_excess: dict[tuple[int, int], int]

    def cents(self, network: Network) -> Fraction:
        return Fraction(self.value, MONEY) + network.constant


def settle(
    network: Network,
    prices: Prices,
    worth: Mapping[int, int],
    limits: Limits = EVERYTHING,
) -> Dual | None:
    """The bound that `prices` prove, once they are brought down to what sheets cost; None where
    there is no plan.

    `worth` says for each stock what its best pattern is worth at `prices`; it may be more than the
    truth, never less. With `limits` the bound is of the plans within them.
    """
    sizes = prices.sizes
    low, high = limits.total
    sheet = prices.sheet
    if (sheet < 0 and high is None) or (sheet > 0 and not low):
        sheet = 0
    # A price on the number of sheets counts for the bound only where a limit on that number backs
    # it.
    # A reward for buying must leave a price to every sheet of which any number may be bought.
    endless = [
        i
        for i, stock in enumerate(network.stock)
        if stock.limit is None and limits.count(i)[1] is None
    ]
    sheet = min([sheet, *(network.stock[i].price * MONEY for i in endless)])
    total = sheet * low if sheet > 0 else sheet * (high or 0)
    cost = [stock.price * MONEY - (sheet if stock.limit is None else 0) for stock in network.stock]

    # Where a pattern of a sheet without limit is worth more than the sheet, the prices are no dual
    # solution. All prices of pieces are scaled down by one exact fraction, so that no pattern is
    # any more. Rounding down keeps that true.
    over = Fraction(1)
    for index, most in worth.items():
        if (
            network.stock[index].limit is None
            and limits.count(index)[1] is None
            and most > cost[index]
        ):
            over = min(over, Fraction(cost[index], most))
    if over < 1:
        sizes = tuple(size * over.numerator // over.denominator for size in sizes)
        worth = {i: most * over.numerator // over.denominator for i, most in worth.items()}

    # What is limited in number needs no scaling: its surplus is charged once for each sheet there
    # may be.
    for index, stock in enumerate(network.stock):
        fewest, number = limits.count(index) if stock.limit is None else (0, stock.limit)
        slack = cost[index] - worth.get(index, 0)
        # Rent on what is scarce, a reward for what must be bought: each sheet then costs what it is
        # worth.
        if slack < 0:
            total += slack * (number or 0)
            cost[index] -= slack
        elif fewest:
            total += slack * fewest
            cost[index] -= slack
    return _add_up(network, Prices(sizes, prices.clashes, sheet), cost, total, limits)


def _add_up(
    network: Network, prices: Prices, stock: list[int], total: int, limits: Limits
) -> Dual | None:
    # A priced clash costs its price at every joint of it that is used, and gives it back once for
    # its layout. So a layout with one of the joints pays nothing in sum; only one with two of them
    # would pay, and no plan has two.
    extra: dict[tuple[int, int], int] = {}
    of_layout: dict[tuple[int, int], int] = {}
    for clash, price in zip(network.clashes, prices.clashes, strict=True):
        if price:
            of_layout[clash.surface, clash.layout] = (
                of_layout.get((clash.surface, clash.layout), 0) - price
            )
            for joint in clash.joints:
                extra[joint] = extra.get(joint, 0) + price
    best: list[int] = []
    arc_excess: list[list[int]] = []
    for s, segment in enumerate(network.segments):
        nodes = len(segment.at)
        priced = [segment.costs[i] + extra.get((s, i), 0) for i in range(nodes)]
        cost = [
            priced[arc.head]
            + arc.cents * MONEY
            + (0 if arc.size is None else prices.sizes[arc.size])
            for arc in segment.arcs
        ]
        # The cheapest way to each node from the start, and from each node to the end. Arcs are in
        # order of tail, so one pass each way is enough.
        ahead = [0] + [FAR] * (nodes - 1)
        behind = [FAR] * (nodes - 1) + [0]
        if limits.arcs:
            cost = [FAR if (s, k) in limits.arcs else price for k, price in enumerate(cost)]
        for arc, price in zip(segment.arcs, cost, strict=True):
            ahead[arc.head] = min(ahead[arc.head], ahead[arc.tail] + price)
        for arc, price in zip(reversed(segment.arcs), reversed(cost), strict=True):
            behind[arc.tail] = min(behind[arc.tail], behind[arc.head] + price)
        best.append(behind[0])
        arc_excess.append(
            [
                ahead[arc.tail] + price + behind[arc.head] - behind[0]
                for arc, price in zip(segment.arcs, cost, strict=True)
            ]
        )
    layout_excess: dict[tuple[int, int], int] = {}
    for s, layouts in enumerate(network.layouts):
        if not layouts:
            return None
        # The cheapest layout of each surface goes into the bound: no plan costs less than these
        # together.
        totals = {
            index: sum(best[m] for m in network.of_layout[s, index])
            + of_layout.get((s, index), 0)
            + network.layout_hours(s, index) * MONEY
            for index in layouts
            if (s, index) not in limits.layouts
        }
        if not totals or min(totals.values()) >= FAR // 2:
            return None
        least = min(totals.values())
        total += least
        for index, value in totals.items():
            layout_excess[s, index] = value - least
            for m in network.of_layout[s, index]:
                # An arc of a layout that is not the cheapest costs the layout's own excess as well.
                arc_excess[m] = [excess + value - least for excess in arc_excess[m]]
    return Dual(total, prices, stock, arc_excess, layout_excess)
