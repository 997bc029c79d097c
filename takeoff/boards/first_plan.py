"""The first plan of a pool: deterministic, at once, and already good.

Surfaces are laid in hanging order. Each layout's courses are gone through one by one, the few best
ways so far kept side by side (`_Way`), every way carrying the sheets begun, so that a course is
chosen by what its pieces really add. Then courses and surfaces are taken down and laid again as
long as that saves money. Where the longest boards of a hanger's habit cost less, they are the plan.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import product
from typing import NamedTuple

from takeoff.boards.assemble import (
    Chosen,
    area_bound,
    assemble,
    cut_pieces,
    room_order,
    sales_of,
)
from takeoff.boards.longest_first import plan_longest_first
from takeoff.boards.options import MICRO, CourseOption, LayoutOptions, options_of
from takeoff.boards.other_face import (
    Butt,
    butts_laid,
    opposite,
    shared_butt_cents,
    shared_places,
)
from takeoff.boards.plan import BoardPlan, JointKind
from takeoff.boards.problem import CourseProblem, Layout, Pool, SurfaceProblem
from takeoff.catalogue import OwnedSheet
from takeoff.choices import JointMode
from takeoff.cutting.sheets import Bench, CutPiece, Cutter, Load, SheetCut, cuts_of, emptied
from takeoff.errors import CannotBoard
from takeoff.quantities import Cents
from takeoff.units import Nm

__all__ = ["plan_pool"]

_WAYS = 3  # ways kept side by side
_OPTIONS = 16  # choices of joints a course is tried with
_SALVAGE = 8  # 1/16ths of its price that a leftover counts while courses are still to come
_REACH = 24  # sheets begun that a piece is tried on, the latest; more than a room takes
_ROUNDS = 3  # how often every course is tried again
_ON_FRAMING = frozenset({JointKind.FRAMING})


def plan_pool(pool: Pool, *, framing_only: bool = False) -> BoardPlan:
    """A plan of the whole pool: every rule kept, money near the least, the same each time.

    Where joints may float it is never dearer than the plan that only uses framing; with
    `framing_only` it is that one, joints on framing wherever they may be of either kind. Nor is it
    dearer than the plan without the whole sheets that are here, less the price of those that it
    has a use for. Raises
    `CannotBoard` where owned sheets are too few for pieces no sheet on sale is long enough for, or
    courses cannot keep apart.
    """
    plain = _without_whole_sheets(pool)
    if plain == pool:
        return _plan_of(pool, framing_only)
    # Filling first what is free is not always cheapest in the end, so the plan that buys all is
    # made too, and what is here takes the place of what it buys.
    plans = []
    refusal: CannotBoard | None = None
    for one in (pool, plain):
        try:
            plan = _plan_of(one, framing_only)
        except CannotBoard as error:
            refusal = refusal or error
            continue
        plans.append(plan if one is pool else _with_whole_sheets(plan, pool))
    if refusal is not None and not plans:
        raise refusal
    return min(plans, key=_rank)


def _without_whole_sheets(pool: Pool) -> Pool:
    """The pool with the offcuts alone of what is owned."""

    def offcuts(owned: Sequence[OwnedSheet]) -> tuple[OwnedSheet, ...]:
        return tuple(one for one in owned if not one.whole)

    surfaces = tuple(replace(problem, owned=offcuts(problem.owned)) for problem in pool.surfaces)
    return replace(pool, owned=offcuts(pool.owned), surfaces=surfaces)


def _with_whole_sheets(plan: BoardPlan, pool: Pool) -> BoardPlan:
    """The plan with the pool's whole sheets in the place of sheets it buys of their sizes."""
    unused = {one.id: one.count for one in pool.owned if one.whole}
    cut = {sheet.code for sheet in pool.cut}
    sheets = []
    for sheet in plan.sheets:
        if sheet.source is None and sheet.code not in cut and unused.get(sheet.item):
            unused[sheet.item] -= 1
            sheet = replace(sheet, source=sheet.item, price=Cents(0))
        sheets.append(sheet)
    return replace(
        plan,
        sheets=tuple(sheets),
        sheet_cost=Cents(sum(sheet.price for sheet in sheets)),
        bound=area_bound(pool),
    )


