"""Ways to better answers of one network: rounding the programme, cutting given rows, laying some surfaces again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from takeoff.solve.bound import EVERYTHING, Dual, Limits
from takeoff.solve.branch import Brancher, whole_arcs
from takeoff.solve.effort import Effort
from takeoff.solve.integer import Answer, Cut, Place, solve_integer
from takeoff.solve.knapsack import Pattern, families
from takeoff.solve.network import MONEY, Network, shrink
from takeoff.solve.patterns import TooMany, patterns_within
from takeoff.solve.relaxation import Relaxation, links

__all__ = ["Answers"]

_CUTTINGS = 300  # patterns that given pieces are cut with at most, where not all are wanted
_ALL_CUTTINGS = 3000  # patterns within the gap up to which all are tried, and the cutting is settled


class Answers:
    """A network, its programme, and the best answer so far. `exact`: all that was settled rests on whole numbers."""

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
        self.brancher = Brancher(network, self.relaxation)
        self.root: Dual | None = None
        self.exact = True
        self.work = 0
        self._cut_before: dict[frozenset[Place], bool] = {}

    @property
    def cutoff(self) -> int | None:
        """A part whose bound reaches this holds nothing better than the best answer."""
        if self.best is None:
            return None
        grain = int(self.network.grain * MONEY)
        return self.cost(self.best) - max(grain - MONEY // 1000, 0)

    def cost(self, answer: Answer) -> int:
        """What an answer costs, as bounds are told: in `MONEY` parts, without the network's constant."""
        return int((answer.value - self.network.constant) * MONEY)

    def offer(self, answer: Answer | None) -> bool:
        """Keep an answer that is better; whether it was."""
        if answer is None or (self.best is not None and answer.value >= self.best.value):
            return False
        self.best = answer
        return True

    def polish(self, part: int, *, nodes: int = 10) -> bool:
        """The integer programme over what costs at most one `part`-th more than the programme; whether that helped."""
        root, cutoff = self.root, self.cutoff
        if root is None:
            return False
        gap = root.value // part if cutoff is None else min(cutoff - root.value, root.value // part)
        outcome = solve_integer(
            self.network, root, self.relaxation.links, _worth_it(self.relaxation.patterns, root, gap), gap,
            nodes=nodes, until=self.until, stop=self.stop, seeking=True,
        )  # fmt: skip
        self.work += 1 + outcome.nodes
        return any(self.offer(answer) for answer in reversed(outcome.answers))

    def dive(self, limits: Limits | None = None) -> bool:
        """Round the programme's rows (of a part, where given) one decision at a time, then cut their pieces best;
        whether that was better. The programme ends on the whole problem."""
        relaxation, before = self.relaxation, self.best
        if limits is None:
            limits = relaxation.limits
        else:
            relaxation.within(limits)
            if not relaxation.run():
                return False
        for _ in range(300):
            uses = self.brancher.rows(limits)
            if not uses:
                self.cut(whole_arcs(relaxation))
                break
            sure = [use for use in uses if use.value >= 0.75] or [max(uses, key=lambda use: use.value)]
            for use in sure:
                limits = _both(limits, use.above)
            relaxation.within(limits)
            self.work += 1
            if not relaxation.run() or self.stop():
                break
        relaxation.within(EVERYTHING)
        return self.best is not before

    def cut(self, arcs: list[tuple[int, int]]) -> bool:
        """Cut the pieces of these arcs well; whether it is settled that no way of cutting them is better still."""
        segments = self.network.segments
        places = frozenset((s, segments[s].arcs[k].tail, segments[s].arcs[k].head) for s, k in arcs)
        if places not in self._cut_before:
            self._cut_before[places] = self._cut(set(arcs))
        return self._cut_before[places]

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
        room = dual.value // 50 if self.cutoff is None else self.cutoff - dual.value
        patterns, complete = _patterns(smaller, relaxation, dual, room)
        complete = complete and self.cutoff is not None
        outcome = solve_integer(
            smaller, dual, relaxation.links, patterns, room,
            nodes=200 if complete else 30, until=self.until, stop=self.stop,
            seeking=not complete, below=self.cutoff if complete else None,
        )  # fmt: skip
        self.work += 1 + outcome.nodes
        for answer in reversed(outcome.answers):
            self.offer(answer)
        if complete and outcome.complete:
            self.exact = False
            return True
        return False

    def settle(self, dual: Dual, limits: Limits, *, most: int) -> bool:
        """Settle a part by the integer programme over all its patterns; whether it is closed. False at once where more
        than `most` patterns lie within the gap."""
        network, cutoff = self.network, self.cutoff
        if cutoff is None:
            return False
        gap = cutoff - dual.value
        sizes = _sizes_within(network, dual, gap)
        chain = links(network, sizes)
        try:
            patterns = patterns_within(network, families(network, sizes), dual, chain, gap, most=most, steps=10 * most)
        except TooMany:
            return False
        outcome = solve_integer(
            network, dual, chain, patterns, gap,
            nodes=self.effort.nodes, until=self.until, stop=self.stop, limits=limits, below=cutoff,
        )  # fmt: skip
        self.work += 1 + outcome.nodes
        for answer in outcome.answers:
            self.offer(answer)
        if outcome.complete:
            self.exact = False
        return outcome.complete

    def seek(self, dual: Dual, *, most: int, nodes: int = 60) -> bool:
        """The integer programme over the likeliest patterns; whether that gave a better answer."""
        network, cutoff, before = self.network, self.cutoff, self.best
        gap = dual.value // 300 if cutoff is None else min(cutoff - dual.value, dual.value // 300)
        for _ in range(12):
            sizes = _sizes_within(network, dual, gap)
            chain = links(network, sizes)
            try:
                patterns = patterns_within(
                    network, families(network, sizes), dual, chain, gap, most=most, steps=10 * most
                )
                break
            except TooMany:
                gap //= 2
        else:
            return False
        known = {(pattern.stock, pattern.sizes) for pattern in patterns}
        patterns += [
            pattern
            for pattern in _worth_it(self.relaxation.patterns, dual, gap)
            if (pattern.stock, pattern.sizes) not in known and all(size in sizes for size in pattern.sizes)
        ]
        outcome = solve_integer(network, dual, chain, patterns, gap, nodes=nodes, until=self.until, stop=self.stop)
        self.work += 1 + outcome.nodes
        for answer in outcome.answers:
            self.offer(answer)
        return self.best is not before

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
        smaller = _freed(network, surfaces, set(best.pieces), done, [cut for cut, _ in kept])
        if not all(smaller.layouts):
            return False
        start = replace(best, sheets=tuple(cut for cut, _ in touched))
        inner = Answers(smaller, self.effort, start=start, stop=self.stop, until=self.until)
        dual = inner.relaxation.solve(stop=self.stop, cutoff=inner.cutoff)
        inner.work += inner.relaxation.rounds
        if dual is not None and inner.cutoff is not None and dual.value < inner.cutoff:
            if dive:
                inner.dive()
            else:
                inner.seek(dual, most=patterns)
        self.work += inner.work
        found = inner.best
        if found is None or found is start or found.value >= best.value:
            return False
        return self.offer(replace(found, sheets=(*found.sheets, *(cut for cut, _ in kept))))


