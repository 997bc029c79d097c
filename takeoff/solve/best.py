"""Better and better plans of a pool, each with a bound on how much better any other could be."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial
from itertools import combinations

from takeoff.boards.assemble import area_bound
from takeoff.boards.first_plan import plan_pool
from takeoff.boards.other_face import off_other_faces, shared_work
from takeoff.boards.plan import BoardPlan, Bound, BoundBasis
from takeoff.boards.problem import Pool, SurfaceProblem
from takeoff.boards.together import layouts_of
from takeoff.choices import JointMode
from takeoff.errors import BadValue, CannotBoard
from takeoff.solve.compile_network import compile_pool
from takeoff.solve.effort import Effort, Stopped
from takeoff.solve.network import MONEY, Network
from takeoff.solve.translate import to_answer, to_plan
from takeoff.solve.tree import Tree
from takeoff.units import Nm

__all__ = ["Effort", "Progress", "improve"]

# the part of the bound that is searched, where answers are so far from it
_POLISH = ((1000, 0.005), (500, 0.008))
_NEAR = 0.003  # the part of the bound within which answers are near enough for the stages
_FIRST_STAGE = 3000  # the part of the bound that the first stage goes beyond it
_LONG_LIST = 2000  # patterns of a stage, from which on the next one reaches little further
_LISTED = 100  # patterns that a stage may list, for each that a part may be settled with
_FEW_ROOMS = 3  # whose first plan takes a fraction of a second
_TURN = 10  # parts looked at between neighbours
_ENDED = object()


@dataclass(frozen=True, slots=True)
class Progress:
    """A plan and how good it is known to be. `value` and `bound` are cents, `gap` the part of the
    value by which a better plan could still be cheaper (0: none can), `work` the programmes solved
    so far; `finished` on the last."""

    plan: BoardPlan
    value: Fraction
    bound: Fraction
    gap: Fraction
    work: int
    finished: bool = False


def improve(
    pool: Pool,
    *,
    start: BoardPlan | None = None,
    effort: Effort | None = None,
    stop: Callable[[], bool] | None = None,
    clock: Callable[[], float] | None = None,
) -> Iterator[Progress]:
    """Plans of `pool`, each at least as good as the one before and with a bound at least as high.

    Begins with `start` (or a first plan), ends with the best plan found, `finished`. Where joints
    may float or lie on framing, the plan on framing is sought first, so that the result is never
    worse than it. What is cut or hung in the pool stays, and bounds are of the problem that is
    left. `stop` is asked often, and ends the search early; so does closing the generator;
    `effort.seconds` are told by `clock`, which the caller hands in. Same input and effort, same
    plans, unless `effort.seconds` or `stop` cuts it short.

    Raises `CannotBoard` where there is no plan.
    """
    effort = effort or Effort()
    if effort.seconds is not None and clock is None:
        raise BadValue("A limit in seconds needs a clock, for example time.monotonic")
    run = _Run(pool, effort, stop or (lambda: False), clock)
    yield from run.go(start)


class _Run:
    """One call of `improve`: the best plan and bound so far, over one search or two."""

    def __init__(
        self,
        pool: Pool,
        effort: Effort,
        stop: Callable[[], bool],
        clock: Callable[[], float] | None,
    ) -> None:
        self.pool, self.effort = pool, effort
        self.asked, self.clock = stop, clock
        self.end = (
            clock() + effort.seconds if clock is not None and effort.seconds is not None else None
        )
        self.plan: BoardPlan | None = None
        self.bound = area_bound(pool)
        self.work = 0

    def go(self, start: BoardPlan | None) -> Iterator[Progress]:
        refusal: CannotBoard | None = None
        given = start
        if start is None:
            try:
                start = plan_pool(self.pool)
            except CannotBoard as error:
                refusal = error
        if start is not None:
            start = min((start, *self._of_one_width()), key=lambda plan: plan.total)
            self.plan = replace(start, bound=self.bound)
            if not _is_open(self.pool):
                # Everything hangs: there is one plan.
                bound = Bound(value=start.total, basis=BoundBasis.PROVEN)
                self.plan = replace(start, bound=bound)
                yield replace(self._progress(), finished=True)
                return
            yield self._progress()

        ready = None
        if any(
            problem.framed.surface.joint_mode is JointMode.EITHER for problem in self.pool.surfaces
        ):
            # Floating seams make the problem larger, and plans on framing are among its plans.
            # The bound of the whole problem first, so that plans on framing are shown with it.
            ready = self._begin(framing_only=False)
            if ready is not None:
                # What was proven when it was stopped counts all the same.
                with suppress(Stopped):
                    ready[1].solve_root()
                self.work += ready[1].work
                if self._take(*ready, bounds=True) and self.plan is not None:
                    yield self._progress()
            end = self.end
            if end is not None:
                # Where time is limited the plans on framing get half of what remains.
                self.end = end - self._left() / 2
            # Begun as it would be were floating not allowed at all, whatever was found meanwhile:
            # so it ends no dearer.
            yield from self._search(framing_only=True, seed=given or self._on_framing())
            self.end = end

        yield from self._search(framing_only=False, ready=self._again(ready))
        yield from self._off_other_faces()
        if self.plan is None:
            raise refusal or _no_plan(self.pool)
        yield replace(self._progress(), finished=True)

    def _of_one_width(self) -> Iterator[BoardPlan]:
        """First plans in sheets of one width alone. A first plan chooses surface by surface among
        all widths, and may end dearer than one that never had the choice. None of a pool of many
        rooms, where each would keep people waiting."""
        rooms = {problem.framed.surface.room for problem in self.pool.surfaces}
        if len(rooms) > _FEW_ROOMS:
            return
        widths = {
            course.sheet_width
            for problem in self.pool.surfaces
            for layout in problem.layouts
            for course in layout.courses
            if course.segments
        }
        for width in sorted(widths) if len(widths) > 1 else ():
            pool = _with_width(self.pool, width)
            if pool == self.pool or self._stopped():
                continue
            with suppress(CannotBoard):
                yield plan_pool(pool)

    def _off_other_faces(self) -> Iterator[Progress]:
        """Where the plan has butt seams on both faces of a stud, a search with the places of the
        later face on such studs dearer. The programme itself knows nothing of them."""
        plan = self.plan
        if plan is None or not self._shares_studs(plan) or self._stopped():
            return
        dearer = off_other_faces(self.pool, plan)
        if dearer is not None:
            yield from self._search(framing_only=False, pool=dearer)

    def _shares_studs(self, plan: BoardPlan) -> bool:
        framed = {problem.framed.surface.id: problem.framed for problem in self.pool.surfaces}
        planned = [(framed[surface.surface], surface) for surface in plan.surfaces]
        return bool(shared_work(planned, self.pool.rules))

    def _on_framing(self) -> BoardPlan | None:
        """The first plan on framing, to begin a search of such plans from."""
        try:
            return plan_pool(self.pool, framing_only=True)
        except CannotBoard:
            return None

    def _stopped(self) -> bool:
        return self.asked() or self._left() <= 0

    def _left(self) -> float:
        """Seconds left; endless where none are limited."""
        return float("inf") if self.end is None or self.clock is None else self.end - self.clock()

    def _progress(self) -> Progress:
        assert self.plan is not None
        plan = self.plan
        gap = (plan.total - plan.bound.value) / plan.total if plan.total else Fraction(0)
        return Progress(plan, plan.total, plan.bound.value, max(gap, Fraction(0)), self.work)

    def _begin(
        self, *, framing_only: bool, seed: BoardPlan | None = None, pool: Pool | None = None
    ) -> tuple[Network, Tree] | None:
        """A network and its search, from `seed` or the best plan so far; None where some surface
        has no layout left, or the search was stopped before it began."""
        plan = seed or self.plan
        pool = pool or self.pool
        prefer = layouts_of(pool, plan) if plan is not None else None
        try:
            network = compile_pool(
                pool, framing_only=framing_only, prefer=prefer, stop=self._stopped
            )
            if not all(network.layouts):
                return None
            start = to_answer(network, plan) if plan is not None else None
            return network, Tree(
                network,
                self.effort,
                start=start,
                stop=self._stopped,
                until=None if self.end is None else self._left,
            )
        except Stopped:
            return None

    def _again(self, ready: tuple[Network, Tree] | None) -> tuple[Network, Tree] | None:
        """A search begun before, from the best plan so far; None where that plan is not one of its
        network's."""
        if ready is None or self.plan is None:
            return ready
        network, tree = ready
        answer = to_answer(network, self.plan)
        if answer is None:
            return None
        tree.offer(answer)
        return ready

    def _search(
        self,
        *,
        framing_only: bool,
        ready: tuple[Network, Tree] | None = None,
        seed: BoardPlan | None = None,
        pool: Pool | None = None,
    ) -> Iterator[Progress]:
        """One search. With `framing_only`, or of another `pool` with the same plans, its bound says
        nothing of the whole problem and is not taken."""
        ready = ready or self._begin(framing_only=framing_only, seed=seed, pool=pool)
        if ready is None:
            return
        network, tree = ready
        begun = self.work - tree.work
        steps = _steps(tree, network)
        ended, looks, most = False, 0, self.effort.looks
        while not ended:
            # The first step of a search that is not begun yet is its bound.
            looks += tree.root is not None
            try:
                ended = next(steps, _ENDED) is _ENDED
            except Stopped:
                # What was found on the way counts all the same.
                ended = True
            ended = ended or (most is not None and looks >= most)
            self.work = begun + tree.work
            bounds = not framing_only and pool is None
            if self._take(network, tree, bounds=bounds) and self.plan is not None:
                yield self._progress()

    def _take(self, network: Network, tree: Tree, *, bounds: bool) -> bool:
        """Take over the search's best answer, and its bound where it is one of this problem.
        Returns whether plan or bound moved."""
        moved = False
        if bounds:
            # The tree counts without the constant part: what is already cut costs the same in every
            # plan.
            value = Fraction(tree.bound, MONEY) + network.constant
            if value > self.bound.value:
                basis = BoundBasis.PROVEN if tree.exact else BoundBasis.SOLVER
                self.bound = Bound(value=value, basis=basis)
                moved = True

        best = tree.best
        if best is not None:
            # An answer counts only once it is a board plan, with its cost added up anew and
            # exactly.
            plan = to_plan(network, best, self.bound)
            if self.plan is None or plan.total < self.plan.total:
                self.plan = plan
                moved = True

        if self.plan is not None and moved:
            bound = self.bound
            if bound.value > self.plan.total:
                bound = Bound(value=self.plan.total, basis=bound.basis)
            self.plan = replace(self.plan, bound=bound)
        return moved


