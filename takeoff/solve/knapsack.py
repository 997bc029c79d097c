"""The most valuable pattern of a sheet: full-width pieces, then at most one rip of what is left into two strips.

Values are whole numbers (`network.MONEY` parts of a cent), tables are 64-bit integers over grid steps: exact.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from takeoff.solve.network import Network, PieceSize, Stock
from takeoff.units import Nm

__all__ = ["Family", "Pattern", "Pricer", "families", "fill", "strip_takes"]

Table = Any  # a numpy array of int64; numpy's own generics say no more than this here


@dataclass(frozen=True, slots=True, order=True)
class Pattern:
    """How one sheet of stock is cut: sizes of its crosscut pieces, then of one or two strips (`at` is the first
    strip's width; None where the whole width is one strip, or nothing is ripped). Sizes are indices, sorted."""

    stock: int
    full: tuple[int, ...]
    strips: tuple[tuple[int, ...], ...] = ()
    rip: Nm | None = None

    @property
    def sizes(self) -> tuple[int, ...]:
        return tuple(sorted(self.full + tuple(size for strip in self.strips for size in strip)))


@dataclass(frozen=True, slots=True)
class Family:
    """Stock that differs in length only: what may be cut from it. `rips` are (first strip, second strip) with each
    strip as (width, factory edges); the second is None where there is one strip."""

    width: Nm
    edges: int
    stock: tuple[int, ...]
    full: tuple[int, ...]
    ripped: tuple[int, ...]
    rips: tuple[tuple[tuple[Nm, int], tuple[Nm, int] | None], ...]


def strip_takes(size: PieceSize, strip: tuple[Nm, int]) -> bool:
    """Whether a piece can come from a strip of that width and so many factory edges."""
    return size.width <= strip[0] and size.edges <= strip[1]


def families(network: Network, active: frozenset[int] | None = None) -> list[Family]:
    """The families of a network's stock, those that serve no piece left out; of `active` sizes only where given."""
    sizes = sorted(network.active if active is None else active)
    groups: dict[tuple[Nm, int, bool, tuple[int, ...]], list[int]] = {}
    for index, stock in enumerate(network.stock):
        fitting = [i for i in sizes if network.sizes[i].length <= stock.length]
        # Sheets of one width share their table when their pieces differ by length alone.
        barred = tuple(i for i in fitting if index not in network.sizes[i].from_sheets)
        if len(barred) < len(fitting):
            groups.setdefault((stock.width, stock.edges, stock.owned is not None, barred), []).append(index)
    made = []
    for (width, edges, owned, barred), members in groups.items():
        left_out = set(barred)
        longest = max(network.stock[i].length for i in members)
        full, ripped = [], []
        for i in sizes:
            size = network.sizes[i]
            if i in left_out or size.length > longest or not (owned or size.sheet_width == width):
                continue
            if size.full and size.width == width:
                if size.edges <= edges:
                    full.append(i)
            elif size.width <= width and size.edges <= min(edges, 1):
                ripped.append(i)
        rips = _rips(network, Stock(width, longest, edges, 0), ripped)
        made.append(Family(width, edges, tuple(members), tuple(full), tuple(ripped), rips))
    return made


def _rips(
    network: Network, stock: Stock, ripped: Sequence[int]
) -> tuple[tuple[tuple[Nm, int], tuple[Nm, int] | None], ...]:
    """The rips worth trying: one strip exactly as wide as a piece, the other the rest; or the width as one strip."""
    kerf = network.pool.kerf
    widths = sorted({network.sizes[i].width for i in ripped})
    if not widths:
        return ()
    low_edges, high_edges = (min(stock.edges, 1), 1 if stock.edges == 2 else 0)
    found: list[tuple[tuple[Nm, int], tuple[Nm, int] | None]] = []
    seen: set[tuple[Nm, int]] = set()
    for width in widths:
        rest = Nm(stock.width - width - kerf)
        for first, second in ((width, rest), (rest, width)):
            if second < widths[0] or first < widths[0] or (first, 0) in seen:
                continue
            if low_edges == high_edges and (second, 0) in seen:
                continue
            seen.add((first, 0))
            found.append(((first, low_edges), (second, high_edges)))
    found.append(((stock.width, low_edges), None))
    return tuple(found)


def fill(capacity: int, items: Iterable[tuple[int, int]]) -> Table:
    """Best value for each length 0..capacity, each (length, value) used as often as fits. Nondecreasing."""
    best = np.zeros(capacity + 1, dtype=np.int64)
    for length, value in items:
        times = 1
        while times * length <= capacity:
            here = best[times * length :]
            np.maximum(here, best[: capacity + 1 - times * length] + times * value, out=here)
            times *= 2
    return best


class _Items:
    """The sizes of a strip that are worth using at these values: no other is as short and worth as much."""

    def __init__(self, sizes: Iterable[int], lengths: dict[int, int], values: Sequence[int], capacity: int) -> None:
        self.sizes: list[int] = []
        top = 0
        for length, value, size in sorted((lengths[i], -values[i], i) for i in sizes):
            if -value > top and length <= capacity:
                top = -value
                self.sizes.append(size)
        self.lengths = np.array([lengths[i] for i in self.sizes], dtype=np.int64)
        self.values = np.array([values[i] for i in self.sizes], dtype=np.int64)
        self.table = fill(capacity, zip(self.lengths.tolist(), self.values.tolist(), strict=True))

    def unpack(self, room: int) -> tuple[int, ...]:
        """Sizes whose values add up to `table[room]`, longest first."""
        found: list[int] = []
        table = self.table
        while table[room] > 0:
            room = int(np.searchsorted(table, table[room], side="left"))
            fitting = int(np.searchsorted(self.lengths, room, side="right"))
            reached = table[room - self.lengths[:fitting]] + self.values[:fitting] == table[room]
            last = int(np.flatnonzero(reached)[-1])
            found.append(self.sizes[last])
            room -= int(self.lengths[last])
        return tuple(found)


class Pricer:
    """Best values of one family's sheets for given values of the piece sizes; tables for every capacity."""

    def __init__(self, network: Network, family: Family, values: Sequence[int], *, up: bool) -> None:
        self.network, self.family, self.values = network, family, values
        measure = network.up if up else network.down
        kerf = network.pool.kerf
        self.lengths = {i: measure(network.sizes[i].length + kerf) for i in (*family.full, *family.ripped)}
        self.capacity = {i: network.down(network.stock[i].length + kerf) for i in family.stock}
        self.cap = max(self.capacity.values())
        self._full = _Items(family.full, self.lengths, values, self.cap)
        self.full = self._full.table
        self.steps = _steps(self.full)
        self._strips: dict[tuple[Nm, int], _Items] = {}
        for rip in family.rips:
            for strip in rip:
                if strip is not None and strip not in self._strips:
                    taken = [i for i in family.ripped if strip_takes(network.sizes[i], strip)]
                    self._strips[strip] = _Items(taken, self.lengths, values, self.cap)
        self.rest: Table = np.zeros(self.cap + 1, dtype=np.int64)
        for first, second in family.rips:
            worth = self.strip(first) + self.strip(second) if second else self.strip(first)
            np.maximum(self.rest, worth, out=self.rest)
        self.best = self._sum()

    def strip(self, strip: tuple[Nm, int]) -> Table:
        """Best value of a strip of one of the family's rips, for each length."""
        return self._strips[strip].table

    def _sum(self) -> Table:
        """Best of a full-width part and a ripped part that share the length."""
        if not self.family.rips or not self.rest.any():
            return self.full
        if not self.full.any():
            return self.rest
        few, many = self.full, self.rest
        steps_few, steps_many = self.steps, _steps(many)
        if len(steps_many) < len(steps_few):
            few, many, steps_few = many, few, steps_many
        best = np.maximum(few, many)
        for at in steps_few:
            np.maximum(best[at:], many[: self.cap + 1 - at] + few[at], out=best[at:])
        return best

    def pattern(self, stock: int, *, using: int | None = None) -> Pattern:
        """A pattern of that stock of the best value, or of the best that holds the full-width size `using`."""
        room = self.capacity[stock]
        held: tuple[int, ...] = ()
        if using is not None:
            room -= self.lengths[using]
            held = (using,)
        target = int(self.best[room])
        steps = self.steps[: int(np.searchsorted(self.steps, room, side="right"))]
        sums = self.full[steps] + self.rest[room - steps]
        at = int(steps[int(np.argmax(sums == target))])
        full = tuple(sorted(held + self._full.unpack(at)))
        left = room - at
        worth = int(self.rest[left])
        if worth == 0:
            return Pattern(stock, full)
        for first, second in self.family.rips:
            strips = [self._strips[strip] for strip in (first, second) if strip]
            if sum(int(strip.table[left]) for strip in strips) == worth:
                cut = tuple(tuple(sorted(strip.unpack(left))) for strip in strips)
                return Pattern(stock, full, cut, first[0] if second else None)
        raise AssertionError("the ripped part's value comes from one of its rips")

    def ripped_pattern(self, stock: int, using: int) -> Pattern | None:
        """The best pattern that holds the ripped size `using` in a strip; None where none fits."""
        room, length = self.capacity[stock], self.lengths[using]
        # Full-width pieces may take any length that leaves room for `using`.
        ends = self.steps[: int(np.searchsorted(self.steps, room - length, side="right"))]
        left = room - ends
        best: tuple[int, int, int, int] | None = None
        for number, (first, second) in enumerate(self.family.rips):
            for which, strip in enumerate((first, second)):
                if strip is None or not strip_takes(self.network.sizes[using], strip):
                    continue
                other = second if which == 0 else first
                total = self.full[ends] + self.strip(strip)[left - length] + (self.strip(other)[left] if other else 0)
                k = int(np.argmax(total))
                if best is None or int(total[k]) > best[0]:
                    best = (int(total[k]), number, which, int(ends[k]))
        if best is None:
            return None
        _, number, which, at = best
        first, second = self.family.rips[number]
        cut: list[tuple[int, ...]] = []
        for side, strip in enumerate((first, second)):
            if strip is not None:
                held = (using,) if side == which else ()
                cut.append(tuple(sorted(held + self._strips[strip].unpack(room - at - (length if held else 0)))))
        return Pattern(stock, tuple(sorted(self._full.unpack(at))), tuple(cut), first[0] if second else None)

    def value(self, stock: int) -> int:
        return int(self.best[self.capacity[stock]])


def _steps(table: Table) -> Table:
    """Where a nondecreasing table rises, and 0."""
    return np.concatenate(([0], np.flatnonzero(np.diff(table)) + 1))
