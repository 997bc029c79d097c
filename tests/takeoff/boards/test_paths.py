"""Choices of joints of a course, and courses that keep apart."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations, pairwise

from takeoff.boards.joints import JointPoint, Segment
from takeoff.boards.paths import apart_throughout, best_path, can_cover, keeps_apart, sparse_paths
from takeoff.boards.plan import JointKind
from takeoff.units import Nm


def segment(end: int, *ats: int) -> Segment:
    points = tuple(
        JointPoint(
            at=Nm(at),
            kind=JointKind.FRAMING,
            seam=Nm(1),
            seam_cost=Fraction(0),
            backer_cost=Fraction(0),
        )
        for at in ats
    )
    return Segment(start=Nm(0), end=Nm(end), points=points)


def test_segment_shorter_than_the_shortest_piece_is_one_piece():
    assert can_cover(segment(5), Nm(12), Nm(96))


def test_bay_longer_than_a_sheet_cannot_be_covered():
    assert not can_cover(segment(200, 50, 190), Nm(12), Nm(96))


def test_pieces_may_be_exactly_the_shortest_and_the_longest():
    assert best_path(segment(108, 12), Nm(12), Nm(96)) == (12,)
    assert best_path(segment(108, 11), Nm(12), Nm(96)) is None


def test_path_keeps_apart_from_joints_to_avoid():
    wall = segment(120, 24, 48, 72, 96)
    assert best_path(wall, Nm(12), Nm(96)) == (24,)
    assert best_path(wall, Nm(12), Nm(96), avoid=(Nm(24),), stagger=Nm(24)) == (48,)
    assert best_path(wall, Nm(12), Nm(96), avoid=(Nm(24),), stagger=Nm(25)) == (72,)


def test_sparse_paths_are_all_those_from_which_no_joint_can_be_left_out():
    ats, end, longest = (16, 32, 48, 64, 80, 96, 112, 128), 144, 60
    sparse, complete = sparse_paths(segment(end, *ats), Nm(12), Nm(longest), limit=1000)

    def covers(path: tuple[int, ...]) -> bool:
        cuts = (0, *path, end)
        return all(12 <= b - a <= longest for a, b in pairwise(cuts))

    every = [path for count in range(9) for path in combinations(ats, count) if covers(path)]
    wanted = [
        p for p in every if not any(covers(tuple(at for at in p if at != gone)) for gone in p)
    ]
    assert complete
    assert sorted(sparse) == sorted(wanted)


def test_row_too_long_for_every_choice_still_gives_some_all_over_it():
    sparse, complete = sparse_paths(
        segment(16_000, *range(16, 16_000, 16)), Nm(12), Nm(96), limit=20
    )
    assert not complete
    assert len(sparse) > 10


def test_keeps_apart_counts_exactly_the_stagger_as_apart():
    assert keeps_apart((16,), (0, 32), Nm(16))
    assert not keeps_apart((16,), (1,), Nm(16))


def test_first_row_that_cannot_keep_apart_is_named():
    free, tied = [segment(120, 24, 48, 72, 96)], [segment(120, 60)]
    assert apart_throughout([free, free, free], Nm(12), Nm(96), Nm(16), limit=10) is None
    assert apart_throughout([free, tied, tied], Nm(12), Nm(96), Nm(16), limit=10) == 2
