"""The integer programme over what can still be part of a better plan, and whole plans read off its
answers."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from takeoff.solve.bound import EVERYTHING, Dual, Limits
from takeoff.solve.knapsack import Pattern
from takeoff.solve.network import MONEY, Network, PieceSize
from takeoff.solve.relaxation import Columns, ConstraintRows, arc_entries, new_highs

__all__ = ["Answer", "FilledPattern", "Outcome", "match", "read_answer", "solve_integer"]


_SMALL = 450  # columns

Place = tuple[int, int, int]  # a piece: its segment, and the nodes it reaches from and to


@dataclass(frozen=True, slots=True)
class FilledPattern:
    """One sheet: its pattern, and the pieces cut from it, place by place."""

    pattern: Pattern
    full: tuple[Place, ...]
    strips: tuple[tuple[Place, ...], ...]


@dataclass(frozen=True, slots=True)
class Answer:
    """A whole plan on the network: exact cost in cents, the layout of each surface, pieces,
    sheets."""

    value: Fraction
    layouts: tuple[int, ...]
    pieces: tuple[Place, ...]
    sheets: tuple[FilledPattern, ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What an integer solve came to: better answers, in order; whether it was searched to the end;
    nodes spent."""

    answers: tuple[Answer, ...]
    complete: bool
    nodes: int


def fits(piece: PieceSize, slot: PieceSize, *, strip: bool) -> bool:
    """Whether a slot cut for one size may give a piece of another: cut shorter or, from a strip,
    trimmed."""
    if piece.group != slot.group or piece.length > slot.length or piece.edges > slot.edges:
        return False
    return piece.width <= slot.width if strip else piece.width == slot.width


def match(
    network: Network, arcs: Sequence[tuple[int, int]], patterns: Sequence[Pattern]
) -> tuple[FilledPattern, ...] | None:
    """Give each piece a slot of a pattern, which then is of that very piece; what stays empty is
    not cut.

    None where the slots do not suffice.
    """
    sizes = network.sizes
    slots: list[tuple[int, int, int, int]] = []  # pattern, strip (-1: full width), place, size
    for p, pattern in enumerate(patterns):
        slots += [(p, -1, k, size) for k, size in enumerate(pattern.full)]
        slots += [
            (p, s, k, size)
            for s, strip in enumerate(pattern.strips)
            for k, size in enumerate(strip)
        ]

    # Smallest slots first and largest pieces first: each piece then takes the tightest slot that
    # fits, and few have to move later.
    slots.sort(key=lambda slot: (sizes[slot[3]].width, sizes[slot[3]].length, slot))

    wanted: list[tuple[int, int, int]] = []  # segment, arc, size
    for s, k in arcs:
        size = network.segments[s].arcs[k].size
        if size is not None:
            wanted.append((s, k, size))
    wanted.sort(key=lambda one: (-sizes[one[2]].width, -sizes[one[2]].length, one))

    choices: dict[int, list[int]] = {}
    for _, _, size in wanted:
        if size not in choices:
            choices[size] = [
                number
                for number, (p, strip, _, slot) in enumerate(slots)
                if fits(sizes[size], sizes[slot], strip=strip >= 0)
                and patterns[p].stock in sizes[size].from_sheets
            ]

    # A matching of pieces to slots by augmenting paths: a piece may take a slot that is held, where
    # its holder finds another.
    holder: dict[int, int] = {}

    def place(piece: int, seen: set[int]) -> bool:
        for slot in choices[wanted[piece][2]]:
            if slot not in seen:
                seen.add(slot)
                if slot not in holder or place(holder[slot], seen):
                    holder[slot] = piece
                    return True
        return False

    if not all(place(piece, set()) for piece in range(len(wanted))):
        return None

    filled: list[list[list[tuple[int, Place]]]] = [
        [[] for _ in range(1 + len(pattern.strips))] for pattern in patterns
    ]
    for slot, piece in holder.items():
        p, strip, _, _ = slots[slot]
        s, number, size = wanted[piece]
        arc = network.segments[s].arcs[number]
        filled[p][strip + 1].append((size, (s, arc.tail, arc.head)))

    cuts = []
    for pattern, parts in zip(patterns, filled, strict=True):
        ordered = [sorted(part) for part in parts]
        sized = [tuple(size for size, _ in part) for part in ordered]
        held = [tuple(place for _, place in part) for part in ordered]
        if any(sized):
            if not network.legal(pattern.stock, [size for part in sized for size in part]):
                return None
            # The sheet's pattern is now of the very pieces, not of the larger sizes they were cut
            # from.
            exact = Pattern(pattern.stock, sized[0], tuple(sized[1:]), pattern.rip)
            cuts.append(FilledPattern(exact, held[0], tuple(held[1:])))
    return tuple(cuts)


def read_answer(
    network: Network,
    layouts: Sequence[int],
    arcs: Sequence[tuple[int, int]],
    patterns: Sequence[Pattern],
) -> Answer | None:
    """The answer these choices make, priced exactly; None where the patterns do not cover the
    pieces."""
    sheets = match(network, arcs, patterns)
    if sheets is None:
        return None

    # The cost is added up again in exact fractions: the solver's own total is a float.
    value = network.constant + sum(network.stock[cut.pattern.stock].price for cut in sheets)
    for s, k in arcs:
        segment = network.segments[s]
        value += segment.exact_cost(segment.arcs[k])
    value += sum(network.layout_hours(s, index) for s, index in enumerate(layouts))
    pieces = [
        (s, network.segments[s].arcs[k].tail, network.segments[s].arcs[k].head) for s, k in arcs
    ]
    return Answer(value, tuple(layouts), tuple(sorted(pieces)), sheets)


