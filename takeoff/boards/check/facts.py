"""What the checker reads of a surface, turned so that x runs along its courses of boards and y
square to them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from takeoff.boards.check.shape import Ring, box, reach
from takeoff.boards.plan import Course, Piece, PlacedBoard, SurfacePlan
from takeoff.catalogue import BoardEdges, BoardKind, Catalogue
from takeoff.choices import Runs
from takeoff.framing.members import FramedSurface
from takeoff.geometry.surface import PlacedCutout, PlacedHidden, PlacedOpening, Surface
from takeoff.reference import figures
from takeoff.rules import Rules
from takeoff.units import Nm, UnitSystem, format_length

__all__ = ["ROUNDING", "Breach", "Facts", "Rect", "Upright", "facts_of", "say"]

# A length that is not a whole number of nanometers (mid-bay, slope) was rounded once, by at most
# one.
ROUNDING = 1


@dataclass(frozen=True, slots=True)
class Breach:
    """One rule that a plan breaks: on which surface or sheet (or `plan`), the rule's key or short
    name, a sentence. It is `amiss` where it is about boards that hang already alone: no plan can
    keep it."""

    where: str
    rule: str
    message: str
    amiss: bool = False

    def __str__(self) -> str:
        return f"{self.where}: {self.message} ({self.rule})"


@dataclass(frozen=True, slots=True)
class Rect:
    """A rectangle in course coordinates, and what it is called."""

    name: str
    left: int
    right: int
    low: int
    high: int


@dataclass(frozen=True, slots=True)
class Upright:
    """A member square to the courses: its centre along them, width, and extent square to them."""

    at: int
    width: int
    low: int
    high: int


@dataclass(frozen=True, slots=True)
class Facts:
    """A surface and its plan, in course coordinates. Board lies inside `outer` and covers `inner`:
    its edges may be anywhere between. `cross` are members square to the courses, `along` those
    parallel to them (then `at` is a y), `hidden` what a backer has no room beside. `hung` are the
    boards that hang already by their marks, where they lie on the surface now."""

    plan: SurfacePlan
    surface: Surface
    framed: FramedSurface
    rules: Rules
    kind: BoardKind
    outer: Ring
    inner: Ring
    sloped: bool
    openings: tuple[Rect, ...]
    behind: tuple[Rect, ...]
    cross: tuple[Upright, ...]
    along: tuple[Upright, ...]
    hung: Mapping[str, PlacedBoard]

    @property
    def tapered(self) -> bool:
        return self.kind.edges is BoardEdges.TAPERED

    @property
    def slack(self) -> int:
        """How far a place on this surface may be off: nothing, but for one rounding where it is
        sloped."""
        return ROUNDING if self.sloped else 0

    @property
    def slack_along(self) -> int:
        """How far a place along a course may be off where a slope gives it. The corners of both
        shapes are rounded, each for itself, and along a side that is nearly level a rounding in
        height goes far."""
        runs = [
            -(-abs(b[0] - a[0]) // abs(b[1] - a[1]))
            for ring in (self.outer, self.inner)
            for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)
            if a[0] != b[0] and a[1] != b[1]
        ]
        return self.slack * (2 + max(runs)) if runs else 0

    @property
    def courses(self) -> list[Course]:
        """Its courses from low to high."""
        return sorted(self.plan.rows, key=lambda course: (course.low, course.index))

    def pieces(self, course: Course) -> list[Piece]:
        """The pieces of a course, from its start on."""
        here = {board.mark for board in self.boards(course)}
        mine = [
            piece for piece in self.plan.pieces if piece.row == course.index or piece.code in here
        ]
        return sorted(mine, key=lambda piece: (piece.start, piece.low))

    def ring(self, outline: Sequence[tuple[int, int]]) -> Ring:
        """An outline of the surface in course coordinates."""
        return _turned(outline, self.plan.rows_run)

    @property
    def small(self) -> tuple[bool, bool]:
        """Whether the surface itself, cut to its usual allowances, is under the size of a core
        along its courses, and square to them. Then it cannot be more."""
        core = figures.length("HL-core")
        ring = self.ring(self.surface.board_area)
        xs, ys = [x for x, _ in ring], [y for _, y in ring]
        return max(xs) - min(xs) < core, max(ys) - min(ys) < core

    @property
    def done(self) -> bool:
        """Whether all of it hangs."""
        return bool(self.hung) and all(piece.code in self.hung for piece in self.plan.pieces)

    def boards(self, course: Course) -> list[PlacedBoard]:
        """The boards that hang in a course: in more of its height than a sliver, or than half of
        what is no higher than two."""
        if not self.hung:
            return []
        least = figures.length("HL-sliver")
        found = []
        for board in self.hung.values():
            reach = min(board.high, course.high) - max(board.low, course.low)
            height = min(board.high - board.low, course.high - course.low)
            if reach > min(least, height // 2):
                found.append(board)
        return found

    def held(self, course: Course) -> bool:
        return bool(self.boards(course))

    def given(self, course: Course, at: int) -> bool:
        """Whether the joint at a place in a course is the end of a board that hangs."""
        return any(at in (board.start, board.end) for board in self.boards(course))

    def open_stretches(self, course: Course) -> list[tuple[int, int]]:
        """What of the course's segments no board hangs in, but for slivers beside boards, and for
        what a board that hangs may leave open at an edge."""
        least = figures.length("HL-sliver")
        boards = self.boards(course)
        left_edge, right_edge = min(x for x, _ in self.inner), max(x for x, _ in self.inner)
        needed = (
            reach(
                (self.inner, box(left_edge, right_edge, course.low, course.high)),
                lambda inside: inside == 3,
            )
            if boards
            else []
        )
        stretches: list[tuple[int, int]] = []
        for segment in course.segments:
            free: list[tuple[int, int]] = [segment]
            for board in boards:
                free = [
                    (low, high)
                    for start, end in free
                    for low, high in (
                        (start, min(end, board.start)),
                        (max(start, board.end), end),
                    )
                    if low < high
                ]
            stretches += [
                (low, high)
                for low, high in free
                if (low, high) == segment
                or (high - low > least and any(start < high and end > low for start, end in needed))
            ]
        return stretches

    def breach(self, rule: str, message: str, *, amiss: bool = False) -> Breach:
        return Breach(self.surface.id, rule, message, amiss)

    def course_name(self, course: Course) -> str:
        """What people call a course: a row, or a column where it stands, counted from 1."""
        word = "row" if self.plan.rows_run is Runs.ALONG else "column"
        return f"{word} {course.index + 1} ({self.say(course.low)} to {self.say(course.high)})"

    def say(self, length: int | Fraction) -> str:
        """A length for a message about the surface, as its house measures."""
        return format_length(Nm(round(length)), self.surface.units)


def facts_of(
    plan: SurfacePlan,
    framed: FramedSurface,
    rules: Rules,
    catalogue: Catalogue,
    boards: Sequence[PlacedBoard] = (),
) -> Facts:
    """Everything the checker needs of one surface; raises `BadValue` where the catalogue has no
    such board. Of `boards` those count that hang on it."""
    surface, runs = framed.surface, plan.rows_run
    outer = _turned(surface.outer_area or surface.board_area, runs)
    inner = _turned(surface.inner_area or surface.board_area, runs)
    # Members are sorted by the way courses run, so that no check has to turn anything again.
    uprights = [
        (member.runs is not runs, Upright(member.centre, member.width, member.low, member.high))
        for member in framed.members
    ]
    return Facts(
        plan=plan,
        surface=surface,
        framed=framed,
        rules=rules,
        kind=catalogue.board(surface.board.kind),
        outer=outer,
        inner=inner,
        sloped=_is_sloped(outer) or _is_sloped(inner),
        openings=tuple(_rect(opening, runs) for opening in surface.openings),
        behind=(
            *(_rect(cutout, runs) for cutout in surface.cutouts),
            *(_rect(item, runs) for item in surface.hidden),
        ),
        cross=tuple(
            sorted(
                (upright for square, upright in uprights if square), key=lambda upright: upright.at
            )
        ),
        along=tuple(
            sorted(
                (upright for square, upright in uprights if not square),
                key=lambda upright: upright.at,
            )
        ),
        hung={
            board.mark: _as_it_lies(board, surface)
            for board in boards
            if board.surface == surface.id
        },
    )


def _as_it_lies(board: PlacedBoard, surface: Surface) -> PlacedBoard:
    """The board on the surface as it is now: as far as ever from the sides it was measured from."""
    us, vs = [u for u, _ in surface.outline], [v for _, v in surface.outline]
    left, bottom, right, top = board.frame
    du = max(us) - right if board.from_right else min(us) - left
    dv = max(vs) - top if board.from_top else min(vs) - bottom
    dx, dy = (du, dv) if board.rows_run is Runs.ALONG else (dv, du)
    return replace(
        board,
        start=Nm(board.start + dx),
        end=Nm(board.end + dx),
        low=Nm(board.low + dy),
        high=Nm(board.high + dy),
        row_low=Nm(board.row_low + dy),
        row_high=Nm(board.row_high + dy),
        outline=tuple((Nm(u + du), Nm(v + dv)) for u, v in board.outline),
    )


def say(length: int | Fraction) -> str:
    """A length for a message, to the nanometre: feet and inches where it is one, else
    millimetres."""
    return format_length(Nm(round(length)), UnitSystem.INCH)


def _turned(outline: Sequence[tuple[int, int]], runs: Runs) -> Ring:
    return tuple((u, v) if runs is Runs.ALONG else (v, u) for u, v in outline)


def _is_sloped(ring: Ring) -> bool:
    return any(
        a[0] != b[0] and a[1] != b[1] for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)
    )


def _rect(thing: PlacedOpening | PlacedCutout | PlacedHidden, runs: Runs) -> Rect:
    if runs is Runs.ALONG:
        return Rect(thing.name, thing.left, thing.right, thing.bottom, thing.top)
    return Rect(thing.name, thing.bottom, thing.top, thing.left, thing.right)
