"""What to split a part of the problem on: numbers of sheets, a layout, a joint, where a course's
end joints may be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import ceil, floor

from takeoff.solve.bound import Limits
from takeoff.solve.network import Network
from takeoff.solve.relaxation import Relaxation

__all__ = ["Brancher", "Use", "whole_arcs"]

_NEAR = 1e-6
_TRIES = 8  # trial solves a split is chosen by
_RELY = 3  # trials after which what a kind of split did before is relied on
_MOST_RISE = 500.0  # cents; a rise past this says no more than that the part is closed
_STEPS = 60  # simplex steps of a trial solve


@dataclass(frozen=True, slots=True)
class Use:
    """One thing to split on: its value in the programme (the share of `above`), the two parts, how
    much it is liked before anything is tried, and a name under which what it did is kept."""

    value: float
    below: Limits
    above: Limits
    weight: float
    key: tuple[object, ...]


class Brancher:
    """Splits of one network's parts, and what each kind of split did before."""

    def __init__(self, network: Network, relaxation: Relaxation) -> None:
        self.network, self.relaxation = network, relaxation
        self.work = 0
        self._joints = self._joint_arcs()
        self._clashes: dict[tuple[int, int], list[tuple[tuple[int, int], ...]]] = {}
        for clash in network.clashes:
            for joint in clash.joints:
                self._clashes.setdefault(joint, []).append(clash.joints)
        self._rises: dict[tuple[object, ...], list[float]] = {}

    def _joint_arcs(
        self,
    ) -> dict[tuple[int, int], tuple[list[tuple[int, int]], list[tuple[int, int]]]]:
        """For each joint (segment, node): the arcs that end there, and those that pass over it."""
        arcs_of = {}
        for s, segment in enumerate(self.network.segments):
            for node in range(1, len(segment.at) - 1):
                ending = [(s, k) for k, arc in enumerate(segment.arcs) if arc.head == node]
                passing = [
                    (s, k) for k, arc in enumerate(segment.arcs) if arc.tail < node < arc.head
                ]
                arcs_of[s, node] = (ending, passing)
        return arcs_of

    def courses(self, limits: Limits) -> list[Use]:
        """The layouts and joints that are fractional in the programme's solution."""
        return [*self._layouts(limits), *self._joint_uses(limits)]

    def all(self, limits: Limits) -> list[Use]:
        """All that is fractional and worth a split; empty where the courses are whole and the
        numbers of sheets too."""
        return [*self._sheets(limits), *self.courses(limits), *self._ends(limits)]

    def _sheets(self, limits: Limits) -> Iterator[Use]:
        relaxation = self.relaxation
        values = relaxation.solution.col_value
        counts = dict.fromkeys(relaxation.rows.count, 0.0)
        for i, pattern in enumerate(relaxation.patterns, start=relaxation.first_pattern):
            if pattern.stock in counts:
                counts[pattern.stock] += values[i]
        total = sum(counts.values())
        if _part(total) > 0.01:
            low, high = limits.total
            # The weights say what is tried first: how many sheets are bought in all, then layouts,
            # then the counts of one stock and the ends of segments, and single joints last.
            below, above = (low, floor(total)), (ceil(total), high)
            yield Use(
                total % 1,
                replace(limits, total=below),
                replace(limits, total=above),
                4.0,
                ("total",),
            )
        for stock, count in counts.items():
            if _part(count) > 0.01:
                low, high = limits.count(stock)
                # The new limits of this stock take the place of the old ones.
                others = tuple(count for count in limits.counts if count[0] != stock)
                yield Use(
                    count % 1,
                    replace(limits, counts=(*others, (stock, low, floor(count)))),
                    replace(limits, counts=(*others, (stock, ceil(count), high))),
                    2.0,
                    ("stock", stock),
                )

    def _layouts(self, limits: Limits) -> Iterator[Use]:
        values = self.relaxation.solution.col_value
        for i, (s, index) in enumerate(self.relaxation.layouts):
            if _part(values[i]) > _NEAR:
                rest = frozenset((s, other) for other in self.network.layouts[s] if other != index)
                yield Use(
                    values[i],
                    replace(limits, layouts=limits.layouts | {(s, index)}),
                    replace(limits, layouts=limits.layouts | rest),
                    3.0,
                    ("layout", s, index),
                )

    def _joint_uses(self, limits: Limits) -> Iterator[Use]:
        relaxation = self.relaxation
        values = relaxation.solution.col_value
        used: dict[tuple[int, int], float] = {}
        for i, (s, k) in enumerate(relaxation.arcs, start=len(relaxation.layouts)):
            if values[i] > _NEAR:
                joint = (s, self.network.segments[s].arcs[k].head)
                if joint in self._joints:
                    used[joint] = used.get(joint, 0.0) + values[i]
        for joint, value in used.items():
            if _part(value) > _NEAR:
                yield self._joint_use(limits, joint, value)

    def _joint_use(self, limits: Limits, joint: tuple[int, int], value: float) -> Use:
        ending, passing = self._joints[joint]
        segment = self.network.segments[joint[0]]
        others = frozenset(
            (segment.surface, other)
            for other in self.network.layouts[segment.surface]
            if other != segment.layout
        )
        # A joint is used where an arc ends at it. Then no arc may pass over it, no joint may be
        # used that clashes with it, and no other layout is left to the surface.
        barred = set(passing)
        for clash in self._clashes.get(joint, ()):
            for other in clash:
                if other != joint:
                    barred.update(self._joints[other][0])
        return Use(
            value,
            replace(limits, arcs=limits.arcs | frozenset(ending)),
            replace(limits, arcs=limits.arcs | barred, layouts=limits.layouts | others),
            1.0,
            ("joint", *joint),
        )

    def _ends(self, limits: Limits) -> Iterator[Use]:
        """Splits of a segment by where its first joint may be, or its last: two parts that both
        lose half of what the programme mixes, where a joint used or not leaves one of them nearly
        whole."""
        relaxation = self.relaxation
        values = relaxation.solution.col_value
        shares: dict[int, list[tuple[int, float]]] = {}
        for i, (s, k) in enumerate(relaxation.arcs, start=len(relaxation.layouts)):
            if values[i] > _NEAR:
                shares.setdefault(s, []).append((k, values[i]))
        for s, used in shares.items():
            arcs = self.network.segments[s].arcs
            last = len(self.network.segments[s].at) - 1
            sides = (
                ("first", {k: arc.head for k, arc in enumerate(arcs) if arc.tail == 0}),
                ("last", {k: arc.tail for k, arc in enumerate(arcs) if arc.head == last}),
            )
            for side, places in sides:
                at: dict[int, float] = {}
                for k, value in used:
                    if k in places:
                        at[places[k]] = at.get(places[k], 0.0) + value
                middle = _middle(at)
                if middle is not None:
                    node, share = middle
                    # Every arc at this end of the segment is in one of the two sets, so the two
                    # parts hold all plans.
                    far = {(s, k) for k, place in places.items() if place > node}
                    near = {(s, k) for k, place in places.items() if place <= node}
                    yield Use(
                        (1 - share) * sum(at.values()),
                        replace(limits, arcs=limits.arcs | far),
                        replace(limits, arcs=limits.arcs | near),
                        2.0,
                        (side, s),
                    )

    def split(self, limits: Limits, uses: list[Use]) -> list[Limits]:
        """The two parts of the split that raises the programme's value most, the likelier part
        first. A few trial solves choose it; a kind of split that was tried often enough is judged
        by what it did before."""
        relaxation = self.relaxation
        base = relaxation.value
        best: tuple[float, Use] | None = None
        basis = relaxation.highs.getBasis()
        relaxation.highs.setOptionValue("simplex_iteration_limit", _STEPS)
        tried = 0
        for use in sorted(uses, key=lambda use: -use.weight * min(use.value, 1 - use.value))[
            : 3 * _TRIES
        ]:
            # Kept for each kind of split: the sum and the number of rises of the part below, then
            # of the part above, each rise a unit of what was rounded away.
            record = self._rises.setdefault(use.key, [0.0, 0, 0.0, 0])
            apart = (max(use.value % 1, 0.01), max(1 - use.value % 1, 0.01))
            if min(record[1], record[3]) >= _RELY:
                rises = [record[0] / record[1] * apart[0], record[2] / record[3] * apart[1]]
            elif tried < _TRIES:
                tried += 1
                rises = []
                for side, child in enumerate((use.below, use.above)):
                    # Dual steps only ever raise the value, so a trial of a few of them need not
                    # end: a rise so far is a rise.
                    relaxation.within(child)
                    relaxation.highs.setBasis(basis)
                    relaxation.highs.run()
                    rises.append(
                        max(relaxation.highs.getInfo().objective_function_value - base, 0.0)
                    )
                    record[2 * side] += min(rises[side], _MOST_RISE) / apart[side]
                    record[2 * side + 1] += 1
                    self.work += 1
            else:
                continue

            # The product favors splits that raise both parts: a split that leaves one part as it
            # was gains nothing there. The floor keeps a rise on one side from counting as none.
            score = max(min(rises), 0.01) * max(max(rises), 0.01)
            if best is None or score > best[0]:
                best = (score, use)
        relaxation.highs.setOptionValue("simplex_iteration_limit", 2**31 - 1)
        relaxation.within(limits)
        relaxation.highs.setBasis(basis)
        assert best is not None

        # The likelier part first, for the search dives into the first one.
        use = best[1]
        return [use.below, use.above] if use.value < 0.5 else [use.above, use.below]

    def flips(self, limits: Limits) -> tuple[list[Limits], Limits]:
        """Where the programme's courses are whole: a part for each of its arcs that may be the
        first not to be used, and the part in which all of them are."""
        network = self.network
        parts = []
        for s, k in whole_arcs(self.relaxation):
            segment = network.segments[s]
            mine = segment.arcs[k]
            # Arcs that share a stretch of the segment with this one: where it is used none of them
            # is.
            others = {
                (s, other)
                for other, arc in enumerate(segment.arcs)
                if other != k and arc.head > mine.tail and arc.tail < mine.head
            } - limits.arcs
            layouts = frozenset(
                (segment.surface, i)
                for i in network.layouts[segment.surface]
                if i != segment.layout
            )
            if others or not layouts <= limits.layouts:
                # This part holds the plans without this arc but with all the arcs before it. With
                # the part of all arcs, handed back at the end, the parts hold every plan once.
                parts.append(replace(limits, arcs=limits.arcs | {(s, k)}))
                limits = replace(
                    limits, arcs=limits.arcs | others, layouts=limits.layouts | layouts
                )
        return parts, limits


def whole_arcs(relaxation: Relaxation) -> list[tuple[int, int]]:
    """The arcs the programme uses, where its courses are whole."""
    values = relaxation.solution.col_value
    return [
        key
        for i, key in enumerate(relaxation.arcs, start=len(relaxation.layouts))
        if values[i] > 0.5
    ]


def _middle(at: dict[int, float]) -> tuple[int, float] | None:
    """The place up to which nearest to half of what is used lies, and that share; None where it all
    lies in one."""
    total = sum(at.values())
    share, best = 0.0, None
    for node in sorted(at)[:-1]:
        share += at[node] / total
        if best is None or abs(share - 0.5) < abs(best[1] - 0.5):
            best = (node, share)
    return best if best is not None and 0.02 < best[1] < 0.98 else None


def _part(value: float) -> float:
    """How far a value is from whole."""
    return abs(value - round(value))