def _plan_of(pool: Pool, framing_only: bool) -> BoardPlan:
    best: BoardPlan | None = None
    refusal: CannotBoard | None = None
    tries = [_ON_FRAMING] if framing_only else _kinds_to_try(pool)
    # A first plan is made by a few simple steps and proves nothing. With fewer joints allowed it
    # may still end cheaper, and by a hanger's habit too, so those plans are made as well.
    for kinds, make in product(tries, (_steered, plan_longest_first)):
        try:
            plan = make(pool, kinds)
        except CannotBoard as error:
            # What the longest boards cannot do says little of what can be done.
            refusal = error if make is _steered else refusal
            continue
        if best is None or _rank(plan) < _rank(best):
            best = plan
    if best is not None:
        return best
    assert refusal is not None
    bought = _as_bought(pool)
    if bought != pool:
        # Pieces may have been planned as long as an owned sheet is of which there are too few.
        for kinds in tries:
            try:
                return _steered(bought, kinds)
            except CannotBoard:
                continue
    raise refusal


def _steered(pool: Pool, kinds: frozenset[JointKind] | None) -> BoardPlan:
    return _Planner(pool, kinds).plan()


def _as_bought(pool: Pool) -> Pool:
    """The pool with no piece longer than a sheet on sale gives it."""

    def course_of(course: CourseProblem, problem: SurfaceProblem) -> CourseProblem:
        on_sale = [sheet.length for sheet in problem.sheets if sheet.width == course.sheet_width]
        longest = min(course.longest, max(on_sale, default=course.longest))
        return course if longest == course.longest else replace(course, longest=longest)

    def problem_of(problem: SurfaceProblem) -> SurfaceProblem:
        layouts = tuple(
            replace(layout, courses=tuple(course_of(course, problem) for course in layout.courses))
            for layout in problem.layouts
        )
        return replace(problem, layouts=layouts)

    return replace(pool, surfaces=tuple(problem_of(problem) for problem in pool.surfaces))


def _kinds_to_try(pool: Pool) -> list[frozenset[JointKind] | None]:
    """Which joints to plan with: all that are allowed, and, where both kinds are, those on framing
    alone as well."""
    kinds = {
        point.kind
        for problem in pool.surfaces
        if problem.framed.surface.joint_mode is JointMode.EITHER
        for layout in problem.layouts
        for course in layout.courses
        for segment in course.segments
        for point in segment.points
    }
    # Without a choice of kinds the second plan would be the first again.
    return [None, _ON_FRAMING] if len(kinds) > 1 else [None]


def _rank(plan: BoardPlan) -> tuple[Fraction, int, int, list[tuple[str, int, Nm]]]:
    """Orders plans: money, then fewer joints, then the larger least stagger, then the lowest joint
    positions."""
    joints = [
        (surface.surface, joint.row, joint.at)
        for surface in plan.surfaces
        for joint in surface.joints
    ]
    apart = [
        abs(one - other)
        for surface, course, one in joints
        for other_surface, other_course, other in joints
        if surface == other_surface and other_course == course + 1
    ]
    return plan.total, len(joints), -min(apart, default=0), joints


_Laid = tuple[LayoutOptions, tuple[CourseOption, ...]]


class _Way(NamedTuple):
    """A way to have laid some surfaces: the sheets begun, what its seams and hours cost, and the
    choices."""

    score: int
    joints: int
    bench: Bench
    cost: int
    chosen: tuple[_Laid, ...]
    courses: tuple[CourseOption, ...]


