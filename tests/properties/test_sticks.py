"""Whatever is cut: nothing lost, nothing too long, and the bound below every cutting there is."""

from collections import Counter
from functools import cache

from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.cutting.knapsack import most_valuable
from takeoff.cutting.sticks import StickStock, cut_sticks
from takeoff.quantities import Cents
from takeoff.units import Nm

STOCKS = st.lists(st.tuples(st.integers(20, 60), st.integers(0, 50)), min_size=1, max_size=3)


def on_sale(pairs):
    return [StickStock(Nm(length), Cents(price)) for length, price in pairs]


@st.composite
def jobs(draw, most=40):
    stock = draw(STOCKS)
    longest = max(length for length, _ in stock)
    lengths = draw(st.lists(st.integers(1, longest), max_size=most))
    owned = draw(st.lists(st.integers(1, 60), max_size=3))
    return lengths, stock, draw(st.integers(0, 3)), owned


@settings(max_examples=60)
@given(jobs())
def test_every_piece_is_cut_once_and_every_stick_holds_its_pieces(job):
    lengths, stock, kerf, owned = job
    plan = cut_sticks(lengths, on_sale(stock), kerf=kerf, owned=owned)
    assert Counter(piece for stick in plan.sticks for piece in stick.pieces) == Counter(lengths)
    for stick in plan.sticks:
        assert stick.pieces
        assert sum(stick.pieces) + kerf * (len(stick.pieces) - 1) <= stick.stock.length
    used = Counter(stick.stock.length for stick in plan.sticks if stick.stock.owned)
    assert used <= Counter(owned)
    assert plan.cost == sum(stick.stock.price for stick in plan.sticks)
    assert plan.bound <= plan.cost


def least_cost(lengths, stock, kerf, owned):
    """The true least cost, by trying every stick for the longest piece left with every set of
    others."""

    @cache
    def cost(waiting, free):
        if not waiting:
            return 0
        first, others = waiting[0], waiting[1:]
        ways = []
        for mask in range(1 << len(others)):
            taken = [first] + [piece for k, piece in enumerate(others) if mask >> k & 1]
            rest = tuple(piece for k, piece in enumerate(others) if not mask >> k & 1)
            need = sum(taken) + kerf * (len(taken) - 1)
            ways += [price + cost(rest, free) for length, price in stock if length >= need]
            ways += [
                cost(rest, free[:k] + free[k + 1 :])
                for k, length in enumerate(free)
                if length >= need
            ]
        return min(ways)

    return cost(tuple(sorted(lengths, reverse=True)), tuple(sorted(owned)))


@settings(max_examples=60)
@given(jobs(most=6))
def test_small_lists_are_bounded_by_the_true_least_cost(job):
    lengths, stock, kerf, owned = job
    true = least_cost(lengths, stock, kerf, owned)
    for prove_best in (False, True):
        plan = cut_sticks(lengths, on_sale(stock), kerf=kerf, owned=owned, prove_best=prove_best)
        assert plan.bound <= true <= plan.cost


@settings(max_examples=60)
@given(
    st.lists(
        st.tuples(st.integers(1, 12), st.integers(0, 30), st.integers(0, 3)), min_size=1, max_size=6
    ),
    st.integers(1, 30),
)
def test_most_valuable_filling_is_the_best_of_all(things, room):
    sizes, values, counts = zip(*things, strict=True)
    best = {0: 0}
    for size, value, count in things:
        for _ in range(count):
            for used, worth in list(best.items()):
                if used + size <= room:
                    best[used + size] = max(best.get(used + size, 0), worth + value)
    filling = most_valuable(sizes, values, counts, room, above=0, nodes=10_000)
    assert filling.value == filling.limit == max(best.values())
    for taken in filling.takings:
        assert sum(sizes[i] * n for i, n in taken) <= room
        assert all(0 < n <= counts[i] for i, n in taken)
