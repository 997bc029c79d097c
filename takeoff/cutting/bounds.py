"""Least cost of cutting pieces out of sticks, proven without solving: superadditive measures of
length.

A measure `w` that never gives two lengths laid end to end less than the two by themselves (a
maximal dual feasible function; F. Clautiaux, C. Alves, J. Valério de Carvalho, *A survey of
dual-feasible and superadditive functions*, Annals of Operations Research 179, 2010) bounds every
cutting: what a stick yields measures at most `w(stick)`, so each unit of measure needed costs at
least the best price of one. Plain length is the simplest such measure; the others count what large
pieces spoil, and together they hold the bound L2 of Martello and Toth.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from math import ceil, gcd

__all__ = ["attainable", "measured_bound"]

Measure = Callable[[int], int]

_MOST_THRESHOLDS = 24
_MOST_STEPS = 8


def measured_bound(
    pieces: Sequence[tuple[int, int]], stock: Sequence[tuple[int, int]], owned: Sequence[int] = ()
) -> int:
    """No cutting of `pieces` (length, count) out of `stock` (length, price) costs less than this
    whole number.

    `owned` lengths are free, each once. The bound is a price that whole sticks can add up to.
    """
    if not pieces or not stock:
        return 0
    longest = max([length for length, _ in stock] + list(owned))
    best = Fraction(0)
    for measure in _measures(longest, [length for length, _ in pieces]):
        # Owned sticks are free, so what they may yield at most is taken off what must be bought.
        needed = sum(count * measure(length) for length, count in pieces) - sum(map(measure, owned))
        if needed <= 0:
            continue
        rates = [Fraction(price, measure(length)) for length, price in stock if measure(length) > 0]
        best = max(best, needed * min(rates))
    return attainable(ceil(best), [price for _, price in stock])


def attainable(least: int, prices: Sequence[int]) -> int:
    """The smallest sum of prices, each taken any number of times, that is at least `least`."""
    if least <= 0 or not prices or 0 in prices:
        return max(least, 0)
    # Sums are counted in steps of the greatest common divisor, so that the bits stay few.
    step = gcd(*prices)
    target = -(-least // step)
    # Some sum lies within one price above the target: a window that wide always holds it.
    window = target + max(prices) // step + 1
    reached = 1  # bit k stands for a sum of k steps
    mask = (1 << window) - 1
    for price in prices:
        shift = price // step
        while shift < window:
            # Doubling, as in a knapsack table: after this every number of this price has been
            # added.
            reached |= (reached << shift) & mask
            shift *= 2
    above = reached >> target
    return (target + (above & -above).bit_length() - 1) * step


def _measures(longest: int, lengths: Sequence[int]) -> Iterator[Measure]:
    # Plain length, then the measures that count what large pieces spoil.
    yield lambda x: x
    for steps in range(1, _MOST_STEPS + 1):
        yield _rounded(longest, steps)
    thresholds = sorted(
        {x for x in lengths if 2 * x <= longest} | {longest - x for x in lengths if 2 * x > longest}
    )
    thresholds = [x for x in thresholds if x > 0]
    if len(thresholds) > _MOST_THRESHOLDS:
        # A sample is a bound too, only a weaker one. Long lists have more thresholds than are worth
        # the time.
        thresholds = [
            thresholds[i * len(thresholds) // _MOST_THRESHOLDS] for i in range(_MOST_THRESHOLDS)
        ]
    for least in thresholds:
        # A measure changes where a piece just does or just does not count: both sides of each
        # threshold.
        for edge in (least, least + 1):
            if 2 * edge <= longest:
                yield (spoiling := _spoiling(longest, edge))
                yield _after(_rounded(longest, 1), spoiling)
                yield _counting(longest, edge)


def _after(outer: Measure, inner: Measure) -> Measure:
    return lambda x: outer(inner(x))


def _rounded(longest: int, steps: int) -> Measure:
    """Fekete and Schepers' u(k): length in `steps` + 1 parts of the longest stick, rounded down
    where not whole."""

    def measure(x: int) -> int:
        parts, rest = divmod((steps + 1) * x, longest)
        return steps * x if rest == 0 else parts * longest

    return measure


def _spoiling(longest: int, least: int) -> Measure:
    """Pieces under `least` count nothing, and one that leaves less than `least` takes the whole
    stick."""

    def measure(x: int) -> int:
        if x < least:
            return 0
        return longest if x > longest - least else x

    return measure


def _counting(longest: int, part: int) -> Measure:
    """How many parts of length `part` a piece holds, and a long piece what it leaves no room for
    (Carlier, Clautiaux and Moukrim)."""
    whole = longest // part

    def measure(x: int) -> int:
        if 2 * x == longest:
            return whole
        return 2 * (x // part) if 2 * x < longest else 2 * (whole - (longest - x) // part)

    return measure
