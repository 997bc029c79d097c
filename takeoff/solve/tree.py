"""Branch and price: parts of the problem, each with its own proven bound, until no part can hold a better plan.

A part is closed when its bound reaches the best plan, or when so few patterns are left in its gap that the integer
programme settles it. Otherwise it is split in two, by the number of sheets, a layout, or a joint used or not.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from math import ceil, floor

from takeoff.solve.bound import EVERYTHING, Dual, Limits
from takeoff.solve.integer import Answer, Cut, Place, solve_integer
from takeoff.solve.knapsack import Pattern, families
from takeoff.solve.network import MONEY, Arc, Network, shrink
from takeoff.solve.patterns import TooMany, patterns_within
from takeoff.solve.relaxation import CLOSE, Relaxation, links

__all__ = ["Effort", "Tree"]

_NEAR = 1e-6
import os
RANGE = float(os.environ.get("RANGE", "2"))
TRIES = int(os.environ.get("TRIES", "8"))
FIX = int(os.environ.get("FIX", "1"))
PLUNGE = float(os.environ.get("PLUNGE", "0.3"))
RELY = int(os.environ.get("RELY", "3"))
DIVE = int(os.environ.get("DIVE", "0"))
SETTLE = int(os.environ.get("SETTLE", "1"))
_CUTTINGS = 300  # patterns that given pieces are cut with at most


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How far to go, in work and not in time, so that the same effort gives the same plan.

    `parts` is how many parts of the problem are looked at, `patterns` how many patterns a part may be settled with,
    `nodes` how many nodes one integer programme may take. `seconds` is for a call that someone waits on: it ends the
    search early, and what it gives may then differ from one run to the next.
    """

    parts: int = 400
    patterns: int = 600
    nodes: int = 2000
    seconds: float | None = None


@dataclass(frozen=True, slots=True)
class _Use:
    """One thing to split on: its value in the programme, and the two parts."""

    value: float
    below: Limits
    above: Limits
    weight: float
    key: tuple[object, ...] = ()


