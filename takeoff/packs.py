"""The cheapest mix of packs that holds at least so much."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from takeoff.catalogue import Pack
from takeoff.quantities import Amount, convert

__all__ = ["cheapest_mix", "part_of_mix"]

# no shelf of packs comes near; keeps a hostile catalogue from filling an evening
_MOST_MIXES = 100_000


@dataclass(slots=True)
class _MixSearch:
    """The best mix so far while packs are tried, cheapest by the unit first."""

    prices: list[int]
    holds: list[Fraction]
    best: tuple[int, Fraction, int] | None = None
    counts: tuple[int, ...] = ()
    tried: int = 0

    def fill(self, at: int, missing: Fraction, cost: int, taken: tuple[int, ...]) -> None:
        """Try every count of pack `at` and those after it that may still beat the best."""
        if missing <= 0 or at == len(self.holds):
            if missing <= 0:
                mix = (cost, -missing, sum(taken))
                if self.best is None or mix < self.best:
                    self.best, self.counts = mix, taken + (0,) * (len(self.holds) - len(taken))
            return
        most = -(-missing // self.holds[at])
        for count in range(int(most), -1, -1):
            self.tried += 1
            rest = missing - count * self.holds[at]
            # Packs after this one are no cheaper by the unit, so what is left costs at least their
            # price for it.
            least = cost + count * self.prices[at]
            if rest > 0:
                if at + 1 == len(self.holds):
                    break
                least_left = rest * self.prices[at + 1] / self.holds[at + 1]
            else:
                least_left = Fraction(0)
            if self.best is not None:
                if least + least_left > self.best[0]:
                    if rest > 0:
                        break  # fewer of this one only cost more
                    continue
                if self.tried > _MOST_MIXES:
                    return
            self.fill(at + 1, rest, least, (*taken, count))


def cheapest_mix(need: Amount, packs: Sequence[Pack]) -> tuple[int, ...]:
    """Return how many of each pack to buy, in the order given: the cheapest mix that holds `need`,
    exactly.

    Of equally cheap mixes it takes the one with less left over, then the one with fewer packs.
    Where nothing is needed, no pack is. Raises `WrongUnit` where a pack does not hold what the need
    is measured in. `packs` must not be empty.

    >>> from takeoff.quantities import Cents
    >>> gallon = Pack(name="1 gal", holds=Amount(Fraction(1), "gal"), price=Cents(3000))
    >>> five = Pack(name="5 gal", holds=Amount(Fraction(5), "gal"), price=Cents(11000))
    >>> cheapest_mix(Amount(Fraction(13, 2), "gal"), (gallon, five))
    (2, 1)
    """
    if need.value <= 0:
        return (0,) * len(packs)
    holds = [convert(pack.holds, need.unit).value for pack in packs]
    order = sorted(
        range(len(packs)), key=lambda i: (Fraction(packs[i].price) / holds[i], -holds[i], i)
    )
    search = _MixSearch(prices=[packs[i].price for i in order], holds=[holds[i] for i in order])
    search.fill(0, need.value, 0, ())
    by_place = dict(zip(order, search.counts, strict=True))
    return tuple(by_place[i] for i in range(len(packs)))


def part_of_mix(need: Amount, packs: Sequence[Pack], counts: Sequence[int]) -> tuple[int, ...]:
    """Return how many of each pack to take out of a mix of `counts`, so that the part holds `need`
    and costs least.

    Bought in such parts, a whole mix costs the same however it is divided. Of equally cheap parts
    it takes the one with less left over. The whole mix is the part where it holds no more than the
    need. Raises `WrongUnit` as `cheapest_mix` does.

    >>> from takeoff.quantities import Cents
    >>> gallon = Pack(name="1 gal", holds=Amount(Fraction(1), "gal"), price=Cents(3000))
    >>> five = Pack(name="5 gal", holds=Amount(Fraction(5), "gal"), price=Cents(11000))
    >>> part_of_mix(Amount(Fraction(3), "gal"), (gallon, five), (2, 1))
    (0, 1)
    """
    if need.value <= 0:
        return (0,) * len(packs)
    holds = [convert(pack.holds, need.unit).value for pack in packs]
    if sum(size * count for size, count in zip(holds, counts, strict=True)) <= need.value:
        return tuple(counts)
    # From the cheapest by the unit on; what is still to be held falls as packs are taken.
    order = sorted(
        range(len(packs)), key=lambda i: (Fraction(packs[i].price) / holds[i], -holds[i], i)
    )
    best: tuple[Fraction, Fraction] | None = None
    part: dict[int, int] = {}

    def fill(at: int, missing: Fraction, cost: int, taken: dict[int, int]) -> None:
        nonlocal best, part
        if best is not None and cost > best[0]:
            return
        if missing <= 0:
            if best is None or (cost, -missing) < best:
                best, part = (Fraction(cost), -missing), dict(taken)
            return
        if at == len(order):
            return
        i = order[at]
        most = min(counts[i], int(-(-missing // holds[i])))
        for count in range(most, -1, -1):
            taken[i] = count
            fill(at + 1, missing - count * holds[i], cost + count * packs[i].price, taken)
            taken[i] = 0

    fill(0, need.value, 0, {})
    return tuple(part.get(i, 0) for i in range(len(packs)))
