"""What a first plan chooses among in each course: a few dozen choices of joints, each with its
pieces and cost."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import islice, pairwise, product

from takeoff.boards.assemble import piece_edges
from takeoff.boards.joints import JointPoint, Segment
from takeoff.boards.paths import course_path_apart, sparse_paths
from takeoff.boards.plan import JointKind
from takeoff.boards.problem import CourseProblem, Layout
from takeoff.cutting.sheets import CutPiece, Sale, by_size
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = ["CourseOption", "LayoutOptions", "of_kinds", "options_of"]

MICRO = 1_000_000  # costs inside a search are whole millionths of a cent; the plan's own are exact


@dataclass(frozen=True, slots=True)
class CourseOption:
    """One choice of joints for a course. `mask` has a bit for each of its joints, `near` for each
    place too close to one of them. `cost` is its seams and backers, and the hours of its pieces and
    seams."""

    joints: tuple[tuple[JointPoint, ...], ...]
    pieces: tuple[CutPiece, ...]
    cost: int
    count: int
    mask: int
    near: int


@dataclass(frozen=True, slots=True)
class LayoutOptions:
    """The choices of each course of a layout, such that each has one in the next course that keeps
    apart from it."""

    layout: Layout
    courses: tuple[tuple[CourseOption, ...], ...]


def options_of(
    layout: Layout,
    rules: Rules,
    sales: Mapping[Nm, Sale],
    *,
    room: int,
    prefix: str,
    keep: int,
    kinds: frozenset[JointKind] | None = None,
) -> LayoutOptions | None:
    """The choices of a layout, up to about `keep` a course, with joints of `kinds` only where
    given. `sales` are the sheets of each width that may come in.

    Pieces are named `prefix/course/choice/piece`. None where the choices kept cannot keep apart
    from course to course.
    """
    courses: list[list[CourseOption]] = []
    places = sorted(
        {
            point.at
            for course in layout.courses
            for segment in course.segments
            for point in segment.points
        }
    )
    # A set of joints is one whole number with a bit for each place, so that the stagger of two
    # courses is a single `&`.
    bit = {at: 1 << index for index, at in enumerate(places)}
    near = {
        at: sum(bit[other] for other in places if abs(other - at) < rules.stagger) for at in places
    }

    for course in layout.courses:
        segments = [of_kinds(segment, kinds) for segment in course.segments]
        paths_of = [
            _paths(
                segment,
                rules.shortest_piece,
                course.longest,
                sales[course.sheet_width].lengths,
                keep,
            )
            for segment in segments
        ]
        # Segments are apart, so any choice of one goes with any choice of another.
        choices = list(islice(product(*paths_of), 2 * keep))
        nears = [_union(near, _ats(joints)) for joints in choices]
        # None of the usual choices goes with any of the course before: look for some made to.
        if courses and not any(not one.mask & mask for one in courses[-1] for mask in nears):
            choices += _apart_from(courses[-1], segments, course.longest, rules)

        stretch = _stretches(layout, course)
        options: list[CourseOption] = []
        for number, joints in enumerate(choices):
            ats = _ats(joints)
            stretches = [stretch(*place) for place in _places(course, joints)]
            options.append(
                CourseOption(
                    joints=joints,
                    pieces=tuple(
                        _pieces(course, stretches, sales, room, f"{prefix}/{course.index}/{number}")
                    ),
                    cost=round(MICRO * sum(point.cost for path in joints for point in path))
                    + MICRO * sum(one.hours for one in stretches),
                    count=len(ats),
                    mask=_union(bit, ats),
                    near=_union(near, ats),
                )
            )
        courses.append(options)
    # The planner goes forward and never back, so what leads nowhere must go first.
    # From the last course back, only what some choice of the next course keeps apart from.
    for index in range(len(courses) - 2, -1, -1):
        courses[index] = [
            one
            for one in courses[index]
            if any(not one.near & other.mask for other in courses[index + 1])
        ]

    if not all(courses):
        return None
    return LayoutOptions(layout, tuple(tuple(course) for course in courses))


def _ats(joints: Sequence[Sequence[JointPoint]]) -> list[Nm]:
    return sorted(point.at for path in joints for point in path)


def _apart_from(
    before: Sequence[CourseOption], segments: Sequence[Segment], longest: Nm, rules: Rules
) -> list[tuple[tuple[JointPoint, ...], ...]]:
    """Choices that keep apart from each choice of the course before, where the usual ones all come
    too close."""
    points = [{point.at: point for point in segment.points} for segment in segments]
    choices = []
    for option in before:
        paths = course_path_apart(
            segments, rules.shortest_piece, longest, _ats(option.joints), rules.stagger
        )
        if paths is not None:
            choices.append(
                tuple(tuple(of[at] for at in path) for of, path in zip(points, paths, strict=True))
            )
    return list(dict.fromkeys(choices))


def _union(bits: dict[Nm, int], ats: Iterable[Nm]) -> int:
    total = 0
    for at in ats:
        total |= bits[at]
    return total


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A piece between two places of a course: its size, and what its hours are worth in cents."""

    length: Nm
    low: Nm
    high: Nm
    hours: int


def _places(
    course: CourseProblem, joints: Sequence[Sequence[JointPoint]]
) -> Iterator[tuple[int, Nm, Nm]]:
    """Each piece that these joints make: the number of its segment, its start and its end."""
    for index, (segment, path) in enumerate(zip(course.segments, joints, strict=True)):
        for start, end in pairwise((segment.start, *(point.at for point in path), segment.end)):
            yield index, start, end