class _Planner:
    """One run over a pool with joints of some kinds only (`kinds` None for all that are
    allowed)."""

    def __init__(self, pool: Pool, kinds: frozenset[JointKind] | None) -> None:
        self.pool = pool
        self.pair_price = round(MICRO * 100 * Fraction(pool.rules.preferred_stagger_price))
        rooms = room_order(pool)
        self.rooms = [rooms[problem.framed.surface.room] for problem in pool.surfaces]
        # Of each surface, those on the other side of its partition.
        faces = [
            (index, problem.framed)
            for index, problem in enumerate(pool.surfaces)
            if problem.framed.surface.partition_face is not None
        ]
        self.other_faces = [
            [index for index, other in faces if opposite(problem.framed, other)]
            for problem in pool.surfaces
        ]
        self.shared_price = MICRO * shared_butt_cents(pool.rules) if pool.rules.hour else 0
        self.options = [
            self._options(index, problem, self.rooms[index], kinds)
            for index, problem in enumerate(pool.surfaces)
        ]

    def _options(
        self, index: int, problem: SurfaceProblem, room: int, kinds: frozenset[JointKind] | None
    ) -> list[LayoutOptions]:
        surface = problem.framed.surface
        only = kinds if surface.joint_mode is JointMode.EITHER else None
        # Few choices a course make the plan quick. Only where none of them keeps courses apart are
        # more looked at.
        for keep in (_OPTIONS, 8 * _OPTIONS, 64 * _OPTIONS):
            possible = []
            for number, layout in enumerate(problem.layouts):
                sales = sales_of(self.pool, problem, layout)
                prefix = f"{index}/{number}"
                options = options_of(
                    layout, self.pool.rules, sales, room=room, prefix=prefix, keep=keep, kinds=only
                )
                if options is not None:
                    possible.append(options)
            if possible:
                return possible
        raise CannotBoard(
            surface=surface.id,
            rule="stagger",
            message=f"{surface.name}: no joints were found that keep every row apart from the "
            "next. "
            "Let them come closer, or let butt seams float where that is better",
        )

    def plan(self) -> BoardPlan:
        pool, rules = self.pool, self.pool.rules
        # While more is to come a leftover counts for a part of its price, so that a longer sheet
        # with a useful rest can win.
        steering = Cutter(
            kerf=pool.kerf,
            owned=pool.owned,
            carry=rules.keep_offcuts,
            salvage=_SALVAGE,
            shortest=rules.shortest_piece,
            reach=_REACH,
        )
        ways = [_Way(0, 0, steering.empty(), 0, (), ())]
        for index, layouts in enumerate(self.options):
            laid = [way for options in layouts for way in self._lay(steering, ways, options, index)]
            if not laid:
                raise _too_few(pool.surfaces[index])
            # A beam: a few ways side by side, since the cheapest so far may leave the next surface
            # badly off.
            ways = sorted(laid, key=_score)[:_WAYS]

        way = ways[0]
        # From here on only money counts: nothing is to come that a leftover could serve.
        exact = Cutter(kerf=pool.kerf, owned=pool.owned, carry=rules.keep_offcuts)
        chosen, bench = self._improve(exact, list(way.chosen), _priced(way.bench))
        return self._assembled(chosen, bench)

    def _lay(
        self, cutter: Cutter, ways: Sequence[_Way], options: LayoutOptions, surface: int
    ) -> list[_Way]:
        """The best few ways to lay one more surface, the one of that index, in one layout after
        each of `ways`."""
        # What the layout takes whatever the joints.
        hours = MICRO * options.layout.hours
        at = [
            way._replace(courses=(), cost=way.cost + hours, score=way.score + hours) for way in ways
        ]
        shared_by = {
            id(way.chosen): self._shared(way.chosen, surface, options.layout) for way in ways
        }
        for index, course in enumerate(options.courses):
            after: list[_Way] = []
            for way in at:
                before = way.courses[-1] if way.courses else None
                shared = shared_by[id(way.chosen)]
                for option in course:
                    # The stagger, by bits: a joint of this choice stands where the course before
                    # lets none.
                    if before is not None and before.near & option.mask:
                        continue
                    bench = cutter.put_all(way.bench, option.pieces)
                    if bench is None:
                        continue
                    cost = way.cost + option.cost + self._pairs(before, option)
                    if shared:
                        cost += self.shared_price * _count_at(option, shared[index])
                    after.append(
                        _Way(
                            MICRO * bench.net + cost,
                            way.joints + option.count,
                            bench,
                            cost,
                            way.chosen,
                            (*way.courses, option),
                        )
                    )
            after.sort(key=_score)
            at = after[:_WAYS]
        return [way._replace(chosen=(*way.chosen, (options, way.courses))) for way in at]

    def _shared(
        self, chosen: Sequence[_Laid], surface: int, layout: Layout
    ) -> tuple[frozenset[Nm], ...]:
        """The places of each course for seams on studs that carry one of the other face, as far as
        that is laid; none at all where the surface is no face of a partition."""
        faces = [other for other in self.other_faces[surface] if other < len(chosen)]
        if not faces or not self.shared_price:
            return ()
        butts: list[Butt] = []
        for other in faces:
            laid, courses = chosen[other]
            joints = [[point for path in course.joints for point in path] for course in courses]
            butts += butts_laid(self.pool.surfaces[other].framed, laid.layout, joints)
        return shared_places(self.pool.surfaces[surface].framed, layout, butts)

    def _pairs(self, before: CourseOption | None, option: CourseOption) -> int:
        """The price of joints of touching courses under the preferred stagger."""
        if not self.pair_price or before is None:
            return 0
        close = sum(
            abs(one.at - other.at) < self.pool.rules.preferred_stagger
            for path in before.joints
            for one in path
            for other_path in option.joints
            for other in other_path
        )
        return self.pair_price * close

    def _improve(
        self, cutter: Cutter, chosen: list[_Laid], bench: Bench
    ) -> tuple[list[_Laid], Bench]:
        """Room by room, take courses down and lay them again, one at a time, while that saves
        money; sheets too.

        Only sheets that hold a piece of the room or of those before and after it are opened again,
        so that a whole house takes its rooms' time and no more.
        """
        for room in sorted(set(self.rooms)):
            surfaces = [index for index, at in enumerate(self.rooms) if at == room]
            # The other sheets are set aside, so that each trial below costs the time of three
            # rooms.
            idle, active = _apart(bench, {room - 1, room, room + 1})
            active = emptied(cutter, active)
            for _ in range(_ROUNDS):
                before = active
                for surface in surfaces:
                    options, courses = chosen[surface]
                    shared = self._shared(chosen, surface, options.layout)
                    for index in range(len(courses)):
                        apart_from = shared[index] if shared else frozenset[Nm]()
                        better = self._better_course(
                            cutter, options, courses, index, active, apart_from
                        )
                        if better is not None:
                            active, option = better
                            courses = (*courses[:index], option, *courses[index + 1 :])
                    chosen[surface] = (options, courses)
                active = emptied(cutter, active)
                # A whole round changed nothing.
                if active is before:
                    break
            bench = Bench(
                idle.loads + active.loads,
                active.shelf,
                idle.price + active.price,
                idle.price + active.price,
            )
        return chosen, bench

    def _better_course(
        self,
        cutter: Cutter,
        options: LayoutOptions,
        courses: Sequence[CourseOption],
        index: int,
        bench: Bench,
        shared: frozenset[Nm],
    ) -> tuple[Bench, CourseOption] | None:
        now = courses[index]
        before = courses[index - 1] if index else None
        after = courses[index + 1] if index + 1 < len(courses) else None
        # The sheets without this course: every choice is put on them in turn, its present one being
        # what it has to beat.
        bare = cutter.take(bench, {piece.code for piece in now.pieces})

        def joints(option: CourseOption) -> int:
            pairs = self._pairs(before, option) + (
                self._pairs(option, after) if after is not None else 0
            )
            return option.cost + pairs + self.shared_price * _count_at(option, shared)

        best = (MICRO * bench.price + joints(now), now.count)
        better: tuple[Bench, CourseOption] | None = None
        for option in options.courses[index]:
            if (before is not None and before.near & option.mask) or (
                after is not None and option.near & after.mask
            ):
                continue
            tried = cutter.put_all(bare, option.pieces)
            if tried is not None and (MICRO * tried.price + joints(option), option.count) < best:
                best = (MICRO * tried.price + joints(option), option.count)
                better = (tried, option)
        return better

    def _assembled(self, chosen: Sequence[_Laid], bench: Bench) -> BoardPlan:
        pool = self.pool
        choices = [
            Chosen(options.layout, tuple(course.joints for course in courses))
            for options, courses in chosen
        ]

        named = cut_pieces(pool, choices)
        searched = [
            piece
            for _, courses in chosen
            for course in courses
            # Pieces of a choice are sorted for cutting; their numbers say how they hang.
            for piece in sorted(course.pieces, key=lambda piece: int(piece.code.rpartition("/")[2]))
        ]
        names = {piece.code: name for piece, name in zip(searched, named, strict=True)}

        def renamed(pieces: Iterable[CutPiece]) -> tuple[CutPiece, ...]:
            return tuple(names[piece.code] for piece in pieces)

        sheets = [
            SheetCut(
                width=cut.width,
                length=cut.length,
                price=cut.price,
                owned=cut.owned,
                whole=renamed(cut.whole),
                first=renamed(cut.first),
                second=renamed(cut.second),
            )
            for cut in cuts_of(bench, pool.kerf)
        ]
        return assemble(pool, choices, sheets)