class Tree:
    """The search of one network. `best` is the best answer, `bound` the proven bound so far (`MONEY` parts),
    `exact` whether the bound rests on whole-number arithmetic alone."""

    def __init__(
        self,
        network: Network,
        effort: Effort,
        *,
        start: Answer | None = None,
        stop: Callable[[], bool] | None = None,
        until: Callable[[], float] | None = None,
    ) -> None:
        self.network, self.effort, self.best = network, effort, start
        self.stop, self.until = stop or (lambda: False), until
        cuts = start.sheets if start else ()
        # An answer may lie just outside a network narrowed to what is better.
        seed = [cut.pattern for cut in cuts if network.active.issuperset(cut.pattern.sizes)]
        self.relaxation = Relaxation(network, seed, until=until)
        self.root: Dual | None = None
        self.bound = 0
        self.exact = True
        self.work = 0
        self.left: int | None = None
        self.looked = 0
        self._nothing_left = False
        self.joints = self._joint_arcs()
        self._clash_map: dict[tuple[int, int], list[tuple[tuple[int, int], ...]]] | None = None
        self._tried: dict[frozenset[Place], bool] = {}
        self._rises: dict[tuple[object, ...], list[float]] = {}

    def _joint_arcs(self) -> dict[tuple[int, int], tuple[list[tuple[int, int]], list[tuple[int, int]]]]:
        """For each joint (segment, node): the arcs that end there, and those that pass over it."""
        found = {}
        for s, segment in enumerate(self.network.segments):
            for node in range(1, len(segment.at) - 1):
                ending = [(s, k) for k, arc in enumerate(segment.arcs) if arc.head == node]
                passing = [(s, k) for k, arc in enumerate(segment.arcs) if arc.tail < node < arc.head]
                found[s, node] = (ending, passing)
        return found

    def nothing_left(self) -> bool:
        """Whether no better answer can be left to find."""
        if not self._nothing_left and self.cutoff is not None and self.bound >= self.cutoff:
            self._nothing_left = True
            self.settled()
        return self._nothing_left

    @property
    def cutoff(self) -> int | None:
        """A part whose bound reaches this holds nothing better than the best answer."""
        if self.best is None:
            return None
        grain = int(self.network.grain * MONEY)
        return int((self.best.value - self.network.constant) * MONEY) - max(grain - MONEY // 1000, 0)

    def offer(self, answer: Answer | None) -> bool:
        """Keep an answer that is better; whether it was."""
        if answer is None or (self.best is not None and answer.value >= self.best.value):
            return False
        self.best = answer
        return True

    def solve_root(self) -> Dual | None:
        """The programme of the whole problem; its bound is proven."""
        rooms = self._rooms()
        close = CLOSE
        if len(rooms) > 1:
            for surfaces in rooms:
                self._price_alone(surfaces)
            # The end of a large programme takes long and moves little: a two-thousandth of it.
            close = max(close, 0 if self.cutoff is None else self.cutoff // 2000)
        self.root = self.relaxation.solve(stop=self.stop, cutoff=self.cutoff, close=close)
        self.work += self.relaxation.rounds
        if self.root is not None:
            self.bound = self.root.value
        return self.root

    def _rooms(self) -> list[frozenset[int]]:
        rooms: dict[str, set[int]] = {}
        for s, problem in enumerate(self.network.pool.surfaces):
            rooms.setdefault(problem.framed.surface.room, set()).add(s)
        return [frozenset(surfaces) for surfaces in rooms.values()]

    def _price_alone(self, surfaces: frozenset[int]) -> None:
        """Price in the patterns one room would have alone: small programmes, and the whole then begins near its end."""
        segments = [
            segment if segment.surface in surfaces else replace(segment, arcs=(Arc(0, len(segment.at) - 1, None),))
            for segment in self.network.segments
        ]
        alone = Relaxation(shrink(replace(self.network, segments=segments), lambda s, k: True), until=self.until)
        alone.solve(stop=self.stop)
        self.work += alone.rounds
        self.relaxation.add(alone.patterns)

    def narrow(self) -> bool:
        """Drop every arc that no better answer can use, by the root's bound; whether that left much less.

        The smaller problem is solved again from the patterns known; its bound holds for better answers, which is all
        that is asked of it.
        """
        root, cutoff = self.root, self.cutoff
        if root is None or cutoff is None or self._nothing_left:
            return False
        gap = cutoff - root.value
        excess = root.arc_excess
        smaller = shrink(self.network, lambda s, k: excess[s][k] <= gap)
        before = sum(len(segment.arcs) for segment in self.network.segments)
        after = sum(len(segment.arcs) for segment in smaller.segments)
        if after > 0.8 * before:
            return False
        if not all(smaller.layouts):
            self._nothing_left = True
            self.settled()
            return True
        patterns = [
            pattern for pattern in self.relaxation.patterns if all(size in smaller.active for size in pattern.sizes)
        ]
        self.network = smaller
        self.relaxation = Relaxation(smaller, patterns, until=self.until)
        self.joints = self._joint_arcs()
        self._clash_map = None
        self.root = self.relaxation.solve(stop=self.stop, cutoff=cutoff)
        self.work += self.relaxation.rounds
        if self.root is None and not self.relaxation.impossible:
            self._nothing_left = True  # stopped on the way: nothing more is done, and nothing more is claimed
        elif self.root is None or self.root.value >= cutoff:
            self.exact = self.exact and self.root is not None
            self._nothing_left = True
            self.settled()
        else:
            self._raise(self.root.value)
        return True

    def settled(self) -> None:
        """Nothing better is left: the bound is the best answer."""
        if self.best is not None:
            self._raise(int((self.best.value - self.network.constant) * MONEY))

    def _raise(self, bound: int) -> None:
        """The bound is at least this, but for parts given up."""
        self.bound = max(self.bound, bound if self.left is None else min(bound, self.left))

    def polish(self, part: int, *, nodes: int = 10) -> bool:
        """The integer programme over what costs at most one `part`-th more than the programme; whether that helped."""
        root, cutoff = self.root, self.cutoff
        if root is None or self._nothing_left:
            return False
        gap = root.value // part if cutoff is None else min(cutoff - root.value, root.value // part)
        patterns = [
            pattern
            for pattern in self.relaxation.patterns
            if root.stock[pattern.stock] - sum(root.prices.sizes[size] for size in pattern.sizes) <= gap
        ]
        outcome = solve_integer(
            self.network, root, self.relaxation.links, patterns, gap,
            nodes=nodes, until=self.until, stop=self.stop, seeking=True,
        )  # fmt: skip
        self.work += 1 + outcome.nodes
        return any(self.offer(answer) for answer in reversed(outcome.answers))

    # a first answer

    def dive(self, limits: Limits | None = None) -> bool:
        """Round the programme's rows one decision at a time, then cut their pieces best; whether that was better."""
        relaxation = self.relaxation
        if limits is None:
            limits = relaxation.limits
        else:
            relaxation.within(limits)
            if not relaxation.run():
                return False
        arcs: list[tuple[int, int]] | None = None
        for _ in range(300):
            uses = self._uses(limits, sheets=False)
            if not uses:
                arcs = self._whole_arcs()
                break
            sure = [use for use in uses if use.value >= 0.75] or [max(uses, key=lambda use: use.value)]
            for use in sure:
                limits = _both(limits, use.above)
            relaxation.within(limits)
            self.work += 1
            if not relaxation.run() or self.stop():
                break
        better = False
        if arcs is not None:
            before = self.best
            self.cut(arcs)
            better = self.best is not before
        relaxation.within(EVERYTHING)
        return better

    def free(self, surfaces: frozenset[int], *, patterns: int = 250, dive: bool = False) -> bool:
        """Lay these surfaces again and cut again every sheet that holds a piece of theirs; the rest stays."""
        best, network = self.best, self.network
        if best is None:
            return False
        touched: list[tuple[Cut, list[Place]]] = []
        kept: list[tuple[Cut, list[Place]]] = []
        for cut in best.sheets:
            places = [place for part in (cut.full, *cut.strips) for place in part]
            mine = any(network.segments[s].surface in surfaces for s, _, _ in places)
            (touched if mine else kept).append((cut, places))
        done = {place for _, places in kept for place in places}
        held = set(best.pieces)
        segments = []
        for s, segment in enumerate(network.segments):
            if segment.surface in surfaces:
                segments.append(segment)
                continue
            arcs = [arc for arc in segment.arcs if (s, arc.tail, arc.head) in held]
            arcs = [replace(arc, size=None) if (s, arc.tail, arc.head) in done else arc for arc in arcs]
            segments.append(replace(segment, arcs=tuple(arcs)))
        spent: dict[int, int] = {}
        for cut, _ in kept:
            spent[cut.pattern.stock] = spent.get(cut.pattern.stock, 0) + 1
        stock = [
            one if one.limit is None else replace(one, limit=one.limit - spent.get(i, 0))
            for i, one in enumerate(network.stock)
        ]
        smaller = shrink(
            replace(
                network,
                segments=segments,
                stock=stock,
                constant=network.constant + sum(network.stock[cut.pattern.stock].price for cut, _ in kept),
            ),
            lambda s, k: True,
        )
        if not all(smaller.layouts):
            return False
        start = replace(best, sheets=tuple(cut for cut, _ in touched))
        effort = replace(self.effort, patterns=patterns, nodes=60)
        inner = Tree(smaller, effort, start=start, stop=self.stop, until=self.until)
        if inner.solve_root() is None or inner.root is None:
            self.work += inner.work
            return False
        if inner.cutoff is not None and inner.root.value < inner.cutoff:
            mode = "d" if dive else os.environ.get("FREE", "s")
            for m in mode:
                if m == "d":
                    inner.dive()
                elif m == "s":
                    inner._settle(inner.root, EVERYTHING, None, most=patterns, partial=True)
                elif m == "p":
                    inner.polish(500, nodes=3)
                elif m == "t":
                    inner.effort = replace(effort, parts=int(os.environ.get("INNER", "15")))
                    for _ in inner.search():
                        pass
        self.work += inner.work
        found = inner.best
        if found is None or found is start or found.value >= best.value:
            return False
        return self.offer(replace(found, sheets=(*found.sheets, *(cut for cut, _ in kept))))

    def _whole_arcs(self) -> list[tuple[int, int]]:
        first = len(self.relaxation.layouts)
        values = self.relaxation.solution.col_value
        return [key for i, key in enumerate(self.relaxation.arcs, start=first) if values[i] > 0.5]

    def cut(self, arcs: list[tuple[int, int]]) -> bool:
        """Cut the pieces of these arcs well; whether it is settled that no other way of cutting them is better still."""
        segments = self.network.segments
        places = frozenset((s, segments[s].arcs[k].tail, segments[s].arcs[k].head) for s, k in arcs)
        if places not in self._tried:
            self._tried[places] = self._cut(set(arcs))
        return self._tried[places]

    def _cut(self, held: set[tuple[int, int]]) -> bool:
        smaller = shrink(self.network, lambda s, k: (s, k) in held)
        if not all(smaller.layouts):
            return False
        seed = [one for one in self.relaxation.patterns if all(size in smaller.active for size in one.sizes)]
        relaxation = Relaxation(smaller, seed, until=self.until)
        dual = relaxation.solve(cutoff=self.cutoff, most_rounds=60, stop=self.stop)
        self.work += relaxation.rounds
        if dual is None:
            return False
        if self.cutoff is not None and dual.value >= self.cutoff:
            return True
        gap = dual.value // 50 if self.cutoff is None else self.cutoff - dual.value
        patterns: list[Pattern] = []
        complete = self.cutoff is not None
        for most in (10 * _CUTTINGS, *([_CUTTINGS] * 6)):
            try:
                patterns = patterns_within(
                    smaller, relaxation.groups, dual, relaxation.links, gap, most=most, steps=10 * most
                )
                break
            except TooMany:
                complete = False
                gap = min(gap, dual.value // 300) if most > _CUTTINGS else gap // 2
        known = {(pattern.stock, pattern.sizes) for pattern in patterns}
        if not complete:
            room = dual.value // 50 if self.cutoff is None else self.cutoff - dual.value
            patterns += [
                pattern
                for pattern in relaxation.patterns
                if (pattern.stock, pattern.sizes) not in known
                and dual.stock[pattern.stock] - sum(dual.prices.sizes[size] for size in pattern.sizes) <= room
            ]
            gap = room
        outcome = solve_integer(
            smaller, dual, relaxation.links, patterns, gap,
            nodes=200 if complete else 30, until=self.until, stop=self.stop, seeking=not complete, below=self.cutoff if complete else None,
        )  # fmt: skip
        self.work += 1 + outcome.nodes
        for answer in reversed(outcome.answers):
            self.offer(answer)
        if complete and outcome.complete:
            self.exact = False
            return True
        return False

    def _active(self, arcs: list[tuple[int, int]]) -> frozenset[int]:
        sizes = (self.network.segments[s].arcs[k].size for s, k in arcs)
        return frozenset(size for size in sizes if size is not None)

    def _settle(
        self, dual: Dual, limits: Limits, active: frozenset[int] | None, *, most: int, partial: bool = False
    ) -> bool | None:
        """Settle a part by its integer programme: True when closed, False when not; None when nothing was found.

        With `partial` a lower threshold is taken where there are too many patterns: a search for answers only.
        """
        network, cutoff = self.network, self.cutoff
        gap = dual.value // 50 if cutoff is None else cutoff - dual.value
        if partial:
            gap = min(gap, dual.value // 300)
        patterns: list[Pattern] | None = None
        chain: list[tuple[int, int]] = []
        complete = cutoff is not None
        for _ in range(12):
            if active is None:
                near = [
                    (s, k) for s, row in enumerate(dual.arc_excess) for k, excess in enumerate(row) if excess <= gap
                ]
                sizes = self._active(near)
            else:
                sizes = active
            chain = links(network, sizes)
            try:
                patterns = patterns_within(
                    network, families(network, sizes), dual, chain, gap, most=most, steps=10 * most
                )
                break
            except TooMany:
                if not partial:
                    return False
                gap //= 2
                complete = False
        if patterns is None:
            return False
        known = {(pattern.stock, pattern.sizes) for pattern in patterns}
        if partial:
            patterns += [
                pattern
                for pattern in self.relaxation.patterns
                if (pattern.stock, pattern.sizes) not in known
                and all(size in sizes for size in pattern.sizes)
                and dual.stock[pattern.stock] - sum(dual.prices.sizes[size] for size in pattern.sizes) <= gap
            ]
        outcome = solve_integer(
            network, dual, chain, patterns, gap,
            nodes=self.effort.nodes if not partial else 60, until=self.until, stop=self.stop, limits=limits, below=None if partial else self.cutoff,
        )  # fmt: skip
        self.work += 1 + outcome.nodes
        better = False
        for answer in outcome.answers:
            better |= self.offer(answer)
        if partial:
            return True if better else None
        return outcome.complete and complete

    # the tree

    def search(self) -> Iterator[None]:
        """Look at parts, best bound first; yields whenever the best answer or the bound has moved."""
        if self.root is None or self._nothing_left:
            return
        order = 0
        open_parts: list[tuple[int, int, Limits]] = [(self.root.value, order, EVERYTHING)]
        near: tuple[int, int, Limits] | None = None
        while (open_parts or near) and self.looked < self.effort.parts and not self.stop():
            here = near or heapq.heappop(open_parts)
            near = None
            bound, _, limits = here
            if self.cutoff is not None and bound >= self.cutoff:
                continue
            before = (self.bound, self.best.value if self.best else None)
            least = min(bound, open_parts[0][0]) if open_parts else bound
            self._raise(least)
            self.looked += 1
            children = self._look(limits)
            if DIVE and children and self.looked % DIVE == 0:
                self.dive(children[0][1])
            if self.stop() and children is None:
                heapq.heappush(open_parts, (bound, -1, limits))
                break
            fresh = []
            for value, child in children or ():
                order += 1
                if self.cutoff is None or value < self.cutoff:
                    fresh.append((max(value, bound), order, child))
            fresh.sort()
            if PLUNGE and fresh and self.cutoff is not None and fresh[0][0] <= least + PLUNGE * (self.cutoff - least):
                near = fresh.pop(0)
            for one in fresh:
                heapq.heappush(open_parts, one)
            if (self.bound, self.best.value if self.best else None) != before or self.looked % 10 == 0:
                yield
        if near is not None:
            heapq.heappush(open_parts, near)
        if self.best is not None and not (open_parts and open_parts[0][0] < (self.cutoff or 0)):
            self.settled()
        elif open_parts:
            self._raise(open_parts[0][0])
        yield

    def _look(self, limits: Limits) -> list[tuple[int, Limits]] | None:
        """Close a part (empty list), or split it; None when stopped on the way."""
        relaxation = self.relaxation
        relaxation.within(limits)
        rounds = relaxation.rounds
        dual = relaxation.solve(cutoff=self.cutoff, stop=self.stop)
        self.work += relaxation.rounds - rounds
        if self.stop():
            return None
        if dual is None and not relaxation.impossible:
            return None
        if dual is None:
            self.exact = False  # the solver says there is no plan here
            return []
        if self.cutoff is not None and dual.value >= self.cutoff:
            return []
        if FIX and self.cutoff is not None:
            gap = self.cutoff - dual.value
            far = {(s, k) for s, row in enumerate(dual.arc_excess) for k, e in enumerate(row) if e > gap}
            limits = replace(limits, arcs=limits.arcs | far)
        closed = SETTLE and self._settle(dual, limits, None, most=int(os.environ.get("MOST","150")))
        if closed:
            self.exact = False
            return []
        if self.stop():
            return None
        relaxation.within(limits)
        if not relaxation.run():
            self._leave(dual)
            return []
        uses = self._uses(limits, sheets=True)
        if not uses:
            return self._flips(limits, dual)
        return [(max(dual.value, value), child) for value, child in self._split(limits, uses)]

    def _flips(self, limits: Limits, dual: Dual) -> list[tuple[int, Limits]]:
        """Where the programme's rows are whole: cut these rows, then a part for each place they may differ in first."""
        whole = self._whole_arcs()
        closed = self.cut(whole)
        parts = []
        for s, k in whole:
            segment = self.network.segments[s]
            others = {(s, other) for other in range(len(segment.arcs)) if other != k} - limits.arcs
            arc = segment.arcs[k]
            others = {
                (s, other) for _, other in others
                if segment.arcs[other].head > arc.tail and segment.arcs[other].tail < arc.head
            }
            layouts = frozenset(
                (segment.surface, i) for i in self.network.layouts[segment.surface] if i != segment.layout
            )
            if others or not layouts <= limits.layouts:
                parts.append((dual.value, replace(limits, arcs=limits.arcs | {(s, k)})))
                limits = replace(limits, arcs=limits.arcs | others, layouts=limits.layouts | layouts)
        if not closed:
            if parts:
                parts.append((dual.value, limits))
            elif self._settle(dual, limits, None, most=20 * self.effort.patterns):
                self.exact = False
            else:
                self._leave(dual)
        return parts

    def _leave(self, dual: Dual) -> None:
        """Give a part up unsettled: no bound may pass its own from now on."""
        self.left = dual.value if self.left is None else min(self.left, dual.value)

    def _uses(self, limits: Limits, *, sheets: bool) -> list[_Use]:
        """What is fractional in the programme's solution, most even first."""
        relaxation, network = self.relaxation, self.network
        values = relaxation.solution.col_value
        found: list[_Use] = []
        if sheets:
            counts = dict.fromkeys(relaxation.rows.count, 0.0)
            for i, pattern in enumerate(relaxation.patterns, start=relaxation.first_pattern):
                if pattern.stock in counts:
                    counts[pattern.stock] += values[i]
            total = sum(counts.values())
            if _part(total) > 0.01:
                low, high = limits.total
                found.append(
                    _Use(
                        total % 1,
                        replace(limits, total=(low, floor(total))),
                        replace(limits, total=(ceil(total), high)),
                        4.0,
                        ("total",),
                    )
                )
            for stock, count in counts.items():
                if _part(count) > 0.01:
                    low, high = limits.count(stock)
                    others = tuple(each for each in limits.counts if each[0] != stock)
                    found.append(
                        _Use(
                            count % 1,
                            replace(limits, counts=(*others, (stock, low, floor(count)))),
                            replace(limits, counts=(*others, (stock, ceil(count), high))),
                            2.0,
                            ("stock", stock),
                        )
                    )
        for i, (s, index) in enumerate(relaxation.layouts):
            if _part(values[i]) > _NEAR:
                rest = frozenset((s, other) for other in network.layouts[s] if other != index)
                found.append(
                    _Use(
                        values[i],
                        replace(limits, layouts=limits.layouts | {(s, index)}),
                        replace(limits, layouts=limits.layouts | rest),
                        3.0,
                        ("layout", s, index),
                    )
                )
        used: dict[tuple[int, int], float] = {}
        for i, (s, k) in enumerate(relaxation.arcs, start=len(relaxation.layouts)):
            if values[i] > _NEAR:
                head = network.segments[s].arcs[k].head
                if (s, head) in self.joints:
                    used[s, head] = used.get((s, head), 0.0) + values[i]
        found += [self._joint_use(limits, joint, value) for joint, value in used.items() if _part(value) > _NEAR]
        if sheets:
            found += self._ends(limits, values)
        return found

    def _ends(self, limits: Limits, values) -> list[_Use]:
        """Splits of a segment by where its first joint, or its last, may be."""
        found = []
        relaxation, network = self.relaxation, self.network
        shares: dict[int, list[tuple[int, float]]] = {}
        for i, (s, k) in enumerate(relaxation.arcs, start=len(relaxation.layouts)):
            if values[i] > _NEAR:
                shares.setdefault(s, []).append((k, values[i]))
        for s, some in shares.items():
            arcs = network.segments[s].arcs
            last = len(network.segments[s].at) - 1
            for side in ("first", "last"):
                at: dict[int, float] = {}
                for k, value in some:
                    arc = arcs[k]
                    if side == "first" and arc.tail == 0:
                        at[arc.head] = at.get(arc.head, 0.0) + value
                    elif side == "last" and arc.head == last:
                        at[arc.tail] = at.get(arc.tail, 0.0) + value
                if len(at) < 2:
                    continue
                total = sum(at.values())
                nodes = sorted(at)
                share, best = 0.0, None
                for node in nodes[:-1]:
                    share += at[node] / total
                    if best is None or abs(share - 0.5) < abs(best[0] - 0.5):
                        best = (share, node)
                share, node = best
                if not 0.02 < share < 0.98:
                    continue
                if side == "first":
                    low = {(s, k) for k, arc in enumerate(arcs) if arc.tail == 0 and arc.head > node}
                    high = {(s, k) for k, arc in enumerate(arcs) if arc.tail == 0 and arc.head <= node}
                else:
                    low = {(s, k) for k, arc in enumerate(arcs) if arc.head == last and arc.tail > node}
                    high = {(s, k) for k, arc in enumerate(arcs) if arc.head == last and arc.tail <= node}
                found.append(
                    _Use(
                        (1 - share) * total,
                        replace(limits, arcs=limits.arcs | low),
                        replace(limits, arcs=limits.arcs | high),
                        RANGE,
                        (side, s),
                    )
                )
        return found

    def _joint_use(self, limits: Limits, joint: tuple[int, int], value: float) -> _Use:
        ending, passing = self.joints[joint]
        segment = self.network.segments[joint[0]]
        others = frozenset(
            (segment.surface, other) for other in self.network.layouts[segment.surface] if other != segment.layout
        )
        barred = set(passing)
        for clash in self._clashes().get(joint, ()):
            for other in clash:
                if other != joint:
                    barred.update(self.joints[other][0])
        return _Use(
            value,
            replace(limits, arcs=limits.arcs | frozenset(ending)),
            replace(limits, arcs=limits.arcs | barred, layouts=limits.layouts | others),
            1.0,
            ("joint", *joint),
        )

    def _clashes(self) -> dict[tuple[int, int], list[tuple[tuple[int, int], ...]]]:
        if self._clash_map is None:
            self._clash_map = {}
            for clash in self.network.clashes:
                for joint in clash.joints:
                    self._clash_map.setdefault(joint, []).append(clash.joints)
        return self._clash_map

    def _split(self, limits: Limits, uses: list[_Use]) -> list[tuple[int, Limits]]:
        """The two parts of the use that raises the programme's value most, by a few trial solves."""
        relaxation = self.relaxation
        uses = sorted(uses, key=lambda use: -use.weight * min(use.value, 1 - use.value))
        base = relaxation.value
        best: tuple[float, _Use] | None = None
        basis = relaxation.highs.getBasis()
        relaxation.highs.setOptionValue("simplex_iteration_limit", 60)
        tried = 0
        for use in uses[: 3 * TRIES]:
            known = self._rises.get(use.key)
            apart = (max(use.value % 1, 0.01), max(1 - use.value % 1, 0.01))
            if known and min(known[1], known[3]) >= RELY:
                rises = [known[0] / known[1] * apart[0], known[2] / known[3] * apart[1]]
            elif tried < TRIES:
                tried += 1
                rises = []
                record = self._rises.setdefault(use.key, [0.0, 0, 0.0, 0])
                for side, child in enumerate((use.below, use.above)):
                    relaxation.within(child)
                    relaxation.highs.setBasis(basis)
                    relaxation.highs.run()
                    rise = max(relaxation.highs.getInfo().objective_function_value - base, 0.0)
                    rises.append(rise)
                    record[2 * side] += min(rise, 500.0) / apart[side]
                    record[2 * side + 1] += 1
                    self.work += 1
            else:
                continue
            score = max(min(rises), 0.01) * max(max(rises), 0.01)
            if best is None or score > best[0]:
                best = (score, use)
        relaxation.highs.setOptionValue("simplex_iteration_limit", 2**31 - 1)
        relaxation.within(limits)
        relaxation.highs.setBasis(basis)
        assert best is not None
        use = best[1]
        first = (0, use.below), (0, use.above)
        return list(first if use.value < 0.5 else first[::-1])


def _part(value: float) -> float:
    """How far a value is from whole."""
    return abs(value - round(value))


def _both(one: Limits, other: Limits) -> Limits:
    """What is ruled out by either."""
    return replace(one, arcs=one.arcs | other.arcs, layouts=one.layouts | other.layouts)
