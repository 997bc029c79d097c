"""Every pattern that costs little more than its pieces are worth: all that a better plan can be cut
from.

Only patterns that a plan can use and that cannot be improved are listed: where a piece could be a
larger one of its group of ends, the programme reaches the lesser pattern through its links from
larger to smaller sizes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from takeoff.solve.compatible import Compatible
from takeoff.solve.knapsack import Pattern, Pricer, StockGroup
from takeoff.solve.network import Network
from takeoff.units import Nm

__all__ = ["TooMany", "patterns_within"]

_ENDLESS = 1 << 62
# steps, and patterns met, between one time and the next that is asked whether to stop
_ASK, _ASK_MET = 4096, 32


class TooMany(Exception):
    """More patterns than asked for lie within the threshold. `patterns` are those met on the
    way."""

    def __init__(self) -> None:
        super().__init__()
        self.patterns: list[Pattern] = []


@dataclass(slots=True)
class _Counter:
    steps: int
    stop: Callable[[], bool] | None

    def spend(self) -> None:
        self.steps -= 1
        if self.steps < 0 or (self.stop is not None and self.steps % _ASK == 0 and self.stop()):
            raise TooMany


def patterns_within(
    network: Network,
    groups: Sequence[StockGroup],
    values: Sequence[int],
    costs: Sequence[int],
    links: Sequence[tuple[int, int]],
    gap: int,
    *,
    most: int,
    steps: int | None = None,
    compatible: Compatible | None = None,
    stop: Callable[[], bool] | None = None,
) -> list[Pattern]:
    """All unimprovable patterns whose cost passes their worth by at most `gap`, in a fixed order;
    with `compatible` only those of a plan.

    `values` are what pieces of each size are worth, `costs` what a sheet of each stock costs, in
    `MONEY` parts. Raises `TooMany` past `most` of them, past so many `steps` of the search (forty
    times as many unless told), or where `stop` says so.
    """

    # A pattern is unimprovable where none of its pieces could be the next larger size, which is
    # worth as much or more. Any other pattern costs the same sheet and is worth no more than an
    # unimprovable one, so these are enough for a proof.
    larger: dict[int, list[int]] = {}
    for big, small in links:
        larger.setdefault(small, []).append(big)
    patterns: dict[tuple[int, tuple[int, ...]], Pattern] = {}
    spent = _Counter(40 * most if steps is None else steps, stop)
    met = 0
    try:
        for stock_group in groups:
            search = _Search(network, stock_group, values, costs, larger, gap, spent, compatible)
            for stock in stock_group.stock:
                for pattern in search.of(stock):
                    sizes = pattern.sizes
                    # Two rips may give the same sizes; for the programme that is one pattern.
                    if (stock, sizes) in patterns or not network.legal(stock, sizes):
                        continue
                    if compatible is None:
                        patterns[stock, sizes] = pattern
                    # A pattern no plan can cut as it is may stand for smaller ones that a plan can.
                    # Those are listed in its place, as large as they can be.
                    else:
                        # Looking whether a plan has a pattern takes long, so it asks more often.
                        met += 1
                        if stop is not None and met % _ASK_MET == 0 and stop():
                            raise TooMany
                        if not compatible.may_stand_for(sizes):
                            continue
                        for smaller in search.largest_of_a_plan(pattern, compatible):
                            patterns.setdefault((stock, smaller.sizes), smaller)
                    if len(patterns) > most:
                        raise TooMany
    # What was met on the way may still help as columns, though it proves nothing.
    except TooMany as many:
        many.patterns = list(patterns.values())
        raise
    return list(patterns.values())


@dataclass(frozen=True, slots=True)
class _Item:
    """A size as the search uses it: `growth` is the least length by which a larger one of its group
    passes it, `beside` the sizes that a plan can hold with it, as bits, `bit` its own."""

    size: int
    length: int
    value: int
    growth: int
    beside: int
    bit: int
    uses: int  # of the ways to share: see `_Search`
    most: int  # of its group, where that is shared


class _Search:
    """Depth-first over full-width pieces, longest first, then over the strips of each rip of what
    is left.

    How many pieces of shared groups the first strip holds is kept as one number in mixed radix: the
    row of a pricer's tables that the second strip is then left with.
    """

    def __init__(
        self,
        network: Network,
        stock_group: StockGroup,
        values: Sequence[int],
        costs: Sequence[int],
        larger: dict[int, list[int]],
        gap: int,
        steps: _Counter,
        compatible: Compatible | None,
    ) -> None:
        self.network, self.stock_group, self.gap, self.steps = network, stock_group, gap, steps
        self.cost, self.values = costs, values
        beside = dict.fromkeys(network.active, -1) if compatible is None else compatible.beside
        pricer = Pricer(network, stock_group, values, up=False)
        self.best: list[int] = pricer.best.tolist()
        self.rest: list[int] = pricer.rest.tolist()
        kerf = network.pool.kerf

        # The place value of each shared group in the mixed radix number that `_Search` tells of.
        radix, place = {}, 1
        for group in reversed(stock_group.shared):
            radix[group] = place
            place *= network.most[group] + 1

        def items(sizes: Sequence[int], shared: bool) -> list[_Item]:
            among = frozenset(sizes)
            made = []
            for i in sizes:
                longer = (network.sizes[j].length for j in larger.get(i, ()) if j in among)
                # How much room must be left for this piece to become the next larger one of the
                # same part.
                growth = min(longer, default=_ENDLESS) - network.sizes[i].length
                group = network.ends.get(i, -1)
                uses, most = (
                    (radix[group], network.most[group]) if shared and group in radix else (0, 0)
                )
                length = network.sizes[i].length + kerf
                made.append(_Item(i, length, values[i], growth, beside[i], 1 << i, uses, most))
            # Pieces are only ever added in this order, so no pattern is met twice.
            return sorted(made, key=lambda item: (-item.length, item.size))

        # A size no arc asks for has no place in any plan: its patterns are reached from smaller
        # ones.
        self.full = items([i for i in stock_group.full if i in beside], False)
        self.tables: dict[tuple[Nm, int], list[list[int]]] = {}
        self.in_strip: dict[tuple[Nm, int], list[_Item]] = {}
        alike: dict[tuple[int, ...], tuple[Nm, int]] = {}
        for strip, taken in stock_group.takes:
            # Strips that take the same sizes have the same tables, so these are made once.
            before = alike.setdefault(taken, strip)
            if before == strip:
                self.tables[strip] = pricer.ways(strip).tolist()
                self.in_strip[strip] = items([i for i in taken if i in beside], True)
            else:
                self.tables[strip], self.in_strip[strip] = (
                    self.tables[before],
                    self.in_strip[before],
                )

    def of(self, stock: int) -> Iterator[Pattern]:
        room = self.network.stock[stock].length + self.network.pool.kerf
        yield from self._full(stock, room, self.cost[stock] - self.gap, 0, (), _ENDLESS, -1)

    def largest_of_a_plan(self, pattern: Pattern, compatible: Compatible) -> Iterator[Pattern]:
        """The largest patterns that the given one stands for and that a plan can use as they
        are."""
        waiting, seen = [pattern], {pattern}
        while waiting:
            one = waiting.pop()
            self.steps.spend()
            sizes = one.sizes
            # Smaller patterns are worth no more, so nothing below this one lies within the gap.
            if self.cost[one.stock] - sum(self.values[size] for size in sizes) > self.gap:
                continue
            if compatible.together(sizes):
                yield one
                continue
            for less in _each_less(one, compatible.smaller):
                if less not in seen:
                    seen.add(less)
                    waiting.append(less)

    def _full(
        self,
        stock: int,
        room: int,
        need: int,
        first: int,
        held: tuple[int, ...],
        growth: int,
        beside: int,
    ) -> Iterator[Pattern]:
        """`need`: what the rest must still be worth; `growth`: the least length by which a held
        piece could grow; `beside`: the sizes that may come to it."""
        self.steps.spend()
        step = self.network.step
        if held and need <= 0 and room < growth:
            yield Pattern(stock, tuple(sorted(held)))
        # `rest` is the most a ripped part of this length can be worth: where that falls short no
        # pattern from here on is within the gap.
        if need <= self.rest[room // step]:
            yield from self._ripped(stock, room, need, held, growth, beside)
        for k in range(first, len(self.full)):
            item = self.full[k]
            rest = room - item.length
            # What no plan can hold beside the pieces held so far is passed over.
            if rest < 0 or not beside & item.bit:
                continue
            still = need - item.value
            # The same bound for all that may still come, full-width or ripped.
            if still <= self.best[rest // step]:
                yield from self._full(
                    stock,
                    rest,
                    still,
                    k,
                    (*held, item.size),
                    min(growth, item.growth),
                    beside & item.beside,
                )

    def _ripped(
        self, stock: int, room: int, need: int, held: tuple[int, ...], growth: int, beside: int
    ) -> Iterator[Pattern]:
        at = room // self.network.step
        full = tuple(sorted(held))
        for first, second in self.stock_group.rips:
            # Where both long edges are factory edges a pattern is met once: by the rip as wide as
            # its narrower strip.
            widest = first[0] if second and first[1] == second[1] else 0
            # What the second strip is worth at most, by what the first holds of shared groups.
            other = [row[at] for row in reversed(self.tables[second])] if second else [0]
            for one, worth, spare, used, with_one in self._strip(
                first, -1, room, need, other, beside
            ):
                if second is None:
                    if one and spare < growth:
                        yield Pattern(stock, full, (one,), None)
                    continue
                if widest and all(self.network.sizes[size].width < widest for size in one):
                    continue
                way = len(self.tables[second]) - 1 - used
                for two, _, rest, _, _ in self._strip(
                    second, way, room, need - worth, [0], with_one
                ):
                    if (one or two) and min(spare, rest) < growth:
                        yield Pattern(stock, full, (one, two), first[0])

    def _strip(
        self, strip: tuple[Nm, int], way: int, room: int, need: int, other: list[int], beside: int
    ) -> Iterator[tuple[tuple[int, ...], int, int, int, int]]:
        """The unimprovable fillings of a strip that, with what the `other` may hold, are worth at
        least `need`: (sizes, worth, length left, what is used up of the ways to share, sizes that
        may come to it)."""
        items, table, step = self.in_strip[strip], self.tables[strip][way], self.network.step
        last = len(other) - 1

        def fillings(
            room: int,
            first: int,
            held: tuple[int, ...],
            worth: int,
            growth: int,
            used: int,
            beside: int,
        ) -> Iterator[tuple[tuple[int, ...], int, int, int, int]]:
            self.steps.spend()
            # The most the second strip can be worth beside what this one holds of the shared
            # groups.
            partner = other[used] if last else other[0]
            # With room to make a piece larger it is not unimprovable, and is met again as the
            # larger one.
            if room < growth and worth + partner >= need:
                yield tuple(sorted(held)), worth, room, used, beside
            for k in range(first, len(items)):
                item = items[k]
                rest = room - item.length
                if (
                    rest >= 0
                    and beside & item.bit
                    and worth + item.value + table[rest // step] + partner >= need
                    and (not item.uses or used // item.uses % (item.most + 1) < item.most)
                ):
                    yield from fillings(
                        rest,
                        k,
                        (*held, item.size),
                        worth + item.value,
                        min(growth, item.growth),
                        used + item.uses,
                        beside & item.beside,
                    )

        yield from fillings(room, 0, (), 0, _ENDLESS, 0, beside)


def _each_less(pattern: Pattern, smaller: dict[int, list[int]]) -> Iterator[Pattern]:
    """The pattern with one piece a step smaller, in every way."""
    parts = (pattern.full, *pattern.strips)
    for number, part in enumerate(parts):
        for k, size in enumerate(part):
            for other in smaller.get(size, ()):
                changed = tuple(sorted((*part[:k], other, *part[k + 1 :])))
                less = (*parts[:number], changed, *parts[number + 1 :])
                yield Pattern(pattern.stock, less[0], less[1:], pattern.rip)
