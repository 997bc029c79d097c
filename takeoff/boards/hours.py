"""What the hours of a board plan are worth, in whole cents: of each piece, each butt seam, and the
long seams of each layout.

Each is rounded once, half to even. So the hours of a plan are the sum of these amounts, whoever
adds them up, and every plan costs whole cents of hours.

Only what a plan can change counts. The area, the inside corners and the beads are the same in all
of them, and so is cutting out each opening and box once: a plan is charged for the second piece
that one reaches into.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import lcm
from typing import Protocol

from takeoff.boards.courses import core
from takeoff.boards.joints import Box, Span, backers
from takeoff.boards.plan import JointKind
from takeoff.boards.region import in_course_axes, section
from takeoff.catalogue import BoardEdges, BoardKind, SheetOnSale
from takeoff.choices import Runs, SurfaceKind
from takeoff.geometry.polygon import bounds
from takeoff.geometry.surface import Point, Surface
from takeoff.quantities import Cents
from takeoff.reference import figures
from takeoff.rules import Rules
from takeoff.units import FOOT, Nm

__all__ = [
    "NO_WORK",
    "SurfaceWork",
    "Worth",
    "joint_cents",
    "layout_cents",
    "opening_cents",
    "piece_cents",
    "work_on",
    "worth_of",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """What the parts of the work are worth, in whole numbers of which `per` make a cent: so that
    nothing is rounded before it is added up. Overhead work counts longer already."""

    per: int
    piece: int
    short_piece: int
    crosscut: int
    rip: int
    thin_rip: int
    opening: int
    backer: int
    tapered_foot: int
    butt_foot: int
    middle_butt: int
    reentrant_butt: int
    other_face_butt: int

    def cents(self, parts: int | Fraction) -> Cents:
        """So many parts in whole cents, rounded half to even."""
        whole, rest = divmod(parts, self.per)
        return Cents(whole + (2 * rest > self.per or (2 * rest == self.per and whole % 2)))


def worth_of(rules: Rules, *, overhead: bool) -> Worth:
    """What the work is worth at the rules' hour. Overhead all but cuts takes longer; what a bad
    place is worth to be avoided is told for ceilings as it stands."""
    minutes = rules.minutes
    minute = Fraction(rules.hour) * 100 / 60
    longer = minute * (figures.number("HR-overhead") if overhead else 1)
    parts = {
        "piece": Fraction(minutes.piece) * longer,
        "short_piece": Fraction(minutes.short_piece) * longer,
        "backer": Fraction(minutes.backer) * longer,
        "tapered_foot": Fraction(minutes.tapered_foot) * longer,
        "butt_foot": Fraction(minutes.butt_foot) * longer,
        "crosscut": Fraction(minutes.crosscut) * minute,
        "rip": Fraction(minutes.rip) * minute,
        "thin_rip": Fraction(minutes.thin_rip) * minute,
        "opening": Fraction(minutes.opening) * minute,
        "middle_butt": Fraction(minutes.middle_butt) * minute,
        "reentrant_butt": Fraction(minutes.reentrant_butt) * minute,
        "other_face_butt": Fraction(minutes.other_face_butt) * minute,
    }
    per = lcm(*(part.denominator for part in parts.values()))
    return Worth(per=per, **{name: int(part * per) for name, part in parts.items()})


def piece_cents(
    worth: Worth,
    *,
    length: Nm,
    width: Nm,
    sheet_width: Nm,
    on_sale: bool,
    boxes: int,
    tongues: int = 0,
) -> Cents:
    """The hours of a piece: it is carried and lifted, cut, `boxes` openings and boxes are cut out
    of it, and `tongues` that would break are cut off, each rounded by itself. `on_sale` is whether
    sheets of its length are sold in the width it is cut from.

    Cuts are counted by piece, whatever sheet it comes from: a full-width piece of a length on sale
    takes none, another one crosscut; a ripped one takes a rip, and a crosscut unless its length is
    on sale.
    """
    parts = worth.piece
    if length < figures.length("HR-short-length"):
        parts += worth.short_piece
    if not on_sale:
        parts += worth.crosscut
    if width < sheet_width:
        thin = sheet_width - width < figures.length("HR-thin")
        parts += worth.thin_rip if thin else worth.rip
    off = tongues * worth.cents(worth.crosscut)
    return Cents(worth.cents(parts) + boxes * opening_cents(worth) + off)


def opening_cents(worth: Worth) -> Cents:
    """The hours of cutting an opening or a box out of one piece."""
    return worth.cents(worth.opening)


def joint_cents(
    worth: Worth, *, seam: Nm, kind: JointKind, in_middle: bool, at_corner: bool
) -> Cents:
    """The hours of a butt seam: it is finished along its length, and a floating one has backers.
    In the middle of a ceiling and at a corner that the surface turns about it counts for more."""
    parts = Fraction(worth.butt_foot * seam, FOOT)
    if kind is JointKind.FLOATING:
        parts += backers(seam) * worth.backer
    if in_middle:
        parts += worth.middle_butt
    if at_corner:
        parts += worth.reentrant_butt
    return worth.cents(parts)


def layout_cents(worth: Worth, *, tapered: Nm, cut: Nm) -> Cents:
    """The hours of a layout's long seams: of those between two tapered edges, and of those with a
    cut edge."""
    return worth.cents(Fraction(worth.tapered_foot * tapered + worth.butt_foot * cut, FOOT))


class _Course(Protocol):
    """What a course of a layout and one of a plan have in common."""

    @property
    def low(self) -> Nm: ...

    @property
    def high(self) -> Nm: ...

    @property
    def factory_low(self) -> bool: ...

    @property
    def factory_high(self) -> bool: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceWork:
    """What makes work on one surface, in course coordinates. `worth` is None where hours count for
    nothing.

    `openings` and `boxes` are cut out of pieces, `on_sale` are the widths and lengths of sheets,
    `corners` those that the surface turns about, `frame` is the rectangle around its framing (left,
    low, right, high). Long seams take their taper where the board is `tapered`.
    """

    worth: Worth | None = None
    overhead: bool = False
    tapered: bool = True
    openings: tuple[Box, ...] = ()
    boxes: tuple[Box, ...] = ()
    on_sale: frozenset[tuple[Nm, Nm]] = frozenset()
    corners: tuple[Point, ...] = ()
    frame: tuple[Nm, Nm, Nm, Nm] = (Nm(0), Nm(0), Nm(0), Nm(0))
    area: tuple[Point, ...] = ()

    def met(self, start: Nm, end: Nm, low: Nm, high: Nm) -> tuple[Box, ...]:
        """The openings and boxes that a rectangle meets."""
        return tuple(
            box
            for box in (*self.openings, *self.boxes)
            if box.left < end and box.right > start and box.meets(low, high)
        )

    def tongues(self, start: Nm, end: Nm, low: Nm, high: Nm) -> int:
        """How many strips narrower than a core are left between the sides of a rectangle and the
        openings it meets. Each breaks easily, and costs a cut more."""
        return sum(
            0 < left < core()
            for box in self.openings
            if box.left < end and box.right > start and box.meets(low, high)
            for left in (box.left - start, end - box.right, box.low - low, high - box.high)
        )

    def piece(self, sheet_width: Nm, start: Nm, end: Nm, low: Nm, high: Nm) -> Cents:
        """The hours of a piece by its rectangle, cut from sheets of a width."""
        if self.worth is None:
            return Cents(0)
        return piece_cents(
            self.worth,
            length=Nm(end - start),
            width=Nm(high - low),
            sheet_width=sheet_width,
            on_sale=(sheet_width, Nm(end - start)) in self.on_sale,
            boxes=len(self.met(start, end, low, high)),
            tongues=self.tongues(start, end, low, high),
        )

    def least_piece(self, *, full: bool) -> Cents:
        """What any piece of a course takes at least, of one as wide as its sheets where `full`."""
        if self.worth is None:
            return Cents(0)
        rip = 0 if full else min(self.worth.rip, self.worth.thin_rip)
        return self.worth.cents(self.worth.piece + rip)

    def joint(self, course: _Course, at: Nm, seam: Nm, kind: JointKind) -> Cents:
        """The hours of a butt seam at a place along a course."""
        if self.worth is None:
            return Cents(0)
        reach = figures.length("HR-reentrant-reach")
        return joint_cents(
            self.worth,
            seam=seam,
            kind=kind,
            in_middle=self.overhead and self._in_middle(course, at),
            at_corner=any(
                abs(at - x) <= reach and course.low - reach <= y <= course.high + reach
                for x, y in self.corners
            ),
        )

    def _in_middle(self, course: _Course, at: Nm) -> bool:
        """Whether a place is in the middle third of the surface along its courses, and the middle
        of its course in the middle third across them: where light from a window shows a butt seam
        most. A ceiling of two courses has none there."""
        left, low, right, high = self.frame
        width, height = right - left, high - low
        across = course.low + course.high - 2 * low
        return width < 3 * (at - left) < 2 * width and 2 * height < 3 * across < 4 * height

    def courses(self, courses: Sequence[tuple[_Course, Sequence[Span]]]) -> int:
        """The hours of courses, each given with its stretches, whatever joints are chosen: of the
        seams between them, less cutting out once what must be cut out of their boards anyway."""
        if self.worth is None:
            return 0
        anyway = sum(
            any(
                box.left < end and box.right > start and box.meets(course.low, course.high)
                for course, stretches in courses
                for start, end in stretches
            )
            for box in (*self.openings, *self.boxes)
        )
        return self._long_seams(courses) - anyway * opening_cents(self.worth)

    def _long_seams(self, courses: Iterable[tuple[_Course, Sequence[Span]]]) -> Cents:
        """The hours of the seams between touching courses. A seam stops where one of the two is not
        boarded, and at an opening that reaches it."""
        assert self.worth is not None
        lengths = {True: 0, False: 0}
        turned = in_course_axes(self.area, Runs.ACROSS)
        left, _, right, _ = bounds(self.area)
        ordered = sorted(courses, key=lambda one: one[0].low)
        for (lower, below), (upper, above) in pairwise(ordered):
            at = lower.high
            if at != upper.low:
                continue
            line = section(turned, at, left, right)
            spans = _both(_both(line, _to_the_ends(below, line)), _to_the_ends(above, line))
            for box in self.openings:
                if box.low <= at <= box.high:
                    spans = _without(spans, box.left, box.right)
            tapered = self.tapered and lower.factory_high and upper.factory_low
            lengths[tapered] += sum(end - start for start, end in spans)
        return layout_cents(self.worth, tapered=Nm(lengths[True]), cut=Nm(lengths[False]))


NO_WORK = SurfaceWork()


def work_on(
    surface: Surface, kind: BoardKind, rules: Rules, sheets: Collection[SheetOnSale], runs: Runs
) -> SurfaceWork:
    """What makes work on a surface whose courses run so. `sheets` are all on sale of its board."""
    if not rules.hour:
        return NO_WORK

    def box(left: Nm, bottom: Nm, right: Nm, top: Nm) -> Box:
        return (
            Box(left, bottom, right, top) if runs is Runs.ALONG else Box(bottom, left, top, right)
        )

    overhead = surface.kind is SurfaceKind.CEILING
    outline = in_course_axes(surface.outline, runs)
    return SurfaceWork(
        worth=worth_of(rules, overhead=overhead),
        overhead=overhead,
        tapered=kind.edges is BoardEdges.TAPERED,
        openings=tuple(box(o.left, o.bottom, o.right, o.top) for o in surface.openings),
        boxes=tuple(box(c.left, c.bottom, c.right, c.top) for c in surface.cutouts),
        on_sale=frozenset((sheet.width, sheet.length) for sheet in sheets),
        corners=_reentrant(outline),
        frame=bounds(outline),
        area=in_course_axes(surface.board_area, runs),
    )


def _reentrant(outline: Sequence[Point]) -> tuple[Point, ...]:
    """The corners where a counter-clockwise outline turns to the right."""
    return tuple(
        (x, y)
        for (x0, y0), (x, y), (x1, y1) in zip(
            (outline[-1], *outline[:-1]), outline, (*outline[1:], outline[0]), strict=True
        )
        if (x - x0) * (y1 - y) - (y - y0) * (x1 - x) < 0
    )


def _to_the_ends(stretches: Sequence[Span], line: Sequence[Span]) -> list[Span]:
    """Stretches without the gap that a board's end may leave in a corner: how wide that is does not
    change what is taped."""
    least = figures.length("HL-core")
    return [
        (
            next((at for at, _ in line if abs(at - start) < least), start),
            next((at for _, at in line if abs(at - end) < least), end),
        )
        for start, end in stretches
    ]


def _both(one: Sequence[Span], other: Sequence[Span]) -> list[Span]:
    return [
        (Nm(max(start, other_start)), Nm(min(end, other_end)))
        for start, end in one
        for other_start, other_end in other
        if max(start, other_start) < min(end, other_end)
    ]


def _without(spans: Sequence[Span], left: Nm, right: Nm) -> list[Span]:
    parts = [
        part
        for start, end in spans
        for part in ((start, Nm(min(end, left))), (Nm(max(start, right)), end))
    ]
    return [(start, end) for start, end in parts if start < end]
