"""Every pattern that costs little more than its pieces are worth: all that a better plan can be cut from.

Only patterns that cannot be improved are listed: where a piece could be a larger one, or another piece fits, the
programme reaches the lesser pattern through its links from larger to smaller sizes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from takeoff.solve.bound import Dual
from takeoff.solve.knapsack import Family, Pattern, Pricer, strip_takes
from takeoff.solve.network import Network
from takeoff.units import Nm

__all__ = ["TooMany", "patterns_within"]


class TooMany(Exception):
    """More patterns than asked for lie within the threshold."""


@dataclass(slots=True)
class _Counter:
    left: int

    def spend(self) -> None:
        self.left -= 1
        if self.left < 0:
            raise TooMany


def patterns_within(
    network: Network,
    groups: list[Family],
    dual: Dual,
    links: list[tuple[int, int]],
    gap: int,
    *,
    most: int,
) -> list[Pattern]:
    """All unimprovable patterns whose cost passes their worth by at most `gap`, in a fixed order.

    Raises `TooMany` past `most` of them, or past forty times as many steps of the search.
    """
    larger: dict[int, list[int]] = {}
    for big, small in links:
        larger.setdefault(small, []).append(big)
    found: dict[tuple[int, tuple[int, ...]], Pattern] = {}
    steps = _Counter(40 * most)
    for family in groups:
        search = _Search(network, family, dual, larger, gap, steps)
        for stock in family.stock:
            for pattern in search.of(stock):
                if not pattern.sizes or not network.legal(stock, pattern.sizes):
                    continue
                found.setdefault((stock, pattern.sizes), pattern)
                if len(found) > most:
                    raise TooMany
    return list(found.values())


class _Search:
    """Depth-first over full-width pieces, longest first, then over the strips of each rip of what is left."""

    def __init__(
        self,
        network: Network,
        family: Family,
        dual: Dual,
        larger: dict[int, list[int]],
        gap: int,
        steps: _Counter,
    ) -> None:
        self.network, self.family, self.gap, self.steps = network, family, gap, steps
        self.values = dual.prices.sizes
        self.cost = dual.stock
        pricer = Pricer(network, family, self.values, up=False)
        self.best: list[int] = pricer.best.tolist()
        self.rest: list[int] = pricer.rest.tolist()
        self.tables: dict[tuple[Nm, int], list[int]] = {
            strip: pricer.strip(strip).tolist() for rip in family.rips for strip in rip if strip is not None
        }
        kerf = network.pool.kerf
        self.length = {i: network.sizes[i].length + kerf for i in (*family.full, *family.ripped)}
        self.full = sorted(family.full, key=lambda i: (-self.length[i], i))
        # Where rooms differ in what gets in, one more piece may keep a sheet out: then no pattern is too empty.
        self.shortest_full = 1 << 62 if network.mixed else min((self.length[i] for i in family.full), default=1 << 62)
        self.shortest_ripped = min((self.length[i] for i in family.ripped), default=1 << 62)
        self.growth = {
            i: min(
                (self.length[j] - self.length[i] for j in larger.get(i, ()) if j in self.length),
                default=1 << 62,
            )
            for i in family.full
        }
        self.in_strip: dict[tuple[Nm, int], list[int]] = {}
        self.strip_growth: dict[tuple[Nm, int], dict[int, int]] = {}
        for strip in self.tables:
            taken = [i for i in family.ripped if strip_takes(network.sizes[i], strip)]
            self.in_strip[strip] = sorted(taken, key=lambda i: (-self.length[i], -network.sizes[i].width, i))
            held = set(taken)
            self.strip_growth[strip] = {
                i: min(
                    (self.length[j] - self.length[i] for j in larger.get(i, ()) if j in held),
                    default=1 << 62,
                )
                for i in taken
            }

    def of(self, stock: int) -> Iterator[Pattern]:
        room = self.network.stock[stock].length + self.network.pool.kerf
        need = self.cost[stock] - self.gap
        yield from self._full(stock, room, need, 0, (), 1 << 62)

    def _full(
        self, stock: int, room: int, need: int, first: int, held: tuple[int, ...], growth: int
    ) -> Iterator[Pattern]:
        """`need`: what the rest must still be worth; `growth`: the least length by which a held piece could grow."""
        self.steps.spend()
        step = self.network.step
        if need <= self.rest[room // step]:
            yield from self._ripped(stock, room, need, held, growth)
        for k in range(first, len(self.full)):
            i = self.full[k]
            left = room - self.length[i]
            if left < 0:
                continue
            still = need - self.values[i]
            if still <= self.best[left // step]:
                yield from self._full(stock, left, still, k, (*held, i), min(growth, self.growth[i]))

    def _ripped(self, stock: int, room: int, need: int, held: tuple[int, ...], growth: int) -> Iterator[Pattern]:
        if room < self.shortest_ripped or not self.family.rips:
            if held and need <= 0 and room < min(self.shortest_full, growth):
                yield Pattern(stock, tuple(sorted(held)))
            return
        step = self.network.step
        for first, second in self.family.rips:
            other = self.tables[second][room // step] if second else 0
            for one, worth, spare in self._strip(first, room, need - other):
                if second is None:
                    if spare < min(self.shortest_full, growth):
                        yield Pattern(stock, tuple(sorted(held)), (one,), None)
                    continue
                for two, _, left in self._strip(second, room, need - worth):
                    if min(spare, left) < min(self.shortest_full, growth):
                        yield Pattern(stock, tuple(sorted(held)), (one, two), first[0])

    def _strip(self, strip: tuple[Nm, int], room: int, need: int) -> Iterator[tuple[tuple[int, ...], int, int]]:
        """The unimprovable fillings of a strip worth at least `need`: (sizes, worth, length left)."""
        sizes, growth, table = self.in_strip[strip], self.strip_growth[strip], self.tables[strip]
        shortest = 1 << 62 if self.network.mixed else min((self.length[i] for i in sizes), default=1 << 62)
        step = self.network.step

        def fillings(
            room: int, first: int, held: tuple[int, ...], worth: int, least: int
        ) -> Iterator[tuple[tuple[int, ...], int, int]]:
            self.steps.spend()
            if room < min(shortest, least) and worth >= need:
                yield tuple(sorted(held)), worth, room
            for k in range(first, len(sizes)):
                i = sizes[k]
                left = room - self.length[i]
                if left >= 0 and worth + self.values[i] + table[left // step] >= need:
                    yield from fillings(left, k, (*held, i), worth + self.values[i], min(least, growth[i]))

        yield from fillings(room, 0, (), 0, 1 << 62)
