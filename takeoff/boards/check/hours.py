"""Whether the hours of a plan are worth what it says: every piece, butt seam and long seam added up
anew."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

from takeoff.boards.check.facts import Breach, Facts
from takeoff.boards.check.shape import section
from takeoff.boards.plan import BoardPlan, Course, Joint, JointKind, Piece
from takeoff.catalogue import Catalogue
from takeoff.choices import Runs, SurfaceKind
from takeoff.geometry.surface import PlacedCutout, PlacedOpening
from takeoff.reference import figures
from takeoff.rules import Rules
from takeoff.units import FOOT

__all__ = ["check_hours"]

Span = tuple[Fraction, Fraction]


def check_hours(
    plan: BoardPlan, surfaces: Sequence[Facts], rules: Rules, catalogue: Catalogue
) -> Iterator[Breach]:
    """Breaches of `work_cost`. On a slope a long seam was rounded to a nanometre, which may come to
    a cent."""
    total, slack = 0, 0
    for facts in surfaces:
        hours = _Hours(facts, rules, catalogue)
        total += hours.long_seams() - hours.cut_out_once()
        total += sum(hours.piece(piece) for piece in facts.plan.pieces)
        rows = {course.index: course for course in facts.plan.rows}
        # What is wrong with a joint of no row is said of the joint.
        total += sum(
            hours.joint(joint, rows[joint.row]) for joint in facts.plan.joints if joint.row in rows
        )
        slack += facts.sloped
    each = Fraction(rules.minutes.other_face_butt) * Fraction(rules.hour) * 100 / 60
    total += round(each) * _on_other_faces(surfaces)
    if abs(plan.work_cost - total) > slack:
        yield Breach(
            "plan",
            "work_cost",
            f"The hours are worth {total / 100:.2f}, not {plan.work_cost / 100:.2f}",
        )


@dataclass(frozen=True, slots=True)
class _StudSeam:
    """A butt seam on a stud of a partition: which side of which leg it is on, where the stud stands
    along the leg, and from where to where the row of the seam lies."""

    leg: str
    is_behind: bool
    stud_at: int
    low: int
    high: int


def _on_other_faces(surfaces: Sequence[Facts]) -> int:
    """How many butt seams are on a stud of a partition that carries one of its other face, which
    the plan hangs before."""
    hung_before: list[_StudSeam] = []
    count = 0
    for facts in surfaces:
        seams = list(_stud_seams(facts))
        half = facts.surface.framing.member_width // 2
        for joint_at, seam in seams:
            studs = [
                stud
                for stud in facts.cross
                if abs(stud.at - joint_at) <= half and stud.low < seam.high and seam.low < stud.high
            ]
            count += any(
                other.leg == seam.leg
                and other.is_behind != seam.is_behind
                and abs(other.stud_at - seam.stud_at) <= half
                and any(stud.low < other.high and other.low < stud.high for stud in studs)
                for other in hung_before
            )
        hung_before += [seam for _, seam in seams]
    return count


def _stud_seams(facts: Facts) -> Iterator[tuple[int, _StudSeam]]:
    """The butt seams of a face that end on its studs, each with its place along the face."""
    face, plan = facts.surface.partition_face, facts.plan
    if face is None or plan.along_framing or plan.rows_run is not Runs.ALONG:
        return
    rows = {course.index: course for course in plan.rows}
    for joint in plan.joints:
        if joint.kind is JointKind.FRAMING and joint.row in rows:
            from_left = facts.surface.origin[0] + joint.at
            # Counted from one end of the leg, whichever side it is seen from.
            stud_at = face.mirror - from_left if face.is_behind else from_left
            row = rows[joint.row]
            yield joint.at, _StudSeam(face.leg, face.is_behind, stud_at, row.low, row.high)


@dataclass(frozen=True)
class _Hours:
    """The minutes of one surface's plan, in cents: each amount rounded by itself, half to even."""

    facts: Facts
    rules: Rules
    catalogue: Catalogue

    @property
    def _overhead(self) -> bool:
        return self.facts.surface.kind is SurfaceKind.CEILING

    def _cents(self, on_wall: Fraction, anywhere: Fraction) -> int:
        """Minutes in cents: those that take longer overhead, and those that do not."""
        times = figures.number("HR-overhead") if self._overhead else Fraction(1)
        return round((times * on_wall + anywhere) * Fraction(self.rules.hour) * 100 / 60)

    def piece(self, piece: Piece) -> int:
        minutes, facts = self.rules.minutes, self.facts
        sheet_width = next(
            (row.sheet_width for row in facts.plan.rows if row.index == piece.row), None
        )
        length, width = piece.end - piece.start, piece.high - piece.low
        lift, cuts = minutes.piece, Decimal(0)
        if length < figures.length("HR-short-length"):
            lift += minutes.short_piece
        choice = facts.surface.board
        sheets = self.catalogue.sheets if self.rules.sheets is None else self.rules.sheets
        if all(
            (sheet.board, sheet.thickness, sheet.width, sheet.length)
            != (choice.kind, choice.thickness, sheet_width, length)
            for sheet in sheets
        ):
            cuts += minutes.crosscut
        if sheet_width is not None and width < sheet_width:
            off = sheet_width - width
            cuts += minutes.thin_rip if off < figures.length("HR-thin") else minutes.rip
        here = (piece.start, piece.end, piece.low, piece.high)
        holes = sum(_share(hole, here) for hole in self._holes())
        tongues = self._tongues(here) * self._cents(Fraction(0), Fraction(minutes.crosscut))
        return self._cents(Fraction(lift), Fraction(cuts)) + holes * self._opening + tongues

    def _tongues(self, here: tuple[int, int, int, int]) -> int:
        """Strips too narrow to hold that a piece (left, right, low, high) has between an opening
        and its own side: each is one cut more."""
        narrow = figures.length("HL-core")
        count = 0
        for rect in self.facts.openings:
            there = (rect.left, rect.right, rect.low, rect.high)
            if not _share(there, here):
                continue
            for side in range(4):
                outward = 1 if side % 2 else -1
                count += 0 < outward * (here[side] - there[side]) < narrow
        return count

    @property
    def _opening(self) -> int:
        return self._cents(Fraction(0), Fraction(self.rules.minutes.opening))

    def cut_out_once(self) -> int:
        """What reaches into the board anywhere is cut out of one piece whatever the plan, and only
        of the second on does it count."""
        boarded = [
            (start, end, row.low, row.high)
            for row in self.facts.plan.rows
            for start, end in row.segments
        ]
        once = sum(any(_share(hole, part) for part in boarded) for hole in self._holes())
        return once * self._opening

    def _holes(self) -> Iterator[tuple[int, int, int, int]]:
        """Every opening and hole of the surface: left, right, low, high along the courses."""
        surface = self.facts.surface
        holes: list[PlacedOpening | PlacedCutout] = [*surface.openings, *surface.cutouts]
        for hole in holes:
            if self.facts.plan.rows_run is Runs.ALONG:
                yield hole.left, hole.right, hole.bottom, hole.top
            else:
                yield hole.bottom, hole.top, hole.left, hole.right

    def joint(self, joint: Joint, course: Course) -> int:
        minutes = self.rules.minutes
        finished = Fraction(minutes.butt_foot) * joint.length / FOOT
        if joint.kind is JointKind.FLOATING:
            pieces = -(-joint.length // figures.length("BB-length"))
            finished += Fraction(minutes.backer) * pieces
        avoided = Fraction(0)
        if self._overhead and self._in_the_middle(joint, course):
            avoided += Fraction(minutes.middle_butt)
        if self._at_a_turn(joint, course):
            avoided += Fraction(minutes.reentrant_butt)
        return self._cents(finished, avoided)

    def _in_the_middle(self, joint: Joint, course: Course) -> bool:
        """In the middle third of the ceiling's extent both ways, the course by its middle."""
        corners = self.facts.ring(self.facts.surface.outline)
        xs, ys = [x for x, _ in corners], [y for _, y in corners]
        along = Fraction(joint.at - min(xs), max(xs) - min(xs))
        across = (Fraction(course.low + course.high, 2) - min(ys)) / (max(ys) - min(ys))
        third = Fraction(1, 3)
        return third < along < 2 * third and third < across < 2 * third

    def _at_a_turn(self, joint: Joint, course: Course) -> bool:
        """By a corner of the surface where it turns back on itself, in the course or at its
        side."""
        ring = list(self.facts.ring(self.facts.surface.outline))
        around = list(zip(ring, ring[1:] + ring[:1], strict=True))
        hand = sum(a[0] * b[1] - b[0] * a[1] for a, b in around)
        reach = figures.length("HR-reentrant-reach")
        for (before, corner), (_, after) in zip(around, around[1:] + around[:1], strict=True):
            turn = (corner[0] - before[0]) * (after[1] - corner[1]) - (corner[1] - before[1]) * (
                after[0] - corner[0]
            )
            near = abs(joint.at - corner[0]) <= reach
            beside = course.low - corner[1] <= reach and corner[1] - course.high <= reach
            if turn * hand < 0 and near and beside:
                return True
        return False

    def long_seams(self) -> int:
        """The seams between touching courses: as far as both are boarded, and no opening reaches
        them."""
        minutes, facts = self.rules.minutes, self.facts
        total = Fraction(0)
        for lower, upper in pairwise(facts.courses):
            if lower.high != upper.low:
                continue
            at = lower.high
            length = sum((end - start for start, end in self._seam(lower, upper, at)), Fraction(0))
            tapered = facts.tapered and lower.factory_high and upper.factory_low
            total += length * Fraction(minutes.tapered_foot if tapered else minutes.butt_foot)
        return self._cents(total / FOOT, Fraction(0))

    def _seam(self, lower: Course, upper: Course, at: int) -> Iterator[Span]:
        level = [(y, x) for x, y in self.facts.ring(self.facts.surface.board_area)]
        wanted = [_exact(section(level, at, hand=hand)) for hand in (-1, 1)]
        # What a board leaves open in a corner is taped like the rest.
        near = figures.length("HL-core")
        ends = [x for line in wanted for span in line for x in span]
        for course in (lower, upper):
            stretches = []
            for segment in course.segments:
                start, end = (
                    next((x for x in ends if abs(x - place) < near), Fraction(place))
                    for place in segment
                )
                stretches.append((start, end))
            wanted.append(stretches)
        open_here = _exact(
            [(rect.left, rect.right) for rect in self.facts.openings if rect.low <= at <= rect.high]
        )
        # Between two neighboring places nothing begins or ends.
        places = sorted({x for line in (*wanted, open_here) for span in line for x in span})
        for start, end in pairwise(places):
            middle = (start + end) / 2
            if all(_within(middle, line) for line in wanted) and not _within(middle, open_here):
                yield start, end


def _share(one: tuple[int, ...], other: tuple[int, ...]) -> bool:
    """Whether two rectangles (left, right, low, high) have more than a side in common."""
    return all(min(one[k + 1], other[k + 1]) > max(one[k], other[k]) for k in (0, 2))


def _exact(spans: Sequence[tuple[int | Fraction, int | Fraction]]) -> list[Span]:
    return [(Fraction(start), Fraction(end)) for start, end in spans]


def _within(place: Fraction, spans: Sequence[Span]) -> bool:
    return any(start < place < end for start, end in spans)