def _stretches(layout: Layout, course: CourseProblem) -> Callable[[int, Nm, Nm], _Stretch]:
    """The pieces of a course by their places, each worked out once: choices share most of them."""

    @cache
    def stretch(index: int, start: Nm, end: Nm) -> _Stretch:
        lies = layout.lies(course, course.segments[index], start, end)
        return _Stretch(
            Nm(lies[1] - lies[0]), lies[2], lies[3], layout.work.piece(course.sheet_width, *lies)
        )

    return stretch


def _pieces(
    course: CourseProblem,
    stretches: Sequence[_Stretch],
    sales: Mapping[Nm, Sale],
    room: int,
    prefix: str,
) -> list[CutPiece]:
    pieces = [
        CutPiece(
            code=f"{prefix}/{number}",
            length=one.length,
            width=Nm(one.high - one.low),
            factory_edges=piece_edges(course, one.low, one.high),
            room=room,
            sale=sales[course.sheet_width],
        )
        for number, one in enumerate(stretches)
    ]
    return sorted(pieces, key=by_size)


def _paths(
    segment: Segment,
    shortest: Nm,
    longest: Nm,
    lengths: Sequence[Nm],
    keep: int,
) -> list[tuple[JointPoint, ...]]:
    """Choices of joints that cover `segment`: those with the fewest joints, and the best of those
    with one more.

    Of more than `keep`, those that leave least when each piece is cut from a sheet of its own, or
    fill one together.
    """
    begins, ends = segment.least
    shortest = Nm(min(shortest, ends - begins))
    points = segment.points
    ats = [begins, *(point.at for point in points), ends]
    last = len(ats) - 1
    # The least number of pieces from each place to the end: a branch that needs more than it may is
    # given up at once.
    fewest = _fewest(segment, ats, shortest, longest)
    least = fewest[0]
    if least is None:
        return []
    by_extra: list[list[tuple[int, ...]]] = [[], []]

    # The fewest joints, and one more: that may make pieces which fill their sheets better.
    for extra in (0, 1):
        stack: list[tuple[tuple[int, ...], int]] = [((), least + extra)]
        # Eight times as many as are kept, so that there is something to choose from.
        while stack and len(by_extra[extra]) < 8 * keep:
            head, count = stack.pop()
            here = head[-1] if head else 0
            for after in range(here + 1, last + 1):
                step = ats[after] - ats[here]
                if step > longest:
                    break
                rest = fewest[after]
                if step < shortest or rest is None or rest > count - 1:
                    continue
                if not segment.holds_core(ats[here], ats[after]):
                    continue
                if after == last:
                    if count == 1:
                        by_extra[extra].append(head)
                else:
                    stack.append(((*head, after), count - 1))
        if stack:  # too long a course to try every choice: take some from all over it
            number = {at: index for index, at in enumerate(ats)}
            spread, _ = sparse_paths(segment, shortest, longest, limit=keep)
            by_extra[extra] = (
                [tuple(number[at] for at in path) for path in spread] if not extra else []
            )

    left_over: dict[int, int] = {}

    def waste(path: tuple[int, ...]) -> int:
        total = 0
        for a, b in pairwise((0, *path, last)):
            length = ats[b] - ats[a]
            if length not in left_over:
                # What the shortest sheet that gives the piece would leave. Two pieces are often cut
                # from one sheet, but this much is known before anything is cut.
                left_over[length] = min(
                    (stock_length - length for stock_length in lengths if stock_length >= length),
                    default=longest,
                )
            total += left_over[length]
        return total

    kept = _some(by_extra[0], keep, waste) + _some(by_extra[1], keep // 2, waste)
    return [tuple(points[index - 1] for index in path) for path in kept]


def _some(
    paths: list[tuple[int, ...]], keep: int, waste: Callable[[tuple[int, ...]], int]
) -> list[tuple[int, ...]]:
    """Up to `keep` of `paths`: half by least waste, half spread evenly over the rest, so that
    courses find ways apart."""
    if len(paths) <= keep:
        return paths
    ranked = sorted(paths, key=lambda path: (waste(path), path))
    # Choices that waste least may all clash with the next course, so the other half is taken from
    # all over.
    best, others = ranked[: keep // 2], sorted(ranked[keep // 2 :])
    count = keep - len(best)
    return best + [others[index * len(others) // count] for index in range(count)]


def _fewest(segment: Segment, ats: Sequence[Nm], shortest: Nm, longest: Nm) -> list[int | None]:
    """The fewest pieces from each place to the end; None where none will do."""
    last = len(ats) - 1
    fewest: list[int | None] = [None] * last + [0]
    for index in range(last - 1, -1, -1):
        for after in range(index + 1, last + 1):
            step = ats[after] - ats[index]
            if step > longest:
                break
            rest = fewest[after]
            now = fewest[index]
            if step < shortest or not segment.holds_core(ats[index], ats[after]):
                continue
            if rest is not None and (now is None or rest + 1 < now):
                fewest[index] = rest + 1
    return fewest


def of_kinds(segment: Segment, kinds: frozenset[JointKind] | None) -> Segment:
    """The segment with places for butt seams of some kinds only, all where None."""
    if kinds is None:
        return segment
    return replace(segment, points=tuple(point for point in segment.points if point.kind in kinds))
