"""Exact areas and cross-sections of outlines: the checker's own arithmetic, in whole numbers and
fractions.

An outline is any closed ring of corners; its inside is where a line from outside has crossed it an
odd number of times, so the hand it is walked in does not matter. Here x runs along the courses of
boards and y square to them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from itertools import pairwise

__all__ = [
    "Ring",
    "Trapezoid",
    "box",
    "covered",
    "holds_square",
    "measure",
    "reach",
    "section",
    "shared",
    "trapezoids",
]

Exact = int | Fraction
Ring = Sequence[tuple[int, int]]
ExactRing = Sequence[tuple[Exact, Exact]]
Edge = tuple[Exact, Exact, Exact, Exact, int]
# left, right, and the low and high side at each of them
Trapezoid = tuple[Exact, Exact, Exact, Exact, Exact, Exact]


def box(left_edge: int, right_edge: int, low: int, high: int) -> Ring:
    """The outline of a rectangle."""
    return ((left_edge, low), (right_edge, low), (right_edge, high), (left_edge, high))


def trapezoids(
    rings: Sequence[Ring] | Sequence[ExactRing], wanted: Callable[[int], bool]
) -> Iterator[Trapezoid]:
    """Upright-sided parts of where `wanted` holds, left to right; it is given a bit for each ring
    one is inside of."""
    edges = [edge for number, ring in enumerate(rings) for edge in _edges(ring, number)]
    cuts: set[Exact] = {x for ring in rings for x, _ in ring}
    # Between two neighboring cuts no side begins, ends or crosses another, so the order of sides is
    # the same all along.
    cuts.update(_crossings(edges))
    ordered = sorted(cuts)
    for left_edge, right_edge in pairwise(ordered):
        here = [
            (_height(edge, left_edge), _height(edge, right_edge), edge[4])
            for edge in edges
            if edge[0] <= left_edge and edge[2] >= right_edge
        ]
        # By the sum of both ends: sides may meet at one end of the stretch, but do not cross inside
        # it.
        here.sort(key=lambda crossing: crossing[0] + crossing[1])
        inside = 0
        for lower, upper in pairwise(here):
            inside ^= 1 << lower[2]
            if wanted(inside) and lower[:2] != upper[:2]:
                yield left_edge, right_edge, lower[0], lower[1], upper[0], upper[1]


def measure(rings: Sequence[Ring], wanted: Callable[[int], bool]) -> Exact:
    """Twice the area of where `wanted` holds, exact."""
    return sum(
        ((right_edge - left_edge) * (high_left - low_left + high_right - low_right))
        for left_edge, right_edge, low_left, low_right, high_left, high_right in trapezoids(
            rings, wanted
        )
    )


def reach(rings: Sequence[Ring], wanted: Callable[[int], bool]) -> list[tuple[Exact, Exact]]:
    """The stretches along x where `wanted` holds somewhere, in order, joined where they touch."""
    stretches: list[tuple[Exact, Exact]] = []
    for left_edge, right_edge, *_ in trapezoids(rings, wanted):
        if stretches and left_edge <= stretches[-1][1]:
            stretches[-1] = (stretches[-1][0], max(right_edge, stretches[-1][1]))
        else:
            stretches.append((left_edge, right_edge))
    return stretches


def section(ring: Ring, at: int, *, hand: int) -> list[tuple[Exact, Exact]]:
    """Where the upright line just beside `at` (hand -1: left of it, 1: right) lies inside, from low
    to high."""
    heights = sorted(
        _height(edge, at)
        for edge in _edges(ring, 0)
        if (edge[0] < at <= edge[2] if hand < 0 else edge[0] <= at < edge[2])
    )
    return [
        (low, high) for low, high in zip(heights[::2], heights[1::2], strict=True) if low < high
    ]


def covered(spans: Sequence[tuple[Exact, Exact]], by: Sequence[tuple[Exact, Exact]]) -> Exact:
    """How much of `spans` (which do not overlap) lies inside the union of `by`."""
    total: Exact = 0
    for low, high in spans:
        # From low to high; what a span before covered is not counted again.
        here = low
        for start, end in sorted(by):
            if end > here and start < high:
                total += min(end, high) - max(start, here)
                here = max(here, min(end, high))
    return total


def shared(
    spans: Sequence[tuple[Exact, Exact]], others: Sequence[tuple[Exact, Exact]]
) -> list[tuple[Exact, Exact]]:
    """What of `spans` lies in `others` too, where those of each do not overlap; from low to
    high."""
    both = [(max(a, c), min(b, d)) for a, b in spans for c, d in others]
    return sorted((low, high) for low, high in both if low < high)


def holds_square(ring: Ring, holes: Sequence[Ring], size: Exact) -> bool:
    """Whether a square of that size, its sides level and upright, lies inside `ring` and clear of
    the insides of `holes`, wherever in it: exact for any straight-sided outline that does not
    cross itself, convex or not, and any holes.

    What only just holds a square, and in one place only, counts for nothing: ask for a little less.
    """
    # The places from which an upright line as long as the square runs up inside, then those of
    # these from which a level one does: there is a square's lower left corner.
    lines = _shortened((ring, *holes), lambda inside: inside == 1, size)
    turned = [tuple((y, x) for x, y in part) for part in lines]
    return bool(_shortened(turned, bool, size))


def _shortened(
    rings: Sequence[Ring] | Sequence[ExactRing], wanted: Callable[[int], bool], by: Exact
) -> list[ExactRing]:
    """The parts of where `wanted` holds from which it holds as far up as `by`, each an outline;
    parts lie beside one another."""
    joined: list[Trapezoid] = []
    for part in trapezoids(rings, wanted):
        if joined and joined[-1][:2] == part[:2] and joined[-1][4:] == part[2:4]:
            # One on top of the other: a line runs up through both.
            joined[-1] = (*joined[-1][:4], *part[4:])
        else:
            joined.append(part)

    shortened: list[ExactRing] = []
    for left_edge, right_edge, low_left, low_right, high_left, high_right in joined:
        over_left, over_right = high_left - low_left - by, high_right - low_right - by
        if max(over_left, over_right) <= 0:
            continue
        start, end = left_edge, right_edge
        if min(over_left, over_right) < 0:
            # Somewhere between the two ends it is just as high as that.
            at = left_edge + (right_edge - left_edge) * Fraction(over_left) / (
                over_left - over_right
            )
            start, end = (at, end) if over_left < 0 else (start, at)

        def between(x: Exact, one: Exact, other: Exact, a: Exact, b: Exact) -> Exact:
            return one if one == other else one + Fraction(other - one) * (x - a) / (b - a)

        sides = (left_edge, right_edge)
        low = [between(x, low_left, low_right, *sides) for x in (start, end)]
        high = [between(x, high_left, high_right, *sides) - by for x in (start, end)]
        shortened.append(((start, low[0]), (end, low[1]), (end, high[1]), (start, high[0])))
    return shortened


def _edges(ring: Ring | ExactRing, number: int) -> Iterator[Edge]:
    """The sides that are not upright, each from its left end, with the ring's number."""
    for (x0, y0), (x1, y1) in zip(ring, (*ring[1:], ring[0]), strict=True):
        if x0 < x1:
            yield x0, y0, x1, y1, number
        elif x1 < x0:
            yield x1, y1, x0, y0, number


def _height(edge: Edge, x: Exact) -> Exact:
    x0, y0, x1, y1, _ = edge
    # Level sides keep whole numbers: most sides are level, and fractions are slow.
    if y0 == y1:
        return y0
    return y0 + Fraction(y1 - y0) / (x1 - x0) * (x - x0)


def _crossings(edges: Sequence[Edge]) -> Iterator[Exact]:
    """Where two sides cross; only a sloped one can cross another, upright ones being no sides
    here."""
    for one in edges:
        if one[1] == one[3]:
            continue
        for other in edges:
            left_edge, right_edge = max(one[0], other[0]), min(one[2], other[2])
            if left_edge >= right_edge or other is one:
                continue
            before = _height(one, left_edge) - _height(other, left_edge)
            after = _height(one, right_edge) - _height(other, right_edge)
            if (before < 0 < after) or (after < 0 < before):
                yield left_edge + (right_edge - left_edge) * Fraction(before) / (before - after)