def _freed(network: Network, surfaces: frozenset[int], held: set[Place], done: set[Place], kept: list[Cut]) -> Network:
    """The network where only these surfaces are still open: other pieces are where they are, and those that come out of
    sheets that are kept take no sheet."""
    segments = []
    for s, segment in enumerate(network.segments):
        if segment.surface in surfaces:
            segments.append(segment)
            continue
        arcs = [arc for arc in segment.arcs if (s, arc.tail, arc.head) in held]
        arcs = [replace(arc, size=None) if (s, arc.tail, arc.head) in done else arc for arc in arcs]
        segments.append(replace(segment, arcs=tuple(arcs)))
    spent: dict[int, int] = {}
    for cut in kept:
        spent[cut.pattern.stock] = spent.get(cut.pattern.stock, 0) + 1
    stock = [
        one if one.limit is None else replace(one, limit=one.limit - spent.get(i, 0))
        for i, one in enumerate(network.stock)
    ]
    constant = network.constant + sum(network.stock[cut.pattern.stock].price for cut in kept)
    return shrink(replace(network, segments=segments, stock=stock, constant=constant), lambda s, k: True)


def _patterns(network: Network, relaxation: Relaxation, dual: Dual, room: int) -> tuple[list[Pattern], bool]:
    """Patterns to cut given pieces with: all within `room`, where they are few (True), else the likeliest."""
    gap = room
    for most in (_ALL_CUTTINGS, *([_CUTTINGS] * 6)):
        try:
            found = patterns_within(network, relaxation.groups, dual, relaxation.links, gap, most=most, steps=10 * most)
        except TooMany:
            gap = min(gap, dual.value // 300) if most == _ALL_CUTTINGS else gap // 2
            continue
        if most == _ALL_CUTTINGS:
            return found, True
        break
    else:
        found = []
    known = {(pattern.stock, pattern.sizes) for pattern in found}
    more = _worth_it(relaxation.patterns, dual, room)
    return found + [pattern for pattern in more if (pattern.stock, pattern.sizes) not in known], False


def _worth_it(patterns: list[Pattern], dual: Dual, gap: int) -> list[Pattern]:
    """Those that cost at most `gap` more than their pieces are worth."""
    sizes = dual.prices.sizes
    return [each for each in patterns if dual.stock[each.stock] - sum(sizes[size] for size in each.sizes) <= gap]


def _sizes_within(network: Network, dual: Dual, gap: int) -> frozenset[int]:
    """Sizes that some arc within the gap asks for."""
    return frozenset(
        size
        for segment, excess in zip(network.segments, dual.arc_excess, strict=True)
        for arc, over in zip(segment.arcs, excess, strict=True)
        if over <= gap and (size := arc.size) is not None
    )


def _both(one: Limits, other: Limits) -> Limits:
    """What is ruled out by either."""
    return replace(one, arcs=one.arcs | other.arcs, layouts=one.layouts | other.layouts)