def _steps(tree: Tree, network: Network) -> Iterator[None]:
    """The search in its order: bound, a first answer, then the tree and neighbours of the best
    answer by turns."""
    rooms: dict[str, list[int]] = {}
    for s, problem in enumerate(network.pool.surfaces):
        rooms.setdefault(problem.framed.surface.room, []).append(s)

    if tree.root is None:
        tree.solve_root()
        yield
    if tree.root is None or tree.stop():
        return

    tree.dive()
    yield

    if len(rooms) > 1:
        for dive in (True, False):
            for members in rooms.values():
                if not tree.stop() and tree.free(frozenset(members), dive=dive):
                    yield
    else:
        for part, far in _POLISH:
            if not tree.stop() and tree.far_by() > far and tree.polish(part):
                yield

    tree.narrow()
    if len(rooms) == 1 and not tree.stop() and tree.sharpen():
        yield
        yield from _near_the_sharp(tree)
        yield from _stages(tree)

    # Neighbors of the best answer: one surface, or two of one room, laid again with the rest as it
    # is.
    neighbours = [frozenset({s}) for members in rooms.values() for s in members]
    neighbours += [
        frozenset(pair) for members in rooms.values() for pair in combinations(members, 2)
    ]

    waiting = list(neighbours)
    looks = tree.search()
    while not (tree.nothing_left() or tree.stop()):
        before, until = tree.best, tree.looked + _TURN
        # A turn of the tree; once no neighbor waits the tree goes on alone until an answer moves.
        while tree.looked < until or not waiting:
            if next(looks, _ENDED) is _ENDED:
                if not waiting or tree.looked < tree.effort.parts:
                    yield
                    return
                break
            yield
            if tree.best is not before and not waiting:
                break

        if waiting and tree.free(waiting.pop(0)):
            yield
        if tree.best is not before:
            # What was tried before may help now.
            waiting += [neighbour for neighbour in neighbours if neighbour not in waiting]
            if tree.narrow():
                # The parts that were waiting are parts of the larger problem, so the search begins
                # anew.
                looks = tree.search()
    yield


