"""A piece has a core where a square of two inches fits somewhere in it, openings out."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import islice
from random import Random

import pytest

from takeoff.boards.check import check_plan
from takeoff.boards.check.shape import box, holds_square
from takeoff.boards.cores import core_spans
from takeoff.boards.courses import core
from takeoff.boards.first_plan import plan_pool
from takeoff.boards.joints import Box, JointPoint, Segment
from takeoff.boards.longest_first import plan_longest_first
from takeoff.boards.paths import best_path, sparse_paths
from takeoff.boards.plan import JointKind
from takeoff.choices import Orientation
from takeoff.errors import CannotBoard
from takeoff.geometry.polygon import clip_band
from takeoff.solve.best import improve
from takeoff.units import INCH, Nm
from tests.takeoff.boards.hand import CATALOGUE, PLAIN, framed, inches, outline, stated


def spans(corners, openings=()):
    found = core_spans(
        [(inches(x), inches(y)) for x, y in corners],
        [Box(*(inches(side) for side in one)) for one in openings],
    )
    return [(start / INCH, end / INCH) for start, end in found]


ROW = ((0, 0), (100, 0), (100, 48), (0, 48))


@pytest.mark.parametrize(
    ("corners", "openings", "expected"),
    [
        (ROW, (), [(0, 100)]),
        # Two inches over the opening are board enough, a hair under is not.
        (ROW, ((10, 0, 40, 46),), [(0, 100)]),
        (ROW, ((10, 0, 40, 46.125),), [(0, 10), (40, 100)]),
        # So is a stud's width between two.
        (ROW, ((10, 0, 40, 48), (42, 0, 60, 48)), [(0, 10), (40, 42), (60, 100)]),
        (ROW, ((10, 0, 40, 48), (41.875, 0, 60, 48)), [(0, 10), (60, 100)]),
        # Two openings one over the other.
        (ROW, ((10, 0, 40, 20), (10, 22, 40, 44)), [(0, 100)]),
        (ROW, ((10, 0, 40, 20), (10, 21.875, 40, 46.5)), [(0, 10), (40, 100)]),
        # A slope of 1 in 10: the square's right side stands where 2 in are left, at 80.
        (((0, 0), (100, 0), (0, 10)), (), [(0, 80)]),
        # A step under an opening: 1.9 in between them, from 10 to 12.
        (
            ((0, 0), (10, 0), (10, 1), (20, 1), (20, 10), (0, 10)),
            ((8, 2.875, 12, 10),),
            [(0, 10), (12, 20)],
        ),
        (((0, 0), (2, 0), (2, 2), (0, 2)), (), [(0, 2)]),
        (((0, 0), (2, 0), (2, 1.875), (0, 1.875)), (), []),
    ],
)
def test_stretches_in_which_a_core_fits(corners, openings, expected):
    assert spans(corners, openings) == expected


def test_pieces_have_a_core_where_a_square_is_found_by_the_checker():
    random = Random(7)
    seen = {True: 0, False: 0}
    for _ in range(60):
        # A row between a rising and a falling side, with two openings anywhere in it.
        area = [
            (inches(0), inches(random.randint(0, 6))),
            (inches(30), inches(random.randint(0, 6))),
            (inches(30), inches(random.randint(4, 12))),
            (inches(0), inches(random.randint(4, 12))),
        ]
        if area[0][1] >= area[3][1] or area[1][1] >= area[2][1]:
            continue
        openings = []
        for _ in range(2):
            left, low = random.randint(-2, 28), random.randint(-2, 10)
            openings.append(
                Box(
                    inches(left),
                    inches(low),
                    inches(left + random.randint(1, 12)),
                    inches(low + random.randint(1, 8)),
                )
            )
        segment = Segment(start=Nm(0), end=inches(30), points=(), cores=core_spans(area, openings))
        holes = [box(one.left, one.right, one.low, one.high) for one in openings]
        for _ in range(6):
            start = random.randint(0, 27)
            end = random.randint(start + 1, min(30, start + 6))
            (piece,) = clip_band(area, 0, inches(start), inches(end))
            # A rounding less, for a square that just fits counts.
            found = holds_square(piece, holes, core() - 2)
            assert segment.holds_core(inches(start), inches(end)) == found, (area, openings)
            seen[found] += 1
    assert min(seen.values()) > 50


def test_joint_that_leaves_a_piece_without_a_core_is_not_taken():
    # From 24 in on only a strip of the row is left.
    joints = tuple(
        JointPoint(
            at=inches(at),
            kind=JointKind.FRAMING,
            seam=inches(48),
            seam_cost=Fraction(0),
            backer_cost=Fraction(0),
        )
        for at in (16, 32)
    )
    row = Segment(start=Nm(0), end=inches(48), points=joints)
    strip = replace(row, cores=((Nm(0), inches(24)),))
    for paths in (all_paths, lambda *limits: sparse_paths(*limits, limit=9)[0]):
        assert len(paths(row, inches(12), inches(40))) == 2
        assert paths(strip, inches(12), inches(40)) == [(inches(16),)]


def all_paths(segment: Segment, shortest: Nm, longest: Nm):
    found = (best_path(segment, shortest, longest, seed=seed) for seed in range(20))
    return list({path for path in found if path is not None})


# Rows from the eave, or from the floor, leave a row that is a strip for many feet.
@pytest.mark.parametrize("rise", [0.25, 1, 1.875, 2, 2.5, 3, 6])
def test_wall_whose_top_hardly_slopes_is_planned(rise):
    wall = framed(240, 96 + rise, shape=outline((0, 0), (240, 0), (240, 96 + rise), (0, 96)))
    problem = stated(wall)
    plans = [plan_pool(problem), plan_longest_first(problem)]
    # What the programme finds before it searches.
    plans += [progress.plan for progress in islice(improve(problem), 2)]
    for plan in plans:
        assert check_plan(plan, [wall], PLAIN, CATALOGUE) == ()


def finned(height: float):
    """A surface with a fin of 1-1/2 in up one side."""
    return outline((0, 0), (100, 0), (100, 48), (1.5, 48), (1.5, height), (0, height))


def test_surface_with_a_part_too_narrow_says_where_and_what_to_do():
    with pytest.raises(CannotBoard) as refusal:
        stated(framed(100, 300, shape=finned(300), orientation=Orientation.BEST))
    assert refusal.value.rule == "core"
    assert str(refusal.value) == (
        'r1/a, row 1, from 0" to 1 1/2": whatever the joints, a piece there has no place 2" by 2" '
        "without an opening, and no rule relaxed by itself helps. Draw the surface or its openings "
        "without what is that narrow, and fill that with setting compound"
    )


def test_surface_that_the_other_direction_would_cover_says_so():
    with pytest.raises(CannotBoard) as refusal:
        stated(framed(100, 96, shape=finned(96)))
    assert refusal.value.rule == "orientation"
    assert str(refusal.value) == (
        'r1/a, row 1, from 0" to 1 1/2": whatever the joints, a piece there has no place 2" by 2" '
        "without an opening. To go on, let its boards lie across the framing or along it"
    )
    wall = framed(100, 96, shape=finned(96), orientation=Orientation.BEST)
    assert check_plan(plan_pool(stated(wall)), [wall], PLAIN, CATALOGUE) == ()