class _Programme:
    """The programme in the solver: `layouts`, `arcs` and `patterns` are its columns, in this order,
    and links come last. `whole` is how many columns come before the links."""

    def __init__(
        self,
        network: Network,
        dual: Dual,
        links: Sequence[tuple[int, int]],
        patterns: Iterable[Pattern],
        gap: int,
    ) -> None:
        self.network, self.patterns = network, list(patterns)
        self.rows = rows = ConstraintRows(network)
        columns = Columns()

        self.layouts = [key for key, excess in sorted(dual.layout_excess.items()) if excess <= gap]
        for s, index in self.layouts:
            columns.add(float(network.layout_hours(s, index)), rows.layout_column(s, index), 1.0)

        # An arc within the gap whose layout is not within it is in no better plan.
        allowed = set(self.layouts)
        self.arcs = [
            (s, k)
            for s, segment in enumerate(network.segments)
            if (segment.surface, segment.layout) in allowed
            for k, excess in enumerate(dual.arc_excess[s])
            if excess <= gap
        ]
        clashes = rows.clashes_of()
        for s, k in self.arcs:
            segment = network.segments[s]
            cost = segment.cost(segment.arcs[k]) / MONEY
            columns.add(cost, arc_entries(network, rows, s, k, clashes), 1.0)

        for pattern in self.patterns:
            price = float(network.stock[pattern.stock].price)
            columns.add(price, rows.pattern_column(pattern), 200.0)

        self.whole = len(columns.cost)
        for larger, smaller in links:
            columns.add(0.0, {rows.demand[larger]: -1.0, rows.demand[smaller]: 1.0})
        self.size = len(columns.cost)

        self.highs = new_highs()
        self._load(columns)

    def _load(self, columns: Columns) -> None:
        import numpy as np

        # Rows first and without entries; each column then brings its own.
        count = len(self.rows.lower)
        self.highs.addRows(
            count,
            np.array(self.rows.lower),
            np.array(self.rows.upper),
            0,
            np.zeros(count, dtype=np.int32),
            np.array([], dtype=np.int32),
            np.array([]),
        )
        columns.load(self.highs)

    def answer(self, values: Sequence[float]) -> Answer | None:
        """The answer a solution stands for; a whole number there is whole within a tolerance
        only."""
        arcs_from = len(self.layouts)
        patterns_from = arcs_from + len(self.arcs)
        return read_answer(
            self.network,
            [index for i, (_, index) in enumerate(self.layouts) if values[i] > 0.5],
            [arc for i, arc in enumerate(self.arcs, start=arcs_from) if values[i] > 0.5],
            [
                pattern
                for i, pattern in enumerate(self.patterns, start=patterns_from)
                for _ in range(round(values[i]))
            ],
        )


def solve_integer(
    network: Network,
    dual: Dual,
    links: Sequence[tuple[int, int]],
    patterns: Iterable[Pattern],
    gap: int,
    *,
    nodes: int,
    until: Callable[[], float] | None = None,
    stop: Callable[[], bool] | None = None,
    limits: Limits = EVERYTHING,
    seeking: bool = False,
    below: int | None = None,
) -> Outcome:
    """Solve over `patterns` and every arc and layout within `gap` of the bound, for at most so many
    `nodes`.

    With `seeking` a good answer is what is wanted, else a proof. With `below` (`MONEY` parts,
    without the network's constant) only answers that cost no more are looked for: a proof is then
    sooner had. `until` (seconds left) and `stop` end it early.
    """
    import highspy
    import numpy as np

    programme = _Programme(network, dual, links, patterns, gap)
    highs = programme.highs
    for row, low, high in programme.rows.bounds(limits):
        highs.changeRowBounds(row, low, high)
    if below is not None:
        # The solver drops every branch that costs more.
        highs.setOptionValue("objective_bound", below / MONEY)

    # The links are whole by themselves; where a proof is wanted, the solver is through sooner when
    # told so.
    count = programme.size if below is not None else programme.whole
    whole = np.array([highspy.HighsVarType.kInteger] * count)
    highs.changeColsIntegrality(count, np.arange(count, dtype=np.int32), whole)

    # The solver's usual gap would let it stop at a plan that is merely close.
    highs.setOptionValue("mip_rel_gap", 0.0)
    highs.setOptionValue("mip_abs_gap", 1e-4)
    highs.setOptionValue("mip_max_nodes", nodes)

    # Of the solver's own searches for answers one is worth its time, and none where a proof is
    # wanted.
    for name in ("root_reduced_cost", "rins", *(() if seeking else ("rens",))):
        highs.setOptionValue(f"mip_heuristic_run_{name}", False)
    if seeking:
        # Measured: beginning again, and simplifying a small programme, take longer than they spare.
        highs.setOptionValue("mip_allow_restart", False)
        if programme.size < _SMALL:
            highs.setOptionValue("presolve", "off")
    if until is not None:
        highs.setOptionValue("time_limit", max(0.01, until()))

    if stop is not None:

        def ask(kind: object, message: str, out: object, data: Any, user: object) -> None:
            if data is not None and stop():
                data.user_interrupt = True

        highs.setCallback(ask, None)
        highs.startCallback(highspy.cb.HighsCallbackType.kCallbackMipInterrupt)
    highs.run()

    info = highs.getInfo()
    answers: list[Answer] = []
    if info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible:
        answer = programme.answer(highs.getSolution().col_value)
        answers += [answer] if answer is not None else []
    status = highs.getModelStatus()
    ended = status in (highspy.HighsModelStatus.kOptimal, highspy.HighsModelStatus.kInfeasible)
    return Outcome(tuple(answers), ended, max(0, info.mip_node_count))
