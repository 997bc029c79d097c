"""The habit of many hangers as a plan: each row in the longest boards that reach a joint, from one
corner to the other, and whatever sheets that takes.

It weighs no money and no hours. It is there to be compared with a plan that does.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import product

from takeoff.boards.assemble import Chosen, assemble, cut_pieces
from takeoff.boards.joints import JointPoint, Segment
from takeoff.boards.paths import Path, best_path, keeps_apart
from takeoff.boards.plan import BoardPlan
from takeoff.boards.problem import CourseProblem, Layout, Pool, SurfaceProblem
from takeoff.cutting.sheets import pack
from takeoff.errors import CannotBoard
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = ["plan_longest_first"]

_SEEDS = 6  # other ways of as few joints, where boards from either corner come too close
_STEPS = 400  # rows that are tried in one layout before it is given up


def plan_longest_first(pool: Pool) -> BoardPlan:
    """The plan of a pool in the longest boards. Of the layouts that are allowed it takes the one of
    fewest joints, then of fewest rows.

    Raises `CannotBoard` where rows laid so cannot keep apart, or no sheet is as long as a piece.
    """
    chosen = [_chosen(problem, pool.rules) for problem in pool.surfaces]
    sheets = pack(
        cut_pieces(pool, chosen),
        kerf=pool.kerf,
        owned=pool.owned,
        carry=pool.rules.keep_offcuts,
    )
    if sheets is None:
        surface = pool.surfaces[0].framed.surface
        raise CannotBoard(
            surface=surface.id,
            rule="sheets",
            message=f"{surface.name}: no sheet is long enough for every piece of this room",
        )
    return assemble(pool, chosen, sheets)


def _chosen(problem: SurfaceProblem, rules: Rules) -> Chosen:
    found = [
        Chosen(layout, joints)
        for layout in problem.layouts
        if (joints := _joints(layout, rules)) is not None
    ]
    if not found:
        surface = problem.framed.surface
        raise CannotBoard(
            surface=surface.id,
            rule="stagger",
            message=f"{surface.name}: in the longest boards the joints of two rows come too close",
        )
    return min(found, key=lambda one: (_count(one), len(one.layout.courses)))


def _count(chosen: Chosen) -> int:
    return sum(len(path) for course in chosen.joints for path in course)


_Joints = tuple[Path, ...]


def _joints(layout: Layout, rules: Rules) -> tuple[tuple[tuple[JointPoint, ...], ...], ...] | None:
    """Joints of every segment of every course; None where they cannot keep apart."""
    courses = layout.courses
    steps = 0

    def after(index: int, before: Sequence[Nm]) -> list[_Joints] | None:
        nonlocal steps
        if index == len(courses):
            return []
        for paths in _ways(courses[index], before, rules):
            steps += 1
            if steps > _STEPS:
                return None
            rest = after(index + 1, sorted(at for path in paths for at in path))
            if rest is not None:
                return [paths, *rest]
        return None

    found = after(0, ())
    if found is None:
        return None
    return tuple(
        tuple(
            tuple({point.at: point for point in segment.points}[at] for at in path)
            for segment, path in zip(course.segments, paths, strict=True)
        )
        for course, paths in zip(courses, found, strict=True)
    )


def _ways(course: CourseProblem, before: Sequence[Nm], rules: Rules) -> Iterator[_Joints]:
    """The joints of a course that keep apart from those `before`, in the order they are tried."""
    longest = max(course.lengths, default=course.longest)
    tried = [
        list(dict.fromkeys(_paths(segment, longest, before, rules))) for segment in course.segments
    ]
    yield from product(*tried)


def _paths(segment: Segment, longest: Nm, before: Sequence[Nm], rules: Rules) -> Iterator[Path]:
    begins, ends = segment.least
    shortest = Nm(min(rules.shortest_piece, ends - begins))
    for path in (
        _from_corner(segment, shortest, longest, before, rules.stagger),
        _from_other_corner(segment, shortest, longest, before, rules.stagger),
    ):
        if path is not None:
            yield path
    for seed in range(_SEEDS):
        path = best_path(segment, shortest, longest, avoid=before, stagger=rules.stagger, seed=seed)
        if path is not None:
            yield path


def _from_corner(
    segment: Segment, shortest: Nm, longest: Nm, before: Sequence[Nm], stagger: Nm
) -> Path | None:
    """The longest board that reaches a joint, then the next, as long as the rest can be boarded."""
    at, ends = segment.least
    path: list[Nm] = []
    while ends - at > longest:
        for point in reversed(segment.points):
            if not shortest <= point.at - at <= longest or ends - point.at < shortest:
                continue
            if not segment.holds_core(at, point.at):
                continue
            if not keeps_apart((point.at,), before, stagger):
                continue
            rest = replace(
                segment,
                start=point.at,
                starts=None,
                points=tuple(other for other in segment.points if other.at > point.at),
            )
            if best_path(rest, shortest, longest, avoid=before, stagger=stagger) is not None:
                at = point.at
                path.append(at)
                break
        else:
            return None
    return tuple(path)


def _from_other_corner(
    segment: Segment, shortest: Nm, longest: Nm, before: Sequence[Nm], stagger: Nm
) -> Path | None:
    begins, ends = segment.least
    mirrored = replace(
        segment,
        start=Nm(-ends),
        end=Nm(-begins),
        starts=None,
        ends=None,
        area=(),
        points=tuple(replace(point, at=Nm(-point.at)) for point in reversed(segment.points)),
        cores=None
        if segment.cores is None
        else tuple((Nm(-high), Nm(-low)) for low, high in reversed(segment.cores)),
    )
    path = _from_corner(mirrored, shortest, longest, [Nm(-at) for at in reversed(before)], stagger)
    return None if path is None else tuple(Nm(-at) for at in reversed(path))
