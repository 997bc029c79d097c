"""Where a butt seam is allowed along a course, and what it costs."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from takeoff.boards.plan import JointKind
from takeoff.choices import JointMode, Runs
from takeoff.geometry.surface import PlacedCutout, PlacedHidden, PlacedOpening, Point
from takeoff.quantities import Cents
from takeoff.reference import figures
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = [
    "Bearing",
    "Box",
    "CourseSurroundings",
    "JointPoint",
    "Segment",
    "Span",
    "backers",
    "blocked_points",
    "box_of",
    "is_covered",
    "joint_at",
    "joint_points",
    "seam_spans",
]

Span = tuple[Nm, Nm]


@dataclass(frozen=True, slots=True, kw_only=True)
class JointPoint:
    """A place along a course where a butt seam is allowed, and what it costs: seam, backers and
    shims, and the worth of its hours, in cents."""

    at: Nm
    kind: JointKind
    seam: Nm
    seam_cost: Fraction
    backer_cost: Fraction
    work: Cents = Cents(0)

    @property
    def cost(self) -> Fraction:
        return self.seam_cost + self.backer_cost + self.work


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """A stretch of a course to board, and the allowed joints strictly inside it, in order.

    A run of pieces covers it where every piece is at least the shortest piece long (unless the
    whole segment is shorter) and at most the longest sheet. `area` is its part of the region in
    course coordinates, counter-clockwise; empty where it is the plain rectangle of its course.
    Where its first piece may begin elsewhere than at `start`, `starts` says from where to where,
    and `ends` where its last one may end. `cores` are the stretches in which a core fits (see
    `takeoff.boards.cores`); None where every piece has one.
    """

    start: Nm
    end: Nm
    points: tuple[JointPoint, ...]
    area: tuple[Point, ...] = ()
    starts: Span | None = None
    ends: Span | None = None
    cores: tuple[Span, ...] | None = None

    def holds_core(self, start: Nm, end: Nm) -> bool:
        """Whether a piece from `start` to `end` has a core. Every longer piece has it, too."""
        if self.cores is None:
            return True
        size = figures.length("HL-core")
        return any(min(end, right) - max(start, left) >= size for left, right in self.cores)

    @property
    def least(self) -> Span:
        """What of it is covered at least."""
        return (
            self.starts[1] if self.starts is not None else self.start,
            self.ends[0] if self.ends is not None else self.end,
        )


@dataclass(frozen=True, slots=True)
class Box:
    """An opening, a hole or something hidden, as a rectangle in course coordinates."""

    left: Nm
    low: Nm
    right: Nm
    high: Nm

    def meets(self, low: Nm, high: Nm) -> bool:
        """Whether it lies in the course from `low` to `high`, and does not merely touch it."""
        return self.low < high and self.high > low


def box_of(thing: PlacedOpening | PlacedCutout | PlacedHidden, rows_run: Runs) -> Box:
    """An opening, a hole or something hidden in the coordinates of courses that run so."""
    if rows_run is Runs.ALONG:
        return Box(thing.left, thing.bottom, thing.right, thing.top)
    return Box(thing.bottom, thing.left, thing.top, thing.right)


@dataclass(frozen=True, slots=True)
class Bearing:
    """A member square to the courses: centre line at `at`, extent `low` to `high`."""

    at: Nm
    width: Nm
    low: Nm
    high: Nm


def seam_spans(at: Nm, spans: Iterable[Span], openings: Iterable[Box]) -> tuple[Span, ...]:
    """What is left of the board's `spans` (in y) at `at` when the openings that strictly contain
    `at` are taken out."""
    rest = list(spans)
    for opening in openings:
        if opening.left < at < opening.right:
            rest = [
                part
                for low, high in rest
                for part in ((low, Nm(min(high, opening.low))), (Nm(max(low, opening.high)), high))
                if part[0] < part[1]
            ]
    return tuple(rest)


def backers(seam: Nm) -> int:
    """How many seam backers a floating seam of that length takes."""
    return -(-seam // figures.length("BB-length"))


def _beside(spans: Sequence[Span], members: Sequence[Bearing]) -> bool:
    """Whether a member runs beside some part of `spans`: on a slope it may end below the seam."""
    return any(member.low < high and member.high > low for low, high in spans for member in members)


def is_covered(spans: Sequence[Span], members: Sequence[Bearing]) -> bool:
    """Whether members on one centre line lie behind every part of `spans`, to a nanometre of
    rounding."""
    for low, high in spans:
        reached = low
        for member in members:
            if member.low <= reached + 1:
                reached = max(reached, member.high)
        if reached + 1 < high:
            return False
    return True


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseSurroundings:
    """What stands in the way along one course: the board's own extent in y, what is behind it, what
    cuts it.

    `section` gives the board's extent in y at an x; `obstacles` are boxes, blocking and whatever
    else may fill the place of a backer.
    """

    low: Nm
    high: Nm
    section: Callable[[Nm], Sequence[Span]]
    members: Sequence[Bearing]
    openings: Sequence[Box]
    obstacles: Sequence[Box]


def joint_points(
    course: CourseSurroundings, start: Nm, end: Nm, mode: JointMode, rules: Rules
) -> tuple[JointPoint, ...]:
    """The allowed joints strictly between `start` and `end` of a course across the framing, in
    order.

    On framing: at the center of a member that is present behind the whole seam, so that both board
    ends bear on it. Floating: at the middle of the clear bay between neighbouring members, rounded
    half to even, where the bay is wide enough and nothing is in the backer's place. None stands
    closer to an opening's side than the clearance.
    """
    # Two members may stand on one line, one above an opening and one below.
    lines: dict[Nm, list[Bearing]] = {}
    for member in course.members:
        if member.low < course.high and member.high > course.low:
            lines.setdefault(member.at, []).append(member)
    centres = sorted(lines)
    kinds: dict[Nm, JointKind] = {}
    if mode is not JointMode.FRAMING:
        for before, after in pairwise(centres):
            # A seam may float between any two neighboring members, where the bay is wide enough and
            # a backer fits.
            face_before = 2 * before + max(member.width for member in lines[before])
            face_after = 2 * after - max(member.width for member in lines[after])
            at = Nm(round(Fraction(face_before + face_after, 4)))
            if face_after - face_before < 2 * rules.floating_clear_bay or not start < at < end:
                continue
            seam = _seam(at, course)
            if (
                _beside(seam, lines[before])
                and _beside(seam, lines[after])
                and _backer_fits(at, course)
            ):
                kinds[at] = JointKind.FLOATING
    if mode is not JointMode.FLOATING:
        for at in centres:
            if start < at < end and is_covered(_seam(at, course), lines[at]):
                kinds[at] = JointKind.FRAMING
    return priced(course, kinds, rules)


def blocked_points(
    course: CourseSurroundings, start: Nm, end: Nm, lengths: Iterable[Nm], rules: Rules
) -> tuple[JointPoint, ...]:
    """The allowed butt ends strictly between `start` and `end` of a course along the framing, in
    order.

    Each is screwed to blocking put in for it, so the framing does not say where: whole sheets from
    either end, and the ends' shortest pieces with a stagger from them, so that neighbours can keep
    apart.
    """
    short, apart = rules.shortest_piece, rules.stagger
    # Any place would do, and there are too many: these are the ones that use whole sheets or leave
    # neighbors room to keep apart.
    steps = {short, Nm(short + apart)}
    for sheet in lengths:
        steps |= {Nm(k * sheet) for k in range(1, (end - start) // sheet + 1)}
    places = {at for step in steps for at in (Nm(start + step), Nm(end - step)) if start < at < end}
    return priced(course, dict.fromkeys(sorted(places), JointKind.FRAMING), rules)


def priced(
    course: CourseSurroundings, places: Mapping[Nm, JointKind], rules: Rules
) -> tuple[JointPoint, ...]:
    """The joints at `places` that keep clear of openings, in order, with what each costs.

    Where the rules split boards at large openings, a joint on framing may come close to one of
    those.
    """
    meeting = [box for box in course.openings if box.meets(course.low, course.high)]
    # A seam beside an opening is the first to crack, so both sides of each opening that meets the
    # course keep joints away.
    sides = [side for box in meeting for side in (box.left, box.right)]
    if rules.split_at_large_openings:
        large = figures.length("HL-large-opening")
        held = [
            side
            for box in meeting
            if box.right - box.left < large
            for side in (box.left, box.right)
        ]
    else:
        held = sides
    shims = figures.count("BB-shims") * Fraction(rules.shim_price)
    backer = 100 * (Fraction(rules.backer_price) + shims)
    costs: dict[Nm, Fraction] = {}  # most seams of a course are equally long
    points = []
    for at, kind in sorted(places.items()):
        # Boards split at a large opening only on framing.
        near = held if kind is JointKind.FRAMING else sides
        if any(abs(at - side) < rules.opening_clearance for side in near):
            continue
        if len(course.section(at)) != 1:
            continue  # the region forks here: beyond the joint there would be two boards, not one
        # A seam inside an opening's whole height joins no boards.
        seam = Nm(sum(high - low for low, high in _seam(at, course)))
        if not seam:
            continue
        if seam not in costs:
            costs[seam] = rules.seam_cents_per_nm * seam
        points.append(
            JointPoint(
                at=at,
                kind=kind,
                seam=seam,
                seam_cost=costs[seam],
                backer_cost=backers(seam) * backer if kind is JointKind.FLOATING else Fraction(0),
            )
        )
    return tuple(points)


def joint_at(at: Nm, kind: JointKind, seam: Nm, rules: Rules) -> JointPoint:
    """A joint that is given: its seam, as long as board meets board there, has its price whether or
    not it may be there."""
    backer = 100 * (
        Fraction(rules.backer_price) + figures.count("BB-shims") * Fraction(rules.shim_price)
    )
    return JointPoint(
        at=at,
        kind=kind,
        seam=seam,
        seam_cost=rules.seam_cents_per_nm * seam,
        backer_cost=backers(seam) * backer if kind is JointKind.FLOATING else Fraction(0),
    )


def _seam(at: Nm, course: CourseSurroundings) -> tuple[Span, ...]:
    return seam_spans(at, course.section(at), course.openings)


def _backer_fits(at: Nm, course: CourseSurroundings) -> bool:
    """Whether nothing fills the backer's place behind the course's height. A header lies on its
    opening, so an opening that only touches the course counts too."""
    # The backer lies flat behind both boards, half its width to each side of the seam.
    half = figures.length("BB-width") // 2
    left_edge, right_edge = at - half, at + half
    behind = any(
        box.left < right_edge and box.right > left_edge and box.meets(course.low, course.high)
        for box in course.obstacles
    )
    headers = any(
        box.left < right_edge
        and box.right > left_edge
        and box.low <= course.high
        and box.high >= course.low
        for box in course.openings
    )
    return not behind and not headers
