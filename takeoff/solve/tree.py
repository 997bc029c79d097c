"""Branch and price: parts of the problem, each with its own proven bound, until no part can hold a
better plan.

A part is closed when its bound reaches the best plan, or when so few patterns are left in its gap
that the integer programme settles it. Otherwise it is split: in two, by the number of sheets, a
layout, a joint used or not, or where a course's first or last joint may be; or, where its courses
are whole, into a part for each way to differ from them, once cutting just those courses is settled.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from dataclasses import replace

from takeoff.solve.bound import EVERYTHING, Dual, Limits
from takeoff.solve.branch import Brancher, whole_arcs
from takeoff.solve.compatible import Compatible
from takeoff.solve.improvements import Improver
from takeoff.solve.knapsack import Pattern
from takeoff.solve.network import MONEY, Arc, shrink
from takeoff.solve.pattern_sources import ByKnapsack, BySearch, Listed
from takeoff.solve.patterns import TooMany, patterns_within
from takeoff.solve.relaxation import CLOSE, Relaxation, links

__all__ = ["Tree"]

# part of the gap by which a part may lie over the least bound and still be looked at next
_PLUNGE = 0.3
# rounds; seeded rooms take up to ten, and where twenty do not end it more seldom do
_SHARPENINGS = 20
_ALONE = 6  # rounds a room's own programme is priced for, to begin that of all rooms with; measured
_SEEDS = 2000  # the part of the bound within which patterns are listed to begin sharpening with
# patterns a part of a sharpened search may be settled with and listed for, a unit of effort
_SETTLED, _LISTED = 12, 50
_AT_ONCE = 2000  # patterns searched for at a time
_DIVE = 5  # parts looked at between dives
_TELL = 10  # parts looked at between yields where nothing moved

_Part = tuple[int, int, Limits]  # bound, order, what it is limited to


class Tree(Improver):
    """The search of one network. `bound` is the proven bound so far (`MONEY` parts), `exact`
    whether it rests on whole-number arithmetic alone, `looked` how many parts were looked at,
    `listed` how many patterns a stage has."""

    bound = 0
    looked = listed = 0
    _left: int | None = None
    _nothing_left = False

    def nothing_left(self) -> bool:
        """Whether it is proven that no better answer is left."""
        if not self._nothing_left and self.cutoff is not None and self.bound >= self.cutoff:
            self._end()
        return self._nothing_left

    def far_by(self) -> float:
        """By how much at most the best answer is too dear, as a part of the bound."""
        return (
            self.cost(self.best) / self.bound - 1
            if self.best is not None and self.bound
            else float("inf")
        )

    def _end(self) -> None:
        """Nothing better is left: the bound is the best answer."""
        self._nothing_left = True
        self._raise_to_best()

    def _raise_to_best(self) -> None:
        ends = [
            end
            for end in (self.ceiling, None if self.best is None else self.cost(self.best))
            if end is not None
        ]
        if ends:
            self._raise(min(ends))

    def _raise(self, bound: int) -> None:
        """Raise the bound to `bound`, but not past the bounds of parts that were given up, nor past
        the ceiling of what is asked about."""
        if self.ceiling is not None:
            bound = min(bound, self.ceiling)
        self.bound = max(self.bound, bound if self._left is None else min(bound, self._left))

    def _leave(self, dual: Dual) -> None:
        """Give a part up unsettled. From now on no bound may pass the part's own bound."""
        self._left = dual.value if self._left is None else min(self._left, dual.value)

    def solve_root(self) -> Dual | None:
        """Solve the programme of the whole problem. Its bound is proven; None where there is no
        plan, or the search was stopped before any bound."""
        rooms = self._rooms()
        close = CLOSE
        if len(rooms) > 1:
            for surfaces in rooms:
                self._price_alone(surfaces)
            close = max(close, 0 if self.cutoff is None else self.cutoff // 2000)
        self.root = self.relaxation.solve(
            stop=self.stop, cutoff=self.cutoff, close=close, counting=False
        )
        self.work += self.relaxation.rounds
        if self.root is not None:
            self._raise(self.root.value)
        return self.root

    def _rooms(self) -> list[frozenset[int]]:
        rooms: dict[str, set[int]] = {}
        for s, problem in enumerate(self.network.pool.surfaces):
            rooms.setdefault(problem.framed.surface.room, set()).add(s)
        return [frozenset(surfaces) for surfaces in rooms.values()]

    def _price_alone(self, surfaces: frozenset[int]) -> None:
        """Price in the patterns one room would have alone: small programmes, and the whole then
        begins near its end."""
        segments = [
            segment
            if segment.surface in surfaces
            else replace(segment, arcs=(Arc(0, len(segment.at) - 1, None),))
            for segment in self.network.segments
        ]
        alone = Relaxation(
            shrink(replace(self.network, segments=segments), lambda s, k: True), until=self.until
        )
        alone.solve(stop=self.stop, most_rounds=_ALONE, counting=False, mending=False)
        self.work += alone.rounds
        self.relaxation.add(alone.useful(2 * len(alone.network.active)))

    def sharpen(self) -> bool:
        """Solve the root's programme over no other patterns than a plan can use, and go on with
        those: its prices are worth more as a bound, and fewer patterns lie near them. False where
        it was stopped, or there is no answer yet.
        """
        limit = self.cutoff
        if self.root is None or limit is None:
            return False

        root = self.relaxation.solve(stop=self.stop, cutoff=limit)
        if root is None or self.stop():
            return False
        self._raise(root.value)

        search = self._by_search()
        gap = min(limit - root.value, root.value // _SEEDS)
        near: list[Pattern] = []
        while not near and gap > MONEY:
            try:
                near = patterns_within(
                    self.network,
                    self.knapsack.stock_groups,
                    root.prices.sizes,
                    root.stock,
                    search.links,
                    gap,
                    most=_AT_ONCE,
                    steps=20 * _AT_ONCE,
                    compatible=search.compatible,
                    stop=self.stop,
                )
            except TooMany:
                gap //= 2

        self.relaxation, self.root = (
            Relaxation(self.network, near, source=search, until=self.until),
            root,
        )
        self.brancher = Brancher(self.network, self.relaxation)

        sharper = self.relaxation.solve(most_rounds=_SHARPENINGS, stop=self.stop, cutoff=limit)
        self.work += self.relaxation.rounds
        if sharper is not None and sharper.value > root.value:
            self.root = sharper
            self._raise(sharper.value)
        return not self.stop()

    def _by_search(self) -> BySearch:
        chain = links(self.network)
        return BySearch(
            self.knapsack,
            chain,
            Compatible(self.network, chain),
            most=_AT_ONCE,
            steps=50 * _AT_ONCE,
            stop=self.stop,
        )

    def stage(self, gap: int, *, most: int) -> Tree | None:
        """A search of all that costs at most `gap` more than the root's bound, over a list of all
        its patterns; None where they are more than `most`."""
        root, cutoff = self.root, self.cutoff
        if root is None or cutoff is None:
            return None
        # Nothing from the best answer on is of interest, however far the stage reaches.
        limit = min(cutoff, root.value + gap)
        # An arc whose excess passes the gap is in no plan of this stage.
        gap, excess = limit - root.value, root.arc_excess

        smaller = shrink(self.network, lambda s, k: excess[s][k] <= gap)
        knapsack, chain = ByKnapsack(smaller, self.knapsack), links(smaller)

        patterns: list[Pattern] = []
        if all(smaller.layouts):
            try:
                patterns = patterns_within(
                    smaller,
                    knapsack.stock_groups,
                    root.prices.sizes,
                    root.stock,
                    chain,
                    gap,
                    most=most,
                    steps=10 * most,
                    compatible=Compatible(smaller, chain),
                    stop=self.stop,
                )
            except TooMany:
                return None
        # The list is complete for the stage, so a bound over it is a bound of all plans below the
        # ceiling.
        listed = Listed(smaller, patterns)
        seed = listed.best(root.prices.sizes, root.stock, 2 * len(smaller.active))

        inner = Tree(
            smaller,
            self.effort,
            start=self.best,
            seed=seed,
            listed=listed,
            ceiling=limit,
            knapsack=knapsack,
            stop=self.stop,
            until=self.until,
        )

        inner.listed = len(patterns)
        if not patterns or (inner.solve_root() is None and inner.relaxation.impossible):
            inner._end()
        return inner

    def take(self, stage: Tree) -> None:
        """Take over what a stage has found, and its bound: what it did not ask about costs no less
        than its ceiling."""
        self.work += stage.work
        self.looked += stage.looked
        stage.work = stage.looked = 0
        self.exact = self.exact and stage.exact
        self.offer(stage.best)
        self._raise(stage.bound)

    def narrow(self) -> bool:
        """Drop every arc that no better answer can use, by the root's bound; whether that left much
        less.

        The smaller problem is solved again from the patterns known; its bound holds for better
        answers, which is all that is asked of it. A search that was under way must begin again.
        """
        root, cutoff = self.root, self.cutoff
        if root is None or cutoff is None or self._nothing_left:
            return False
        gap = cutoff - root.value
        excess = root.arc_excess
        smaller = shrink(self.network, lambda s, k: excess[s][k] <= gap)

        before = sum(len(segment.arcs) for segment in self.network.segments)
        after = sum(len(segment.arcs) for segment in smaller.segments)
        # A little less is not worth solving the programme again.
        if after > 0.8 * before:
            return False

        if not all(smaller.layouts):
            self._end()
            return True
        patterns = [
            pattern
            for pattern in self.relaxation.patterns
            if all(size in smaller.active for size in pattern.sizes)
        ]
        # Parts given up before are parts of the larger problem; what is in the smaller is searched
        # again.
        self.network, self._left = smaller, None
        self.knapsack = ByKnapsack(smaller, self.knapsack)
        sharp = isinstance(self.relaxation.source, BySearch)
        source = self._by_search() if sharp else self.knapsack
        self.relaxation = Relaxation(smaller, patterns, source=source, until=self.until)
        self.brancher = Brancher(smaller, self.relaxation)

        self.root = self.relaxation.solve(stop=self.stop, cutoff=cutoff)
        self.work += self.relaxation.rounds
        if self.root is None and not self.relaxation.impossible:
            # stopped on the way: nothing more is done, and nothing more is claimed
            self._nothing_left = True
        elif self.root is None or self.root.value >= cutoff:
            self.exact = self.exact and self.root is not None
            self._end()
        else:
            self._raise(self.root.value)
        return True

    def search(self) -> Iterator[None]:
        """Look at parts: the one of the least bound, then its best part while that is not much
        worse, and so on down, where answers are found. Yields whenever the best answer or the bound
        has moved, and now and then."""
        if self.root is None or self._nothing_left:
            return

        # `order` breaks ties of the bound: the part made first is looked at first, and limits are
        # never compared.
        order = 0
        waiting: list[_Part] = [(self.root.value, order, EVERYTHING)]
        next_one: _Part | None = None
        while (waiting or next_one) and self.looked < self.effort.parts and not self.stop():
            bound, _, limits = next_one or heapq.heappop(waiting)
            next_one = None
            if self.cutoff is not None and bound >= self.cutoff:
                continue

            before = (self.bound, self.best)
            # Every open part is at least as dear as the least of their bounds, and closed ones hold
            # nothing better than the best answer. So the least bound is proven for the whole.
            least = min(bound, waiting[0][0]) if waiting else bound
            self._raise(least)
            self.looked += 1

            parts = self._look(limits)
            if parts is None:
                # Stopped on the way: the part is still open and its bound still counts.
                heapq.heappush(waiting, (bound, -1, limits))
                break
            if parts and self.looked % _DIVE == 0:
                self.dive(parts[0][1])

            fresh: list[_Part] = []
            for value, part in parts:
                order += 1
                if self.cutoff is None or value < self.cutoff:
                    # A part's plans are among those of the part it came from, so its bound is no
                    # less.
                    fresh.append((max(value, bound), order, part))
            fresh.sort()

            # Going down from the best new part finds answers, while it is not much worse than the
            # least bound.
            if (
                fresh
                and self.cutoff is not None
                and fresh[0][0] <= least + _PLUNGE * (self.cutoff - least)
            ):
                next_one = fresh.pop(0)
            for one in fresh:
                heapq.heappush(waiting, one)

            if (self.bound, self.best) != before or self.looked % _TELL == 0:
                yield

        if next_one is not None:
            heapq.heappush(waiting, next_one)
        # No open part can hold a better answer.
        if self.cutoff is not None and not (waiting and waiting[0][0] < self.cutoff):
            self._raise_to_best()
        elif waiting:
            self._raise(waiting[0][0])
        yield

    def _look(self, limits: Limits) -> list[tuple[int, Limits]] | None:
        """Close a part of the problem, or split it. Returns the smaller parts with their bounds, an
        empty list where the part is closed, and None where the search was stopped on the way."""
        relaxation = self.relaxation
        relaxation.within(limits)
        rounds = relaxation.rounds
        dual = relaxation.solve(cutoff=self.cutoff, stop=self.stop)
        self.work += relaxation.rounds - rounds
        if self.stop() or (dual is None and not relaxation.impossible):
            return None

        if dual is None:
            self.exact = False  # the solver says there is no plan here
            return []
        if self.cutoff is not None:
            if dual.value >= self.cutoff:
                return []
            gap = self.cutoff - dual.value
            far = {
                (s, k)
                for s, excesses in enumerate(dual.arc_excess)
                for k, excess in enumerate(excesses)
                if excess > gap
            }
            limits = replace(limits, arcs=limits.arcs | far)
        # A sharpened programme has few patterns near its prices, so more of them may be listed and
        # settled.
        patterns = self.effort.patterns
        if self.relaxation.source is self.knapsack:
            closed = self.settle(dual, limits, most=patterns // 4)
        else:
            closed = self.settle(dual, limits, most=_SETTLED * patterns, listed=_LISTED * patterns)

        if closed:
            return []
        if self.stop():
            return None

        relaxation.within(limits)
        if not relaxation.run():
            self._leave(dual)
            return []

        uses = self.brancher.all(limits)
        if uses:
            tried = self.brancher.work
            parts = self.brancher.split(limits, uses)
            self.work += self.brancher.work - tried
            return [(dual.value, part) for part in parts]
        return self._flip(limits, dual)

    def _flip(self, limits: Limits, dual: Dual) -> list[tuple[int, Limits]]:
        """The parts of one whose courses are whole; where just those courses cannot be settled, a
        part for them too."""
        closed = self.cut(whole_arcs(self.relaxation))
        parts, rest = self.brancher.flips(limits)
        if not closed:
            if parts:
                # The given courses could not be settled: their part goes on with the tree.
                parts.append(rest)
            elif not self.settle(dual, limits, most=20 * self.effort.patterns):
                self._leave(dual)
        return [(dual.value, part) for part in parts]
