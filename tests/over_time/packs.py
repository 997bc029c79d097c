"""The cheapest packs for an amount, by trying every number of each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import product

Choice = tuple[int, ...]
"""How many of each pack, in the order of the packs."""


def _choices(holds: Choice, amount: int) -> Iterator[Choice]:
    """All ways to hold the amount in which the last kind of pack is bought as needed."""
    first, *rest = holds
    if not rest:
        yield (max(0, -(-amount // first)),)
        return
    for number in range(max(0, -(-amount // first)) + 1):
        for others in _choices(tuple(rest), amount - number * first):
            yield (number, *others)


def _worth(choice: Choice, prices: Choice, holds: Choice) -> tuple[int, int, Choice]:
    """What a choice is ranked by: its cost, what it holds, and then any fixed order."""
    cost = sum(number * price for number, price in zip(choice, prices, strict=True))
    held = sum(number * size for number, size in zip(choice, holds, strict=True))
    return cost, held, choice


@lru_cache(maxsize=4096)
def _cheapest_mix(holds: Choice, prices: Choice, amount: int) -> Choice:
    return min(_choices(holds, amount), key=lambda choice: _worth(choice, prices, holds))


@lru_cache(maxsize=4096)
def _cheapest_part(holds: Choice, prices: Choice, mix: Choice, amount: int) -> Choice:
    parts = product(*(range(number + 1) for number in mix))
    covering = (
        part
        for part in parts
        if sum(number * size for number, size in zip(part, holds, strict=True)) >= amount
    )
    return min(covering, key=lambda choice: _worth(choice, prices, holds))


def cheapest_mix(
    packs: Sequence[str], holds: Mapping[str, int], prices: Mapping[str, int], amount: int
) -> dict[str, int]:
    """The cheapest packs that hold the amount; none where it is not above 0."""
    choice = _cheapest_mix(
        tuple(holds[pack] for pack in packs), tuple(prices[pack] for pack in packs), max(amount, 0)
    )
    return {pack: number for pack, number in zip(packs, choice, strict=True) if number}


def cheapest_part(
    mix: Mapping[str, int], holds: Mapping[str, int], prices: Mapping[str, int], amount: int
) -> dict[str, int]:
    """The cheapest of these packs that hold the amount, which the whole mix does."""
    packs = list(mix)
    choice = _cheapest_part(
        tuple(holds[pack] for pack in packs),
        tuple(prices[pack] for pack in packs),
        tuple(mix[pack] for pack in packs),
        max(amount, 0),
    )
    return {pack: number for pack, number in zip(packs, choice, strict=True) if number}
