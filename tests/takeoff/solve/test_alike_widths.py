"""Ripped pieces whose widths go with the same strips are of one width to the search."""

from __future__ import annotations

from itertools import product
from random import Random

import pytest

from takeoff.boards.check import check_plan
from takeoff.boards.first_plan import plan_pool
from takeoff.solve.best import improve
from takeoff.solve.compile_network import _alike, compile_pool
from takeoff.solve.effort import Effort
from takeoff.units import Nm
from tests.takeoff.boards.hand import CATALOGUE, PLAIN, framed, outline, stated

SHEETS = {Nm(48), Nm(54)}


def test_widths_that_fit_beside_the_same_others_are_alike():
    assert _alike([Nm(2), Nm(3), Nm(4)], {Nm(48)}, Nm(0)) == {2: 4, 3: 4, 4: 4}
    # Two of 24 are one sheet, and 25 goes beside 23 alone.
    assert _alike([Nm(23), Nm(24), Nm(25)], {Nm(48)}, Nm(0)) == {23: 23, 24: 24, 25: 25}
    # A strip as wide as an offcut comes out of it, a wider one does not.
    assert _alike([Nm(11), Nm(12), Nm(13)], {Nm(12), Nm(48)}, Nm(0)) == {11: 12, 12: 12, 13: 13}


@pytest.mark.parametrize("kerf", [0, 1])
def test_nothing_fits_otherwise_for_being_taken_as_wide_as_what_is_like_it(kerf):
    draw = Random(kerf)
    for _ in range(40):
        widths = sorted({Nm(draw.randint(1, 53)) for _ in range(draw.randint(1, 9))})
        alike = _alike(widths, SHEETS, Nm(kerf))
        for sheet, one in product(SHEETS, widths):
            assert (one <= sheet) == (alike[one] <= sheet)
            for other in widths:
                side_by_side = alike[one] + kerf + alike[other]
                assert (one + kerf + other <= sheet) == (side_by_side <= sheet)


def near_level(rise: float):
    """A wall of 20 ft whose top slopes a little: in its upper row each piece has its own height."""
    return framed(240, 97 + rise, shape=outline((0, 0), (240, 0), (240, 97 + rise), (0, 97)))


def test_pieces_under_a_nearly_level_top_are_of_few_widths():
    network = compile_pool(stated(near_level(2.5)))
    heights = {size.width for size in network.sizes if not size.full}
    assert len(heights) < 12 < len(network.sizes)


@pytest.mark.parametrize("rise", [0.5, 2, 3])
def test_plan_under_a_nearly_level_top_keeps_every_rule(rise):
    wall = near_level(rise)
    pool = stated(wall)
    first = plan_pool(pool)
    *_, found = improve(pool, start=first, effort=Effort(looks=3))
    assert check_plan(found.plan, [wall], PLAIN, CATALOGUE) == ()
    assert found.bound <= found.plan.total <= first.total
