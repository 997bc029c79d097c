"""Ways to better answers of one network: rounding the programme, cutting given courses, laying some
surfaces again."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from takeoff.solve.bound import EVERYTHING, Dual, Limits
from takeoff.solve.branch import Brancher, whole_arcs
from takeoff.solve.compatible import Compatible
from takeoff.solve.effort import Effort
from takeoff.solve.integer import Answer, FilledPattern, Place, solve_integer
from takeoff.solve.knapsack import Pattern, stock_groups
from takeoff.solve.network import MONEY, Network, shrink
from takeoff.solve.pattern_sources import ByKnapsack, Listed
from takeoff.solve.patterns import TooMany, patterns_within
from takeoff.solve.relaxation import Relaxation, links

__all__ = ["Improver"]

_FEW = 300  # patterns that are not worth a programme of their own
# patterns that an integer programme is soon through with, for each that a part may be settled with
_EASY = 4
_FEW_NODES = 300  # that a larger one is given
_CUTTINGS = 300  # patterns that given pieces are cut with at most, where not all are wanted
# patterns within the gap up to which all are tried, and the cutting is settled
_ALL_CUTTINGS = 3000


class Improver:
    """A network, its programme, and the best answer so far. `exact`: all that was settled rests on
    whole numbers.

    With `listed` only what can be cut with these patterns is asked about, with `ceiling` only
    answers that cost less. `knapsack` is the network's own, where it has been made already.
    """

    def __init__(
        self,
        network: Network,
        effort: Effort,
        *,
        start: Answer | None = None,
        seed: Iterable[Pattern] = (),
        listed: Listed | None = None,
        ceiling: int | None = None,
        knapsack: ByKnapsack | None = None,
        stop: Callable[[], bool] | None = None,
        until: Callable[[], float] | None = None,
    ) -> None:
        self.network, self.effort, self.best = network, effort, start
        self.stop, self.until = stop or (lambda: False), until
        cuts = start.sheets if start else ()
        # A programme is solved sooner from the patterns of a good answer.
        # An answer may lie just outside a network narrowed to what is better.
        known = [cut.pattern for cut in cuts if network.active.issuperset(cut.pattern.sizes)]
        self.ceiling = ceiling
        self.knapsack = knapsack or ByKnapsack(network)
        if listed is None:
            # Where rooms share sheets each is priced alone first, which opens better.
            rooms = {problem.framed.surface.room for problem in network.pool.surfaces}
            self.relaxation = Relaxation(
                network,
                [*seed, *known],
                source=self.knapsack,
                until=until,
                opening=len(rooms) == 1,
            )
        else:
            self.relaxation = Relaxation(network, seed, source=listed, until=until)
        self.brancher = Brancher(network, self.relaxation)
        self.root: Dual | None = None
        self.exact = True
        self.work = 0
        self._cut_before: dict[frozenset[Place], bool] = {}

    @property
    def cutoff(self) -> int | None:
        """A part whose bound reaches this holds nothing better than the best answer."""
        if self.best is None:
            return self.ceiling
        grain = int(self.network.grain * MONEY)
        # Every plan costs a multiple of the grain, so a better one is cheaper by a whole grain. The
        # thousandth of a cent is a margin for what costs lose by rounding down.
        cutoff = self.cost(self.best) - max(grain - MONEY // 1000, 0)
        return cutoff if self.ceiling is None else min(cutoff, self.ceiling)

    def cost(self, answer: Answer) -> int:
        """What an answer costs, as bounds are told: in `MONEY` parts, without the network's
        constant."""
        return int((answer.value - self.network.constant) * MONEY)

    def offer(self, answer: Answer | None) -> bool:
        """Keep `answer` where it is better than the best one. Returns whether it was kept."""
        if answer is None or (self.best is not None and answer.value >= self.best.value):
            return False
        self.best = answer
        return True

    def polish(self, part: int, *, nodes: int = 10) -> bool:
        """Solve the integer programme over all patterns known that cost at most one `part`-th of
        the bound more than they are worth. Returns whether that gave a better answer."""
        root, cutoff = self.root, self.cutoff
        if root is None:
            return False
        gap = root.value // part if cutoff is None else min(cutoff - root.value, root.value // part)
        outcome = solve_integer(
            self.network,
            root,
            links(self.network, any_end=True),
            _worth_it(self.relaxation.patterns, root, gap),
            gap,
            nodes=nodes,
            until=self.until,
            stop=self.stop,
            seeking=True,
        )
        self.work += 1 + outcome.nodes
        return any(self.offer(answer) for answer in reversed(outcome.answers))

    def dive(self, limits: Limits | None = None) -> bool:
        """Round the programme's courses one decision at a time, then cut their pieces well. With
        `limits` the programme of that part is rounded. Returns whether that gave a better answer;
        the programme stands on the whole problem again then."""
        relaxation, before = self.relaxation, self.best
        if limits is None:
            limits = relaxation.limits
        else:
            relaxation.within(limits)
            if not relaxation.run():
                return False
        for _ in range(300):
            uses = self.brancher.courses(limits)
            if not uses:
                self.cut(whole_arcs(relaxation))
                break
            # Several that are nearly whole are decided at once; where there is none, the one
            # nearest to it.
            sure = [use for use in uses if use.value >= 0.75] or [
                max(uses, key=lambda use: use.value)
            ]
            for use in sure:
                limits = _both(limits, use.above)
            relaxation.within(limits)
            self.work += 1
            if not relaxation.run() or self.stop():
                break

        relaxation.within(EVERYTHING)
        return self.best is not before

    def cut(self, arcs: list[tuple[int, int]]) -> bool:
        """Cut the pieces of these arcs well. Returns whether it is settled that no way of cutting
        them is better than the best answer now known."""
        segments = self.network.segments
        # Arcs are numbered anew in a smaller network, so the same pieces are known by their places.
        places = frozenset((s, segments[s].arcs[k].tail, segments[s].arcs[k].head) for s, k in arcs)
        if places not in self._cut_before:
            self._cut_before[places] = self._cut(set(arcs))
        return self._cut_before[places]

    def _cut(self, held: set[tuple[int, int]]) -> bool:
        smaller = shrink(self.network, lambda s, k: (s, k) in held)
        if not all(smaller.layouts):
            return False
        seed = [
            one
            for one in self.relaxation.patterns
            if all(size in smaller.active for size in one.sizes)
        ]

        # With the pieces given only the cutting is open: a small problem of its own.
        inner = Improver(
            smaller, self.effort, start=self.best, seed=seed, stop=self.stop, until=self.until
        )
        dual = inner.relaxation.solve(cutoff=self.cutoff, most_rounds=60, stop=self.stop)
        inner.work += inner.relaxation.rounds
        # No way of cutting these pieces can be better than the best answer.
        closed = dual is not None and self.cutoff is not None and dual.value >= self.cutoff
        if dual is not None and not closed:
            if self.cutoff is not None:
                closed = inner.settle(dual, EVERYTHING, most=_ALL_CUTTINGS, nodes=200)
            if not closed:
                room = dual.value // 50 if self.cutoff is None else self.cutoff - dual.value
                inner.seek(dual, most=_CUTTINGS, nodes=30, room=room)
        self.work += inner.work
        self.exact = self.exact and inner.exact
        self.offer(inner.best)
        return closed

    def settle(
        self,
        dual: Dual,
        limits: Limits,
        *,
        most: int,
        listed: int | None = None,
        nodes: int | None = None,
    ) -> bool:
        """Settle a part of the problem by the integer programme over all its patterns. Returns
        whether the part is closed: it holds no answer better than the best one now known.

        False at once where more than `listed` patterns lie within the gap, or more than `most` once
        the prices were sharpened.
        """
        limit = self.cutoff
        if limit is None:
            return False
        # Whatever costs more than the gap over the bound is in no better answer, so the patterns
        # within the gap are all that count.
        within = self._within(dual, limits, limit - dual.value, most=listed or most)
        if within is None:
            return False
        dual, limits, patterns = within
        if dual.value >= limit:
            return True
        if len(patterns) > most:
            return False
        if nodes is None:
            # A large programme is through at once, or else sooner split.
            nodes = (
                self.effort.nodes if len(patterns) <= _EASY * self.effort.patterns else _FEW_NODES
            )
        outcome = solve_integer(
            self.network,
            dual,
            links(self.network, _sizes_within(self.network, dual, limit - dual.value)),
            patterns,
            limit - dual.value,
            nodes=nodes,
            until=self.until,
            stop=self.stop,
            limits=limits,
            below=limit,
        )
        self.work += 1 + outcome.nodes
        for answer in outcome.answers:
            self.offer(answer)
        # The integer programme was searched to its end, but in floats: what rests on it is no exact
        # proof.
        if outcome.complete:
            self.exact = False
        return outcome.complete

    def _within(
        self, dual: Dual, limits: Limits, gap: int, *, most: int
    ) -> tuple[Dual, Limits, list[Pattern]] | None:
        """All patterns of a part that a plan within the gap can use; None where they are more than
        `most`.

        Where they are many, the programme over them alone is solved: its prices, of the plans
        within the gap only, are given back in place of `dual`, and with them most of the patterns
        go.
        """
        network, source = self.network, self.relaxation.source
        # All patterns are listed already, so none has to be searched for.
        if isinstance(source, Listed):
            near = source.within(dual.prices.sizes, dual.stock, gap)
            return (dual, limits, near) if len(near) <= most else None
        # Arcs beyond the gap are in no better answer. Without them fewer sizes and patterns are
        # left.
        far = frozenset(
            (s, k)
            for s, excesses in enumerate(dual.arc_excess)
            for k, excess in enumerate(excesses)
            if excess > gap
        )
        limits = replace(limits, arcs=limits.arcs | far)

        sizes = _sizes_within(network, dual, gap)
        chain = links(network, sizes)
        compatible = Compatible(network, chain, limits.arcs) if network.ends else None
        try:
            patterns = patterns_within(
                network,
                stock_groups(network, sizes, like=self.knapsack.stock_groups),
                dual.prices.sizes,
                dual.stock,
                chain,
                gap,
                most=most,
                steps=10 * most,
                compatible=compatible,
                stop=self.stop,
            )
        except TooMany:
            return None
        # Too few to gain by sharper prices.
        if len(patterns) < _FEW:
            return dual, limits, patterns

        # Every answer within the gap is cut from these patterns, so a bound over them alone holds
        # for all such answers, and is higher.
        whole = Listed(network, patterns)
        seed = whole.best(dual.prices.sizes, dual.stock, 2 * len(sizes))

        relaxation = Relaxation(network, seed, source=whole, until=self.until)
        relaxation.within(limits)
        limit = dual.value + gap
        closer = relaxation.solve(cutoff=limit, stop=self.stop)
        self.work += relaxation.rounds

        if closer is None:
            # No plan at all is cut from these patterns: nothing below the limit is left.
            return (replace(dual, value=limit), limits, []) if relaxation.impossible else None
        if closer.value <= dual.value:
            return dual, limits, patterns
        return closer, limits, whole.within(closer.prices.sizes, closer.stock, limit - closer.value)

    def seek(self, dual: Dual, *, most: int, nodes: int = 60, room: int | None = None) -> bool:
        """The integer programme over the likeliest patterns, and over those known that cost at most
        `room` more than they are worth (as likely as the others unless told); whether that gave a
        better answer."""
        network, cutoff, before = self.network, self.cutoff, self.best
        # Patterns that cost little more than they are worth are the likeliest. Half as much, and
        # half again, until they are few enough.
        near = dual.value // 300 if cutoff is None else min(cutoff - dual.value, dual.value // 300)
        within: tuple[Dual, Limits, list[Pattern]] | None = None
        for _ in range(12):
            within = self._within(dual, EVERYTHING, near, most=most)
            if within is not None:
                break
            near //= 2
        if within is None and room is None:
            return False

        gap = near if room is None else room
        patterns = within[2] if within is not None else []
        known = {(pattern.stock, pattern.sizes) for pattern in patterns}
        sizes = _sizes_within(network, dual, gap)
        patterns += [
            pattern
            for pattern in _worth_it(self.relaxation.patterns, dual, gap)
            if (pattern.stock, pattern.sizes) not in known
            and all(size in sizes for size in pattern.sizes)
        ]

        outcome = solve_integer(
            network,
            dual,
            links(network, sizes, any_end=True),
            patterns,
            gap,
            nodes=nodes,
            until=self.until,
            stop=self.stop,
            seeking=True,
        )
        self.work += 1 + outcome.nodes
        for answer in outcome.answers:
            self.offer(answer)
        return self.best is not before

    def free(self, surfaces: frozenset[int], *, patterns: int = 250, dive: bool = False) -> bool:
        """Lay these surfaces anew, and cut anew every sheet that holds a piece of them; all the
        rest stays. With `dive` by rounding the programme, else by the integer programme over so
        many `patterns`. Returns whether that gave a better answer."""
        best, network = self.best, self.network
        if best is None:
            return False
        # A sheet is cut again as a whole or not at all.
        touched: list[tuple[FilledPattern, list[Place]]] = []
        kept: list[tuple[FilledPattern, list[Place]]] = []
        for cut in best.sheets:
            places = [place for part in (cut.full, *cut.strips) for place in part]
            mine = any(network.segments[s].surface in surfaces for s, _, _ in places)
            (touched if mine else kept).append((cut, places))

        done = {place for _, places in kept for place in places}
        smaller = _freed(network, surfaces, set(best.pieces), done, [cut for cut, _ in kept])
        if not all(smaller.layouts):
            return False

        start = replace(best, sheets=tuple(cut for cut, _ in touched))
        inner = Improver(smaller, self.effort, start=start, stop=self.stop, until=self.until)
        dual = inner.relaxation.solve(stop=self.stop, cutoff=inner.cutoff)
        inner.work += inner.relaxation.rounds
        if dual is not None and inner.cutoff is not None and dual.value < inner.cutoff:
            if dive:
                inner.dive()
            else:
                inner.seek(dual, most=patterns)

        self.work += inner.work
        relaid = inner.best
        if relaid is None or relaid is start or relaid.value >= best.value:
            return False
        return self.offer(replace(relaid, sheets=(*relaid.sheets, *(cut for cut, _ in kept))))


def _freed(
    network: Network,
    surfaces: frozenset[int],
    held: set[Place],
    done: set[Place],
    kept: list[FilledPattern],
) -> Network:
    """The network where only these surfaces are still open: other pieces are where they are, and
    those that come out of sheets that are kept take no sheet."""
    segments = []
    for s, segment in enumerate(network.segments):
        if segment.surface in surfaces:
            segments.append(segment)
            continue
        arcs = [arc for arc in segment.arcs if (s, arc.tail, arc.head) in held]
        # An arc without a size asks for no piece: its board comes out of a sheet that is kept.
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
    return shrink(
        replace(network, segments=segments, stock=stock, constant=constant), lambda s, k: True
    )


def _worth_it(patterns: list[Pattern], dual: Dual, gap: int) -> list[Pattern]:
    """Those that cost at most `gap` more than their pieces are worth."""
    sizes = dual.prices.sizes
    return [
        pattern
        for pattern in patterns
        if dual.stock[pattern.stock] - sum(sizes[size] for size in pattern.sizes) <= gap
    ]


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
