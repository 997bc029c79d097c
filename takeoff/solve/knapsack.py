"""The most valuable pattern of a sheet: full-width pieces, then at most one rip of what is left
into two strips.

Values are whole numbers (`network.MONEY` parts of a cent), tables are 64-bit integers over grid
steps: exact.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from takeoff.solve.network import Network, PieceSize, Stock
from takeoff.units import Nm

__all__ = ["Pattern", "Pricer", "StockGroup", "fill", "stock_groups", "strip_takes"]

Table = Any  # a numpy array of int64; numpy's own generics say no more than this here


@dataclass(frozen=True, slots=True, order=True)
class Pattern:
    """How one sheet of stock is cut: sizes of its crosscut pieces, then of one or two strips (`at`
    is the first strip's width; None where the whole width is one strip, or nothing is ripped).
    Sizes are indices, sorted."""

    stock: int
    full: tuple[int, ...]
    strips: tuple[tuple[int, ...], ...] = ()
    rip: Nm | None = None

    @property
    def sizes(self) -> tuple[int, ...]:
        return tuple(sorted(self.full + tuple(size for strip in self.strips for size in strip)))


@dataclass(frozen=True, slots=True)
class StockGroup:
    """Stock that differs in length only: what may be cut from it, shortest first.

    `rips` are (first strip, second strip) with each strip as (width, factory edges); the second is
    None where there is one strip. `takes` are the sizes each strip may give, narrower strips before
    wider ones of as many edges. `shared` are groups of ends of which two strips side by side hold
    no more than a plan does: counting them costs time, so they are told as they turn out to matter.
    """

    width: Nm
    edges: int
    stock: tuple[int, ...]
    full: tuple[int, ...]
    ripped: tuple[int, ...]
    rips: tuple[tuple[tuple[Nm, int], tuple[Nm, int] | None], ...]
    takes: tuple[tuple[tuple[Nm, int], tuple[int, ...]], ...]
    shared: tuple[int, ...] = ()


def strip_takes(size: PieceSize, strip: tuple[Nm, int]) -> bool:
    """Whether a piece can come from a strip of that width and so many factory edges."""
    return size.width <= strip[0] and size.edges <= strip[1]


def stock_groups(
    network: Network, active: frozenset[int] | None = None, *, like: Iterable[StockGroup] = ()
) -> list[StockGroup]:
    """The groups of a network's stock, without those that serve no piece; of `active` sizes only
    where given.

    A group counts the same shared ends as the group of the same stock in `like`.
    """
    shared = {stock_group.stock: stock_group.shared for stock_group in like}
    sizes = sorted(network.active if active is None else active)
    groups: dict[tuple[Nm, int, bool, tuple[int, ...]], list[int]] = {}
    for index, stock in enumerate(network.stock):
        fitting = [i for i in sizes if network.sizes[i].length <= stock.length]
        # A table holds the best value of every length, so one table serves all lengths of a sheet.
        # Sheets of one width share their table when their pieces differ by length alone.
        barred = tuple(i for i in fitting if index not in network.sizes[i].from_sheets)
        if len(barred) < len(fitting):
            groups.setdefault(
                (stock.width, stock.edges, stock.owned is not None, barred), []
            ).append(index)

    made = []
    for (width, edges, owned, barred), members in groups.items():
        left_out = set(barred)
        longest = max(network.stock[i].length for i in members)
        full, ripped = [], []
        for i in sizes:
            size = network.sizes[i]
            if i in left_out or size.length > longest or not (owned or size.sheet_width == width):
                continue
            # A full-width piece is cut across the whole sheet, another comes out of a strip. A
            # strip has one factory edge at most: that of the side it lies on.
            if size.full and size.width == width:
                if size.edges <= edges:
                    full.append(i)
            elif size.width <= width and size.edges <= min(edges, 1):
                ripped.append(i)
        for some in (full, ripped):
            some.sort(key=lambda i: (network.sizes[i].length, i))

        rips = _rips(network, Stock(width, longest, edges, 0), ripped)
        takes = tuple(
            (strip, tuple(i for i in ripped if strip_takes(network.sizes[i], strip)))
            for strip in sorted(
                {strip for rip in rips for strip in rip if strip}, key=lambda strip: strip[::-1]
            )
        )
        made.append(
            StockGroup(
                width,
                edges,
                tuple(members),
                tuple(full),
                tuple(ripped),
                rips,
                takes,
                shared.get(tuple(members), ()),
            )
        )
    return made


def _rips(
    network: Network, stock: Stock, ripped: Sequence[int]
) -> tuple[tuple[tuple[Nm, int], tuple[Nm, int] | None], ...]:
    """The rips worth trying: one strip exactly as wide as a piece, the other the rest; or the width
    as one strip."""
    kerf = network.pool.kerf
    widths = sorted({network.sizes[i].width for i in ripped})
    if not widths:
        return ()

    # Of a sheet with one factory edge the first strip is the one that has it.
    low_edges, high_edges = (min(stock.edges, 1), 1 if stock.edges == 2 else 0)
    rips: list[tuple[tuple[Nm, int], tuple[Nm, int] | None]] = []
    seen: set[tuple[Nm, int]] = set()
    for width in widths:
        # Only widths of pieces are worth ripping at: a strip a little wider than its widest piece
        # holds no more.
        rest = Nm(stock.width - width - kerf)
        for first, second in ((width, rest), (rest, width)):
            if second < widths[0] or first < widths[0] or (first, 0) in seen:
                continue
            # Turned about, the same rip: where both strips have as many factory edges it is no
            # other one.
            if low_edges == high_edges and (second, 0) in seen:
                continue
            seen.add((first, 0))
            rips.append(((first, low_edges), (second, high_edges)))
    rips.append(((stock.width, low_edges), None))
    return tuple(rips)


def fill(capacity: int, items: Iterable[tuple[int, int]], upon: Table | None = None) -> Table:
    """Best value for each length 0..capacity, each (length, value) used as often as fits.
    Nondecreasing.

    `upon` is such a table of other items that may be used as well.
    """
    best = np.zeros(capacity + 1, dtype=np.int64) if upon is None else upon.copy()
    for length, value in items:
        # Doubling: after once, twice, four times ... more, every number of the item has been
        # offered, in a few passes over the table.
        times = 1
        while times * length <= capacity:
            here = best[times * length :]
            np.maximum(here, best[: capacity + 1 - times * length] + times * value, out=here)
            times *= 2
    return best


class _Items:
    """The sizes of a strip that are worth using at these values: no other is as short and worth as
    much.

    `inside` is a narrower strip, all of whose sizes this one takes too.
    """

    def __init__(
        self, sizes: Table, lengths: Table, values: Table, capacity: int, inside: _Items | None
    ) -> None:
        kept = _worth_using(sizes, lengths, values, capacity)
        self.sizes: list[int] = kept.tolist()
        self.lengths, self.values = lengths[kept], values[kept]
        # The narrower strip's table has its sizes in it already, so only the new ones are filled
        # in.
        known = frozenset(inside.sizes) if inside else frozenset()
        fresh = [
            (length, value)
            for size, length, value in zip(
                self.sizes, self.lengths.tolist(), self.values.tolist(), strict=True
            )
            if size not in known
        ]
        self.table: Table = fill(capacity, fresh, inside.table if inside else None)
        self._unpacked: dict[int, tuple[int, ...]] = {}

    def unpack(self, room: int) -> tuple[int, ...]:
        """Sizes whose values add up to `table[room]`, longest first."""
        table = self.table
        if table[room] <= 0:
            return ()
        # The least length of that value: it is made of pieces alone, with nothing left over.
        room = int(table.searchsorted(table[room]))
        sizes = self._unpacked.get(room)
        if sizes is None:
            fitting = int(self.lengths.searchsorted(room, side="right"))
            reached = table[room - self.lengths[:fitting]] + self.values[:fitting] == table[room]
            last = int(reached.nonzero()[0][-1])
            sizes = (self.sizes[last], *self.unpack(room - int(self.lengths[last])))
            self._unpacked[room] = sizes
        return sizes


def _worth_using(sizes: Table, lengths: Table, values: Table, capacity: int) -> Table:
    """Of `sizes`, shortest first, those that no other makes needless: as short and worth as
    much."""
    worth = values[sizes]
    # Shortest first, so the running maximum is the most that something as short is worth.
    before = np.concatenate(([0], np.maximum.accumulate(worth)[:-1])) if len(worth) else worth
    return sizes[(worth > before) & (lengths[sizes] <= capacity)]


class _Strip:
    """Best values of one strip, by how many pieces of each shared group it may hold at most.

    `tables` has a row for each way to share: of the first group 0, 1, ... `most[0]` pieces, for
    each of these so many of the second, and so on. The last row allows all, and the row as far from
    the end as another is from the beginning allows what that one leaves.
    """

    def __init__(
        self,
        base: _Items,
        groups: Sequence[Table],
        most: Sequence[int],
        lengths: Table,
        values: Table,
    ) -> None:
        self._base, self._most = base, most
        self._groups = [
            (sizes.tolist(), lengths[sizes].tolist(), values[sizes].tolist()) for sizes in groups
        ]
        self._levels: list[Table] = [base.table[None, :]]
        for (_, long, worth), count in zip(self._groups, most, strict=True):
            # Each row allows one piece of the group more than the row before: at every length it
            # takes the best of adding one to that row, or none.
            rows = [self._levels[-1]]
            for _ in range(count):
                more = rows[-1].copy()
                for length, value in zip(long, worth, strict=True):
                    np.maximum(
                        more[:, length:],
                        rows[-1][:, : more.shape[1] - length] + value,
                        out=more[:, length:],
                    )
                rows.append(more)
            self._levels.append(
                np.stack(rows, axis=1).reshape(-1, more.shape[1]) if count else rows[0]
            )
        self.tables: Table = self._levels[-1]

    def unpack(self, room: int, way: int = -1) -> tuple[int, ...]:
        """Sizes whose values add up to `tables[way][room]`."""
        way %= len(self.tables)
        held: list[int] = []
        for level in range(len(self._most), 0, -1):
            sizes, long, worth = self._groups[level - 1]
            table, way, count = self._levels[level], *divmod(way, self._most[level - 1] + 1)
            row = way * (self._most[level - 1] + 1)
            # The tables are read backwards: a piece belongs to the filling where the value minus
            # its own stands one row up, that much shorter.
            while count and table[row + count][room] > table[row][room]:
                for size, length, value in zip(sizes, long, worth, strict=True):
                    if (
                        length <= room
                        and table[row + count - 1][room - length] + value
                        == table[row + count][room]
                    ):
                        held.append(size)
                        room -= length
                        break
                count -= 1
        return (*held, *self._base.unpack(room))


class Pricer:
    """Best values of one stock group's sheets for given values of the piece sizes; tables for every
    capacity."""

    def __init__(
        self, network: Network, stock_group: StockGroup, values: Sequence[int], *, up: bool
    ) -> None:
        self.network, self.stock_group, self.values = network, stock_group, values
        measure = network.up if up else network.down
        kerf = network.pool.kerf
        # A kerf is added to every piece and to the sheet, which makes any number of cuts add up.
        # Where the grid is coarse, patterns round lengths up, so that they fit; bounds round them
        # down, so that none is missed.
        self.lengths = {
            i: measure(network.sizes[i].length + kerf)
            for i in (*stock_group.full, *stock_group.ripped)
        }
        self.capacity = {i: network.down(network.stock[i].length + kerf) for i in stock_group.stock}
        self.cap = max(self.capacity.values())
        worth = np.array(values, dtype=np.int64)
        lengths = np.zeros(len(worth), dtype=np.int64)
        for i, length in self.lengths.items():
            lengths[i] = length
        self._full = _Items(
            np.array(stock_group.full, dtype=np.int64), lengths, worth, self.cap, None
        )
        self.full = self._full.table
        self.steps = _steps(self.full)
        self._strips = self._fill_strips(lengths, worth)
        self.rest: Table = np.zeros(self.cap + 1, dtype=np.int64)
        for first, second in stock_group.rips:
            network.ask()
            # Whatever the first strip takes of the shared groups the second does without: the best
            # of all ways to share.
            np.maximum(self.rest, self._side_by_side(first, second).max(axis=0), out=self.rest)
        self.best = self._sum()

    def _fill_strips(self, lengths: Table, values: Table) -> dict[tuple[Nm, int], _Strip]:
        network, shared = self.network, self.stock_group.shared
        most = [network.most[group] for group in shared]
        strips: dict[tuple[Nm, int], _Strip] = {}
        known: dict[tuple[int, ...], _Strip] = {}
        inside: tuple[int, _Items] | None = None
        for strip, taken in self.stock_group.takes:
            if taken not in known:
                network.ask()
                of: dict[int, list[int]] = {group: [] for group in (-1, *shared)}
                for i in taken:
                    group = network.ends.get(i, -1)
                    of[group if group in of else -1].append(i)
                apart, *groups = (np.array(members, dtype=np.int64) for members in of.values())
                # Sizes in no shared group are filled in once, and the ways to share are laid over
                # them.
                base = _Items(
                    apart,
                    lengths,
                    values,
                    self.cap,
                    inside[1] if inside and inside[0] == strip[1] else None,
                )
                inside = (strip[1], base)
                groups = [_worth_using(group, lengths, values, self.cap) for group in groups]
                known[taken] = _Strip(base, groups, most, lengths, values)
            strips[strip] = known[taken]
        return strips

    def _side_by_side(self, first: tuple[Nm, int], second: tuple[Nm, int] | None) -> Table:
        """Best values of a rip, a row for each way its strips share."""
        one = self._strips[first].tables
        return one + self._strips[second].tables[::-1] if second else one[-1:]

    def ways(self, strip: tuple[Nm, int]) -> Table:
        """Best values of a strip of one of the group's rips, a row for each way to share, the last
        row sharing nothing; the row as far from the end as a way is from the beginning is what that
        way leaves."""
        return self._strips[strip].tables

    def strip(self, strip: tuple[Nm, int]) -> Table:
        """Best value of a strip of one of the group's rips, for each length, where it need not
        share."""
        return self._strips[strip].tables[-1]

    def _sum(self) -> Table:
        """Best of a full-width part and a ripped part that share the length."""
        if not self.stock_group.rips or not self.rest.any():
            return self.full
        if not self.full.any():
            return self.rest

        # A table only rises at a few lengths. Splitting the sheet there is enough: anywhere else a
        # little less length would do for the same value. The loop goes over the table with fewer
        # such lengths.
        few, many = self.full, self.rest
        steps_few, steps_many = self.steps, _steps(many)
        if len(steps_many) < len(steps_few):
            few, many, steps_few = many, few, steps_many
        best = np.maximum(few, many)
        for at in steps_few:
            np.maximum(best[at:], many[: self.cap + 1 - at] + few[at], out=best[at:])
        return best

    def pattern(self, stock: int, *, using: int | None = None) -> Pattern:
        """A pattern of that stock of the best value, or of the best that holds the full-width size
        `using`."""
        room = self.capacity[stock]
        held: tuple[int, ...] = ()
        if using is not None:
            room -= self.lengths[using]
            held = (using,)
        target = int(self.best[room])
        steps = self.steps[: int(self.steps.searchsorted(room, side="right"))]
        # The value is known; what is sought is a split of the sheet that reaches it.
        sums = self.full[steps] + self.rest[room - steps]
        at = int(steps[int((sums == target).argmax())])

        full = tuple(sorted(held + self._full.unpack(at)))
        rest = room - at
        worth = int(self.rest[rest])
        if worth == 0:
            return Pattern(stock, full)
        for first, second in self.stock_group.rips:
            # A row for each way to share, as in `_side_by_side`, at this one length.
            ways = self._strips[first].tables[:, rest]
            ways = ways + self._strips[second].tables[::-1, rest] if second else ways[-1:]
            at_best = ways == worth
            if at_best.any():
                way = int(at_best.argmax()) if second else -1
                cut = [self._strips[first].unpack(rest, way)]
                if second:
                    cut.append(self._strips[second].unpack(rest, -1 - way))
                return Pattern(
                    stock,
                    full,
                    tuple(tuple(sorted(strip)) for strip in cut),
                    first[0] if second else None,
                )
        raise AssertionError("the ripped part's value comes from one of its rips")

    def ripped_pattern(self, stock: int, using: int) -> Pattern | None:
        """The best pattern that holds the ripped size `using` in a strip; None where none fits."""
        room, length = self.capacity[stock], self.lengths[using]
        # Full-width pieces may take any length that leaves room for `using`.
        ends = self.steps[: int(self.steps.searchsorted(room - length, side="right"))]
        rest = room - ends
        best: tuple[int, int, int, int] | None = None
        for number, (first, second) in enumerate(self.stock_group.rips):
            for which, strip in enumerate((first, second)):
                if strip is None or not strip_takes(self.network.sizes[using], strip):
                    continue
                other = second if which == 0 else first
                total = (
                    self.full[ends]
                    + self.strip(strip)[rest - length]
                    + (self.strip(other)[rest] if other else 0)
                )
                k = int(total.argmax())
                if best is None or int(total[k]) > best[0]:
                    best = (int(total[k]), number, which, int(ends[k]))
        if best is None:
            return None
        _, number, which, at = best
        first, second = self.stock_group.rips[number]
        cut: list[tuple[int, ...]] = []
        for side, strip in enumerate((first, second)):
            if strip is not None:
                held = (using,) if side == which else ()
                cut.append(
                    tuple(
                        sorted(
                            held + self._strips[strip].unpack(room - at - (length if held else 0))
                        )
                    )
                )
        return Pattern(
            stock, tuple(sorted(self._full.unpack(at))), tuple(cut), first[0] if second else None
        )

    def value(self, stock: int) -> int:
        return int(self.best[self.capacity[stock]])


def _steps(table: Table) -> Table:
    """Where a nondecreasing table rises, and 0."""
    return np.concatenate(([0], np.flatnonzero(np.diff(table)) + 1))