def _count_at(option: CourseOption, places: frozenset[Nm]) -> int:
    """How many seams on framing a choice has at some places."""
    if not places:
        return 0
    return sum(
        point.at in places and point.kind is JointKind.FRAMING
        for path in option.joints
        for point in path
    )


def _score(way: _Way) -> tuple[int, int]:
    return way.score, way.joints


def _apart(bench: Bench, rooms: set[int]) -> tuple[Bench, Bench]:
    """The sheets that hold no piece of `rooms`, and those that do (with the unused owned ones)."""
    idle: list[Load] = []
    active: list[Load] = []
    for load in bench.loads:
        (active if any(piece.room in rooms for _, piece in load.pieces) else idle).append(load)
    idle_price, price = sum(load.price for load in idle), sum(load.price for load in active)
    return Bench(tuple(idle), (), idle_price, idle_price), Bench(
        tuple(active), bench.shelf, price, price
    )


def _priced(bench: Bench) -> Bench:
    """`bench` with nothing left to come, so that leftovers are worth nothing."""
    return Bench(
        tuple(load._replace(net=load.price) for load in bench.loads),
        bench.shelf,
        bench.price,
        bench.price,
    )


def _too_few(problem: SurfaceProblem) -> CannotBoard:
    surface = problem.framed.surface
    return CannotBoard(
        surface=surface.id,
        rule="sheets",
        message=f"{surface.name}: too few owned sheets are long enough, and none on sale is. Put a "
        "longer one on sale",
    )