def _near_the_sharp(tree: Tree) -> Iterator[None]:
    """Answers near the sharpened programme, while there is need."""
    looks: list[Callable[[], bool]] = [tree.dive]
    looks += [partial(tree.free, frozenset({s})) for s in range(len(tree.network.layouts))]
    looks += [partial(tree.polish, part) for part, _ in _POLISH]
    for look in looks:
        if tree.stop() or tree.far_by() < _NEAR:
            return
        if look():
            yield


def _stages(tree: Tree) -> Iterator[None]:
    """Settle all plans that cost a little more than the bound, then those that cost a little more
    again, as long as all their patterns can be listed."""
    root = tree.root

    # The best plan is often hardly dearer than the bound, and a small gap leaves few patterns. So a
    # stage asks for little beyond what is closed, and the next for more.
    gap = root.value // _FIRST_STAGE if root is not None else 0
    closed = listed = 0
    while not (tree.nothing_left() or tree.stop()) and tree.looked < tree.effort.parts:
        stage = tree.stage(closed + gap, most=_LISTED * tree.effort.patterns)
        if stage is None:
            # Too many patterns to list even so near the bound: what remains goes to the tree.
            if gap < max(closed // 6, MONEY):
                return
            gap //= 2
            continue
        steady = stage.listed == listed
        if not closed:
            reach, stage = _reach(tree, gap, stage)
            steady, gap = reach > gap, reach
        listed = stage.listed
        for _ in stage.search():
            tree.take(stage)
            yield
        tree.take(stage)
        yield
        if stage.cutoff is None or stage.bound < stage.cutoff:
            return  # not settled within the effort
        closed += gap
        # Where the last list was short, or did not grow, the next may reach further; a long one
        # that grows, grows fast.
        gap = closed // (1 if steady else 2 if listed < _LONG_LIST else 5)


def _reach(tree: Tree, gap: int, stage: Tree) -> tuple[int, Tree]:
    """The first stage, `gap` beyond the bound, or one that reaches further. A list that is long so
    near the bound is of patterns that cost just what they are worth. A stage of twice the gap then
    often lists no more, and is no more work."""
    while stage.listed >= _LONG_LIST and stage.ceiling != tree.cutoff:
        further = tree.stage(2 * gap, most=stage.listed)
        if further is None:
            break
        gap, stage = 2 * gap, further
    return gap, stage


def _with_width(pool: Pool, width: Nm) -> Pool:
    """The pool with the layouts in sheets of one width alone, where a surface has such."""

    def narrowed(problem: SurfaceProblem) -> SurfaceProblem:
        kept = tuple(
            layout
            for layout in problem.layouts
            if all(course.sheet_width == width for course in layout.courses)
        )
        if not kept:
            return problem
        return replace(problem, layouts=kept, longest=max(layout.longest for layout in kept))

    return replace(pool, surfaces=tuple(narrowed(problem) for problem in pool.surfaces))


def _is_open(pool: Pool) -> bool:
    """Whether there is anything left to board."""
    return any(
        course.segments
        for problem in pool.surfaces
        for layout in problem.layouts
        for course in layout.courses
    )


def _no_plan(pool: Pool) -> CannotBoard:
    surface = pool.surfaces[0].framed.surface
    return CannotBoard(
        surface=surface.id,
        rule="sheets",
        message=f"{surface.name} and the surfaces bought with it: no joints and sheets keep every "
        "rule with what is "
        "already cut. Put a longer sheet on sale, or lower the stagger",
    )
