"""Which joints of a course can be taken together: pieces neither too short nor too long, and
courses that keep apart."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from itertools import islice, product

from takeoff.boards.joints import Segment
from takeoff.units import Nm

__all__ = [
    "Path",
    "apart_throughout",
    "best_path",
    "can_cover",
    "course_path_apart",
    "keeps_apart",
    "sparse_paths",
]

Path = tuple[Nm, ...]

_STEPS = 40  # steps of the search for each path asked for, after which paths are sampled


def can_cover(segment: Segment, shortest: Nm, longest: Nm) -> bool:
    """Whether some choice of allowed joints covers `segment` with pieces of allowed lengths."""
    return best_path(segment, shortest, longest) is not None


def keeps_apart(first: Iterable[Nm], second: Sequence[Nm], stagger: Nm) -> bool:
    """Whether every joint of one course stands at least `stagger` from every joint of the course it
    touches; `second` is in order."""
    for at in first:
        index = bisect_left(second, at)
        if index < len(second) and second[index] - at < stagger:
            return False
        if index and at - second[index - 1] < stagger:
            return False
    return True


def best_path(
    segment: Segment,
    shortest: Nm,
    longest: Nm,
    *,
    avoid: Sequence[Nm] = (),
    stagger: Nm = Nm(0),
    seed: int = 0,
) -> Path | None:
    """The choice of fewest joints that covers `segment` and keeps `stagger` from the joints `avoid`
    (in order); None where there is none. Among equal ones `seed` decides, the same each time; with
    0 the lowest joints win."""
    # Its ends may give way, so what is covered at least counts.
    begins, ends = segment.least
    shortest = Nm(min(shortest, ends - begins))
    ats = [begins, *(point.at for point in segment.points), ends]
    last = len(ats) - 1
    # joints, weight, the one before
    best: list[tuple[int, int, int] | None] = [(0, 0, -1), *([None] * last)]

    # Places are in order, so the first one within the longest piece only ever moves on.
    begin = 0
    for index in range(1, last + 1):
        at = ats[index]
        while at - ats[begin] > longest:
            begin += 1
        if index < last and avoid and not keeps_apart((at,), avoid, stagger):
            continue
        # A weight that only breaks ties of the joint count: each seed another, the same on every
        # machine.
        added = (index * 7919 + seed) * seed % 1009 if index < last else 0
        for before in range(begin, index):
            so_far = best[before]
            # Later places are nearer still, so every piece from there is too short as well, or has
            # no core.
            if at - ats[before] < shortest or not segment.holds_core(ats[before], at):
                break
            if so_far is not None:
                tried = (so_far[0] + 1, so_far[1] + added, before)
                now = best[index]
                if now is None or tried < now:
                    best[index] = tried

    # Read back from the end by the place before each.
    step = best[last]
    if step is None:
        return None
    path: list[Nm] = []
    while step is not None and step[2] > 0:
        path.append(ats[step[2]])
        step = best[step[2]]
    return tuple(reversed(path))


def sparse_paths(
    segment: Segment, shortest: Nm, longest: Nm, *, limit: int
) -> tuple[list[Path], bool]:
    """Up to `limit` choices of joints from which none could be left out, and whether these are all
    there are.

    Where courses can keep apart at all, they can with such: a joint left out never stands in
    another's way. In a course too long to try every choice they are spread over it, another seed
    each time.
    """
    begins, ends = segment.least
    shortest = Nm(min(shortest, ends - begins))
    # One piece covers it, and every joint could be left out.
    if ends - begins <= longest:
        return ([()] if segment.holds_core(begins, ends) else []), True
    ats = [point.at for point in segment.points]
    paths: list[Path] = []
    stack: list[Path] = [()]
    steps = 0
    while stack and steps < _STEPS * limit:
        head = stack.pop()
        last = head[-1] if head else begins
        before = head[-2] if len(head) > 1 else begins
        for at in ats[bisect_left(ats, last + shortest) :]:
            if at - last > longest or ends - at < shortest:
                break
            if not segment.holds_core(last, at) or not segment.holds_core(at, ends):
                continue
            if head and at - before <= longest:
                continue  # the joint between them could be left out
            # Every step counts, also those that lead nowhere: the search ends in time whatever the
            # course.
            steps += 1
            if ends - at > longest:
                stack.append((*head, at))
            elif ends - last > longest:
                paths.append((*head, at))
    if not stack and len(paths) <= limit:
        return paths, True
    # Paths of fewest joints, each with ties broken another way, lie all over the segment.
    spread = (best_path(segment, shortest, longest, seed=seed) for seed in range(limit))
    kept = dict.fromkeys(path for path in spread if path is not None)
    return list(kept), False


def course_path_apart(
    segments: Sequence[Segment], shortest: Nm, longest: Nm, avoid: Sequence[Nm], stagger: Nm
) -> tuple[Path, ...] | None:
    """Joints for each segment of a course that keep apart from the joints `avoid` of the course
    before, in order."""
    paths = [
        best_path(segment, shortest, longest, avoid=avoid, stagger=stagger) for segment in segments
    ]
    return tuple(path for path in paths if path is not None) if None not in paths else None


def apart_throughout(
    courses: Sequence[Sequence[Segment]],
    shortest: Nm,
    longest: Nm | Sequence[Nm],
    stagger: Nm,
    *,
    limit: int,
) -> int | None:
    """The index of the first course that no choice of joints was found for that keeps the stagger
    from the course before it; None where every course has one.

    Up to `limit` choices are tried for each course. Where none of them keeps apart, one is made for
    each choice of the course before. `longest` is the longest piece of every course, or of each.
    """
    most = [longest] * len(courses) if isinstance(longest, int) else longest
    alive: list[Path] = []
    for index, segments in enumerate(courses):
        paths_of = [
            sparse_paths(segment, shortest, most[index], limit=limit)[0] for segment in segments
        ]
        choices = [_joined(paths) for paths in islice(product(*paths_of), limit)]
        if index:
            choices = [
                path
                for path in choices
                if any(keeps_apart(path, before, stagger) for before in alive)
            ]
            if not choices:
                # None of the choices tried keeps apart. A path made to keep apart from one of those
                # before may be one that was not tried.
                made = (
                    course_path_apart(segments, shortest, most[index], before, stagger)
                    for before in alive
                )
                choices = [_joined(paths) for paths in made if paths is not None]
        if not choices:
            return index
        alive = choices
    return None


def _joined(paths: Iterable[Path]) -> Path:
    return tuple(sorted(at for path in paths for at in path))
