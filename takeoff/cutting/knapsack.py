"""The most valuable pieces that fit one stick, in whole numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["Filling", "most_valuable"]


@dataclass(frozen=True, slots=True)
class Filling:
    """The best filling is worth `value`, and none more than `limit`. `takings` are the fillings met
    on the way that are worth more than was asked, the best last, each as (index, count) of its
    pieces."""

    value: int
    limit: int
    takings: tuple[tuple[tuple[int, int], ...], ...]


def most_valuable(
    sizes: Sequence[int],
    values: Sequence[int],
    counts: Sequence[int],
    room: int,
    *,
    above: int,
    nodes: int,
) -> Filling:
    """Fillings of `room` worth more than `above`, each piece taken up to its count: exact where
    `limit` is `value`.

    Looks at the pieces by value a unit of length and gives up a branch where even a part of the
    next piece, cut to fit, would not beat the best; after `nodes` branches it stops, and `limit`
    says what the open ones could be worth.
    """
    order = sorted(
        (i for i in range(len(sizes)) if counts[i] and values[i] > 0 and sizes[i] <= room),
        key=lambda i: (-values[i] * room // sizes[i], sizes[i]),
    )
    size = [sizes[i] for i in order]
    value = [values[i] for i in order]
    count = [counts[i] for i in order]
    last = len(order)
    shortest = [0] * (last + 1)
    shortest[last] = room + 1
    # Where a piece is too long, those up to the next shorter one are too.
    shorter = [last] * last
    for place in range(last - 1, -1, -1):
        shortest[place] = min(size[place], shortest[place + 1])
        after = place + 1
        while after < last and size[after] >= size[place]:
            after = shorter[after]
        shorter[place] = after

    # Depth first along the order: the best value a unit of length first, so good fillings come
    # early and cut off much.
    best = 0
    met: list[tuple[tuple[int, int], ...]] = []
    stack: list[tuple[int, int, int, tuple[tuple[int, int], ...]]] = [(0, room, 0, ())]
    while stack and nodes:
        nodes -= 1
        place, space, worth, chosen = stack.pop()
        # fill as far as the order goes, leaving behind a branch wherever one less could be taken
        while True:
            if worth > best:
                best = worth
                if worth > above:
                    met.append(chosen)
            while place < last and size[place] > space:
                place = shorter[place]
            if place == last or space < shortest[place]:
                break
            # No piece from here on has a better value a unit of length, so filling all the space at
            # this rate is the most that can still come.
            if worth + space * value[place] // size[place] <= best:
                break
            most = min(count[place], space // size[place])
            for fewer in range(most):
                stack.append(
                    (
                        place + 1,
                        space - fewer * size[place],
                        worth + fewer * value[place],
                        (*chosen, (place, fewer)) if fewer else chosen,
                    )
                )
            space -= most * size[place]
            worth += most * value[place]
            chosen = (*chosen, (place, most))
            place += 1
    # What was not looked at is worth no more than its space filled at the best rate left.
    limit = best
    for place, space, worth, _ in stack:
        while place < last and size[place] > space:
            place = shorter[place]
        if place < last:
            limit = max(limit, worth + space * value[place] // size[place])
    takings = (tuple(sorted((order[place], number) for place, number in taken)) for taken in met)
    return Filling(best, limit, tuple(takings))
