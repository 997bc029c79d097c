"""Good cuttings quickly: sticks filled one after another as full as can be, then emptied and filled
again.

Lengths here are whole numbers of any one unit, with the kerf already added to pieces and sticks
alike.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

__all__ = ["StickCut", "cheap_cuts"]

_FILL_NODES = 400
_SEARCH_ROUNDS = 60
_SEARCH_PIECES = 400


@dataclass(frozen=True, slots=True)
class StickCut:
    """One stick of `length` and the pieces cut from it, longest first; `stock` is its index, None
    for an owned one."""

    length: int
    stock: int | None
    pieces: tuple[int, ...]


def cheap_cuts(
    pieces: Sequence[tuple[int, int]],
    stock: Sequence[tuple[int, int]],
    owned: Sequence[int],
    bound: int,
) -> list[StickCut] | None:
    """The cheapest cutting found of `pieces` (length, count), longest first, out of `stock`
    (length, price), shortest first, and `owned` lengths. Stops early at a cost of `bound`. None
    where pieces longer than all stock were not all got out of owned sticks."""
    choices = [tuple(range(len(stock)))] + [
        tuple(range(k, len(stock))) for k in range(1, len(stock))
    ]
    choices += [(k,) for k in range(len(stock) - 1)]
    best: list[StickCut] | None = None
    least: int | None = None
    for allowed in choices:
        # Each choice of stock, with owned sticks shortest first and longest first: neither is
        # always better.
        for free in (sorted(owned), sorted(owned, reverse=True)) if owned else ([],):
            cuts = _one_after_another(pieces, stock, free, allowed)
            if cuts is None:
                continue
            cost = _cost(cuts, stock)
            if least is None or cost < least:
                best, least = cuts, cost
            if least == bound:
                return best
    if best is not None and sum(count for _, count in pieces) <= _SEARCH_PIECES:
        best = _search(best, stock, bound)
    return best


def _cost(cuts: Sequence[StickCut], stock: Sequence[tuple[int, int]]) -> int:
    return sum(stock[cut.stock][1] for cut in cuts if cut.stock is not None)


def _one_after_another(
    pieces: Sequence[tuple[int, int]],
    stock: Sequence[tuple[int, int]],
    owned: Sequence[int],
    allowed: Sequence[int],
) -> list[StickCut] | None:
    """Owned sticks first, in their order, but before all the ones that hold what no stick on sale
    does; then, for the longest piece left, the allowed stick that costs least a unit of length
    used, exchanged for the cheapest that holds its pieces. None where a piece is longer than what
    is on sale and fits no owned stick left."""
    sizes = [length for length, _ in pieces]
    uncut = [count for _, count in pieces]
    cuts: list[StickCut] = []
    spare = list(owned)
    longest = stock[-1][0] if stock else 0
    for index, size in enumerate(sizes):
        while size > longest and uncut[index]:
            length = min((length for length in spare if length >= size), default=None)
            if length is None:
                return None
            spare.remove(length)
            taken = _fullest(sizes, uncut, length, index)
            for piece, count in taken:
                uncut[piece] -= count
            cuts.append(StickCut(length, None, _pieces_of(sizes, taken)))
    for length in spare:
        taken = _fullest(sizes, uncut, length, None)
        if taken:
            for index, count in taken:
                uncut[index] -= count
            cuts.append(StickCut(length, None, _pieces_of(sizes, taken)))

    # Longest piece first: it fits the fewest sticks, and short ones fill up what is left.
    first = 0
    while True:
        while first < len(uncut) and uncut[first] == 0:
            first += 1
        if first == len(uncut):
            return cuts
        best: tuple[int, int, int, list[tuple[int, int]]] | None = None
        fits = [k for k in allowed if stock[k][0] >= sizes[first]] or [
            next(k for k in range(len(stock)) if stock[k][0] >= sizes[first])
        ]
        for k in fits:
            taken = _fullest(sizes, uncut, stock[k][0], first)
            used = sum(sizes[index] * count for index, count in taken)
            # The price a unit used, compared crosswise so that no division rounds.
            if best is None or stock[k][1] * best[1] < best[0] * used:
                best = (stock[k][1], used, k, taken)
        assert best is not None
        _, used, k, taken = best
        # shortest first, so the cheapest
        k = next(k for k, (length, _) in enumerate(stock) if length >= used)
        # The same filling is used as often as its pieces last.
        times = min(uncut[index] // count for index, count in taken)
        for index, count in taken:
            uncut[index] -= count * times
        cuts += [StickCut(stock[k][0], k, _pieces_of(sizes, taken))] * times


def _pieces_of(sizes: Sequence[int], taken: Sequence[tuple[int, int]]) -> tuple[int, ...]:
    return tuple(sizes[index] for index, count in taken for _ in range(count))


def _fullest(
    sizes: Sequence[int], uncut: Sequence[int], room: int, first: int | None
) -> list[tuple[int, int]]:
    """The pieces left that fill `room` best, as (index, count), `first` among them where given.

    Looks through choices longest first, up to a fixed number of them, so that it is quick and
    always the same.
    """
    start: list[tuple[int, int]] = []
    counts = list(uncut)
    if first is not None:
        start, room = [(first, 1)], room - sizes[first]
        counts[first] -= 1
    open_ = [(index, count) for index, count in enumerate(counts) if count and sizes[index] <= room]
    if not open_:
        return start
    lengths = [sizes[index] for index, _ in open_]
    falling = [-length for length in lengths]
    rest = [0] * (len(open_) + 1)
    for place in range(len(open_) - 1, -1, -1):
        rest[place] = rest[place + 1] + lengths[place] * open_[place][1]

    best_used = -1
    best: list[tuple[int, int]] = []
    nodes = _FILL_NODES
    # (place to look from, room left, what was taken); the last pushed is looked at first
    heap: list[tuple[int, int, tuple[tuple[int, int], ...]]] = [(0, room, ())]
    while heap and nodes:
        place, space, taken = heap.pop()
        nodes -= 1
        if room - space > best_used:
            best_used, best = room - space, list(taken)
            if space == 0:
                break
        # Lengths fall, so everything before this place is too long for the space.
        place = max(place, bisect_left(falling, -space))
        # Even with all that is still to come, or the space filled up, it would be no fuller.
        if place == len(open_) or room - space + min(space, rest[place]) <= best_used:
            continue
        most = min(open_[place][1], space // lengths[place])
        # The last pushed is looked at first: the most of the longest piece.
        heap.append((place + 1, space, taken))
        for count in range(1, most + 1):
            heap.append((place + 1, space - count * lengths[place], (*taken, (place, count))))

    chosen = dict(start)
    for place, count in best:
        index = open_[place][0]
        chosen[index] = chosen.get(index, 0) + count
    return sorted(chosen.items())


def _search(cuts: list[StickCut], stock: Sequence[tuple[int, int]], bound: int) -> list[StickCut]:
    """Take a few sticks apart, the emptiest among them, and cut their pieces anew; keep what is
    cheaper."""

    # Seeded by the input, so that the same pieces give the same cutting.
    random = Random(len(cuts))
    bought = [cut for cut in cuts if cut.stock is not None]
    fixed = [cut for cut in cuts if cut.stock is None]
    cost = _cost(bought, stock)
    for turn in range(_SEARCH_ROUNDS):
        if cost == bound or len(bought) < 2:
            break
        # the emptiest first
        bought.sort(key=lambda cut: (sum(cut.pieces) - cut.length, cut.pieces))
        apart = bought[: 1 + turn % 2]
        others = bought[len(apart) :]
        picked = sorted(
            random.sample(range(len(others)), min(len(others), 2 + turn % 5)), reverse=True
        )
        apart += [others.pop(k) for k in picked]

        counts: dict[int, int] = {}
        for cut in apart:
            for piece in cut.pieces:
                counts[piece] = counts.get(piece, 0) + 1
        pieces = sorted(counts.items(), reverse=True)
        choices = [tuple(range(len(stock))), *((k,) for k in range(len(stock)))]
        tries = [
            new for c in choices if (new := _one_after_another(pieces, stock, (), c)) is not None
        ]

        again = min(tries, key=lambda new: _cost(new, stock))
        saved = _cost(apart, stock) - _cost(again, stock)
        # At the same cost one long leftover is worth more than two short ones: the next turn may
        # fill it.
        if saved > 0 or (saved == 0 and max(_slack(again)) > max(_slack(apart))):
            bought = others + again
            cost -= saved
    return fixed + bought


def _slack(cuts: Sequence[StickCut]) -> list[int]:
    return [cut.length - sum(cut.pieces) for cut in cuts]
